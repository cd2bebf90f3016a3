"""Water that gathers along a gutter: how deep it stands all along, where the gutter first spills, what it can gather.

In       a Run: sections at both ends [mm], slope, roughness, the inflow [L/s] spread evenly along it.
Out      Profile (depths along the run, where it is fullest), the largest inflow that stays in the gutter.
Not here uniform flow (flow.py), what the drain at the low end takes (flow_drain.py).

Water that falls in sideways has no speed along the gutter and must be set in motion: a level gutter stands sqrt(3)
times as deep at its high end as at its free end, which Manning alone knows nothing of. So the momentum of steady flow
with an inflow along it is integrated (Q and A in mm3/s and mm2, water's pressure that of its depth):

    dy/dx (1 - Q^2 T / (g A^3)) = S0 - Sf - 2 Q q / (g A^2) + Q^2 / (g A^3) dA/dx at a fixed depth

from where the flow passes its critical depth: the free low end, or a place further up where the right side is nought.
Friction by Manning. Good to +-20 % of the flow, as Manning is.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, Literal

from moldplan.check.flow import THIN, FlowError, Section, Wet, depth_of, in_range, wetted

if TYPE_CHECKING:
    import numpy as np

G_MM = 9806.65  # mm/s2
MM3 = 1e6  # mm3 in a litre
PLACES, FEWER = 61, 25  # stations along a run; the same while an inflow is searched for
FIRST = 1e-3  # of the run: how near its high end, where nothing is gathered yet, a critical depth is asked for
NUDGE = 1e-4  # of the critical depth: first step away from it
BETWEEN = 12  # places read within each step of the integration
FAR = 60  # times what walls hold: no depth is looked for beyond
CLOSE_ENOUGH = 5e-4  # share of the largest inflow to which it is found

Control = Literal["low end", "on the way", "high end"]


@dataclass(frozen=True, kw_only=True)
class Run:
    """A gutter from its high to its low end: sections there with as many points each, between them straight lines.

    `length` [mm], `slope` of the floor (0: level), `roughness` n [s/m^(1/3)], `gathered` [L/s] in all along it, evenly,
    `carried` [L/s] that comes in at the high end. FlowError outside Manning's range or for sections that do not match.
    """

    high: Section
    low: Section
    length: float
    slope: float
    roughness: float
    gathered: float
    carried: float = 0.0

    def __post_init__(self) -> None:
        in_range(self.slope, self.roughness, level=True)
        if len(self.high.points) != len(self.low.points):
            raise FlowError("the sections at a gutter's ends have different numbers of points")
        if not 0 < self.length < math.inf:
            raise FlowError(f"a gutter {self.length:g} mm long")
        if not (0 <= self.gathered < math.inf and 0 <= self.carried < math.inf):
            raise FlowError(f"inflows of {self.gathered:g} and {self.carried:g} L/s")

    def flow(self, x: float) -> float:
        """Flow [L/s] at x [mm] from the high end."""
        return self.carried + self.gathered * x / self.length

    def at(self, x: float) -> Section:
        """The section at x [mm] from the high end."""
        if self.prismatic:
            return self.high
        share = x / self.length
        return Section(tuple((a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1]))
                             for a, b in zip(self.high.line, self.low.line, strict=True)))

    def wet(self, x: float, depth: float) -> Wet:
        """What `depth` [mm] of water wets at x [mm] from the high end."""
        return wetted(self.high.line if self.prismatic else self._line(x), depth)

    def _line(self, x: float) -> list[tuple[float, float]]:
        """As at(x), lowest point at 0, without the care a Section takes: it is asked for thousands of times."""
        share = x / self.length
        line = [(a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1]))
                for a, b in zip(self.high.line, self.low.line, strict=True)]
        low = min(up for _, up in line)
        return [(across, up - low) for across, up in line] if low else line

    @cached_property
    def prismatic(self) -> bool:
        """Whether it has one section all along."""
        return self.high.points == self.low.points


@dataclass(frozen=True, kw_only=True)
class Profile:
    """Water along a run, station by station from the high end.

    `x` [mm], `flow` [L/s], `depth` [mm] of the water (above `brim` [mm]: what walls would have to hold), `critical`
    [mm], `normal` [mm] (Manning alone; NaN on a level floor). `control`: where the flow passes its critical depth.
    """

    x: tuple[float, ...]
    flow: tuple[float, ...]
    depth: tuple[float, ...]
    critical: tuple[float, ...]
    normal: tuple[float, ...]
    brim: tuple[float, ...]
    control: Control
    control_at: float

    @property
    def fullest(self) -> int:
        """The station where the water stands nearest its brim, or furthest above it."""
        return max(range(len(self.x)), key=lambda k: self.depth[k] / self.brim[k])

    @property
    def filled(self) -> float:
        """Depth over brim there; above 1 it spills."""
        return self.depth[self.fullest] / self.brim[self.fullest]

    @property
    def spills_at(self) -> float | None:
        """How far from the high end [mm] it spills first as the inflow grows to this; None when it holds."""
        return self.x[self.fullest] if self.filled > 1 else None

    @property
    def thin(self) -> bool:
        """Whether the water is everywhere so shallow that surface tension rules."""
        return max(self.depth) < THIN


@lru_cache(maxsize=64)  # while cures are looked for most changes leave the gutters as they are
def profile(run: Run, *, end_depth: float = 0.0) -> Profile:
    """Water along a run that falls freely out of its low end, or stands `end_depth` [mm] there (what the drain needs).

    Where water backed up from the drain runs into water that came faster, the deeper of both is taken up to the place
    of the jump: on the safe side. FlowError for a depth that is none.
    """
    import numpy as np

    if not 0 <= end_depth < math.inf:
        raise FlowError(f"water standing {end_depth:g} mm at a gutter's low end")
    stations = np.linspace(0.0, run.length, PLACES)
    depth, critical, control, place = _depths(run, stations, end_depth)
    normal = [_normal(run, x) for x in stations]
    brim = [run.at(x).brim for x in stations]
    return Profile(x=tuple(map(float, stations)), flow=tuple(run.flow(x) for x in map(float, stations)),
                   depth=tuple(map(float, depth)), critical=tuple(map(float, critical)),
                   normal=tuple(map(float, normal)), brim=tuple(map(float, brim)), control=control,
                   control_at=float(place))


def _depths(run: Run, stations: np.ndarray, end_depth: float) -> tuple[np.ndarray, np.ndarray, Control, float]:
    """At the stations: depth and critical depth [mm]; where the flow is critical."""
    import numpy as np

    critical = np.array([critical_depth(run, x) for x in stations])
    depth, control, place = np.zeros(len(stations)), "low end", run.length
    if critical[-1] > 0:
        depth, control, place = _free(run, stations, critical)
    if end_depth > max(depth[-1], critical[-1]):
        depth = np.maximum(depth, np.interp(stations, *_follow(run, run.length, end_depth), left=0.0))
    return depth, critical, control, place  # type: ignore[return-value]


def most_gathered(run: Run, *, end_depth: float = 0.0) -> tuple[float, float]:
    """The largest inflow [L/s], spread evenly, that spills nowhere, and where [mm] more would spill first.

    The run's own `gathered` is not used. FlowError when it spills of what it carries or of its end depth already.
    """
    from dataclasses import replace

    import numpy as np
    from scipy.optimize import brentq

    stations = np.linspace(0.0, run.length, FEWER)
    brims = np.array([run.at(x).brim for x in stations])

    def filled(log: float) -> np.ndarray:
        return _depths(replace(run, gathered=math.exp(log)), stations, end_depth)[0] / brims

    def over(log: float) -> float:
        return float(filled(log).max()) - 1

    low = math.log(1e-4)
    if over(low) > 0:
        raise FlowError(f"a gutter that spills of the {run.carried:g} L/s it brings, or of {end_depth:g} mm at its end")
    high = math.log(0.1)
    while over(high) <= 0:
        low, high = high, high + 1
    found = float(brentq(over, low, high, xtol=CLOSE_ENOUGH))
    return math.exp(found), float(stations[filled(found).argmax()])


def critical_depth(run: Run, x: float) -> float:
    """Depth [mm] at x [mm] at which the flow just outruns its waves: Q^2 T = g A^3; 0 without flow."""
    from scipy.optimize import brentq

    flow = run.flow(x) * MM3
    if flow <= 0:
        return 0.0

    def slow(log: float) -> float:
        wet = run.wet(x, math.exp(log))
        return math.log(G_MM * wet.area**3 / wet.top) - 2 * math.log(flow)

    return math.exp(brentq(slow, math.log(1e-9), math.log(FAR * run.at(x).brim), xtol=1e-12))


def _normal(run: Run, x: float) -> float:
    if run.slope <= 0:
        return math.nan
    section, flow = run.at(x), run.flow(x)
    return depth_of(section, flow, slope=run.slope, roughness=run.roughness, upto=FAR * section.brim) if flow else 0.0


def _slopes(run: Run, x: float, depth: float) -> tuple[float, float]:
    """Of the equation above: what stands beside dy/dx, and its right side."""
    flow, wet = run.flow(x) * MM3, run.wet(x, depth)
    speed = flow / wet.area
    friction = (run.roughness * speed / 1000) ** 2 / (wet.hydraulic_radius / 1000) ** (4 / 3)
    right = run.slope - friction - 2 * speed * run.gathered * MM3 / run.length / (G_MM * wet.area)
    if not run.prismatic:
        step = run.length * 1e-4
        wider = (run.wet(x + step, depth).area - run.wet(x - step, depth).area) / (2 * step)
        right += speed**2 / (G_MM * wet.area) * wider
    return 1 - speed**2 * wet.top / (G_MM * wet.area), right


def _free(run: Run, stations: np.ndarray, critical: np.ndarray) -> tuple[np.ndarray, Control, float]:
    """Depths at the stations, with nothing in the way at the low end, and where the flow is critical."""
    import numpy as np

    def pull(x: float, depth: float | None = None) -> float:
        return _slopes(run, x, critical_depth(run, x) if depth is None else depth)[1]

    places = np.concatenate([[FIRST * run.length], stations[1:]]) if run.carried == 0 else stations
    pulls = [pull(places[0]), *(pull(x, y) for x, y in zip(stations[1:], critical[1:], strict=True))]
    passes = [k for k in range(1, len(places)) if pulls[k - 1] < 0 <= pulls[k]]
    if not passes and pulls[-1] >= 0:  # faster than its waves all the way
        x, y = _follow(run, float(places[0]), critical_depth(run, float(places[0])) * (1 - NUDGE), towards=run.length)
        return np.interp(stations, x, y), "high end", float(places[0])
    if not passes:
        path = _follow(run, run.length, float(critical[-1]) * (1 + NUDGE))
        return np.interp(stations, *path), "low end", run.length
    from scipy.optimize import brentq

    k = passes[-1]  # the last: the longest stretch of slow, deep water
    place = float(brentq(pull, places[k - 1], places[k], xtol=1e-9 * run.length))
    up, down = _both_ways(run, place)
    x, y = np.concatenate([up[0], down[0]]), np.concatenate([up[1], down[1]])
    return np.interp(stations, x, y), "on the way", place


def _both_ways(run: Run, place: float) -> tuple[tuple[np.ndarray, np.ndarray], tuple[np.ndarray, np.ndarray]]:
    """The profile up and down from a place on the way where the flow is critical: a saddle, left along its own line."""
    import numpy as np

    depth = critical_depth(run, place)
    dx, dy = 1e-5 * run.length, 1e-5 * depth
    along = [(b - a) / (2 * dx) for a, b in zip(_slopes(run, place - dx, depth), _slopes(run, place + dx, depth),
                                                strict=True)]
    above = [(b - a) / (2 * dy) for a, b in zip(_slopes(run, place, depth - dy), _slopes(run, place, depth + dy),
                                                strict=True)]
    values, vectors = np.linalg.eig(np.array([along, above]).T)
    if np.iscomplexobj(values) or values.min() >= 0:
        raise FlowError(f"water that passes its critical depth {place:g} mm down a gutter in no steady way")
    toward = vectors[:, values.argmin()]
    step = toward * math.copysign(NUDGE * depth / max(abs(toward[1]), 1e-9 * abs(toward[0])), toward[0])
    step *= min(1.0, 1e-3 * run.length / abs(step[0]))
    return (_follow(run, place - step[0], depth - step[1], towards=0.0),
            _follow(run, place + step[0], depth + step[1], towards=run.length))


def _follow(run: Run, x: float, depth: float, *, towards: float = 0.0) -> tuple[np.ndarray, np.ndarray]:
    """The water's surface from (x, depth) to `towards`, as rising x and depths; ends early where it would turn back.

    Followed by a parameter in which both x and depth move smoothly even through the critical depth.
    """
    import numpy as np
    from scipy.integrate import solve_ivp

    def move(_: float, state: np.ndarray) -> list[float]:
        across, right = _slopes(run, min(max(state[0], -run.length), 2 * run.length), max(state[1], 1e-4))
        return [-across, -right]

    def there(_: float, state: np.ndarray) -> float:
        return float(state[0] - towards)

    def turns(_: float, state: np.ndarray) -> float:
        return _slopes(run, state[0], max(state[1], 1e-4))[0] * slow - 1e-9

    slow = 1.0 if towards < x else -1.0
    there.terminal = turns.terminal = True  # type: ignore[attr-defined]
    turns.direction = -1  # type: ignore[attr-defined]
    done = solve_ivp(move, (0.0, 1e9), [x, depth], events=(there, turns), rtol=1e-6, atol=1e-6, dense_output=True)
    between = np.linspace(0, 1, BETWEEN, endpoint=False)
    along = np.append((done.t[:-1, None] + np.diff(done.t)[:, None] * between).ravel(), done.t[-1])
    across, depths = done.sol(along)
    order = np.argsort(across)
    return across[order], depths[order]
