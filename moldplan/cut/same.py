"""Whether two outlines are one shape: equal but for a turn and a shift, never by a mirror.

In       two Outlines.
Out      the turn that lays the first on the second [deg], or None; the shift that goes with it.
Not here counting equal pieces (outline.py).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

from moldplan.cut.loop import area, moved, segments
from moldplan.cut.piece import Loop, Outline, Point

EQUAL = 0.01  # outlines whose corners lie nearer than this are equal [mm]

Feature = tuple[str, float, Loop]


def same_turned(a: Outline, b: Outline, turns: Sequence[float] | None = None) -> float | None:
    """The turn [deg, counter-clockwise] that lays `a` on `b` with all its openings, recesses and marks; None if none.

    `turns`: only these are allowed; any turn when None.
    """
    mine, theirs = _features(a), _features(b)
    if [(kind, round(depth, 3)) for kind, depth, _ in mine] != [(kind, round(depth, 3)) for kind, depth, _ in theirs]:
        return None
    if abs(abs(area(a.outer)) - abs(area(b.outer))) > 2 * EQUAL * sum(s.length for s in segments(a.outer)):
        return None
    for turn in turns if turns is not None else _candidates(mine, theirs):
        if _lies_on(mine, theirs, turn):
            return turn % 360
    return None


def shift_onto(a: Outline, b: Outline, turn: float) -> Point:
    """How far `a`, turned by `turn` [deg] about its 0,0, is then shifted to lie on `b` [mm]."""
    (ax, ay), (bx, by) = _anchor(moved(a.outer, turn=turn)), _anchor(b.outer)
    return (bx - ax, by - ay)


def _features(outline: Outline) -> list[Feature]:
    """The outer loop first, then all else by kind and depth."""
    rest: list[Feature] = [("hole", 0.0, loop) for loop in outline.holes]
    rest += [("mark", 0.0, loop) for loop in outline.far]
    for kind, sunk in (("bore", outline.bores), ("sink", outline.sinks), ("under", outline.under)):
        rest += [(kind, depth, loop) for loop, depth in sunk]
    return [("outer", 0.0, outline.outer), *sorted(rest, key=lambda f: (f[0], round(f[1], 3)))]


def _anchor(loop: Loop) -> Point:
    """A point that goes with the loop however it is turned."""
    if loop.circle is not None:
        return loop.circle[:2]
    walk = segments(loop)
    whole = sum(s.length for s in walk)
    x = sum(s.length * (s.start[0] + s.end[0] + s.middle[0]) / 3 for s in walk) / whole
    return (x, sum(s.length * (s.start[1] + s.end[1] + s.middle[1]) / 3 for s in walk) / whole)


def _candidates(mine: Sequence[Feature], theirs: Sequence[Feature]) -> Iterator[float]:
    """Turns worth trying: those that lay the first feature with a direction on one like it."""
    for index, (kind, depth, loop) in enumerate(mine):
        like = [o for k, d, o in theirs if k == kind and abs(d - depth) < 1e-3]
        if loop.circle is None:
            for other in like:
                yield from _loop_turns(loop, other)
            return
        (ox, oy), (x, y) = _anchor(mine[0][2]), loop.circle[:2]
        if index and math.hypot(x - ox, y - oy) > EQUAL:
            (px, py) = _anchor(theirs[0][2])
            for other in like:
                if other.circle is not None:
                    qx, qy = other.circle[:2]
                    yield _tidy(math.degrees(math.atan2(qy - py, qx - px) - math.atan2(y - oy, x - ox)))
            return
    yield 0.0  # circles about one centre: every turn is as good


def _loop_turns(a: Loop, b: Loop) -> Iterator[float]:
    mine, theirs = segments(a), segments(b)
    if b.circle is not None or len(mine) != len(theirs):
        return
    for shift in range(len(theirs)):
        other = theirs[shift]
        if abs(other.chord - mine[0].chord) < 2 * EQUAL and abs(other.bulge - mine[0].bulge) < 1e-3:
            (ax, ay), (bx, by) = mine[0].heading(0.5), other.heading(0.5)
            yield _tidy(math.degrees(math.atan2(by, bx) - math.atan2(ay, ax)))


def _tidy(turn: float) -> float:
    quarter = round(turn / 90) * 90.0
    return (quarter if abs(turn - quarter) < 1e-6 else turn) % 360


def _lies_on(mine: Sequence[Feature], theirs: Sequence[Feature], turn: float) -> bool:
    turned = [(kind, depth, moved(loop, turn=turn)) for kind, depth, loop in mine]
    (ax, ay), (bx, by) = _anchor(turned[0][2]), _anchor(theirs[0][2])
    left = list(theirs)
    for kind, depth, loop in turned:
        laid = moved(loop, x=bx - ax, y=by - ay)
        fitting = (f for f in left if f[0] == kind and abs(f[1] - depth) < 1e-3 and _equal(laid, f[2]))
        match = next(fitting, None)
        if match is None:
            return False
        left.remove(match)
    return True


def _equal(a: Loop, b: Loop) -> bool:
    if a.circle is not None or b.circle is not None:
        return a.circle is not None and b.circle is not None and _close(a.circle, b.circle)
    if len(a.vertices) != len(b.vertices):
        return False
    count = len(a.vertices)
    return any(
        all(_close(a.vertices[i], b.vertices[(i + shift) % count]) for i in range(count)) for shift in range(count)
    )


def _close(a: Iterable[float], b: Iterable[float]) -> bool:
    return all(abs(p - q) <= EQUAL for p, q in zip(a, b, strict=True))
