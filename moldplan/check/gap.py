"""Exact least distances between finished faces.

In       faces and solids of the kernel, boat axes [mm].
Out      Gap: the distance and where its two ends lie; boxes that hold a solid.
Not here which gaps matter, what they are held against, how far a body reaches (reach.py).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from moldplan.errors import GeometryError
from moldplan.shape.body import Vector

if TYPE_CHECKING:
    import cadquery as cq


@dataclass(frozen=True)
class Gap:
    """A least distance [mm], 0 where the two touch or cross, and its ends in boat axes."""

    size: float
    start: Vector
    end: Vector

    @property
    def way(self) -> Vector:
        """Unit direction from start to end; zero where they touch."""
        if self.size < 1e-12:
            return (0.0, 0.0, 0.0)
        return tuple((b - a) / self.size for a, b in zip(self.start, self.end, strict=True))  # type: ignore[return-value]

    @property
    def middle(self) -> dict[str, float]:
        """Where it is, for a finding."""
        return place(tuple((a + b) / 2 for a, b in zip(self.start, self.end, strict=True)))  # type: ignore[arg-type]


def place(point: Vector) -> dict[str, float]:
    """A point as a finding's `at`."""
    return dict(zip(("x", "y", "z"), (round(p, 3) for p in point), strict=True))


def away_from(faces: Sequence[cq.Face]) -> Callable[[Vector], float]:
    """The least distance [mm] of points from faces, for many points: the faces are made ready once.

    Raises GeometryError when the kernel finds no distance.
    """
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeVertex
    from OCP.BRepExtrema import BRepExtrema_DistShapeShape
    from OCP.gp import gp_Pnt

    ready = BRepExtrema_DistShapeShape()
    ready.LoadS2(_shape(faces))

    def away(point: Vector) -> float:
        ready.LoadS1(BRepBuilderAPI_MakeVertex(gp_Pnt(*point)).Vertex())
        if not ready.Perform():
            raise GeometryError("the kernel found no distance of a point from a face")
        return float(ready.Value())

    return away


def least(one: cq.Shape | Sequence[cq.Face], other: cq.Shape | Sequence[cq.Face]) -> Gap:
    """The least distance between two shapes; exact on the faces themselves, no triangles.

    Raises GeometryError when there is nothing to measure or the kernel finds no distance.
    """
    from OCP.BRepExtrema import BRepExtrema_DistShapeShape

    found = BRepExtrema_DistShapeShape(_shape(one), _shape(other))
    if not found.IsDone() or found.NbSolution() < 1:
        raise GeometryError("the kernel found no distance between two bodies")
    a, b = found.PointOnShape1(1), found.PointOnShape2(1)
    return Gap(found.Value(), (a.X(), a.Y(), a.Z()), (b.X(), b.Y(), b.Z()))


def _shape(one: cq.Shape | Sequence[cq.Face]) -> Any:
    import cadquery as cq

    if isinstance(one, cq.Shape):
        return one.wrapped
    if not one:
        raise GeometryError("there is no face to measure from")
    return one[0].wrapped if len(one) == 1 else cq.Compound.makeCompound(list(one)).wrapped


def corners(shape: cq.Shape | Sequence[cq.Face]) -> tuple[Vector, Vector]:
    """A box that surely holds a shape, quick and a little generous."""
    from OCP.Bnd import Bnd_Box
    from OCP.BRepBndLib import BRepBndLib

    box = Bnd_Box()
    BRepBndLib.Add_s(_shape(shape), box, False)
    x0, y0, z0, x1, y1, z1 = box.Get()
    return (x0, y0, z0), (x1, y1, z1)


def boxes_apart(one: tuple[Vector, Vector], other: tuple[Vector, Vector]) -> float:
    """Distance between two boxes: never more than that between what they hold."""
    steps = [max(other[0][k] - one[1][k], one[0][k] - other[1][k], 0.0) for k in range(3)]
    return math.hypot(*steps)


def nearest(one: cq.Shape | Sequence[cq.Face], others: Mapping[str, cq.Shape | Sequence[cq.Face]]) -> tuple[Gap, str]:
    """The nearest of several shapes and its name; those whose boxes are further off are not measured.

    Raises GeometryError when there is none.
    """
    own = corners(one)
    ranked = sorted(((boxes_apart(own, corners(other)), name) for name, other in others.items()), key=lambda r: r[0])
    best: tuple[Gap, str] | None = None
    for apart, name in ranked:
        if best is not None and apart >= best[0].size:
            break
        gap = least(one, others[name])
        if best is None or gap.size < best[0].size:
            best = (gap, name)
    if best is None:
        raise GeometryError("there is nothing to measure to")
    return best
