"""How much a space holds up to a level, and what is left as it empties through its drains: V(h), exactly.

In       a Surface, the upward unit vector of one attitude, levels [mm along up] or the sill that a sea fills to.
Out      litres and the water's area at levels; Filling: the curve from the sill down to what stays behind.
Not here how fast it runs out (flow.py).

Levels and heights are up . p of a point p in boat axes. Over each triangle the volume is a cubic in the level between
the heights of its corners, so that V(h) is a cubic between neighbouring `knots`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from moldplan.check.flood import flood, upward
from moldplan.check.pond import LITRE, over_triangles
from moldplan.errors import GeometryError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike

    from moldplan.check.flood_surface import Surface


def level_volume(surface: Surface, up: ArrayLike, levels: ArrayLike) -> tuple[np.ndarray, np.ndarray]:
    """Litres under each level (q,) and the area [mm2] of the water there (q,): all that the surface can hold.

    For a closed space with its ceilings too: these take off what they take up. GeometryError for a level of NaN.
    """
    import numpy as np

    u = upward(up)[0]
    return _under(surface, u, _levels(levels), np.full(len(surface.triangles), -np.inf), np.inf)


@dataclass(frozen=True, eq=False)
class Filling:
    """A space that was filled to `sill` [mm along up] and empties through its open drains.

    `spill` (m,): the level below which water over each triangle stays; `rims`: the lowest height of each open outlet.
    """

    surface: Surface
    up: np.ndarray
    sill: float
    spill: np.ndarray
    rims: dict[str, float]

    @cached_property
    def knots(self) -> np.ndarray:
        """Heights in rising order, from the lowest rim (or the lowest place) to the sill; V is a cubic between them."""
        import numpy as np

        heights = self.surface.vertices @ self.up
        low = min(self.rims.values(), default=float(heights.min()))
        inside = heights[(heights > low) & (heights < self.sill)]
        return np.unique(np.concatenate([[min(low, self.sill)], inside, [self.sill]]))

    def litres(self, levels: ArrayLike) -> np.ndarray:
        """Litres left when the water that still finds a drain stands at each level (q,); above the sill, the sill's."""
        return _under(self.surface, self.up, _levels(levels), self.spill, self.sill)[0]

    def area(self, levels: ArrayLike) -> np.ndarray:
        """The area [mm2] of the water that still finds a drain, at each level (q,): d litres / d level in mm3/mm."""
        return _under(self.surface, self.up, _levels(levels), self.spill, self.sill, moving=True)[1]

    @property
    def full(self) -> float:
        """Litres at the sill."""
        return float(self.litres([self.sill])[0])

    @property
    def stays(self) -> float:
        """Litres that never reach an open drain."""
        return float(self.litres([float(self.knots[0])])[0])


def filled_to(surface: Surface, up: ArrayLike, sill: ArrayLike, blocked: Iterable[str] = ()) -> Filling:
    """A sea has filled the space to the lowest of its sill's points (s, 3) [mm]; some drains are blocked.

    An outlet that is an edge at or above the sill is a way out too, and drains nothing below it. GeometryError for no
    points.
    """
    import numpy as np

    u, points = upward(up), np.asarray(sill, float)
    if points.ndim != 2 or points.shape[1:] != (3,) or not len(points) or not np.isfinite(points).all():
        raise GeometryError(f"a sill of points of shape {points.shape}, expected (s, 3), s at least 1, no NaN")
    top = float((points @ u[0]).min())
    shut = set(surface.groups_of(blocked))
    flooded = flood(surface, u)
    level, height = flooded.level(blocked), flooded.fall.height[:, 0]
    net = surface.triangles
    lowest = net[np.arange(len(net)), height[net].argmin(1)]
    rims: dict[str, float] = {}
    for group, name in enumerate(surface.names):
        if group not in shut:
            rims[name] = min(rims.get(name, np.inf), float(height[surface.group == group].min()))
    return Filling(surface, u[0], top, level.level[flooded.node[lowest, 0]], rims)


def _levels(levels: ArrayLike) -> np.ndarray:
    import numpy as np

    level = np.atleast_1d(np.asarray(levels, float))
    if np.isnan(level).any() or level.ndim != 1:
        raise GeometryError("a level that is no number")
    return level


def _under(surface: Surface, u: np.ndarray, levels: np.ndarray, spill: np.ndarray, sill: float, *,
           moving: bool = False) -> tuple[np.ndarray, np.ndarray]:
    """Litres and area with water over each triangle at the level, or at its spill where that is higher; sill at most.

    `moving`: the area only of triangles whose water is at the level itself, and none above the sill.
    """
    import numpy as np

    heights, seen = (surface.vertices @ u)[surface.triangles], surface.areas @ u
    litres, area = np.zeros(len(levels)), np.zeros(len(levels))
    for k, level in enumerate(levels):
        top = np.minimum(np.maximum(level, spill), sill)
        wet = heights.min(1) < top
        held, open_ = over_triangles(top[wet, None] - heights[wet], seen[wet])
        litres[k] = held.sum() / LITRE
        area[k] = open_[(spill[wet] <= level) & (level <= sill)].sum() if moving else open_.sum()
    return litres, area
