"""Axes of a graph on paper: ticks at round numbers, names, and words put where they lie on nothing.

In       spans of two quantities, a rectangle on paper [mm].
Out      Axes: maps values to paper and draws itself; sheet(): a landscape sheet round a graph; clear_words().
Not here what is plotted (hose_profile.py, emptying_curve.py).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from moldplan.quantity import plain
from moldplan.report.annotate import A4, Title, frame, free_area
from moldplan.report.drawing import TEXT, Drawing, Mark, Point, Text, clashes, line, polyline, rectangle, wrapped
from moldplan.report.subject import Plan

LAID = (A4[1], A4[0])
SIDE = 84.0  # mm at the right for words
STEPS = (1.0, 2.0, 5.0, 10.0)


@dataclass(frozen=True, kw_only=True)
class Axes:
    """`across`, `upward`: the spans of the values; `low`, `high`: corners of the graph on paper [mm]."""

    across: tuple[float, float]
    upward: tuple[float, float]
    low: Point
    high: Point

    def __call__(self, u: float, v: float) -> Point:
        spans = zip((u, v), (self.across, self.upward), self.low, self.high, strict=True)
        x, y = (a + (w - s[0]) / (s[1] - s[0]) * (b - a) for w, s, a, b in spans)
        return x, y

    def marks(self, across: str, upward: str) -> list[Mark]:
        """The rectangle, its ticks with their numbers, the names of both quantities."""
        found: list[Mark] = [rectangle(self.low, self.high)]
        for u in round_numbers(self.across, 8):
            x, y = self(u, self.upward[0])
            found += [line((x, y), (x, y + 1.5)), Text((x, y - 5), plain(u, 3), anchor="middle")]
        for v in round_numbers(self.upward, 8):
            x, y = self(self.across[0], v)
            found += [line((x, y), (x + 1.5, y)), Text((x - 2.6, y - TEXT * 0.3), plain(v, 3), anchor="end")]
        middle = (self.low[1] + self.high[1]) / 2
        return [*found, Text(((self.low[0] + self.high[0]) / 2, self.low[1] - 11), across, anchor="middle"),
                Text((self.low[0] - 15, middle), upward, anchor="middle", turn=90)]


def round_numbers(span: tuple[float, float], most: int) -> list[float]:
    """Round numbers within a span, no more than `most` and one."""
    rough = (span[1] - span[0]) / most
    ten = 10.0 ** math.floor(math.log10(rough))
    step = next(s * ten for s in STEPS if s * ten >= rough * (1 - 1e-9))
    return [k * step for k in range(math.ceil(span[0] / step - 1e-9), math.floor(span[1] / step + 1e-9) + 1)]


def area() -> tuple[Point, Point]:
    """Where a graph stands on its sheet."""
    (left, low), (right, high) = free_area(*LAID)
    return (left + 20, low + 14), (right - SIDE - 4, high - 12)


def clear_words(marks: Sequence[Mark], at: Point, words: str, *, bold: bool = False) -> list[Text]:
    """Words beside a place where they lie on nothing; none when there is no such spot."""
    spots = [(x * reach, y * reach) for reach in (2.5, 5.0, 9.0, 14.0) for x, y in ((0, 1), (1, 0), (-1, 0), (0, -1))]
    before = len(clashes(Drawing(*LAID, tuple(marks), "")))
    for dx, dy in spots:
        anchor = "middle" if not dx else "start" if dx > 0 else "end"
        text = Text((at[0] + dx, at[1] + dy - TEXT * 0.35), words, anchor=anchor, bold=bold)  # type: ignore[arg-type]
        if len(clashes(Drawing(*LAID, (*marks, text), ""))) == before:
            return [text]
    return []


def sheet(plan: Plan, marks: Sequence[Mark], *, part: str, name: str, said: Sequence[str], about: str,
          keys: Sequence[tuple[str, str]] = ()) -> Drawing:  # fmt: skip
    """A landscape sheet: heading, the graph, line samples `keys` (pen, words) and paragraphs `said` beside it."""
    (left, _), (right, high) = free_area(*LAID)
    x, y = right - SIDE + 4, high - TEXT
    out: list[Mark] = [Text((left, high - TEXT), f"{part}: {name}", 4.2, bold=True)]
    for pen, words in keys:
        out.append(polyline([(x, y + 1.2), (x + 12, y + 1.2)], pen))  # type: ignore[arg-type]
        for row in wrapped(words, SIDE - 19):
            out.append(Text((x + 15, y), row))
            y -= TEXT * 1.4
    y -= 2
    for words in said:
        for row in wrapped(words, SIDE - 4):
            out.append(Text((x, y), row))
            y -= TEXT * 1.4
        y -= 2
    title = Title(title=plan.spec.title, part=part, drawing=name, revision=plan.spec.revision, scale="not to scale",
                  hand="as drawn", units="mm")  # fmt: skip
    return Drawing(*LAID, (*frame(*LAID, title), *marks, *out), f"{part}: {name.lower()}", about)
