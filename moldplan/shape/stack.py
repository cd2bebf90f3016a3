"""A body as lifts of sheet: slabs between level planes of its own axes.

In       a Shaped in its own axes (z = the sheets' normal), the level of the lowest sheet, the sheet's thickness.
Out      one Shaped a lift, lowest first, with the roles of the body it came from.
Not here which of a lift's two outlines is cut (cut/outline.py).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from moldplan.shape.body import Frame, Shaped, block


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
    box = whole.solid.BoundingBox()
    margin = 10.0
    length, width = box.xmax - box.xmin + 2 * margin, box.ymax - box.ymin + 2 * margin
    count = max(math.ceil((high - low - 0.05) / sheet), 1)
    made = []
    for number in range(count):
        bottom = low + number * sheet
        top = high if number == count - 1 else bottom + sheet
        slab = block(length, width, top - bottom).renamed({"top": "upper face", "underside": "lower face"})
        one = whole.common(slab.moved(Frame((box.xmin - margin, box.ymin - margin, bottom))))
        if one.solid.Volume() > 1e-6:
            made.append(Lift(one, bottom, top))
    return tuple(made)
