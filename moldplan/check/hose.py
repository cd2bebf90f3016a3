"""Does every closed way out fall to its outlet at every attitude, and what does it hold back, or let in?

In       a Way (rim, tail, hose, outlet), the box of heel and trim or rest alone, the waterline.
Out      findings "hose" (least fall of the worst leg), "pocket", "sea comes in", "pipe fall" (a rule ashore, where it
         is picked).
Not here the geometry of legs (fall_leg.py), outlets (overboard.py), open runs (open_fall.py).

Judged both ways: outward every leg must fall; inward, water that came up the outlet runs out by the same legs.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from moldplan.attitude import REST, Attitude, Vector, Waterline
from moldplan.check.afloat import box_of, waterline_of
from moldplan.check.fall_leg import backflow, deepest_pocket, dips, leg_falls, worst_leg
from moldplan.check.limits import bound
from moldplan.check.outlet import Box
from moldplan.check.outlet_place import Demand
from moldplan.check.ruled import asked
from moldplan.check.way import Way
from moldplan.check.way_moves import fall_moves, outlet_moves
from moldplan.finding import Edit, Finding, Move
from moldplan.shape.body import Vector as Place

PLUMBING = 1 / 48  # drop over run ashore, IPC table 704.1 as seen (handbook/rules.csv): told beside, never held
NO_BOX = "; boat.box is not given, so at rest only"


def hose(way: Way, demand: Demand, openings: Sequence[Box]) -> list[Finding]:
    """Everything about one closed way out; `demand` and `openings`: what a move of its outlet must keep."""
    fall = _fall(way, demand, openings)
    return [fall, _pocket(way, fall.moves), *_sea(way, demand, openings), *_ashore(way, demand, openings)]


def at(place: Place, attitude: Attitude | None = None) -> dict[str, float]:
    """Place and attitude as a finding carries them."""
    found = {axis: round(c, 1) for axis, c in zip("xyz", place, strict=True)}
    if attitude is not None:
        found |= {"heel": round(attitude.heel, 2), "trim": round(attitude.trim, 2)}
    return found


def _fall(way: Way, demand: Demand, openings: Sequence[Box]) -> Finding:
    """The least fall of the worst leg over the box, exactly."""
    limit, box = bound("hose-fall", way.spec), box_of(way.spec)
    where = box or REST
    worst = worst_leg(way.points, where)
    moves: tuple[Move, ...] = ()
    if limit.short(worst.least.value):
        moves = fall_moves(way, where, fall=limit.value, water=waterline_of(way.spec), demand=demand, openings=openings)
    rest = min(leg.least.value for leg in leg_falls(way.points, REST))
    note = f"{_leg(way, worst.index)} falls least, by {worst.least.value:.2f} deg; at rest none falls less than "
    note += f"{rest:.2f} deg" + (f" (1:{1 / math.tan(math.radians(rest)):.0f})" if 1e-6 < rest < 45 else "")
    note += f"; pipes ashore fall 1:{1 / PLUMBING:.0f}, {math.degrees(math.atan(PLUMBING)):.2f} deg"
    return limit.finding(check="way out", part=way.name, what="hose", measured=worst.least.value, path=_hose_path(way),
                         at=at(worst.start, worst.least.at), note=note + ("" if box else NO_BOX), moves=moves)


def _leg(way: Way, index: int) -> str:
    """A leg in words."""
    if index < way.start:
        return "the tail"
    if index == len(way.points) - 2:
        return "the last leg"
    return f"leg {index - way.start + 1} of the hose"


def _hose_path(way: Way) -> tuple[str | int, ...]:
    return (*way.path, "hose")


def _pocket(way: Way, moves: tuple[Move, ...]) -> Finding:
    """How deep water or gas stands in it at the worst attitude; for gas the rule that asks for none.

    A hose that falls everywhere has no pocket: `moves` are those of its fall.
    """
    limit, box = bound("hose-pocket", way.spec), box_of(way.spec)
    if way.gas and (rule := asked("gas no pocket", way.spec, way.facts)) and rule.bound:
        limit = replace(limit, source=rule.bound.source)
    pocket = deepest_pocket(way.points, box or REST)
    deep = max(pocket.depth.value, 0.0)
    note = "no point of it ever lies under a later one"
    if deep > 0:
        held = max(dips(way.points, pocket.depth.at, bore=way.drain.narrowest), key=lambda dip: dip.depth, default=None)
        note = f"it holds back {deep:.1f} mm at its lowest"
        if held:
            note += f", {held.litres:.2f} L" + (": the bore is shut, no gas passes" if held.sealed and way.gas else "")
    return limit.finding(check="way out", part=way.name, what="pocket", measured=deep, path=_hose_path(way),
                         at=at(way.points[pocket.low], pocket.depth.at), note=note + ("" if box else NO_BOX),
                         moves=moves)


def _sea(way: Way, demand: Demand, openings: Sequence[Box]) -> list[Finding]:
    """How high drain and outlet stay over still water: the sea comes in where both go under."""
    water, box = waterline_of(way.spec), box_of(way.spec)
    if water is None:
        return []
    limit = bound("drain-over-water", way.spec)
    back = backflow(way.points, water, box or REST)
    dry = back.outlet if back.outlet.value >= back.drain.value else back.drain
    note = "its outlet stays out of still water" if back.outlet.value >= 0 else (
        f"still water comes {back.length:.0f} mm up its hose, "
        + ("into the space it drains" if back.enters else f"to {back.drain.value:.0f} mm under the drain at the most"))
    moves: tuple[Move, ...] = ()
    if limit.short(dry.value):
        moves = _higher(way, water, dry.value, dry.at)
        if way.gas:  # its outlet must stay dry anyway
            moves = (*outlet_moves(way, box or REST, water=water, demand=demand, openings=openings), *moves)
    place = way.points[-1] if dry is back.outlet else way.points[0]
    return [limit.finding(check="way out", part=way.name, what="sea comes in", measured=dry.value, path=way.path,
                          at=at(place, dry.at), note=note + ("" if box else NO_BOX), moves=moves)]


def _higher(way: Way, water: Waterline, least: float, attitude: Attitude) -> tuple[Move, ...]:
    """The floor up by what is missing, the hose's start with it."""
    up = math.ceil(-least / math.cos(math.radians(max(abs(attitude.heel), abs(attitude.trim)))) + 0.5)
    edits = way.lifted(up)
    return (Move(f"{way.floor_words} to {{to}}", (Edit(edits[0].path, edits[0].to, 5.0), *edits[1:])),)


def _ashore(way: Way, demand: Demand, openings: Sequence[Box]) -> list[Finding]:
    """The fall a plumbing code asks of a pipe ashore, where the builder picked one: at rest, drop over run."""
    facts = {**way.facts, "bore": way.drain.narrowest}
    rule = asked("pipe fall", way.spec, facts)
    if rule is None:
        return []
    worst = min(((leg, _slope(leg.start, leg.end)) for leg in leg_falls(way.points[way.start:], REST)),
                key=lambda found: found[1])
    moves: tuple[Move, ...] = ()
    if rule.bound is not None and rule.bound.short(worst[1]):
        slope = math.degrees(math.atan(rule.bound.value))
        moves = fall_moves(way, REST, fall=slope, water=waterline_of(way.spec), demand=demand, openings=openings)
    return [rule.finding(check="way out", part=way.name, what="pipe fall", measured=worst[1], path=_hose_path(way),
                         at=at(worst[0].start), note="drop over run of its flattest leg at rest", moves=moves)]


def _slope(a: Vector, b: Vector) -> float:
    """Drop over plan run; a plumb leg counts as 1000."""
    run = math.hypot(b[0] - a[0], b[1] - a[1])
    return min(max((a[2] - b[2]) / run, -1000.0), 1000.0) if run > 1e-9 else math.copysign(1000.0, a[2] - b[2])
