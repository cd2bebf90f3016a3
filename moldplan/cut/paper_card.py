"""Where on a tile its card goes: a square of 50 mm that is measured after printing, with the tile's name in it.

In       a tiling, one of its tiles.
Out      the card's lower left corner in the axes of the turned piece [mm].
Not here what is written in it (report/paper_tile.py).
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from moldplan.cut.loop import holds_point, sampled
from moldplan.cut.paper import Tile, Tiling, loops_of
from moldplan.cut.piece import Loop, Point
from moldplan.spec.paper import SQUARE

if TYPE_CHECKING:
    from shapely import Geometry

ENOUGH = 8.0  # a card further than that from every line is as good as any [mm]
STEP = 10.0  # places that are tried lie so far apart [mm]
MOST = 40  # or further, so that no more than this many lie in a row


def card_at(tiling: Tiling, tile: Tile, lines: Geometry | None = None) -> Point:
    """The place of a tile's card that is clear of every line of the piece; where there is none, that with the fewest.

    Of places as clear as ENOUGH one on the piece is taken, so that it stays with it, and of these the one nearest to
    the window's upper left. `lines`: lines_of(tiling), to be asked once for all tiles.
    """
    import shapely

    near = (lines_of(tiling) if lines is None else lines).intersection(shapely.box(*tile.low, *tile.high))
    spots = [(x, y) for y in _along(tile, tiling, 1)[::-1] for x in _along(tile, tiling, 0)]
    if near.is_empty:
        return spots[0]
    boxes = shapely.box([x for x, _ in spots], [y for _, y in spots],
                        [x + SQUARE for x, _ in spots], [y + SQUARE for _, y in spots])
    room = shapely.distance(boxes, near)
    if room.max() <= 0:
        crossed = shapely.length(shapely.intersection(boxes, near))
        return spots[int(crossed.argmin())]
    corner = (tile.low[0], tile.high[1])

    def worth(k: int) -> tuple[float, bool, float]:
        middle = (spots[k][0] + SQUARE / 2, spots[k][1] + SQUARE / 2)
        on = any(holds_point(one.outer, middle) and not any(holds_point(hole, middle) for hole in one.holes)
                 for one in tiling.cut)
        return (-round(min(room[k], ENOUGH), 3), not on, math.dist(spots[k], corner))

    return spots[min(range(len(spots)), key=worth)]


def lines_of(tiling: Tiling) -> Geometry:
    """All lines of a piece, or of a sheet and what lies on it, as one geometry, good to 0.2 mm."""
    import shapely

    drawn = (tiling.outline, *tiling.laid)
    return shapely.union_all([shapely.LinearRing(_ring(loop)) for each in drawn for loop in loops_of(each)])


def _ring(loop: Loop) -> list[Point]:
    points = sampled(loop, 0.2)
    return points if len(points) > 2 else [*points, points[0]]


def _along(tile: Tile, tiling: Tiling, axis: int) -> list[float]:
    """Lower ends of the card that are tried along x (0) or y (1), inside the seams and their crosses."""
    inset = 3.0 if (tiling.columns, tiling.rows)[axis] == 1 else tiling.page.overlap / 2 + 6.0
    low, high = tile.low[axis] + inset, tile.high[axis] - inset - SQUARE
    count = min(MOST, max(1, math.ceil((high - low) / STEP)))
    return [low + (high - low) * k / count for k in range(count + 1)]
