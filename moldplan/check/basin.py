"""Each space that drains as a surface to flood, and what stands in each of its parts at many attitudes.

In       Assembly; upward vectors or a box of heel and trim.
Out      Basin: a Space with its Surface; Stood: litres and depth in each part at each attitude; the worst over a box.
Not here limits and verdicts (ponds.py), the flood itself (flood.py, pond.py).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from moldplan.attitude import Attitude, AttitudeBox, ups
from moldplan.check.flood import Flood, blocks, flood
from moldplan.check.flood_surface import Surface, welded
from moldplan.check.pond import LITRE, standing
from moldplan.check.wetted import Space, spaces
from moldplan.shape.assembly import Assembly

if TYPE_CHECKING:
    import numpy as np

OVER = "its open edge"  # over which what rises leaves for good
COARSE = (9, 7)  # heels and trims looked at first; the depth of a pond is least in the middle and greatest at an end
FINE = 5  # each way, between the neighbours of the worst of these


@dataclass(frozen=True, eq=False)
class Basin:
    """A space and its surface; `part` (n,): which of the space's parts each vertex of the surface belongs to."""

    space: Space
    surface: Surface
    part: np.ndarray

    @property
    def open(self) -> bool:
        """Whether anything leaves it at all."""
        return bool(self.surface.names)

    @cached_property
    def upright(self) -> Flood:
        """Flooded on an even keel: asked for again with each of its drains blocked."""
        return flood(self.surface, ups([0.0], [0.0]))

    def flooded(self, up: np.ndarray) -> Flood:
        """Flooded at attitudes (k, 3)."""
        level = len(up) == 1 and (up == ups([0.0], [0.0])).all()
        return self.upright if level else flood(self.surface, up)


@dataclass(frozen=True, eq=False)
class Stood:
    """What stood in each part at each attitude: `litres`, `depth` [mm along up] (k, parts), `deepest` (k, parts, 3)."""

    litres: np.ndarray
    depth: np.ndarray
    deepest: np.ndarray


@dataclass(frozen=True, kw_only=True)
class Worst:
    """The deepest that stood in one part: depth [mm], litres and the place then, the attitude."""

    depth: float
    litres: float
    at: tuple[float, float, float]
    attitude: Attitude


def basins(assembly: Assembly) -> tuple[Basin, ...]:
    """Every space of a plan, ready to be flooded."""
    return tuple(_basin(space) for space in spaces(assembly))


def _basin(space: Space) -> Basin:
    import numpy as np
    from scipy.spatial import cKDTree

    edge = {OVER: space.open_edge} if len(space.open_edge) else {}
    surface = welded(space.vertices, space.triangles, drains={n: r for n, r in space.rims.items() if len(r)},
                     overboard=edge)
    part = np.zeros(len(space.vertices), int)
    np.maximum.at(part, space.triangles.ravel(), np.repeat(space.part, 3))  # a gutter's edge is the gutter's
    return Basin(space, surface, part[cKDTree(space.vertices).query(surface.vertices)[1]])


def stood(basin: Basin, up: np.ndarray, blocked: Iterable[str] = ()) -> Stood:
    """What stands in each part at each attitude (k, 3), some drains blocked."""
    import numpy as np

    k, parts, shut = len(up), len(basin.space.parts), tuple(blocked)
    litres, depth, deepest = np.zeros((k, parts)), np.zeros((k, parts)), np.zeros((k, parts, 3))
    for block in blocks(basin.surface, k):
        here = standing(basin.flooded(up[block]), shut)
        flooded, deep = here.level.flood, here.level.depth
        row = flooded.attitude * parts + basin.part[flooded.bottom]
        size = (block.stop - block.start) * parts
        held = np.bincount(here._wet.basin, weights=here._wet.volume, minlength=len(deep)) / LITRE
        held[~np.isfinite(deep)] = np.inf
        litres[block] = np.maximum(np.bincount(row, weights=held, minlength=size).reshape(-1, parts), 0.0)
        order = np.lexsort((deep, row))
        rows, last = np.unique(row[order][::-1], return_index=True)
        most = order[::-1][last]
        depth[block].reshape(-1)[rows] = deep[most]
        deepest[block].reshape(-1, 3)[rows] = basin.surface.vertices[flooded.bottom[most]]
    return Stood(litres, depth, deepest)


def at(basin: Basin, attitude: Attitude, blocked: Iterable[str] = ()) -> tuple[Worst, ...]:
    """What stands in each part at one attitude."""
    found = stood(basin, ups([attitude.heel], [attitude.trim]), blocked)
    return tuple(_one(found, 0, k, attitude) for k in range(len(basin.space.parts)))


def over_box(basin: Basin, box: AttitudeBox) -> tuple[Worst, ...]:
    """The deepest that stands in each part over a box: on a grid that has its corners, then closer about the worst."""
    import numpy as np

    heels, trims = (np.unique(np.linspace(*span, n)) for span, n in zip((box.heel, box.trim), COARSE, strict=True))
    found = _worst(basin, heels, trims)
    steps = [max(np.diff(each), default=0.0) for each in (heels, trims)]
    closer = []
    for k, worst in enumerate(found):
        spans = [np.unique(np.clip(np.linspace(mid - step, mid + step, FINE), *span)) for mid, step, span in zip(
            (worst.attitude.heel, worst.attitude.trim), steps, (box.heel, box.trim), strict=True)]
        near = _worst(basin, *spans)[k] if worst.depth > 0 and any(steps) else worst
        closer.append(near if near.depth > worst.depth else worst)
    return tuple(closer)


def _worst(basin: Basin, heels: np.ndarray, trims: np.ndarray) -> tuple[Worst, ...]:
    import numpy as np

    heel, trim = (a.ravel() for a in np.meshgrid(heels, trims, indexing="ij"))
    found = stood(basin, ups(heel, trim))
    rows = found.depth.argmax(axis=0)
    return tuple(_one(found, int(row), k, Attitude(float(heel[row]), float(trim[row]))) for k, row in enumerate(rows))


def _one(found: Stood, row: int, part: int, attitude: Attitude) -> Worst:
    x, y, z = map(float, found.deepest[row, part])
    return Worst(depth=float(found.depth[row, part]), litres=float(found.litres[row, part]), at=(x, y, z),
                 attitude=attitude)
