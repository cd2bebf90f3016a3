"""The wetted surface of a space as welded triangles, with its ways out marked.

In       triangles of finished faces [mm, boat axes], wound so that their normals point into the free space; which
         vertices are rims of drains and which edges open overboard.
Out      Surface: vertices, triangles, outlets, and the tables that a flood needs; refined, moved.
Not here what stands on it (flood.py, pond.py); taking faces off bodies.

Whatever edge is not marked is a wall that goes up for ever. A drain's rim that is a closed hole gets a lid of
triangles, which a flood meets only when that drain is blocked (an open rim is dry): rims are flat and convex.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

from moldplan.check.net import border, loops, sides
from moldplan.errors import GeometryError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike

WELD = 0.01  # mm, vertices nearer than that are one
MOST_SPLITS = 24  # rounds of halving edges; 2^24 of them in a metre are under a tenth of a micron


class Corners(NamedTuple):
    """The 3 m corners of all triangles, sorted by vertex: vertex, the next two of its triangle, the triangle.

    `start` (n,): where the corners of each vertex begin.
    """

    vertex: np.ndarray
    left: np.ndarray
    right: np.ndarray
    triangle: np.ndarray
    start: np.ndarray


@dataclass(frozen=True, eq=False)
class Surface:
    """Vertices (n, 3) float [mm], triangles (m, 3) int, `group` (n,) int: the outlet a vertex belongs to, or -1.

    `names`: what each group is called (two rims may share a name); `drains`: groups that can be blocked.
    """

    vertices: np.ndarray
    triangles: np.ndarray
    group: np.ndarray
    names: tuple[str, ...] = ()
    drains: frozenset[int] = frozenset()

    @property
    def outlets(self) -> tuple[str, ...]:
        """The names of the outlets, each once, in order."""
        return tuple(dict.fromkeys(self.names))

    @property
    def blockable(self) -> tuple[str, ...]:
        """The names of the drains, each once, in order."""
        return tuple(dict.fromkeys(name for k, name in enumerate(self.names) if k in self.drains))

    @cached_property
    def edges(self) -> np.ndarray:
        """Every edge once, (e, 2) int, the lower vertex number first."""
        import numpy as np

        return np.unique(np.sort(sides(self.triangles), axis=1), axis=0)

    @cached_property
    def border(self) -> np.ndarray:
        """Edges that only one triangle has, (b, 2) int, wound as that triangle."""
        return border(self.triangles)

    @cached_property
    def corners(self) -> Corners:
        """All corners, by vertex."""
        import numpy as np

        own = self.triangles.T.ravel()
        order = np.argsort(own, kind="stable")
        left, right = (np.roll(self.triangles, -k, axis=1).T.ravel()[order] for k in (1, 2))
        triangle = np.tile(np.arange(len(self.triangles)), 3)[order]
        start = np.searchsorted(own[order], np.arange(len(self.vertices)))
        return Corners(own[order], left, right, triangle, start)

    @cached_property
    def areas(self) -> np.ndarray:
        """Area vectors (m, 3) [mm2]: along the normal, as long as the area."""
        import numpy as np

        a, b, c = (self.vertices[self.triangles[:, k]] for k in range(3))
        return np.cross(b - a, c - a) / 2

    def groups_of(self, names: Iterable[str]) -> tuple[int, ...]:
        """The groups of some drains by name; GeometryError for a name that no drain has."""
        names = tuple(names)
        for name in names:
            if name not in self.blockable:
                known = ", ".join(self.blockable) or "none"
                raise GeometryError(f"{name!r} is no drain of this surface, which has {known}")
        return tuple(k for k in sorted(self.drains) if self.names[k] in names)

    def moved(self, turn: ArrayLike, shift: ArrayLike = (0.0, 0.0, 0.0)) -> Surface:
        """The same surface after a turn (3, 3) and a shift (3,) [mm]."""
        import numpy as np

        return replace(self, vertices=self.vertices @ np.asarray(turn, float).T + np.asarray(shift, float))

    def with_rim(self, name: str, *, centre: ArrayLike, normal: ArrayLike, bore: float, within: float = 1.0) -> Surface:
        """The same with a drain whose rim is the hole of that bore [mm] about a centre; normal: its axis.

        Border vertices within `within` [mm] of that circle are its rim. GeometryError when there are none: a drain in
        mid-air, or a floor without its hole.
        """
        import numpy as np

        middle, axis = np.asarray(centre, float), np.asarray(normal, float)
        size = float(np.linalg.norm(axis))
        if not (np.isfinite(middle).all() and 0 < size < np.inf and 0 < bore < np.inf):
            raise GeometryError(f"drain {name}: a rim of bore {bore:g} mm at {tuple(map(float, middle))} along "
                                f"{tuple(map(float, axis))} is no circle")
        off = self.vertices - middle
        along = off @ (axis / size)
        across = np.sqrt(np.maximum((off**2).sum(1) - along**2, 0.0))
        near = (np.abs(along) <= within) & (np.abs(across - bore / 2) <= within)
        rim = np.intersect1d(np.flatnonzero(near), self.border)
        if len(rim) < 3:
            raise GeometryError(f"drain {name}: no hole of bore {bore:g} mm in the surface at "
                                f"({middle[0]:.1f}, {middle[1]:.1f}, {middle[2]:.1f})")
        return self.with_drain(name, rim)

    def with_drain(self, name: str, rim: ArrayLike) -> Surface:
        """The same with a drain whose rim has these vertices; a hole that they close gets its lid."""
        return self.with_drains({name: rim})

    def with_drains(self, rims: Mapping[str, ArrayLike]) -> Surface:
        """The same with several at once: no rim bears on another's, and the border is looked for once."""
        import numpy as np

        marked, lids = self, []
        for name, rim in rims.items():
            marked = marked._marked(name, rim, self.edges, drain=True)
            own = np.zeros(len(self.vertices), bool)
            own[np.asarray(rim, int)] = True
            lids += [(loop[0], loop[k + 1], loop[k]) for loop in loops(self.border[own[self.border].all(1)])
                     for k in range(1, len(loop) - 1)]
        return replace(marked, triangles=np.vstack([self.triangles, np.array(lids, int).reshape(-1, 3)]))

    def with_edge(self, name: str, vertices: ArrayLike) -> Surface:
        """The same with an edge over which water leaves for good (overboard, over a sill)."""
        return self._marked(name, vertices, self.edges, drain=False)

    def _marked(self, name: str, vertices: ArrayLike, edges: np.ndarray, *, drain: bool) -> Surface:
        import numpy as np

        own = np.unique(np.asarray(vertices, int))
        if not len(own) or own[0] < 0 or own[-1] >= len(self.vertices):
            raise GeometryError(f"outlet {name}: no vertices of the surface given")
        taken = self.group[own]
        if (taken >= 0).any():
            raise GeometryError(f"outlet {name} shares vertices with {self.names[int(taken.max())]}")
        parts = _parts(len(self.vertices), own, edges)
        group = self.group.copy()
        group[own] = parts + len(self.names)
        new = range(len(self.names), len(self.names) + int(parts.max()) + 1)
        return replace(self, group=group, names=self.names + (name,) * len(new),
                       drains=self.drains | set(new) if drain else self.drains)

    def refined(self, longest: float) -> Surface:
        """The same surface with no edge longer than `longest` [mm], by halving edges; flat parts stay flat.

        A new vertex belongs to an outlet where it halves a border edge between two vertices of that outlet.
        """
        if not longest > 0:
            raise GeometryError(f"edges of at most {longest:g} mm")
        made = self
        for _ in range(MOST_SPLITS):
            finer = _halved(made, longest)
            if finer is made:
                return made
            made = finer
        raise GeometryError(f"edges of at most {longest:g} mm: too fine for this surface")


def welded(vertices: ArrayLike, triangles: ArrayLike, *, drains: Mapping[str, ArrayLike] | None = None,
           overboard: Mapping[str, ArrayLike] | None = None, tolerance: float = WELD) -> Surface:
    """A Surface of loose triangles: vertices nearer than `tolerance` [mm] become one, triangles without area go.

    `drains`, `overboard`: name to numbers of the given vertices. GeometryError for NaN, numbers out of range, nothing
    at all, and triangles that are wound against their neighbours.
    """
    import numpy as np

    points, given = np.asarray(vertices, float), np.asarray(triangles)
    _refuse(points, given)
    one = _weld(points, tolerance)
    index, first = np.unique(one, return_inverse=True)
    kept = first[given.astype(int)]
    kept = kept[(kept[:, 0] != kept[:, 1]) & (kept[:, 1] != kept[:, 2]) & (kept[:, 2] != kept[:, 0])]
    if not len(kept):
        raise GeometryError("a surface whose triangles have no area")
    used, numbers = np.unique(kept, return_inverse=True)
    net = numbers.reshape(-1, 3)
    _refuse_winding(net)
    surface = Surface(points[index[used]], net, np.full(len(used), -1))
    place = np.full(len(index), -1)
    place[used] = np.arange(len(used))

    def mine(own: ArrayLike) -> np.ndarray:
        numbers = place[first[np.asarray(own, int)]]
        return numbers[numbers >= 0]

    surface = surface.with_drains({name: mine(own) for name, own in (drains or {}).items()})
    for name, own in (overboard or {}).items():
        surface = surface.with_edge(name, mine(own))
    return surface


def _refuse(points: np.ndarray, triangles: np.ndarray) -> None:
    import numpy as np

    if points.ndim != 2 or points.shape[1] != 3 or triangles.ndim != 2 or triangles.shape[1:] != (3,):
        raise GeometryError(f"a surface of vertices {points.shape} and triangles {triangles.shape}, "
                            "expected (n, 3) and (m, 3)")
    if not len(triangles):
        raise GeometryError("a surface without triangles")
    if not np.isfinite(points).all():
        raise GeometryError("a surface with a vertex that is no number")
    if triangles.dtype.kind not in "iu" or triangles.min() < 0 or triangles.max() >= len(points):
        raise GeometryError(f"triangles of vertices that do not exist (there are {len(points)})")


def _refuse_winding(triangles: np.ndarray) -> None:
    """Each side must be met the other way round as often, but for a border's: once more."""
    import numpy as np

    every = sides(triangles)
    turned = np.where(every[:, 0] < every[:, 1], 1, -1)
    _, edge = np.unique(np.sort(every, axis=1), axis=0, return_inverse=True)
    wrong = int((np.abs(np.bincount(edge.ravel(), weights=turned)) > 1).sum())
    if wrong:
        raise GeometryError(f"a surface with triangles wound against their neighbours, at {wrong} edges")


def _weld(points: np.ndarray, tolerance: float) -> np.ndarray:
    """For each point the number of the first it is one with."""
    import numpy as np
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components
    from scipy.spatial import cKDTree

    pairs = cKDTree(points).query_pairs(tolerance, output_type="ndarray")
    ones = coo_array((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(len(points),) * 2)
    part = connected_components(ones, directed=False)[1]
    return np.unique(part, return_index=True)[1][part]


def _parts(n: int, own: np.ndarray, edges: np.ndarray) -> np.ndarray:
    """Which connected part each of some vertices is in, counted from 0, by edges between them."""
    import numpy as np
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    mine = np.full(n, -1)
    mine[own] = np.arange(len(own))
    ends = mine[edges]
    inside = ends[(ends >= 0).all(1)]
    net = coo_array((np.ones(len(inside)), (inside[:, 0], inside[:, 1])), shape=(len(own), len(own)))
    return np.unique(connected_components(net, directed=False)[1], return_inverse=True)[1]


def _halved(surface: Surface, longest: float) -> Surface:
    """Every edge that is too long halved once; the same object when there is none."""
    import numpy as np

    edges, points, net = surface.edges, surface.vertices, surface.triangles
    long = np.linalg.norm(points[edges[:, 0]] - points[edges[:, 1]], axis=1) > longest
    if not long.any():
        return surface
    cut = edges[long]
    border = {(int(min(a, b)), int(max(a, b))) for a, b in surface.border}
    group = np.where(surface.group[cut[:, 0]] == surface.group[cut[:, 1]], surface.group[cut[:, 0]], -1)
    lid = [g in surface.drains or (int(a), int(b)) in border for (a, b), g in zip(cut, group, strict=True)]
    middle = {(a, b): len(points) + k for k, (a, b) in enumerate(cut.tolist())}
    size = len(points)
    sides = np.sort(np.stack([net, np.roll(net, -1, axis=1)], axis=2), axis=2)
    touched = np.isin(sides[..., 0] * size + sides[..., 1], cut.min(1) * size + cut.max(1)).any(1)
    rows, made = np.flatnonzero(~touched).tolist(), net[~touched].tolist()
    for row in np.flatnonzero(touched).tolist():
        parts = _split(tuple(net[row].tolist()), middle)
        rows += [row] * len(parts)
        made += parts
    order = np.argsort(rows, kind="stable")  # each triangle's parts where it stood
    return replace(surface, vertices=np.vstack([points, points[cut].mean(1)]), triangles=np.array(made)[order],
                   group=np.concatenate([surface.group, np.where(lid, group, -1)]))


def _split(triangle: tuple[int, int, int], middle: Mapping[tuple[int, int], int]) -> list[tuple[int, int, int]]:
    """One triangle in one to four, by which of its sides are halved."""
    corners, sides = list(triangle), list(zip(triangle, (*triangle[1:], triangle[0]), strict=True))
    halves = [middle.get((min(side), max(side))) for side in sides]
    count = 3 - halves.count(None)
    if count == 0:
        return [triangle]
    while halves[0] is None or (count == 2 and halves[1] is None):
        corners, halves = corners[1:] + corners[:1], halves[1:] + halves[:1]
    (a, b, c), (ab, bc, ca) = corners, halves
    assert ab is not None
    if bc is None:
        return [(a, ab, c), (ab, b, c)]
    if ca is None:
        return [(a, ab, c), (ab, bc, c), (ab, b, bc)]
    return [(a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca)]
