"""Nets of triangles: made of faces, joined, their borders, and the strip between two loops.

In       faces of the kernel; vertices (n, 3) [mm] and triangles (m, 3) of earlier nets.
Out      nets whose triangles share the vertices they meet in.
Not here what a net stands for (wetted.py), flooding it (pond.py).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from moldplan.shape.mesh import mesh

if TYPE_CHECKING:
    import cadquery as cq
    import numpy as np

CHORD = 0.3  # mm, no chord is further from its curve: a tenth of the film that counts as a pond
FACET = 40.0  # deg, no facet turns more
DIGITS = 5  # decimals of a millimetre to which points are one

Net = tuple["np.ndarray", "np.ndarray"]


def net_of(faces: Iterable[cq.Face]) -> Net:
    """Triangles of faces, those that meet along an edge sharing its points."""
    import cadquery as cq

    vertices, triangles, _ = mesh(cq.Compound.makeCompound(list(faces)), tolerance=CHORD, angle=FACET)
    points, one = _welded(vertices)
    turned = one[triangles]
    whole = (turned[:, 0] != turned[:, 1]) & (turned[:, 1] != turned[:, 2]) & (turned[:, 2] != turned[:, 0])
    return points, turned[whole]


def _welded(points: np.ndarray) -> Net:
    """Points that coincide as one, and for each point given the number of the one it is now."""
    import numpy as np

    _, first, back = np.unique(np.round(points, DIGITS), axis=0, return_index=True, return_inverse=True)
    return points[first], back.reshape(-1)


def joined(nets: Sequence[Net]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Several nets as one, points that coincide welded; and which net each triangle came from."""
    import numpy as np

    start, vertices, triangles, which = 0, [], [], []
    for number, (points, corners) in enumerate(nets):
        vertices.append(points)
        triangles.append(corners + start)
        which.append(np.full(len(corners), number))
        start += len(points)
    points, one = _welded(np.concatenate(vertices))
    return points, one[np.concatenate(triangles)], np.concatenate(which)


def sides(triangles: np.ndarray) -> np.ndarray:
    """The three sides of each triangle (3 m, 2), in its winding."""
    import numpy as np

    return np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]])


def border(triangles: np.ndarray) -> np.ndarray:
    """Edges (k, 2) that one triangle alone has, in its winding."""
    import numpy as np

    every = sides(triangles)
    _, back, count = np.unique(np.sort(every, axis=1), axis=0, return_inverse=True, return_counts=True)
    return every[count[back.reshape(-1)] == 1]


def length_round(vertices: np.ndarray, loop: Sequence[int]) -> float:
    """Length of a closed loop of vertices [mm]."""
    import numpy as np

    spots = vertices[list(loop)]
    return float(np.linalg.norm(spots - np.roll(spots, 1, axis=0), axis=1).sum())


def area_in_plan(spots: np.ndarray) -> float:
    """Signed area of a loop in plan."""
    import numpy as np

    x, y = spots[:, 0], spots[:, 1]
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2


def zipped(a: np.ndarray, b: np.ndarray) -> Iterator[tuple[int, int, int]]:
    """Triangles between two loops that run the same way from neighbouring points: the shorter diagonal each time."""
    import numpy as np

    n, m, i, j = len(a), len(b), 0, 0
    while i < n or j < m:
        here, there = a[i % n], b[j % m]
        along_a = np.linalg.norm(a[(i + 1) % n] - there) if i < n else np.inf
        along_b = np.linalg.norm(b[(j + 1) % m] - here) if j < m else np.inf
        if along_a <= along_b:
            yield i % n, (i + 1) % n, n + j % m
            i += 1
        else:
            yield i % n, n + (j + 1) % m, n + j % m
            j += 1


def loops(edges: np.ndarray) -> list[tuple[int, ...]]:
    """Edges (k, 2) in their winding, chained to closed loops of vertices; what does not close is left out."""
    after: dict[int, list[int]] = {}
    for a, b in edges.tolist():
        after.setdefault(a, []).append(b)
    found = []
    while after:
        start = here = next(iter(after))
        loop = []
        while here in after:
            loop.append(here)
            ways = after[here]
            step = ways.pop()
            if not ways:
                del after[here]
            here = step
            if here == start:
                found.append(tuple(loop))
                break
    return found
