"""Offset tables: the points of a piece's outlines, for marking it on a board with a baseline, a square and a batten.

In       pieces.
Out      Offsets: rows of X and Y [mm, to 0.5] from one end of a baseline, both faces; what they may err by.
Not here the table's file (report/tables.py), the page it is printed on (report/paper_map.py).

Lay the piece's length along the baseline: X runs along it from one end and is never chained, Y square to it. Points on
an arc lie so close that the chord from one to the next leaves it by no more than CHORD; a batten sprung through them
lies closer. Every point is rounded to ROUND, which moves it by no more than 0.36 mm (half of it each way). A whole
circle is given by its middle and radius: a trammel draws it better than a batten.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from moldplan.cut.loop import bounds, moved, segments
from moldplan.cut.piece import Loop, Outline, Piece
from moldplan.cut.segment import Segment, from_point
from moldplan.cut.sunk import islands, pools

CHORD = 0.5  # most that a chord between neighbouring points leaves the arc [mm]; ours
SMOOTH = 5.0  # a turn by more is a corner, and its point is given [deg]; ours
ROUND = 0.5  # points are given to this [mm]; what a pencil and a tape hold

Face = Literal["near", "far"]
Line = Literal["outline", "opening", "far outline", "recess", "bore", "recess from below", "island"]
Next = Literal["straight", "batten", "circle"]


@dataclass(frozen=True, kw_only=True)
class Offset:
    """One point, and how to go on to the next.

    `on`: straight, by batten (on an arc of `radius`; None where the curve is none), or a whole circle of `radius` about
    the point. `face`: near lies up on the sheet, far is the other. `line` and `index` name the loop, `depth` how deep
    it goes where not through [mm]; `number` counts the points of a loop.
    """

    face: Face
    line: Line
    index: int
    depth: float | None
    number: int
    x: float
    y: float
    on: Next
    radius: float | None = None


@dataclass(frozen=True, kw_only=True)
class Offsets:
    """The table of a piece. `turn`: what turns the outline's own axes so that X lies along the baseline [deg];
    `origin`: the baseline's end, in those turned axes; `length`, `width` [mm]: of the piece along and square to it."""

    turn: float
    origin: tuple[float, float]
    length: float
    width: float
    rows: tuple[Offset, ...]


def offsets(piece: Piece, turn: float, *, chord: float = CHORD) -> Offsets:
    """The offset table of a piece whose baseline lies along x once its outline is turned by `turn` [deg].

    The origin is the lower left corner of the box round the turned outer outline. `chord` > 0 [mm].
    """
    low_x, low_y, high_x, high_y = bounds(moved(piece.outline.outer, turn=turn))
    rows = tuple(
        Offset(face=face, line=line, index=index, depth=depth, number=number, x=x, y=y, on=on, radius=radius)
        for face, line, index, depth, loop in _named(piece.outline)
        for number, (x, y, on, radius) in enumerate(_points(moved(loop, turn=turn), chord, low_x, low_y), 1))
    return Offsets(turn=turn, origin=(low_x, low_y), length=high_x - low_x, width=high_y - low_y, rows=rows)


def lengthwise(piece: Piece, turn: float) -> float:
    """`turn`, or a quarter back from it, so that the piece's longer side lies along x [deg]."""
    low_x, low_y, high_x, high_y = bounds(moved(piece.outline.outer, turn=turn))
    return turn if high_x - low_x >= high_y - low_y - 1e-6 else (turn - 90) % 360


def _named(outline: Outline) -> Iterator[tuple[Face, Line, int, float | None, Loop]]:
    """Every loop with its face, what it is, its number among its kind, its depth."""
    flat: tuple[tuple[Face, Line, tuple[Loop, ...]], ...] = (
        ("near", "outline", (outline.outer,)), ("near", "opening", outline.holes), ("far", "far outline", outline.far))
    for face, line, loops in flat:
        for index, loop in enumerate(loops, 1):
            yield face, line, index, None, loop
    deep: tuple[tuple[Face, Line, tuple[tuple[Loop, float], ...]], ...] = (
        ("near", "recess", outline.sinks), ("near", "bore", outline.bores), ("far", "recess from below", outline.under))
    for face, line, sunk in deep:
        for index, (loop, depth) in enumerate(pools(sunk), 1):
            yield face, line, index, round(depth, 1), loop
        for index, (loop, depth) in enumerate(islands(sunk), 1):
            yield face, "island", index, round(depth, 1), loop


def _points(loop: Loop, chord: float, low_x: float, low_y: float) -> Iterator[tuple[float, float, Next, float | None]]:
    """X, Y from the baseline's end, how to go on, radius."""
    if loop.circle is not None:
        x, y, reach = loop.circle
        yield rounded(x - low_x), rounded(y - low_y), "circle", round(reach, 1)
        return
    walk = segments(loop)
    places = _thinned(walk, [(k, step / steps) for k, s in enumerate(walk) for steps in (spans(s, chord),)
                             for step in range(steps)], chord)
    for place, (k, share) in enumerate(places):
        x, y = walk[k].at(share)
        after = places[place + 1] if place + 1 < len(places) else (len(walk), 0.0)
        alone = after[0] == k or after == (k + 1, 0.0)
        straight = alone and walk[k].straight
        radius = round(walk[k].radius, 1) if alone and not straight else None
        yield rounded(x - low_x), rounded(y - low_y), "straight" if straight else "batten", radius


Place = tuple[int, float]  # a segment of a loop and a share of it


def _thinned(walk: Sequence[Segment], places: Sequence[Place], chord: float) -> list[Place]:
    """The places without those that a batten does not need: a free curve comes as many short arcs, and the chord over
    several of them may still lie within `chord` [mm]. Ends of straight lines stay."""
    kept = [places[0]]
    for place, after in zip(places[1:], [*places[2:], (len(walk), 0.0)], strict=True):
        (k, share), corner = place, False
        if not share:
            corner = walk[k].straight or walk[k - 1].straight or _turn(walk[k - 1], walk[k]) > SMOOTH
        if corner or not _along(walk, kept[-1], after, chord):
            kept.append(place)
    return kept


def _turn(a: Segment, b: Segment) -> float:
    """Angle by which b leaves the way of a [deg]."""
    (ax, ay), (bx, by) = a.heading(1.0), b.heading(0.0)
    return math.degrees(abs(math.atan2(ax * by - ay * bx, ax * bx + ay * by)))


def _along(walk: Sequence[Segment], start: Place, end: Place, chord: float) -> bool:
    """Whether the loop from one place to another stays within `chord` of the straight line between them."""
    points = [walk[start[0]].at(start[1])]
    for k in range(start[0], min(end[0], len(walk) - 1) + 1):
        first = start[1] if k == start[0] else 0.0
        last = end[1] if k == end[0] else 1.0
        points += [walk[k].at(first + (last - first) * j / 8) for j in range(1, 9)]
    line = Segment(points[0], points[-1])
    return line.chord > 0 and all(from_point(line, p) <= chord for p in points)


def spans(s: Segment, chord: float = CHORD) -> int:
    """Into how many equal parts an arc is divided so that no chord leaves it by more than `chord` [mm]; a line: 1.

    The sagitta of a chord over the angle a is R (1 - cos(a/2)). Parts are a quarter turn at most.
    """
    if s.straight:
        return 1
    part = min(math.pi / 2, 2 * math.acos(max(-1.0, 1 - chord / s.radius)))
    return max(1, math.ceil(abs(s.sweep) / part - 1e-9))


def rounded(mm: float) -> float:
    """To the half millimetre."""
    return math.floor(mm / ROUND + 0.5) * ROUND + 0.0
