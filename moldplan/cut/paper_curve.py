"""A line or arc as PDF has it: straight, or cubic curves that leave the arc by no more than 0.002 mm.

In       segments [mm].
Out      end points, or two handles and an end point, of each part.
Not here writing them (report/paper.py).
"""

from __future__ import annotations

import math

from moldplan.cut.segment import Segment

STRAYS = 0.002  # most that a curve leaves its arc [mm]; ours: a tenth of the thinnest line a printer makes

Part = tuple[float, ...]  # (x, y) or (x1, y1, x2, y2, x, y)


def curves(s: Segment, strays: float = STRAYS) -> list[Part]:
    """The segment as straight line or cubic parts, without its start."""
    if s.straight:
        return [s.end]
    count = parts(s, strays)
    (cx, cy), radius = s.centre, s.radius
    begin, step = math.atan2(s.start[1] - cy, s.start[0] - cx), s.sweep / count
    handle = 4 / 3 * math.tan(step / 4) * radius
    found: list[Part] = []
    for k in range(count):
        a, b = begin + step * k, begin + step * (k + 1)
        ax, ay = cx + radius * math.cos(a), cy + radius * math.sin(a)
        bx, by = s.end if k == count - 1 else (cx + radius * math.cos(b), cy + radius * math.sin(b))
        found.append((ax - handle * math.sin(a), ay + handle * math.cos(a),
                      bx + handle * math.sin(b), by - handle * math.cos(b), bx, by))
    return found


def parts(s: Segment, strays: float = STRAYS) -> int:
    """Into how many cubics an arc is divided: quarter turns at most, and fewer than `strays` [mm] off it."""
    count = max(1, math.ceil(abs(s.sweep) / (math.pi / 2) - 1e-9))
    while off(s.radius, s.sweep / count) > strays:
        count += 1
    return count


def off(radius: float, sweep: float) -> float:
    """How far the usual cubic leaves an arc over `sweep` [rad] at most: 2/27 R sin^6(sweep/4) / cos^2(sweep/4) [mm].

    Source: the cubic with ends, end tangents and middle on the circle; its radius is greatest at the two places
    between, where this closed form follows (from memory; tests hold it against sampled curves).
    """
    quarter = abs(sweep) / 4
    return 2 / 27 * radius * math.sin(quarter) ** 6 / math.cos(quarter) ** 2
