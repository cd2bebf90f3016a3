"""The insert of a seat, whole, cut through its axis: the discs in their order with the sizes each is cut to.

In       a finished plan, a stand with tools, two corners on the paper.
Out      view(): name, scale, marks, description.
Not here the seat it shapes (section.py), an insert that is built of frames (framed_view.py).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from moldplan.report import framed_view
from moldplan.report.annotate import Column, dimension, scale_word, table
from moldplan.report.drawing import TEXT, Mark, Point, Text, View, flattened, line
from moldplan.report.place import placed
from moldplan.report.scene import Cut, arrows, axial_plane, drawn, meet
from moldplan.report.subject import Plan, size
from moldplan.shape.assembly import Stand

SCALES = (2.0, 1.0, 0.5, 0.2, 0.1)
COLUMNS = (Column("disc", 46), Column("stock", 26), Column("thick", 16, "end"), Column("lower Ø", 20, "end"),
           Column("upper Ø", 20, "end"), Column("to do", 60))  # fmt: skip
Extent = tuple[float, float, float, float]  # low v, high v, lower radius, upper radius


def view(plan: Plan, stand: Stand, low: Point, high: Point) -> tuple[str, str, list[Mark], str]:
    """The insert as it is stacked, with a table of its discs; one of frames has a view of its own."""
    if stand.frames:
        return framed_view.view(plan, stand, low, high)
    tools = [plan.assembly.body(name) for name in stand.tools]
    window = axial_plane(plan, stand, (-1e4, -1e4), (1e4, 1e4))
    cuts = meet(plan, tools, window)
    extents = [_extent([p for loop in cut.loops for p in flattened(loop, closed=True)]) for cut in cuts]
    if not extents:
        return "Seat, insert", "none", [], ""
    wide = max(max(e[2], e[3]) for e in extents)
    bottom, top = min(e[0] for e in extents), max(e[1] for e in extents)
    room = (high[0] - low[0] - 58, 80.0)
    scale = next((s for s in SCALES if 2 * wide * s <= room[0] and (top - bottom) * s <= room[1]), SCALES[-1])
    middle = low[0] + 8 + wide * scale
    on = View(scale, (middle, high[1] - 34 - (top - bottom) * scale), (0.0, bottom))
    marks: list[Mark] = [*drawn(cuts, window, on)]
    marks.append(line((middle, on(0, bottom)[1] - 5), (middle, on(0, top)[1] + 6), "axis"))
    heading = f"Insert, section through the axis, {scale_word(scale)}"
    marks.append(Text((low[0], high[1] - TEXT), heading, 4.2, bold=True))
    first, last = extents[0], extents[-1]
    marks += dimension(on(-first[2], bottom), on(first[2], bottom), f"Ø {size(plan, 2 * first[2])} lowest face",
                       shift=-12)  # fmt: skip
    marks += dimension(on(-last[3], top), on(last[3], top), f"Ø {size(plan, 2 * last[3])} highest face", shift=9)
    edge = on(wide, 0)[0]
    marks += dimension((edge, on(0, bottom)[1]), (edge, on(0, top)[1]), size(plan, top - bottom), shift=-9, turn=90)
    marks += arrows(window, (high[0] - 20, high[1] - 17))
    # off the axis and clear of holes: three quarters of the way out
    tips = [(on(0.55 * min(e[2], e[3]), (e[0] + e[1]) / 2), f"{n}: {cut.body.stock or cut.body.kind}")
            for n, (cut, e) in enumerate(zip(cuts, extents, strict=True), 1)]  # fmt: skip
    marks += placed(marks, tips, column=edge + 20, top=high[1] - 26, low=on(0, bottom)[1] - 20)
    rows = [
        [f"{n}, {cut.body.name.rpartition('.')[2]}", cut.body.stock or "packer", size(plan, e[1] - e[0], 2),
         size(plan, 2 * e[2]), size(plan, 2 * e[3]), "; ".join(cut.body.notes)]
        for n, (cut, e) in enumerate(zip(cuts, extents, strict=True), 1)]  # fmt: skip
    told = "Discs, lowest first [mm]: cut to the larger Ø, dress to the smaller"
    told += f"; lower edge rounded R {size(plan, rounded)}" if (rounded := _rounding(cuts)) else ""
    under, _ = table((low[0], on(0, bottom)[1] - 26), high[0] - low[0], told, COLUMNS, rows)
    word = scale_word(scale)
    return "Seat, insert", word, [*marks, *under], f"The insert of {stand.name} cut through its axis, scale {word}."


def _rounding(cuts: Sequence[Cut]) -> float | None:
    """Radius of the rounded lower edge: the largest arc of the section; None where it is square."""
    radii = [math.hypot(x2 - x, y2 - y) * (1 + bulge**2) / (4 * abs(bulge))
             for cut in cuts for loop in cut.loops
             for (x, y, bulge), (x2, y2, _) in zip(loop, (*loop[1:], loop[0]), strict=True) if bulge]  # fmt: skip
    return max(radii, default=None)


def _extent(points: list[Point]) -> Extent:
    """Levels of a disc and its radii at them, the rounded edge of the lowest taken as if it were square."""
    low, high = min(p[1] for p in points), max(p[1] for p in points)

    def radius(level: float) -> float:
        return max(abs(p[0]) for p in points if abs(p[1] - level) < 0.01)

    return low, high, radius(low), radius(high)
