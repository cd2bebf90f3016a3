"""What is written on a drawing: dimensions, leaders, axes, view arrows, frame, title block, tables.

In       paper points [mm] and finished words.
Out      tuples of marks (drawing.py); every maker is a pure function.
Not here what to dimension (section.py, plan_view.py).

Habits of ISO 129 (dimensions), ISO 7200 (title block) and ISO 5457 (frame), as far as remembered.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from moldplan.report.drawing import (
    TEXT,
    Anchor,
    Curve,
    Mark,
    Point,
    Text,
    circle,
    fitted,
    line,
    polyline,
    rectangle,
    text_width,
    wrapped,
)

ARROW = 2.6  # length of an arrow head [mm]
MARGIN = 10.0  # sheet edge to frame
BLOCK = 24.0  # height of the title block
A4 = (210.0, 297.0)


def arrow_head(tip: Point, way: float) -> Curve:
    """A filled head at `tip` pointing along `way` [rad]."""
    half = math.radians(9)
    feet = [(tip[0] - ARROW * math.cos(way + s), tip[1] - ARROW * math.sin(way + s)) for s in (half, -half)]
    return polyline([tip, *feet], "none", closed=True, fill="black")


def dimension(start: Point, end: Point, words: str, *, shift: float, turn: float = 0.0, beyond: float = 0.0,
              half: bool = False, clear: float = 0.0) -> tuple[Mark, ...]:  # fmt: skip
    """A linear dimension between two points, measured along `turn` [deg], its line `shift` [mm] to the left.

    The line stands `shift` beyond the further of the two points. Words that do not fit between the arrows stand beside
    the line, past `end`, with the arrows outside. `half`: only the far half of a diameter is drawn: no head and no
    extension line at `start`, the line running `beyond` past it. `clear`: words beside the line stand at least so far
    past `end`. No words: only the lines.
    """
    own = _Own(math.radians(turn))
    a, b = own.of(start), own.of(end)
    sign = 1.0 if shift >= 0 else -1.0
    level = sign * max(sign * a[1], sign * b[1]) + shift
    marks: list[Mark] = []
    for k, (s, t) in enumerate((a, b)):
        if abs(level - t) > 1.6 and not (half and k == 0):
            marks.append(line(own.back(s, t + sign * 0.8), own.back(s, level + sign * 1.4)))
    gone = math.copysign(1.0, b[0] - a[0])  # +1: `end` lies further along than `start`
    outside = not half and abs(b[0] - a[0]) < 2 * ARROW + 2
    tails = (ARROW + 2.5, ARROW + 2.5) if outside else (beyond, 0.0)
    marks.append(line(own.back(a[0] - gone * tails[0], level), own.back(b[0] + gone * tails[1], level)))
    way = own.turn + (0.0 if gone > 0 else math.pi)
    if not half:
        marks.append(arrow_head(own.back(a[0], level), way + (0.0 if outside else math.pi)))
    marks.append(arrow_head(own.back(b[0], level), way + (math.pi if outside else 0.0)))
    if not words:
        return tuple(marks)
    upright = own.turn if -math.pi / 2 < own.turn <= math.pi / 2 + 1e-9 else own.turn + math.pi
    turned, above = math.degrees(upright), 1.0 if upright == own.turn else -1.0
    if abs(b[0] - a[0]) + (beyond if half else 0) >= text_width(words) * TEXT + 2 * ARROW:
        middle = own.back((a[0] + b[0]) / 2, level + above * 1.1)
        return (*marks, Text(middle, words, anchor="middle", turn=turned))
    reach = gone * max(ARROW + 3.5 if outside else 1.5, clear)
    if half and clear > 3:
        marks.append(line(own.back(b[0], level), own.back(b[0] + reach - gone, level)))
    spot = own.back(b[0] + reach, level - above * 0.27 * TEXT)
    return (*marks, Text(spot, words, anchor="start" if above * gone > 0 else "end", turn=turned))


@dataclass(frozen=True)
class _Own:
    """A dimension's own axes: along its line, and to the left of it; `turn` [rad] from the paper's."""

    turn: float

    def of(self, at: Point) -> Point:
        c, s = math.cos(self.turn), math.sin(self.turn)
        return (at[0] * c + at[1] * s, at[1] * c - at[0] * s)

    def back(self, s: float, t: float) -> Point:
        """The point on paper that lies `s` along and `t` to the left."""
        return (s * math.cos(self.turn) - t * math.sin(self.turn), s * math.sin(self.turn) + t * math.cos(self.turn))


def dimension_or_tip(start: Point, end: Point, words: str, *, shift: float
                     ) -> tuple[tuple[Mark, ...], list[tuple[Point, str]]]:  # fmt: skip
    """An upright dimension to the right of two points; where its words have no room, the place to name it from."""
    fits = abs(end[1] - start[1]) >= text_width(words) * TEXT + 2 * ARROW
    marks = dimension(start, end, words if fits else "", shift=-shift, turn=90)
    spot = (max(start[0], end[0]) + shift, (start[1] + end[1]) / 2)
    return marks, [] if fits else [(spot, words)]


def leader(tip: Point, elbow: Point, words: Sequence[str], *, side: Anchor = "start", dot: bool = True
           ) -> tuple[Mark, ...]:  # fmt: skip
    """A line from a dot (or an arrow) at `tip` to `elbow`, with lines of words beside its short level end."""
    way = 1.0 if side == "start" else -1.0
    shelf = (elbow[0] + way * 2.5, elbow[1])
    head: Mark = circle(tip, 0.55, "none", "black")
    if not dot:
        head = arrow_head(tip, math.atan2(tip[1] - elbow[1], tip[0] - elbow[0]))
    marks: list[Mark] = [head, polyline([tip, elbow, shelf])]
    for k, row in enumerate(words):
        marks.append(Text((shelf[0] + way * 1.0, elbow[1] - 0.27 * TEXT - k * 1.3 * TEXT), row, anchor=side))
    return tuple(marks)


def axis_line(start: Point, end: Point) -> tuple[Mark, ...]:
    """A chain line."""
    return (line(start, end, "axis"),)


def halved(at: Point, turn: float = 90.0) -> tuple[Mark, ...]:
    """Two short strokes across an axis: only one half of a symmetrical thing is drawn."""
    along = (math.cos(math.radians(turn)), math.sin(math.radians(turn)))
    across, marks = (-along[1], along[0]), []
    for k in (-0.5, 0.5):
        x, y = at[0] + along[0] * k * 1.4, at[1] + along[1] * k * 1.4
        marks.append(line((x - across[0] * 2.2, y - across[1] * 2.2), (x + across[0] * 2.2, y + across[1] * 2.2)))
    return tuple(marks)


def break_line(low: Point, high: Point) -> tuple[Mark, ...]:
    """A thin line with a zigzag: the thing goes on, the drawing does not."""
    dx, dy = high[0] - low[0], high[1] - low[1]
    length = math.hypot(dx, dy) or 1.0
    ux, uy = dx / length, dy / length

    def at(s: float, t: float) -> Point:
        return (low[0] + ux * s - uy * t, low[1] + uy * s + ux * t)

    middle, over = length / 2, min(1.5, length / 4)
    steps = [(0, 0), (middle - over, 0), (middle - over / 2, over), (middle + over / 2, -over), (middle + over, 0)]
    return (polyline([at(s, t) for s, t in (*steps, (length, 0))]),)


def view_arrow(at: Point, words: str, turn: float | None, *, away: bool = True) -> tuple[Mark, ...]:
    """FWD or UP: an arrow from `at` along `turn` [deg]; turn None: into the sheet (a cross in a ring) or, with
    `away` False, out of it (a dot in a ring)."""
    if turn is None:
        ring: list[Mark] = [circle(at, 2.0)]
        if away:
            r = 2.0 * math.sqrt(0.5)
            ring += [line((at[0] - r, at[1] - r), (at[0] + r, at[1] + r)),
                     line((at[0] - r, at[1] + r), (at[0] + r, at[1] - r))]  # fmt: skip
        else:
            ring.append(circle(at, 0.6, "none", "black"))
        return (*ring, Text((at[0] + 3.2, at[1] - 0.27 * TEXT), words, bold=True))
    rad, length = math.radians(turn), 11.0
    tip = (at[0] + length * math.cos(rad), at[1] + length * math.sin(rad))
    reach = 1.6 + (abs(math.cos(rad)) * text_width(words, True) * TEXT / 2 + abs(math.sin(rad)) * TEXT / 2)
    spot = (tip[0] + reach * math.cos(rad), tip[1] + reach * math.sin(rad) - 0.27 * TEXT)
    return (line(at, tip), arrow_head(tip, rad), Text(spot, words, anchor="middle", bold=True))


@dataclass(frozen=True, kw_only=True)
class Title:
    """What stands in the title block. `hand`: "port", "starboard", "port, starboard mirrored" or "as drawn"."""

    title: str
    part: str
    drawing: str
    revision: str
    scale: str
    hand: str
    units: str
    sheet: str = "1 of 1"
    file: str = ""


def frame(width: float, height: float, title: Title) -> tuple[Mark, ...]:
    """The sheet's frame with its title block along the lower edge."""
    left, right, low = MARGIN, width - MARGIN, MARGIN
    marks: list[Mark] = [
        rectangle((left, low), (right, height - MARGIN), "wide"),
        line((left, low + BLOCK), (right, low + BLOCK), "wide"),
        line((left, low + BLOCK / 2), (right, low + BLOCK / 2)),
    ]
    across = right - left
    upper = [(0.58, "Title", title.title), (0.42, "Drawing", title.drawing)]
    long = text_width(title.hand, True) * 4.0 > 0.17 * across - 3
    lower = [
        (0.25 if long else 0.30, "Part", title.part),
        (0.28 if long else 0.17, "Hand", title.hand),
        (0.07 if long else 0.11, "Rev.", title.revision),
        (0.13, "Scale", title.scale),
        (0.15 if long else 0.17, "Units", title.units),
        (0.12, "Sheet", title.sheet),
    ]
    for cells, base in ((upper, low + BLOCK / 2), (lower, low)):
        x = left
        for share, label, words in cells:
            wide = share * across
            marks.append(Text((x + 1.5, base + BLOCK / 2 - 4.0), label, size=2.8))
            marks.append(Text((x + 1.5, base + 2.4), fitted(words, wide - 3, 4.0, True), size=4.0, bold=True))
            x += wide
            if x < right - 1:
                marks.append(line((x, base), (x, base + BLOCK / 2)))
    return tuple(marks)


def free_area(width: float, height: float) -> tuple[Point, Point]:
    """Lower left and upper right of what the frame leaves for drawing."""
    return (MARGIN + 4, MARGIN + BLOCK + 4), (width - MARGIN - 4, height - MARGIN - 4)


@dataclass(frozen=True)
class Column:
    """One column of a table: heading, share of the width, and where its words stand."""

    heading: str
    share: float
    anchor: Anchor = "start"


def table(top_left: Point, width: float, heading: str, columns: Sequence[Column], rows: Sequence[Sequence[str]], *,
          strong: Sequence[int] = (), size: float = TEXT) -> tuple[tuple[Mark, ...], float]:  # fmt: skip
    """A ruled table; words wrap in their cell. Returns its marks and its height [mm]. `strong`: rows in bold."""
    total = sum(column.share for column in columns)
    wide = [column.share / total * width for column in columns]
    left = [top_left[0] + sum(wide[:k]) for k in range(len(wide))]
    pitch, y = size * 1.28, top_left[1]
    marks: list[Mark] = []
    for k, row in enumerate(wrapped(heading, width, size + 0.5, True)):
        marks.append(Text((top_left[0], y - (size + 0.5) * (0.8 + 1.25 * k)), row, size=size + 0.5, bold=True))
    y -= (size + 0.5) * 1.25 * len(wrapped(heading, width, size + 0.5, True)) + 0.9
    marks.append(line((top_left[0], y), (top_left[0] + width, y), "wide"))
    for n, cells in enumerate([[column.heading for column in columns], *rows]):
        bold = n == 0 or n - 1 in strong
        split = [wrapped(cell, w - 2.0, size, bold) for cell, w in zip(cells, wide, strict=True)]
        for column, x, w, lines in zip(columns, left, wide, split, strict=True):
            spot = {"start": x + 1.0, "middle": x + w / 2, "end": x + w - 1.0}[column.anchor]
            for k, words in enumerate(lines):
                if words:
                    marks.append(Text((spot, y - 0.35 * pitch - (k + 0.62) * pitch), words, size, column.anchor,
                                      bold=bold))  # fmt: skip
        y -= pitch * max(map(len, split)) + 0.5 * pitch
        marks.append(line((top_left[0], y), (top_left[0] + width, y), "wide" if n in (0, len(rows)) else "narrow"))
    return tuple(marks), top_left[1] - y


def scale_word(scale: float) -> str:
    """0.2 -> "1:5", 2 -> "2:1"."""
    return f"{scale:g}:1" if scale >= 1 else f"1:{round(1 / scale, 3):g}"
