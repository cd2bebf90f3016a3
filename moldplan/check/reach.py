"""How far bodies reach along a direction: the support of their faces and edges, in closed form.

In       solids, faces of the kernel; a unit direction, boat axes.
Out      the most that any point of them lies along the direction from the datum [mm].
Not here distances between bodies (gap.py).

The furthest point of a face lies where its normal is the direction, or on an edge. Planes, cylinders and cones have no
such point inside; spheres and tori have it in closed form; lines and circles too. Any other edge is boxed by the
kernel, to its own 1e-7 mm. The kernel's distance to a far plane is no way to do this: along oblique directions it was
seen to miss by millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Any

from moldplan.check.incline import dot
from moldplan.shape.body import Vector

if TYPE_CHECKING:
    import cadquery as cq

ROUND = ("Sphere", "Torus")
FLAT = ("Plane", "Cylinder", "Cone")


def extent(shapes: Iterable[cq.Shape], way: Vector) -> float:
    """The most that any of the shapes reaches along a unit direction [mm]."""
    return max(reach for shape in shapes for reach in _reaches(shape, way))


def _reaches(shape: cq.Shape, way: Vector) -> Iterator[float]:
    """Candidates for the furthest reach: all edges, and the insides of round faces."""
    for edge in shape.Edges():
        yield _edge(edge, way)
    for face in shape.Faces():
        yield from _inside(face, way)


def _edge(edge: cq.Edge, way: Vector) -> float:
    from OCP.BRepAdaptor import BRepAdaptor_Curve

    curve = BRepAdaptor_Curve(edge.wrapped)
    kind = str(curve.GetType()).rsplit("_", 1)[-1]
    first, last = curve.FirstParameter(), curve.LastParameter()
    if kind not in ("Line", "Circle"):
        return _boxed(edge, way)
    found = [_along(curve.Value(first), way), _along(curve.Value(last), way)]
    if kind == "Circle":
        axes = curve.Circle().Position()
        turn = math.atan2(dot(_vector(axes.YDirection()), way), dot(_vector(axes.XDirection()), way))
        turn += 2 * math.pi * math.ceil((first - turn) / (2 * math.pi))
        if turn <= last:
            found.append(_along(curve.Value(turn), way))
    return max(found)


def _inside(face: cq.Face, way: Vector) -> Iterator[float]:
    """Points within a sphere's or torus's face whose normal is the direction; other kinds boxed by the kernel."""
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.BRepClass import BRepClass_FaceClassifier
    from OCP.gp import gp_Pnt2d
    from OCP.TopAbs import TopAbs_State

    surface = BRepAdaptor_Surface(face.wrapped, True)
    kind = str(surface.GetType()).rsplit("_", 1)[-1]
    if kind in FLAT:
        return
    if kind not in ROUND:
        yield _boxed(face, way)
        return
    axes = getattr(surface, kind)().Position()
    x, y, z = (dot(_vector(d), way) for d in (axes.XDirection(), axes.YDirection(), axes.Direction()))
    turn, lean = math.atan2(y, x), math.asin(max(-1.0, min(1.0, z)))
    low_u, low_v = surface.FirstUParameter(), surface.FirstVParameter()
    for u, v in ((turn, lean), (turn + math.pi, math.pi - lean)):
        u += 2 * math.pi * math.ceil((low_u - u) / (2 * math.pi) - 1e-12)
        if kind == "Torus":
            v += 2 * math.pi * math.ceil((low_v - v) / (2 * math.pi) - 1e-12)
        if BRepClass_FaceClassifier(face.wrapped, gp_Pnt2d(u, v), 1e-9).State() != TopAbs_State.TopAbs_OUT:
            yield _along(surface.Value(u, v), way)


def _boxed(shape: cq.Shape, way: Vector) -> float:
    """The kernel's tight box, turned so that the direction is up."""
    import cadquery as cq
    from OCP.Bnd import Bnd_Box
    from OCP.BRepBndLib import BRepBndLib

    box, upright = Bnd_Box(), shape.moved(cq.Location(cq.Plane((0, 0, 0), normal=way)).inverse)
    BRepBndLib.AddOptimal_s(upright.wrapped, box, False, False)
    return box.Get()[5]


def _along(point: Any, way: Vector) -> float:
    return dot((point.X(), point.Y(), point.Z()), way)


def _vector(direction: Any) -> Vector:
    return (direction.X(), direction.Y(), direction.Z())
