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
from typing import TYPE_CHECKING, Any

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


class Standing:
    """Solids that lines are shot at. Getting a solid ready takes longer than asking it, so each is made ready once."""

    def __init__(self) -> None:
        self._ready: dict[cq.Shape, Any] = {}

    def meets(self, solid: cq.Shape, start: Vector, way: Vector) -> bool:
        """Whether a line from a point along a way (unit) meets the solid."""
        from OCP.gp import gp_Dir, gp_Lin, gp_Pnt
        from OCP.IntCurvesFace import IntCurvesFace_ShapeIntersector

        if solid not in self._ready:
            self._ready[solid] = IntCurvesFace_ShapeIntersector()
            self._ready[solid].Load(solid.wrapped, 1e-7)
        seen = self._ready[solid]
        seen.Perform(gp_Lin(gp_Pnt(*start), gp_Dir(*way)), 0.0, FAR)
        return bool(seen.NbPnt())


def locked(faces: Sequence[cq.Face], way: Vector, standing: Sequence[cq.Shape], *, off: float = OFF,
           ready: Standing | None = None) -> Lock:
    """How much of the faces cannot leave along `way` (unit); lines start `off` outside them, inside when negative.

    `ready`: kept by a caller that asks again about the same solids.
    """
    ready = ready or Standing()
    area, points, whole, at = 0.0, 0, 0.0, None
    for face in faces:
        spots = spread(face)
        share = face.Area() / max(len(spots), 1)
        whole += face.Area()
        points += len(spots)
        for point, normal in spots:
            start = point[0] + off * normal[0], point[1] + off * normal[1], point[2] + off * normal[2]
            if any(ready.meets(solid, start, way) for solid in standing):
                area, at = area + share, at or point
    return Lock(area=area, points=points, spacing=math.sqrt(whole / points) if points else 0.0, at=at)


def spread(face: cq.Face) -> list[tuple[Vector, Vector]]:
    """Points and outward normals on a grid of the face's parameters, inside its trimming."""
    from OCP.BRepTopAdaptor import BRepTopAdaptor_FClass2d
    from OCP.gp import gp_Pnt2d
    from OCP.TopAbs import TopAbs_State

    from moldplan.check.incline import bounds, normals_on

    low_u, high_u, low_v, high_v = bounds(face)
    inside, there = BRepTopAdaptor_FClass2d(face.wrapped, 1e-9), normals_on(face)
    found = []
    for i in range(GRID[0]):
        for j in range(GRID[1]):
            u = low_u + (high_u - low_u) * (i + 0.5) / GRID[0]
            v = low_v + (high_v - low_v) * (j + 0.5) / GRID[1]
            if inside.Perform(gp_Pnt2d(u, v)) == TopAbs_State.TopAbs_IN:
                found.append(there(u, v))
    return found
