"""Labels with leaders, placed so that no words stand on a line and no leader runs through words.

In       the marks already on the sheet, paper points with their words, a column beside the view.
Out      placed(): leaders and words.
Not here what is labelled.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from moldplan.report.annotate import leader
from moldplan.report.drawing import Anchor, Curve, Mark, Point, Text, flattened

STEP = 6.0  # least distance between two rows [mm]


def placed(marks: Sequence[Mark], tips: Sequence[tuple[Point, str]], *, column: float, top: float, low: float,
           side: Anchor = "start") -> tuple[Mark, ...]:  # fmt: skip
    """One leader and one row of words for each tip, in a column from `top` down to `low` [mm].

    Tips are taken from above down; each gets the row nearest to it, below the row before, whose leader and words are
    clear of everything; if that fails the rows are tried higher and lower. A tip that finds no clear row takes the next
    one down: better a crossing than no name.
    """
    way = 1.0 if side == "start" else -1.0
    best: tuple[int, list[Mark]] | None = None
    tries = [(aside, lift) for aside in (0.0, 6.0) for lift in (4.0, -4.0, -12.0, 12.0, 24.0)]
    for aside, lift in tries:
        taken = _column(marks, _ordered(tips), column + way * aside, top, low, side, lift)
        if best is None or taken[0] < best[0]:
            best = taken
        if taken[0] == 0:
            break
    return tuple(best[1]) if best else ()


def _ordered(tips: Sequence[tuple[Point, str]]) -> list[tuple[Point, str]]:
    return sorted(tips, key=lambda tip: (-round(tip[0][1], 1), tip[0][0]))


def _column(marks: Sequence[Mark], tips: Sequence[tuple[Point, str]], x: float, top: float, low: float, side: Anchor,
            lift: float) -> tuple[int, list[Mark]]:  # fmt: skip
    """The rows of one column, and how many tips found no clear one."""
    words, lines = _obstacles(marks)
    found: list[Mark] = []
    row, missed = top + STEP, 0
    for k, (tip, name) in enumerate(tips):
        lowest = low + STEP * (len(tips) - 1 - k)
        clear = None
        for y in _nearest(tip[1] + lift, row - STEP, lowest):
            mine = leader(tip, (x, y), [name], side=side)
            if not _clash(mine, words, lines):
                clear = (y, mine)
                break
        if clear is None:
            missed += 1
            y = max(min(row - STEP, tip[1]), lowest)
            clear = (y, leader(tip, (x, y), [name], side=side))
        row = clear[0]
        found += clear[1]
        more_words, more_lines = _obstacles(clear[1])
        words, lines = words.union(more_words), lines.union(more_lines)
    return missed, found


def _nearest(wanted: float, top: float, low: float) -> Iterator[float]:
    """Levels between top and low, those nearest to the wanted one first."""
    levels = [top - 1.5 * k for k in range(int(max(top - low, 0) / 1.5) + 1)]
    return iter(sorted(levels, key=lambda y: (abs(y - wanted), y)))


def _obstacles(marks: Sequence[Mark]) -> tuple[Any, Any]:
    from shapely import LineString, Polygon, unary_union

    words = [Polygon(m.box(0.3)) for m in marks if isinstance(m, Text)]
    strokes = [m for m in marks if isinstance(m, Curve) and m.pen not in ("hatch", "none")]
    lines = [LineString(flattened(c.vertices, closed=c.closed) + ([c.vertices[0][:2]] if c.closed else []))
             for c in strokes]  # fmt: skip
    return unary_union(words), unary_union(lines)


def _clash(marks: Sequence[Mark], words: Any, lines: Any) -> bool:
    own_words, own_lines = _obstacles(marks)
    return bool(own_words.intersects(words) or own_words.intersects(lines) or own_lines.intersects(words))
