"""Which way water runs from every vertex of a surface, at many attitudes at once.

In       a Surface, upward unit vectors (k, 3).
Out      Runs: heights, the one or two vertices that water goes to next, its lowest places; areas seen along up.
Not here what stands in the lowest places (flood.py).

At a vertex the steepest way down is across one of its triangles, or along one of its edges. Across a triangle it meets
the far side between two vertices, which then take a share each. Arrays are (vertices, attitudes).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np

    from moldplan.check.flood_surface import Corners, Surface

AT_ONCE = 900_000  # corners x attitudes in one pass, so that its arrays stay in the processor's cache
FLAT = 1e-10  # share of its sides' product below which a triangle's area is rounding


@dataclass(frozen=True, eq=False)
class Runs:
    """`height` (n, k) [mm]; water at a vertex goes to `first` and `second` (n, k), `share` (n, k) of it to `first`.

    Where `low`, nothing near is lower (outlets included): it goes nowhere, and `first` is the vertex itself. `main`:
    whichever of the two takes more; it is lower than the vertex.
    """

    up: np.ndarray
    height: np.ndarray
    first: np.ndarray
    second: np.ndarray
    share: np.ndarray
    low: np.ndarray

    @property
    def main(self) -> np.ndarray:
        import numpy as np

        return np.where(self.share >= 0.5, self.first, self.second)


def runs(surface: Surface, up: np.ndarray) -> Runs:
    """Where water runs at each attitude; an outlet's vertices are low by themselves."""
    import numpy as np

    corners, height = surface.corners, surface.vertices @ up.T
    fixed = _measures(surface)
    n, k = height.shape
    first, second = np.empty((n, k), np.int32), np.empty((n, k), np.int32)
    share, low = np.empty((n, k), np.float32), np.empty((n, k), bool)
    step = max(1, AT_ONCE // len(corners.vertex))
    for begin in range(0, k, step):
        part = slice(begin, min(begin + step, k))
        pick, share[:, part], low[:, part] = _steepest(corners, fixed, np.ascontiguousarray(height[:, part]))
        first[:, part], second[:, part] = corners.left[pick], corners.right[pick]
    low |= (surface.group >= 0)[:, None]
    itself = np.arange(n, dtype=np.int32)[:, None]
    first, second = np.where(low, itself, first), np.where(low, itself, second)
    return Runs(up, height, first, second, share, low)


def _measures(surface: Surface) -> tuple[np.ndarray, ...]:
    """Per corner, of its two sides: squares, inner product, 1 / lengths, 1 / (twice the area) squared (0: no area)."""
    import numpy as np

    corners, points = surface.corners, surface.vertices
    one, two = points[corners.left] - points[corners.vertex], points[corners.right] - points[corners.vertex]
    a, b, ab = (one**2).sum(1), (two**2).sum(1), (one * two).sum(1)
    square = (np.cross(one, two) ** 2).sum(1)
    flat = square <= FLAT**2 * a * b
    over = np.where(flat, 0.0, 1.0 / np.where(flat, 1.0, square))
    return tuple(x.astype(np.float32)[:, None] for x in (a, b, ab, 1 / np.sqrt(a), 1 / np.sqrt(b), over))


def _steepest(corners: Corners, fixed: tuple[np.ndarray, ...], height: np.ndarray
              ) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Per vertex and attitude: the corner that water leaves by, the share to its left vertex, whether there is none.

    Differences of heights are taken in full precision; only how steep a way is, and the shares, are rounded to single.
    """
    import numpy as np

    a, b, ab, per_one, per_two, over = fixed
    here = height[corners.vertex]
    one, two = (np.subtract(height[c], here).astype(np.float32) for c in (corners.left, corners.right))
    to_one, to_two = two * ab - one * b, one * ab - two * a  # the way down in the plane, in the triangle's own sides
    across = (to_one > 0) & (to_two > 0) & (over > 0)
    slope = np.sqrt(np.maximum(-(to_one * one + to_two * two) * over, 0.0))
    along_one, along_two = -one * per_one, -two * per_two
    slope = np.where(across, slope, np.maximum(along_one, along_two))
    slope[(one >= 0) & (two >= 0)] = 0.0
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(across, to_one / (to_one + to_two), along_one >= along_two).astype(np.float32)
    share[across & (one >= 0)] = 0.0
    share[across & (two >= 0)] = 1.0
    best = np.maximum.reduceat(slope, corners.start, axis=0)
    number = np.arange(len(slope), dtype=np.int32)[:, None]
    hit = np.where(slope == best[corners.vertex], number, 0)
    pick = np.maximum.reduceat(hit, corners.start, axis=0)
    return pick, np.take_along_axis(share, pick, axis=0), best <= 0


def seen_along(surface: Surface, up: np.ndarray) -> np.ndarray:
    """What each vertex has of its triangles' areas seen along up [mm2], (n, k): a third of those that face up."""
    import numpy as np
    from scipy.sparse import csr_array

    third = np.maximum(surface.areas @ up.T, 0.0) / 3
    m = len(surface.triangles)
    part = csr_array((np.ones(3 * m), (surface.triangles.ravel(), np.repeat(np.arange(m), 3))),
                     shape=(len(surface.vertices), m))
    return part @ third


def gathered(fall: Runs, own: np.ndarray) -> np.ndarray:
    """What arrives at each vertex (n, k) when every vertex starts with its own and hands all of it on, high ones first.

    Kept where it ends: in low places and outlets. Handed on elsewhere (the flow past a vertex).
    """
    import numpy as np

    n, k = own.shape
    ready = np.ascontiguousarray(np.argsort(-fall.height.T, axis=1, kind="stable").T)
    place = np.arange(k)
    order = ready * k + place
    first, second = fall.first.ravel() * k, fall.second.ravel() * k
    share = fall.share.ravel()
    total = own.ravel().copy()
    moves = ~fall.low.ravel()
    for at in order:
        amount = total[at] * moves[at]
        part = amount * share[at]
        total[first[at] + place] += part
        total[second[at] + place] += amount - part
    return total.reshape(n, k)
