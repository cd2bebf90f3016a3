"""Triangles of a solid at an absolute tolerance.

In       a solid of the kernel, a tolerance in mm.
Out      vertices (n, 3) float [mm], triangles (m, 3) int, and the face each triangle lies on (m,) int.
Not here the wrapper's own tessellation: its tolerance is relative to edge size, which errs by whole millimetres.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import cadquery as cq
    import numpy as np


def mesh(solid: cq.Shape, *, tolerance: float, angle: float = 20.0) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Mesh a solid: no triangle further than `tolerance` [mm] from it, no facet turning more than `angle` [deg].

    Vertices are not shared between faces, so that every face keeps its own normals. Triangles wind outward.
    """
    import math

    import numpy as np
    from OCP.BRep import BRep_Tool
    from OCP.BRepMesh import BRepMesh_IncrementalMesh
    from OCP.TopAbs import TopAbs_Orientation
    from OCP.TopLoc import TopLoc_Location

    copy = solid.copy()  # a coarser mesh left on the shape would be kept
    BRepMesh_IncrementalMesh(copy.wrapped, tolerance, False, math.radians(angle), False)
    vertices: list[tuple[float, float, float]] = []
    triangles: list[tuple[int, int, int]] = []
    owner: list[int] = []
    for index, face in enumerate(copy.Faces()):
        place = TopLoc_Location()
        net = BRep_Tool.Triangulation_s(face.wrapped, place)
        if net is None:
            continue
        start, move = len(vertices) - 1, place.Transformation()
        for i in range(1, net.NbNodes() + 1):
            point = net.Node(i).Transformed(move)
            vertices.append((point.X(), point.Y(), point.Z()))
        flipped = face.wrapped.Orientation() == TopAbs_Orientation.TopAbs_REVERSED
        for i in range(1, net.NbTriangles() + 1):
            a, b, c = net.Triangle(i).Get()
            triangles.append((start + a, start + c, start + b) if flipped else (start + a, start + b, start + c))
            owner.append(index)
    return np.array(vertices, float).reshape(-1, 3), np.array(triangles, int).reshape(-1, 3), np.array(owner, int)
