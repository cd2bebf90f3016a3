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

from moldplan.cut.loop import segments
from moldplan.cut.piece import Loop, Point, Sheet, Stage
from moldplan.cut.stages import DOWEL
from moldplan.spec.model import Cutter

ARM = 12.0  # mm, longest stroke of the mark
LEAST = 4.0  # mm of free margin under which the mark lies on the sheet's edge instead


def free_margin(cutter: Cutter) -> float:
    """What the cutter leaves of the edge margin [mm]."""
    return cutter.edge_margin - cutter.diameter / 2 - 1


def corner(sheet: Sheet) -> Point:
    """The corner of the sheet that its datum mark stands at [mm]."""
    if sheet.edge is None:
        return (0.0, 0.0)
    return min((s.start for s in segments(sheet.edge)), key=lambda p: (round(math.hypot(*p), 6), p))


def mark(sheet: Sheet, cutter: Cutter) -> Sequence[Point]:
    """The mark's stroke: a triangle in the corner's free margin; with no room there, or on a part-used sheet whose
    edges run askew, along the two edges that meet at the corner."""
    x, y = corner(sheet)
    if sheet.edge is None and free_margin(cutter) >= LEAST:
        arm = min(free_margin(cutter), ARM)
        return ((1, arm), (1, 1), (arm, 1), (1, arm))
    walk = segments(sheet.outline)
    after = next(s for s in walk if s.start == (x, y))
    before = next(s for s in walk if s.end == (x, y))
    return (_along((x, y), before.start), (x, y), _along((x, y), after.end))


def _along(at: Point, to: Point) -> Point:
    share = min(ARM / math.dist(at, to), 1.0)
    return (at[0] + share * (to[0] - at[0]), at[1] + share * (to[1] - at[1]))


def holes(spots: Sequence[Point]) -> list[Loop]:
    """Dowel holes as circles."""
    return [Loop(circle=(*spot, DOWEL / 2)) for spot in spots]


def datum_words(sheet: Sheet) -> str:
    """Which corner is the datum, and where its mark stands."""
    x, y = corner(sheet)
    where = "" if (x, y) == (0, 0) else f"; the mark stands at {x:.1f}, {y:.1f}, the sheet's corner nearest to it"
    of = "the sheet" if sheet.edge is None else "the box round the sheet"
    return f"lower left corner of {of}, 0,0; x along the sheet's length; marked on datum-mark{where}"


def stage_words(sheet: Sheet, of: Sequence[Stage]) -> list[str]:
    """How the sheet lies on the bed in the stage that this file cuts, and what it is pinned on."""
    if not sheet.stages:
        return []
    (stage,) = sheet.stages
    number, axis = of.index(stage) + 1 if stage in of else 1, "xy"[stage.axis]
    lines = [
        f"Stage      {number} of {max(len(of), 1)}: {axis} from {stage.low:.1f} to {stage.high:.1f} mm of the sheet",
        "           lies over the bed; hold up what hangs over its ends",
    ]
    if stage.pins:
        lines += [
            f"Pins       at {_spots(stage.pins)}: set the zero so that both lie over the bed, drill",
            f"           {DOWEL:g} mm into the bed there before the sheet is laid on, put dowels in, and lay the sheet",
            "           with its own dowel holes over them; these places are the same in every file of the sheet",
        ]
    if stage.drill:
        lines.append(f"Dowels     {DOWEL:g} mm through the sheet at {_spots(stage.drill)}: the next stage's pins")
    lines.append("           how true two stages meet is the shop's to prove; no piece is cut in both")
    return lines


def _spots(spots: Sequence[Point]) -> str:
    return " and ".join(f"{x:.1f}, {y:.1f}" for x, y in spots)
