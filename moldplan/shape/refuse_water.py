"""Drains, hoses and outlets that cannot be, said before any solid is made.

In       a Spec with nothing left open.
Out      Faults, each with its field, what is allowed and why.
Not here scuppers off their sole (choose_sole.py), what drains badly (check/).
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from moldplan.errors import Fault, Path
from moldplan.quantity import at_least
from moldplan.shape import locker as lockers
from moldplan.shape.cradle import frame_of
from moldplan.shape.drain import flange_of
from moldplan.spec.model import Locker, Spec
from moldplan.spec.water import WayOut

BESIDE_BLOCK = 5.0  # mm from a block's core to a drain's bore: room for the block's skin and its tape's edge; ours
Point3 = tuple[float, float, float]
HULL = 60.0  # mm, an outlet's middle may lie so far inside the hull's outside: a skin fitting's own length; ours


def water_faults(spec: Spec) -> list[Fault]:
    """Everything about ways out that cannot be."""
    ways = dict(_ways(spec))
    found = [f for name, one in spec.lockers.items() for f in _locker(("lockers", name), one)]
    found += [f for name, (path, way) in ways.items() for f in _joins(name, path, way, ways)]
    found += [f for name, one in spec.lockers.items() for f in _under_a_block(spec, name, one)]
    for path, way in ways.values():
        if way.outlet is not None:
            found += _outlet(spec, (*path, "outlet"), way.outlet)
    for name, one in spec.lockers.items():
        if one.vent and one.vent.outlet is not None:
            found += _outlet(spec, ("lockers", name, "vent", "outlet"), one.vent.outlet)
    return found


def _ways(spec: Spec) -> Iterator[tuple[str, tuple[Path, WayOut]]]:
    """Every drain by its full name."""
    for name, room in spec.lockers.items():
        for own, (where, one) in lockers.drains_of(room).items():
            yield f"{name}.{own}", (("lockers", name, *where), one)
    for name, sole in spec.soles.items():
        for own, scupper in sole.scuppers.items():
            yield f"{name}.{own}", (("soles", name, "scuppers", own), scupper)
        for title, hatch in sole.hatches.items():
            for own, drain in hatch.drains.items():
                yield f"{name}.{title}.{own}", (("soles", name, "hatches", title, "drains", own), drain)


def _joins(name: str, path: Path, way: WayOut, ways: dict[str, tuple[Path, WayOut]]) -> list[Fault]:
    """A line that runs into one that is there, and not into itself in the end."""
    seen, here = {name}, way.joins
    while here is not None:
        if here not in ways:
            others = ", ".join(sorted(set(ways) - seen)) or "no other drain is given"
            told = way.joins == here  # else it is a mistake of the drain it runs into, told there
            return [Fault((*path, "joins"), here, others, f"no drain is called {here!r}")] if told else []
        if here in seen:
            return [Fault((*path, "joins"), way.joins, "a drain with an outlet at its end",
                          "the lines run into each other in a ring")]
        seen.add(here)
        here = ways[here][1].joins
    return []


def _outlet(spec: Spec, path: Path, at: Point3) -> list[Fault]:
    """An outlet is on the hull's outside: in no locker, and at the edge of the hull's plan where that is given."""
    for name, room in spec.lockers.items():
        low, high = lockers.corners(room)
        if all(a < p < b for a, p, b in zip(low, at, high, strict=True)):
            return [Fault(path, list(at), "a point on the hull's outside", f"it lies inside {name}")]
    if spec.boat is None or spec.boat.outline is None:
        return []
    from shapely.geometry import Point, Polygon

    hull, spot = Polygon(spec.boat.outline), Point(at[0], at[1])
    deep = hull.exterior.distance(spot) if hull.contains(spot) else 0.0
    if deep > HULL:
        return [Fault(path, list(at), f"at most {HULL:g} mm inside boat.outline",
                      f"it lies {deep:.0f} mm inside the hull")]
    return []


def _under_a_block(spec: Spec, name: str, one: Locker) -> list[Fault]:
    """A drain that would lie under what stands in its locker."""
    from shapely.geometry import Point, Polygon

    found, room = [], lockers.space(name, one)
    for title, cradle in spec.cradles.items():
        if cradle.locker != name:
            continue
        frame, (length, width, _) = frame_of(cradle, room), cradle.block
        foot = Polygon([frame.place((x, y, 0.0))[:2] for x, y in ((0, 0), (length, 0), (length, width), (0, width))])
        for where, drain in lockers.drains_of(one).values():
            x, y, _ = lockers.drain_frame(one, drain).origin
            near = foot.distance(Point(x, y)) - drain.bore / 2
            if near < BESIDE_BLOCK:
                found.append(Fault(("lockers", name, *where, "at"), [x, y],
                                   f"a place {at_least(BESIDE_BLOCK - near, 0)} mm further from {title}",
                                   f"the drain would lie under {title} or its skin"))
    return found


def _locker(path: Path, one: Locker) -> list[Fault]:
    """A drain on the locker's sole, a vent and passages at its walls."""
    low, high = lockers.corners(one)
    found = []
    for where, drain in lockers.drains_of(one).values():
        x, y, _ = lockers.drain_frame(one, drain).origin
        half = drain.bore / 2
        over = max(low[0] + half - x, x + half - high[0], low[1] + half - y, y + half - high[1])
        if over > 1e-9:
            found.append(Fault((*path, *where, "at"), [x, y],
                               f"{low[0] + half:g} to {high[0] - half:g}, {low[1] + half:g} to {high[1] - half:g}",
                               f"the drain would be {over:.0f} mm off the locker's sole, in mid-air"))
        if flange_of(drain) <= drain.bore:
            found.append(Fault((*path, *where, "flange"), drain.flange, f"more than {drain.bore:g}",
                               "a flange is wider than its bore"))
    places = [((*path, "passages", n, "at"), p.at, "a passage") for n, p in one.passages.items()]
    places += [((*path, "vent", "at"), one.vent.at, "a vent")] if one.vent else []
    for where, at, what in places:
        off = math.dist(at, [min(max(p, a), b) for p, a, b in zip(at, low, high, strict=True)])
        if off > lockers.WALL + 1e-9:
            found.append(Fault(where, list(at), f"a point in the locker or at its walls, {list(low)} to {list(high)}",
                               f"{what} of the locker would be {off:.0f} mm away from it"))
    return found
