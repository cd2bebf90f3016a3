"""A piece or a whole sheet at 1:1 on paper: which tiles it takes, where they meet, how much larger they are drawn.

In       an outline [mm], or a sheet's edge and the outlines on it, and the `paper:` of the spec.
Out      Page (a sheet of paper as its printer will leave it), Tiling (the piece turned, and its tiles), seams, crosses.
Not here what is written on a tile (report/paper_tile.py), the file (report/paper.py).

All lengths are those on the printed page when its check square measures 50 mm: a page that is drawn larger to make
up for the printer holds less. Rows are lettered from the top, columns numbered from the left: A1 is the upper left.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

from moldplan.cut.fits import least_rectangle
from moldplan.cut.loop import bounds, moved_outline, segments
from moldplan.cut.piece import Loop, Outline, Point
from moldplan.cut.segment import Segment, crossings
from moldplan.spec.paper import Paper

HALF_LINE = 0.5  # kept between a piece and the border of its tiles, so that half a line is not lost [mm]
LEAST_WINDOW = 66.0  # a roll is cut no shorter: the tile's card is 50 mm high [mm]
BESIDE = 65.0  # on a roll, room for the card to the left of a narrow piece [mm]
LONGEST = 5000.0  # a page of a roll; readers of PDF stop at 200 in [mm]
QUIET = 8.0  # seam ends and crosses keep so far from the corners [mm]

# width and height [mm]: A sizes of ISO 216, letter of ANSI/ASME Y14.1 (8.5 x 11 in), both as remembered
SIZES: dict[str, tuple[float, float]] = {
    "A4": (210.0, 297.0), "A3": (297.0, 420.0), "letter": (215.9, 279.4), "A0 roll": (841.0, LONGEST),
}  # fmt: skip
Side = Literal["left", "right", "lower", "upper"]
Cell = tuple[int, int]  # row from the top, column from the left, both from 0


@dataclass(frozen=True, kw_only=True)
class Page:
    """A sheet of paper, in mm as printed. `drawn`: how much larger the file is, across and up the page."""

    size: str
    width: float
    height: float
    margin: tuple[float, float]
    overlap: float
    drawn: tuple[float, float]

    @property
    def roll(self) -> bool:
        return self.size.endswith("roll")

    @property
    def window(self) -> tuple[float, float]:
        """What may be printed on: width and height inside the margin."""
        return (self.width - 2 * self.margin[0], self.height - 2 * self.margin[1])

    def as_long_as(self, window: float) -> Page:
        """The roll cut to a window of that height."""
        return Page(size=self.size, width=self.width, height=window + 2 * self.margin[1], margin=self.margin,
                    overlap=self.overlap, drawn=self.drawn)


def page_of(paper: Paper) -> Page:
    """The page of a spec's `paper`; a roll at its greatest length."""
    (wide, high), (across, up) = SIZES[paper.size], paper.correction
    return Page(size=paper.size, width=wide / across, height=high / up, drawn=(across, up), overlap=paper.overlap,
                margin=(paper.margin / across, paper.margin / up))


@dataclass(frozen=True, kw_only=True)
class Tile:
    """One sheet of the pattern: its window in the axes of the turned piece. `lines`: something of the piece is on it;
    without, it only holds its neighbours apart."""

    row: int
    column: int
    low: Point
    high: Point
    lines: bool = True

    @property
    def cell(self) -> Cell:
        return (self.row, self.column)

    @property
    def name(self) -> str:
        return cell_name(self.row, self.column)


@dataclass(frozen=True, kw_only=True)
class Seam:
    """Where a tile meets a printed neighbour: a line down the middle of their overlap. `lies_on`: the tile is cut
    along it and laid on the neighbour; else the neighbour comes to lie on it."""

    start: Point
    end: Point
    side: Side
    neighbour: str

    @property
    def lies_on(self) -> bool:
        return self.side in ("left", "lower")


@dataclass(frozen=True, kw_only=True)
class Tiling:
    """A piece turned by `turn` [deg, counter-clockwise about its 0,0], and the tiles that are printed, row by row.

    Of a whole sheet `outline` is its edge and `laid` what is cut from it, turned alike.
    """

    outline: Outline
    turn: float
    page: Page
    rows: int
    columns: int
    tiles: tuple[Tile, ...]
    laid: tuple[Outline, ...] = ()

    @property
    def cut(self) -> tuple[Outline, ...]:
        """What is cut: the piece, or what lies on the sheet."""
        return self.laid or (self.outline,)

    @cached_property
    def printed(self) -> frozenset[Cell]:
        return frozenset(tile.cell for tile in self.tiles)

    @cached_property
    def origin(self) -> Point:
        """Lower left corner of the whole grid: a piece lies in its middle, on a roll close to the left; a sheet's own
        lower left corner in its."""
        low_x, low_y, high_x, high_y = bounds(loops_of(self.outline))
        wide, high = self.size
        if self.laid:
            return (low_x - HALF_LINE, low_y - HALF_LINE)
        left = (low_x + high_x - wide) / 2
        if self.page.roll:
            left = max(left, low_x - BESIDE)
        return (left, (low_y + high_y - high) / 2)

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of all tiles laid together."""
        (wide, high), over = self.page.window, self.page.overlap
        return (self.columns * (wide - over) + over, self.rows * (high - over) + over)

    def window(self, row: int, column: int) -> tuple[Point, Point]:
        """Lower left and upper right corner of a tile's window."""
        (wide, high), over = self.page.window, self.page.overlap
        x = self.origin[0] + column * (wide - over)
        y = self.origin[1] + (self.rows - 1 - row) * (high - over)
        return ((x, y), (x + wide, y + high))

    def seams(self, tile: Tile) -> tuple[Seam, ...]:
        """The tile's seams with its printed neighbours."""
        (left, low), (right, high) = tile.low, tile.high
        half = self.page.overlap / 2
        lines: tuple[tuple[Side, Cell, Point, Point], ...] = (
            ("left", (tile.row, tile.column - 1), (left + half, low), (left + half, high)),
            ("right", (tile.row, tile.column + 1), (right - half, low), (right - half, high)),
            ("lower", (tile.row + 1, tile.column), (left, low + half), (right, low + half)),
            ("upper", (tile.row - 1, tile.column), (left, high - half), (right, high - half)),
        )
        return tuple(Seam(start=start, end=end, side=side, neighbour=cell_name(*cell))
                     for side, cell, start, end in lines if cell in self.printed)

    def crosses(self, tile: Tile) -> tuple[Point, ...]:
        """Registration crosses of a tile: on each seam one near either end, the same on both its tiles."""
        found = []
        for seam in self.seams(tile):
            (ax, ay), (bx, by) = seam.start, seam.end
            inset = (self.page.overlap + QUIET) / math.dist(seam.start, seam.end)
            found += [(ax + (bx - ax) * share, ay + (by - ay) * share) for share in (inset, 1 - inset)]
        return tuple(found)


def cell_name(row: int, column: int) -> str:
    """A1 is the upper left; after Z come AA, AB."""
    letters, left = "", row + 1
    while left:
        left, digit = divmod(left - 1, 26)
        letters = chr(65 + digit) + letters
    return f"{letters}{column + 1}"


def loops_of(outline: Outline) -> tuple[Loop, ...]:
    """Everything that is drawn of an outline."""
    deep = (loop for loop, _ in (*outline.bores, *outline.sinks, *outline.under))
    return (outline.outer, *outline.holes, *outline.far, *outline.true, *deep)


def tiling(outline: Outline, page: Page) -> Tiling:
    """The piece on the fewest sheets: upright or a quarter turned, or slanting where that saves sheets."""
    _, _, slant = least_rectangle(outline.outer)
    turns = list(dict.fromkeys([0.0, 90.0, slant % 360, (slant + 90) % 360]))
    tried = [_tiled(moved_outline(outline, turn=turn), turn, page) for turn in turns]
    return min(tried, key=_cost)  # the first of equals: upright before slanting


def sheet_tiling(edge: Loop, laid: Sequence[Outline], page: Page) -> Tiling:
    """A whole sheet on the fewest tiles, upright or a quarter turned; tiles that only its edge runs over are none."""
    tried = [_tiled(moved_outline(Outline(edge), turn=turn), turn, page,
                    tuple(moved_outline(outline, turn=turn) for outline in laid)) for turn in (0.0, 90.0)]
    return min(tried, key=_cost)


def groups(tiling: Tiling) -> list[set[Cell]]:
    """The printed tiles that hang together edge to edge, the largest group first: pieces far apart on a sheet are not
    joined by tiles of bare sheet."""
    left, found = set(tiling.printed), []
    while left:
        found.append(_spread(min(left), left))
        left -= found[-1]
    return sorted(found, key=lambda group: (-len(group), min(group)))


def _cost(tiling: Tiling) -> float:
    """Sheets, or for a roll the length of it [mm]."""
    return len(tiling.tiles) if not tiling.page.roll else len(tiling.tiles) * tiling.page.height


def _tiled(outline: Outline, turn: float, page: Page, laid: tuple[Outline, ...] = ()) -> Tiling:
    low_x, low_y, high_x, high_y = bounds(loops_of(outline))
    if laid and page.roll:  # cut off behind the last piece
        high_y = max(bounds(loops_of(each))[3] for each in laid)
    wide, high = high_x - low_x + 2 * HALF_LINE, high_y - low_y + 2 * HALF_LINE
    if page.roll and high < page.window[1]:
        page = page.as_long_as(max(high, LEAST_WINDOW))
    columns, rows = _count(wide, page.window[0], page.overlap), _count(high, page.window[1], page.overlap)
    bare = Tiling(outline=outline, turn=turn, page=page, rows=rows, columns=columns, tiles=(), laid=laid)
    windows = {(row, column): bare.window(row, column) for row in range(rows) for column in range(columns)}
    each = [_marked(one, windows) for one in bare.cut]
    marked = set().union(*each)
    tiles = tuple(Tile(row=cell[0], column=cell[1], low=windows[cell][0], high=windows[cell][1], lines=cell in marked)
                  for cell in sorted(set().union(*map(joined, each))))
    return replace(bare, tiles=tiles)


def _marked(outline: Outline, windows: Mapping[Cell, tuple[Point, Point]]) -> set[Cell]:
    """The cells that some line of an outline reaches."""
    lines = [(s, s.bounds) for loop in loops_of(outline) for s in segments(loop)]
    return {cell for cell, window in windows.items() if any(reaches(s, *window, box) for s, box in lines)}


def _count(span: float, window: float, overlap: float) -> int:
    return max(1, math.ceil((span - overlap) / (window - overlap) - 1e-9))


def reaches(s: Segment, low: Point, high: Point, box: Sequence[float] | None = None) -> bool:
    """Whether a line or arc has a point in an upright box, its border included."""
    left, bottom, right, top = box or s.bounds
    if left > high[0] or right < low[0] or bottom > high[1] or top < low[1]:
        return False
    if any(low[0] <= x <= high[0] and low[1] <= y <= high[1] for x, y in (s.start, s.end)):
        return True
    corners = (low, (high[0], low[1]), high, (low[0], high[1]))
    sides = (Segment(a, corners[(k + 1) % 4]) for k, a in enumerate(corners))
    return any(crossings(s, side) for side in sides)


def joined(cells: Iterable[Cell]) -> set[Cell]:
    """The cells with the fewest more that join them edge to edge: a hole far inside a piece is placed by its
    neighbours, and stands by itself without them."""
    left = set(cells)
    whole = _spread(min(left), left)
    left -= whole
    while left:
        ends = min(((a, b) for a in sorted(whole) for b in sorted(left)), key=lambda p: _steps(*p))
        way = set(_way(*ends))
        whole |= way | _spread(ends[1], left)
        left -= whole
    return whole


def _spread(start: Cell, among: set[Cell]) -> set[Cell]:
    """All cells that can be walked to from one, edge to edge."""
    found, edge = {start}, [start]
    while edge:
        row, column = edge.pop()
        for near in ((row + 1, column), (row - 1, column), (row, column + 1), (row, column - 1)):
            if near in among and near not in found:
                found.add(near)
                edge.append(near)
    return found


def _steps(a: Cell, b: Cell) -> int:
    return abs(a[0] - b[0]) + abs(a[1] - b[1])


def _way(a: Cell, b: Cell) -> Iterator[Cell]:
    """Cells from one to another, first along the column, then along the row."""
    for row in range(min(a[0], b[0]), max(a[0], b[0]) + 1):
        yield (row, a[1])
    for column in range(min(a[1], b[1]), max(a[1], b[1]) + 1):
        yield (b[0], column)
