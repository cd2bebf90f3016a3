"""A solid cut level: its faces and sections in one plane as loops of lines and arcs.

In       a solid in its sheet's own axes (z the sheet's normal), a height.
Out      Region: one outer loop with its holes, exact for lines and circles, within ARC_TOLERANCE for other curves.
Not here which of them is cut (flat.py).

Lines and circles are taken over as they are. A curve of another kind that is a line or a circle in fact (booleans
leave such) is recognised; all others are fitted with arcs by the kernel and measured afterwards against the curve.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from moldplan.cut.loop import LEAST, arc_bulge, area, sampled, tidied, wound
from moldplan.cut.piece import Loop, Point
from moldplan.cut.segment import Segment, from_point
from moldplan.errors import GeometryError

if TYPE_CHECKING:
    import cadquery as cq
    from shapely import Polygon

ARC_TOLERANCE = 0.02  # a fitted arc leaves its curve by no more [mm]
IN_FACT = 1e-6  # a curve this near a line or circle is one [mm]
NEARLY = 1e-3  # and so is a smooth loft through circles, which swings about them [mm]
NOTHING = LEAST**2  # a region or an opening smaller than this is none [mm2]
FINE = 0.004  # chords of the polygons that only decide, never measure [mm]


@dataclass(frozen=True)
class Region:
    """One connected level cross-section: outer counter-clockwise, holes clockwise, at height z [mm]."""

    outer: Loop
    holes: tuple[Loop, ...]
    z: float

    @property
    def polygon(self) -> Polygon:
        return polygon(self.outer, self.holes)


@lru_cache(maxsize=512)  # the same few loops are compared over and over; a polygon is never changed
def polygon(outer: Loop, holes: tuple[Loop, ...] = ()) -> Polygon:
    """A polygon of the loops' chords (within FINE), to decide what lies in what."""
    import shapely

    shape = shapely.Polygon(sampled(outer, FINE), [sampled(hole, FINE) for hole in holes])
    return shape if shape.is_valid else shape.buffer(0)


def level_faces(solid: cq.Shape) -> tuple[tuple[float, int, cq.Face], ...]:
    """Every level flat face: its height, which way it looks (1 up, -1 down), the face."""
    found = []
    for face in solid.Faces():
        way, z = way_of(face)
        if way:
            found.append((z, way, face))
    return tuple(found)


def way_of(face: cq.Face) -> tuple[int, float]:
    """Which way a level flat face looks (1 up, -1 down) and its height; 0 for a face that is not level and flat.

    A free-form face is level when all its poles lie at one height: a loft between level lines gives such.
    """
    kind = face.geomType()
    if kind == "PLANE":
        normal = face.normalAt(None)
        return (0, 0.0) if abs(normal.z) <= 1 - 1e-9 else (1 if normal.z > 0 else -1, face.Center().z)
    if kind != "BSPLINE":
        return 0, 0.0
    from OCP.BRepAdaptor import BRepAdaptor_Surface

    surface = BRepAdaptor_Surface(face.wrapped).BSpline()
    first = surface.Pole(1, 1).Z()
    for i in range(1, surface.NbUPoles() + 1):
        for j in range(1, surface.NbVPoles() + 1):
            if abs(surface.Pole(i, j).Z() - first) > IN_FACT:
                return 0, 0.0
    return (1 if face.normalAt(None).z > 0 else -1), first


def upright(solid: cq.Shape) -> bool:
    """Whether every face that is not level stands square to the sheet, so that all sections are alike."""
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.GeomAbs import GeomAbs_Cylinder, GeomAbs_Plane, GeomAbs_SurfaceOfExtrusion

    for face in solid.Faces():
        surface = BRepAdaptor_Surface(face.wrapped)
        kind = surface.GetType()
        if kind == GeomAbs_Plane:
            lean = abs(surface.Plane().Axis().Direction().Z())
            if 1e-9 < lean < 1 - 1e-9:
                return False
        elif kind == GeomAbs_Cylinder:
            if abs(surface.Cylinder().Axis().Direction().Z()) < 1 - 1e-12:
                return False
        elif kind != GeomAbs_SurfaceOfExtrusion or abs(surface.Direction().Z()) < 1 - 1e-12:
            return False
    return True


def region_of(face: cq.Face, z: float) -> Region:
    """A level face as loops; openings too small to be one are left out."""
    outer = wound(loop_of(face.outerWire()), clockwise=False)
    holes = [wound(loop_of(wire), clockwise=True) for wire in face.innerWires()]
    return Region(outer, tuple(hole for hole in holes if abs(area(hole)) > NOTHING), z)


def section(solid: cq.Shape, z: float, reach: float) -> tuple[Region, ...]:
    """The solid cut level at z; `reach` [mm] is the side of a square about 0,0 that surely holds the section."""
    import cadquery as cq

    plane = cq.Face.makePlane(reach, reach, cq.Vector(0, 0, z), cq.Vector(0, 0, 1))
    return real(region_of(face, z) for face in plane.intersect(solid).Faces())


def real(regions: Iterable[Region]) -> tuple[Region, ...]:
    """Without the slivers that a plane through an edge, or a groove that grazes a face, leaves."""
    return tuple(region for region in regions if abs(area(region.outer)) > NOTHING)


def united(faces: Iterable[cq.Face]) -> tuple[Region, ...]:
    """Level faces of several heights laid on one another and joined, lines and arcs kept."""
    import cadquery as cq

    flat = [face.moved(cq.Location(cq.Vector(0, 0, -face.Center().z))) for face in faces]
    joined = flat[0].fuse(*flat[1:]).clean() if len(flat) > 1 else flat[0]
    return real(region_of(face, 0.0) for face in joined.Faces())


def loop_of(wire: cq.Wire) -> Loop:
    """A closed level wire as a loop in x and y. Raises GeometryError when it does not close."""
    return tidied(Loop(tuple((*s.start, s.bulge) for edge in edges_of(wire) for s in edge)))


def edges_of(wire: cq.Wire) -> list[list[Segment]]:
    """A closed level wire edge by edge, each as lines and arcs. Raises GeometryError when it does not close."""
    from OCP.BRepTools import BRepTools_WireExplorer
    from OCP.TopAbs import TopAbs_REVERSED

    found: list[list[Segment]] = []
    explorer = BRepTools_WireExplorer(wire.wrapped)
    while explorer.More():
        edge = explorer.Current()
        parts = _segments(edge)
        if edge.Orientation() == TopAbs_REVERSED:
            parts = [s.reversed() for s in reversed(parts)]
        found.append(parts)
        explorer.Next()
    walk = [s for edge in found for s in edge]
    for i, s in enumerate(walk):
        gap = math.dist(s.end, walk[(i + 1) % len(walk)].start)
        if gap > 1e-3:
            raise GeometryError(f"an outline does not close: a gap of {gap:.3g} mm at {s.end[0]:.2f}, {s.end[1]:.2f}")
    return found


def _segments(edge: Any) -> list[Segment]:
    """One edge, in the direction of its curve, as lines and arcs."""
    from OCP.BRepAdaptor import BRepAdaptor_Curve
    from OCP.GeomAbs import GeomAbs_Circle, GeomAbs_Line

    curve = BRepAdaptor_Curve(edge)
    first, last = curve.FirstParameter(), curve.LastParameter()

    def at(t: float) -> Point:
        point = curve.Value(t)
        return (point.X(), point.Y())

    kind = curve.GetType()
    if kind == GeomAbs_Line:
        return [Segment(at(first), at(last))]
    if kind == GeomAbs_Circle:
        return _arc(at, first, last)
    shares = [at(first + (last - first) * k / 40) for k in range(41)]
    line, arc = [Segment(shares[0], shares[-1])], _arc(at, first, last)
    for tolerance in (IN_FACT, NEARLY):
        for parts in (line, arc):
            if _fits(parts, shares, tolerance):
                return parts
    return _fitted(edge, first, last)


def _arc(at: Callable[[float], Point], first: float, last: float) -> list[Segment]:
    """The circle through a curve's ends and middle, in two halves: a bulge is exact for half a turn at most."""
    points = [at(first + (last - first) * k / 4) for k in range(5)]
    halves = (points[:3], points[2:])
    return [Segment(a, b, arc_bulge(a, m, b)) for a, m, b in halves if math.dist(a, b) > 0]


def _fits(parts: list[Segment], points: Iterable[Point], tolerance: float) -> bool:
    """Whether every point lies on the parts within the tolerance."""
    return bool(parts) and all(min(from_point(s, p) for s in parts) <= tolerance for p in points)


def _fitted(edge: Any, first: float, last: float) -> list[Segment]:
    """A curve of any kind as arcs within ARC_TOLERANCE, measured on 40 points an arc, both ways."""
    from OCP.BRep import BRep_Tool
    from OCP.Geom2dAdaptor import Geom2dAdaptor_Curve
    from OCP.Geom2dConvert import Geom2dConvert_ApproxArcsSegments
    from OCP.GeomAPI import GeomAPI
    from OCP.gp import gp_Ax3, gp_Dir, gp_Pln, gp_Pnt

    solid_curve = BRep_Tool.Curve_s(edge, 0.0, 1.0)
    height = solid_curve.Value(first).Z()
    flat = GeomAPI.To2d_s(solid_curve, gp_Pln(gp_Ax3(gp_Pnt(0, 0, height), gp_Dir(0, 0, 1), gp_Dir(1, 0, 0))))
    source = Geom2dAdaptor_Curve(flat, first, last)
    for asked in (0.9 * ARC_TOLERANCE, 0.4 * ARC_TOLERANCE, 0.1 * ARC_TOLERANCE):
        fit = Geom2dConvert_ApproxArcsSegments(source, asked, math.radians(1.0))
        parts = [_trimmed(Geom2dAdaptor_Curve(curve)) for curve in fit.GetResult()]
        if parts and deviation(source, first, last, parts) <= ARC_TOLERANCE:
            return parts
    return _bisected(at_of(flat), first, last)


def at_of(curve: Any) -> Callable[[float], Point]:
    """A flat curve as a function of its parameter."""

    def at(t: float) -> Point:
        point = curve.Value(t)
        return (point.X(), point.Y())

    return at


def _bisected(at: Callable[[float], Point], first: float, last: float, depth: int = 0) -> list[Segment]:
    """A curve the kernel does not fit, as arcs through three points each, halved until they lie within tolerance."""
    points = [at(first + (last - first) * k / 16) for k in range(17)]
    arc = Segment(points[0], points[-1], arc_bulge(points[0], points[8], points[-1]))
    if all(from_point(arc, p) <= 0.8 * ARC_TOLERANCE for p in points):
        return [arc]
    if all(math.dist(p, points[0]) <= 2 * LEAST for p in points):
        return [Segment(points[0], points[-1])]  # a hook at the end of an intersection, too small to be cut
    if depth > 14:
        raise GeometryError(f"a curve could not be fitted with arcs within {ARC_TOLERANCE} mm")
    middle = (first + last) / 2
    return [*_bisected(at, first, middle, depth + 1), *_bisected(at, middle, last, depth + 1)]


def _trimmed(curve: Any) -> Segment:
    first, last = curve.FirstParameter(), curve.LastParameter()
    start, middle, end = ((p.X(), p.Y()) for p in map(curve.Value, (first, (first + last) / 2, last)))
    return Segment(start, end, arc_bulge(start, middle, end))


def deviation(source: Any, first: float, last: float, parts: list[Segment]) -> float:
    """Greatest distance between a curve and its arcs [mm], from points of either to the other.

    Points of the arcs are measured to the curve's chords, so the figure may be over, by the chords' sagitta.
    """
    import shapely

    count = 40 * len(parts)
    chain = [source.Value(first + (last - first) * k / count) for k in range(count + 1)]
    points = [(p.X(), p.Y()) for p in chain]
    arcs = [s.at(k / 40) for s in parts for k in range(40)] + [parts[-1].end]
    curve, fit = shapely.LineString(points), shapely.LineString(arcs)
    there = shapely.distance(shapely.points(arcs), curve).max()
    back = shapely.distance(shapely.points(points), fit).max()
    return float(max(there, back))
