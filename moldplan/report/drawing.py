"""Drawings in millimetres on paper: a few marks that are written as SVG and as PDF from the same list.

In       plain numbers: mm on paper, x to the right, y up, 0,0 the lower left corner of the sheet.
Out      Curve, Region, Text (the only three marks there are), the makers of the common ones (line, polyline, arc,
         circle), View (a scaled window from model to paper) and Drawing, the sheet that holds them.
Not here dimensions, leaders, title block (annotate.py); hatches (hatch.py); writing files (ink.py).

Line kinds follow the habits of ISO 128 as far as remembered: wide for what is cut, narrow for what lies beyond and for
dimensions, dashed for what is hidden, chain for an axis.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    from shapely import Polygon

Point = tuple[float, float]
Vertex = tuple[float, float, float]  # x, y, bulge = tan(sweep / 4) of the segment that leaves it, + counter-clockwise
PenName = Literal["wide", "narrow", "hidden", "sunk", "axis", "hatch", "none"]
Fill = Literal["none", "black", "white", "pale", "mid"]
Anchor = Literal["start", "middle", "end"]
Material = Literal["foam", "board", "skin", "paste", "rubber", "plug", "plain"]


@dataclass(frozen=True)
class Pen:
    """Width [mm] and dashes (line, gap, line, gap ... [mm]; empty: unbroken)."""

    width: float
    dashes: tuple[float, ...] = ()


PENS: dict[str, Pen] = {
    "wide": Pen(0.5),
    "narrow": Pen(0.25),
    "hidden": Pen(0.25, (2.4, 1.2)),
    "sunk": Pen(0.18, (1.0, 0.8)),
    "axis": Pen(0.25, (8.0, 1.2, 0.6, 1.2)),
    "hatch": Pen(0.18),
    "none": Pen(0.0),
}
GREYS: dict[str, int] = {"black": 0, "white": 255, "pale": 236, "mid": 170}
TEXT = 3.6  # mm; 10 pt is 3.53 mm, the least size for a word on paper


@dataclass(frozen=True)
class Curve:
    """A chain of lines and arcs, open or closed, stroked with a pen and filled with a grey."""

    vertices: tuple[Vertex, ...]
    closed: bool = False
    pen: PenName = "narrow"
    fill: Fill = "none"


@dataclass(frozen=True)
class Region:
    """Something cut: closed loops (outer and holes, even-odd), hatched for its material. The outline is drawn apart."""

    loops: tuple[tuple[Vertex, ...], ...]
    material: Material


@dataclass(frozen=True)
class Text:
    """One line of text. `at` is on the baseline, at its start, middle or end; `turn` in deg, counter-clockwise.

    `back`: a white ground behind the letters, for text that stands on a hatch.
    """

    at: Point
    words: str
    size: float = TEXT
    anchor: Anchor = "start"
    turn: float = 0.0
    bold: bool = False
    back: bool = False

    @property
    def width(self) -> float:
        """Length of the line [mm], by the metrics of Helvetica."""
        return text_width(self.words, self.bold) * self.size

    def box(self, grow: float = 0.0) -> tuple[Point, Point, Point, Point]:
        """The corners of the box around the letters, descenders included, grown by `grow` [mm]."""
        left = {"start": 0.0, "middle": -self.width / 2, "end": -self.width}[self.anchor]
        low, high = -0.21 * self.size, 0.74 * self.size  # descender and capital height of Helvetica
        cos, sin = math.cos(math.radians(self.turn)), math.sin(math.radians(self.turn))
        (ox, oy), corners = self.at, []
        for x, y in (
            (left - grow, low - grow),
            (left + self.width + grow, low - grow),
            (left + self.width + grow, high + grow),
            (left - grow, high + grow),
        ):
            corners.append((ox + x * cos - y * sin, oy + x * sin + y * cos))
        return tuple(corners)  # type: ignore[return-value]


Mark = Curve | Region | Text


@dataclass(frozen=True)
class Drawing:
    """One sheet: its size [mm], its marks in drawing order, and what it shows in words for who cannot see it."""

    width: float
    height: float
    marks: tuple[Mark, ...]
    title: str
    description: str = ""
    on_page: bool = True  # False: what the page says better in its own words (tables)

    def with_marks(self, *more: Mark) -> Drawing:
        return replace(self, marks=self.marks + more)

    def texts(self) -> tuple[Text, ...]:
        return tuple(mark for mark in self.marks if isinstance(mark, Text))


@dataclass(frozen=True)
class View:
    """Model to paper: `scale` paper mm per model mm; the model point `origin` lies at the paper point `at`."""

    scale: float
    at: Point
    origin: Point = (0.0, 0.0)

    def __call__(self, u: float, v: float) -> Point:
        return (self.at[0] + (u - self.origin[0]) * self.scale, self.at[1] + (v - self.origin[1]) * self.scale)

    def loop(self, vertices: Iterable[Vertex]) -> tuple[Vertex, ...]:
        return tuple((*self(x, y), bulge) for x, y, bulge in vertices)


def line(start: Point, end: Point, pen: PenName = "narrow") -> Curve:
    """One straight line."""
    return Curve(((*start, 0.0), (*end, 0.0)), pen=pen)


def polyline(points: Sequence[Point], pen: PenName = "narrow", *, closed: bool = False, fill: Fill = "none") -> Curve:
    """Straight lines through points."""
    return Curve(tuple((x, y, 0.0) for x, y in points), closed=closed, pen=pen, fill=fill)


def rectangle(low: Point, high: Point, pen: PenName = "narrow", fill: Fill = "none") -> Curve:
    """An upright rectangle from its lower left to its upper right corner."""
    corners = [low, (high[0], low[1]), high, (low[0], high[1])]
    return polyline(corners, pen, closed=True, fill=fill)


def arc(centre: Point, radius: float, start: float, sweep: float, pen: PenName = "narrow") -> Curve:
    """An arc from `start` over `sweep` [deg], counter-clockwise when positive; under a full turn."""
    pieces = max(1, math.ceil(abs(sweep) / 180.0))
    bulge = math.tan(math.radians(sweep / pieces) / 4)
    turns = [math.radians(start + sweep * i / pieces) for i in range(pieces + 1)]
    points = [(centre[0] + radius * math.cos(t), centre[1] + radius * math.sin(t)) for t in turns]
    return Curve(tuple((x, y, bulge if i < pieces else 0.0) for i, (x, y) in enumerate(points)), pen=pen)


def circle_loop(x: float, y: float, radius: float) -> tuple[Vertex, ...]:
    """A full circle as two half arcs, counter-clockwise."""
    return ((x + radius, y, 1.0), (x - radius, y, 1.0))


def circle(centre: Point, radius: float, pen: PenName = "narrow", fill: Fill = "none") -> Curve:
    """A full circle."""
    return Curve(circle_loop(*centre, radius), closed=True, pen=pen, fill=fill)


def flattened(vertices: Sequence[Vertex], *, closed: bool, sagitta: float = 0.02) -> list[Point]:
    """The chain as points, no chord further than `sagitta` [mm] from its arc."""
    points: list[Point] = []
    last = len(vertices) if closed else len(vertices) - 1
    for i in range(last):
        x, y, bulge = vertices[i]
        ex, ey, _ = vertices[(i + 1) % len(vertices)]
        points.append((x, y))
        if not bulge or math.hypot(ex - x, ey - y) < 1e-9:
            continue
        cx, cy, radius, start, sweep = arc_of((x, y), (ex, ey), bulge)
        step = 2 * math.acos(max(-1.0, 1 - min(sagitta / radius, 1.0))) or 0.1
        count = max(2, math.ceil(abs(sweep) / step))
        for k in range(1, count):
            turn = start + sweep * k / count
            points.append((cx + radius * math.cos(turn), cy + radius * math.sin(turn)))
    if not closed:
        points.append((vertices[-1][0], vertices[-1][1]))
    return points


def arc_of(start: Point, end: Point, bulge: float) -> tuple[float, float, float, float, float]:
    """Centre x, y, radius [mm], start angle and sweep [rad] of a bulged segment.

    Source: bulge = tan(sweep / 4); the sagitta is bulge times half the chord (definition used by DXF polylines).
    """
    sweep = 4 * math.atan(bulge)
    dx, dy = end[0] - start[0], end[1] - start[1]
    rise = (1 - bulge * bulge) / (4 * bulge)  # centre's distance from the chord, over the chord
    cx, cy = (start[0] + end[0]) / 2 - dy * rise, (start[1] + end[1]) / 2 + dx * rise
    return cx, cy, math.hypot(start[0] - cx, start[1] - cy), math.atan2(start[1] - cy, start[0] - cx), sweep


def polygon(loops: Iterable[Sequence[Vertex]]) -> Polygon:
    """The loops as one (even-odd) area for geometry."""
    from shapely import Polygon

    area: Any = Polygon()
    for loop in loops:
        points = flattened(loop, closed=True)
        if len(points) >= 3:
            area = area.symmetric_difference(Polygon(points).buffer(0))
    return area


def clashes(drawing: Drawing, *, gap: float = 0.1) -> list[str]:
    """Where a text stands on another text, on a line, or off the sheet; hatches do not count. Empty when clean."""
    from shapely import LineString, Polygon, STRtree, box

    texts = [t for t in drawing.texts() if t.words.strip()]
    areas = [Polygon(t.box(gap)) for t in texts]
    strokes = [m for m in drawing.marks if isinstance(m, Curve) and m.pen not in ("hatch", "none")]
    lines = [LineString(_run(curve)) for curve in strokes]
    tree, sheet, found = STRtree(lines), box(0, 0, drawing.width, drawing.height), []
    for i, (text, area) in enumerate(zip(texts, areas, strict=True)):
        found += [f"{text.words!r} on {texts[k].words!r}" for k in range(i) if areas[k].intersects(area)]
        for hit in sorted(tree.query(area, predicate="intersects")):
            (x, y), *_ = strokes[hit].vertices[0][:2], None
            found.append(f"{text.words!r} on a {strokes[hit].pen} line from {x:.1f}, {y:.1f}")
        if not sheet.contains(area):
            found.append(f"{text.words!r} off the sheet")
    return found


def _run(curve: Curve) -> list[Point]:
    points = flattened(curve.vertices, closed=curve.closed)
    return [*points, points[0]] if curve.closed else points


def printable(words: str) -> str:
    """The words in the letters a PDF's built-in fonts have (Latin-1): accents dropped, the rest a question mark."""
    import unicodedata

    swaps = {"–": "-", "—": "-", "−": "-", "’": "'", "‘": "'", "“": '"', "”": '"', "…": "...", "≤": "<=", "≥": ">="}
    out = []
    for letter in "".join(swaps.get(letter, letter) for letter in words):
        if letter.encode("latin-1", "ignore"):
            out.append(letter if letter.isprintable() else " ")
        else:
            plain = unicodedata.normalize("NFKD", letter).encode("latin-1", "ignore").decode("latin-1")
            out.append(plain or ("" if unicodedata.combining(letter) else "?"))
    return "".join(out)


@lru_cache(maxsize=4096)
def text_width(words: str, bold: bool = False) -> float:
    """Length of a line of text over its size, by the metrics of Helvetica (bold)."""
    return float(_ruler(bold).get_string_width(printable(words)))


@lru_cache(maxsize=2)
def _ruler(bold: bool) -> Any:
    from fpdf import FPDF

    ruler = FPDF(unit="pt")
    ruler.set_font("Helvetica", "B" if bold else "", 1.0)
    return ruler


def wrapped(words: str, width: float, size: float = TEXT, bold: bool = False) -> list[str]:
    """The words broken into lines no longer than `width` [mm]; a word longer than that is cut."""
    lines: list[str] = []
    for word in words.split():
        while text_width(word, bold) * size > width:
            keep = next(n for n in range(len(word), 0, -1) if n == 1 or text_width(word[:n], bold) * size <= width)
            lines.append(word[:keep])
            word = word[keep:]
            if not word:
                break
        if not word:
            continue
        if lines and text_width(f"{lines[-1]} {word}", bold) * size <= width:
            lines[-1] = f"{lines[-1]} {word}"
        else:
            lines.append(word)
    return lines or [""]


def fitted(words: str, width: float, size: float = TEXT, bold: bool = False) -> str:
    """The words cut to `width` [mm], three stops at the end where something is missing."""
    if text_width(words, bold) * size <= width:
        return words
    for n in range(len(words), 0, -1):
        short = words[:n].rstrip() + "..."
        if text_width(short, bold) * size <= width:
            return short
    return ""
