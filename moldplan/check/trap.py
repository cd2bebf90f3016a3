"""Pockets of a closed space on a grid of cells: a second way, by volume, to what flood.py finds by surface.

In       the inside of closed triangles, or a function of points; upward; the size of a cell [mm]; openings.
Out      Pockets: litres that stay, how deep, where, the opening they would leave by; for water and for heavy gas alike.
Not here the exact flood (flood.py, pond.py), which needs no cells; mass of a gas.

Cells lie square to up, layer on layer. The free cells of a layer fall into patches; patches that overlap from layer to
layer make a graph, and a patch fills until the graph leads to an opening. A pocket's top lies within half a cell of
where it is, its volume errs by half a cell over its floor; a passage narrower than a cell may be missed, or closed.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from moldplan.check.flood import upward
from moldplan.errors import GeometryError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike

Point = tuple[float, float, float]
Opening = tuple[Point, float]  # its middle [mm], the radius [mm] of a ball about it

MOST_CELLS = 60_000_000
OFF = 0.3713  # of a cell, by which the grid stands off the space's corner: no cell's middle on a face


@dataclass(frozen=True, eq=False)
class Cells:
    """`free` (layers, i, j) bool; `axes` (3, 3): rows are the grid's two level axes and up; `corner`: the middle of the
    first cell in these axes [mm]; `size` [mm].
    """

    free: np.ndarray
    axes: np.ndarray
    corner: np.ndarray
    size: float

    def middle(self, layer: int, i: int, j: int) -> Point:
        """The middle of one cell in boat axes [mm]."""
        x, y, z = (self.corner + self.size * _vector(i, j, layer)) @ self.axes
        return float(x), float(y), float(z)


@dataclass(frozen=True, kw_only=True)
class Pocket:
    """Litres that stay in one pocket, its depth [mm along up], its lowest place; the opening it would leave by.

    Both infinite (and `opening` None) where no opening is ever reached.
    """

    litres: float
    depth: float
    at: Point
    opening: str | None


def inside_of(vertices: ArrayLike, triangles: ArrayLike, up: ArrayLike, *, size: float) -> Cells:
    """The free cells inside closed triangles whose normals point into the space.

    GeometryError for a size that is not above 0 or makes too many cells.
    """
    import numpy as np

    axes = _axes(upward(up)[0])
    points = np.asarray(vertices, float) @ axes.T
    corner, shape = _extent(points, size)
    steps = np.zeros((shape[0] + 1, *shape[1:]), np.int16)
    for a, b, c in points[np.asarray(triangles, int)]:
        _cross(steps, (a - corner) / size, (b - corner) / size, (c - corner) / size)
    return Cells(np.cumsum(steps, axis=0)[:-1] > 0, axes, corner, size)


def where(inside: Callable[[np.ndarray], np.ndarray], box: ArrayLike, up: ArrayLike, *, size: float) -> Cells:
    """The free cells where a function of points (n, 3) [mm] says True, within a box (2, 3) of corners."""
    import numpy as np

    axes, box = _axes(upward(up)[0]), np.asarray(box, float)
    ends = np.array([[box[k, 0], box[m, 1], box[n, 2]] for k in (0, 1) for m in (0, 1) for n in (0, 1)]) @ axes.T
    corner, shape = _extent(ends, size)
    layer, i, j = np.indices(shape).reshape(3, -1)
    free = inside((corner + size * np.stack([i, j, layer], 1)) @ axes)
    return Cells(np.asarray(free, bool).reshape(shape), axes, corner, size)


def pockets(cells: Cells, openings: Mapping[str, Opening]) -> tuple[Pocket, ...]:
    """What stays in the space, the largest first. What lies in an opening's ball is out.

    GeometryError for an opening with no free cell in its ball: an opening in mid-material, or cells too large.
    """
    import numpy as np
    from scipy.ndimage import label

    patch, layer, pairs = _patches(cells.free)
    way = _outlets(cells, patch, openings)
    level, by = _fill(layer, pairs, way)
    wet = np.concatenate([[False], level[1:] > layer[1:]])[patch]
    part, count = label(wet)
    found = []
    for number in range(1, count + 1):
        k, i, j = np.nonzero(part == number)
        low = k.argmin()
        own = patch[k[low], i[low], j[low]]
        open_ = by[own] is not None
        found.append(Pocket(
            litres=len(k) * cells.size**3 / 1e6 if open_ else float("inf"),
            depth=(level[own] - k[low]) * cells.size if open_ else float("inf"),
            at=cells.middle(int(k[low]), int(i[low]), int(j[low])), opening=by[own]))
    return tuple(sorted(found, key=lambda pocket: -pocket.litres))


def _vector(*parts: float) -> np.ndarray:
    import numpy as np

    return np.array(parts, float)


def _axes(up: np.ndarray) -> np.ndarray:
    """Up and two level directions, the first as near forward as may be; as rows, right-handed."""
    import numpy as np

    first = np.array([1.0, 0, 0]) if abs(up[0]) < 0.9 else np.array([0, 1.0, 0])
    first = first - up * (first @ up)
    first /= np.linalg.norm(first)
    return np.stack([first, np.cross(up, first), up])


def _extent(points: np.ndarray, size: float) -> tuple[np.ndarray, tuple[int, int, int]]:
    import numpy as np

    if not np.isfinite(points).all() or not 0 < size < np.inf:
        raise GeometryError(f"cells of {size:g} mm over points that must be numbers")
    low = points.min(0) - OFF * size
    i, j, layers = (int(n) for n in np.ceil((points.max(0) - low) / size) + 1)
    if i * j * layers > MOST_CELLS:
        raise GeometryError(f"cells of {size:g} mm: {i * j * layers} of them, allowed {MOST_CELLS}")
    return low, (layers, i, j)


def _cross(steps: np.ndarray, a: np.ndarray, b: np.ndarray, c: np.ndarray) -> None:
    """Count one triangle, in cells: one up from its height on if it faces up, one down if it faces down."""
    import numpy as np

    det = (b[0] - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (b[1] - a[1])
    if det == 0:
        return
    low, high = np.minimum(np.minimum(a, b), c), np.maximum(np.maximum(a, b), c)
    i, j = (np.arange(max(int(np.ceil(low[k])), 0), int(np.floor(high[k])) + 1) for k in (0, 1))
    dx, dy = i[:, None] - a[0], j[None] - a[1]
    s = (dx * (c[1] - a[1]) - dy * (c[0] - a[0])) / det
    t = (dy * (b[0] - a[0]) - dx * (b[1] - a[1])) / det
    p, q = np.nonzero((s >= 0) & (t >= 0) & (s + t <= 1))
    z = a[2] + s[p, q] * (b[2] - a[2]) + t[p, q] * (c[2] - a[2])
    layer = np.clip(np.ceil(z).astype(int), 0, len(steps) - 1)
    steps[layer, i[p], j[q]] += 1 if det > 0 else -1


def _patches(free: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Number of each free cell's patch in its layer (0: not free), each patch's layer, pairs that overlap."""
    import numpy as np
    from scipy.ndimage import label

    patch, layers, pairs, count = np.zeros(free.shape, np.int32), [-1], [np.zeros((0, 2), int)], 0
    for k, plane in enumerate(free):
        here, more = label(plane)
        patch[k] = np.where(plane, here + count, 0)
        layers += [k] * more
        count += more
        if k:
            both = plane & free[k - 1]
            pairs.append(np.unique(np.stack([patch[k - 1][both], patch[k][both]], 1), axis=0))
    return patch, np.array(layers), np.vstack(pairs)


def _outlets(cells: Cells, patch: np.ndarray, openings: Mapping[str, Opening]) -> dict[int, str]:
    """The patches that each opening's ball reaches into."""
    import numpy as np

    found: dict[int, str] = {}
    layer, i, j = np.nonzero(cells.free)
    places = cells.corner + cells.size * np.stack([i, j, layer], 1)
    for name, (middle, radius) in openings.items():
        near = ((places - np.asarray(middle, float) @ cells.axes.T) ** 2).sum(1) <= radius**2
        own = np.unique(patch[layer[near], i[near], j[near]])
        if not len(own):
            raise GeometryError(f"opening {name}: no free cell of {cells.size:g} mm within {radius:g} mm of it")
        for number in own:
            found.setdefault(int(number), name)
    return found


def _fill(layer: np.ndarray, pairs: np.ndarray, way: Mapping[int, str]) -> tuple[np.ndarray, list[str | None]]:
    """Of each patch, the layer that it fills to and the opening it then leaves by."""
    import numpy as np

    beside: list[list[int]] = [[] for _ in layer]
    for a, b in pairs.tolist():
        beside[a].append(b)
        beside[b].append(a)
    level = np.full(len(layer), np.inf)
    by: list[str | None] = [None] * len(layer)
    ready: list[tuple[int, int]] = []
    for number, name in way.items():
        level[number], by[number] = layer[number], name
        heapq.heappush(ready, (int(layer[number]), number))
    while ready:
        height, number = heapq.heappop(ready)
        for other in beside[number]:
            if not np.isfinite(level[other]):
                level[other], by[other] = max(height, layer[other]), by[number]
                heapq.heappush(ready, (int(level[other]), other))
    return level, by
