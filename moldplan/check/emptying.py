"""How a space empties through its drains: dV(h)/dt = inflow - Q(h), V(h) from the body itself at the attitude.

In       a Reservoir (litres and water's area by level, at one attitude), Outlets with own levels and flows, an inflow.
Out      Emptying: time to a level, what is left, the curve (t, h, V) to plot; each outlet blocked in turn; the level
         that a steady inflow keeps up, the time a space takes to fill.
Not here V(h) (pond_level.py), a single drain's flow (flow_drain.py, flow_pipe.py), published times (emptying_times).

Levels are heights [mm] along up at the attitude, from any zero that basin and outlets share. The flow depends on the
level alone, so that time is integrated over r = sqrt(h - lowest outlet): in r an orifice that runs dry ends in finite
time like any other, and a floor that comes to a point needs no smallest area. As good as the drains' own flows (orifice
+-15 % when molded); below about 5 mm of water surface tension rules. The hull is taken to stay at its attitude.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from moldplan.check.flow import FlowError

MM3 = 1e6  # mm3 in a litre
LONGEST = 3600.0  # s; what takes longer counts as never
PLACES = 121  # of a curve
LEAST_STEPS = 60  # of an integration: where a weir turns into an orifice the pace has a kink that a long step may miss
SLIGHT = 1e-6  # of the range in r, where Q / r is asked for in place of 0 / 0
STUCK = 1e12  # s per unit of r: nothing runs out any more


@dataclass(frozen=True, kw_only=True)
class Reservoir:
    """What a space holds at one attitude, between its lowest place and its sill [mm along up].

    `litres` of what can run out below a level, `area` [mm2] of its surface there: litres must rise with the level.
    """

    low: float
    sill: float
    litres: Callable[[float], float]
    area: Callable[[float], float]

    def __post_init__(self) -> None:
        if not -math.inf < self.low < self.sill < math.inf:
            raise FlowError(f"a space from {self.low:g} up to {self.sill:g} mm")
        if not self.litres(self.sill) > self.litres(self.low):
            raise FlowError("a space that holds no more at its sill than at its lowest place")

    def level_of(self, litres: float) -> float:
        """The level [mm] at which it holds so much; FlowError outside what it holds."""
        from scipy.optimize import brentq

        least, most = self.litres(self.low), self.litres(self.sill)
        if not least <= litres <= most:
            raise FlowError(f"{litres:g} L in a space that holds {least:g} to {most:g} L")
        return float(brentq(lambda h: self.litres(h) - litres, self.low, self.sill, xtol=1e-9))


def prism(area: float, *, low: float = 0.0, sill: float) -> Reservoir:
    """A space with upright walls round `area` [mm2]."""
    if not 0 < area < math.inf:
        raise FlowError(f"a space of {area:g} mm2")
    return Reservoir(low=low, sill=sill, litres=lambda h: area * (h - low) / MM3, area=lambda h: area)


def tabulated(levels: Sequence[float], litres: Sequence[float]) -> Reservoir:
    """A space given by a table, levels and litres rising: a smooth curve through it that rises all along.

    FlowError for fewer than two rows, or rows that do not rise.
    """
    import numpy as np
    from scipy.interpolate import PchipInterpolator

    h, v = np.asarray(levels, dtype=float), np.asarray(litres, dtype=float)
    if len(h) < 2 or len(h) != len(v) or not (np.all(np.diff(h) > 0) and np.all(np.diff(v) > 0)):
        raise FlowError("a table of levels and litres must rise in both, in two rows or more")
    curve = PchipInterpolator(h, v)
    steep = curve.derivative()
    return Reservoir(low=float(h[0]), sill=float(h[-1]), litres=lambda x: float(curve(x)),
                 area=lambda x: float(steep(x)) * MM3)


@dataclass(frozen=True, kw_only=True)
class Outlet:
    """A way out: its name, the level [mm] of its rim or sill, its flow [L/s] for a head [mm] over that level."""

    name: str
    level: float
    flow: Callable[[float], float]


def opening(name: str, *, level: float, bore: float, discharge: float, drop: float = 0.0, count: int = 1) -> Outlet:
    """`count` round holes that let out Cd a sqrt(2 g (h + drop)) each; `drop` [mm] of full pipe below pulls along."""
    from moldplan.check.flow_drain import orifice_flow

    if not 0 <= drop < math.inf or count < 1:
        raise FlowError(f"{count} holes with a drop of {drop:g} mm below")
    return Outlet(name=name, level=level,
                  flow=lambda head: count * orifice_flow(head=head + drop, bore=bore, coefficient=discharge))


@dataclass(frozen=True, kw_only=True)
class Emptying:
    """From `start` to the level asked for: seconds (inf: not reached, `why` says so), what is left, and the curve.

    `times` [s], `levels` [mm], `litres` [L] fall from the start to the end or to where it comes to a stand.
    """

    start: float
    until: float
    seconds: float
    why: str | None
    blocked: tuple[str, ...]
    times: tuple[float, ...]
    levels: tuple[float, ...]
    litres: tuple[float, ...]

    @property
    def left(self) -> float:
        """Litres left that could have run out, at the end of the curve."""
        return self.litres[-1]

    def time_to(self, level: float) -> float:
        """Seconds to a level [mm], read between the curve's places; inf below its end, FlowError above its start."""
        import numpy as np

        if not level <= self.start:
            raise FlowError(f"a level of {level:g} mm, above the {self.start:g} mm it was filled to")
        if level < self.levels[-1] - 1e-9:
            return math.inf
        return float(np.interp(-level, [-h for h in self.levels], self.times))


def empty(basin: Reservoir, outlets: Sequence[Outlet], *, start: float | None = None, until: float | None = None,
          blocked: Sequence[str] = (), inflow: float = 0.0, longest: float = LONGEST) -> Emptying:
    """Let a space run out from `start` (or its sill) to the level `until` (or that of the lowest open outlet).

    `blocked`: names of outlets that let nothing out. `inflow` [L/s], steady. Longer than `longest` [s] is never.
    FlowError for levels out of order or outside the space, an unknown name, a negative inflow.
    """
    top = basin.sill if start is None else start
    way = _open(outlets, blocked)
    base = min((outlet.level for outlet in way), default=math.inf)
    end = until if until is not None else max(min(base, top), basin.low)
    if not basin.low - 1e-9 <= end <= top <= basin.sill + 1e-9:
        raise FlowError(f"from {top:g} down to {end:g} mm in a space from {basin.low:g} up to {basin.sill:g} mm")
    if not 0 <= inflow < math.inf:
        raise FlowError(f"an inflow of {inflow:g} L/s")
    if base >= top:
        dry = "every outlet is blocked" if not way else f"the lowest open outlet is {base - top:.1f} mm above the water"
        return _made(basin, top, end, blocked, [0.0], [top], None if end == top else dry)
    times, levels, stuck = _run(basin, way, top, max(end, base), inflow, longest)
    why: str | None = None
    if end < base:
        why = f"the lowest open outlet is {base - end:.1f} mm above that"
    elif stuck:
        why = f"it stands {levels[-1] - end:.1f} mm above that after {longest / 60:.0f} min"
    return _made(basin, top, end, blocked, times, levels, why)


def each_blocked(basin: Reservoir, outlets: Sequence[Outlet], *, start: float | None = None, until: float | None = None,
                 inflow: float = 0.0, longest: float = LONGEST) -> dict[str, Emptying]:
    """The same with each outlet blocked in turn, by its name."""
    return {outlet.name: empty(basin, outlets, start=start, until=until, blocked=(outlet.name,), inflow=inflow,
                               longest=longest) for outlet in outlets}


def standing(basin: Reservoir, outlets: Sequence[Outlet], *, inflow: float, blocked: Sequence[str] = ()
             ) -> float | None:
    """The level [mm] at which as much runs out as a steady inflow [L/s] brings; None when it comes over the sill."""
    from scipy.optimize import brentq

    way = _open(outlets, blocked)
    if not 0 <= inflow < math.inf:
        raise FlowError(f"an inflow of {inflow:g} L/s")

    def net(h: float) -> float:
        return _flow(way, h) - inflow

    if net(basin.sill) < 0:
        return None
    return float(brentq(net, basin.low, basin.sill, xtol=1e-9)) if net(basin.low) < 0 else basin.low


def time_to_fill(basin: Reservoir, outlets: Sequence[Outlet] = (), *, inflow: float, start: float | None = None,
                 until: float | None = None, blocked: Sequence[str] = ()) -> float:
    """Seconds in which a steady inflow [L/s] raises the water from `start` to `until` [mm]: all its depth if not given.

    inf when the outlets take it all before. FlowError for levels out of order.
    """
    from scipy.integrate import quad

    low, high = basin.low if start is None else start, basin.sill if until is None else until
    if not basin.low <= low <= high <= basin.sill or not 0 <= inflow < math.inf:
        raise FlowError(f"from {low:g} up to {high:g} mm at {inflow:g} L/s")
    way = _open(outlets, blocked)
    stand = standing(basin, outlets, inflow=inflow, blocked=blocked)
    if low < high and (inflow == 0 or (stand is not None and stand <= high)):
        return math.inf
    steps = sorted({low, high, *(o.level for o in way if low < o.level < high)})
    return sum(float(quad(lambda h: basin.area(h) / MM3 / (inflow - _flow(way, h)), a, b, limit=200)[0])
               for a, b in zip(steps, steps[1:], strict=False))


def _open(outlets: Sequence[Outlet], blocked: Sequence[str]) -> list[Outlet]:
    names = [outlet.name for outlet in outlets]
    for name in blocked:
        if name not in names:
            raise FlowError(f"no outlet is called {name!r}; there are {', '.join(names) or 'none'}")
    if len(set(names)) < len(names):
        raise FlowError(f"two outlets of one name among {', '.join(names)}")
    return [outlet for outlet in outlets if outlet.name not in blocked]


def _flow(way: Sequence[Outlet], level: float) -> float:
    return sum(outlet.flow(level - outlet.level) for outlet in way if level > outlet.level)


def _run(basin: Reservoir, way: Sequence[Outlet], top: float, end: float, inflow: float, longest: float
         ) -> tuple[list[float], list[float], bool]:
    """Times and levels from top to end, and whether `longest` came first. Past the level of each outlet anew."""
    import numpy as np
    from scipy.integrate import solve_ivp

    base = min(outlet.level for outlet in way)
    slight = SLIGHT * math.sqrt(top - base)
    marks = sorted({top, end, *(o.level for o in way if end < o.level < top)}, reverse=True)
    times, levels = [0.0], [top]

    def pace(fallen: float, _: np.ndarray, first: float) -> list[float]:
        r = max(first - fallen, slight)
        net = _flow(way, base + r * r) - inflow
        return [min(2 * r * basin.area(min(base + r * r, basin.sill)) / MM3 / net, STUCK) if net > 0 else STUCK]

    def late(_: float, state: np.ndarray, first: float) -> float:
        return float(state[0] - longest)

    late.terminal = True  # type: ignore[attr-defined]
    for high, low in zip(marks, marks[1:], strict=False):
        first, last = math.sqrt(high - base), math.sqrt(low - base)
        count = max(3, round(PLACES * (high - low) / (top - end)))
        done = solve_ivp(pace, (0.0, first - last), [times[-1]], events=late, args=(first,), rtol=1e-7, atol=1e-6,
                         max_step=(first - last) / LEAST_STEPS, t_eval=np.linspace(0.0, first - last, count))
        times += [float(t) for t in done.y[0][1:]]
        levels += [float(base + (first - fallen) ** 2) for fallen in done.t[1:]]
        if done.status != 0:
            gone = done.t_events[0]  # empty where the solver gave up before it was late
            times += [longest] * len(gone)
            levels += [float(base + (first - fallen) ** 2) for fallen in gone]
            return times, levels, True
    return times, levels, False


def _made(basin: Reservoir, start: float, until: float, blocked: Sequence[str], times: Sequence[float],
          levels: Sequence[float], why: str | None) -> Emptying:
    return Emptying(start=start, until=until, seconds=times[-1] if why is None else math.inf, why=why,
                    blocked=tuple(blocked), times=tuple(times), levels=tuple(levels),
                    litres=tuple(basin.litres(min(max(h, basin.low), basin.sill)) for h in levels))
