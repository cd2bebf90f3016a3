"""Core left standing: between two recesses, to the block's sides, and under a seat's floor.

In       a Spot of kind seat: the finished core with the roles "<seat> wall", "<seat> floor" and its own sides.
Out      findings "core beside" and "core under".
Not here what lies on the core (skins, paint).
"""

from __future__ import annotations

from moldplan.check.gap import Gap, least, nearest
from moldplan.check.limits import bound, value_at
from moldplan.check.spot import HAIR, Spot, grown, shifts, up
from moldplan.finding import Edit, Finding, Move

SIDES = ("forward", "aft", "port", "starboard")


def land(spot: Spot) -> list[Finding]:
    """Least core thickness round one seat."""
    core = spot.core
    if core is None:
        return []
    roles, name = core.shaped.roles, spot.stand.roles
    wall, floor = roles.get(f"{name} wall", ()), roles.get(f"{name} floor", ())
    found: list[Finding] = []
    beside = {f"the block's {side} side": roles[side] for side in SIDES if roles.get(side)}
    for other in spot.others:
        theirs = roles.get(f"{other.stand.roles} wall", ())
        if other.cradle_path == spot.cradle_path and other.stand.hand == spot.stand.hand and theirs:
            beside[str(other.path[-1])] = theirs
    if wall and beside:
        found.append(_beside(spot, *nearest(wall, beside)))
    if floor and roles.get("underside"):
        found.append(_under(spot, least(floor, roles["underside"])))
    return found


def _beside(spot: Spot, gap: Gap, to: str) -> Finding:
    limit = bound("land", spot.spec)
    short = limit.short(gap.size)
    back = (-gap.way[0], -gap.way[1], 0.0)
    moves: list[Move] = list(shifts(spot, back, short)[:2])
    size = value_at(spot.spec, (*spot.cradle_path, "block"))
    block, at = spot.block, spot.value("at")
    if size and block and at:
        # the seat in the middle of a block that is larger all round
        larger = Edit((*spot.cradle_path, "block"), (*(up(s + 2 * (short + HAIR)) for s in size[:2]), size[2]))
        inward = Edit((*spot.path, "at"), tuple(up(a + short + HAIR) for a in at))
        moves.append(Move("a block of {to}, larger all round", (larger, inward)))
    return limit.finding(check="clearance", part=spot.stand.name, what="core beside", measured=gap.size,
                         path=(*spot.path, "at"), at=gap.middle, moves=tuple(moves),
                         note=f"{gap.size:.1f} mm of core left between the seat and {to}")


def _under(spot: Spot, gap: Gap) -> Finding:
    limit = bound("core-under-seat", spot.spec)
    short = limit.short(gap.size)
    size = value_at(spot.spec, (*spot.cradle_path, "block"))
    moves = (*grown("a block {to} mm high", (*spot.cradle_path, "block", 2), size[2] if size else None, short),
             *grown("seat {to} mm deep", (*spot.path, "depth"), spot.value("depth"), -short))
    return limit.finding(check="clearance", part=spot.stand.name, what="core under", measured=gap.size,
                         path=(*spot.path, "depth"), at=gap.middle, moves=moves,
                         note=f"{gap.size:.1f} mm of core left under the floor of the seat")
