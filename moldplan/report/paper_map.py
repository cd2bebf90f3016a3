"""The first page of a pattern, which says what it is, how its tiles lie and how to check the print; and the pages with
its offset table.

In       a piece, its tiling, its offset table.
Out      Sheets (paper_ink.py), printed at the same correction as the tiles.
Not here the tiles (paper_tile.py), the table's numbers (cut/batten.py).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby
from typing import TYPE_CHECKING

from moldplan.cut.batten import CHORD, Offset, Offsets
from moldplan.cut.loop import bounds, segments
from moldplan.cut.names import in_stack
from moldplan.cut.paper import Cell, Page, Tiling, cell_name, page_of
from moldplan.cut.piece import Loop, Piece, Point
from moldplan.cut.segment import Segment
from moldplan.cut.step import step_words
from moldplan.quantity import in_inches, plain
from moldplan.report.drawing import TEXT, Text, fitted, text_width, wrapped
from moldplan.report.paper_ink import (
    BELOW,
    BORE,
    CUT,
    EDGE,
    FAR,
    SEAM,
    SPOILT,
    SUNK,
    THIN,
    TRUE,
    Pen,
    Sheet,
    Stroke,
    box,
    through,
)
from moldplan.report.paper_tile import Job, Marks, Move, card_marks, check_points, clear, named_rows, pens_of
from moldplan.spec.paper import SQUARE, Paper

if TYPE_CHECKING:
    from shapely import Geometry

ROW = 4.9  # from one line of words to the next [mm]
BASELINE = [
    ("Strike a baseline and square its end. X runs along it from that end and is never chained, Y square to it, as on "
     "the map; both to 0.5 mm.", False),
    (f"Between points of an arc or curve a straight edge leaves the line by {CHORD:g} mm at most, a batten by less; "
     "rounding moves a point 0.36 mm at most.", False),
]
COLUMN = 64.0  # width of one block of the offset table [mm]
MAP_HIGH = 92.0  # height of the map [mm]
PENCIL = Pen(0.35)


def map_sheets(job: Job, piece: Piece, tiling: Tiling, table: Offsets, paper: Paper) -> list[Sheet]:
    """The page with the map, the offset table on what is left of it, and on pages of its own."""
    page = notes_page(paper)
    (left, low), (wide, high) = page.margin, page.window
    right, top = left + wide, low + high
    marks, y = _head(job, piece, (left, top), wide)
    facts_wide = 62.0
    marks += _map(tiling, table, (left, y - MAP_HIGH), wide - facts_wide - 4, MAP_HIGH)
    facts, told = _facts(job, piece, tiling, table), _how(tiling)
    marks += paragraphs(facts, (right - facts_wide, y - 3), facts_wide)
    y -= max(MAP_HIGH, height_of(facts, facts_wide)) + 4
    marks += card_marks((left, y - SQUARE), job, piece, tiling, None)
    beside = wide - SQUARE - 4
    marks += paragraphs(told, (left + SQUARE + 4, y - 3), beside)
    y -= max(SQUARE, height_of(told, beside)) + 6
    more, y = legend(pens_on(tiling), (left, y), wide)
    marks += more
    blocks = list(_blocks(table, piece))
    columns = int(wide // COLUMN)
    used = _table(marks, blocks, (left, y), int((y - low) // ROW), columns)
    sheets = [Sheet(page.width, page.height, tuple(marks), page.drawn)]
    while used < len(blocks):
        more, _ = _head(job, piece, (left, top), wide)
        rows = int((high - SQUARE - 24) // ROW)
        card: Point = (left, low)
        more += card_marks(card, job, piece, tiling, None, name="TABLE")
        more += paragraphs(BASELINE, (left + SQUARE + 4, low + SQUARE - 3), wide - SQUARE - 4)
        used += _table(more, blocks[used:], (left, top - 20), rows, columns)
        sheets.append(Sheet(page.width, page.height, tuple(more), page.drawn))
    return sheets


def notes_page(paper: Paper) -> Page:
    """What map and tables are printed on: the tiles' own paper; A4 beside a roll."""
    return page_of(paper if not paper.size.endswith("roll") else paper.model_copy(update={"size": "A4"}))


def _head(job: Job, piece: Piece, at: Point, wide: float) -> tuple[Marks, float]:
    """What the piece is; the marks, and where they end."""
    number = f"{piece.id} x {piece.quantity}" if piece.quantity > 1 else piece.id
    stock = f"{piece.stock}, {plain(piece.thickness, 1)} mm"
    said = " - ".join(filter(None, (job.title, f"rev {job.revision}", stock, piece.hand)))
    return head(number, named_rows(piece, wide, 1)[0], said, at, wide)


def head(number: str, name: str, said: str, at: Point, wide: float) -> tuple[Marks, float]:
    """What a page is about: large, and beside it bold over plain; the marks, and where they end."""
    x, y = at
    marks: Marks = [Text((x, y - 7), number, 9.0, bold=True)]
    start = x + text_width(number, True) * 9.0 + 4
    marks.append(Text((start, y - 3.2), fitted(name, x + wide - start, 4.4, True), 4.4, bold=True))
    marks.append(Text((start, y - 9), fitted(said, x + wide - start)))
    marks.append(through([(x, y - 12), (x + wide, y - 12)], PENCIL))
    return marks, y - 16


def _map(tiling: Tiling, table: Offsets, at: Point, wide: float, high: float) -> Marks:
    """The piece with its tiles over it, small, and the table's baseline."""
    (whole_x, whole_y), (x0, y0) = tiling.size, tiling.origin
    scale = min((wide - 20) / whole_x, (high - 20) / whole_y)
    left, low = at[0] + (wide - whole_x * scale) / 2, at[1] + (high - whole_y * scale) / 2

    def on(point: Point) -> Point:
        return (left + (point[0] - x0) * scale, low + (point[1] - y0) * scale)

    cells = [(row, column) for row in range(tiling.rows) for column in range(tiling.columns)]
    boxes = {cell: cell_box(tiling, cell, on) for cell in cells}
    marks = grid(tiling, boxes)
    marks += [small(loop, pen, on) for pen, loops in pens_of(tiling.outline) for loop in loops]
    marks += _axes(tiling, table, on)
    ink = ink_of([mark for mark in marks if isinstance(mark, Stroke)])
    words: list[Text] = []
    for cell in sorted(tiling.printed) if len(cells) > 1 else ():
        words.append(name_in(cell_name(*cell), *boxes[cell], ink))
    ink = with_words(ink, words)
    for (x, y), name in ((on(spot), name) for spot, name in check_points(tiling.outline)):
        turns = [(x + reach * math.cos(math.pi / 4 * k), y + reach * math.sin(math.pi / 4 * k) - 1.6)
                 for reach in (4.4, 6.0, 8.0) for k in range(8)]
        words.append(clear([Text(spot, name, 4.4, "middle", bold=True) for spot in turns], ink))
    return [*marks, *words]


def grid(tiling: Tiling, boxes: Mapping[Cell, tuple[Point, Point]]) -> Marks:
    """The tiles on the map; those that are not printed crossed out."""
    marks: Marks = []
    for cell, (a, b) in boxes.items():
        marks.append(box(a, b, THIN))
        if cell not in tiling.printed:
            marks += [through([a, b], THIN), through([(a[0], b[1]), (b[0], a[1])], THIN)]
    return marks


def small(loop: Loop, pen: Pen, on: Move) -> Stroke:
    """A loop on the map, its line a little thinner, its dashes shorter."""
    walk = tuple(Segment(on(s.start), on(s.end), s.bulge) for s in segments(loop))
    return Stroke(walk, Pen(pen.width * 0.7, tuple(dash / 2 for dash in pen.dashes)), closed=True)


def with_words(ink: Geometry, words: Sequence[Text]) -> Geometry:
    import shapely

    return shapely.union_all([ink, *(shapely.Polygon(text.box(0.3)) for text in words)])


def ink_of(strokes: Sequence[Stroke]) -> Geometry:
    """Strokes as one geometry, to keep words off them."""
    import shapely

    lines = [shapely.LineString([s.at(k / 8) for s in stroke.walk for k in range(9)]) for stroke in strokes]
    return shapely.union_all(lines)


def name_in(name: str, low: Point, high: Point, ink: Geometry) -> Text:
    """A tile's name in its cell, where no line runs if there is such a place."""
    wide, tall = high[0] - low[0], high[1] - low[1]
    most = min(0.6 * tall, 0.6 * wide / text_width(name, True))
    tried = [Text((low[0] + wide * across, low[1] + tall * up - 0.36 * size), name, size, "middle", bold=True)
             for size in (min(4.4, most), min(3.6, most))
             for up in (0.5, 0.7, 0.3, 0.82, 0.18) for across in (0.5, 0.3, 0.7, 0.2, 0.8)]
    return clear(tried, ink)


def cell_box(tiling: Tiling, cell: tuple[int, int], on: Move) -> tuple[Point, Point]:
    """One tile on the map, as far as its seams."""
    half = tiling.page.overlap / 2
    (left, low), (right, high) = tiling.window(*cell)
    left += half if cell[1] else 0
    right -= half if cell[1] < tiling.columns - 1 else 0
    low += half if cell[0] < tiling.rows - 1 else 0
    high -= half if cell[0] else 0
    return on((left, low)), on((right, high))


def _axes(tiling: Tiling, table: Offsets, on: Move) -> Marks:
    """X and Y of the offset table where they begin."""
    low_x, low_y, high_x, _ = bounds(tiling.outline.outer)
    upright = abs((table.turn - tiling.turn) % 360) > 1  # its X runs up the page, its Y to the left
    x, y = on((high_x if upright else low_x, low_y))
    away = 7.5
    corner = (x + away, y - away) if upright else (x - away, y - away)
    ends = [((0.0, 14.0), "X"), ((-14.0, 0.0), "Y")] if upright else [((14.0, 0.0), "X"), ((0.0, 14.0), "Y")]
    marks: Marks = []
    for (dx, dy), name in ends:
        tip = (corner[0] + dx, corner[1] + dy)
        ux, uy = dx / 14, dy / 14
        barb = [(tip[0] - 2.6 * ux - 0.9 * uy, tip[1] - 2.6 * uy - 0.9 * ux), tip,
                (tip[0] - 2.6 * ux + 0.9 * uy, tip[1] - 2.6 * uy + 0.9 * ux)]
        marks += [through([corner, tip], PENCIL), through(barb, PENCIL, closed=True, fill="black")]
        marks.append(Text((tip[0] + 2.2 * ux, tip[1] + 2.2 * uy - 1.3), name, TEXT, "middle", bold=True))
    return marks


def _facts(job: Job, piece: Piece, tiling: Tiling, table: Offsets) -> list[tuple[str, bool]]:
    (a, _), (b, _) = check_points(tiling.outline)
    count, whole = len(tiling.tiles), tiling.rows * tiling.columns
    up = "face up" if piece.up == "face" else "underside up"
    trimmed = " trimmed" if tiling.outline.true else ""
    sizes = [(f"{plain(table.length, 1)} x {plain(table.width, 1)} mm{trimmed}", True)]
    if job.inches:
        sizes.append((f"{in_inches(table.length)} x {in_inches(table.width)}", False))
    sizes.append((f"A to B: {plain(math.dist(a, b), 1)} mm", True))
    if job.inches:
        sizes.append((in_inches(math.dist(a, b)), False))
    facts = [
        *sizes,
        ("Measure both when the tiles are joined." if whole > 1 else "Measure both on the print.", False),
        (f"Cut {piece.quantity} so, {up}." if piece.quantity > 1 else f"Cut one so, {up}.", False),
    ]
    if whole > 1:
        said = f"{count} tiles, {tiling.rows} x {tiling.columns}"
        facts.append((said if count == whole else f"{said}; crossed ones are left out: nothing is on them.", False))
    holding = [tile.name for tile in tiling.tiles if not tile.lines]
    if holding:
        facts.append((f"{', '.join(holding)}: nothing to cut, holds its neighbours apart.", False))
    names = list(dict.fromkeys(piece.bodies or (piece.body,)))
    if len(names) > 1:
        facts.append((f"They are {', '.join(names)}.", False))
    order = in_stack(piece.orders)
    if order:
        facts.append((f"In its stack {order}, the printed face {'up' if piece.up == 'face' else 'down'}.", True))
    facts += [(f"{words[:1].upper()}{words[1:]}.", False) for words in step_words(piece.steps)]
    return [*facts, *((f"{note[:1].upper()}{note[1:]}.", False) for note in piece.notes)]


def _how(tiling: Tiling) -> list[tuple[str, bool]]:
    return [*how(tiling), (
        "Without paper: strike a baseline, set off the points below (X from one end, Y square to it, to 0.5 mm), and "
        f"spring a batten through them: it leaves the line by {CHORD:g} mm at most, and rounding adds 0.36.", False)]


def how(tiling: Tiling) -> list[tuple[str, bool]]:
    """How a pattern is printed, checked, joined and cut."""
    across, up = tiling.page.drawn
    drawn = "" if (across, up) == (1.0, 1.0) else (
        f" Drawn {across:.4f} across and {up:.4f} up as large, as your printer's square measured.")
    cut = "Cut in the middle of the wide line, the edge as designed"
    if any(each.true for each in tiling.cut):
        cut += "; where the true line stands inside it, the wide one is rough: scribe, then trim to the true one"
    rows = [
        ("Print at 100 %, never \"fit to page\". All four corner brackets must be there.", False),
        (f"Measure the square both ways, line middle to line middle, before you cut.{drawn} If it is not 50 mm, build "
         "again with what it measures: --measured 49.5 across, --measured-up 49.8 up the page.", False),
        (f"{cut}: no corner is opened for a round cutter. Paper moves with damp: glue it on dry, cut soon.", False),
    ]
    if len(tiling.tiles) > 1:
        rows.insert(2, ("Join from the lower left: cut each tile along the chain line on its left and lower side, lay "
                        "it on its neighbours so that the crosses meet, tape it.", False))
    return rows


def legend(pens: Sequence[Pen], at: Point, wide: float) -> tuple[Marks, float]:
    """A sample of each line that is drawn; the marks, and where they end."""
    words = {CUT: "cut through", SUNK: "recess, depth beside it", BORE: "bore, depth beside it",
             FAR: "far face: mark it, do not cut", TRUE: "true line: scribe and trim to it",
             BELOW: "recess from below", SEAM: "joint of tiles",
             EDGE: "edge of the sheet", SPOILT: "spoilt place"}
    marks: Marks = []
    x, y = at
    for pen in pens:
        long = 19 + text_width(words[pen]) * TEXT
        if x + long > at[0] + wide:
            x, y = at[0], y - ROW
        marks += [through([(x, y), (x + 17, y)], pen), Text((x + 19, y - 1.3), words[pen])]
        x += long + 6
    return marks, y - 2 * ROW


def pens_on(tiling: Tiling) -> list[Pen]:
    """The pens a pattern is drawn with."""
    pens = [pen for outline in tiling.cut for pen, loops in pens_of(outline) if loops]
    return [*dict.fromkeys(pens), *([SEAM] if len(tiling.tiles) > 1 else [])]


def paragraphs(rows: Sequence[tuple[str, bool]], at: Point, wide: float) -> Marks:
    """Paragraphs, wrapped; bold ones larger."""
    return [Text((at[0], at[1] - down), line, size, bold=bold) for down, line, size, bold in _set(rows, wide)]


def height_of(rows: Sequence[tuple[str, bool]], wide: float) -> float:
    """Height of paragraphs() [mm]."""
    return max((down + size * 1.28 + 1.4 for down, _, size, _ in _set(rows, wide)), default=0.0)


def _set(rows: Sequence[tuple[str, bool]], wide: float) -> Iterator[tuple[float, str, float, bool]]:
    """Lines of paragraphs: how far down [mm], words, size [mm], bold. A bold one stands off a plain one before it."""
    down, plain_before = 0.0, False
    for words, bold in rows:
        size = 4.6 if bold else TEXT
        down += 1.6 if bold and plain_before else 0.0
        for line in wrapped(words, wide, size, bold):
            yield down, line, size, bold
            down += size * 1.28
        down += 1.4
        plain_before = not bold


Row = tuple[tuple[str, str, str, str], bool]  # cells, and whether they are a heading


def _blocks(table: Offsets, piece: Piece) -> Iterator[Row]:
    """The offset table line by line: a heading for each outline, one for all circles of a kind."""
    def kind(row: Offset) -> tuple[str, str, int, float | None, float | None]:
        whole = row.on == "circle"
        return (row.face, row.line, 0 if whole else row.index, row.depth, row.radius if whole else None)

    for (_, line, index, depth, radius), group in groupby(table.rows, kind):
        rows = list(group)
        deep = "" if depth is None else f", {depth:.1f} deep"
        said = f"{line}{f' {index}' if index > 1 else ''}{deep}"
        if radius is not None:
            said = f"{said}, circle{'s' if len(rows) > 1 else ''} R {radius:g}"
        yield (said, "", "", ""), True
        for number, row in enumerate(rows, 1):
            curve = "curve" if row.radius is None else f"R {row.radius:g}"
            on = {"circle": "middle", "batten": curve, "straight": "straight"}[row.on]
            yield (str(number), f"{row.x:.1f}", f"{row.y:.1f}", on), False


def _table(marks: Marks, blocks: Sequence[Row], at: Point, rows: int, columns: int) -> int:
    """As many lines as have room, in columns; how many that were."""
    if rows < 5:
        return 0
    used = 0
    for column in range(columns):
        x, y = at[0] + column * COLUMN, at[1]
        if used >= len(blocks):
            break
        cells = (("point", 0.0), ("X", 22.0), ("Y", 38.0), ("then", 41.0))
        marks += [Text((x + shift + 0.0, y), word, TEXT, "start" if k in (0, 3) else "end", bold=True)
                  for k, (word, shift) in enumerate(cells)]
        marks.append(through([(x, y - 1.4), (x + COLUMN - 5, y - 1.4)], THIN))
        for k in range(1, rows):
            if used >= len(blocks) or (blocks[used][1] and k == rows - 1):
                break
            (first, second, third, last), heading = blocks[used]
            level = y - ROW * k - 0.6
            if heading:
                marks.append(Text((x, level), fitted(first, COLUMN - 5, TEXT, True), TEXT, bold=True))
            else:
                marks += [Text((x + 8, level), first, anchor="end"), Text((x + 22, level), second, anchor="end"),
                          Text((x + 38, level), third, anchor="end"), Text((x + 41, level), last)]
            used += 1
    return used
