"""One tile of a 1:1 pattern: the lines of the piece, its joints with the neighbours, its card.

In       a piece, its tiling, one tile.
Out      a Sheet (paper_ink.py).
Not here which tiles there are (cut/paper.py), the sheet with the map (paper_map.py), tiles of whole sheets
(paper_sheet.py).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from moldplan.cut.loop import bounds, sampled, segments
from moldplan.cut.names import in_stack
from moldplan.cut.paper import Page, Seam, Tile, Tiling, reaches
from moldplan.cut.paper_card import card_at
from moldplan.cut.piece import Loop, Outline, Piece, Point
from moldplan.cut.step import short_words
from moldplan.cut.sunk import pools
from moldplan.report.drawing import TEXT, Text, fitted, wrapped
from moldplan.report.paper_ink import (
    BELOW,
    BORE,
    CUT,
    FAR,
    SEAM,
    SUNK,
    THIN,
    TRUE,
    Pen,
    Sheet,
    Stroke,
    Window,
    box,
    loop_stroke,
    ring,
    through,
)
from moldplan.spec.paper import SQUARE

if TYPE_CHECKING:
    from shapely import Geometry

Marks = list[Stroke | Text | Window]
Move = Callable[[Point], Point]
CROSS, CROSS_RING = 4.0, 2.0  # half length of a registration cross, radius of its ring [mm]
MIDDLE = 2.5  # half length of the cross in the middle of a circle [mm]


@dataclass(frozen=True)
class Job:
    """What is written on every page of a plan. `inches`: sizes in inches too."""

    title: str
    revision: str
    inches: bool = False


def tile_sheet(job: Job, piece: Piece, tiling: Tiling, tile: Tile, lines: Geometry) -> Sheet:
    """The page of one tile."""
    page, on = tiling.page, carried(tiling.page, tile)
    card, points = card_at(tiling, tile, lines), check_points(tiling.outline)
    marks = framed(tiling, tile, [*lines_on(tiling.outline, tile, on), *rings(points, on)], lines)
    marks += card_marks(on(card), job, piece, tiling, tile)
    labels = [*point_names(points, bounds(tiling.outline.outer)), *depths(tiling.outline)]
    marks += fitting(labels, tile, card, lines, on)
    return Sheet(page.width, page.height, tuple(marks), page.drawn)


def carried(page: Page, tile: Tile) -> Move:
    """What carries a point of the turned piece to the page of a tile."""
    dx, dy = page.margin[0] - tile.low[0], page.margin[1] - tile.low[1]
    return lambda point: (point[0] + dx, point[1] + dy)


def framed(tiling: Tiling, tile: Tile, strokes: Sequence[Stroke], lines: Geometry) -> Marks:
    """What every tile has: its window with the strokes (already on the page) in it, corners, joints, crosses."""
    page, on = tiling.page, carried(tiling.page, tile)
    low, high = on(tile.low), on(tile.high)
    marks: Marks = [Window(low, high, tuple(strokes)), *_corners(low, high)]
    for seam in tiling.seams(tile):
        marks.append(through([on(seam.start), on(seam.end)], SEAM))
        marks += [_moved(text, on) for text in _seam_words(seam, page, lines)]
    for spot in tiling.crosses(tile):
        marks += cross(on(spot))
    return marks


def rings(points: Iterable[tuple[Point, str]], on: Move) -> list[Stroke]:
    """The check points."""
    return [ring(on(spot), 1.5) for spot, _ in points]


def fitting(labels: Iterable[Sequence[Text]], tile: Tile, card: Point, lines: Geometry, on: Move) -> list[Text]:
    """Of each label the first place that is on the tile, off its card and on no line, on the page."""
    found = []
    for spots in labels:
        there = [text for text in spots if _inside(text, tile) and not _on_card(text, card)]
        found += [_moved(clear(there, lines), on)] if there else []
    return found


def _moved(text: Text, on: Move) -> Text:
    return replace(text, at=on(text.at))


def clear(tried: Sequence[Text], ink: Geometry) -> Text:
    """The first of some texts that stands on no line; the first of all where every one does."""
    import shapely

    return next((text for text in tried if ink.distance(shapely.Polygon(text.box(0.4))) > 0), tried[0])


def _corners(low: Point, high: Point) -> list[Stroke]:
    """Brackets in the corners of what is printed: one that is not whole was cut off by the printer."""
    arm, found = 9.0, []
    for x, way in ((low[0], 1), (high[0], -1)):
        for y, up in ((low[1], 1), (high[1], -1)):
            found.append(through([(x + way * arm, y), (x, y), (x, y + up * arm)], THIN))
    return found


def lines_on(outline: Outline, tile: Tile, on: Move) -> Iterator[Stroke]:
    """The lines of a piece that reach a tile, moved; a small cross in the middle of each circle, to drill or to swing
    a trammel from."""
    dx, dy = on((0.0, 0.0))
    for pen, loops in pens_of(outline):
        for loop in loops:
            if any(reaches(s, tile.low, tile.high) for s in segments(loop)):
                yield loop_stroke(loop, pen, x=dx, y=dy)
            if loop.circle is not None:
                x, y = loop.circle[0] + dx, loop.circle[1] + dy
                arm = min(MIDDLE, loop.circle[2] / 2)
                yield through([(x - arm, y), (x + arm, y)])
                yield through([(x, y - arm), (x, y + arm)])


def pens_of(outline: Outline) -> tuple[tuple[Pen, tuple[Loop, ...]], ...]:
    """What is drawn with which pen."""
    return ((CUT, (outline.outer, *outline.holes)), (SUNK, tuple(loop for loop, _ in outline.sinks)),
            (BORE, tuple(loop for loop, _ in outline.bores)), (FAR, outline.far), (TRUE, outline.true),
            (BELOW, tuple(loop for loop, _ in outline.under)))


def check_points(outline: Outline) -> tuple[tuple[Point, str], tuple[Point, str]]:
    """The two corners of a piece that lie farthest apart (of a round one, its sides), to measure once it is joined."""
    return farthest(corners_of(outline.outer))


def corners_of(loop: Loop) -> list[Point]:
    """The corners of a loop; of a round one its sides."""
    corners = [(x, y) for x, y, _ in loop.vertices]
    if len(corners) > 2:
        return corners
    low_x, low_y, high_x, high_y = bounds(loop)
    return [(low_x, (low_y + high_y) / 2), (high_x, (low_y + high_y) / 2)] if loop.circle else sampled(loop, 0.1)


def farthest(corners: Sequence[Point]) -> tuple[tuple[Point, str], tuple[Point, str]]:
    """The two of some points that lie farthest apart, named A and B."""
    a, b = max(((p, q) for k, p in enumerate(corners) for q in corners[k + 1 :]),
               key=lambda pair: round(math.dist(*pair), 6))
    a, b = sorted((a, b))
    return ((a, "A"), (b, "B"))


def cross(at: Point) -> tuple[Stroke, ...]:
    """A registration cross."""
    x, y = at
    return (through([(x - CROSS, y), (x + CROSS, y)]), through([(x, y - CROSS), (x, y + CROSS)]), ring(at, CROSS_RING))


def _seam_words(seam: Seam, page: Page, lines: Geometry) -> list[Text]:
    """What is done along a seam, in the strip beyond it, where no line of the piece runs if there is such a place."""
    strip = page.overlap / 2
    size = min(TEXT, strip * 0.76)
    if size < 2.5:
        return []
    words = f"cut here, lay on {seam.neighbour}" if seam.lies_on else f"{seam.neighbour} lies on here"
    foot = (strip - 0.72 * size) / 2
    dx, dy = {"left": (-foot, 0.0), "right": (strip - foot, 0.0), "lower": (0.0, foot - strip), "upper": (0.0, foot)}[
        seam.side]
    turn = 90.0 if seam.side in ("left", "right") else 0.0
    (ax, ay), (bx, by) = seam.start, seam.end
    tried = [Text((ax + (bx - ax) * share + dx, ay + (by - ay) * share + dy), words, size, "middle", turn)
             for share in (0.5, 0.4, 0.6, 0.3, 0.7)]
    return [clear(tried, lines)]


def point_names(points: Iterable[tuple[Point, str]], box: Sequence[float]) -> Iterator[list[Text]]:
    """Names of check points; for each the places to try, the best first: towards the middle of a box."""
    middle = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
    for (x, y), name in points:
        way = math.atan2(middle[1] - y, middle[0] - x)
        tried = [(x + reach * math.cos(way + side), y + reach * math.sin(way + side))
                 for reach in (7, 11, 15, 20) for side in (0.0, 0.7, -0.7)]
        yield [Text((px, py - 2.0), name, 6.0, "middle", bold=True) for px, py in tried]


def depths(outline: Outline) -> Iterator[list[Text]]:
    """How deep what is sunk goes; for each the places to try, the best first."""
    for words, sunk in (("deep", (*outline.bores, *outline.sinks)), ("from below", outline.under)):
        for loop, depth in pools(sunk):
            yield _beside(loop, f"{depth:.1f} {words}")


def _beside(loop: Loop, words: str) -> list[Text]:
    """Places for the words of a sunk loop: to its right, left, above, below, or in a large one's corners."""
    low_x, low_y, high_x, high_y = bounds(loop)
    x, y, drop = (low_x + high_x) / 2, (low_y + high_y) / 2, 0.36 * TEXT
    outside = [Text((high_x + 1.5, y - drop), words), Text((low_x - 1.5, y - drop), words, anchor="end"),
               Text((x, high_y + 1.5), words, anchor="middle"), Text((x, low_y - 1.5 - 0.74 * TEXT), words,
                                                                     anchor="middle")]
    if min(high_x - low_x, high_y - low_y) < 40:
        return outside
    if loop.circle is not None:  # the corners of the square in it
        low_x, low_y, high_x, high_y = (c + (k - c) * 0.7 for c, k in zip((x, y, x, y), bounds(loop), strict=True))
    levels = (low_y + 4, high_y - 4 - TEXT)
    return [*(Text((low_x + 4, level), words) for level in levels),
            *(Text((high_x - 4, level), words, anchor="end") for level in levels), *outside]


def _inside(text: Text, tile: Tile) -> bool:
    return all(tile.low[0] < x < tile.high[0] and tile.low[1] < y < tile.high[1] for x, y in text.box(0.5))


def _on_card(text: Text, card: Point) -> bool:
    corners = text.box(0.5)
    return (corners[0][0] < card[0] + SQUARE and corners[1][0] > card[0]
            and corners[0][1] < card[1] + SQUARE and corners[2][1] > card[1])


def card_marks(at: Point, job: Job, piece: Piece, tiling: Tiling, tile: Tile | None, *,
               name: str = "MAP") -> Marks:
    """The square of 50 mm, and in it what a builder must know of a tile, or of a page of another name."""
    x, y = at
    marks: Marks = [box(at, (x + SQUARE, y + SQUARE))]
    inner = SQUARE - 5
    title = tile.name if tile else name
    marks.append(Text((x + 2.5, y + 37.5), title, 13.0 if len(title) < 4 else 9.0, bold=True))
    count = f" x {piece.quantity}" if piece.quantity > 1 else ""
    marks.append(Text((x + 2.5, y + 29.3), fitted(piece.id + count, 30, 6.5, bold=True), 6.5, bold=True))
    rows, step = named_rows(piece, inner, 2), short_words(piece.steps)
    for k, row in enumerate(rows):
        marks.append(Text((x + 2.5, y + 23.6 - 4.5 * k), row))
    foot = -1.2 if step and len(rows) > 1 else 0.0  # closer where the name takes two lines
    marks += [_shrunk(Text((x + 2.5, y + 18.3 + 3 * foot), step), inner)] if step else []
    marks.append(_up_words((x + 2.5, y + 13.2 + 2 * foot), piece, inner))
    hand = Text((x + 2.5, y + 7.8 + foot), piece.hand.upper() if piece.hand else "", 4.4, bold=True)
    marks += [hand] if hand.words else []
    start = hand.width + (2.0 if hand.words else 0.0)
    marks.append(Text((x + 2.5 + start, y + 7.8 + foot), fitted(job.title, inner - start)))
    marks.append(Text((x + 2.5, y + 2.4), "50 x 50 mm"))
    marks.append(Text((x + SQUARE - 2.5, y + 2.4), fitted(f"rev {job.revision}", 24), anchor="end"))
    marks += way_marks((x + 41.5, y + 41.0), piece, tiling.turn)
    return marks


def _up_words(at: Point, piece: Piece, wide: float) -> Text:
    """Which face is drawn; of a lift where in the stack it goes, and which way up there."""
    order = in_stack(piece.orders).removesuffix(" from below").upper()
    if not order:
        return Text(at, "FACE UP" if piece.up == "face" else "UNDERSIDE UP", 4.4, bold=True)
    words = f"{order}, THIS FACE {'UP' if piece.up == 'face' else 'DOWN'}"
    return _shrunk(Text(at, words, 4.4, bold=True), wide)


def _shrunk(text: Text, wide: float) -> Text:
    """A text made small enough for a width [mm]: nothing of it may be left out."""
    return replace(text, size=text.size * min(1.0, wide / text.width))


def named_rows(piece: Piece, width: float, most: int) -> list[str]:
    """What the piece is, in at most so many lines."""
    others = len(dict.fromkeys(piece.bodies)) - 1
    words = piece.body + (f" and {others} more" if others > 0 else "")
    rows = wrapped(words, width)
    return rows if len(rows) <= most else [*rows[: most - 1], fitted(" ".join(rows[most - 1 :]), width)]


def way_marks(at: Point, piece: Piece, turn: float, size: float = 12.0) -> Marks:
    """Arrows to the bow and along the grain, round a point."""
    marks: Marks = []
    if piece.forward is not None:
        marks += [*arrow(at, piece.forward + turn, size), Text((at[0], at[1] - size / 2 - 5.2), "FWD", 4.0, "middle",
                                                                 bold=True)]
    if piece.grain:
        spot = (at[0], at[1] - size / 2 - (9.5 if piece.forward is not None else 0.0))
        marks += [*arrow(spot, turn, size), *arrow(spot, turn + 180, size)]
        marks.append(Text((spot[0] - size / 2 - 1, spot[1] - 1.3), "grain", TEXT, "end"))
    return marks


def arrow(centre: Point, way: float, size: float) -> tuple[Stroke, Stroke]:
    c, s = math.cos(math.radians(way)), math.sin(math.radians(way))

    def at(along: float, aside: float) -> Point:
        return (centre[0] + along * c - aside * s, centre[1] + along * s + aside * c)

    half = size / 2
    return (through([at(-half, 0), at(half - 3, 0)], Pen(0.7)),
            through([at(half, 0), at(half - 4.5, 2), at(half - 4.5, -2)], THIN, closed=True, fill="black"))
