"""Writes a Drawing as SVG and as PDF: the same marks, true size.

In       Drawings.
Out      svg(): text of one SVG, width and height in mm; pdf(): one file, one sheet a page.
Not here what is drawn.

Both are the same for the same input: no ids, no clock. A vertex of NaN in a Curve lifts the pen (hatch.py).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime
from html import escape
from pathlib import Path
from typing import Any

from moldplan.report.drawing import GREYS, PENS, Curve, Drawing, Region, Text, Vertex, arc_of, printable
from moldplan.report.hatch import hatched

EPOCH = datetime(2000, 1, 1, tzinfo=UTC)  # a fixed date keeps two builds of one spec identical
FONT = "Helvetica, Arial, 'Liberation Sans', 'Nimbus Sans', sans-serif"


def in_order(drawing: Drawing) -> list[Curve | Text]:
    """Hatches first, then lines, then words, so that nothing covers what must be read."""
    hatches = [c for m in drawing.marks if isinstance(m, Region) for c in hatched(m)]
    filled = [m for m in drawing.marks if isinstance(m, Curve) and m.fill in ("pale", "mid")]
    curves = [m for m in drawing.marks if isinstance(m, Curve) and m.fill not in ("pale", "mid")]
    return [*filled, *hatches, *curves, *drawing.texts()]


def svg(drawing: Drawing, *, standalone: bool = True) -> str:
    """The drawing as SVG text; `standalone` adds the XML head and the true size, else it fills what it stands in."""
    size = f'width="{_n(drawing.width)}mm" height="{_n(drawing.height)}mm" ' if standalone else ""
    parts = [
        '<?xml version="1.0" encoding="UTF-8"?>\n' if standalone else "",
        f'<svg xmlns="http://www.w3.org/2000/svg" {size}viewBox="0 0 {_n(drawing.width)} {_n(drawing.height)}" '
        f'role="img" font-family="{FONT}" fill="none" stroke="none">',
        f"<title>{escape(drawing.title)}</title>",
        f"<desc>{escape(drawing.description)}</desc>" if drawing.description else "",
        f'<rect width="{_n(drawing.width)}" height="{_n(drawing.height)}" fill="#fff"/>',
    ]
    for mark in in_order(drawing):
        parts.append(_svg_text(mark, drawing.height) if isinstance(mark, Text) else _svg_curve(mark, drawing.height))
    return "\n".join(part for part in (*parts, "</svg>\n") if part)


def _svg_curve(curve: Curve, height: float) -> str:
    steps = []
    for run in runs_of(curve):
        steps.append(f"M{_n(run[0][0])} {_n(height - run[0][1])}")
        for start, end in _segments(run, curve.closed):
            if start[2] and math.hypot(end[0] - start[0], end[1] - start[1]) > 1e-9:
                _, _, radius, _, sweep = arc_of(start[:2], end[:2], start[2])
                flags = f"{int(abs(sweep) > math.pi)} {int(sweep < 0)}"  # y turns over, and with it the sense
                steps.append(f"A{_n(radius)} {_n(radius)} 0 {flags} {_n(end[0])} {_n(height - end[1])}")
            else:
                steps.append(f"L{_n(end[0])} {_n(height - end[1])}")
        if curve.closed:
            steps.append("Z")
    pen, look = PENS[curve.pen], ""
    if pen.width:
        dashes = f' stroke-dasharray="{" ".join(map(_n, pen.dashes))}"' if pen.dashes else ""
        look = f' stroke="#000" stroke-width="{_n(pen.width)}" stroke-linejoin="round" stroke-linecap="round"{dashes}'
        if pen.dashes:
            look = look.replace(' stroke-linecap="round"', "")
    if curve.fill != "none":
        grey = f"{GREYS[curve.fill]:02x}"
        look += f' fill="#{grey * 3}" fill-rule="evenodd"'
    return f'<path d="{"".join(steps)}"{look}/>'


def _svg_text(text: Text, height: float) -> str:
    x, y = text.at[0], height - text.at[1]
    turn = f' transform="rotate({_n(-text.turn)} {_n(x)} {_n(y)})"' if text.turn else ""
    anchor = f' text-anchor="{text.anchor}"' if text.anchor != "start" else ""
    weight = ' font-weight="bold"' if text.bold else ""
    back = ""
    if text.back:
        corners = " ".join(f"{_n(cx)},{_n(height - cy)}" for cx, cy in text.box(0.4))
        back = f'<polygon points="{corners}" fill="#fff"/>'
    # textLength holds the measured width whatever font the reader has, so that no words run into a line
    return (
        f'{back}<text x="{_n(x)}" y="{_n(y)}" font-size="{_n(text.size)}" fill="#000"{anchor}{weight}{turn} '
        f'textLength="{_n(max(text.width, 0.01))}" lengthAdjust="spacingAndGlyphs">{escape(text.words)}</text>'
    )


def pdf(drawings: Iterable[Drawing], path: Path, *, title: str = "") -> None:
    """One page a drawing, each of its own size, into `path`."""
    from fpdf import FPDF

    paper = FPDF(unit="mm")
    paper.set_auto_page_break(False)
    paper.set_creation_date(EPOCH)
    paper.set_title(title)
    paper.set_creator("moldplan")
    paper.set_producer("moldplan")
    for drawing in drawings:
        paper.add_page(format=(drawing.width, drawing.height))
        for mark in in_order(drawing):
            if isinstance(mark, Text):
                _pdf_text(paper, mark, drawing.height)
            else:
                _pdf_curve(paper, mark, drawing.height)
    paper.output(str(path))


def _pdf_curve(paper: Any, curve: Curve, height: float) -> None:
    from fpdf.drawing import DeviceGray, PaintedPath
    from fpdf.enums import PathPaintRule

    path = PaintedPath()
    for run in runs_of(curve):
        path.move_to(run[0][0], height - run[0][1])
        for start, end in _segments(run, curve.closed):
            for point in _beziers(start, end):
                if len(point) == 2:
                    path.line_to(point[0], height - point[1])
                else:
                    path.curve_to(*(height - c if i % 2 else c for i, c in enumerate(point)))
        if curve.closed:
            path.close()
    pen, style = PENS[curve.pen], path.style
    style.auto_close = False
    style.stroke_width = pen.width
    style.stroke_color = DeviceGray(0) if pen.width else None
    style.fill_color = DeviceGray(GREYS[curve.fill] / 255) if curve.fill != "none" else None
    style.stroke_dash_pattern = list(pen.dashes) or None
    style.stroke_cap_style = "butt" if pen.dashes else "round"
    style.stroke_join_style = "round"
    if pen.width and curve.fill != "none":
        style.paint_rule = PathPaintRule.STROKE_FILL_EVENODD
    elif pen.width:
        style.paint_rule = PathPaintRule.STROKE
    else:
        style.paint_rule = PathPaintRule.FILL_EVENODD
    with paper.drawing_context() as page:
        page.add_item(path, False)  # not copied: nothing else holds it


def _beziers(start: Vertex, end: Vertex) -> list[tuple[float, ...]]:
    """A segment as line or cubic pieces of at most 45 deg: (x, y) or (x1, y1, x2, y2, x, y).

    The handle 4/3 tan(sweep/4) is the usual one; over 45 deg its error is under 5e-6 of the radius.
    """
    if not start[2] or math.hypot(end[0] - start[0], end[1] - start[1]) < 1e-9:
        return [end[:2]]
    cx, cy, radius, begin, sweep = arc_of(start[:2], end[:2], start[2])
    count = max(1, math.ceil(abs(sweep) / (math.pi / 4) - 1e-9))
    handle, pieces = 4 / 3 * math.tan(sweep / count / 4) * radius, []
    for k in range(count):
        a, b = begin + sweep * k / count, begin + sweep * (k + 1) / count
        ax, ay, bx, by = math.cos(a), math.sin(a), math.cos(b), math.sin(b)
        pieces.append(
            (
                cx + radius * ax - handle * ay, cy + radius * ay + handle * ax,
                cx + radius * bx + handle * by, cy + radius * by - handle * bx,
                cx + radius * bx, cy + radius * by,
            )
        )  # fmt: skip
    return pieces  # type: ignore[return-value]


def _pdf_text(paper: Any, text: Text, height: float) -> None:
    words, x, y = printable(text.words), text.at[0], height - text.at[1]
    paper.set_font("Helvetica", "B" if text.bold else "", text.size / 25.4 * 72)
    paper.set_text_color(0)
    shift = {"start": 0.0, "middle": text.width / 2, "end": text.width}[text.anchor]
    if text.back:
        corners = tuple((cx, cy, 0.0) for cx, cy in text.box(0.4))
        _pdf_curve(paper, Curve(corners, closed=True, pen="none", fill="white"), height)
    if text.turn:
        with paper.rotation(text.turn, x, y):
            paper.text(x - shift, y, words)
    else:
        paper.text(x - shift, y, words)


def runs_of(curve: Curve) -> list[Sequence[Vertex]]:
    """The curve's runs: its vertices split where the pen is lifted."""
    runs: list[list[Vertex]] = [[]]
    for vertex in curve.vertices:
        if math.isnan(vertex[0]):
            runs.append([])
        else:
            runs[-1].append(vertex)
    return [run for run in runs if run]


def _segments(run: Sequence[Vertex], closed: bool) -> list[tuple[Vertex, Vertex]]:
    pairs = list(zip(run, run[1:], strict=False))
    if closed and run[-1][2]:  # a last straight segment is what closing draws by itself
        pairs.append((run[-1], run[0]))
    return pairs


def _n(number: float) -> str:
    text = f"{number:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
