"""Low places of ceilings, lids and lips: which of a surface's lowest vertices hold nothing, and what they hang over.

In       a Surface, its Runs, the vertices that are lowest about themselves (vertex, attitude).
Out      which of these hang, and the vertex below to which the space under them is joined (or that there is none).
Not here the flood that uses the joints (flood.py).

Why this is enough for overhangs of any kind. As water rises in a space, the wet parts of the space and the wet parts
of its surface begin, and grow together, at the same places, with one exception: at the tip of something that hangs, a
new part of the surface gets wet while the space about it was wet before. So the surface alone tells all about the
space once each such tip is joined, at its own height, to what lies plumb below. No grid, no cell size.

A lowest vertex holds water when straight down from it is material. With sides a, b of each of its triangles,
(a x b) . up / ((a . up) (b . up)) summed round it is twice the area that the level plane one unit above cuts out of
the cone of the triangles, positive when that encloses free space: a floor. Open fans are closed by a wall straight up.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np

    from moldplan.check.flood_fall import Runs
    from moldplan.check.flood_surface import Surface

LEVEL = 1e-9  # sides flatter than that share of their length rise by it: ties have to be broken somehow
TOUCH = 1e-3  # mm a plumb line may pass outside a triangle, or start under it, and meet it still
PAIRS = 2_000_000  # lines x triangles in one pass


@dataclass(frozen=True, eq=False)
class Hanging:
    """Vertices (h,) and attitudes (h,) of low places that hang; `below` (h,): the vertex joined, or -1."""

    vertex: np.ndarray
    attitude: np.ndarray
    below: np.ndarray


def hanging(surface: Surface, fall: Runs) -> Hanging:
    """Every lowest place that hangs, outlets left out, with the lowest vertex of the triangle plumb below it."""
    import numpy as np

    vertex, attitude = np.nonzero(fall.low & (surface.group < 0)[:, None])
    hangs = _round(surface, fall, vertex, attitude) <= 0
    vertex, attitude = vertex[hangs], attitude[hangs]
    below = np.full(len(vertex), -1)
    step = max(1, PAIRS // len(surface.triangles))
    for begin in range(0, len(vertex), step):
        part = slice(begin, begin + step)
        below[part] = _plumb(surface, fall, vertex[part], attitude[part])
    return Hanging(vertex, attitude, below)


def _round(surface: Surface, fall: Runs, vertex: np.ndarray, attitude: np.ndarray) -> np.ndarray:
    """The signed area of the cut through the cone of triangles about each lowest vertex, one unit above it."""
    import numpy as np

    corners, points = surface.corners, surface.vertices
    end = np.append(corners.start[1:], len(corners.vertex))
    count = (end - corners.start)[vertex]
    owner = np.repeat(np.arange(len(vertex)), count)
    each = np.arange(len(owner)) - np.repeat(np.cumsum(count) - count, count) + corners.start[vertex][owner]
    rises = []
    for other in (corners.left[each], corners.right[each]):
        length = np.linalg.norm(points[other] - points[vertex[owner]], axis=1)
        rise = fall.height[other, attitude[owner]] - fall.height[vertex[owner], attitude[owner]]
        rises.append(np.maximum(rise / length, LEVEL) * length)
    seen = (surface.areas[corners.triangle[each]] * fall.up[attitude[owner]]).sum(1)
    return np.bincount(owner, weights=seen / (rises[0] * rises[1]), minlength=len(vertex))


def _plumb(surface: Surface, fall: Runs, vertex: np.ndarray, attitude: np.ndarray) -> np.ndarray:
    """The lowest vertex of the nearest triangle below each point that faces up, or -1.

    First the triangles whose enclosing ball the plumb line meets, all at once; then these few exactly.
    """
    import numpy as np

    points, net, up = surface.vertices, surface.triangles, fall.up[attitude]
    corner = points[net]
    middle = corner.mean(1)
    reach = np.sqrt(((corner - middle[:, None]) ** 2).sum(2).max(1)) + TOUCH
    start = points[vertex]
    along = (start * up).sum(1)[:, None] - up @ middle.T
    square = (start**2).sum(1)[:, None] - 2 * start @ middle.T + (middle**2).sum(1)
    ray, triangle = np.nonzero((square - along**2 <= reach**2) & (along >= -reach) & (up @ surface.areas.T > 0))
    drop = _drop(corner[triangle], start[ray], up[ray])
    met = (drop >= -TOUCH) & ~(net[triangle] == vertex[ray][:, None]).any(1)
    ray, triangle, drop = ray[met], triangle[met], drop[met]
    order = np.lexsort((drop, ray))
    ray, triangle = ray[order], triangle[order]
    first = np.unique(ray, return_index=True)
    below = np.full(len(vertex), -1)
    own = net[triangle[first[1]]]
    lowest = fall.height[own, attitude[first[0]][:, None]].argmin(1)
    below[first[0]] = own[np.arange(len(own)), lowest]
    return below


def _drop(corner: np.ndarray, start: np.ndarray, up: np.ndarray) -> np.ndarray:
    """How far below each start its triangle is met plumb [mm]; NaN where the plumb line passes it by."""
    import numpy as np

    normal = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0])
    facing = (normal * up).sum(1)
    with np.errstate(over="ignore"):  # a triangle all but on edge, met nowhere
        drop = ((start - corner[:, 0]) * normal).sum(1) / facing
    inside = np.ones(len(corner), bool)
    for k in range(3):
        a, side = corner[:, k], corner[:, (k + 1) % 3] - corner[:, k]
        off = (np.cross(side, start - a) * up).sum(1)  # the side's length, seen along up, times the distance from it
        length = np.linalg.norm(side - (side * up).sum(1)[:, None] * up, axis=1)
        inside &= off >= -TOUCH * length
    return np.where(inside, drop, np.nan)
