"""A solid cut level: its faces and sections in one plane as loops of lines and arcs.

In       a solid in its sheet's own axes (z the sheet's normal), a height.
Out      Region: one outer loop with its holes, exact for lines and circles, within a tolerance for other curves.
Not here which of them is cut (flat.py), how a wire becomes lines and arcs (wire.py).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from moldplan.cut.loop import LEAST, area, sampled, tidied, wound
from moldplan.cut.piece import Loop
from moldplan.cut.wire import runs_of

if TYPE_CHECKING:
    import cadquery as cq
    from shapely import Polygon

ARC_TOLERANCE = 0.02  # a fitted arc leaves its curve by no more [mm]
IN_FACT = 1e-6  # poles of a level face lie this near one height [mm]
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


def region_of(face: cq.Face, z: float, tolerance: float = ARC_TOLERANCE) -> Region:
    """A level face as loops, curves within `tolerance` [mm]; openings too small to be one are left out."""
    outer = wound(loop_of(face.outerWire(), tolerance), clockwise=False)
    holes = [wound(loop_of(wire, tolerance), clockwise=True) for wire in face.innerWires()]
    return Region(outer, tuple(hole for hole in holes if abs(area(hole)) > NOTHING), z)


def section(solid: cq.Shape, z: float, reach: float, tolerance: float = ARC_TOLERANCE) -> tuple[Region, ...]:
    """The solid cut level at z; `reach` [mm] is the side of a square about 0,0 that surely holds the section."""
    import cadquery as cq

    plane = cq.Face.makePlane(reach, reach, cq.Vector(0, 0, z), cq.Vector(0, 0, 1))
    return real(region_of(face, z, tolerance) for face in plane.intersect(solid).Faces())


def real(regions: Iterable[Region]) -> tuple[Region, ...]:
    """Without the slivers that a plane through an edge, or a groove that grazes a face, leaves."""
    return tuple(region for region in regions if abs(area(region.outer)) > NOTHING)


def united(faces: Iterable[cq.Face]) -> tuple[Region, ...]:
    """Level faces of several heights laid on one another and joined, lines and arcs kept."""
    import cadquery as cq

    flat = [face.moved(cq.Location(cq.Vector(0, 0, -face.Center().z))) for face in faces]
    joined = flat[0].fuse(*flat[1:]).clean() if len(flat) > 1 else flat[0]
    return real(region_of(face, 0.0) for face in joined.Faces())


def loop_of(wire: cq.Wire, tolerance: float = ARC_TOLERANCE) -> Loop:
    """A closed level wire as a loop in x and y. Raises GeometryError when it does not close."""
    return tidied(Loop(tuple((*s.start, s.bulge) for run in runs_of(wire, tolerance) for s in run.parts)))
