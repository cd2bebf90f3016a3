"""The way out: a cylinder lifted through the lid's opening, straight or tilted.

In       a Spot with a Room that has an opening; the finished cylinder with its valve, and what stands round it.
Out      one finding "lift-out": the least gap on the way.
Not here the search for a tilted way (tilt.py), hand room (around.py).

Straight up, the shadow that a solid casts on the plane of the lid is what must pass. An upright cylinder's shadow is a
disc, and its gap to a rounded rectangle exact; a leaning or lying one's is the hull of its triangles' corners.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from moldplan.check.gap import corners, place
from moldplan.check.limits import Bound, bound
from moldplan.check.outline import disc_gap, inside, widest_ball
from moldplan.check.reach import extent
from moldplan.check.spot import Spot, shifts, up
from moldplan.finding import Edit, Finding, Move
from moldplan.shape.assembly import Opening, Room
from moldplan.shape.body import Vector

if TYPE_CHECKING:
    import cadquery as cq
    import numpy as np

FINE = 0.05  # mm, triangles of a leaning or lying solid
UPRIGHT = 1e-9


@dataclass(frozen=True, kw_only=True)
class Straight:
    """Straight up: least gap [mm], what it is to, and the gap to the opening alone."""

    gap: float
    to: str
    opening: float
    tolerance: float


def lift_out(spot: Spot) -> list[Finding]:
    """Straight up if that holds; otherwise the best of straight and tilted, and the other told in the note."""
    room = spot.room
    if room is None:
        return []
    limit = bound("lift-gap", spot.spec)
    if room.opening is None:
        return [limit.unjudged(check="clearance", part=spot.stand.name, what="lift-out", path=room.path,
                               why="the locker has no lid in the spec")]
    found = straight(spot, room.opening)
    measured = found.gap - spot.slack
    note = f"straight up: {measured:.1f} mm to {found.to}, the cylinder at its largest"
    if limit.short(measured) <= 0:
        return [_finding(spot, room, limit, measured, note, found.tolerance)]
    return [_tilted(spot, room, room.opening, limit, found, note)]


def _finding(spot: Spot, room: Room, limit: Bound, measured: float, note: str, tolerance: float,
             moves: tuple[Move, ...] = ()) -> Finding:
    x, y, _ = spot.stand.frame.origin
    height = room.opening.underside if room.opening else room.high[2]
    return limit.finding(check="clearance", part=spot.stand.name, what="lift-out", measured=measured,
                         path=(*room.path, "lid"), at=place((x, y, height)), tolerance=tolerance, note=note,
                         moves=moves)


def _tilted(spot: Spot, room: Room, opening: Opening, limit: Bound, found: Straight, note: str) -> Finding:
    """What a tilt can do where straight up does not hold."""
    from moldplan.check.tilt import search

    short = found.gap - spot.slack
    moves = _open_up(spot, room, opening, limit.short(short))
    most = widest_ball(opening) - spot.stand.cylinder.radius - spot.slack
    if most < limit.value:  # the ball that fits in the cylinder must pass too, whatever the motion
        note += (f"; no tilt can leave more than {most:.1f} mm: its diameter must pass an opening of "
                 f"{min(opening.size):.0f} mm")
        return _finding(spot, room, limit, short, note, found.tolerance, moves)
    way = search(spot, room, opening, need=limit.value + spot.slack)
    if way.path:
        gap = way.gap - spot.slack
        how = f"tilted by {way.most_tilt:.0f} deg" if way.most_tilt else "raised, then moved over"
        note = (f"{note}; {how} ({way.towards}) it passes with {gap:.1f} mm to {way.to} "
                f"(a path of {len(way.path)} poses, looked at again in {way.looked} finer ones)")
        return _finding(spot, room, limit, gap, note, way.tolerance, moves)
    note += f"; tilted: {way.why}"
    return _finding(spot, room, limit, short, note, found.tolerance, moves)


def straight(spot: Spot, opening: Opening) -> Straight:
    """Least gap of the shadow to the opening's outline, and to whatever stands over it on the way."""
    lean = math.hypot(spot.stand.frame.z[0], spot.stand.frame.z[1])
    if lean < UPRIGHT:
        x, y, _ = spot.stand.frame.origin
        reach = max(extent(spot.solids, way) - at for way, at in (((1.0, 0.0, 0.0), x), ((0.0, 1.0, 0.0), y)))
        gap, tolerance = disc_gap(opening, (x, y), reach), 0.0
    else:
        points = shadow_points(spot.solids)
        gap, tolerance = float(inside(opening, points).min()), FINE
    above, to = _overhead(spot)
    if above < gap:
        return Straight(gap=above, to=to, opening=gap, tolerance=FINE)
    return Straight(gap=gap, to="the edge of the lid's opening", opening=gap, tolerance=tolerance)


def shadow_points(solids: tuple[cq.Shape, ...]) -> np.ndarray:
    """Plan points of solids' triangles, (n, 2)."""
    import numpy as np

    from moldplan.shape.mesh import mesh

    return np.vstack([mesh(solid, tolerance=FINE, angle=4.0)[0][:, :2] for solid in solids])


def _overhead(spot: Spot) -> tuple[float, str]:
    """Least plan gap to another stand's body that reaches higher than this one's foot: they would meet on the way."""
    import shapely

    low = -extent(spot.solids, (0.0, 0.0, -1.0))
    boxes = [corners(solid) for solid in spot.solids]
    best, name = math.inf, ""
    own = None
    for other in spot.others:
        for solid in other.solids:
            box = corners(solid)
            flat = min(math.hypot(*(max(box[0][k] - b[1][k], b[0][k] - box[1][k], 0.0) for k in (0, 1))) for b in boxes)
            if box[1][2] <= low or flat >= best:
                continue
            own = own or shapely.MultiPoint(shadow_points(spot.solids)).convex_hull
            theirs = shapely.MultiPoint(shadow_points((solid,))).convex_hull
            gap = own.distance(theirs) if not own.intersects(theirs) else -_sunk(own, theirs)
            if gap < best:
                best, name = gap, other.stand.name
    return best, name


def _sunk(own: object, theirs: object) -> float:
    """How much two shadows overlap across, roughly: the side of a square as large as what they share."""
    return math.sqrt(own.intersection(theirs).area)  # type: ignore[attr-defined]


def _open_up(spot: Spot, room: Room, opening: Opening, by: float) -> tuple[Move, ...]:
    """Lid over the cylinder, cylinder under the lid, a larger opening, and both."""
    frame = spot.stand.frame
    x, y, _ = frame.place((0.0, 0.0, spot.stand.cylinder.height / 2))
    lid = (*room.path, "lid")
    over = Edit((*lid, "centre"), (round(x, 1), round(y, 1)))
    larger = Edit((*lid, "clear_opening"), tuple(up(side + 2 * by, 5.0) for side in opening.size))
    away: Vector = (opening.centre[0] - x, opening.centre[1] - y, 0.0)
    off = math.hypot(away[0], away[1])
    moves = []
    if off > 0.5:
        moves.append(Move("the lid's middle at {to}, over the cylinder", (over,)))
    moves.append(Move("a clear opening of {to}", (larger,)))
    if off > 0.5:
        moves.append(Move("the lid's middle at {to}, and a larger opening", (over, larger)))
        moves += shifts(spot, (away[0] / off, away[1] / off, 0.0), min(by, off))
    return tuple(moves)
