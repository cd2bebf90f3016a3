"""What must hold of a sheet that is cut in stages, measured on the finished outlines.

In       a layout with its stages, its pieces, the cutter, the stocks.
Out      Findings: every piece cut once, within the bed; room round the dowel holes, and how far they lie apart; what is
         cut loose.
Not here making the stages (stages.py).
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from moldplan.cut.loop import bounds, holds_point, on_sheet, sampled, segments
from moldplan.cut.piece import Layout, Piece, Sheet
from moldplan.cut.room import READ
from moldplan.cut.segment import from_point
from moldplan.cut.stages import APART, DOWEL, WALL, margin_for
from moldplan.finding import Edit, Finding, Move, Source
from moldplan.material.stock import Stock
from moldplan.spec.model import Cutter

THIN = 2.0  # mm of sheet between two cuts that do not hold; ours
OURS = Source(document="our own assumption", how_read="ours")
COUNTED = Source(document="geometry", clause="counted", how_read="maths")


@dataclass(frozen=True)
class _Staged:
    """The sheets that have stages, and what was asked of them."""

    sheets: tuple[Sheet, ...]
    pieces: Mapping[str, Piece]
    cutter: Cutter
    stocks: Mapping[str, Stock]


def judged_stages(layout: Layout, pieces: Iterable[Piece], cutter: Cutter, stocks: Mapping[str, Stock]
                  ) -> tuple[Finding, ...]:  # fmt: skip
    """Findings on all sheets that have stages; none where none has."""
    staged = _Staged(tuple(s for s in layout.sheets if s.stages), {p.id: p for p in pieces}, cutter, stocks)
    if not staged.sheets:
        return ()
    found = [_once(staged), _within(staged)]
    if any(len(sheet.stages) > 1 for sheet in staged.sheets):
        found += [_apart(staged), _loose(staged)]
    if any(stage.drill for sheet in staged.sheets for stage in sheet.stages):
        found.append(_clear(staged))
    return tuple(found)


def _once(staged: _Staged) -> Finding:
    wrong = []
    for sheet in staged.sheets:
        counted = Counter(key for stage in sheet.stages for key in stage.cut)
        placed = {(p.piece, p.copy) for p in sheet.placed}
        wrong += [f"{id} {copy} on {_name(sheet)}" for id, copy in sorted(placed | set(counted))
                  if counted[(id, copy)] != 1 or (id, copy) not in placed]  # fmt: skip
    return Finding(
        check="stages", part="all sheets", what="pieces not cut in exactly one stage", measured=float(len(wrong)),
        limit=0.0, sense="at_most", unit="pieces", counted=True, source=COUNTED, path=("cutter", "bed"),
        note="; ".join(wrong[:5]), moves=_whole(staged),
    )  # fmt: skip


def _within(staged: _Staged) -> Finding:
    """How far the worst piece, with the cutter's width round it, hangs over the bed."""
    over, who = -math.inf, ""
    for sheet in staged.sheets:
        for stage in sheet.stages:
            for placed in sheet.placed:
                if (placed.piece, placed.copy) in stage.cut:
                    box = bounds(on_sheet(staged.pieces[placed.piece], placed).outer)
                    wide = staged.cutter.diameter
                    worst = max(stage.low - (box[stage.axis] - wide), box[stage.axis + 2] + wide - stage.high)
                    if worst > over:
                        over, who = worst, f"{placed.piece} {placed.copy} on {_name(sheet)}"
    return Finding(
        check="stages", part="all sheets", what="over the bed in its stage by", measured=max(round(over, READ), 0.0),
        limit=0.0, sense="at_most", unit="mm", source=Source.spec("cutter.bed"), path=("cutter", "bed"),
        note=f"nearest to the bed's end: {who}, {max(0.0, -over):.1f} mm to spare", moves=_whole(staged),
    )  # fmt: skip


def _clear(staged: _Staged) -> Finding:
    """By how much the worst dowel hole is nearer than it may be to a piece, a spoilt place or the sheet's edge: the
    spacing that the spec asks of all that is cut, and no less than a wall beside the cutter's way."""
    worst, note = -math.inf, ""
    for sheet in staged.sheets:
        for distance, needed, name in _beside(sheet, staged):
            if needed - distance > worst:
                worst, note = needed - distance, f"{distance:.2f} mm of {needed:g} from {name} on {_name(sheet)}"
    return Finding(
        check="stages", part="all sheets", what="short of room round a dowel hole by",
        measured=max(round(worst, READ), 0.0), limit=0.0, sense="at_most", unit="mm", path=("cutter", "spacing"),
        source=Source.spec("cutter.spacing"), note=f"nearest: {note}", moves=(*_wider(staged), *_whole(staged)),
    )  # fmt: skip


def _beside(sheet: Sheet, staged: _Staged) -> Iterator[tuple[float, float, str]]:
    """For each dowel hole and each thing on its sheet: how far its edge is from it, and how far it must be [mm]."""
    spacing, cut = staged.cutter.spacing, staged.cutter.diameter + WALL
    others = [(sheet.outline, False, WALL, "the sheet's edge"),
              *((defect, True, max(spacing, WALL), "a spoilt place") for defect in sheet.defects),
              *((on_sheet(staged.pieces[p.piece], p).outer, True, max(spacing, cut), f"{p.piece} {p.copy}")
                for p in sheet.placed)]  # fmt: skip
    for x, y in {spot for stage in sheet.stages for spot in stage.drill}:
        for loop, outside, needed, name in others:
            distance = min(from_point(s, (x, y)) for s in segments(loop)) - DOWEL / 2
            yield (distance if holds_point(loop, (x, y)) != outside else -math.inf), needed, name


def _apart(staged: _Staged) -> Finding:
    """How far the two dowels that two stages share lie apart, against the sheet's side across the bed."""
    worst = (math.inf, 0.0, "")
    for sheet in staged.sheets:
        for number, (before, after) in enumerate(zip(sheet.stages, sheet.stages[1:], strict=False), 1):
            shared = sorted(set(before.drill) & set(after.pins))
            across = sheet.size[1 - before.axis]
            apart = math.dist(shared[0], shared[-1]) if len(shared) > 1 else 0.0
            if apart / across < worst[0]:
                both = f"{apart:.0f} mm apart" if apart else "two dowels nowhere to be had"
                where = f"between {max(after.low, 0):.0f} and {before.high:.0f} mm along it"
                worst = (apart / across, apart,
                         f"{both} in what stages {number} and {number + 1} share of {_name(sheet)}, {where}; it is "
                         f"{across:g} mm across")
    return Finding(
        check="stages", part="all sheets", what="dowels that two stages share, apart over the sheet's side",
        measured=round(worst[0], READ), limit=round(APART, READ), sense="at_least", unit="", source=OURS,
        path=("cutter", "bed"), note=worst[2], moves=(*_wider(staged), *_whole(staged)),
    )  # fmt: skip


def _loose(staged: _Staged) -> Finding:
    """Dowels, and pieces still to be cut, that the stages before have cut out of the sheet with their waste."""
    lost = [f"{name} of {_name(sheet)}" for sheet in staged.sheets for name in _cut_loose(sheet, staged)]
    return Finding(
        check="stages", part="all sheets", what="dowels and later pieces cut loose before their stage",
        measured=float(len(lost)), limit=0.0, sense="at_most", unit="of them", counted=True, source=OURS,
        path=("cutter", "bed"), note="; ".join(lost[:5]) or f"webs narrower than {THIN:g} mm are not counted on",
        moves=(*_wider(staged), *_whole(staged)),
    )  # fmt: skip


def _name(sheet: Sheet) -> str:
    return f"{sheet.stock} sheet {sheet.number}"


def _wider(staged: _Staged) -> tuple[Move, ...]:
    """Room for dowel holes along the sheet's edges."""
    margin = margin_for(staged.cutter)
    if staged.cutter.edge_margin >= margin:
        return ()
    return (Move("keep {to} mm free along the sheet's edge", (Edit(("cutter", "edge_margin"), margin),)),)


def _whole(staged: _Staged) -> tuple[Move, ...]:
    """Sheets sawn so that each lies whole on the bed; a bed that takes them as they are."""
    bed = staged.cutter.bed
    if bed is None:
        return ()
    sawn: dict[str, tuple[float, float]] = {}
    for sheet in staged.sheets:
        axis = sheet.stages[0].axis
        if sheet.size == staged.stocks[sheet.stock].size:
            sawn[sheet.stock] = (bed[0], sheet.size[1]) if axis == 0 else (sheet.size[0], bed[0])
    edits = [edit for name, size in sawn.items() for edit in _as_size(staged.stocks[name], size)]
    longest = max(max(sheet.size) for sheet in staged.sheets)
    words = f"have the sheets of {' and '.join(sawn)} sawn to {{to}} mm first, so that they lie whole on the bed"
    return (*((Move(words, tuple(edits)),) if edits else ()),
            Move("a router that reaches {to} mm, so that the sheets lie whole on it",
                 (Edit(("cutter", "bed", 0), longest),)))  # fmt: skip


def _as_size(stock: Stock, size: tuple[float, float]) -> list[Edit]:
    """Another size for a stock; of one that the handbook knows and the spec does not, with what else a stock needs."""
    own = stock.source.how_read == "spec"
    more = [] if own else [Edit(("stock", stock.name, "kind"), stock.kind),
                           Edit(("stock", stock.name, "thickness"), stock.thickness),
                           Edit(("stock", stock.name, "density"), stock.density)]  # fmt: skip
    return [Edit(("stock", stock.name, "size"), list(size)), *more]


def _cut_loose(sheet: Sheet, staged: _Staged) -> Iterator[str]:
    """After each stage but the last: what of its dowels and of the later pieces lies not on one part of the sheet."""
    import shapely

    outers = {(p.piece, p.copy): on_sheet(staged.pieces[p.piece], p).outer for p in sheet.placed}
    waiting = {key: shapely.Polygon(sampled(outer, 0.05)) for key, outer in outers.items()}
    left = shapely.Polygon(sampled(sheet.outline, 0.05))
    for stage in sheet.stages[:-1]:
        for key in stage.cut:
            left = left.difference(waiting.pop(key, shapely.Polygon()).buffer(staged.cutter.diameter))
        parts = shapely.get_parts(left.buffer(-THIN / 2))
        held = {name: {k for k, part in enumerate(parts) if part.intersects(shape)}
                for name, shape in [*((f"{id} {copy}", shape) for (id, copy), shape in waiting.items()),
                                    *((f"the dowel at {x:g}, {y:g}", shapely.Point(x, y)) for x, y in stage.drill)]}
        most = max(range(len(parts)), key=lambda k: sum(k in on for on in held.values()), default=-1)
        yield from (name for name, on in held.items() if most not in on)
