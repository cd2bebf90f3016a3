"""Material that stays between a relief and the next cut, measured on the outlines as they are cut.

In       an outline as designed and as cut.
Out      the least land [mm], and where.
Not here making reliefs (relief.py), judging them (judge.py).

A relief is an arc of the cut outline that the designed one does not have. It may break through to another loop of the
piece (an opening, a recess, a hole) or, through a thin wall, to a far stretch of its own. Two reliefs at the end of one
slot leave a ridge, not a wall: of its own loop only what is much farther along the outline than across counts.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from moldplan.cut.loop import LEAST, holds_point, loops_apart, segments
from moldplan.cut.piece import Loop, Outline, Point
from moldplan.cut.segment import Segment, apart, from_point

ROUND_ABOUT = 3.0  # so many times farther along the outline than across it makes a wall; ours
SAME = 1e-6  # an arc nearer than this to the designed outline is none of a relief [mm]


def least_land(designed: Outline, cut: Outline) -> tuple[float, Point]:
    """The least material between a relief and another cut [mm], and the relief's middle; infinite where there is none.

    Loops that meet as designed (a rebate along an opening) have no wall between them that a relief could break.
    """
    before, after = _loops(designed), _loops(cut)
    best = (math.inf, (0.0, 0.0))
    for index, loop in enumerate(after):
        walk = segments(loop)
        for k, arc in enumerate(walk):
            if arc.straight or loop.circle is not None or _was_there(before[index], arc):
                continue
            gaps = [_across(walk, k)]
            for other, (old, new) in enumerate(zip(before, after, strict=True)):
                edge = 0 in (index, other) and loops_apart(before[index], old, up_to=1.0) > LEAST
                if other != index and (edge or _walled(before[index], old)):
                    gaps.append(min(apart(arc, s) for s in segments(new)))
            best = min(best, (min(gaps), arc.middle))
    return best


def _loops(outline: Outline) -> list[Loop]:
    """Every loop that is cut, the outer one first; in one order before and after reliefs."""
    deep = [loop for loop, _ in (*outline.sinks, *outline.bores, *outline.under, *outline.drilled)]
    return [outline.outer, *outline.holes, *deep]


def _was_there(loop: Loop, arc: Segment) -> bool:
    walk = segments(loop)  # a round relief's middle is the corner itself: it is looked beside it too
    return all(min(from_point(s, arc.at(share)) for s in walk) < SAME for share in (0.25, 0.5, 0.75))


def _walled(a: Loop, b: Loop) -> bool:
    """Whether two loops as designed have a wall between them: they do not meet, and neither lies in the other."""
    if loops_apart(a, b, up_to=1.0) <= LEAST:
        return False
    return not (holds_point(a, segments(b)[0].start) or holds_point(b, segments(a)[0].start))


def _across(walk: Sequence[Segment], k: int) -> float:
    """From one segment of a loop to the nearest that is much farther along the outline than across [mm]."""
    whole = sum(s.length for s in walk)
    least, ahead = math.inf, 0.0
    for step in range(1, len(walk)):
        other = walk[(k + step) % len(walk)]
        behind = whole - walk[k].length - ahead - other.length
        if 1 < step < len(walk) - 1:
            gap = apart(walk[k], other)
            if min(ahead, behind) > ROUND_ABOUT * gap:
                least = min(least, gap)
        ahead += other.length
    return least
