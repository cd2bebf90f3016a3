"""A body as lifts of sheet: slabs between level planes of its own axes.

In       a Shaped in its own axes (z = the sheets' normal), the level of the lowest sheet, the sheet's thickness.
Out      one Shaped a lift, lowest first, with the roles of the body it came from, and upper face, lower face.
Not here which of a lift's two outlines is cut (cut/outline.py).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from moldplan.shape.body import Shaped, split_level


@dataclass(frozen=True)
class Lift:
    """One sheet of a stack: its solid, and the levels it fills (the top one may be planed down) [mm]."""

    shaped: Shaped
    low: float
    high: float


def lifts(whole: Shaped, *, low: float, high: float, sheet: float) -> tuple[Lift, ...]:
    """Cut a body into lifts of `sheet` thickness from `low` up to `high`; what is left over makes a thinner last one.

    A remainder under 0.05 mm is not a lift of its own: it goes with the one below.
    """
    count = max(math.ceil((high - low - 0.05) / sheet), 1)
    levels = [low + number * sheet for number in range(1, count)]
    bounds = [low, *levels, high]
    slabs = zip(split_level(whole, levels), bounds[:-1], bounds[1:], strict=True)
    return tuple(Lift(part, bottom, top) for part, bottom, top in slabs if part is not None)
