"""A sole one stands on: its outline, its surface (plane or crowned), its core with cut-outs for hatches and plugs.

In       a resolved SolePlan, the thickness of its core, the skin and coats, the frames of its hatches.
Out      the outline as edges, the surface's height and slope anywhere, solids in boat axes.
Not here reading an outline from a file (spec/outline_file.py), the frames (hatch.py).

The surface is a plane that falls to one side, or with a crown a part of a round cylinder whose axis runs fore and aft
along the outline's middle, tilted by the fall. `surface` is the height of the finished surface at the outline's middle.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from moldplan.errors import Fault, Path
from moldplan.shape.body import DIRECTIONS, Frame, Shaped, block, extruded, rod
from moldplan.shape.face_line import bend
from moldplan.spec.sole import SolePlan, Vertex

if TYPE_CHECKING:
    import cadquery as cq

Plan2 = tuple[float, float]


@dataclass(frozen=True)
class Surface:
    """The finished surface: height at the middle, slopes of its middle line, radius of the crown (0: plane) [mm]."""

    middle: Plan2
    height: float
    slope: Plan2  # rise a millimetre forward, and to port, of the plane
    radius: float

    def z(self, x: float, y: float) -> float:
        """Height at a point in plan [mm]."""
        across = y - self.middle[1]
        drop = 0.0
        if self.radius:
            drop = self.radius - math.sqrt(max(self.radius**2 - across**2, 0.0))
        return self.height + self.slope[0] * (x - self.middle[0]) + self.slope[1] * across - drop

    def frame(self, x: float, y: float, turn: float) -> Frame:
        """The tangent plane at a point: origin there, z the normal, x over the direction `turn` [deg] in plan."""
        across = y - self.middle[1]
        lean = self.slope[1] - (across / math.sqrt(self.radius**2 - across**2) if self.radius else 0.0)
        rise = (self.slope[0], lean)
        long = math.sqrt(1 + rise[0] ** 2 + rise[1] ** 2)
        normal = (-rise[0] / long, -rise[1] / long, 1 / long)
        ahead = (math.cos(math.radians(turn)), math.sin(math.radians(turn)))
        up = rise[0] * ahead[0] + rise[1] * ahead[1]
        length = math.sqrt(1 + up**2)
        return Frame((x, y, self.z(x, y)), (ahead[0] / length, ahead[1] / length, up / length), normal)


def edges_of(outline: Sequence[Vertex]) -> list[cq.Edge]:
    """The outline as edges in the plane z = 0, corners rounded where asked; raises GeometryError from the kernel."""
    import cadquery as cq

    count, edges, ends = len(outline), [], []
    for k, corner in enumerate(outline):
        ends.append(_corner(outline[k - 1].at, corner.at, outline[(k + 1) % count].at, corner.radius))
    for k, corner in enumerate(outline):
        start, stop = ends[k - 1][-1], ends[k][0]
        a, b = cq.Vector(*start, 0), cq.Vector(*stop, 0)
        if corner.through is not None:
            edges.append(cq.Edge.makeThreePointArc(a, cq.Vector(*corner.through, 0), b))
        elif (b - a).Length > 1e-6:
            edges.append(cq.Edge.makeLine(a, b))
        if len(ends[k]) == 3:
            edges.append(cq.Edge.makeThreePointArc(*(cq.Vector(*p, 0) for p in ends[k])))
    return edges


def _corner(a: Plan2, b: Plan2, c: Plan2, radius: float) -> tuple[Plan2, ...]:
    """A corner itself, or where its rounding begins, its middle and its end."""
    if radius <= 1e-9:
        return (b,)
    return bend(a, b, c, radius)


def surface_of(sole: SolePlan, bounds: tuple[float, float, float, float]) -> Surface:
    """The finished surface over an outline with the bounds (x low, y low, x high, y high)."""
    x0, y0, x1, y1 = bounds
    way = DIRECTIONS[sole.towards]
    half = (y1 - y0) / 2
    radius = (half**2 + sole.crown**2) / (2 * sole.crown) if sole.crown else 0.0
    return Surface(
        middle=((x0 + x1) / 2, (y0 + y1) / 2),
        height=sole.surface,
        slope=(-way[0] * sole.fall, -way[1] * sole.fall),
        radius=radius,
    )


def slab(face: Surface, bounds: tuple[float, float, float, float], *, above: float, below: float) -> Shaped:
    """All between two surfaces `above` and `below` the finished one (negative: under it), wider than the outline.

    Roles top, underside. A plane moves along its normal; a crown is a pair of cylinders about one axis.
    """
    import cadquery as cq

    x0, y0, x1, y1 = bounds
    reach = 2 * math.hypot(x1 - x0, y1 - y0) + 200
    if not face.radius:
        at = face.frame(*face.middle, 0.0)
        made = block(2 * reach, 2 * reach, above - below).renamed({"top": "top", "underside": "underside"})
        return made.moved(at.inside(Frame((-reach, -reach, below))))
    along = math.hypot(1.0, face.slope[0])
    axis = (1 / along, 0.0, face.slope[0] / along)
    # the middle of the surface lies one radius from the axis, along the normal there
    normal, radius = cq.Vector(*face.frame(*face.middle, 0.0).z), face.radius / along
    foot = cq.Vector(*face.middle, face.height) - normal * radius - cq.Vector(*axis) * reach
    low, high = (radius + offset for offset in (below, above))
    outer = rod(high, foot.toTuple(), tuple(2 * reach * c for c in axis), "top")  # type: ignore[arg-type]
    inner = rod(low, foot.toTuple(), tuple(2 * reach * c for c in axis), "underside")  # type: ignore[arg-type]
    return outer.cut(inner)


def plate(
    edges: Sequence[cq.Edge], face: Surface, bounds: tuple[float, float, float, float], *, above: float, below: float
) -> Shaped:
    """The sole between two levels relative to its finished surface, within its outline; roles top, underside, edge."""
    import cadquery as cq

    low = min(face.z(x, y) for x in bounds[::2] for y in bounds[1::2]) + below - 50
    high = (
        max(face.z(x, y) for x in (*bounds[::2], face.middle[0]) for y in (*bounds[1::2], face.middle[1])) + above + 50
    )
    prism = extruded([("edge", e.moved(cq.Location(cq.Vector(0, 0, low)))) for e in edges], (0.0, 0.0, high - low))
    return prism.renamed({"edge": "edge"}).common(slab(face, bounds, above=above, below=below))


def self_crossing(edges: Sequence[cq.Edge]) -> Plan2 | None:
    """A point where an outline crosses itself; None when it does not."""
    from shapely.geometry import LineString

    lines = [LineString([(p.x, p.y) for p in e.positions([k / 16 for k in range(17)])]) for e in edges]
    count = len(lines)
    for i in range(count):
        for j in range(i + 1, count):
            meet = lines[i].intersection(lines[j])
            if meet.is_empty:
                continue
            near = j == i + 1 or (i == 0 and j == count - 1)
            if near and meet.geom_type == "Point" and count > 2:
                continue
            spot = meet.representative_point()
            return spot.x, spot.y
    return None


def outline_faults(sole: SolePlan, path: Path) -> list[Fault]:
    """Corners rounder than their edges leave room for, an outline that crosses itself."""
    assert sole.outline is not None
    found = [fault for k in range(len(sole.outline)) if (fault := _corner_fault(sole.outline, k, path)) is not None]
    if found:
        return found[:1]  # a bad corner makes others bad
    found = _too_round(sole.outline, path)
    crossing = None if found else self_crossing(edges_of(sole.outline))
    if crossing:
        found.append(Fault((*path, "outline"), f"crosses itself at {round(crossing[0]) + 0}, {round(crossing[1]) + 0}",
                           "corners in order round the sole", "its inside is not known"))
    return found


def _corner_fault(corners: Sequence[Vertex], k: int, path: Path) -> Fault | None:
    """What is wrong with one corner of an outline and the edges that meet in it."""
    before, corner, after = corners[k - 1], corners[k], corners[(k + 1) % len(corners)]
    if corner.radius and (corner.through or after.through):
        return Fault((*path, "outline", k), corner.radius, "0 where an arc meets the corner",
                     "only corners between two straight edges are rounded")
    if min(math.dist(corner.at, other.at) for other in (before, after)) < 1e-6:
        return Fault((*path, "outline", k), list(corner.at), "two different corners in a row", "an edge has no length")
    if corner.through is not None and _in_line(before.at, corner.through, corner.at):
        return Fault((*path, "outline", k, "through"), list(corner.through),
                     "a point beside the straight line from the corner before it",
                     "no arc passes through three points in line; leave it out for a straight edge")
    return None


def _too_round(corners: Sequence[Vertex], path: Path) -> list[Fault]:
    """Edges that the roundings of their two ends together are longer than."""
    found = []
    spans = [_span(corners[k - 1].at, corner, corners[(k + 1) % len(corners)].at) for k, corner in enumerate(corners)]
    for k, corner in enumerate(corners):
        nxt = (k + 1) % len(corners)
        edge = math.dist(corner.at, corners[nxt].at)
        if spans[k] + spans[nxt] > edge + 1e-9:
            worst = k if corner.radius >= corners[nxt].radius else nxt
            most = corners[worst].radius * edge / (spans[k] + spans[nxt])
            found.append(Fault((*path, "outline", worst), corners[worst].radius, f"less than {most:.0f}",
                               "the rounding takes more than the edge is long"))
    return found


def _span(before: Plan2, corner: Vertex, after: Plan2) -> float:
    """How much a rounded corner takes of each edge that meets in it [mm]."""
    one, two = math.dist(corner.at, before), math.dist(corner.at, after)
    cosine = sum((p - c) * (q - c) for p, q, c in zip(before, after, corner.at, strict=True)) / (one * two)
    return corner.radius / math.tan(math.acos(max(-1.0, min(1.0, cosine))) / 2) if corner.radius else 0.0


def _in_line(a: Plan2, m: Plan2, b: Plan2) -> bool:
    """Whether a point lies within 0.001 mm of the line through two others."""
    across = abs((b[0] - a[0]) * (m[1] - a[1]) - (b[1] - a[1]) * (m[0] - a[0]))
    return across < 1e-3 * math.dist(a, b)
