"""A sheet that is longer than the router's bed, cut in stages: shifted along between them, pinned down on dowels.

In       a finished layout, its pieces, the cutter with its bed.
Out      the layout with the stages of each sheet; one sheet a stage, as its file is written.
Not here whether a piece or a sheet can be cut on the bed at all (bed.py, fits.py), judging (judge_stages.py), files.

A sheet may hang over the bed's ends, never over its sides. A piece is cut whole in one stage, with the cutter's width
round it and all that lies in its openings. The stages are as few as can be: the piece that begins first must be in
some stage, and no stage that holds it can begin later than the piece does; one that begins there holds all that any
other would. Two dowel holes are drilled in one stage through what the next one shares with it, as far apart as the
waste allows; in the next stage the sheet is pinned down on them. A hole is cut like any piece: it keeps the spacing
from pieces and spoilt places. Only to the sheet's edge it may come nearer than they: the margin is waste. Where two
find no place, the stages have none, and judge_stages.py tells of it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

from moldplan.cut.bed import DOWEL, WALL, Bed, on_bed
from moldplan.cut.bridges import WEB
from moldplan.cut.loop import bounds, holds_point, on_sheet, sampled, segments
from moldplan.cut.offcut import offcuts
from moldplan.cut.piece import Layout, Piece, Placed, Point, Sheet, Stage
from moldplan.spec.model import Cutter

if TYPE_CHECKING:
    from shapely import Polygon

APART = 1 / 3  # of the sheet's side across the bed that two dowels lie apart at least; ours
STEP = 5.0  # mm between the places that are tried
FLUSH = 50.0  # mm that the first stage begins before its first piece for beginning at the sheet's end
NEAR = 0.05  # mm, of the chords that only decide where there is waste


Spans = dict[tuple[Placed, ...], tuple[float, float]]  # what is cut together, and from where to where the cutter runs
Groups = Sequence[Sequence[tuple[Placed, ...]]]  # what is cut together, stage by stage


def in_stages(layout: Layout, pieces: Sequence[Piece], cutter: Cutter) -> Layout:
    """The layout with the stages of each sheet that is longer than the bed, and what dowel holes leave of it."""
    if cutter.bed is None:
        return layout
    table = {piece.id: piece for piece in pieces}
    return replace(layout, sheets=tuple(_staged(sheet, table, cutter) for sheet in layout.sheets))


def _staged(sheet: Sheet, table: Mapping[str, Piece], cutter: Cutter) -> Sheet:
    made = replace(sheet, stages=_stages(sheet, table, cutter))
    rim = DOWEL / 2 + WALL
    if not any(x0 - rim < x < x0 + long + rim and y0 - rim < y < y0 + wide + rim
               for x0, y0, long, wide in made.offcuts for stage in made.stages for x, y in stage.drill):  # fmt: skip
        return made
    return replace(made, offcuts=offcuts(made, table, max(cutter.spacing, 2 * cutter.diameter + WEB)))


def parted(sheet: Sheet) -> tuple[Sheet, ...]:
    """What is cut in each stage, as a sheet of its own; the sheet itself where it has no stages."""
    if not sheet.stages:
        return (sheet,)
    return tuple(replace(sheet, file=s.file, stages=(s,),
                         placed=tuple(p for p in sheet.placed if (p.piece, p.copy) in s.cut))
                 for s in sheet.stages)  # fmt: skip


def _stages(sheet: Sheet, table: Mapping[str, Piece], cutter: Cutter) -> tuple[Stage, ...]:
    lies = on_bed(sheet.size, cutter)
    if lies is None or lies.whole:
        return ()
    spans = _spans(sheet, table, cutter, lies.axis)
    groups = _fewest(spans, lies.reach)
    free = _waste(sheet, table, cutter)
    waste = [free.intersection(_joined(sheet, table, cutter, groups, number)) for number in range(1, len(groups))]
    starts, shared = _pinned(groups, spans, lies, sheet, waste, flush=True)
    if _nearest(shared) < APART * sheet.size[1 - lies.axis]:
        other = _pinned(groups, spans, lies, sheet, waste, flush=False)
        starts, shared = other if _nearest(other[1]) > _nearest(shared) else (starts, shared)
    return tuple(
        Stage(axis=lies.axis, low=starts[k], high=starts[k] + lies.reach, cut=_keys(group),
              drill=shared[k] if k < len(shared) else (), pins=shared[k - 1] if k else ())
        for k, group in enumerate(groups)
    )  # fmt: skip


def _pinned(groups: Groups, spans: Spans, lies: Bed, sheet: Sheet, waste: Sequence[Polygon], *, flush: bool
            ) -> tuple[list[float], list[tuple[Point, ...]]]:  # fmt: skip
    """Where each stage begins, and the dowels that each shares with the next; `waste`: where such may be, for each two
    stages."""
    starts = _starts(groups, spans, lies, sheet, flush=flush)
    return starts, [_dowels(here, lies, after, before + lies.reach, sheet)
                    for here, (before, after) in zip(waste, pairwise(starts), strict=True)]  # fmt: skip


def _nearest(shared: Sequence[tuple[Point, ...]]) -> float:
    """How far the two dowels lie apart that lie nearest to each other [mm]; 0 where some stages have none."""
    return min((math.dist(*spots) if spots else 0.0 for spots in shared), default=math.inf)


def _keys(group: Sequence[tuple[Placed, ...]]) -> tuple[tuple[str, int], ...]:
    return tuple((p.piece, p.copy) for one in group for p in one)


def _spans(sheet: Sheet, table: Mapping[str, Piece], cutter: Cutter, axis: int) -> Spans:
    """Each piece with all that lies in its openings."""
    shapes = {p: on_sheet(table[p.piece], p).outer for p in sheet.placed}
    boxes = {p: bounds(loop) for p, loop in shapes.items()}

    def holds(host: Placed, guest: Placed) -> bool:
        a, b = boxes[host], boxes[guest]
        within = host != guest and a[0] <= b[0] and a[1] <= b[1] and b[2] <= a[2] and b[3] <= a[3]
        return within and holds_point(shapes[host], segments(shapes[guest])[0].at(0.37))

    found: Spans = {}
    for host in sheet.placed:
        if any(holds(other, host) for other in sheet.placed):
            continue
        low, high = boxes[host][axis], boxes[host][axis + 2]
        guests = [p for p in sheet.placed if holds(host, p)]
        found[(host, *guests)] = (low - cutter.diameter, high + cutter.diameter)
    return found


def _fewest(spans: Spans, reach: float) -> list[list[tuple[Placed, ...]]]:
    """As few groups as can be, each within a stretch of `reach`, from the low end on; what is longer by itself."""
    left = sorted(spans, key=lambda one: spans[one])
    groups = []
    while left:
        start = spans[left[0]][0]
        group = [one for one in left if spans[one][1] <= start + reach + 1e-9] or left[:1]
        groups.append(group)
        left = [one for one in left if one not in group]
    return groups


def _starts(groups: Groups, spans: Spans, lies: Bed, sheet: Sheet, *, flush: bool) -> list[float]:
    """Where each stage begins on the sheet, so that the two that share least of it share as much as can be; `flush`:
    the first at the sheet's end, which is easier to set than a few millimetres from it."""
    last = max(sheet.size[lies.axis] - lies.reach, 0.0)
    rooms = []
    for group in groups:
        low, high = max(spans[one][1] for one in group) - lies.reach, min(spans[one][0] for one in group)
        rooms.append((low, max(min(high, last), low)))
    low, high = rooms[0]
    if flush and low <= 0 <= high < FLUSH:
        rooms[0] = (low, 0.0)
    share, most = -sheet.size[lies.axis], lies.reach
    for _ in range(60):
        middle = (share + most) / 2
        share, most = (middle, most) if _chained(rooms, lies.reach - middle) else (share, middle)
    return [round(start, 6) for start in _chained(rooms, lies.reach - share) or [low for low, _ in rooms]]


def _chained(rooms: Sequence[tuple[float, float]], step: float) -> list[float] | None:
    """A start in each room, none more than `step` beyond the one before; None where there are none."""
    starts: list[float] = []
    for low, high in rooms:
        start = min(high, starts[-1] + step) if starts else high
        if start < low:
            return None
        starts.append(start)
    return starts


def _waste(sheet: Sheet, table: Mapping[str, Piece], cutter: Cutter) -> Polygon:
    """Where the middle of a dowel hole may lie: on the sheet, clear of its edge, its spoilt places and every cut."""
    import shapely

    room = shapely.Polygon(sampled(sheet.outline, NEAR)).buffer(-(DOWEL / 2 + WALL + NEAR))
    cuts = [(on_sheet(table[p.piece], p).outer, room_beside(cutter)) for p in sheet.placed]
    taken = [shapely.Polygon(sampled(loop, NEAR)).buffer(wide + DOWEL / 2 + NEAR)
             for loop, wide in (*cuts, *((defect, max(cutter.spacing, WALL)) for defect in sheet.defects))]
    return room.difference(shapely.union_all(taken))


def room_beside(cutter: Cutter) -> float:
    """From a piece's outline to a dowel hole [mm]: the spacing of all that is cut, and a wall beside the cut."""
    return max(cutter.spacing, cutter.diameter + WALL)


def margin_for(cutter: Cutter) -> float:
    """An edge margin that has room for dowel holes all along [mm]; a grid of whole millimetres is kept."""
    return math.ceil(room_beside(cutter) + DOWEL + WALL) + 2


def _joined(sheet: Sheet, table: Mapping[str, Piece], cutter: Cutter, groups: Groups, number: int) -> Polygon:
    """What of the sheet still holds together, over webs of WEB and more, with all that the stages from `number` on cut,
    once those before it are cut: waste that falls out holds no dowel. The part that holds the most of it, where no part
    holds it all.
    """
    import shapely

    def shape(placed: Placed) -> Polygon:
        return shapely.Polygon(sampled(on_sheet(table[placed.piece], placed).outer, NEAR))

    gone, later = ([shape(one[0]) for group in some for one in group] for some in (groups[:number], groups[number:]))
    kerfs = shapely.union_all([each.buffer(cutter.diameter + NEAR) for each in gone])
    left = shapely.Polygon(sampled(sheet.outline, NEAR)).difference(kerfs).buffer(-(WEB / 2 - 2 * NEAR))
    parts = shapely.get_parts(left)
    return max(parts, key=lambda part: (sum(part.intersects(each) for each in later), part.area), default=left)


def _dowels(waste: Polygon, lies: Bed, low: float, high: float, sheet: Sheet) -> tuple[Point, ...]:
    """Two places in what two stages share, as far apart as can be, in whole millimetres; none where there are no two
    that holes do not run into each other."""
    import numpy as np
    import shapely

    inset = DOWEL / 2 + WALL + 2 * NEAR
    along = np.arange(math.ceil(low + inset), high - inset + 1e-9, STEP)
    across = np.unique(np.concatenate([
        np.arange(math.ceil(inset), sheet.size[1 - lies.axis] - inset + 1e-9, STEP),
        [math.floor(sheet.size[1 - lies.axis] - inset)]]))  # fmt: skip
    a, c = (grid.ravel() for grid in np.meshgrid(along, across, indexing="ij"))
    xs, ys = (a, c) if lies.axis == 0 else (c, a)
    free = np.flatnonzero(shapely.contains_xy(waste, xs, ys)) if len(a) else np.array([], int)
    spots = np.column_stack([xs[free], ys[free]])
    if len(spots) < 2:
        return ()
    hull = shapely.get_coordinates(shapely.MultiPoint(spots).convex_hull)  # the farthest two are among its corners
    off = np.linalg.norm(hull[:, None] - hull[None], axis=2)
    i, j = np.unravel_index(int(off.argmax()), off.shape)
    best = tuple(sorted((float(x), float(y)) for x, y in (hull[i], hull[j])))
    return best if math.dist(*best) >= DOWEL + WALL else ()
