"""How high water must rise at every point of a surface before it finds a way out: exact for its triangles.

In       a Surface with its outlets, upward unit vectors, which drains are blocked.
Out      Flood (what does not depend on what is blocked) and Level: the spill level of every basin, where it spills to.
Not here litres and ponds (pond.py), areas served (pond.py), emptying curves (pond_level.py).

The spill level of a vertex is the least, over ways along edges to an outlet, of the highest vertex on the way. Each
vertex runs down to a lowest place; those that end in one are a basin, and share its spill level where they lie under
it. What is left is a small graph of basins, joined where edges cross from one to the next, at the height of the edge's
higher end: its least spanning tree holds every least highest way, for all outlets alike, so that drains are blocked in
turn at no cost. Low places that hang are joined to what lies below them (flood_hang.py).

A drain's rim is one basin: open, it is a way out; blocked, it lies under the flat lid that joins its vertices.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from moldplan.attitude import AttitudeError
from moldplan.check.flood_fall import Runs, gathered, runs, seen_along
from moldplan.check.flood_hang import Hanging, hanging

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike

    from moldplan.check.flood_surface import Surface

NOWHERE = -1  # a basin's outlet when there is none
BLOCK = 4_000_000  # vertices x attitudes held at once
UNIT = 1e-9  # how far an upward vector's length may be from one


@dataclass(frozen=True, eq=False)
class Flood:
    """A surface at some attitudes, cut into basins.

    Per vertex and attitude: `fall`, and `node` (n, k), the number of its basin. Per basin (b,): `attitude`, `bottom`
    (its lowest vertex), `group` (the outlet that it is, or -1), `open_below`: what drips from it leaves the space.
    Per joint of the spanning tree (t,): `ends` (t, 2) basins, `over` the vertex it leads over, `height` there [mm];
    in rising order.
    """

    surface: Surface
    fall: Runs
    node: np.ndarray
    attitude: np.ndarray
    bottom: np.ndarray
    group: np.ndarray
    open_below: np.ndarray
    ends: np.ndarray
    over: np.ndarray
    height: np.ndarray
    hangs: Hanging

    @cached_property
    def basin_area(self) -> np.ndarray:
        """What runs into each basin [mm2 seen along up] (b,), the area of its own water included."""
        import numpy as np

        total = gathered(self.fall, seen_along(self.surface, self.fall.up))
        return np.bincount(self.node[self.fall.low], weights=total[self.fall.low], minlength=len(self.bottom))

    def level(self, blocked: Iterable[str] = ()) -> Level:
        """How high each basin fills with some drains blocked; GeometryError for a name that is no drain."""
        import numpy as np

        shut = self.surface.groups_of(blocked)
        out = ((self.group >= 0) & ~np.isin(self.group, shut)) | self.open_below
        by = np.full(len(self.bottom), len(self.height))
        by[out] = -1
        one, two = self.ends[:, 0], self.ends[:, 1]
        rank = np.arange(len(self.height))
        while True:
            before = by.copy()
            np.minimum.at(by, one, np.maximum(rank, by[two]))
            np.minimum.at(by, two, np.maximum(rank, by[one]))
            if (by == before).all():
                break
        level = np.concatenate([self.height, [np.inf, -np.inf]])[by]
        return Level(self, level, by, self._outlet(by, out))

    def _outlet(self, by: np.ndarray, out: np.ndarray) -> np.ndarray:
        """The outlet (a group, or NOWHERE) that each basin spills to in the end."""
        import numpy as np

        after = np.arange(len(by))
        held = np.flatnonzero((by >= 0) & (by < len(self.height)))
        ends = self.ends[by[held]]
        after[held] = np.where(by[ends[:, 0]] < by[held], ends[:, 0], ends[:, 1])
        while not (after[after] == after).all():
            after = after[after]
        return np.where(out[after], self.group[after], NOWHERE)


@dataclass(frozen=True, eq=False)
class Level:
    """What stands with some drains blocked. Per basin (b,): spill `level` [mm], -inf where open, inf with no way out;
    `by`: the joint that it spills over (basins with one joint are one pond); `outlet`: the group it spills to, or -1.
    """

    flood: Flood
    level: np.ndarray
    by: np.ndarray
    outlet: np.ndarray

    @property
    def depth(self) -> np.ndarray:
        """Depth [mm] of the water over the bottom of each basin, (b,); 0 where none stands."""
        import numpy as np

        flood = self.flood
        return np.maximum(self.level - flood.fall.height[flood.bottom, flood.attitude], 0.0)

    def at(self, attitude: int) -> np.ndarray:
        """The spill level of every vertex at one attitude [mm along up], (n,): its own height where it is dry."""
        import numpy as np

        flood = self.flood
        return np.maximum(flood.fall.height[:, attitude], self.level[flood.node[:, attitude]])


def upward(ups: ArrayLike) -> np.ndarray:
    """Upward vectors as (k, 3); AttitudeError unless each is a unit vector."""
    import numpy as np

    up = np.atleast_2d(np.asarray(ups, float))
    if up.ndim != 2 or up.shape[1] != 3 or not len(up):
        raise AttitudeError(f"upward vectors of shape {up.shape}, expected (k, 3)")
    if not (np.abs(np.linalg.norm(up, axis=1) - 1) <= UNIT).all():
        raise AttitudeError("an upward vector that is not one long")
    return up


def blocks(surface: Surface, count: int) -> list[slice]:
    """Attitudes in lots that fit into memory at once."""
    step = max(1, BLOCK // len(surface.vertices))
    return [slice(begin, min(begin + step, count)) for begin in range(0, count, step)]


def flood(surface: Surface, ups: ArrayLike) -> Flood:
    """Cut a surface into basins at some attitudes (k, 3), and join them. AttitudeError for what is no direction.

    All at once: mind the memory of many attitudes (`blocks`).
    """
    import numpy as np

    fall = runs(surface, upward(ups))
    k = fall.height.shape[1]
    root = _roots(surface, fall)
    flat = root.ravel().astype(np.int64) * k + np.tile(np.arange(k), len(root))
    reached = np.zeros(len(flat), bool)
    reached[flat] = True
    place = np.flatnonzero(reached)
    number = np.zeros(len(flat), np.int32)
    number[place] = np.arange(len(place), dtype=np.int32)
    node = number[flat].reshape(root.shape)
    vertex, attitude = place // k, place % k
    group = surface.group[vertex]
    hangs = hanging(surface, fall)
    mine = node[hangs.vertex, hangs.attitude]
    open_below = np.zeros(len(place), bool)
    open_below[mine[hangs.below < 0]] = True
    ends, over, height = _tree(*_joints(surface, fall, node, hangs), len(place))
    bottom = _bottoms(surface, fall, vertex, attitude, group)
    return Flood(surface, fall, node, attitude, bottom, group, open_below, ends, over, height, hangs)


def _roots(surface: Surface, fall: Runs) -> np.ndarray:
    """The lowest place that each vertex runs to, (n, k); all vertices of an outlet run to its first."""
    import numpy as np

    n, k = fall.height.shape
    goes = fall.main
    for group in range(len(surface.names)):
        own = np.flatnonzero(surface.group == group)
        goes[own] = own[0]
    jump = goes.astype(np.int64) * k + np.arange(k)
    jump = jump.ravel()
    while True:
        further = jump[jump]
        if (further == jump).all():
            return (jump // k).reshape(n, k)
        jump = further


def _bottoms(surface: Surface, fall: Runs, vertex: np.ndarray, attitude: np.ndarray, group: np.ndarray) -> np.ndarray:
    """The lowest vertex of each basin: its root, or the lowest of its outlet's vertices."""
    import numpy as np

    bottom = vertex.copy()
    for number in range(len(surface.names)):
        own, mine = np.flatnonzero(surface.group == number), np.flatnonzero(group == number)
        bottom[mine] = own[fall.height[own].argmin(0)][attitude[mine]]
    return bottom


def _joints(surface: Surface, fall: Runs, node: np.ndarray, hangs: Hanging
            ) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Where one basin meets another: (j, 2) basins, the vertex between, its height. Each pair at its lowest only."""
    import numpy as np

    edges = surface.edges
    edge, attitude = np.nonzero(node[edges[:, 0]] != node[edges[:, 1]])
    a, b = edges[edge, 0], edges[edge, 1]
    over = np.where(fall.height[a, attitude] >= fall.height[b, attitude], a, b)
    real = hangs.below >= 0
    a = np.concatenate([node[a, attitude], node[hangs.vertex, hangs.attitude][real]])
    b = np.concatenate([node[b, attitude], node[hangs.below, hangs.attitude][real]])
    over = np.concatenate([over, hangs.vertex[real]])
    height = fall.height[over, np.concatenate([attitude, hangs.attitude[real]])]
    pair = np.minimum(a, b).astype(np.int64) * len(node) * node.shape[1] + np.maximum(a, b)
    order = np.lexsort((height, pair))
    first = order[np.concatenate([[True], np.diff(pair[order]) != 0])] if len(order) else order
    first = first[a[first] != b[first]]
    return np.stack([a[first], b[first]], axis=1), over[first], height[first]


def _tree(ends: np.ndarray, over: np.ndarray, height: np.ndarray, count: int
          ) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """The least spanning trees (one an attitude and connected part) of the basins' graph, in rising order."""
    import numpy as np
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import minimum_spanning_tree

    order = np.argsort(height, kind="stable")
    ends, over, height = ends[order], over[order], height[order]
    rank = np.arange(1.0, len(order) + 1)  # whole numbers: the library takes a weight of nought for no joint at all
    kept = minimum_spanning_tree(coo_array((rank, (ends[:, 0], ends[:, 1])), shape=(count, count)).tocsr())
    used = np.sort(kept.data.astype(int)) - 1
    return ends[used], over[used], height[used]
