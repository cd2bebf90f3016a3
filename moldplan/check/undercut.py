"""What locks a part on its tool: molding face whose way out is blocked by the tool itself or by another that stands.

In       molding faces, the way the part leaves, the solids that stand while it leaves.
Out      Lock: area that is blocked [mm2], where the first blocked spot is, and how densely was looked.
Not here how steep a face is (incline.py).

From points all over each face a line goes out along the way, exactly against the solids' faces (no triangles). Spots
between the points are not seen: the spacing is part of the answer.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from moldplan.shape.body import Vector

if TYPE_CHECKING:
    import cadquery as cq

OFF = 1e-3  # mm, a line starts that far off its face unless told otherwise
FAR = 1e5  # mm
GRID = (12, 4)  # points along u and v of a face


@dataclass(frozen=True, kw_only=True)
class Lock:
    """Blocked molding face [mm2], points looked from, their mean spacing [mm], and one blocked spot."""

    area: float
    points: int
    spacing: float
    at: Vector | None


def locked(faces: Sequence[cq.Face], way: Vector, standing: Sequence[cq.Shape], *, off: float = OFF) -> Lock:
    """How much of the faces cannot leave along `way` (unit); lines start `off` outside them, inside when negative."""
    import cadquery as cq
    from OCP.gp import gp_Dir, gp_Lin, gp_Pnt
    from OCP.IntCurvesFace import IntCurvesFace_ShapeIntersector

    seen = IntCurvesFace_ShapeIntersector()
    seen.Load(cq.Compound.makeCompound(list(standing)).wrapped, 1e-7)
    area, points, whole, at = 0.0, 0, 0.0, None
    for face in faces:
        spots = spread(face)
        share = face.Area() / max(len(spots), 1)
        whole += face.Area()
        points += len(spots)
        for point, normal in spots:
            start = [p + off * n for p, n in zip(point, normal, strict=True)]
            seen.Perform(gp_Lin(gp_Pnt(*start), gp_Dir(*way)), 0.0, FAR)
            if seen.NbPnt():
                area, at = area + share, at or point
    return Lock(area=area, points=points, spacing=math.sqrt(whole / points) if points else 0.0, at=at)


def spread(face: cq.Face) -> list[tuple[Vector, Vector]]:
    """Points and outward normals on a grid of the face's parameters, inside its trimming."""
    from OCP.BRepClass import BRepClass_FaceClassifier
    from OCP.gp import gp_Pnt2d
    from OCP.TopAbs import TopAbs_State

    from moldplan.check.incline import bounds, normal_at

    low_u, high_u, low_v, high_v = bounds(face)
    found = []
    for i in range(GRID[0]):
        for j in range(GRID[1]):
            u = low_u + (high_u - low_u) * (i + 0.5) / GRID[0]
            v = low_v + (high_v - low_v) * (j + 0.5) / GRID[1]
            if BRepClass_FaceClassifier(face.wrapped, gp_Pnt2d(u, v), 1e-9).State() == TopAbs_State.TopAbs_IN:
                found.append(normal_at(face, u, v))
    return found
