"""Shapes on a sheet by columns of bits: true outlines are laid into each other's hollows, quickly.

In       shapes as polygons; a free shape to lay them in [mm].
Out      the first place along the sheet where a shape finds room.
Not here which shape comes next (fill.py), proof with true arcs (room.py).

The sheet is cut into narrow columns, each a whole number whose bits are its cells, 1 where free. A shape is for each
of its columns the runs of cells it may touch, never fewer. Whether it fits at all heights of a place at once is then a
few shifts and ANDs of whole numbers.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

Interval = tuple[float, float]
FINE = 1e-7  # share of a cell by which rounding may miss


@dataclass(frozen=True)
class Cell:
    """A cell's width along the sheet and its height across [mm]."""

    wide: float
    high: float


@dataclass(frozen=True)
class Mask:
    """A shape on cells: how many columns and rows, and the runs (column, first row, rows), longest first.

    `low`: the corner of its box in the shape's own axes [mm]. `cells`: how many it covers.
    """

    columns: int
    rows: int
    runs: tuple[tuple[int, int, int], ...]
    low: tuple[float, float]
    cells: int


def covered(shape: BaseGeometry, low: tuple[float, float], wide: float) -> list[list[Interval]]:
    """For each column from `low` on, the heights above it that the shape covers anywhere in the column."""
    import shapely

    parts = [part for part in shapely.get_parts(shape).tolist() if part.geom_type == "Polygon" and not part.is_empty]
    rings = [ring for part in parts for ring in (part.exterior, *part.interiors)]
    if not rings:
        return []
    count = max(1, math.ceil((shape.bounds[2] - low[0]) / wide - FINE))
    found: list[list[Interval]] = [[] for _ in range(count)]
    borders: list[list[float]] = [[] for _ in range(count + 1)]
    for ring in rings:
        points = [((x - low[0]) / wide, y - low[1]) for x, y in ring.coords]
        for a, b in zip(points, points[1:], strict=False):
            _edge(a if a[0] <= b[0] else b, b if a[0] <= b[0] else a, found, borders)
    for k, met in enumerate(borders):
        met.sort()
        spans = list(zip(met[::2], met[1::2], strict=False))
        if k > 0:
            found[k - 1] += spans
        if k < count:
            found[k] += spans
    return [_merged(each) for each in found]


def _edge(a: Interval, b: Interval, found: list[list[Interval]], borders: list[list[float]]) -> None:
    """The heights an edge passes in each column, and where it crosses the columns' borders; x counts columns."""
    (ax, ay), (bx, by) = a, b
    slope = (by - ay) / (bx - ax) if bx > ax else 0.0
    last = len(found) - 1
    for k in range(min(last, max(0, math.floor(ax))), min(last, max(0, math.ceil(bx) - 1, math.floor(ax))) + 1):
        y0 = ay + slope * (max(ax, k) - ax)
        y1 = ay + slope * (min(bx, k + 1) - ax) if bx > ax else by
        found[k].append((min(y0, y1), max(y0, y1)))
    for k in range(max(0, math.ceil(ax)), min(len(borders) - 1, math.ceil(bx) - 1) + 1):
        borders[k].append(ay + slope * (k - ax))


def _merged(intervals: list[Interval]) -> list[Interval]:
    intervals.sort()
    out: list[Interval] = []
    for low, high in intervals:
        if out and low <= out[-1][1]:
            out[-1] = (out[-1][0], max(out[-1][1], high))
        else:
            out.append((low, high))
    return out


def mask(shape: BaseGeometry, cell: Cell) -> Mask:
    """A polygon on cells."""
    low = (shape.bounds[0], shape.bounds[1])
    runs: list[tuple[int, int, int]] = []
    for column, spans in enumerate(covered(shape, low, cell.wide)):
        end = -1
        for y0, y1 in spans:
            first = max(math.floor(y0 / cell.high + FINE), end)
            last = max(math.ceil(y1 / cell.high - FINE), first + 1)
            if first == end and runs and runs[-1][0] == column:
                runs[-1] = (column, runs[-1][1], last - runs[-1][1])
            else:
                runs.append((column, first, last - first))
            end = last
    columns, rows = runs[-1][0] + 1, max(a + n for _, a, n in runs)
    return Mask(columns, rows, tuple(sorted(runs, key=lambda r: -r[2])), low, sum(n for _, _, n in runs))


class Cells:
    """The free cells of a sheet."""

    def __init__(self, free: BaseGeometry, cell: Cell):
        """Free is every cell that lies wholly inside the shape `free`."""
        import shapely

        x0, y0, x1, y1 = free.bounds
        self.low, self.cell = (x0, y0), cell
        self.rows = math.floor((y1 - y0) / cell.high + FINE)
        count = math.floor((x1 - x0) / cell.wide + FINE)
        self.columns = [(1 << self.rows) - 1] * count
        closed = shapely.box(x0, y0, x1, y1).difference(free)
        for k, spans in enumerate(covered(closed, self.low, cell.wide)[:count]):
            for a, b in spans:
                first = max(0, math.floor(a / cell.high + FINE))
                last = min(self.rows, math.ceil(b / cell.high - FINE))
                if last > first:
                    self.columns[k] &= ~(((1 << (last - first)) - 1) << first)
        self._runs: list[dict[int, int]] = [{} for _ in self.columns]
        self._twos = [[column] for column in self.columns]

    @property
    def left(self) -> int:
        """How many cells are free."""
        return sum(column.bit_count() for column in self.columns)

    def find(self, shape: Mask, start: int = 0) -> tuple[int, int] | None:
        """The first column from `start` on, and the lowest row there, at which the shape lies on free cells."""
        if shape.rows > self.rows:
            return None
        every = (1 << (self.rows - shape.rows + 1)) - 1
        for column in range(start, len(self.columns) - shape.columns + 1):
            open_ = every
            for k, first, count in shape.runs:
                open_ &= self._room(column + k, count) >> first
                if not open_:
                    break
            else:
                return (column, (open_ & -open_).bit_length() - 1)
        return None

    def _room(self, column: int, count: int) -> int:
        """The rows from which on `count` cells are free."""
        known = self._runs[column]
        found = known.get(count)
        if found is None:
            # of runs of 1, 2, 4 ... cells: two of the longest that is not too long, shifted, make any length
            twos, step = self._twos[column], count.bit_length() - 1
            while len(twos) <= step:
                twos.append(twos[-1] & twos[-1] >> (1 << (len(twos) - 1)))
            found = known[count] = twos[step] & twos[step] >> (count - (1 << step))
        return found

    def take(self, shape: Mask, column: int, row: int) -> None:
        """The cells of a shape laid there are free no more."""
        for k, first, count in shape.runs:
            self.columns[column + k] &= ~(((1 << count) - 1) << (row + first))
            self._forget(column + k)

    def block(self, shape: BaseGeometry) -> None:
        """Nor are those that a shape touches where it lies."""
        x0, y0, _, _ = shape.bounds
        skip = math.floor((x0 - self.low[0]) / self.cell.wide)
        low = (self.low[0] + skip * self.cell.wide, self.low[1])
        for k, spans in enumerate(covered(shape, low, self.cell.wide), skip):
            for a, b in spans if 0 <= k < len(self.columns) else ():
                first = max(0, math.floor(a / self.cell.high + FINE))
                last = min(self.rows, math.ceil(b / self.cell.high - FINE))
                if last > first:
                    self.columns[k] &= ~(((1 << (last - first)) - 1) << first)
            if 0 <= k < len(self.columns):
                self._forget(k)

    def _forget(self, column: int) -> None:
        """What was known of a column that has changed."""
        self._runs[column] = {}
        self._twos[column] = [self.columns[column]]

    def at(self, shape: Mask, column: int, row: int) -> tuple[float, float]:
        """The move that lays the shape there [mm]."""
        return (self.low[0] + column * self.cell.wide - shape.low[0],
                self.low[1] + row * self.cell.high - shape.low[1])  # fmt: skip
