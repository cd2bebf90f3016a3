"""Room round a cylinder: neighbours, locker walls, a hand at the valve, the closed lid, what holds it.

In       a Spot: the cylinder, the room of its valve, the other stands, the locker's clear inside.
Out      findings "neighbour", "fingers", "hand at the valve", "lid", "head room", "valve over its seat".
Not here the way out of the locker (lift.py).

A wall of a locker is a plane, so that a solid's distance to it is exact and has a sign.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from moldplan.check.gap import Gap, boxes_apart, corners, least, place
from moldplan.check.gap import nearest as to_nearest
from moldplan.check.limits import bound, value_at
from moldplan.check.reach import extent
from moldplan.check.spot import HAIR, Spot, grown, shifts, up
from moldplan.finding import Edit, Finding, Move
from moldplan.shape.assembly import Room
from moldplan.shape.body import Vector

if TYPE_CHECKING:
    import cadquery as cq

SIDES: dict[str, Vector] = {"forward": (1.0, 0.0, 0.0), "aft": (-1.0, 0.0, 0.0), "port": (0.0, 1.0, 0.0),
                            "starboard": (0.0, -1.0, 0.0)}
UP: Vector = (0.0, 0.0, 1.0)


def around(spot: Spot) -> list[Finding]:
    """Everything round one cylinder."""
    found = [*neighbour(spot), *over_seat(spot)]
    if spot.room is None:
        found.append(bound("finger-gap", spot.spec).unjudged(
            check="clearance", part=spot.stand.name, what="locker", path=spot.cradle_path,
            why="the cradle stands in no locker: room for hands, lid and lift-out are not known"))
        return found
    return [*found, fingers(spot, spot.room), *hand_at_valve(spot, spot.room), lid(spot, spot.room),
            *head_room(spot, spot.room)]


@dataclass(frozen=True)
class Near:
    """The nearest of the other cylinders and valves."""

    gap: Gap
    other: Spot


def nearest(spot: Spot) -> Near | None:
    """Exact distance to the nearest other stand; those whose boxes are further off are not measured."""
    others = {f"{n} {k}": (other, solid) for n, other in enumerate(spot.others)
              for k, solid in enumerate(other.solids)}
    if not others:
        return None
    shapes = {name: solid for name, (_, solid) in others.items()}
    gap, name = min((to_nearest(own, shapes) for own in spot.solids), key=lambda found: found[0].size)
    return Near(gap, others[name][0])


def neighbour(spot: Spot) -> list[Finding]:
    """The gap to the nearest other cylinder or valve, both at their largest."""
    near = nearest(spot)
    if near is None:
        return []
    limit = bound("neighbour-gap", spot.spec)
    measured = near.gap.size - spot.slack - near.other.slack
    note = f"{measured:.1f} mm to {near.other.stand.name}, both at their largest"
    away = near.gap.way if near.gap.size > 1e-9 else _minus(near.other.stand.frame.origin, spot.stand.frame.origin)
    short = limit.short(measured)
    moves = [*shifts(near.other, away, short), *shifts(spot, (-away[0], -away[1], -away[2]), short)]
    return [limit.finding(check="clearance", part=spot.stand.name, what="neighbour", measured=measured,
                          path=(*spot.path, "at"), at=near.gap.middle, note=note, moves=tuple(moves))]


def _minus(a: Vector, b: Vector) -> Vector:
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def wall_room(room: Room, solids: tuple[cq.Shape, ...], side: str) -> float:
    """From solids to one wall of the locker [mm]; negative where they stand in it."""
    way = SIDES[side]
    axis = 0 if way[0] else 1
    face = room.high[axis] if way[axis] > 0 else -room.low[axis]
    return face - extent(solids, way)


def fingers(spot: Spot, room: Room) -> Finding:
    """Room for fingers between the cylinder with its valve and every wall of the locker."""
    limit = bound("finger-gap", spot.spec)
    gaps = {side: wall_room(room, spot.solids, side) - spot.slack for side in SIDES}
    side = min(gaps, key=lambda s: gaps[s])
    measured, way = gaps[side], SIDES[side]
    note = f"{measured:.1f} mm to the {side} wall, the cylinder at its largest"
    short = limit.short(measured)
    moves = (*shifts(spot, (-way[0], -way[1], 0.0), short), *_wider(spot, room, side, short))
    return limit.finding(check="clearance", part=spot.stand.name, what="fingers", measured=measured,
                         path=(*spot.path, "at"), at=_at_wall(spot, room, side), note=note, moves=moves)


def _at_wall(spot: Spot, room: Room, side: str) -> dict[str, float]:
    way, axis = SIDES[side], 0 if SIDES[side][0] else 1
    point = list(spot.stand.frame.place((0.0, 0.0, spot.stand.cylinder.height / 2)))
    point[axis] = room.high[axis] if way[axis] > 0 else room.low[axis]
    return place((point[0], point[1], point[2]))


def _wider(spot: Spot, room: Room, side: str, by: float) -> tuple[Move, ...]:
    """The locker's box moved out on one side; the cradle stays where it is."""
    from_, to = (value_at(spot.spec, (*room.path, "box", end)) for end in ("from_", "to"))
    block = spot.block
    if from_ is None or to is None or block is None:
        return ()
    way = SIDES.get(side, UP)
    axis = max(range(3), key=lambda k: abs(way[k]))
    out = way[axis]
    ends = {"from": list(from_), "to": list(to)}
    end = "to" if (to[axis] - from_[axis]) * out > 0 else "from"
    ends[end][axis] = out * up(out * ends[end][axis] + by + HAIR)
    stay = Edit((*spot.cradle_path, "at"), (round(block.frame.origin[0], 3), round(block.frame.origin[1], 3)))
    text = "raise the locker's top" if side == "up" else f"move the locker's {side} wall out"
    edits = [Edit((*room.path, "box", end), tuple(ends[end]))]
    lid_plan = value_at(spot.spec, (*room.path, "lid"))
    if side != "up" and spot.stand.hand is None:
        edits.append(stay)
    if side != "up" and lid_plan is not None and room.opening:
        edits.append(Edit((*room.path, "lid", "centre"), room.opening.centre))
    return (Move(f"{text}: its corner {{to}}", tuple(edits)),)


def hand_at_valve(spot: Spot, room: Room) -> list[Finding]:
    """Room for a fist beside the valve, on one side at least; another cylinder on that side counts as its wall."""
    if spot.envelope is None:
        return []
    limit = bound("hand-gap", spot.spec)
    valve = spot.envelope.solid
    gaps = {side: _free(spot, room, valve, side) for side in SIDES}
    if abs(spot.stand.frame.z[2]) < 0.5:
        gaps["up"] = _top(room) - extent((valve,), UP)
    side = max(gaps, key=lambda s: gaps[s])
    note = f"{gaps[side]:.0f} mm free beside the valve on its {side} side, the widest"
    short = limit.short(gaps[side])
    way = SIDES.get(side, UP)
    moves = (*shifts(spot, (-way[0], -way[1], 0.0), short), *_wider(spot, room, side, short))
    return [limit.finding(check="clearance", part=spot.stand.name, what="hand at the valve", measured=gaps[side],
                          path=(*spot.path, "at"), at=place(valve.Center().toTuple()), note=note, moves=moves)]


def _free(spot: Spot, room: Room, valve: cq.Shape, side: str) -> float:
    """How far a hand finds free room from the valve towards a side [mm]."""
    free = wall_room(room, (valve,), side)
    low, high = (list(c) for c in corners(valve))
    way = SIDES[side]
    for axis in (0, 1):
        if way[axis] > 0:
            high[axis] += max(free, 0.0)
        elif way[axis] < 0:
            low[axis] -= max(free, 0.0)
    swept = ((low[0], low[1], low[2]), (high[0], high[1], high[2]))
    for other in spot.others:
        for them in other.solids:
            if boxes_apart(swept, corners(them)) <= 0:
                free = min(free, least(valve, them).size)
    return free


def _top(room: Room) -> float:
    return room.opening.underside if room.opening else room.high[2]


def lid(spot: Spot, room: Room) -> Finding:
    """The gap under the closed lid, or under the locker's top where it has none."""
    limit = bound("lid-gap", spot.spec)
    highest = extent(spot.solids, UP)
    measured = _top(room) - highest
    short = limit.short(measured)
    name = "closed lid" if room.opening else "locker's top"
    note = f"{measured:.1f} mm from the highest point under the {name} to its underside"
    spec, path = spot.spec, spot.path
    moves = (
        *grown("seat {to} mm deep", (*path, "depth"), spot.value("depth"), short),
        *_lower_block(spot, short),
        *grown("rise {to} mm", (*path, "rise"), spot.value("rise"), -short),
        *grown("the lid's underside at {to} mm", (*room.path, "lid", "underside"),
               value_at(spec, (*room.path, "lid", "underside")), short),
        *_wider(spot, room, "up", short),
    )
    return limit.finding(check="clearance", part=spot.stand.name, what="lid", measured=measured,
                         path=(*room.path, "lid") if room.opening else room.path,
                         at=place((*spot.stand.frame.origin[:2], highest)), note=note, moves=moves)


def _lower_block(spot: Spot, by: float) -> tuple[Move, ...]:
    size = value_at(spot.spec, (*spot.cradle_path, "block"))
    return grown("a block {to} mm high", (*spot.cradle_path, "block", 2), size[2] if size else None, -by)


def head_room(spot: Spot, room: Room) -> list[Finding]:
    """Head room over a valve that stands beside the opening, where a hand works with the lid open."""
    from moldplan.check.outline import disc_gap

    if spot.envelope is None or room.opening is None:
        return []
    valve = spot.envelope.solid
    middle = valve.Center()
    reach = max(extent((valve,), SIDES["forward"]) - middle.x, extent((valve,), SIDES["port"]) - middle.y)
    if disc_gap(room.opening, (middle.x, middle.y), reach) >= 0:
        return []  # open to the sky once the lid is up
    limit = bound("valve-room", spot.spec)
    measured = room.opening.underside - extent((valve,), UP)
    short = limit.short(measured)
    moves = (
        *grown("seat {to} mm deep", (*spot.path, "depth"), spot.value("depth"), short), *_lower_block(spot, short),
        Move("the lid's middle at {to}, over the valve",
             (Edit((*room.path, "lid", "centre"), (round(middle.x, 1), round(middle.y, 1))),)),
        *_wider(spot, room, "up", short))
    return [limit.finding(check="clearance", part=spot.stand.name, what="head room", measured=measured,
                          path=(*room.path, "lid"), at=place((middle.x, middle.y, middle.z)),
                          note=f"{measured:.0f} mm over the valve, which stands beside the opening", moves=moves)]


def over_seat(spot: Spot) -> list[Finding]:
    """The valve's room against what holds the cylinder: ribs, base or block."""
    if spot.envelope is None:
        return []
    limit = bound("envelope-gap", spot.spec)
    block = spot.block
    solids = {body.name: body.solid for body in (*spot.hosts, *((block,) if block else ()))}
    if not solids:
        return []
    gap, _ = to_nearest(spot.envelope.solid, solids)
    short = limit.short(gap.size)
    moves = grown("rise {to} mm", (*spot.path, "rise"), spot.value("rise"), short, grid=1.0)
    if spot.stand.kind == "seat":
        moves = grown("seat {to} mm deep", (*spot.path, "depth"), spot.value("depth"), -short)
    return [limit.finding(check="clearance", part=spot.stand.name, what="valve over its seat", measured=gap.size,
                          path=spot.path, at=gap.middle,
                          note=f"{gap.size:.1f} mm from the valve's room to what holds the cylinder", moves=moves)]
