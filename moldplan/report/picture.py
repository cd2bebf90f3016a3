"""A still picture of the bodies as lines, hidden ones taken out: for print, and where no 3D view can run.

In       a finished plan, the way to the eye.
Out      picture(): a Drawing of visible edges, without scale.
Not here the view that turns (view3d.py, viewer.js).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from moldplan.report.annotate import view_arrow
from moldplan.report.drawing import Curve, Drawing, Mark, Point, View, polyline
from moldplan.report.subject import Plan
from moldplan.report.view3d import shown, stance

if TYPE_CHECKING:
    import cadquery as cq

    from moldplan.shape.body import Body, Vector

LEFT_OUT = ("surroundings", "envelope", "insert", "insert frame", "packer", "core plug", "mold")
FACES = 250  # of all bodies, more than which are judged on a mesh
OFF, TURN = 0.4, 15.0  # mm and deg, of that mesh; a tenth of a line's width on paper
SIZE = (180.0, 130.0)
MOST = 60  # bodies; the kernel's hidden-line work grows with the square of the edges


def picture(plan: Plan) -> Drawing | None:
    """The finished parts with their cylinders; None when there is nothing to show or too much of it."""
    bodies = [body for body in shown(plan) if body.kind not in LEFT_OUT and body.kind != "lift"]
    whole = {(body.part, body.hand) for body in bodies if body.kind == "part"}
    bodies = [body for body in bodies if body.kind != "core" or (body.part, body.hand) not in whole]  # inside it
    if not bodies or len(bodies) > MOST:
        return None
    way = stance(shown(plan))
    sharp, smooth = visible(bodies, way)
    points = [p for run in (*sharp, *smooth) for p in run]
    if not points:
        return None
    view = _fitted(points)
    marks: list[Mark] = [*_strokes(smooth, view, "narrow"), *_strokes(sharp, view, "narrow")]
    return Drawing(*SIZE, (*marks, *_directions(way)), f"{plan.spec.title}: the parts",
                   "Visible edges of the finished parts and the cylinders, without scale.")  # fmt: skip


def visible(bodies: Sequence[Body], way: Vector) -> tuple[list[list[Point]], list[list[Point]]]:
    """Visible sharp edges and outlines, and visible smooth ones, as points in the picture's plane [mm].

    Many faces are judged on a mesh: on exact surfaces the kernel takes five times as long. Few are not: where a strap
    lies on a cylinder, their meshes would show through each other.
    """
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt
    from OCP.HLRAlgo import HLRAlgo_Projector

    eye = HLRAlgo_Projector(gp_Ax2(gp_Pnt(0, 0, 0), gp_Dir(*way), gp_Dir(*_right(way))))
    if sum(len(body.solid.Faces()) for body in bodies) > FACES:
        return _on_mesh(bodies, eye)
    from OCP.HLRBRep import HLRBRep_Algo, HLRBRep_HLRToShape

    algorithm = HLRBRep_Algo()
    for body in bodies:
        algorithm.Add(body.solid.wrapped)
    algorithm.Projector(eye)
    algorithm.Update()
    algorithm.Hide()
    found = HLRBRep_HLRToShape(algorithm)
    return ([_points(edge) for part in (found.VCompound(), found.OutLineVCompound()) for edge in _edges(part)],
            [_points(edge) for edge in _edges(found.Rg1LineVCompound())])  # fmt: skip


def _on_mesh(bodies: Sequence[Body], eye: Any) -> tuple[list[list[Point]], list[list[Point]]]:
    """The same, found on triangles within OFF of the bodies."""
    from OCP.BRepMesh import BRepMesh_IncrementalMesh
    from OCP.HLRBRep import HLRBRep_PolyAlgo, HLRBRep_PolyHLRToShape

    algorithm = HLRBRep_PolyAlgo()
    for body in bodies:
        copy: cq.Shape = body.solid.copy()  # the body itself keeps no mesh
        BRepMesh_IncrementalMesh(copy.wrapped, OFF, False, math.radians(TURN), False)
        algorithm.Load(copy.wrapped)
    algorithm.Projector(eye)
    algorithm.Update()
    found = HLRBRep_PolyHLRToShape()
    found.Update(algorithm)
    return _joined(found.VCompound(), found.OutLineVCompound()), _joined(found.Rg1LineVCompound())


def _edges(compound: Any) -> list[cq.Edge]:
    import cadquery as cq
    from OCP.BRepLib import BRepLib

    if compound is None or compound.IsNull():
        return []
    BRepLib.BuildCurves3d_s(compound)
    return cq.Shape.cast(compound).Edges()


def _joined(*compounds: Any) -> list[list[Point]]:
    """The straight bits of compounds joined to chains; each bit once."""
    from shapely import MultiLineString, line_merge

    bits: set[tuple[Point, Point]] = set()
    for edge in (edge for compound in compounds for edge in _edges(compound)):
        ends = (edge.positionAt(0), edge.positionAt(1))
        a, b = sorted((round(p.x, 3), round(p.y, 3)) for p in ends)
        if a != b:
            bits.add((a, b))
    merged: Any = line_merge(MultiLineString(sorted(bits)))
    return [list(run.coords) for run in getattr(merged, "geoms", [merged]) if not run.is_empty]


def _right(way: Vector) -> Vector:
    """The picture's level axis: z x way."""
    length = math.hypot(way[0], way[1])
    return (-way[1] / length, way[0] / length, 0.0)


def _points(edge: Any) -> list[Point]:
    if edge.geomType() == "LINE":
        spots = [edge.positionAt(0), edge.positionAt(1)]
    else:
        count = max(6, min(60, int(edge.Length() / 6)))
        spots = [edge.positionAt(k / count) for k in range(count + 1)]
    return [(p.x, p.y) for p in spots]


def _fitted(points: Sequence[Point]) -> View:
    left, right = min(p[0] for p in points), max(p[0] for p in points)
    low, high = min(p[1] for p in points), max(p[1] for p in points)
    scale = min((SIZE[0] - 44) / max(right - left, 1), (SIZE[1] - 10) / max(high - low, 1))
    middle = ((left + right) / 2, (low + high) / 2)
    return View(scale, ((SIZE[0] + 24) / 2, SIZE[1] / 2), middle)


def _strokes(runs: Sequence[Sequence[Point]], view: View, pen: Any) -> list[Curve]:
    return [polyline([view(*p) for p in run], pen) for run in sorted(map(list, runs)) if len(run) > 1]


def _directions(way: Vector) -> tuple[Mark, ...]:
    """FWD and UP as they lie in the picture."""
    long = math.hypot(*way)
    eye = (way[0] / long, way[1] / long, way[2] / long)
    right = _right(way)
    up = (eye[1] * right[2] - eye[2] * right[1], eye[2] * right[0] - eye[0] * right[2],
          eye[0] * right[1] - eye[1] * right[0])  # fmt: skip
    marks: list[Mark] = []
    for words, axis in (("UP", 2), ("FWD", 0)):
        marks += view_arrow((9.0, 9.0), words, math.degrees(math.atan2(up[axis], right[axis])))
    return tuple(marks)
