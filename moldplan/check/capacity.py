"""Does what comes in get out fast enough: rain on the soles, and a sea that fills a cockpit to its sill?

In       Assembly, Spec, its basins.
Out      findings "rain" (each gutter run, each drain) and "emptying" (each sole with a sill); Curves to draw.
Not here what stays behind (ponds.py), the formulas (flow*.py, emptying.py), published times (emptying_times.py).

Rain that falls on a lid runs into the gutter round it, spread evenly. Each drain must take the most that runs to it
at rest and with a slight list either way. A drain whose hose is not known lets water fall free from its tail. A hose
counts with every turn as a bend of three bores, a square entry and the roughness of plastic.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from moldplan.attitude import Attitude, up, ups
from moldplan.check.afloat import lyings
from moldplan.check.basin import Basin
from moldplan.check.emptying import Emptying, Outlet, Reservoir, each_blocked, empty, tabulated
from moldplan.check.emptying_times import published_times
from moldplan.check.flow import FlowError, drafted
from moldplan.check.flow_drain import Drain
from moldplan.check.flow_gather import Run, profile
from moldplan.check.flow_pipe import Bend, Pipe
from moldplan.check.flow_rain import boarded_mass, rain_flow
from moldplan.check.hatch_spot import HatchSpot, spots
from moldplan.check.limits import Bound, bound
from moldplan.check.spot import grown
from moldplan.finding import Finding, Source
from moldplan.handbook.lookup import table
from moldplan.shape.assembly import Assembly, SolePlace
from moldplan.shape.drain import DrainPlace
from moldplan.spec.model import Spec

if TYPE_CHECKING:
    import numpy as np

RAIN = 75.0  # mm/h where the spec says nothing of the boat
BENT = 3.0  # radius of a hose's turn over its bore; ours
SHALLOW = 5.0  # deg, a lesser turn is none
LISTS = (-0.25, 0.0, 0.25)  # deg of heel at rest: no boat lies dead level, and a level edge runs to either end; ours
FINE = 60.0  # mm, the longest side of a triangle that rain falls on
HEADS = 61  # in a table of a drain's flow
LEVELS = 30  # of a space's volume, by number and by height each
DEEPEST = 1000.0  # mm of water over a drain's rim that is looked at


@dataclass(frozen=True, kw_only=True)
class Curve:
    """How one sole empties from its sill: all drains open, then each blocked; heights in mm over its lowest rim."""

    name: str
    lying: str
    lowest: float
    left: float  # mm over the lowest rim that counts as empty
    all_open: Emptying
    blocked: Mapping[str, Emptying]


def drain_of(place: DrainPlace) -> Drain:
    """A drain with the pipe that follows it, as far as that is known."""
    if not place.known or len(place.line) < 2:
        return Drain(bore=place.bore)
    length = sum(math.dist(a, b) for a, b in zip(place.line, place.line[1:], strict=False))
    turns = [_turn(*three) for three in zip(place.line, place.line[1:], place.line[2:], strict=False)]
    bends = tuple(Bend(angle=t, radius=BENT * place.narrowest) for t in turns if t > SHALLOW)
    pipe = Pipe(bore=place.narrowest, length=length, drop=place.line[0][2] - place.line[-1][2], bends=bends,
                roughness=table("roughness").number("plastic", "height", unit="mm"))
    return Drain(bore=place.bore, pipe=pipe)


def _turn(a: tuple[float, ...], b: tuple[float, ...], c: tuple[float, ...]) -> float:
    """How far a line turns at b [deg]."""
    one, two = ([q - p for p, q in zip(x, y, strict=True)] for x, y in ((a, b), (b, c)))
    inner = sum(p * q for p, q in zip(one, two, strict=True)) / math.hypot(*one) / math.hypot(*two)
    return math.degrees(math.acos(max(-1.0, min(1.0, inner))))


def rain(assembly: Assembly, spec: Spec, ground: tuple[Basin, ...]) -> list[Finding]:
    """Findings of rain on the soles, at rest."""
    found: list[Finding] = []
    every = spots(assembly, spec)
    for basin in ground:
        if basin.space.kind == "sole" and basin.open:
            own = [s for s in every if s.place.sole == basin.space.name]
            area = served(basin, own, LISTS)
            found += [f for spot in own for f in _gutter_runs(spec, spot, area)]
            found += [_drain(spec, place, own, area.get(place.name, 0.0)) for place in basin.space.drains]
    return found


def _intensity(spec: Spec) -> float:
    return spec.boat.rain if spec.boat else RAIN


def served(basin: Basin, own: list[HatchSpot], heels: Sequence[float]) -> dict[str, float]:
    """The most area seen from above that each drain takes rain from at some heels [mm2], lids included."""
    from moldplan.check.flood import flood
    from moldplan.check.pond import standing

    fine = basin.surface.refined(FINE)  # areas are told apart no finer than by triangles
    areas = standing(flood(fine, ups(heels, [0.0] * len(heels)))).served.max(axis=0)
    found = dict(zip(fine.outlets, map(float, areas), strict=False))
    for spot in own:
        (length, width), radius = (tuple(2 * h for h in spot.opening.half), spot.opening.radius)
        lid = length * width - (4 - math.pi) * radius**2
        mine = [d.name for d in basin.space.drains if d.space == spot.name]
        for name in mine:
            found[name] = found.get(name, 0.0) + lid / len(mine)
    return found


def _gutter_runs(spec: Spec, spot: HatchSpot, areas: Mapping[str, float]) -> Iterator[Finding]:
    """Each gutter's longest run against the rain of the drain it leads to, half of it from either side."""
    level = -spot.landing
    wide = min(spot.outer[s].off(level, spot.paint) - spot.inner[s].off(level, spot.paint) for s in spot.outer)
    draft = min(w.draft for w in (*spot.outer.values(), *spot.inner.values()))
    levels, runs, hatch = spot.place.levels, spot.place.runs, spot.place.hatch
    inflow = max((rain_flow(areas.get(f"{spot.name}.{n}", 0.0), intensity=_intensity(spec)) for n in hatch.drains),
                 default=0.0) / 2
    path, slope = (*spot.path, "gutter", "width"), (levels.drain - levels.high) / runs.longest
    smooth = table("roughness").number("gelcoat or paint", "manning", unit="s/m^(1/3)")
    try:
        high, low = (drafted(width=wide, depth=d - levels.landing, draft=draft, root_radius=hatch.gutter.root_radius)
                     for d in (levels.high, levels.drain))
        water = profile(Run(high=high, low=low, length=runs.longest, slope=slope, gathered=inflow, roughness=smooth))
    except FlowError as why:
        yield _to_the_landing(0.0).unjudged(check="rain", part=spot.name, what="gutter", path=path, why=str(why))
        return
    deep, brim = water.depth[water.fullest], water.brim[water.fullest]
    yield _to_the_landing(brim).finding(
        check="rain", part=spot.name, what="gutter", measured=deep, path=path, at=spot.at((0.0, 0.0, level)),
        tolerance=0.2 * deep, moves=(*grown("a gutter {to} mm deep", (*spot.path, "gutter", "depth"),
                                            hatch.gutter.depth, deep - brim + 2.0),
                                     *grown("a gutter {to} mm wide", path, hatch.gutter.width, 10.0)),
        note=f"{_intensity(spec):g} mm/h of rain bring {inflow:.3f} L/s to a run of {runs.longest:.0f} mm; it stands "
             f"{deep:.1f} mm deep where it is fullest (Manning, +-20 %)")


def _to_the_landing(depth: float) -> Bound:
    """A limit that the gutter itself gives [mm]."""
    source = Source(document="geometry", clause="over the landing it reaches the gasket", how_read="maths")
    return Bound(name="rain", value=depth, unit="mm", sense="at_most", source=source, loosened=None)


def _drain(spec: Spec, place: DrainPlace, own: list[HatchSpot], area: float) -> Finding:
    """One drain: how deep its share of the rain stands over its rim, against the gutter's depth or a film on a sole."""
    flow = rain_flow(area, intensity=_intensity(spec))
    spot = next((s for s in own if s.name == place.space), None)
    what, path = f"drain {place.path[-1]}", (*place.path, "bore")
    limit = bound("rain-head", spec)
    if spot is not None:
        levels = spot.place.levels
        limit = _to_the_landing(levels.rim - levels.landing)
    at = dict(zip("xyz", (round(c, 3) for c in place.rim), strict=True))
    try:
        head = drain_of(place).head_for(flow, deepest=DEEPEST)
    except FlowError as why:
        return limit.unjudged(check="rain", part=place.space, what=what, path=path, why=str(why))
    return limit.finding(check="rain", part=place.space, what=what, measured=head, path=path, at=at,
                         tolerance=0.15 * head, moves=grown("a bore of {to} mm", path, place.bore, 6.0),
                         note=f"{flow:.3f} L/s of rain from {area / 1e6:.2f} m2 stand {head:.1f} mm over its rim")


def emptying(assembly: Assembly, spec: Spec, ground: tuple[Basin, ...]) -> tuple[list[Finding], list[Curve]]:
    """A sea has filled each sole that has a sill: how long until it is empty, at rest and as the builder named."""
    found: list[Finding] = []
    curves: list[Curve] = []
    for basin in ground:
        sole = next((s for s in assembly.soles if s.name == basin.space.name), None)
        if sole is None or not basin.open or not basin.surface.blockable:
            continue
        if sole.sole.sill is None:
            found.append(bound("emptying", spec).unjudged(check="emptying", part=sole.name, what="at rest",
                                                          path=(*sole.path, "sill"), why="the sole has no `sill`"))
            continue
        for lying in lyings(spec):
            curve = _curve(basin, sole, lying.name, lying.attitude)
            if isinstance(curve, str):
                found.append(bound("emptying", spec).unjudged(check="emptying", part=sole.name, what=lying.name,
                                                              path=(*sole.path, "sill"), why=curve))
                continue
            curves.append(curve)
            found += _times(spec, sole, curve, rest=lying.name == "at rest")
    return found, curves


def _curve(basin: Basin, sole: SolePlace, name: str, attitude: Attitude) -> Curve | str:
    """The curve of one sole at one attitude, or why there is none."""
    from moldplan.check.pond_level import filled_to

    x0, y0, x1, y1 = sole.bounds
    assert sole.sole.sill is not None
    sill = [(x, y, sole.sole.sill) for x in (x0, x1) for y in (y0, y1)]
    full = filled_to(basin.surface, up(attitude), sill)
    rims = {d.name: full.rims[d.name] for d in basin.space.drains if d.name in full.rims}
    lowest = min(rims.values())
    if full.sill <= lowest + 1.0:
        return "at this attitude the sill lies no higher than the lowest drain"
    levels = _thinned(full.knots)
    space = _tabled(levels, full.litres(levels) - full.stays)
    outlets = [Outlet(name=d.name, level=rims[d.name], flow=_tabled_flow(drain_of(d), full.sill - rims[d.name]))
               for d in basin.space.drains if d.name in rims]
    left = _left()
    until = max(min(lowest + left, full.sill), space.low)
    try:
        return Curve(name=sole.name, lying=name, lowest=lowest, left=left,
                     all_open=empty(space, outlets, until=until), blocked=each_blocked(space, outlets, until=until))
    except FlowError as why:
        return str(why)


def _thinned(knots: np.ndarray) -> np.ndarray:
    """Few of a space's knots, and levels between them: as many by number as by height."""
    import numpy as np

    some = knots[np.unique(np.linspace(0, len(knots) - 1, LEVELS).astype(int))]
    return np.unique(np.concatenate([some, np.linspace(knots[0], knots[-1], LEVELS)]))


def _tabled(levels: np.ndarray, litres: np.ndarray) -> Reservoir:
    """The space between its lowest rim and its sill, by rows that rise."""
    import numpy as np

    rises = np.concatenate([[True], (np.diff(litres) > 1e-9) & (np.diff(levels) > 1e-9)])
    return tabulated([float(x) for x in levels[rises]], [float(x) for x in litres[rises]])


def _tabled_flow(drain: Drain, deepest: float) -> Callable[[float], float]:
    """A drain's flow by its head from a table, to 1 in 1000 of it: friction is solved for anew at every head."""
    import numpy as np

    roots = np.linspace(0.0, math.sqrt(max(deepest, 1.0) + 1.0), HEADS)
    flows = np.array([drain.flow(float(r * r)) for r in roots])
    return lambda head: float(np.interp(math.sqrt(max(head, 0.0)), roots, flows))


def _left() -> float:
    """Depth over the lowest rim that counts as empty [mm]: common practice's."""
    return published_times(())[-1].depth_left


def _times(spec: Spec, sole: SolePlace, curve: Curve, *, rest: bool) -> Iterator[Finding]:
    """The time against the builder's limit, and beside what the sets he picked print."""
    one, path = curve.all_open, (*sole.path, "scuppers")
    worst = max(curve.blocked.items(), key=lambda item: item[1].seconds, default=None)
    gone = one.litres[0] - one.litres[-1]
    mass = boarded_mass(gone)
    note = f"{gone:.0f} L ({mass:.0f} kg) run out, down to {curve.left:g} mm over the lowest rim"
    if worst and math.isfinite(worst[1].seconds):
        note += f"; with {worst[0]} blocked in {worst[1].seconds:.0f} s"
    elif worst:
        note += f"; with {worst[0]} blocked it does not: {worst[1].why}"
    biggest = max(sole.sole.scuppers.items(), key=lambda item: item[1].bore, default=None)
    moves = grown("a bore of {to} mm", (*path, biggest[0], "bore"), biggest[1].bore, 6.0) if biggest else ()
    yield bound("emptying", spec).finding(check="emptying", part=sole.name, what=curve.lying, measured=one.seconds,
                                          path=path, note=note, tolerance=0.15 * min(one.seconds, 1e6), moves=moves)
    facts = {"category": spec.boat.category, "craft": spec.boat.craft} if spec.boat else {}
    known = {name: value for name, value in facts.items() if value is not None}
    for printed in published_times(spec.rules, facts=known)[:-1] if rest and spec.rules else ():
        until = curve.lowest + printed.depth_left
        seconds = one.time_to(until) if until <= one.start else 0.0
        yield Finding(check="emptying", part=sole.name, what=f"by {printed.rules}", measured=round(seconds, 3),
                      limit=printed.seconds, sense="at_most", unit="s", source=printed.source, path=path,
                      skipped=printed.not_judged, tolerance=0.15 * min(seconds, 1e6),
                      note=f"down to {printed.depth_left:g} mm over the lowest rim, all drains open", moves=moves)
