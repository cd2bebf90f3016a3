"""One tile of a whole sheet at 1:1: the pieces as they are nested, each with its name, hand and way, the sheet's edge.

In       a sheet with its placed pieces, its tiling, one tile.
Out      a Sheet of paper (paper_ink.py).
Not here which tiles there are (cut/paper.py), the page with the map (paper_sheet_map.py), what all tiles have
(paper_tile.py).

Pieces are drawn as designed, where the nest put them: what is nested holds for a cutter that is as wide as the spec's.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from moldplan.cut.loop import bounds, moved, moved_outline, sampled
from moldplan.cut.paper import Page, Tile, Tiling, groups, sheet_tiling
from moldplan.cut.paper_card import card_at
from moldplan.cut.piece import Loop, Outline, Piece, Placed, Point, Sheet
from moldplan.report.drawing import TEXT, Text, fitted, wrapped
from moldplan.report.paper_ink import EDGE, SPOILT, Stroke, box, loop_stroke
from moldplan.report.paper_ink import Sheet as Paper
from moldplan.report.paper_tile import (
    Job,
    Marks,
    Move,
    arrow,
    carried,
    corners_of,
    depths,
    farthest,
    fitting,
    framed,
    lines_on,
    point_names,
    rings,
)
from moldplan.spec.paper import SQUARE

if TYPE_CHECKING:
    from shapely import Geometry

KEEP = 2.0  # kept between the words on a piece and every line [mm]
SPOTS = 10  # places that are tried for them along each side of what shows of the piece


@dataclass(frozen=True, kw_only=True)
class Laid:
    """A copy of a piece on the sheet, turned with the pattern. `forward`: where the bow is on the page [deg]."""

    piece: Piece
    placed: Placed
    outline: Outline
    forward: float | None

    @property
    def name(self) -> str:
        return f"{self.piece.id}.{self.placed.copy}" if self.piece.quantity > 1 else self.piece.id

    @property
    def body(self) -> str:
        bodies = self.piece.bodies
        return bodies[self.placed.copy - 1] if len(bodies) >= self.placed.copy else self.piece.body

    @property
    def hand(self) -> str:
        words = (self.piece.hand or "", "mirrored" if self.placed.mirrored else "")
        return " ".join(word for word in words if word)

    @property
    def words(self) -> str:
        """Its name, hand, and which face is up where that is the underside: "P3.2 port underside up"."""
        under = "underside up" if self.piece.up == "underside" else ""
        return " ".join(word for word in (self.name, self.hand, under) if word)

    @property
    def stack(self) -> str:
        """Of a lift: "2 of 3 from below, this face up"."""
        orders = self.piece.orders
        order = orders[self.placed.copy - 1] if len(orders) >= self.placed.copy else ""
        return f"{order}, this face {'up' if self.piece.up == 'face' else 'down'}" if order else ""

    @property
    def up(self) -> str:
        return "face up" if self.piece.up == "face" else "underside up"


@dataclass(frozen=True, kw_only=True)
class Pattern:
    """A whole sheet as it is printed. `grain`: the sheet's grain runs along its length."""

    sheet: Sheet
    grain: bool
    tiling: Tiling
    laid: tuple[Laid, ...]

    @property
    def title(self) -> str:
        return f"{self.sheet.stock}, sheet {self.sheet.number}"

    @property
    def spoilt(self) -> tuple[Loop, ...]:
        """The sheet's spoilt places, turned with the pattern."""
        return tuple(moved(loop, turn=self.tiling.turn) for loop in self.sheet.defects)

    @property
    def points(self) -> tuple[tuple[Point, str], tuple[Point, str]]:
        """Two corners of pieces, far apart on tiles that are joined."""
        cells = groups(self.tiling)[0]
        boxes = [(t.low, t.high) for t in self.tiling.tiles if t.cell in cells]
        corners = [p for each in self.laid for p in corners_of(each.outline.outer)
                   if any(low[0] <= p[0] <= high[0] and low[1] <= p[1] <= high[1] for low, high in boxes)]
        return farthest(_hull(corners))

    def on_sheet(self, point: Point) -> Point:
        """A point of the pattern in the sheet's own axes: from its lower left corner."""
        way = math.radians(-self.tiling.turn)
        c, s = round(math.cos(way)), round(math.sin(way))  # the pattern is turned by quarters
        return (c * point[0] - s * point[1], s * point[0] + c * point[1])


def pattern(sheet: Sheet, pieces: Sequence[Piece], page: Page, *, grain: bool) -> Pattern:
    """A sheet on its tiles."""
    by_id = {piece.id: piece for piece in pieces}
    (length, width), edge = sheet.size, sheet.edge
    whole = edge or Loop(((0.0, 0.0, 0.0), (length, 0.0, 0.0), (length, width, 0.0), (0.0, width, 0.0)))
    outlines = [moved_outline(by_id[p.piece].by_hand, turn=p.turn, x=p.x, y=p.y, mirrored=p.mirrored)
                for p in sheet.placed]
    tiled = sheet_tiling(whole, outlines, page)
    laid = tuple(Laid(piece=by_id[placed.piece], placed=placed, outline=outline,
                      forward=_forward(by_id[placed.piece], placed, tiled.turn))
                 for placed, outline in zip(sheet.placed, tiled.laid, strict=True))
    return Pattern(sheet=sheet, grain=grain, tiling=tiled, laid=laid)


def _forward(piece: Piece, placed: Placed, turn: float) -> float | None:
    if piece.forward is None:
        return None
    own = 180 - piece.forward if placed.mirrored else piece.forward
    return (own + placed.turn + turn) % 360


def _hull(points: Sequence[Point]) -> list[Point]:
    """The outermost of some points: only they can lie farthest apart."""
    import shapely

    hull = shapely.MultiPoint(points).convex_hull
    return [(x, y) for x, y in shapely.get_coordinates(hull)] if hull.geom_type == "Polygon" else list(points)


def sheet_tile(job: Job, given: Pattern, tile: Tile, lines: Geometry) -> Paper:
    """The page of one tile. `lines`: lines_of(given.tiling)."""
    tiling = given.tiling
    page, on = tiling.page, carried(tiling.page, tile)
    here = [each for each in given.laid if _meets(bounds(each.outline.outer), tile)]
    shown = {each: shape for each in here for shape in [_shown(each, given, tile)] if shape.area > 1}
    card, points = card_at(tiling, tile, lines), given.points
    strokes: list[Stroke] = [stroke for each in here for stroke in lines_on(each.outline, tile, on)]
    dx, dy = on((0.0, 0.0))
    strokes += [loop_stroke(tiling.outline.outer, EDGE, x=dx, y=dy)]
    strokes += [loop_stroke(loop, SPOILT, x=dx, y=dy) for loop in given.spoilt if _meets(bounds(loop), tile)]
    marks = framed(tiling, tile, [*strokes, *rings(points, on)], lines)
    marks += _card(on(card), job, given, tile.name, list(shown), tile)
    box = bounds(tiling.outline.outer)
    labels = [*point_names(points, box), *(one for each in here for one in depths(each.outline))]
    words = fitting(labels, tile, card, lines, on)
    for each, shape in shown.items():
        marks += _name(each, _room(each, shape, card), words, on)
    return Paper(page.width, page.height, (*marks, *words), page.drawn)


def _meets(box: Sequence[float], tile: Tile) -> bool:
    return (box[0] < tile.high[0] and box[2] > tile.low[0] and box[1] < tile.high[1] and box[3] > tile.low[1])


def _shown(each: Laid, given: Pattern, tile: Tile) -> Geometry:
    """What of a piece a tile shows once it is joined; where that is nothing, what it shows before."""
    import shapely

    outline, page = each.outline, given.tiling.page
    shape = shapely.Polygon(_ring(outline.outer), [_ring(hole) for hole in outline.holes])
    sides = {seam.side for seam in given.tiling.seams(tile)}
    left, right, lower, upper = (page.overlap / 2 if side in sides else 0.0
                                 for side in ("left", "right", "lower", "upper"))
    low, high = (tile.low[0] + left, tile.low[1] + lower), (tile.high[0] - right, tile.high[1] - upper)
    joined = shape.intersection(shapely.box(*low, *high))
    return joined if joined.area > 1 else shape.intersection(shapely.box(*tile.low, *tile.high))


def _room(each: Laid, shown: Geometry, card: Point) -> Geometry:
    """Where words may stand on what shows of a piece: clear of its lines and of the tile's card."""
    import shapely

    outline = each.outline
    deep = [loop for loop, _ in (*outline.bores, *outline.sinks, *outline.under)]
    ink = [shapely.LinearRing(_ring(loop)).buffer(KEEP) for loop in (*outline.far, *outline.true, *deep)]
    taken = [shapely.box(card[0], card[1], card[0] + SQUARE, card[1] + SQUARE).buffer(KEEP), *ink]
    return shown.buffer(-KEEP).difference(shapely.union_all(taken))


def _ring(loop: Loop) -> list[Point]:
    points = sampled(loop, 0.2)
    return points if len(points) > 2 else [*points, points[0]]


def _name(each: Laid, room: Geometry, words: Sequence[Text], on: Move) -> Marks:
    """Name, hand, body, face and bow of a piece in its room, smaller and fewer where that is small; none where nothing
    fits (the card has the name)."""
    import shapely

    if room.is_empty:
        return []
    dx, dy = on((0.0, 0.0))
    taken = [shapely.Polygon([(x - dx, y - dy) for x, y in text.box(0.5)]) for text in words]
    free = room.difference(shapely.union_all(taken)) if taken else room
    short = f"{each.name} {each.hand.upper()}".strip()
    full = [(short, 6.0, True), (each.body, TEXT, False), ((each.stack or each.up).upper(), TEXT, True)]
    tries: tuple[tuple[Sequence[tuple[str, float, bool]], bool], ...] = (
        (full, True), (full, False), ([(short, 4.4, True)], True), ([(short, 4.4, True)], False),
        ([(short, 3.2, True)], False), ([(each.name, 3.2, True)], False))
    for rows, bow in tries:
        shown = bow and each.forward is not None
        wide = max(Text((0, 0), said, size, bold=bold).width for said, size, bold in rows) + (15.0 if shown else 0.0)
        high = max(sum(size * 1.3 for _, size, _ in rows), 15.0 if shown else 0.0)
        for turn in (0.0, 90.0):
            spot = _spot(free, *((wide, high) if not turn else (high, wide)))
            if spot is not None:
                return _block(rows, on(spot), wide, high, turn, each.forward if shown else None)
    return []


def _spot(room: Geometry, wide: float, high: float) -> Point | None:
    """The lower left corner of a box that lies in the room, as near its middle as can be."""
    import shapely

    low_x, low_y, high_x, high_y = room.bounds
    if high_x - low_x < wide or high_y - low_y < high:
        return None
    xs = [low_x + (high_x - wide - low_x) * k / SPOTS for k in range(SPOTS + 1)]
    ys = [low_y + (high_y - high - low_y) * k / SPOTS for k in range(SPOTS + 1)]
    middle = ((low_x + high_x - wide) / 2, (low_y + high_y - high) / 2)
    spots = sorted(((x, y) for x in xs for y in ys), key=lambda p: round(math.dist(p, middle), 6))
    boxes = shapely.box([x for x, _ in spots], [y for _, y in spots], [x + wide for x, _ in spots],
                        [y + high for _, y in spots])
    shapely.prepare(room)
    held = shapely.covers(room, boxes)
    return spots[int(held.argmax())] if held.any() else None


def _block(rows: Sequence[tuple[str, float, bool]], at: Point, wide: float, high: float, turn: float,
           forward: float | None) -> Marks:
    """Rows of words, and right of them an arrow to the bow, in a box `wide` by `high` that is turned by `turn`."""
    marks: Marks = []
    foot = high - (high - sum(size * 1.3 for _, size, _ in rows)) / 2
    for said, size, bold in rows:
        foot -= size * 1.3
        along, up = 0.0, foot + 0.27 * size
        spot = (at[0] + along, at[1] + up) if not turn else (at[0] + high - up, at[1] + along)
        marks.append(Text(spot, said, size, turn=turn, bold=bold))
    if forward is not None:
        along, up = wide - (4.5 if turn else 6.5), high / 2 + (0.0 if turn else 1.5)
        x, y = (at[0] + along, at[1] + up) if not turn else (at[0] + high - up, at[1] + along)
        marks += arrow((x, y), forward, 9.0)
        marks.append(Text((x, y - 7.6), "FWD", 3.0, "middle", bold=True))
    return marks


def _card(at: Point, job: Job, given: Pattern, name: str, here: Sequence[Laid], tile: Tile | None) -> Marks:
    """The square of 50 mm, and in it the tile, the sheet, the pieces on it, and where its corner lies on the sheet."""
    x, y = at
    inner = SQUARE - 5
    marks: Marks = [box(at, (x + SQUARE, y + SQUARE))]
    marks.append(Text((x + 2.5, y + 37.5), name, 13.0 if len(name) < 4 else 9.0, bold=True))
    marks.append(Text((x + 2.5, y + 30.6), fitted(f"sheet {given.sheet.number}", 30, 5.6, bold=True), 5.6, bold=True))
    rows = wrapped(", ".join(each.words for each in here), inner, TEXT) if here else []
    rows = rows if len(rows) <= 3 else [*rows[:2], fitted(" ".join(rows[2:]), inner)]
    marks += [Text((x + 2.5, y + 25.6 - 4.3 * k), row) for k, row in enumerate(rows)]
    if tile is not None:
        corner = ", ".join(f"{coordinate + 0.0:.1f}" for coordinate in given.on_sheet(tile.low))
        marks.append(Text((x + 2.5, y + 11.9), fitted(f"corner {corner}", inner, bold=True), bold=True))
    marks.append(Text((x + 2.5, y + 7.2), fitted(f"{given.sheet.stock} - {job.title}", inner)))
    marks.append(Text((x + 2.5, y + 2.4), "50 x 50 mm"))
    marks.append(Text((x + SQUARE - 2.5, y + 2.4), fitted(f"rev {job.revision}", 24), anchor="end"))
    if given.grain:
        spot = (x + 41.5, y + 42.0)
        marks += [*arrow(spot, given.tiling.turn, 12.0), *arrow(spot, given.tiling.turn + 180, 12.0)]
        marks.append(Text((spot[0], spot[1] - 11.0), "grain", TEXT, "middle"))
    return marks


def map_card(at: Point, job: Job, given: Pattern, name: str) -> Marks:
    """The card of a page that is no tile."""
    return _card(at, job, given, name, (), None)
