"""The datum of a sheet: which corner it is, its mark, and in words how a sheet in stages is shifted from pin to pin.

In       a sheet, the cutter.
Out      strokes of the mark; the dowel holes to drill and those to pin on; sentences for the note.
Not here where dowels and stages lie (stages.py), the file (dxf.py).

Every file of a sheet has the same axes: 0,0 is the lower left corner of the box round the sheet. The mark stands at the
corner of the sheet that is nearest to it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from moldplan.cut.loop import holds_point, segments
from moldplan.cut.piece import Loop, Point, Sheet, Stage
from moldplan.cut.stages import DOWEL
from moldplan.spec.model import Cutter

ARM = 12.0  # mm, longest stroke of the mark
LEAST = 2.5  # mm of the margin that must stay beside the cuts for a mark; ours
INSET = 1.0  # mm between the mark and the sheet's edge: on the edge itself it would not be seen


def strip(cutter: Cutter) -> float:
    """How much of the edge margin no cut takes away [mm]."""
    return cutter.edge_margin - cutter.diameter


def corner(sheet: Sheet) -> Point:
    """The corner of the sheet that its datum mark stands at [mm]."""
    if sheet.edge is None:
        return (0.0, 0.0)
    return min((s.start for s in segments(sheet.edge)), key=lambda p: (round(math.hypot(*p), 6), p))


def mark(sheet: Sheet, cutter: Cutter) -> Sequence[Point]:
    """The mark's stroke, inside the sheet and clear of all cuts: a triangle in the corner; on a part-used sheet, whose
    edges run askew, along the two edges that meet there. None where the margin has no room for it."""
    if strip(cutter) < LEAST:
        return ()
    if sheet.edge is None:
        arm = min(2 * strip(cutter) - INSET, ARM)  # its long side, halfway, is the nearest to a piece in the corner
        return ((INSET, arm), (INSET, INSET), (arm, INSET), (INSET, arm))
    at, walk = corner(sheet), segments(sheet.outline)
    before = next(s for s in walk if s.end == at)
    after = next(s for s in walk if s.start == at)
    (ax, ay), (bx, by) = before.heading(1.0), after.heading(0.0)
    open_ = INSET / (1 + ax * bx + ay * by)  # the outline runs counter-clockwise: inside is to the left of both
    x, y = at[0] - (ay + by) * open_, at[1] + (ax + bx) * open_
    back, on = min(ARM, before.length / 2), min(ARM, after.length / 2)
    stroke = ((x - ax * back, y - ay * back), (x, y), (x + bx * on, y + by * on))
    return stroke if all(holds_point(sheet.outline, spot) for spot in stroke) else ()


def holes(spots: Sequence[Point]) -> list[Loop]:
    """Dowel holes as circles."""
    return [Loop(circle=(*spot, DOWEL / 2)) for spot in spots]


def datum_words(sheet: Sheet, cutter: Cutter) -> str:
    """Which corner is the datum, and where its mark stands, or why there is none."""
    x, y = corner(sheet)
    where = "" if (x, y) == (0, 0) else f"; the mark stands at {x:.1f}, {y:.1f}, the sheet's corner nearest to it"
    of = "the sheet" if sheet.edge is None else "the box round the sheet"
    marked = f"marked on datum-mark{where}"
    if not mark(sheet, cutter):
        marked = (f"no mark stands there: a margin of {cutter.edge_margin:g} mm has no room for one beside the cuts, "
                  f"{cutter.diameter + LEAST:g} mm would" if strip(cutter) < LEAST else
                  "no mark stands there: the corner is too narrow for one")  # fmt: skip
    return f"lower left corner of {of}, 0,0; x along the sheet's length; {marked}"


def pinned(sheet: Sheet) -> bool:
    """Whether dowels tie the stages of a sheet together: one that a single stage cuts needs none."""
    return any(stage.drill or stage.pins for stage in sheet.stages)


def stage_words(sheet: Sheet, of: Sequence[Stage]) -> list[str]:
    """How the sheet lies on the bed in the stage that this file cuts, and what it is pinned on."""
    if not sheet.stages:
        return []
    (stage,) = sheet.stages
    number, axis = of.index(stage) + 1 if stage in of else 1, "xy"[stage.axis]
    over = f"{axis} from {stage.low:.1f} to {stage.high:.1f} mm of the sheet"
    if len(of) < 2 and not (stage.pins or stage.drill):
        return [f"Bed        {over} lies over it; hold up what hangs over its ends"]
    lines = [
        f"Stage      {number} of {max(len(of), 1)}: {over}",
        "           lies over the bed; hold up what hangs over its ends",
    ]
    if stage.pins:
        lines += [
            f"Pins       at {_spots(stage.pins)}: set the zero so that both lie over the bed, drill",
            f"           {DOWEL:g} mm into the bed there before the sheet is laid on, put dowels in, and lay the sheet",
            "           with its own dowel holes over them; these places are the same in every file of the sheet",
        ]
    elif number > 1:
        lines.append("Pins       none found a place: nothing ties this stage to the one before; do not cut it so")
    if stage.drill:
        lines.append(f"Dowels     {DOWEL:g} mm through the sheet at {_spots(stage.drill)}: the next stage's pins")
    lines.append("           how true two stages meet is the shop's to prove; no piece is cut in both")
    return lines


def _spots(spots: Sequence[Point]) -> str:
    return " and ".join(f"{x:.1f}, {y:.1f}" for x, y in spots)
