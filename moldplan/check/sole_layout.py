"""Do the hatches lie well in their sole? Land between them, land to the edge, flanges, and the crown under a flat lid.

In       Assembly, Spec.
Out      findings "land", "flange gap", "crown".
Not here one hatch by itself (section.py and its neighbours), what is under the sole (sole_below.py).

A rounded rectangle is a rectangle grown by its corner radius, so the gap between two is the gap between the rectangles
less both radii: exact for any turn.
"""

from __future__ import annotations

import math
from itertools import combinations
from typing import TYPE_CHECKING, Any

from moldplan.check.hatch_spot import HatchSpot, Rounded, spots
from moldplan.check.limits import bound
from moldplan.finding import Edit, Finding, Move
from moldplan.shape.assembly import Assembly
from moldplan.shape.choose_sole import outline_polygon
from moldplan.spec.model import Spec

if TYPE_CHECKING:
    import cadquery as cq

GRID = 20.0  # mm, places tried for another arrangement
PROBES = 48  # places round a flange where the sole's height is taken
BEYOND = 2.0  # mm outside the flange's recess, where the sole's own surface begins


def layout(assembly: Assembly, spec: Spec) -> list[Finding]:
    """Everything about where the hatches of each sole lie."""
    found: list[Finding] = []
    for sole in assembly.soles:
        own = [spot for spot in spots(assembly, spec) if spot.place.sole == sole.name]
        ground = outline_polygon(sole.sole)
        for one, other in combinations(own, 2):
            found += [_between(one, other, own, ground), _flanges(one, other)]
        for spot in own:
            found += [_to_edge(spot, own, ground), crown(spot)]
    return found


def rectangle(spot: HatchSpot, shape: Rounded, *, centre: tuple[float, float] | None = None,
              turn: float | None = None) -> Any:
    """The rectangle that a rounded one is grown from, in plan, boat axes."""
    from shapely import affinity
    from shapely.geometry import box

    a, b = shape.inner
    hatch = spot.place.hatch
    plan = affinity.rotate(box(-a, -b, a, b), hatch.turn if turn is None else turn, origin=(0, 0))
    return affinity.translate(plan, *(hatch.centre if centre is None else centre))


def gap(one: HatchSpot, a: Rounded, other: HatchSpot, b: Rounded) -> float:
    """Gap in plan between two rounded rectangles [mm]; negative when they overlap, by at least so much."""
    return float(rectangle(one, a).distance(rectangle(other, b))) - a.radius - b.radius


def _middle(one: HatchSpot, other: HatchSpot) -> dict[str, float]:
    """Midway between two hatches' nearest points, for a finding's place."""
    from shapely.ops import nearest_points

    a, b = nearest_points(rectangle(one, one.rebate), rectangle(other, other.rebate))
    return {"x": round((a.x + b.x) / 2, 1), "y": round((a.y + b.y) / 2, 1), "z": round(one.place.frame.origin[2], 1)}


def _between(one: HatchSpot, other: HatchSpot, own: list[HatchSpot], ground: Any) -> Finding:
    """Land left between two rebates."""
    limit = bound("hatch-land", one.spec)
    land = gap(one, one.rebate, other, other.rebate)
    moves = (*_apart(one, other, limit.short(land)), *_elsewhere(other, own, ground, limit.value),
             *_elsewhere(one, own, ground, limit.value))
    return limit.finding(check="layout", part=other.name, what=f"land to {one.path[-1]}", measured=land,
                         path=(*other.path, "centre"), at=_middle(one, other), moves=moves,
                         note=f"{land:.1f} mm of sole is left between the rebates of {one.path[-1]} and "
                              f"{other.path[-1]}")


def _apart(one: HatchSpot, other: HatchSpot, by: float) -> tuple[Move, ...]:
    """Either hatch moved straight away from the other by what is missing, in whole millimetres."""
    found = []
    step = math.ceil(by + 1e-9)
    for moved, fixed in ((other, one), (one, other)):
        (x, y), (fx, fy) = moved.place.hatch.centre, fixed.place.hatch.centre
        far = math.hypot(x - fx, y - fy) or 1.0
        to = (round(x + step * (x - fx) / far, 1), round(y + step * (y - fy) / far, 1))
        found.append(Move(f"move {moved.path[-1]} {step} mm away from {fixed.path[-1]}, to {{to}}",
                          (Edit((*moved.path, "centre"), to),)))
    return tuple(found)


def _elsewhere(spot: HatchSpot, own: list[HatchSpot], ground: Any, land: float) -> tuple[Move, ...]:
    """The nearest place on the sole, turned as it is or by 90 deg, where this hatch leaves the land that is asked."""
    hatch, shape = spot.place.hatch, spot.rebate
    inside = ground.buffer(-(land + shape.radius + 0.5), join_style="mitre")
    if inside.is_empty:
        return ()
    others = [(rectangle(o, o.rebate), o.rebate.radius + shape.radius + land + 0.5) for o in own if o is not spot]
    x0, y0, x1, y1 = ground.bounds
    best: tuple[float, tuple[float, float], float] | None = None
    for turn in (hatch.turn, (hatch.turn + 90) % 180):
        for i in range(math.ceil((x1 - x0) / GRID)):
            for j in range(math.ceil((y1 - y0) / GRID)):
                spot_at = (round(x0 + i * GRID, 1), round(y0 + j * GRID, 1))
                away = math.dist(spot_at, hatch.centre) + (200.0 if turn != hatch.turn else 0.0)
                if best is not None and away >= best[0]:
                    continue
                plan = rectangle(spot, shape, centre=spot_at, turn=turn)
                if inside.contains(plan) and all(plan.distance(o) >= need for o, need in others):
                    best = (away, spot_at, turn)
    if best is None:
        return ()
    edits = [Edit((*spot.path, "centre"), best[1])]
    words = f"put {spot.path[-1]} at {{to}}"
    if best[2] != hatch.turn:
        edits.append(Edit((*spot.path, "turn"), best[2]))
        words += f", turned to {best[2]:g} deg"
    return (Move(words, tuple(edits)),)


def _flanges(one: HatchSpot, other: HatchSpot) -> Finding:
    """Bond flanges clear of each other."""
    limit = bound("flange-gap", one.spec)
    free = gap(one, one.flange, other, other.flange)
    narrow = []
    for spot in (one, other):
        width = math.floor(spot.place.hatch.bond_flange.width - limit.short(free))
        narrow.append(Move(f"{spot.path[-1]}: a bond flange {{to}} mm wide",
                           (Edit((*spot.path, "bond_flange", "width"), width, -1.0),)))
    return limit.finding(check="layout", part=other.name, what=f"flange to {one.path[-1]}", measured=free,
                         path=(*other.path, "centre"), at=_middle(one, other),
                         moves=(*_apart(one, other, limit.short(free)), *narrow),
                         note=f"{free:.1f} mm between the bond flanges of {one.path[-1]} and {other.path[-1]}")


def _to_edge(spot: HatchSpot, own: list[HatchSpot], ground: Any) -> Finding:
    """Land left between a rebate and the sole's edge."""
    from shapely.ops import nearest_points

    limit, shape = bound("hatch-land", spot.spec), spot.rebate
    plan = rectangle(spot, shape)
    land = float(plan.distance(ground.exterior)) - shape.radius
    _, edge = nearest_points(plan, ground.exterior)
    (x, y), short = spot.place.hatch.centre, math.ceil(limit.short(land) + 1e-9)
    near, _ = nearest_points(plan, edge)
    far = math.hypot(near.x - edge.x, near.y - edge.y) or 1.0
    to = (round(x + short * (near.x - edge.x) / far, 1), round(y + short * (near.y - edge.y) / far, 1))
    inward = Move(f"move it {short} mm further in, to {{to}}", (Edit((*spot.path, "centre"), to),))
    at = {"x": round(edge.x, 1), "y": round(edge.y, 1), "z": round(spot.place.frame.origin[2], 1)}
    return limit.finding(check="layout", part=spot.name, what="land to the edge", measured=land,
                         path=(*spot.path, "centre"), at=at, note=f"{land:.1f} mm from its rebate to the sole's edge",
                         moves=(inward, *_elsewhere(spot, own, ground, limit.value)))


def crown(spot: HatchSpot) -> Finding:
    """How far the sole's finished surface departs from the hatch's plane, round the edge of its flange."""
    import cadquery as cq

    limit, flange = bound("crown-under-lid", spot.spec), spot.flange
    grown = Rounded((flange.half[0] + BEYOND, flange.half[1] + BEYOND), flange.radius + BEYOND)
    if spot.place.hatch.bond_flange.lies == "under":
        rebate = spot.rebate
        grown = Rounded((rebate.half[0] + BEYOND, rebate.half[1] + BEYOND), rebate.radius + BEYOND)
    part = spot.assembly.body(spot.sole.part)
    worst, where, seen = 0.0, (0.0, 0.0, 0.0), 0
    for k in range(PROBES):
        u, v = grown.point(k / PROBES)
        foot, head = (spot.place.frame.place((u, v, w)) for w in (-300.0, 300.0))
        hit = _meet(cq.Edge.makeLine(cq.Vector(*foot), cq.Vector(*head)), part.faces("top"))
        if hit is None:
            continue  # the probe stands beyond the sole's edge
        seen += 1
        off = spot.own(hit)[2] + spot.sole.paint
        if abs(off) > abs(worst):
            worst, where = off, hit
    what = {"check": "layout", "part": spot.name, "what": "crown", "path": ("soles", spot.sole.name, "crown")}
    if not seen:
        return limit.unjudged(why="none of its edge lies on the sole", **what)  # type: ignore[arg-type]
    now = spot.sole.sole.crown
    fits = math.floor(now * limit.value / abs(worst) * 2) / 2 if worst else now
    return limit.finding(measured=abs(worst), at=dict(zip("xyz", (round(c, 1) for c in where), strict=True)),
                         note=f"the sole lies {abs(worst):.1f} mm {'under' if worst < 0 else 'over'} the flat of the "
                              f"hatch at its edge; {seen} places of {PROBES} taken",
                         moves=(Move("a crown of {to} mm", (Edit(("soles", spot.sole.name, "crown"), fits, -0.5),)),
                                Move("turn it to {to} deg", (Edit((*spot.path, "turn"),
                                                                  (spot.place.hatch.turn + 90) % 180),))),
                         **what)  # type: ignore[arg-type]


def _meet(line: cq.Edge, faces: tuple[cq.Face, ...]) -> tuple[float, float, float] | None:
    """Where a line goes through one of some faces; None where it misses them all."""
    from OCP.BRepExtrema import BRepExtrema_DistShapeShape

    for face in faces:
        found = BRepExtrema_DistShapeShape(line.wrapped, face.wrapped)
        if found.Value() < 1e-6:
            spot = found.PointOnShape2(1)
            return spot.X(), spot.Y(), spot.Z()
    return None
