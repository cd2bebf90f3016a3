"""What is sunk to one depth: the waste between lines, and the islands that stand in it.

In       loops with their depths, as an Outline has them.
Out      which of them are islands; the area sunk to each depth.
Not here finding them on a solid (flat.py), their layers (layers.py).

To one depth everything between the lines is sunk, counted from outside: a line within another of the same depth is an
island. A deeper place within a shallower one has lines of its own: what is sunk at least so deep is all within them.
"""

from __future__ import annotations

from collections.abc import Sequence

from moldplan.cut.loop import area, holds_point, segments
from moldplan.cut.piece import Loop

SAME = 1e-3  # depths nearer than this are one [mm]

Sunk = tuple[Loop, float]


def islands(sunk: Sequence[Sunk]) -> tuple[Sunk, ...]:
    """Those of the loops that stand: each lies within an odd number of others of its depth."""
    return tuple(one for one in sunk if sum(_within(one, other) for other in sunk) % 2)


def pools(sunk: Sequence[Sunk]) -> tuple[Sunk, ...]:
    """Those of the loops that bound waste from outside."""
    stand = islands(sunk)
    return tuple(one for one in sunk if one not in stand)


def sunk_areas(sunk: Sequence[Sunk]) -> dict[float, float]:
    """Area sunk to each depth, or deeper where another loop lies within [mm2]; by depth [mm]."""
    found: dict[float, float] = {}
    stand = islands(sunk)
    for one in sunk:
        found[one[1]] = found.get(one[1], 0.0) + abs(area(one[0])) * (-1 if one in stand else 1)
    return found


def _within(one: Sunk, other: Sunk) -> bool:
    """Whether a loop lies inside another of the same depth."""
    if one is other or abs(one[1] - other[1]) > SAME or abs(area(one[0])) >= abs(area(other[0])):
        return False
    return all(holds_point(other[0], s.middle) for s in segments(one[0]))  # a groove that adjoins has its end on it
