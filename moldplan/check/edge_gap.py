"""Gaps round a lid: at its top and its underside, before and after paint, while it swings, and under its drip lip.

In       a HatchSpot.
Out      findings "gap bare", "gap", "gap at the top", "gap at the underside", "swing", "drip lip".
Not here whether the lid lies flush (section.py).

F-faces lie a coat outside the bare ones on both sides of a gap, so that a distance between bare faces is two coats
more than between painted ones. The swing is the lid's free edge turned about the hinge's axis, all its corners against
the wall and the rim in a plane square to that axis; round the lid's own corners the wall recedes. Where the frame's
flange lies under the sole, what the lid faces down to there is the edge of the sole's own cut-out.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from moldplan.check.gap import least
from moldplan.check.hatch_spot import WAYS, HatchSpot, MadeHatch, Wall
from moldplan.check.limits import bound
from moldplan.check.spot import grown
from moldplan.finding import Edit, Finding, Move

if TYPE_CHECKING:
    import cadquery as cq
    import numpy as np

OPPOSITE = {"forward": "aft", "aft": "forward", "port": "starboard", "starboard": "port"}
TURNS = (1800, 60, 60)  # positions of a lid looked at from closed to upright, then about the one with the least gap:
# the last are so near to each other that the edge moves out by under 1e-4 mm between them, at a knuckle of 60 mm too
LIP_ROLES = ("floor", "inner root", "outer root", "inner wall")
EDGE_POINTS = 120  # along a rim's rounding of 3 mm; chords are then within 1e-4 mm of it


def edge_gaps(spot: HatchSpot) -> list[Finding]:
    """All gaps of one lid."""
    return [bare(spot), anywhere(spot), widest(spot), underside(spot), *swing(spot), *drip_lip(spot)]


def _wider(spot: HatchSpot, short: float) -> tuple[Move, ...]:
    return grown("a gap of {to} mm all round", (*spot.path, "lid", "gap"), spot.place.hatch.lid.gap, short)


def sole_edge(spot: MadeHatch) -> tuple[cq.Face, ...]:
    """Faces of the sole's own cut-out that a lid lies in: none where a rebated frame lines it."""
    if spot.place.hatch.bond_flange.lies == "rebated":
        return ()
    return spot.assembly.body(spot.sole.part).faces(f"{spot.path[-1]} edge")


def walls_at(spot: MadeHatch, level: float) -> dict[str, Wall]:
    """What a lid faces on each side at a level (z): the gutter's outer wall, or the sole's own edge above a frame that
    lies under it."""
    if level < -spot.place.start or not sole_edge(spot):
        return spot.outer
    return spot.walls(spot.assembly.body(spot.sole.part), f"{spot.path[-1]} edge", outward=False)


def gap_at(spot: MadeHatch, level: float, *, painted: bool) -> tuple[float, str]:
    """Least level gap between the lid and what it faces, over the four sides, at a level (z) [mm], and its side."""
    coat, walls = spot.paint if painted else 0.0, walls_at(spot, level)
    gaps = {side: walls[side].off(level, coat) - spot.lid_edge[side].off(level, coat) for side in WAYS}
    side = min(gaps, key=lambda s: gaps[s])
    return gaps[side], side


def _on(spot: HatchSpot, side: str, level: float) -> dict[str, float]:
    """The edge of the rebate on a side, at a level."""
    axis, sign = WAYS[side]
    point = [0.0, 0.0, level]
    point[axis] = sign * walls_at(spot, level)[side].off(level, spot.paint)
    return spot.at((point[0], point[1], point[2]))


def bare(spot: HatchSpot) -> Finding:
    """The gap before paint: what the coats of both faces take, and the least gap besides."""
    limit = bound("edge-gap", spot.spec)
    measured, side = gap_at(spot, spot.lid_top - spot.paint, painted=False)
    left = measured - 2 * spot.paint
    note = (f"{measured:.1f} mm before paint on the {side} side; a coat of {spot.paint:.1f} mm on each face leaves "
            f"{left:.1f} mm")
    return limit.finding(check="gap", part=spot.name, what="gap bare", measured=left, path=(*spot.path, "lid", "gap"),
                         at=_on(spot, side, spot.lid_top), note=note, moves=_wider(spot, limit.short(left)))


def anywhere(spot: HatchSpot) -> Finding:
    """The least painted gap between the lid's edge and what it faces anywhere, square to the faces."""
    limit = bound("edge-gap", spot.spec)
    found = least(spot.lid.faces("side"), (*spot.molding.faces("outer wall"), *sole_edge(spot)))
    measured = found.size - 2 * spot.paint
    return limit.finding(check="gap", part=spot.name, what="gap", measured=measured, path=(*spot.path, "lid", "gap"),
                         at=found.middle, note=f"{measured:.1f} mm painted, at its narrowest all round the closed lid",
                         moves=_wider(spot, limit.short(measured)))


def widest(spot: HatchSpot) -> Finding:
    """The painted gap at the surface against a toe."""
    limit = bound("edge-gap-wide", spot.spec)
    measured, side = gap_at(spot, spot.lid_top, painted=True)
    return limit.finding(check="gap", part=spot.name, what="gap at the top", measured=measured,
                         path=(*spot.path, "lid", "gap"), at=_on(spot, side, spot.lid_top),
                         note=f"{measured:.1f} mm painted, level with the sole",
                         moves=_wider(spot, -limit.short(measured)))


def underside(spot: HatchSpot) -> Finding:
    """The painted gap at the lid's underside, which the drafts of wall and lid make."""
    limit = bound("edge-gap", spot.spec)
    measured, side = gap_at(spot, spot.lid_under, painted=True)
    wall, edge = walls_at(spot, spot.lid_under)[side].draft, spot.lid_edge[side].draft
    note = (f"{measured:.1f} mm painted at the lid's underside, its edge drafted {edge:.1f} deg against a wall of "
            f"{wall:.1f} deg")
    short = limit.short(measured)
    moves = (*_more_draft(spot, short), *_wider(spot, short))
    return limit.finding(check="gap", part=spot.name, what="gap at the underside", measured=measured,
                         path=(*spot.path, "lid", "edge_draft"), at=_on(spot, side, spot.lid_under), note=note,
                         moves=moves)


def _more_draft(spot: HatchSpot, short: float) -> tuple[Move, ...]:
    now = spot.place.hatch.lid.edge_draft
    slope = math.tan(math.radians(now)) + short / spot.thick
    to = math.ceil(math.degrees(math.atan(slope)) * 2 - 1e-9) / 2
    return (Move("the lid's edge drafted {to} deg", (Edit((*spot.path, "lid", "edge_draft"), to, 0.5),)),)


def swing(spot: HatchSpot) -> list[Finding]:
    """The least painted gap between a hinged lid's free edge and the wall while it opens."""
    hinge = spot.place.hatch.lid.hinge
    if hinge == "none":
        return []
    limit, free = bound("swing-gap", spot.spec), OPPOSITE[hinge]
    measured, turn, reach = swung(spot, free)
    note = (f"{measured:.1f} mm painted between the free edge on the {free} side and the wall, at its least after "
            f"{turn:.1f} deg, {reach:.0f} mm from the hinge")
    short = limit.short(measured)
    moves = (*_more_draft(spot, short), *_wider(spot, short))
    return [limit.finding(check="gap", part=spot.name, what="swing", measured=measured,
                          path=(*spot.path, "lid", "gap"), at=_on(spot, free, spot.lid_under), note=note,
                          tolerance=1e-4, moves=moves)]


def swung(spot: HatchSpot, free: str) -> tuple[float, float, float]:
    """Least painted gap [mm] over the swing, the turn it is at [deg], and the reach from axis to free lower edge."""
    import numpy as np

    assert spot.place.hinge is not None
    axis, sign = WAYS[free]
    foot = sign * spot.place.hinge[0][axis]  # negative: the hinge is on the other side
    height = spot.place.hatch.lid.knuckle
    sides = spot.lid.faces("side")
    ends = [v.toTuple() for face in sides if _looks(spot, face, axis, sign) for v in face.Vertices()]
    if not ends:  # all corner: on a round edge it is the middle that comes nearest
        ends = [edge.positionAt(k).toTuple() for edge in spot.seams(sides, axis, sign) for k in (0, 1)]
    edge = np.array([(sign * p[axis], p[2]) for p in map(spot.own, ends)])
    wall = _profile(spot, free)
    u, v = edge[:, 0] - foot, edge[:, 1] - height

    def gaps(turns: np.ndarray) -> np.ndarray:
        turned = turns[:, None]
        out = foot + u * np.cos(turned) - v * np.sin(turned)
        up = height + u * np.sin(turned) + v * np.cos(turned)
        return _off(np.stack([out, up], axis=-1), wall).min(axis=1)

    low, high = 0.0, math.pi / 2
    for count in TURNS:
        turns = np.linspace(low, high, count + 1)
        found = gaps(turns)
        k = int(np.argmin(found))
        low, high = turns[max(k - 1, 0)], turns[min(k + 1, count)]
    return float(found[k]) - 2 * spot.paint, float(np.degrees(turns[k])), float(np.hypot(u, v).max())


def _looks(spot: HatchSpot, face: object, axis: int, sign: float) -> bool:
    """Whether a face looks straight out on a side."""
    _, normal = spot.seen(face)  # type: ignore[arg-type]
    flat = math.hypot(normal[0], normal[1])
    return flat > 1e-9 and normal[axis] * sign > (1 - 1e-7) * flat


def _profile(spot: HatchSpot, side: str) -> np.ndarray:
    """The bare outer wall and its rim on one side, and the sole's edge over them, lowest first: (out, z), (n, 2)."""
    import numpy as np

    axis, sign = WAYS[side]
    edges = []
    faces = [face for role in ("outer wall", "rim") for face in spot.molding.shaped.roles.get(role, ())]
    for face in (*faces, *sole_edge(spot)):
        point, normal = spot.seen(face)
        if normal[axis] * sign < 0 and abs(normal[1 - axis]) < 1e-7 and point[axis] * sign > 0:
            edges += face.Edges()
    shares = [k / EDGE_POINTS for k in range(EDGE_POINTS + 1)]
    points = [spot.own(p.toTuple()) for e in edges or spot.seams((*faces, *sole_edge(spot)), axis, sign)
              for p in e.positions(shares)]
    found = np.unique(np.round([(p[2], sign * p[axis]) for p in points], 7), axis=0)[:, ::-1]
    # a falling gutter's wall has its foot at many heights, all on one straight line
    a, b, c = found[:-2], found[1:-1], found[2:]
    bent = np.abs((b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0]))
    return found[np.concatenate([[True], bent > 1e-6 * np.linalg.norm(c - a, axis=1), [True]])]


def _off(points: np.ndarray, line: np.ndarray) -> np.ndarray:
    """Distance of points (..., 2) from a rising line of points (n, 2), negative beyond it."""
    import numpy as np

    away = points[..., None, :]
    a, way = line[:-1], np.diff(line, axis=0)
    size = np.maximum((way**2).sum(axis=1), 1e-18)
    share = np.clip(((away - a) * way).sum(axis=-1) / size, 0.0, 1.0)
    near = np.linalg.norm(away - a - share[..., None] * way, axis=-1).min(axis=-1)
    there = np.interp(points[..., 1], line[:, 1], line[:, 0])
    inside = (points[..., 1] < line[0, 1]) | (points[..., 1] > line[-1, 1]) | (points[..., 0] <= there)
    return np.where(inside, near, -near)


def drip_lip(spot: HatchSpot) -> list[Finding]:
    """A drip lip clear of the gutter's floor, roots and inner wall, so that water runs under it."""
    drop = spot.place.hatch.lid.drip_lip
    if not drop:
        return []
    limit = bound("lip-gap", spot.spec)
    faces = [face for role in LIP_ROLES for face in spot.molding.shaped.roles.get(role, ())]
    found = least(spot.lid.solid, faces)
    measured = found.size - 2 * spot.paint
    short = limit.short(measured)
    shorter = math.floor((drop - short) * 2 + 1e-9) / 2
    deeper = grown("a gutter {to} mm deep", (*spot.path, "gutter", "depth"), spot.place.hatch.gutter.depth, short)
    moves = (*((Move("a drip lip of {to} mm", (Edit((*spot.path, "lid", "drip_lip"), shorter, -0.5),)),)
               if shorter > 0 else ()), *deeper)
    return [limit.finding(check="gap", part=spot.name, what="drip lip", measured=measured,
                          path=(*spot.path, "lid", "drip_lip"), at=found.middle,
                          note=f"{measured:.1f} mm painted between the drip lip and the gutter", moves=moves)]
