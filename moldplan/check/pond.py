"""What water stays behind on a surface, attitude by attitude, and which drain serves which part of it.

In       a Surface (flood_surface.py), upward vectors or a grid of heels and trims, drains that are blocked.
Out      litres, depth, single ponds with their place and the outlet they would spill to, areas served; DrainMap.
Not here limits and verdicts; emptying curves (pond_level.py); the spill levels themselves (flood.py).

Volumes are exact for the triangles: in each at most one pond stands, at the level of its lowest vertex; what stands
over a triangle is the integral of its depth over its area seen along up, negative where it faces down, so that walls
which overhang when the boat heels, and things under water, take away what they should. Water under a bell counts as if
the air got out: more than there would be. A heavy gas lies as water does: the same litres are its pockets.
With no way out at all there is no level to fill to: litres and depth are then infinite. What hangs makes no pond
(flood_hang.py); what drips off an edge with nothing below it has left.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from moldplan.attitude import Attitude, ups
from moldplan.check.flood import Flood, Level, blocks, flood
from moldplan.errors import GeometryError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike

    from moldplan.check.flood_surface import Surface

Point = tuple[float, float, float]

LITRE = 1e6  # mm3
SHALLOW = 1e-6  # mm, a pond less deep than that is rounding


@dataclass(frozen=True, kw_only=True)
class Pond:
    """One pond: litres, depth [mm along up] over its deepest point `at`, `area` [mm2] of its surface.

    `spill`: where it would run over, `outlet`: the outlet that takes what runs over (None: none does).
    """

    litres: float
    depth: float
    at: Point
    area: float
    spill: Point | None
    outlet: str | None


@dataclass(frozen=True, eq=False)
class Standing:
    """What stands at each of k attitudes with some drains blocked.

    `litres` (k,), `depth` (k,) [mm along up], `deepest` (k, 3) [mm], infinite and its basin's bottom where there is no
    way out; `hanging` (k,): how many low places that hang were seen through.
    """

    level: Level
    litres: np.ndarray
    depth: np.ndarray
    deepest: np.ndarray
    hanging: np.ndarray
    _wet: Wet

    @property
    def served(self) -> np.ndarray:
        """Area [mm2 seen along up] that each outlet takes water from, (k, len(outlets) + 1); last: none takes it.

        None: it never gets out, or drips off the surface where nothing lies below. As fine as the triangles: refine a
        surface of few large ones first. On a floor that lies dead level it is undetermined, and shared out anyhow.
        """
        import numpy as np

        flooded = self.level.flood
        names = flooded.surface.outlets
        column = np.array([names.index(name) for name in flooded.surface.names] + [len(names)])
        key = flooded.attitude * (len(names) + 1) + column[self.level.outlet]
        size = len(self.litres) * (len(names) + 1)
        return np.bincount(key, weights=flooded.basin_area, minlength=size).reshape(-1, len(names) + 1)

    def ponds(self, attitude: int) -> tuple[Pond, ...]:
        """The single ponds at one attitude, the largest first."""
        import numpy as np

        level, flooded = self.level, self.level.flood
        depth = level.depth
        basins = np.flatnonzero((flooded.attitude == attitude) & (depth > SHALLOW))
        wet = self._wet
        found = []
        for joint in np.unique(level.by[basins]):
            own = basins[level.by[basins] == joint]
            deep = own[depth[own].argmax()]
            mine = (level.by[wet.basin] == joint) & (wet.attitude == attitude)
            closed = joint == len(flooded.height)
            outlet = level.outlet[deep]
            found.append(Pond(
                litres=float("inf") if closed else float(wet.volume[mine].sum()) / LITRE, depth=float(depth[deep]),
                at=_point(flooded, int(flooded.bottom[deep])),
                area=float("inf") if closed else float(wet.area[mine].sum()),
                spill=None if closed else _point(flooded, int(flooded.over[joint])),
                outlet=flooded.surface.names[outlet] if outlet >= 0 else None))
        return tuple(sorted(found, key=lambda pond: -pond.litres))

    def water(self, attitude: int) -> tuple[np.ndarray, np.ndarray]:
        """The wet parts of triangles at one attitude, to draw: corners (w, 3, 3) and depth there (w, 3), both mm."""
        return _clipped(self.level, attitude)


@dataclass(frozen=True, eq=False)
class Wet:
    """Triangles with water over them: attitude, basin, volume [mm3] and water's area [mm2], each (w,)."""

    attitude: np.ndarray
    basin: np.ndarray
    volume: np.ndarray
    area: np.ndarray


def standing(flooded: Flood, blocked: Iterable[str] = ()) -> Standing:
    """What stays behind with some drains blocked; GeometryError for a name that is no drain."""
    import numpy as np

    level = flooded.level(blocked)
    k = flooded.fall.height.shape[1]
    wet = _wet(level)
    litres = np.bincount(wet.attitude, weights=wet.volume, minlength=k) / LITRE
    deep = level.depth
    order = np.lexsort((deep, flooded.attitude))
    last = order[np.searchsorted(flooded.attitude[order], np.arange(k), side="right") - 1]
    depth = deep[last]
    litres[~np.isfinite(depth)] = np.inf
    return Standing(level, np.maximum(litres, 0.0), depth, flooded.surface.vertices[flooded.bottom[last]],
                    np.bincount(flooded.hangs.attitude, minlength=k), wet)


def ponds(surface: Surface, up: ArrayLike, blocked: Iterable[str] = ()) -> tuple[Pond, ...]:
    """The ponds at one attitude (upward unit vector, or Attitude's), the largest first."""
    return standing(flood(surface, up), blocked).ponds(0)


def service(surface: Surface, up: ArrayLike, blocked: Iterable[str] = ()) -> np.ndarray:
    """Of the water that falls on each vertex, the share each outlet gets, (n, len(outlets) + 1); the last: none."""
    import numpy as np

    flooded = flood(surface, up)
    names = surface.outlets
    column = np.array([names.index(name) for name in surface.names] + [len(names)])
    share = np.zeros((len(surface.vertices), len(names) + 1))
    end = column[flooded.level(blocked).outlet[flooded.node[:, 0]]]
    low = flooded.fall.low[:, 0]
    share[low, end[low]] = 1.0
    fall = flooded.fall
    for v in np.argsort(fall.height[:, 0], kind="stable"):
        if not low[v]:
            part = float(fall.share[v, 0])
            share[v] = part * share[fall.first[v, 0]] + (1 - part) * share[fall.second[v, 0]]
    return share


@dataclass(frozen=True, eq=False)
class DrainMap:
    """Litres and depth left over heel and trim, for each way of blocking drains.

    `litres`, `depth` [mm]: (blocked, heels, trims); `served` [mm2]: (blocked, heels, trims, outlets + 1), see Standing;
    `deepest` [mm]: (blocked, heels, trims, 3); `hanging`: (heels, trims).
    """

    heels: np.ndarray
    trims: np.ndarray
    blocked: tuple[tuple[str, ...], ...]
    outlets: tuple[str, ...]
    litres: np.ndarray
    depth: np.ndarray
    deepest: np.ndarray
    served: np.ndarray
    hanging: np.ndarray

    def safe(self, *, litres: float, depth: float) -> np.ndarray:
        """Where no more than both limits is left, (blocked, heels, trims) bool."""
        return (self.litres <= litres) & (self.depth <= depth)

    def worst(self, blocked: int = 0) -> Attitude:
        """The attitude that leaves most litres (of equals the deepest), for one way of blocking."""
        import numpy as np

        most = self.litres[blocked] == self.litres[blocked].max()
        place = int(np.where(most, self.depth[blocked], -1.0).argmax())
        i, j = divmod(place, len(self.trims))
        return Attitude(float(self.heels[i]), float(self.trims[j]))


def each_blocked(surface: Surface) -> tuple[tuple[str, ...], ...]:
    """No drain blocked, then each in turn."""
    return ((), *((name,) for name in surface.blockable))


def drain_map(surface: Surface, heels: ArrayLike, trims: ArrayLike,
              blocked: Sequence[Sequence[str]] = ((),)) -> DrainMap:
    """What stays behind at every heel with every trim [deg], for each way of blocking drains.

    GeometryError for no heels or trims, or a name that is no drain; AttitudeError for angles that are no numbers.
    """
    import numpy as np

    heel, trim = np.atleast_1d(np.asarray(heels, float)), np.atleast_1d(np.asarray(trims, float))
    if not heel.size or not trim.size or not blocked:
        raise GeometryError("a drain map over no attitudes")
    up = ups(*(a.ravel() for a in np.meshgrid(heel, trim, indexing="ij")))
    shape = len(heel), len(trim)
    parts: list[list[tuple[np.ndarray, ...]]] = [[] for _ in blocked]
    hanging = []
    for block in blocks(surface, len(up)):
        flooded = flood(surface, up[block])
        for found, shut in zip(parts, blocked, strict=True):
            here = standing(flooded, shut)
            found.append((here.litres, here.depth, here.deepest, here.served))
        hanging.append(here.hanging)
    litres, depth, deepest, served = (
        np.stack([np.concatenate(piece) for piece in column])
        for column in zip(*(zip(*found, strict=True) for found in parts), strict=True))
    grid = (len(blocked), *shape)
    return DrainMap(heel, trim, tuple(map(tuple, blocked)), surface.outlets, litres.reshape(grid), depth.reshape(grid),
                    deepest.reshape(*grid, 3), served.reshape(*grid, -1), np.concatenate(hanging).reshape(shape))


def over_triangles(depth: np.ndarray, seen: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Volume [mm3] and area [mm2, along up] of what stands over triangles: depths (w, 3) at their corners, negative
    where dry; `seen` (w,): their signed areas along up.
    """
    import numpy as np

    d = np.sort(depth, axis=1)[:, ::-1]
    high, mid, low = d.T
    with np.errstate(divide="ignore", invalid="ignore"):
        tip = high / (high - mid) * (high / (high - low))  # the share that is wet, with one corner wet
        dry = low / (low - high) * (low / (low - mid))  # the share that is dry, with two
    one, two = (high > 0) & (mid <= 0), (mid > 0) & (low < 0)
    every = d.sum(1) / 3
    volume = np.where(one, tip * high / 3, np.where(two, every - dry * low / 3, np.where(low >= 0, every, 0.0)))
    share = np.where(one, tip, np.where(two, 1 - dry, np.where((low >= 0) & (high > 0), 1.0, 0.0)))
    return volume * seen, share * seen


def _wet(level: Level) -> Wet:
    import numpy as np

    flooded = level.flood
    net, height = flooded.surface.triangles, flooded.fall.height
    finite = np.where(np.isfinite(level.level), level.level, -np.inf)
    wet = finite[flooded.node] > height
    triangle, attitude = np.nonzero(wet[net[:, 0]] | wet[net[:, 1]] | wet[net[:, 2]])
    corner = net[triangle]
    z = height[corner, attitude[:, None]]
    lowest = corner[np.arange(len(corner)), z.argmin(1)]
    basin = flooded.node[lowest, attitude]
    seen = (flooded.surface.areas[triangle] * flooded.fall.up[attitude]).sum(1)
    return Wet(attitude, basin, *over_triangles(finite[basin][:, None] - z, seen))


def _point(flooded: Flood, vertex: int) -> Point:
    x, y, z = flooded.surface.vertices[vertex]
    return float(x), float(y), float(z)


def _clipped(level: Level, attitude: int) -> tuple[np.ndarray, np.ndarray]:
    """Wet parts of triangles, those that face down left out, as triangles with their depths."""
    import numpy as np

    flooded = level.flood
    surface, height = flooded.surface, flooded.fall.height[:, attitude]
    net = surface.triangles[surface.areas @ flooded.fall.up[attitude] > 0]
    lowest = net[np.arange(len(net)), height[net].argmin(1)]
    depth = level.level[flooded.node[lowest, attitude]][:, None] - height[net]
    some = np.isfinite(depth[:, 0]) & (depth.max(1) > SHALLOW)
    corners, depths = [], []
    for place, d in zip(surface.vertices[net[some]], depth[some], strict=True):
        ring = [q for k in range(3) for q in _wet_side(place[k], d[k], place[(k + 1) % 3], d[(k + 1) % 3])]
        for k in range(1, len(ring) - 1):
            corners.append([ring[0][0], ring[k][0], ring[k + 1][0]])
            depths.append([ring[0][1], ring[k][1], ring[k + 1][1]])
    return np.array(corners, float).reshape(-1, 3, 3), np.array(depths, float).reshape(-1, 3)


def _wet_side(a: np.ndarray, deep_a: float, b: np.ndarray, deep_b: float) -> list[tuple[np.ndarray, float]]:
    """The start of a side if it is wet, and where the side crosses the water's edge."""
    found = [(a, deep_a)] if deep_a >= 0 else []
    if deep_a * deep_b < 0:
        found.append((a + (b - a) * deep_a / (deep_a - deep_b), 0.0))
    return found
