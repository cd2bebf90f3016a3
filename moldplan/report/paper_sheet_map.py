"""The first page of a sheet's pattern: how its tiles lie, what lies on the sheet, how to check the print.

In       a Pattern (paper_sheet.py), the `paper:` of the spec.
Out      Sheets of paper (paper_ink.py), printed at the same correction as the tiles.
Not here the tiles (paper_sheet.py), the map of a single piece (paper_map.py).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from moldplan.cut.loop import bounds
from moldplan.cut.paper import Cell, cell_name, groups
from moldplan.cut.piece import Point
from moldplan.cut.step import step_words
from moldplan.quantity import in_inches, plain
from moldplan.report.drawing import TEXT, Text, fitted, wrapped
from moldplan.report.paper_ink import EDGE, SPOILT, THIN, Pen, Sheet, Stroke, through
from moldplan.report.paper_map import (
    ROW,
    cell_box,
    grid,
    head,
    height_of,
    how,
    ink_of,
    legend,
    notes_page,
    paragraphs,
    pens_on,
    small,
    with_words,
)
from moldplan.report.paper_sheet import Laid, Pattern, map_card
from moldplan.report.paper_tile import Job, Marks, Move, clear
from moldplan.spec.paper import SQUARE, Paper

if TYPE_CHECKING:
    from shapely import Geometry

FACTS = 56.0  # width of the column of facts [mm]
COLUMNS = (("piece", 0.0), ("what", 16.0), ("hand", 86.0), ("up", 117.0), ("size", 142.0), ("tiles", 169.0))
BESIDE = 5.0  # left of and above the map, for the letters of its rows and the numbers of its columns [mm]
PIECE = Pen(0.25)


def sheet_map(job: Job, given: Pattern, paper: Paper) -> list[Sheet]:
    """The page with the map and the list of pieces, and what of the list found no room there on pages of its own."""
    page = notes_page(paper)
    (left, low), (wide, high) = page.margin, page.window
    top = low + high
    marks, y = _head(job, given, (left, top), wide)
    tall = min(0.4 * high, 0.55 * wide)
    marks += _map(given, (left, y - tall), wide, tall)
    y -= tall + 5
    marks += map_card((left, y - SQUARE), job, given, "MAP")
    facts, rows = _facts(job, given), how(given.tiling)
    x = left + SQUARE + 4
    marks += paragraphs(facts, (x, y - 3), FACTS)
    marks += paragraphs(rows, (x + FACTS + 4, y - 3), left + wide - x - FACTS - 4)
    y -= max(SQUARE, height_of(facts, FACTS), height_of(rows, left + wide - x - FACTS - 4)) + 6
    pens = [*pens_on(given.tiling), EDGE, *([SPOILT] if given.spoilt else [])]
    more, y = legend(pens, (left, y), wide)
    marks += more
    left_over = _list(marks, [_entry(each, given, wide) for each in given.laid], (left, y), low)
    sheets = [Sheet(page.width, page.height, tuple(marks), page.drawn)]
    while left_over:
        more, y = _head(job, given, (left, top), wide)
        more += map_card((left, low), job, given, "LIST")
        left_over = _list(more, left_over, (left, y - 2), low + SQUARE + 4)
        sheets.append(Sheet(page.width, page.height, tuple(more), page.drawn))
    return sheets


def _head(job: Job, given: Pattern, at: Point, wide: float) -> tuple[Marks, float]:
    (length, width), sheet = given.sheet.size, given.sheet
    name = f"{sheet.stock}, {plain(length, 1)} x {plain(width, 1)} mm, with its pieces as nested"
    said = " - ".join(filter(None, (job.title, f"rev {job.revision}", sheet.rack and f"from the rack: {sheet.rack}")))
    return head(f"Sheet {sheet.number}", name, said, at, wide)


def _map(given: Pattern, at: Point, wide: float, high: float) -> Marks:
    """The sheet, the pieces on it and the tiles over it, small: rows lettered, columns numbered beside it."""
    tiling = given.tiling
    low_x, low_y, high_x, high_y = bounds(tiling.outline.outer)
    (whole_x, whole_y), (x0, y0) = tiling.size, tiling.origin
    whole_x, whole_y = max(whole_x, high_x - x0), max(whole_y, high_y - y0)
    scale = min((wide - BESIDE) / whole_x, (high - BESIDE) / whole_y)
    left, low = at[0] + BESIDE + (wide - BESIDE - whole_x * scale) / 2, at[1] + (high - BESIDE - whole_y * scale) / 2

    def on(point: Point) -> Point:
        return (left + (point[0] - x0) * scale, low + (point[1] - y0) * scale)

    boxes = {(row, column): cell_box(tiling, (row, column), on)
             for row in range(tiling.rows) for column in range(tiling.columns)}
    marks = grid(tiling, boxes)
    marks.append(small(tiling.outline.outer, EDGE, on))
    marks += [small(loop, SPOILT, on) for loop in given.spoilt]
    loops = [loop for each in given.laid for loop in (each.outline.outer, *each.outline.holes)]
    marks += [small(loop, PIECE, on) for loop in loops]
    ink = ink_of([mark for mark in marks if isinstance(mark, Stroke)])
    words = _beside(boxes) if len(boxes) > 1 else []
    for each in given.laid:
        words += _number(each, on, ink)
    ink = with_words(ink, words)
    for point, name in given.points:
        x, y = on(point)
        middle = (left + whole_x * scale / 2, low + whole_y * scale / 2)  # towards it: beside the map stand its rows
        turns = sorted(((x + reach * math.cos(math.pi / 4 * k), y + reach * math.sin(math.pi / 4 * k) - 1.6)
                        for reach in (3.4, 4.4, 6.0, 8.0) for k in range(8)), key=lambda p: math.dist(p, middle))
        turns = [spot for spot in turns if left + 2 <= spot[0] <= left + whole_x * scale - 2] or turns
        words.append(clear([Text(spot, name, 4.4, "middle", bold=True) for spot in turns], ink))
    return [*marks, *words]


def _beside(boxes: Mapping[Cell, tuple[Point, Point]]) -> list[Text]:
    """Letters of the rows left of the map, numbers of the columns above it."""
    left, top = min(low[0] for low, _ in boxes.values()), max(high[1] for _, high in boxes.values())
    rows = [Text((left - 1.5, (low[1] + high[1]) / 2 - 1.3), cell_name(*cell).rstrip("0123456789"), TEXT, "end",
                 bold=True) for cell, (low, high) in boxes.items() if not cell[1]]
    return rows + [Text(((low[0] + high[0]) / 2, top + 1.5), str(cell[1] + 1), TEXT, "middle", bold=True)
                   for cell, (low, high) in boxes.items() if not cell[0]]


def _number(each: Laid, on: Move, ink: Geometry) -> list[Text]:
    """The piece's number where it stands on no line, upright or turned; none where it would."""
    import shapely

    (a, b), (c, d) = (on(corner) for corner in (bounds(each.outline.outer)[:2], bounds(each.outline.outer)[2:]))
    for size in (TEXT, 2.4):
        for up in (0.5, 0.3, 0.7, 0.15, 0.85):
            for across in (0.5, 0.3, 0.7, 0.15, 0.85):
                x, y, drop = a + (c - a) * across, b + (d - b) * up, 0.36 * size
                for text in (Text((x, y - drop), each.name, size, "middle"),
                             Text((x + drop, y), each.name, size, "middle", 90.0)):
                    shape = shapely.Polygon(text.box(0.2))
                    if shapely.box(a, b, c, d).covers(shape) and ink.distance(shape) > 0:
                        return [text]
    return []


def _facts(job: Job, given: Pattern) -> list[tuple[str, bool]]:
    tiling, ((a, _), (b, _)) = given.tiling, given.points
    count, whole = len(tiling.tiles), tiling.rows * tiling.columns
    facts = [(f"A to B: {plain(math.dist(a, b), 1)} mm", True)]
    facts += [(in_inches(math.dist(a, b)), False)] if job.inches else []
    facts.append(("Measure it when the tiles are joined." if whole > 1 else "Measure it on the print.", False))
    said = f"{count} tile{'s' if count > 1 else ''} of {tiling.rows} x {tiling.columns}"
    facts.append((said if count == whole else f"{said}; crossed ones are left out: nothing is on them.", False))
    if len(groups(tiling)) > 1:
        facts.append((f"They hang together in {len(groups(tiling))} groups, bare sheet between. Lay each by the "
                      "measure on its cards.", False))
    facts.append(("\"Corner\" on a card: where the tile's lower left bracket lies, along the sheet and up it from its "
                  "corner 0,0." if not tiling.turn else
                  "\"Corner\" on a card: where the tile's lower left bracket lies, along the sheet and up it from its "
                  "corner 0,0, which is at the lower right here.", False))
    holding = [tile.name for tile in tiling.tiles if not tile.lines]
    if holding:
        facts.append((f"{', '.join(holding)}: nothing to cut, holds its neighbours apart.", False))
    if given.spoilt:
        facts.append((f"{len(given.spoilt)} spoilt place(s) of the sheet are drawn: see that they are yours.", False))
    return facts


Entry = tuple[tuple[str, ...], tuple[str, ...]]  # the cells of a piece's row; lines below it


def _entry(each: Laid, given: Pattern, wide: float) -> Entry:
    low_x, low_y, high_x, high_y = bounds(each.outline.outer)
    cells = sorted(tile.cell for tile in given.tiling.tiles if low_x < tile.high[0] and high_x > tile.low[0]
                   and low_y < tile.high[1] and high_y > tile.low[1])
    rows, columns = zip(*cells, strict=True)
    ends = (cell_name(min(rows), min(columns)), cell_name(max(rows), max(columns)))
    tiles = ends[0] if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}"
    size = f"{plain(high_x - low_x, 1)} x {plain(high_y - low_y, 1)}"
    said = "; ".join(filter(None, (each.stack, *step_words(each.piece.steps), *each.piece.notes)))
    notes = wrapped(said, wide - COLUMNS[1][1]) if said else []
    return (each.name, each.body, each.hand, each.up, size, tiles), tuple(notes)


def _list(marks: Marks, entries: Sequence[Entry], at: Point, low: float) -> list[Entry]:
    """Entries down to a level, under their heading; those that found no room."""
    (x, y), wide = at, 27.0 + COLUMNS[-1][1]
    if not entries or y - low < 4 * ROW:
        return list(entries)
    marks += [Text((x + shift, y), word, bold=True) for word, shift in COLUMNS]
    marks.append(through([(x, y - 1.4), (x + wide, y - 1.4)], THIN))
    ends = [*(shift for _, shift in COLUMNS[1:]), wide + 2.0]
    for number, (cells, notes) in enumerate(entries):
        if y - ROW * (1 + len(notes)) < low:
            return list(entries[number:])
        y -= ROW
        for (_, shift), end, cell in zip(COLUMNS, ends, cells, strict=True):
            marks += [Text((x + shift, y), fitted(cell, end - shift - 2))] if cell else []
        for line in notes:
            y -= ROW
            marks.append(Text((x + COLUMNS[1][1], y), line))
    return []
