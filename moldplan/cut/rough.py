"""A first layout of one stock without the solver: by boxes, and by true outlines on columns of bits.

In       a Job.
Out      Lays: bare sheets with the copies on them, those of the rack first; how two layouts compare.
Not here making a layout better (swap.py, nest.py).
"""

from __future__ import annotations

import math
import random
import time
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from moldplan.cut.bare import Bare
from moldplan.cut.fill import Shapes, by_area, cell_for, filled
from moldplan.cut.fits import size_turned
from moldplan.cut.job import Copy, Job, at, outer_area, sheet_of, suited, taken_out
from moldplan.cut.loop import moved, swollen
from moldplan.cut.offcut import left
from moldplan.cut.piece import Placed, Sheet
from moldplan.cut.place import Box, Filled, NoRoom, extent, placings
from moldplan.cut.rectangles import largest
from moldplan.cut.room import sheet_sound
from moldplan.errors import Fault, SpecFault

SHUFFLES = 12  # further orders in which boxes are tried, where there are few
STRIPS = 40
MANY = 40  # sheets beyond which mixtures of sizes are not looked at one by one for the least cost; copies beyond which
# a sheet of the rack is not filled in several orders


@dataclass(frozen=True)
class Lay:
    """A sheet and what lies on it; what lies in openings goes with the piece round it."""

    empty: Bare
    placed: tuple[Placed, ...]

    def sheet(self, job: Job) -> Sheet:
        """As it is written."""
        return sheet_of(job, self.empty, self.placed)

    def copies(self, job: Job) -> list[Copy]:
        """The copies on it."""
        keys = {(p.piece, p.copy) for p in self.placed}
        return [copy for copy in job.copies if copy.key in keys]


def cost(job: Job, lays: Iterable[Lay]) -> float:
    """What is bought: in money where every size has its price, else in mm2."""
    return sum(job.cost(lay.empty) for lay in lays)


def spare(job: Job, lay: Lay) -> float:
    """Area of the largest rectangle left of a sheet [mm2]."""
    best = largest(left(lay.sheet(job), job.pieces, job.cutter.spacing), strips=STRIPS)
    return (best[2] - best[0]) * (best[3] - best[1]) if best else 0.0


def reach(job: Job, lay: Lay) -> float:
    """How far along the sheet its pieces come [mm]."""
    table = {copy.key: copy for copy in job.copies}
    ends = []
    for p in lay.placed:
        outer = moved(table[(p.piece, p.copy)].piece.cut.outer, turn=p.turn, x=p.x, y=p.y)
        ends.append(max(x for x, _ in swollen(outer, 1.0)))
    return max(ends, default=0.0)


def racked(job: Job, until: float) -> tuple[list[Lay], list[Copy]]:
    """The sheets of the rack, each as full as it gets; and the copies that are left."""
    lays: list[Lay] = []
    copies = by_area(job.copies)
    for empty in job.rack:
        if not copies:
            break
        here = [one for copy in copies for one in [suited(copy, empty)] if one.turns]
        tries = [*_one_by_boxes(job, empty, here), *_one_by_outlines(job, empty, here, until)]
        sound = [lay for lay in tries if lay.placed and sheet_sound(lay.sheet(job), job.pieces, job.cutter)]
        if sound:
            lays.append(max(sound, key=lambda lay: _worth(job, lay)))
            copies = taken_out(copies, lays[-1].placed)
    return lays, copies


def _worth(job: Job, lay: Lay) -> tuple[int, float]:
    """What a sheet of the rack takes: copies that no bought sheet holds first, then area."""
    copies = lay.copies(job)
    return (sum(not _sizes_for(job, c) for c in copies), sum(outer_area(c) for c in copies))


def _one_by_outlines(job: Job, empty: Bare, copies: Sequence[Copy], until: float) -> Iterator[Lay]:
    """One sheet filled in several orders, as far as the time goes: what no bought sheet holds first in all of them."""
    shapes = Shapes(job, cell_for(len(copies)))
    for seed in range(SHUFFLES if len(copies) <= MANY else 1):
        if seed and time.monotonic() > until:
            break
        draw = random.Random(seed)
        rank = {c.key: outer_area(c) * (draw.uniform(0.6, 1.4) if seed else 1.0) for c in copies}
        queue = sorted(copies, key=lambda c: (bool(_sizes_for(job, c)), -rank[c.key], c.key))
        yield Lay(empty, tuple(filled(shapes, empty, queue, until)))


def _one_by_boxes(job: Job, empty: Bare, copies: Sequence[Copy]) -> Iterator[Lay]:
    boxes, ways = boxes_of(copies)
    endless = (((0.0, 0.0, 1e9, 1e9),),)
    for made in placings(boxes, (empty.free,), endless, job.cutter.spacing):
        yield from (_lay(copies, ways, empty, sheet) for sheet in made if not sheet.bought)


def _sizes_for(job: Job, copy: Copy) -> list[Bare]:
    """The sizes that are sold and hold the copy."""
    sizes = [size_turned(copy.piece.cut.outer, t) for t in copy.turns]
    return [bare for bare in job.sold if any(bare.takes(size) for size in sizes)]


def _bound_for(sold: Sequence[Bare], copy: Copy) -> Copy:
    """The copy with those of its turns that every size which has the room for it cuts in one stage; if there are such,
    for boxes are turned before it is settled on which size they lie."""
    if all(bare.stage is None for bare in sold):
        return copy
    ways = []
    for turn in copy.turns:
        size = size_turned(copy.piece.cut.outer, turn)
        if all(bare.takes(size) or not replace(bare, stage=None).takes(size) for bare in sold):
            ways.append(turn)
    return replace(copy, turns=tuple(ways)) if ways else copy


def refuse_left(job: Job, copies: Sequence[Copy]) -> None:
    """Raises SpecFault for copies that only a sheet of the rack would hold, and it has no room left."""
    stuck = {c.piece.id: c.piece for c in copies if not _sizes_for(job, c)}
    if stuck:
        raise SpecFault([
            Fault(piece.path, piece.body, f"a piece that a sheet of {job.name} as it is sold holds",
                  "only a sheet on hand is large enough, and there is no room left on it")
            for piece in stuck.values()
        ])  # fmt: skip


def preferences(job: Job) -> list[list[Bare]]:
    """The sizes that are sold, each once at the head: the first that holds a piece is opened for it."""
    large = sorted(job.sold, key=lambda b: -b.area)
    return [[head, *(b for b in large if b is not head)] for head in job.sold]


def by_boxes(job: Job, copies: Sequence[Copy]) -> list[Lay]:
    """The copies on bought sheets by their boxes, at the least cost that several orders find, the last one short."""
    if not copies:
        return []
    copies = [_bound_for(job.sold, copy) for copy in copies]
    boxes, ways = boxes_of(copies)
    best: tuple[tuple[float, int, float], list[Filled], list[Bare]] | None = None
    for sizes in preferences(job):
        frees = [bare.free for bare in sizes]
        try:
            for made in placings(boxes, (), frees, job.cutter.spacing, shuffles=SHUFFLES if len(copies) > 4 else 0):
                paid = round(sum(job.cost(sizes[sheet.number]) for sheet in made), 6)
                value = (paid, len(made), min(extent(sheet.spots, boxes) for sheet in made))
                if best is None or value < best[0]:
                    best = (value, made, sizes)
        except NoRoom:  # an odd turn that only a sheet of the rack would take
            continue
    if best is None:
        refuse_left(job, copies)
        raise AssertionError("a piece that fits a sheet found none")
    _, made, sizes = best
    lays = [_lay(copies, ways, sizes[sheet.number], sheet) for sheet in made]
    return sorted(lays, key=lambda lay: -reach(job, lay))


def boxes_of(copies: Sequence[Copy]) -> tuple[list[list[Box]], list[list[float]]]:
    """For each copy the boxes of its turns that differ, and those turns."""
    known: dict[tuple[str, tuple[float, ...]], tuple[list[Box], list[float]]] = {}
    for copy in copies:
        # a frame with something in its opening may turn less freely than its fellow
        if (copy.piece.id, copy.turns) not in known:
            # half a turn takes the same box: one of each is enough
            kept: dict[tuple[float, float], tuple[float, Box]] = {}
            for turn in copy.turns:
                box = size_turned(copy.piece.cut.outer, turn)
                kept.setdefault((round(box[0], 6), round(box[1], 6)), (turn, box))
            known[copy.piece.id, copy.turns] = ([box for _, box in kept.values()], [turn for turn, _ in kept.values()])
    return [known[c.piece.id, c.turns][0] for c in copies], [known[c.piece.id, c.turns][1] for c in copies]


def _lay(copies: Sequence[Copy], ways: Sequence[Sequence[float]], empty: Bare, sheet: Filled) -> Lay:
    spots = sorted(sheet.spots, key=lambda s: s.copy)
    return Lay(empty, tuple(at(copies[s.copy], ways[s.copy][s.turn], s.x, s.y) for s in spots))


def by_outlines(job: Job, copies: Sequence[Copy], sizes: Sequence[Bare], until: float) -> list[Lay] | None:
    """The copies on bought sheets by their true outlines, what the time leaves of them by boxes; None when that is
    all of them, or a sheet is not sound."""
    shapes = Shapes(job, cell_for(len(copies)))
    queue = by_area(copies)
    lays: list[Lay] = []
    while queue:
        fitting = _sizes_for(job, queue[0])
        empty = next((bare for bare in sizes if bare in fitting), None)
        if empty is None:
            return None
        placed = filled(shapes, empty, [suited(copy, empty) for copy in queue], until)
        if time.monotonic() > until:
            lays += by_boxes(job, queue) if lays else []
            break
        lay = Lay(empty, tuple(placed))
        if not placed or not sheet_sound(lay.sheet(job), job.pieces, job.cutter):
            return None
        lays.append(lay)
        queue = taken_out(queue, placed)
    return sorted(lays, key=lambda lay: -reach(job, lay)) or None


def downsized(job: Job, lays: Sequence[Lay], until: float) -> list[Lay]:
    """Each bought sheet changed for a cheaper size, where that holds what lies on it."""
    if len(job.sold) < 2:
        return list(lays)
    return [_downsized(job, lay, until) for lay in lays]


def _downsized(job: Job, lay: Lay, until: float) -> Lay:
    copies = lay.copies(job)
    need = sum(outer_area(c) for c in copies)
    for empty in sorted(job.sold, key=job.cost):
        if lay.empty.rack or job.cost(empty) >= job.cost(lay.empty) or time.monotonic() > until:
            break
        if empty.open.area < need:
            continue
        for other in on_one(job, empty, copies, until):
            return other
    return lay


def on_one(job: Job, empty: Bare, copies: Sequence[Copy], until: float) -> Iterator[Lay]:
    """The copies all on one sheet, in the ways that succeed."""
    copies = [suited(copy, empty) for copy in copies]
    if not all(copy.turns for copy in copies):
        return
    boxes, ways = boxes_of(copies)
    endless = (((0.0, 0.0, 1e9, 1e9),),)
    for made in placings(boxes, (empty.free,), endless, job.cutter.spacing, shuffles=SHUFFLES):
        if len(made) == 1 and not made[0].bought:
            yield _lay(copies, ways, empty, made[0])
    shapes = Shapes(job, cell_for(len(copies)))
    keys = (outer_area, lambda c: max(size_turned(c.piece.cut.outer, 0.0)),
            lambda c: min(size_turned(c.piece.cut.outer, 0.0)))  # fmt: skip
    for key in keys:
        if time.monotonic() > until:
            break
        queue = sorted(copies, key=lambda c: (-key(c), c.piece.id, c.number))
        lay = Lay(empty, tuple(filled(shapes, empty, queue, until)))
        if len(lay.placed) == len(copies) and sheet_sound(lay.sheet(job), job.pieces, job.cutter):
            yield lay


def least_cost(job: Job, need: float) -> float:
    """The least that sheets with so much room for pieces can cost; `need` in mm2, half the spacing round each."""
    spacing = job.cutter.spacing
    kinds = []
    for bare in job.sold:
        x0, y0, x1, y1 = bare.room
        if min(x1 - x0, y1 - y0) > 0:
            kinds.append((job.cost(bare), (x1 - x0 + spacing) * (y1 - y0 + spacing)))
    kinds.sort(key=lambda kind: kind[0] / kind[1])

    def least(need: float, first: int) -> float:
        if need <= 0:
            return 0.0
        if first == len(kinds):
            return math.inf
        price, room = kinds[first]
        most = math.ceil(need / room - 1e-9)
        if first == len(kinds) - 1:
            return most * price
        return min(n * price + least(need - n * room, first + 1) for n in range(most + 1))

    if kinds and need > MANY * min(room for _, room in kinds):
        return need * kinds[0][0] / kinds[0][1]  # so many sheets: part of one counts as part of its price
    return least(need, 0)


def with_placed(lay: Lay, placed: Iterable[Placed]) -> Lay:
    """The same sheet with other copies on it."""
    return replace(lay, placed=tuple(placed))
