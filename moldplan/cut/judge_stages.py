"""What must hold of a sheet that is cut in stages, measured on the finished outlines.

In       a layout with its stages, its pieces, the cutter.
Out      Findings: every piece cut once, within the bed; dowels in waste that holds, and how far they lie apart.
Not here making the stages (stages.py).
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping

from moldplan.cut.loop import bounds, holds_point, on_sheet, sampled, segments
from moldplan.cut.piece import Layout, Piece, Sheet
from moldplan.cut.room import READ
from moldplan.cut.segment import from_point
from moldplan.cut.stages import APART, DOWEL, WALL
from moldplan.finding import Finding, Source
from moldplan.spec.model import Cutter

THIN = 2.0  # mm of sheet between two cuts that do not hold; ours
OURS = Source(document="our own assumption", how_read="ours")


def judged_stages(layout: Layout, pieces: Iterable[Piece], cutter: Cutter) -> tuple[Finding, ...]:
    """Findings on all sheets that have stages; none where none has."""
    table = {piece.id: piece for piece in pieces}
    sheets = [sheet for sheet in layout.sheets if sheet.stages]
    if not sheets:
        return ()
    found = [_once(sheets), _within(sheets, table, cutter)]
    if any(stage.drill for sheet in sheets for stage in sheet.stages):
        found += [_clear(sheets, table, cutter), _apart(sheets), _loose(sheets, table, cutter)]
    return tuple(found)


def _finding(what: str, measured: float, limit: float, sense: str, unit: str, source: Source, note: str) -> Finding:
    return Finding(check="stages", part="all sheets", what=what, measured=round(measured, READ), limit=limit,
                   sense=sense, unit=unit, source=source, path=("cutter", "bed"), note=note)  # type: ignore[arg-type]


def _once(sheets: Iterable[Sheet]) -> Finding:
    wrong = []
    for sheet in sheets:
        counted = Counter(key for stage in sheet.stages for key in stage.cut)
        placed = {(p.piece, p.copy) for p in sheet.placed}
        wrong += [f"{id} {copy} on {sheet.stock} sheet {sheet.number}" for id, copy in sorted(placed | set(counted))
                  if counted[(id, copy)] != 1 or (id, copy) not in placed]  # fmt: skip
    return _finding("pieces not cut in exactly one stage", len(wrong), 0, "at_most", "pieces",
                    Source(document="geometry", clause="counted", how_read="maths"), "; ".join(wrong[:5]))


def _within(sheets: Iterable[Sheet], table: Mapping[str, Piece], cutter: Cutter) -> Finding:
    """How far the worst piece, with the cutter's width round it, hangs over the bed."""
    over, who = -math.inf, ""
    for sheet in sheets:
        for stage in sheet.stages:
            for placed in sheet.placed:
                if (placed.piece, placed.copy) in stage.cut:
                    box = bounds(on_sheet(table[placed.piece], placed).outer)
                    low, high = box[stage.axis] - cutter.diameter, box[stage.axis + 2] + cutter.diameter
                    worst = max(stage.low - low, high - stage.high)
                    if worst > over:
                        over, who = worst, f"{placed.piece} {placed.copy} on {sheet.stock} sheet {sheet.number}"
    return _finding("over the bed in its stage by", max(over, 0.0), 0, "at_most", "mm",
                    Source.spec("cutter.bed"), f"nearest to the bed's end: {who}, {max(-over, 0.0):.1f} mm to spare")


def _clear(sheets: Iterable[Sheet], table: Mapping[str, Piece], cutter: Cutter) -> Finding:
    """Least sheet between a dowel hole and a cut, the sheet's edge or a spoilt place."""
    least, who = math.inf, ""
    for sheet in sheets:
        for distance, name in _walls(sheet, table, cutter):
            if distance < least:
                least, who = distance, f"{name} of {sheet.stock} sheet {sheet.number}"
    return _finding("sheet left round a dowel hole", least, WALL, "at_least", "mm", OURS, f"least beside {who}")


def _walls(sheet: Sheet, table: Mapping[str, Piece], cutter: Cutter) -> Iterator[tuple[float, str]]:
    others = [(sheet.outline, False, 0.0, "the edge"), *((d, True, 0.0, "a spoilt place") for d in sheet.defects),
              *((on_sheet(table[p.piece], p).outer, True, cutter.diameter, f"{p.piece} {p.copy}")
                for p in sheet.placed)]  # fmt: skip
    for x, y in {spot for stage in sheet.stages for spot in stage.drill}:
        for loop, outside, kerf, name in others:
            distance = min(from_point(s, (x, y)) for s in segments(loop)) - DOWEL / 2 - kerf
            right = holds_point(loop, (x, y)) != outside
            yield (distance if right else -math.inf), name


def _apart(sheets: Iterable[Sheet]) -> Finding:
    """How far the two dowels that two stages share lie apart, against the sheet's side across the bed."""
    worst = (math.inf, 0.0, "")
    for sheet in sheets:
        for before, after in zip(sheet.stages, sheet.stages[1:], strict=False):
            shared = sorted(set(before.drill) & set(after.pins))
            across = sheet.size[1 - before.axis]
            apart = math.dist(shared[0], shared[-1]) if len(shared) > 1 else 0.0
            if apart / across < worst[0]:
                worst = (apart / across, apart, f"on {sheet.stock} sheet {sheet.number}, {across:g} mm across")
    return _finding("dowels that two stages share, apart over the sheet's side", worst[0], round(APART, 4), "at_least",
                    "", OURS, f"{worst[1]:.0f} mm {worst[2]}")


def _loose(sheets: Iterable[Sheet], table: Mapping[str, Piece], cutter: Cutter) -> Finding:
    """Dowels, and pieces still to be cut, that the stages before have cut out of the sheet with their waste."""
    lost = [f"{name} of {sheet.stock} sheet {sheet.number}"
            for sheet in sheets for name in _cut_loose(sheet, table, cutter)]  # fmt: skip
    return _finding("dowels and later pieces cut loose before their stage", len(lost), 0, "at_most", "of them", OURS,
                    "; ".join(lost[:5]) or f"webs narrower than {THIN:g} mm are not counted on")


def _cut_loose(sheet: Sheet, table: Mapping[str, Piece], cutter: Cutter) -> Iterator[str]:
    """After each stage but the last: what of its dowels and of the later pieces lies not on one part of the sheet."""
    import shapely

    outers = {(p.piece, p.copy): on_sheet(table[p.piece], p).outer for p in sheet.placed}
    waiting = {key: shapely.Polygon(sampled(outer, 0.05)) for key, outer in outers.items()}
    left = shapely.Polygon(sampled(sheet.outline, 0.05))
    for stage in sheet.stages[:-1]:
        for key in stage.cut:
            left = left.difference(waiting.pop(key, shapely.Polygon()).buffer(cutter.diameter))
        parts = shapely.get_parts(left.buffer(-THIN / 2))
        held = {name: {k for k, part in enumerate(parts) if part.intersects(shape)}
                for name, shape in [*((f"{id} {copy}", shape) for (id, copy), shape in waiting.items()),
                                    *((f"the dowel at {x:g}, {y:g}", shapely.Point(x, y)) for x, y in stage.drill)]}
        most = max(range(len(parts)), key=lambda k: sum(k in on for on in held.values()), default=-1)
        yield from (name for name, on in held.items() if most not in on)
