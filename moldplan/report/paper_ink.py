"""Pages at true size, drawn larger or smaller both ways as the printer needs it, into a PDF.

In       Sheets of marks: mm on the printed page, x to the right, y up from its lower left corner.
Out      one PDF, the same bytes for the same sheets.
Not here what is drawn (paper_tile.py, paper_map.py).

Arcs are written as cubics that leave them by no more than 0.002 mm (cut/paper_curve.py), and a dashed line runs on
from its own start, so that two tiles show the same dashes where they overlap.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from moldplan.cut.loop import moved, segments
from moldplan.cut.paper_curve import curves
from moldplan.cut.piece import Loop, Point
from moldplan.cut.segment import Segment
from moldplan.report.drawing import Text, printable
from moldplan.report.ink import EPOCH


@dataclass(frozen=True)
class Pen:
    """Width and dashes [mm]."""

    width: float
    dashes: tuple[float, ...] = ()


POINTS = 72 / 25.4  # in a millimetre
CUT = Pen(0.7)  # wide enough for a tired cartridge; the cut is its middle
SUNK = Pen(0.5, (12.0, 2.2))
BORE = Pen(0.5)
FAR = Pen(0.5, (3.6, 1.8))
TRUE = Pen(0.5, (9.0, 1.4, 1.4, 1.4))
BELOW = Pen(0.5, (1.2, 1.6))
THIN = Pen(0.2)
EDGE = Pen(0.3, (10.0, 1.6))  # of a sheet
SPOILT = Pen(0.3, (0.6, 1.2))
SEAM = Pen(0.25, (8.0, 1.2, 0.6, 1.2))


@dataclass(frozen=True)
class Stroke:
    """Lines and arcs end to end."""

    walk: tuple[Segment, ...]
    pen: Pen = THIN
    closed: bool = False
    fill: Literal["none", "black"] = "none"


@dataclass(frozen=True)
class Window:
    """Marks of which nothing shows outside a box."""

    low: Point
    high: Point
    marks: tuple[Stroke, ...]


@dataclass(frozen=True)
class Sheet:
    """A page as printed; `drawn`: how much larger it is written, across and up."""

    width: float
    height: float
    marks: tuple[Stroke | Text | Window, ...]
    drawn: tuple[float, float] = (1.0, 1.0)


def through(points: Sequence[Point], pen: Pen = THIN, *, closed: bool = False, fill: Literal["none", "black"] = "none"
            ) -> Stroke:  # fmt: skip
    """Straight lines through points."""
    ends = [*points[1:], points[0]] if closed else points[1:]
    return Stroke(tuple(Segment(a, b) for a, b in zip(points, ends, strict=False)), pen, closed, fill)


def box(low: Point, high: Point, pen: Pen = THIN) -> Stroke:
    """An upright rectangle."""
    return through([low, (high[0], low[1]), high, (low[0], high[1])], pen, closed=True)


def loop_stroke(loop: Loop, pen: Pen, *, x: float = 0.0, y: float = 0.0) -> Stroke:
    """A loop, moved."""
    return Stroke(segments(moved(loop, x=x, y=y)), pen, closed=True)


def ring(centre: Point, radius: float, pen: Pen = THIN) -> Stroke:
    """A full circle."""
    return loop_stroke(Loop(circle=(*centre, radius)), pen)


def pdf(sheets: Iterable[Sheet], path: Path, *, title: str) -> None:
    """One page a sheet into `path`. Raises OSError from the disk."""
    from fpdf import FPDF

    paper = FPDF(unit="pt")  # in mm it writes a matrix rounded to 1.6e-5: 0.08 mm over a long roll
    paper.set_auto_page_break(False)
    paper.set_creation_date(EPOCH)
    paper.set_title(title)
    paper.set_creator("moldplan")
    paper.set_producer("moldplan")
    for sheet in sheets:
        paper.add_page(format=(sheet.width * sheet.drawn[0] * POINTS, sheet.height * sheet.drawn[1] * POINTS))
        for mark in sheet.marks:
            if isinstance(mark, Window):
                (left, bottom), (right, top) = _at(mark.low, sheet), _at(mark.high, sheet)
                with paper.rect_clip(left, top, right - left, bottom - top):
                    _strokes(paper, mark.marks, sheet)
        _strokes(paper, [mark for mark in sheet.marks if isinstance(mark, Stroke)], sheet)
        for mark in sheet.marks:
            if isinstance(mark, Text):
                _text(paper, mark, sheet)
    paper.output(str(path))


def _strokes(paper: Any, strokes: Sequence[Stroke], sheet: Sheet) -> None:
    """All strokes of one pen as one path: a path by itself costs a millisecond."""
    looks = dict.fromkeys((stroke.pen, stroke.fill) for stroke in strokes)
    for pen, fill in looks:
        _path(paper, [stroke for stroke in strokes if (stroke.pen, stroke.fill) == (pen, fill)], sheet)


def _at(point: Sequence[float], sheet: Sheet) -> tuple[float, float]:
    """A point as the page is written: in points, larger, from the upper left corner down."""
    return (point[0] * sheet.drawn[0] * POINTS, (sheet.height - point[1]) * sheet.drawn[1] * POINTS)


def _path(paper: Any, strokes: Sequence[Stroke], sheet: Sheet) -> None:
    from fpdf.drawing import DeviceGray, PaintedPath
    from fpdf.enums import PathPaintRule

    path, pen, fill = PaintedPath(), strokes[0].pen, strokes[0].fill
    for stroke in strokes:
        path.move_to(*_at(stroke.walk[0].start, sheet))
        for part in (part for s in stroke.walk for part in curves(s)):
            ends = [c for k in range(0, len(part), 2) for c in _at(part[k : k + 2], sheet)]
            if len(ends) == 2:
                path.line_to(*ends)
            else:
                path.curve_to(*ends)
        if stroke.closed:
            path.close()
    style, scale = path.style, min(sheet.drawn) * POINTS
    style.auto_close = False
    style.stroke_width = pen.width * scale
    style.stroke_color = DeviceGray(0)
    style.stroke_dash_pattern = [dash * scale for dash in pen.dashes] or None
    style.stroke_cap_style = "butt"
    style.stroke_join_style = "round"
    style.fill_color = DeviceGray(0) if fill == "black" else None
    style.paint_rule = PathPaintRule.STROKE if fill == "none" else PathPaintRule.STROKE_FILL_EVENODD
    paper.draw_path(path)


def _text(paper: Any, text: Text, sheet: Sheet) -> None:
    across, up = sheet.drawn
    if text.turn % 180:  # turned by a quarter, as all turned words here are
        across, up = up, across
    paper.set_font("Helvetica", "B" if text.bold else "", text.size * up * POINTS)
    paper.set_text_color(0)
    paper.set_stretching(100 * across / up)
    x, y = _at(text.at, sheet)
    back = {"start": 0.0, "middle": text.width / 2, "end": text.width}[text.anchor] * across * POINTS
    if text.turn:
        with paper.rotation(text.turn, x, y):
            paper.text(x - back, y, printable(text.words))
    else:
        paper.text(x - back, y, printable(text.words))
