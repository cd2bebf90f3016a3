"""Triangles of a plan's bodies, each solid meshed once for all files of the plan.

In       bodies.
Out      Nets.of(): what shape/mesh.py gives.
Not here meshing (shape/mesh.py), what is made of the triangles (solids.py, view3d.py).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import cadquery as cq
    import numpy as np

    from moldplan.shape.body import Body

    Net = tuple[np.ndarray, np.ndarray, np.ndarray]

FINE = 0.25  # mm, mesh tolerance


class Nets:
    """A store of triangles; bodies that share one solid share one net."""

    def __init__(self) -> None:
        self._known: dict[tuple[cq.Shape, float], Net] = {}

    def of(self, body: Body, tolerance: float = FINE) -> Net:
        """Vertices, triangles and each triangle's face; not to be changed."""
        from moldplan.shape.mesh import mesh

        key = (body.solid, tolerance)
        if key not in self._known:
            self._known[key] = mesh(body.solid, tolerance=tolerance)
        return self._known[key]
