"""Where a way out ends: how its outlet stands to the water, what it is near to, its bores, whether it is its own.

In       a Way, all Ways of the plan; waterline, box, openings and ignition points of the boat.
Out      findings "height at rest", "height in the box", "under its floor", "bore"; for gas "clear of ..." each opening,
         "own line".
Not here falls (hose.py), the locker's own tightness (gas_space.py).

For heavy gas the rules picked say how much; for water our own limits. An outlet is meant by its lowest edge.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from moldplan.attitude import REST, Vector
from moldplan.check.afloat import box_of, waterline_of
from moldplan.check.hose import at
from moldplan.check.limits import Bound, bound
from moldplan.check.outlet import Box, Stands, below_floor, narrowest, nearby, sharing, stands
from moldplan.check.outlet_place import Demand, bands_at, least_floor, outlets_that_work
from moldplan.check.ruled import Asked, asked
from moldplan.check.way import Way
from moldplan.check.way_moves import outlet_moves
from moldplan.finding import Edit, Finding, Move, Source
from moldplan.spec.model import Spec

DEEP = 2000.0  # mm under water: no demand on the box
BESIDE = 150.0  # mm that an outlet of its own is set off from the one shared so far; ours


def overboard(way: Way, ways: Sequence[Way]) -> list[Finding]:
    """Everything about one way's end; the outlet that a water line joins is judged with that line."""
    shared = len(way.chain) > 1 and not way.gas
    return [*([] if shared else _heights(way)), _under(way), *_apart(way), _bore(way), *_own(way, ways)]


def openings_of(spec: Spec) -> dict[str, Box]:
    """The boat's named openings as boxes."""
    boat = spec.boat
    return {name: (one.from_, one.to) for name, one in boat.openings.items()} if boat else {}


def ignition_of(spec: Spec) -> dict[str, Vector]:
    """What may light gas, by name."""
    return dict(spec.boat.ignition) if spec.boat else {}


def demand_of(way: Way) -> Demand:
    """What the outlet of a way must keep, wherever it is put."""
    rim, facts = way.last_bore / 2, way.facts
    if not way.gas:
        return Demand(at_rest=bound("outlet-height", way.spec).value + rim, in_box=-DEEP,
                      fall=bound("hose-fall", way.spec).value, under_floor=bound("outlet-under-floor", way.spec).value)

    def figure(quantity: str) -> float:
        found = asked(quantity, way.spec, facts)
        return found.bound.value if found and found.bound else 0.0

    return Demand(at_rest=figure("gas outlet height") + rim, in_box=figure("gas outlet height in the box") + rim,
                  fall=bound("hose-fall", way.spec).value, under_floor=figure("gas outlet under floor"),
                  apart=figure("gas outlet to openings") + rim)


def shut_of(way: Way) -> tuple[Box, ...]:
    """What the outlet of a gas locker keeps clear of, as boxes; nothing for water."""
    return (*openings_of(way.spec).values(), *((p, p) for p in ignition_of(way.spec).values())) if way.gas else ()


def _moves(way: Way) -> tuple[Move, ...]:
    """Outlet up with its floor, or inboard, to where everything asked is kept."""
    water = waterline_of(way.spec)
    return () if water is None else outlet_moves(way, box_of(way.spec) or REST, water=water, demand=demand_of(way),
                                                 openings=shut_of(way))


def _held(way: Way, quantity: str, ours: str) -> Asked | Bound | None:
    return asked(quantity, way.spec, way.facts) if way.gas else bound(ours, way.spec)


def _heights(way: Way) -> list[Finding]:
    """Over the water at rest, and through the box with the heel at which it goes under."""
    water, box, end = waterline_of(way.spec), box_of(way.spec), way.points[-1]
    if water is None:
        return []
    here = stands(end, water, box or REST, rim=way.last_bore / 2)
    limit = _held(way, "gas outlet height", "outlet-height")
    found = []
    if limit is not None:
        found.append(limit.finding(
            check="outlet", part=way.name, what="height at rest", measured=here.rest, path=way.outlet_path, at=at(end),
            note=f"its lowest edge stands {here.rest:.0f} mm over the loaded waterline" + _could(way),
            moves=_moves(way)))
    return [*found, _in_the_box(way, here)] if box else found


def _in_the_box(way: Way, here: Stands) -> Finding:
    """Through the box: judged for gas, told for water."""
    note = f"it goes under {_heel(here.port)} to port and {_heel(here.starboard)} to starboard, sinkage ignored"
    if here.first == 0:
        note = "upright it is under water already, at the worst trim"
    limit = asked("gas outlet height in the box", way.spec, way.facts) if way.gas else None
    place = at(way.points[-1], here.least.at)
    if limit is None:
        return Finding(check="outlet", part=way.name, what="height in the box", measured=round(here.least.value, 6),
                       limit=None, sense="at_least", unit="mm", at=place, path=way.outlet_path, note=note,
                       source=Source(document="our own assumption", how_read="ours"),
                       skipped="told, not judged: water may come up a water drain, if it stays out of the space")
    return limit.finding(check="outlet", part=way.name, what="height in the box", measured=here.least.value,
                         path=way.outlet_path, at=place, note=note, moves=_moves(way))


def _heel(angle: float | None) -> str:
    return "not before 90 deg" if angle is None else f"at {angle:.1f} deg"


def _could(way: Way) -> str:
    """The least floor this outlet and hose allow; the outlets that this floor allows."""
    water, where, points = waterline_of(way.spec), box_of(way.spec) or REST, way.points
    if water is None:
        return ""
    demand, start = demand_of(way), points[way.start]
    tail = points[0][2] - start[2]
    plan = [p[:2] for p in points[way.start:-1]]
    floor = least_floor(points[-1], plan, where, fall=demand.fall, under_floor=demand.under_floor) + tail
    bands = bands_at(points[-1][:2], start, water, where, demand, between=plan[1:], openings=shut_of(way))
    works = ", ".join(f"{b.low:.0f} to {b.high:.0f}" for b in bands) or "none"
    said = (f"; by its hose the floor may lie as low as {floor:.0f}; heights at which an outlet works at this place of "
            f"the hull: {works}")
    hull = way.spec.boat.outline if way.spec.boat else None
    if hull and not bands:
        there = outlets_that_work(hull, start, water, where, demand, openings=dict(enumerate(shut_of(way))))  # type: ignore[arg-type]
        best = max(there, key=lambda band: band.room, default=None)
        said += ("; nowhere along the hull does one work for this floor" if best is None else
                 f"; along the hull most room is at {best.at[0]:.0f}, {best.at[1]:.0f}, from {best.low:.0f} to "
                 f"{best.high:.0f}")
    return said


def _under(way: Way) -> Finding:
    """How far the outlet lies under the drain it serves, at rest."""
    limit = _held(way, "gas outlet under floor", "outlet-under-floor")
    assert limit is not None  # both tables hold a figure of ours
    lower = below_floor(way.points[0], way.points[-1], REST).value
    return limit.finding(check="outlet", part=way.name, what="under its floor", measured=lower, path=way.outlet_path,
                         at=at(way.points[-1]), moves=_moves(way),
                         note=f"it lies {abs(lower):.0f} mm {'under' if lower >= 0 else 'over'} its drain")


def _apart(way: Way) -> list[Finding]:
    """Distance to every opening and ignition point, for gas."""
    limit = asked("gas outlet to openings", way.spec, way.facts) if way.gas else None
    if limit is None:
        return []
    found = nearby(way.points[-1], openings_of(way.spec), ignition_of(way.spec), rim=way.last_bore / 2)
    if not found:
        return [limit.unjudged(check="outlet", part=way.name, what="clear of openings", path=("boat", "openings"),
                               why="boat.openings and boat.ignition name nothing that gas must not reach")]
    return [limit.finding(check="outlet", part=way.name, what=f"clear of {one.name}", measured=one.distance,
                          path=way.outlet_path, at=at(way.points[-1]), moves=_moves(way),
                          note=f"{one.distance:.0f} mm from the outlet's rim to the {one.kind} {one.name}"
                          if one.kind == "opening" else f"{one.distance:.0f} mm from its rim to {one.name}, "
                          "which may light gas")
            for one in found]


def _bore(way: Way) -> Finding:
    """The narrowest place of the whole way."""
    limit = _held(way, "gas drain bore", "way-bore")
    assert limit is not None
    what, bore = narrowest([(words, size) for words, size, _ in way.bores])
    value = limit.value if isinstance(limit, Bound) else limit.bound.value if limit.bound else bore
    wider = float(math.ceil(value))
    tight = [(path, size) for _, size, path in way.bores if size < value]
    edits = tuple(Edit(path, wider) for path, _ in tight)
    names = ", ".join(words for words, size, _ in way.bores if size < value)
    moves = (Move(f"{names}: {{to}} mm", edits), *_wider_flanges(way, edits, names)) if edits else ()
    return limit.finding(check="outlet", part=way.name, what="bore", measured=bore, path=way.path,
                         at=at(way.points[0]), moves=moves,
                         note=f"{what} is the narrowest of the way: {bore:g} mm clear")


def _wider_flanges(way: Way, edits: Sequence[Edit], names: str) -> tuple[Move, ...]:
    """The same where a drain's own flange must grow with its bore."""
    more = tuple(Edit((*drain.path, "flange"), math.ceil(edit.to + 20)) for drain in way.chain for edit in edits
                 if edit.path == (*drain.path, "bore"))
    return (Move(f"{names}: {{to}} mm, in wider flanges", (*edits, *more)),) if more else ()


def _own(way: Way, ways: Sequence[Way]) -> list[Finding]:
    """A gas drain shares its line with none."""
    limit = asked("gas own line", way.spec, way.facts) if way.gas else None
    if limit is None:
        return []
    named = {each.name: each for each in ways}
    joins: Mapping[str, str | None] = {n: w.chain[1].name if len(w.chain) > 1 else None for n, w in named.items()}
    others = [o for o in sharing(joins)[way.name] if named[o].drain.space != way.drain.space]
    moves = tuple(_parted(each) for each in ([way] if joins[way.name] else []) + [
        named[o] for o in others if joins[o] and way.name in _onward(o, joins)])
    return [limit.finding(check="outlet", part=way.name, what="own line", measured=0.0 if others else 1.0,
                          path=(*way.path, "joins"), at=at(way.points[-1]), moves=moves,
                          note=f"it shares its line with {', '.join(others)}" if others else "its line is its own")]


def _onward(name: str, joins: Mapping[str, str | None]) -> set[str]:
    found, here = set(), joins[name]
    while here is not None:
        found.add(here)
        here = joins[here]
    return found


def _parted(way: Way) -> Move:
    """A line with an outlet of its own, beside the one it shared."""
    x, y, z = way.points[-1]
    to = (round(x + BESIDE, 1), round(y * way.flip, 1), round(z, 1))
    edits = [Edit((*way.path, "outlet"), to), Edit((*way.path, "joins"), None)]
    return Move(f"{way.name}: an outlet of its own at {{to}}", tuple(edits))
