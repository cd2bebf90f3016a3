"""An upright cylinder in its seat: room to the wall, foot on the flat of the floor, and the way out for water.

In       a Spot of kind seat: finished faces of the block's part, and the cylinder.
Out      findings "wall", "foot" and three on the limber.
Not here the core left round the seat (land.py), what stands round the cylinder (around.py).

F, the painted face, lies `paint` outside the part's molded face; a liner lies on F.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from moldplan.check.gap import Gap, least, place
from moldplan.check.limits import bound
from moldplan.check.reach import extent
from moldplan.check.spot import Spot, grown
from moldplan.errors import GeometryError
from moldplan.finding import Edit, Finding, Move
from moldplan.shape.body import Vector

if TYPE_CHECKING:
    import cadquery as cq


SIDES = ("foot", "knuckle", "body")  # a seat's wall stands beside these; the rest is above its rim


def seated(spot: Spot) -> list[Finding]:
    """Everything between a cylinder and its seat."""
    gap, nominal = wall_gap(spot)
    return [wall(spot, gap, nominal), *foot(spot, _play(spot, gap, nominal)), *limber(spot)]


def wall(spot: Spot, gap: Gap, nominal: float) -> Finding:
    """The gap between the largest cylinder and the tightest seat, from the gap as drawn [mm]."""
    limit = bound("wall-gap", spot.spec)
    measured = nominal - spot.allowance
    liner = " liner" if spot.stand.liner else " wall"
    note = (f"{nominal:.1f} mm from the cylinder to the{liner} as drawn, {measured:.1f} mm with every tolerance "
            f"against it ({spot.allowance:.1f} mm)")
    moves = grown("clearance {to} mm per side", (*spot.path, "clearance_per_side"),
                  spot.value("clearance_per_side"), limit.short(measured))
    return limit.finding(check="clearance", part=spot.stand.name, what="wall", measured=measured,
                         path=(*spot.path, "clearance_per_side"), at=gap.middle, note=note, moves=moves)


def wall_gap(spot: Spot) -> tuple[Gap, float]:
    """The nearest pair of points, and the finished gap as drawn [mm]; negative where the cylinder stands in its block.

    The rim belongs to the wall: a body that is wider than its foot may meet it first.
    """
    faces = spot.host_faces("wall")
    gap = least(spot.body.solid, (*faces, *spot.host_faces("rim")))
    deep = _depth(spot, _wall(spot, faces))
    size = -deep if deep is not None else gap.size if gap.size > 1e-9 else 0.0
    return gap, size - spot.stand.paint - spot.stand.liner


@dataclass(frozen=True)
class _Wall:
    """A seat's wall as the cone or cylinder it is, about its own axis: half angle [rad], radius at `origin` [mm]."""

    origin: Vector
    axis: Vector
    radius: float
    slant: float
    low: float  # along the axis, from the coordinates' origin [mm]
    high: float


def _wall(spot: Spot, faces: tuple[cq.Face, ...]) -> _Wall:
    import cadquery as cq
    from OCP.BRepAdaptor import BRepAdaptor_Surface

    surface = BRepAdaptor_Surface(faces[0].wrapped)
    kind = str(surface.GetType()).rsplit("_", 1)[-1]
    if kind not in ("Cone", "Cylinder"):
        raise GeometryError(f"the wall of {spot.stand.name} is no cone and no cylinder")
    form = getattr(surface, kind)()
    axis = cq.Vector(form.Axis().Direction()).toTuple()
    low, high = (sign * extent(faces, tuple(sign * a for a in axis)) for sign in (-1.0, 1.0))  # type: ignore[arg-type]
    return _Wall(cq.Vector(form.Location()).toTuple(), axis, form.RefRadius() if kind == "Cone" else form.Radius(),
                 form.SemiAngle() if kind == "Cone" else 0.0, low, high)


def _profile(spot: Spot, wall: _Wall, low: float, high: float) -> tuple[Any, Any]:
    """Points on the cylinder between two levels along the wall's axis, and how far each is past the wall, sideways,
    the wall carried on as the cone it is [mm]; negative inside it.

    Taken on the cylinder's own edges, its seams among them: on a body of revolution they are its whole profile. The
    two levels are met exactly on straight seams, within 0.01 mm on round ones.
    """
    import numpy as np

    axis, origin = np.array(wall.axis), np.array(wall.origin)
    kept = []
    for edge in spot.body.solid.Edges():
        points = np.array([edge.positionAt(k / 200).toTuple() for k in range(201)])
        level = points @ axis
        kept.append(points[(level >= low - 1e-6) & (level <= high + 1e-6)])
        for end in (low, high):
            for k in np.nonzero((level[:-1] - end) * (level[1:] - end) < 0)[0]:
                share = (end - level[k]) / (level[k + 1] - level[k])
                kept.append((points[k] + (points[k + 1] - points[k]) * share)[None])
    found = np.concatenate(kept)
    along = (found - origin) @ axis
    out = np.linalg.norm(found - origin - along[:, None] * axis, axis=1)
    return found, out - wall.radius - along * math.tan(wall.slant)


def _depth(spot: Spot, wall: _Wall) -> float | None:
    """How deep the cylinder stands in its block at the wall and above [mm]; None where it is clear.

    Distances to faces alone will not do: a body that is wide enough holds the whole wall and is near none of it.
    """
    from OCP.BRepClass3d import BRepClass3d_SolidClassifier
    from OCP.gp import gp_Pnt
    from OCP.TopAbs import TopAbs_IN

    from moldplan.check.gap import corners

    # above the wall's lower end on the floor's side; below it the fillet is the foot's affair
    up = 1.0 if _dot(wall.axis, spot.stand.frame.z) > 0 else -1.0
    low, high = (wall.low, math.inf) if up > 0 else (-math.inf, wall.high)
    points, past = _profile(spot, wall, low, high)
    deepest = None
    for host in spot.hosts:
        box = corners(host.solid)
        for solid in host.solid.Solids():
            judge = BRepClass3d_SolidClassifier(solid.wrapped)
            for point, by in zip(points.tolist(), past.tolist(), strict=True):
                if by <= (deepest or 0.0) or not all(a < p < b for a, p, b in zip(box[0], point, box[1], strict=True)):
                    continue
                judge.Perform(gp_Pnt(*point), 1e-6)
                if judge.State() == TopAbs_IN:
                    deepest = by
    return None if deepest is None else deepest * math.cos(wall.slant)


def foot(spot: Spot, play: float) -> list[Finding]:
    """Whether the flat of the floor takes the foot wherever its side play [mm] lets it go."""
    standing, fillet = spot.body.shaped.roles.get("standing", ()), spot.host_faces("fillet")
    if not standing or not fillet:
        return []
    limit = bound("foot-on-floor", spot.spec)
    axis, origin = spot.stand.frame.z, spot.stand.frame.origin
    flat, stands = flat_radius(spot), _radius(standing, origin, axis)
    measured = flat - stands - play
    note = (f"the floor is flat to {flat:.1f} mm from the axis; the foot stands on {stands:.1f} mm and can go "
            f"{play:.1f} mm sideways")
    moves: tuple[Move, ...] = ()
    if measured < 0:
        note += ": it stands on the fillet"
        moves = _smaller_fillet(spot, measured)
        if moves and moves[0].edits[0].to == 0:
            note += "; only a square corner clears it, unless the foot or the body's knuckle is rounder than given"
    return [limit.finding(check="clearance", part=spot.stand.name, what="foot", measured=measured,
                          path=(*spot.path, "floor_fillet"), at=place(origin), note=note, moves=moves)]


def flat_radius(spot: Spot) -> float:
    """From the stand's axis to the nearest point of the floor fillet's edges [mm]; exact on circles about the axis."""
    origin, axis = spot.stand.frame.origin, spot.stand.frame.z
    points = (edge.positionAt(k / 8).toTuple() for face in spot.host_faces("fillet") for edge in face.Edges()
              for k in range(9))
    return min(_off_axis(point, origin, axis) for point in points)


def _off_axis(point: Vector, origin: Vector, axis: Vector) -> float:
    away = _minus(point, origin)
    along = _dot(away, axis)
    return math.hypot(*(w - along * a for w, a in zip(away, axis, strict=True)))


def _play(spot: Spot, gap: Gap, nominal: float) -> float:
    """How far the cylinder can go sideways before it meets the wall [mm], each level against the wall beside it.

    The nearest points will not do: of a body that hangs over the rim they lie one above the other.
    """
    if gap.size < 1e-9 or nominal <= 0:
        return 0.0
    wall = _wall(spot, spot.host_faces("wall"))
    outside = spot.stand.paint + spot.stand.liner
    lift = outside * math.sin(wall.slant)  # what lies on a wall that leans begins and ends as much further along it
    _, past = _profile(spot, wall, wall.low + lift, wall.high + lift)
    return max(-float(past.max()) - outside / math.cos(wall.slant), 0.0) if len(past) else 0.0


def _radius(faces: tuple[cq.Face, ...], origin: Vector, axis: Vector) -> float:
    """Largest distance of faces from an axis [mm]: along four directions square to it, for faces round about it."""
    helper = (1.0, 0.0, 0.0) if abs(axis[0]) < 0.9 else (0.0, 1.0, 0.0)
    across_axis = (axis[1] * helper[2] - axis[2] * helper[1], axis[2] * helper[0] - axis[0] * helper[2],
                   axis[0] * helper[1] - axis[1] * helper[0])
    size = math.hypot(*across_axis)
    way = (across_axis[0] / size, across_axis[1] / size, across_axis[2] / size)
    return extent(faces, way) - sum(o * w for o, w in zip(origin, way, strict=True))


def _smaller_fillet(spot: Spot, measured: float) -> tuple[Move, ...]:
    """The floor fillet that clears: smaller by the shortfall over tan(45 deg - draft / 2)."""
    now, draft = spot.value("floor_fillet"), spot.value("draft")
    if now is None or draft is None or now <= 0:
        return ()
    to = now + measured / math.tan(math.radians(45 - draft / 2))
    to = max(math.floor(to * 2 + 1e-9) / 2, 0.0)
    edit = Edit((*spot.path, "floor_fillet"), to, -0.5)
    moves = [Move("floor fillet {to} mm, which clears the foot", (edit,))]
    if to > 0:
        moves.append(Move("a square corner under the foot: floor fillet {to} mm",
                          (Edit((*spot.path, "floor_fillet"), 0.0),)))
    return tuple(moves)


def limber(spot: Spot) -> list[Finding]:
    """Whether a seat's water and gas find the limber, and run down it."""
    bores = spot.host_faces("limber")
    size = bound("limber-bore", spot.spec)
    part, path = spot.stand.name, (*spot.path, "limber")
    if not bores:
        return [size.finding(check="limber", part=part, what="bore", measured=0.0, path=path,
                             note="the seat has no way out: water and gas would stand in it",
                             moves=(Move("a limber towards {to}", (Edit((*path, "towards"), "aft"),)),))]
    runs = [_run(spot, one) for one in _apart(bores)]
    falls = [-along[2] / math.hypot(along[0], along[1]) for _, along, _, _ in runs]
    fall, (start, _, _, _) = min(zip(falls, runs, strict=True), key=lambda found: found[0])
    radius, lip = min(run[2] for run in runs), max(run[3] for run in runs)
    told = spot.value("limber", "towards")
    keep = (Edit((*path, "towards"), told),) if told else ()
    slope, edge = bound("limber-fall", spot.spec), bound("limber-lip", spot.spec)
    steeper = Edit((*path, "fall"), math.ceil((spot.value("limber", "fall") or 0.0) * 200
                                              + slope.short(fall) * 200 - 1e-9) / 200, 0.005)
    wider = Edit((*path, "bore"), math.ceil(size.value), 1.0)
    return [
        size.finding(check="limber", part=part, what="bore", measured=2 * radius, path=(*path, "bore"),
                     at=place(start), note=f"bore {2 * radius:.1f} mm", moves=(Move("bore {to} mm", (wider, *keep)),)),
        slope.finding(check="limber", part=part, what="fall", measured=fall, path=(*path, "fall"), at=place(start),
                      note=f"at rest {'the limber' if len(runs) == 1 else 'the flattest limber'} drops "
                           f"{fall * 100:.1f} mm over 100 mm, outward",
                      moves=(Move("limber's fall {to} (drop over run)", (steeper, *keep)), *_other_sides(spot, told))),
        edge.finding(check="limber", part=part, what="lip", measured=lip, path=path, at=place(start),
                     tolerance=0.01, note=f"the limber's lowest point stands {max(lip, 0.0):.1f} mm over the floor"),
    ]


def _other_sides(spot: Spot, told: str | None) -> tuple[Move, ...]:
    sides = [side for side in ("aft", "forward", "port", "starboard") if side != told]
    return tuple(Move("the limber out {to} instead", (Edit((*spot.path, "limber", "towards"), s),)) for s in sides)


def _apart(bores: tuple[cq.Face, ...]) -> list[tuple[cq.Face, ...]]:
    """The faces of each limber by themselves: a seat may have one to every side, each round an axis of its own."""
    from OCP.BRepAdaptor import BRepAdaptor_Surface

    found: dict[tuple[float, ...], list[cq.Face]] = {}
    for face in bores:
        surface = BRepAdaptor_Surface(face.wrapped)
        key: tuple[float, ...] = ()
        if str(surface.GetType()).endswith("Cylinder"):
            way = surface.Cylinder().Axis().Direction()
            sign = math.copysign(1.0, -way.Z())  # an axis has no head or tail: the end that points down
            key = tuple(round(sign * c, 6) + 0.0 for c in (way.X(), way.Y(), way.Z()))
        found.setdefault(key, []).append(face)
    return [tuple(faces) for faces in found.values()]


def _run(spot: Spot, bores: tuple[cq.Face, ...]) -> tuple[Vector, Vector, float, float]:
    """The limber's inner end, its outward direction, its radius, and the height of its inner lip over the floor."""
    from OCP.BRepAdaptor import BRepAdaptor_Surface

    surface = BRepAdaptor_Surface(bores[0].wrapped)
    if not str(surface.GetType()).endswith("Cylinder"):
        raise GeometryError(f"the limber of {spot.stand.name} is no round bore")
    form = surface.Cylinder()
    heading = form.Axis().Direction()
    along: Vector = (heading.X(), heading.Y(), heading.Z())
    points = [point for face in bores for edge in face.Edges() for point in _along(edge)]
    reach = [_dot(along, _minus(p, spot.stand.frame.origin)) for p in points]
    if abs(min(reach)) > abs(max(reach)):  # it leads away from the seat's axis
        along, reach = (-along[0], -along[1], -along[2]), [-r for r in reach]
    middle = (min(reach) + max(reach)) / 2
    inner = [p for p, r in zip(points, reach, strict=True) if r < middle]
    up = spot.stand.frame.z
    floor = max(_dot(up, face.Center().toTuple()) for face in spot.host_faces("floor"))
    lowest = min(inner, key=lambda p: _dot(up, p))
    return lowest, along, form.Radius(), _dot(up, lowest) - floor


def _along(edge: cq.Edge) -> list[Vector]:
    """Points along an edge, close enough together that the lowest is missed by less than 0.01 mm on a limber."""
    from OCP.BRepAdaptor import BRepAdaptor_Curve

    curve = BRepAdaptor_Curve(edge.wrapped)
    first, last = curve.FirstParameter(), curve.LastParameter()
    spots = (curve.Value(first + (last - first) * k / 200) for k in range(201))
    return [(spot.X(), spot.Y(), spot.Z()) for spot in spots]


def _dot(a: Vector, b: Vector) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def _minus(a: Vector, b: Vector) -> Vector:
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])
