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
    from moldplan.shape.body import Body, Vector

LEFT_OUT = ("surroundings", "envelope", "insert", "packer", "core plug", "mold")
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
    """Visible sharp edges and outlines, and visible smooth ones, as points in the picture's plane [mm]."""
    import cadquery as cq
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt
    from OCP.HLRAlgo import HLRAlgo_Projector
    from OCP.HLRBRep import HLRBRep_Algo, HLRBRep_HLRToShape

    algorithm = HLRBRep_Algo()
    for body in bodies:
        algorithm.Add(body.solid.wrapped)
    right = _right(way)
    algorithm.Projector(HLRAlgo_Projector(gp_Ax2(gp_Pnt(0, 0, 0), gp_Dir(*way), gp_Dir(*right))))
    algorithm.Update()
    algorithm.Hide()
    found = HLRBRep_HLRToShape(algorithm)

    def runs(shape: Any) -> list[list[Point]]:
        from OCP.BRepLib import BRepLib

        if shape is None or shape.IsNull():
            return []
        BRepLib.BuildCurves3d_s(shape)
        return [_points(edge) for edge in cq.Shape.cast(shape).Edges()]

    return runs(found.VCompound()) + runs(found.OutLineVCompound()), runs(found.Rg1LineVCompound())


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
