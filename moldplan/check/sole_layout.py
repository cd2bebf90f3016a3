"""Do the hatches lie well in their sole? Land between them, land to the edge, flanges, and the crown under a flat lid.

In       Assembly, Spec.
Out      findings "land", "flange", "crown", and those of fitting.py.
Not here one hatch by itself (section.py and its neighbours), what is under the sole (sole_below.py), where else hatches
         could lie (rearrange.py).

A rounded rectangle is a rectangle grown by its corner radius, so the gap between two is the gap between the rectangles
less both radii: exact for any turn. Where two overlap, it is less than 0 by the shortest way that takes them apart.
"""

from __future__ import annotations

import math
from itertools import combinations
from typing import TYPE_CHECKING, Any

from moldplan.check.fitting import fittings
from moldplan.check.hatch_spot import HatchSpot, Rounded, spots
from moldplan.check.limits import Bound, bound
from moldplan.check.rearrange import Layout, rectangle
from moldplan.check.sole_reach import placed
from moldplan.finding import Edit, Finding, Move
from moldplan.shape.arrange import TRIED, parted
from moldplan.shape.assembly import Assembly
from moldplan.shape.choose_sole import outline_polygon
from moldplan.spec.model import Spec

if TYPE_CHECKING:
    import cadquery as cq

PROBES = 48  # places round a flange where the sole's height is taken
BEYOND = 2.0  # mm outside the flange's recess, where the sole's own surface begins


def layout(assembly: Assembly, spec: Spec) -> list[Finding]:
    """Everything about where the hatches of each sole lie."""
    found: list[Finding] = []
    for sole in assembly.soles:
        own = [spot for spot in spots(assembly, spec) if spot.place.sole == sole.name]
        ground = outline_polygon(sole.sole)
        whole = Layout(tuple(own))
        for one, other in combinations(own, 2):
            found += [_between(one, other, whole), _flanges(one, other, whole)]
        for spot in own:
            found += [_to_edge(spot, ground, whole), _flange_to_edge(spot, ground, whole), crown(spot)]
        found += fittings(assembly, spec, sole, own, ground, whole)
    return found


def gap(one: HatchSpot, a: Rounded, other: HatchSpot, b: Rounded) -> float:
    """Gap in plan between two rounded rectangles [mm]; less than 0 by the shortest way apart where they overlap."""
    return parted(rectangle(one, a), rectangle(other, b))[0] - a.radius - b.radius


def _middle(one: HatchSpot, other: HatchSpot) -> dict[str, float]:
    """Midway between two hatches' nearest points, for a finding's place."""
    from shapely.ops import nearest_points

    a, b = nearest_points(rectangle(one, one.rebate), rectangle(other, other.rebate))
    return {"x": round((a.x + b.x) / 2, 1), "y": round((a.y + b.y) / 2, 1), "z": round(one.place.frame.origin[2], 1)}


def _between(one: HatchSpot, other: HatchSpot, whole: Layout) -> Finding:
    """Land left between two rebates."""
    limit = bound("hatch-land", one.spec)
    land = gap(one, one.rebate, other, other.rebate)
    left = (f"{land:.1f} mm of sole is left between the rebates of" if land >= 0 else
            f"{-land:.1f} mm is what the rebates overlap by, of")
    moves, tried = _elsewhere(limit.short(land), one, other, whole)
    return limit.finding(check="layout", part=other.name, what=f"land to {one.path[-1]}", measured=land,
                         path=(*other.path, "centre"), at=_middle(one, other), moves=moves,
                         note=f"{left} {one.path[-1]} and {other.path[-1]}{tried}")


def _elsewhere(short: float, one: HatchSpot, other: HatchSpot, whole: Layout) -> tuple[tuple[Move, ...], str]:
    """Moves that part two hatches: either straight away, either to its nearest free place, both; or what was tried."""
    if short <= 0:
        return (), ""
    together = whole.together((one, other))
    moves = (*whole.alone(other), *whole.alone(one), *together, *_apart(one, other, short))
    return moves, "" if together else f"; no arrangement fits this sole: {TRIED}"


def _apart(one: HatchSpot, other: HatchSpot, by: float) -> tuple[Move, ...]:
    """Either hatch moved straight away from the other, the shortest way, by what is missing, in whole millimetres."""
    found = []
    step = math.ceil(by + 1e-9)
    _, (dx, dy) = parted(rectangle(one, one.rebate), rectangle(other, other.rebate))
    for moved, fixed, way in ((other, one, 1), (one, other, -1)):
        x, y = moved.place.hatch.centre
        to = (round(x + way * step * dx, 1), round(y + way * step * dy, 1))
        found.append(Move(f"move {moved.path[-1]} {step} mm away from {fixed.path[-1]}, to {{to}}", placed(moved, to)))
    return tuple(found)


def _flanges(one: HatchSpot, other: HatchSpot, whole: Layout) -> Finding:
    """Bond flanges clear of each other."""
    limit = bound("flange-gap", one.spec)
    free = gap(one, one.flange, other, other.flange)
    short = limit.short(free)
    moves, tried = _elsewhere(short, one, other, whole)
    return limit.finding(check="layout", part=other.name, what=f"flange to {one.path[-1]}", measured=free,
                         path=(*other.path, "centre"), at=_middle(one, other),
                         moves=(*_narrower(one, short), *_narrower(other, short), *moves),
                         note=(f"{free:.1f} mm between the bond flanges" if free >= 0 else
                               f"{-free:.1f} mm is what the bond flanges overlap by,") +
                         f" of {one.path[-1]} and {other.path[-1]}{tried}")


def _narrower(spot: HatchSpot, by: float) -> tuple[Move, ...]:
    """A bond flange less wide by what is missing, where that is wide enough by itself."""
    width = math.floor(spot.place.hatch.bond_flange.width - by)
    if width < bound("flange-width", spot.spec).value or by <= 0:
        return ()
    return (Move(f"{spot.path[-1]}: a bond flange {{to}} mm wide",
                 (Edit((*spot.path, "bond_flange", "width"), width, -1.0),)),)


def _inside(plan: Any, ground: Any) -> float:
    """Least distance of a polygon from the edge of the one it lies in; less than 0 by how far it leaves it [mm]."""
    from shapely import get_coordinates
    from shapely.geometry import Point

    rest = plan.difference(ground)
    if rest.is_empty:
        return float(plan.distance(ground.exterior))
    return -max(float(ground.distance(Point(*xy))) for xy in get_coordinates(rest))


def _to_edge(spot: HatchSpot, ground: Any, whole: Layout) -> Finding:
    """Land left between a rebate and the sole's edge."""
    limit = bound("hatch-land", spot.spec)
    land = _inside(rectangle(spot, spot.rebate), ground) - spot.rebate.radius
    moves, tried = _inward(spot, limit, land, ground, whole)
    return limit.finding(check="layout", part=spot.name, what="land to the edge", measured=land,
                         path=(*spot.path, "centre"), at=_edge(spot, ground), moves=moves,
                         note=(f"{land:.1f} mm from its rebate to the sole's edge" if land >= 0 else
                               f"its rebate leaves the sole by {-land:.1f} mm") + tried)


def _flange_to_edge(spot: HatchSpot, ground: Any, whole: Layout) -> Finding:
    """The bond flange on the sole with all its width."""
    limit = bound("flange-gap", spot.spec)
    free = _inside(rectangle(spot, spot.flange), ground) - spot.flange.radius
    moves, tried = _inward(spot, limit, free, ground, whole)
    return limit.finding(check="layout", part=spot.name, what="flange to the edge", measured=free,
                         path=(*spot.path, "bond_flange", "width"), at=_edge(spot, ground),
                         moves=(*_narrower(spot, limit.short(free)), *moves),
                         note=(f"{free:.1f} mm from its bond flange to the sole's edge" if free >= 0 else
                               f"its bond flange hangs {-free:.1f} mm over the sole's edge") + tried)


def _edge(spot: HatchSpot, ground: Any) -> dict[str, float]:
    """Where the sole's edge is nearest to a hatch."""
    from shapely.ops import nearest_points

    _, edge = nearest_points(rectangle(spot, spot.rebate), ground.exterior)
    return {"x": round(edge.x, 1), "y": round(edge.y, 1), "z": round(spot.place.frame.origin[2], 1)}


def _inward(spot: HatchSpot, limit: Bound, measured: float, ground: Any,
            whole: Layout) -> tuple[tuple[Move, ...], str]:
    """A hatch moved straight in from the edge, to its nearest free place, or with others; or what was tried."""
    from shapely.ops import nearest_points

    short = math.ceil(limit.short(measured) + 1e-9)
    if limit.short(measured) <= 0:
        return (), ""
    plan = rectangle(spot, spot.rebate)
    near, edge = nearest_points(plan, ground.exterior)
    far = math.hypot(near.x - edge.x, near.y - edge.y)
    moves: tuple[Move, ...] = ()
    if far > 1e-6 and ground.contains(plan):
        x, y = spot.place.hatch.centre
        to = (round(x + short * (near.x - edge.x) / far, 1), round(y + short * (near.y - edge.y) / far, 1))
        moves = (Move(f"move it {short} mm further in, to {{to}}", placed(spot, to)),)
    alone = whole.alone(spot)
    together = () if alone else whole.together((spot,))
    tried = "" if alone or together else f"; no arrangement fits this sole: {TRIED}"
    return (*alone, *together, *moves), tried


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
