"""The outline of a body as it is seen from above.

In       a solid of the kernel.
Out      shadow(): closed loops of points in the boat's plan [mm], openings among them.
Not here sections (slice.py).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from moldplan.report.drawing import Point

if TYPE_CHECKING:
    import cadquery as cq

FINE = 0.3  # mm, by which a loop may be off
LEAST = 1.0  # mm2, under which a loop is only the mesh's own gap


def shadow(solid: cq.Shape) -> list[list[Point]]:
    """The loops around all that lies under the sun at its highest, the outer ones first, at most FINE off."""
    import numpy as np
    import shapely

    from moldplan.shape.mesh import mesh

    vertices, triangles, _ = mesh(solid, tolerance=FINE / 2)
    corners = vertices[triangles][:, :, :2]
    a, b = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    seen = np.abs(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]) > 1e-6  # faces on edge cast none
    whole: Any = shapely.union_all(shapely.polygons(corners[seen]), grid_size=1e-4).simplify(FINE / 2)
    parts = [part for part in getattr(whole, "geoms", [whole]) if part.area > LEAST]
    rings = [part.exterior for part in parts]
    rings += [ring for part in parts for ring in part.interiors if shapely.Polygon(ring).area > LEAST]
    return [[(x, y) for x, y, *_ in ring.coords[:-1]] for ring in rings]
