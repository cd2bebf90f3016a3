"""What one cutting plane meets, ready to be put on paper: regions by body, outlines, what carries on beyond the window.

In       bodies, a slice.Plane, a View.
Out      Scene: for each body its loops and material; marks for them in a View.
Not here which plane, which dimensions (section.py, insert_view.py, across.py).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from moldplan.report import slice as slicing
from moldplan.report.annotate import view_arrow
from moldplan.report.drawing import Curve, Mark, Material, PenName, Point, Region, Vertex, View, polygon
from moldplan.report.slice import Loops, Plane
from moldplan.report.subject import Plan, hand_of, material_of
from moldplan.shape.assembly import Stand
from moldplan.shape.body import Frame, Vector

if TYPE_CHECKING:
    from shapely import Polygon

    from moldplan.shape.body import Body

CUT_KINDS = ("core", "skin", "tube", "liner", "surroundings")
BEYOND = {"cylinder", "envelope", "surroundings"}  # drawn with the narrow line, not hatched


@dataclass(frozen=True)
class Cut:
    """One body where the plane goes through it."""

    body: Body
    loops: Loops
    material: Material

    def area(self) -> Polygon:
        return polygon(self.loops)


def meet(plan: Plan, bodies: Iterable[Body], plane: Plane) -> tuple[Cut, ...]:
    """All bodies that the plane's window goes through, in the order given."""
    found = []
    for body in bodies:
        loops = slicing.cut(body.solid, plane)
        if loops:
            found.append(Cut(body, loops, material_of(plan, body)))  # type: ignore[arg-type]
    return tuple(found)


def drawn(cuts: Sequence[Cut], plane: Plane, view: View) -> tuple[Mark, ...]:
    """Hatched regions and outlines: wide for what is cut, narrow for cylinders and surroundings."""
    marks: list[Mark] = []
    for cut in cuts:
        beyond = cut.body.kind in BEYOND
        if not beyond:
            marks.append(Region(tuple(view.loop(loop) for loop in cut.loops), cut.material))
        pen: PenName = "narrow" if beyond else "wide"
        for loop in cut.loops:
            marks += outline(loop, plane, view, pen)
    return tuple(marks)


def outline(loop: Sequence[Vertex], plane: Plane, view: View, pen: PenName) -> tuple[Mark, ...]:
    """The loop as strokes, without what runs along the window's edge: that is no edge of the body."""
    keep = [not _on_edge(loop[k], loop[(k + 1) % len(loop)], plane) for k in range(len(loop))]
    if all(keep):
        return (Curve(view.loop(loop), closed=True, pen=pen),)
    start = keep.index(False)
    runs: list[list[Vertex]] = []
    for i in range(1, len(loop) + 1):
        k = (start + i) % len(loop)
        if not keep[k]:
            continue
        if not runs or runs[-1][-1][:2] != loop[k][:2]:
            runs.append([loop[k]])
        runs[-1][-1] = loop[k]
        runs[-1].append((*loop[(k + 1) % len(loop)][:2], 0.0))
    return tuple(Curve(view.loop(run), pen=pen) for run in runs)


def _on_edge(start: Vertex, end: Vertex, plane: Plane) -> bool:
    if start[2]:
        return False
    for axis in (0, 1):
        for edge in (plane.low[axis], plane.high[axis]):
            if abs(start[axis] - edge) < 1e-5 and abs(end[axis] - edge) < 1e-5:
                return True
    return False


def arrows(plane: Plane, at: Point) -> tuple[Mark, ...]:
    """FWD and UP as they lie in this plane."""
    marks: list[Mark] = []
    spot = at
    for words, way in (("UP", (0.0, 0.0, 1.0)), ("FWD", (1.0, 0.0, 0.0))):
        u, v, n = plane.along(way)
        flat = math.hypot(u, v)
        if flat > 0.3:
            marks += view_arrow(at, words, math.degrees(math.atan2(v, u)))
        else:
            spot = (at[0] + 6.0, at[1] - 4.5)
            marks += view_arrow(spot, words, None, away=n < 0)
    return tuple(marks)


def inside_point(cut: Cut, view: View, *, near: Point | None = None) -> Point:
    """A paper point well inside the body's largest region, towards `near` (a point of the plane) if given."""
    from shapely import Point as Spot
    from shapely.ops import nearest_points

    area = cut.area()
    parts = sorted(getattr(area, "geoms", [area]), key=lambda p: -p.area)
    part = parts[0]
    if near is not None:
        part = min(parts, key=lambda p: p.distance(Spot(near)))
        inner = part.buffer(-0.25 * min(part.area / max(part.length, 1e-9) * 2, 20))
        spot = nearest_points(inner if not inner.is_empty else part, Spot(near))[0]
    else:
        spot = part.representative_point()
    return view(spot.x, spot.y)


def axial_plane(plan: Plan, stand: Stand, low: Point, high: Point) -> Plane:
    """The plane through the stand's axis, u away from the axis along its limber (else along its x)."""
    frame = stand.frame
    u = _limber_way(plan, stand) or frame.x
    return Plane(Frame(frame.origin, u, _cross(u, frame.z)), low, high)


def bodies_for(plan: Plan, stand: Stand, kinds: Sequence[str] = CUT_KINDS) -> list[Body]:
    """What a section of this stand may show: cores, skins, fittings; a bare part where it has no skin body."""
    bodies = list(plan.assembly.of_kind(*kinds))
    for name in stand.hosts:
        host = plan.assembly.body(name)
        if host not in bodies and not any(b.part == host.part and b.kind in ("core", "skin") for b in bodies):
            bodies.append(host)
    return bodies


def _limber_way(plan: Plan, stand: Stand) -> Vector | None:
    """Level direction from the axis to the limber's tube."""
    mine, hand = len(stand.path), hand_of(plan, stand)
    tubes = [b for b in plan.assembly.of_kind("tube") if b.path[:mine] == stand.path and b.hand == hand]
    if not tubes:
        return None
    middle = tubes[0].solid.Center().toTuple()
    d = [m - o for m, o in zip(middle, stand.frame.origin, strict=True)]
    along = sum(a * b for a, b in zip(d, stand.frame.z, strict=True))
    flat = [a - along * z for a, z in zip(d, stand.frame.z, strict=True)]
    length = math.hypot(*flat)
    return tuple(a / length for a in flat) if length > 1 else None  # type: ignore[return-value]


def _cross(a: Vector, b: Vector) -> Vector:
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def paste(plan: Plan, stand: Stand, plane: Plane, view: View, cuts: Sequence[Cut]) -> tuple[Mark, ...]:
    """What of the hosts is neither core nor skin nor tube (all in `cuts`): the paste behind fillets and beds."""
    from shapely.ops import unary_union

    inner = plan.assembly.of_kind("core", "skin", "tube", "core plug")
    marks: list[Mark] = []
    for name in stand.hosts:
        host = plan.assembly.body(name)
        own = [b for b in inner if b.part == host.part or b.part.startswith(f"{host.part}.")]
        if not {"core", "skin"} <= {b.kind for b in own}:
            continue
        names = {b.name for b in own}
        whole = polygon(slicing.cut(host.solid, plane))
        rest = whole.difference(unary_union([cut.area() for cut in cuts if cut.body.name in names]).buffer(0.01))
        for part in getattr(rest, "geoms", [rest]):
            if part.geom_type == "Polygon" and part.buffer(-0.05).area > 0.3:
                loop = tuple((*view(x, y), 0.0) for x, y in part.exterior.coords[:-1])
                marks += [Region((loop,), "paste"), Curve(loop, closed=True, pen="narrow")]
    return tuple(marks)


def shells(plan: Plan, plane: Plane, view: View) -> tuple[Mark, ...]:
    """Skins that are no bodies of their own: what of a cured part is not its core, rib or plug."""
    from shapely.ops import unary_union

    skinned = {(b.part, b.hand) for b in plan.assembly.of_kind("skin")}
    within = [polygon(slicing.cut(b.solid, plane)) for b in plan.assembly.of_kind("core", "rib", "core plug", "tube")]
    inner = unary_union(within).buffer(0.01)
    marks: list[Mark] = []
    for part in plan.assembly.of_kind("part"):
        if (part.part, part.hand) in skinned:
            continue
        rest = polygon(slicing.cut(part.solid, plane)).difference(inner)
        for piece in getattr(rest, "geoms", [rest]):
            if piece.geom_type == "Polygon" and piece.buffer(-0.05).area > 0.3:
                rings = [piece.exterior, *piece.interiors]
                loops = tuple(tuple((*view(x, y), 0.0) for x, y in ring.coords[:-1]) for ring in rings)
                marks.append(Region(loops, "skin"))
    return tuple(marks)
