"""Where the words of a crowded picture go: inside their area where it has room, else beside it with a line to it.

In       paper points [mm]: areas with their words, the marks that are there already, the free paper.
Out      labelled(): Placement: words and lines, clear of every line and of each other; and what found no place.
Not here what is numbered (sheets.py), a drawing's names in a column (place.py).

The paper is a raster of CELL mm, so that one sum tells whether a box is free, whatever lies around it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from moldplan.report.drawing import TEXT, Curve, Mark, Point, Text, circle, flattened, line

if TYPE_CHECKING:
    import numpy as np
    from shapely import Polygon

CELL = 0.25  # mm
DOT = 0.45  # mm, radius
CLEAR = 0.25  # mm between words and any line
INSIDE = (TEXT, 3.0, 2.6, 2.2)  # sizes of words within their area, the largest that fits [mm]
OUTSIDE = (3.0, 2.6)
FARTHEST = 80.0  # mm, longest line to words beside their area
STRIDE = 3  # cells from one place that is tried to the next
NEAREST = 300  # places that are looked at closely
BARE, OPENING = -1, -2  # owners of cells that belong to no area
ACROSS = 3.0  # mm of detour that crossing 1 mm of another area is worth


@dataclass(frozen=True)
class Wish:
    """Words for an area of the paper, in it if they fit; or words with a line to one of the points `at`, on bare paper
    or in the area of the wish numbered `home`."""

    words: str
    area: Polygon | None = None
    at: tuple[Point, ...] = ()
    home: int = -1


@dataclass
class Placement:
    """What was placed, and which wishes found no place."""

    marks: list[Mark] = field(default_factory=list)
    missing: list[Wish] = field(default_factory=list)


def labelled(wishes: Sequence[Wish], marks: Sequence[Mark], size: Point, *, most: int) -> Placement:
    """Places for all words on paper of `size` [mm] on which `marks` stand; those that fit inside come first.

    When more than `most` do not fit in their areas, nothing further is tried: they are missing.
    """
    paper = _Paper(size, marks, wishes)
    made = Placement()
    later = []
    for number, wish in enumerate(wishes):
        text = None if wish.at else paper.inside(number, wish.words)
        if text is None:
            later.append((number, wish))
        else:
            made.marks.append(text)
    if sum(not wish.at for _, wish in later) > most:
        made.missing = [wish for _, wish in later]
        return made
    for number, wish in later:
        found = paper.beside(number, wish)
        made.marks += found
        if not found:
            made.missing.append(wish)
    return made


class _Paper:
    """The raster: `drawn` cells with lines or words, `words` those that no line may cross, `owner` the area there."""

    def __init__(self, size: Point, marks: Sequence[Mark], wishes: Sequence[Wish]) -> None:
        import numpy as np

        wide, tall = (math.ceil(s / CELL) for s in size)
        self.drawn = np.zeros((tall, wide), bool)
        self.words = np.zeros((tall, wide), bool)
        self.owner = np.full((tall, wide), BARE, int)
        for mark in marks:
            if isinstance(mark, Curve) and mark.pen != "none":
                self._draw(mark)
            elif isinstance(mark, Text):
                self._write(mark)
        self.parts: dict[int, tuple[slice, slice]] = {}
        areas = {k: wish.area for k, wish in enumerate(wishes) if wish.area is not None and not wish.area.is_empty}
        for area in areas.values():  # openings are no bare paper: words there would be read as theirs
            rows, columns, within = self._within(_whole(area))
            self.owner[rows, columns][within] = OPENING
        for number, area in areas.items():
            rows, columns, within = self._within(area)
            self.owner[rows, columns][within] = number
            self.parts[number] = rows, columns

    def _within(self, area: Polygon) -> tuple[slice, slice, np.ndarray]:
        import numpy as np
        import shapely

        low_x, low_y, high_x, high_y = area.bounds
        tall, wide = self.drawn.shape
        columns = slice(max(math.floor(low_x / CELL), 0), min(math.ceil(high_x / CELL), wide))
        rows = slice(max(math.floor(low_y / CELL), 0), min(math.ceil(high_y / CELL), tall))
        x, y = np.meshgrid((np.arange(columns.start, columns.stop) + 0.5) * CELL,
                           (np.arange(rows.start, rows.stop) + 0.5) * CELL)  # fmt: skip
        shapely.prepare(area)
        return rows, columns, shapely.contains_xy(area, x, y)

    def _draw(self, curve: Curve, into: np.ndarray | None = None) -> None:
        import numpy as np

        points = flattened(curve.vertices, closed=curve.closed)
        points += points[:1] if curve.closed else []
        rows, columns = _cells(_samples(np.array(points, float)), self.drawn.shape)
        self.drawn[rows, columns] = True
        if into is not None:
            into[rows, columns] = True

    def _write(self, text: Text) -> None:
        rows, columns = _slices(_box(text))
        self.drawn[rows, columns] = True
        self.words[rows, columns] = True

    def inside(self, number: int, words: str) -> Text | None:
        """The words in their own area, level or upright, as large as they go; in its roomiest place near its middle."""
        import numpy as np
        from scipy.ndimage import distance_transform_edt

        rows, columns, free = self._own(number)
        if not free.any():
            return None
        room = distance_transform_edt(np.pad(free, 1))[1:-1, 1:-1] * CELL
        y, x = np.indices(free.shape)
        middle_y, middle_x = np.argwhere(free).mean(axis=0)
        worth = np.minimum(room, 8.0) - 0.02 * CELL * np.hypot(y - middle_y, x - middle_x)
        totals = _totals(~free)
        for size in INSIDE:
            for turn in (0.0, 90.0):
                text = Text((0.0, 0.0), words, size, turn=turn, bold=True)
                spot = _best(totals, worth, _cells_of(text))
                if spot is not None:
                    text = _centred(text, ((columns.start + spot[1]) * CELL, (rows.start + spot[0]) * CELL))
                    self._write(text)
                    return text
        return None

    def _own(self, number: int) -> tuple[slice, slice, np.ndarray]:
        """The area's cells with nothing drawn on them, in the least part of the paper that holds them."""
        rows, columns = self.parts.get(number, (slice(0, 0), slice(0, 0)))
        return rows, columns, (self.owner[rows, columns] == number) & ~self.drawn[rows, columns]

    def beside(self, number: int, wish: Wish) -> list[Mark]:
        """The words on bare paper with a line to their area, dotted at its end; empty when there is no place."""
        import numpy as np

        tips = np.array(wish.at) if wish.at else self._tips(number)
        if not len(tips):
            return []
        home = self.owner == wish.home if wish.home >= 0 else np.zeros_like(self.drawn)
        totals = _totals(self.drawn | ((self.owner != BARE) & ~home))
        mine = number if wish.home < 0 else wish.home
        for size in OUTSIDE:
            found = self._nearest(totals, tips, Text((0.0, 0.0), wish.words, size, bold=not wish.at), mine)
            if found:
                tip, end, text = found
                self._write(text)
                tie = line(tip, end)
                self._draw(tie, self.words)
                return [circle(tip, DOT, "none", "black"), tie, text]
        return []

    def _tips(self, number: int) -> np.ndarray:
        """Points of the area for a line to start at: well inside, at most a dozen."""
        import numpy as np
        from scipy.ndimage import distance_transform_edt

        rows, columns, free = self._own(number)
        if not free.any():
            return np.zeros((0, 2))
        room = distance_transform_edt(np.pad(free, 1))[1:-1, 1:-1]
        deep = np.argwhere(room >= 0.8 * room.max())
        deep = deep[:: max(len(deep) // 12, 1)]
        return np.stack([(columns.start + deep[:, 1] + 0.5) * CELL, (rows.start + deep[:, 0] + 0.5) * CELL], axis=1)

    def _nearest(self, totals: np.ndarray, tips: np.ndarray, text: Text, mine: int
                 ) -> tuple[Point, Point, Text] | None:  # fmt: skip
        """The place with the shortest line across the fewest other areas and no words: the line's ends and the text."""
        import numpy as np

        tall, wide = _cells_of(text)
        spots = np.argwhere(_sums(totals, tall, wide)[::STRIDE, ::STRIDE] == 0) * STRIDE
        if not len(spots):
            return None
        low = np.stack([spots[:, 1] * CELL, spots[:, 0] * CELL], axis=1)
        box = np.array([wide * CELL, tall * CELL])
        ends, starts, away = _ties(low, box, tips)
        order = np.argsort(away, kind="stable")[:NEAREST]
        best, least = None, math.inf
        for k in order:
            if away[k] >= min(least, FARTHEST):
                break
            cost = away[k] + self._crossing(starts[k], ends[k], mine)
            if cost < least:
                best, least = k, cost
        if best is None:
            return None
        middle = _point(low[best] + box / 2)
        return _point(starts[best]), _point(ends[best]), _centred(text, middle)

    def _crossing(self, start: Any, end: Any, mine: int) -> float:
        """What a line's way over other areas costs [mm]; no end of it across words or another line to words."""
        import numpy as np

        rows, columns = _cells(_samples(np.array([start, end])), self.drawn.shape)
        if self.words[rows, columns].any():
            return math.inf
        owners = self.owner[rows, columns]
        others = (owners >= 0) & (owners != mine)
        return float(ACROSS * others.sum() * CELL / 2)


def _whole(area: Polygon) -> Any:
    """The area without its openings."""
    from shapely import Polygon, unary_union

    return unary_union([Polygon(part.exterior) for part in getattr(area, "geoms", [area])])


def _ties(low: Any, box: Any, tips: Any) -> tuple[Any, Any, Any]:
    """For boxes at `low`: where a line meets the box, the nearest tip it starts from, its length [mm]."""
    import numpy as np

    middle = low + box / 2
    gaps = np.maximum(np.abs(tips[None, :, :] - middle[:, None, :]) - box / 2, 0.0)
    near = np.argmin(np.hypot(gaps[..., 0], gaps[..., 1]), axis=1)
    starts = tips[near]
    ends = np.clip(starts, low, low + box)
    sideways = (starts[:, 0] < low[:, 0]) | (starts[:, 0] > low[:, 0] + box[0])
    ends[sideways, 1] = middle[sideways, 1]
    return ends, starts, np.hypot(*(ends - starts).T)


def _cells_of(text: Text) -> tuple[int, int]:
    """Rows and columns that a text takes with CLEAR around it."""
    x0, y0, x1, y1 = _box(text)
    return math.ceil((y1 - y0) / CELL) + 1, math.ceil((x1 - x0) / CELL) + 1


def _centred(text: Text, middle: Point) -> Text:
    """The text moved until its box has its middle there [mm]."""
    drop = text.size * (0.74 - 0.21) / 2
    at = (middle[0] + drop, middle[1]) if text.turn else (middle[0], middle[1] - drop)
    return replace(text, at=at, anchor="middle")


def _box(text: Text) -> tuple[float, float, float, float]:
    corners = text.box(CLEAR)
    xs, ys = [c[0] for c in corners], [c[1] for c in corners]
    return min(xs), min(ys), max(xs), max(ys)


def _slices(box: tuple[float, float, float, float]) -> tuple[slice, slice]:
    x0, y0, x1, y1 = box
    return (slice(max(math.floor(y0 / CELL), 0), max(math.floor(y1 / CELL) + 1, 0)),
            slice(max(math.floor(x0 / CELL), 0), max(math.floor(x1 / CELL) + 1, 0)))  # fmt: skip


def _samples(points: Any) -> Any:
    """Points along a chain, half a cell apart (n, 2)."""
    import numpy as np

    steps = np.hypot(*np.diff(points, axis=0).T)
    far = np.concatenate([[0.0], np.cumsum(steps)])
    at = np.linspace(0.0, far[-1], max(math.ceil(far[-1] / (CELL / 2)), 1) + 1)
    return np.stack([np.interp(at, far, points[:, k]) for k in (0, 1)], axis=1)


def _cells(points: Any, shape: tuple[int, ...]) -> tuple[Any, Any]:
    import numpy as np

    columns = np.clip((points[:, 0] / CELL).astype(int), 0, shape[1] - 1)
    return np.clip((points[:, 1] / CELL).astype(int), 0, shape[0] - 1), columns


def _totals(taken: Any) -> Any:
    """Sums of the taken cells below and left of each corner of the raster."""
    import numpy as np

    return np.pad(taken.astype(np.int32).cumsum(axis=0).cumsum(axis=1), ((1, 0), (1, 0)))


def _sums(totals: Any, tall: int, wide: int) -> Any:
    """Taken cells in every box of `tall` x `wide` cells, by its lower left cell; empty when none goes in."""
    import numpy as np

    if totals.shape[0] <= tall or totals.shape[1] <= wide:
        return np.ones((0, 0), int)
    return totals[tall:, wide:] - totals[:-tall, wide:] - totals[tall:, :-wide] + totals[:-tall, :-wide]


def _best(totals: Any, worth: Any, box: tuple[int, int]) -> tuple[float, float] | None:
    """The middle of the free box of most worth, in cells; None when none is free."""
    import numpy as np

    tall, wide = box
    taken = _sums(totals, tall, wide)
    if not taken.size or not (taken == 0).any():
        return None
    middles = worth[tall // 2 : tall // 2 + taken.shape[0], wide // 2 : wide // 2 + taken.shape[1]]
    row, column = np.unravel_index(np.argmax(np.where(taken == 0, middles, -np.inf)), taken.shape)
    return float(row) + tall / 2, float(column) + wide / 2


def _point(pair: Any) -> Point:
    return float(pair[0]), float(pair[1])
