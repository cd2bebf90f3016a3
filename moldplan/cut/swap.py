"""A layout made better sheet by sheet: the last one emptied into the gaps of the others, and kept to one end.

In       Lays of one stock, the time.
Out      Lays with fewer sheets, or with a larger rectangle left of the last.
Not here the first layout (rough.py), which of them is taken (nest.py).
"""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from moldplan.cut.fill import Filling, Shapes, by_area, cell_for, cells_of, spaced
from moldplan.cut.job import Copy, Job, outer_area, suited
from moldplan.cut.piece import Placed
from moldplan.cut.rough import Lay, on_one, reach, spare, with_placed
from moldplan.cut.solver import SolverDied, solved

TRIES = 60  # exchanges tried between the last sheet and the others
DENSE = 0.92  # share of a sheet's room, spacing counted in, that the solver is first asked to reach
CROWD = 60  # copies on a sheet, more than which the solver does not even lay as close again in a few seconds
LITTLE = 0.015  # by which less is asked after it failed
SHORTER = 100.0  # mm by which the last sheet's pieces must be able to draw together, or the solver is not asked
LOOKED_AT = 4  # ways to lay the last sheet, the shortest ones, of which the largest rectangle is looked for
WORTH = 0.01  # of a sheet; for less, pieces that lie squarely side by side are not stirred
POLISH = 0.9  # share of their length that pieces may come to fill across, at the best


@dataclass
class Gaps:
    """The sheets with what is still free on each."""

    job: Job
    shapes: Shapes
    known: dict[int, Filling] = field(default_factory=dict)

    def of(self, number: int, lay: Lay, without: Placed | None = None) -> Filling | None:
        """The sheet ready to take more; without one of its copies, if asked."""
        if without is None and number in self.known:
            return self.known[number]
        cells = cells_of(lay.empty, self.shapes.cell)
        if cells is None:
            return None
        table = {copy.key: copy for copy in lay.copies(self.job)}
        for p in lay.placed:
            if p != without:
                import shapely

                shape = spaced(table[(p.piece, p.copy)], p.turn, self.job.cutter.spacing / 2)
                cells.block(shapely.affinity.translate(shape, p.x, p.y))
        made = Filling(self.shapes, cells)
        if without is None:
            self.known[number] = made
        return made


def emptied(job: Job, lays: Sequence[Lay], until: float) -> list[Lay]:
    """As many copies of the last sheet as go there moved into gaps of the others; then exchanged for smaller ones.

    The last sheet is dropped when nothing is left on it; what stays keeps its place.
    """
    if len(lays) < 2:
        return list(lays)
    others, last = list(lays[:-1]), lays[-1]
    gaps = Gaps(job, Shapes(job, cell_for(sum(len(lay.placed) for lay in lays))))
    for copy in by_area(last.copies(job)):
        for number, lay in enumerate(others):
            filling = gaps.of(number, lay) if time.monotonic() < until else None
            if filling is not None and filling.add(suited(copy, lay.empty)):
                others[number] = with_placed(lay, (*lay.placed, filling.placed.pop()))
                last = with_placed(last, (p for p in last.placed if (p.piece, p.copy) != copy.key))
                break
    others, last = _exchanged(job, others, last, gaps, until)
    return [*others, *([last] if last.placed else [])]


def _exchanged(job: Job, others: list[Lay], last: Lay, gaps: Gaps, until: float) -> tuple[list[Lay], Lay]:
    """Copies of the last sheet put in the place of smaller ones, which then lie on the last sheet in turn."""
    tries = 0
    for large in by_area(last.copies(job)):
        for number, lay in enumerate(others):
            if tries >= TRIES or time.monotonic() > until:
                return others, last
            smaller = [c for c in by_area(lay.copies(job)) if 0.4 < outer_area(c) / outer_area(large) < 0.97]
            for small in smaller[:3]:
                tries += 1
                out = next(p for p in lay.placed if (p.piece, p.copy) == small.key)
                filling = gaps.of(number, lay, without=out)
                if filling is None or not filling.add(suited(large, lay.empty)):
                    continue
                kept = [c for c in last.copies(job) if c.key != large.key]
                refit = next(on_one(job, last.empty, [*kept, small], until), None)
                if refit is not None:
                    others[number] = with_placed(lay, (*(p for p in lay.placed if p != out), filling.placed[-1]))
                    gaps.known.pop(number, None)
                    last = refit
                    break
            else:
                continue
            break
    return others, last


def denser(job: Job, lays: Sequence[Lay], until: float, seed: int) -> list[Lay]:
    """The copies of the last sheet solved into the others together with what lies there. Raises SolverDied.

    How full a sheet can get is learned as it goes, spacing counted in: after a sheet that could not be filled so far,
    less is asked of the next.
    """
    others, last = list(lays[:-1]), lays[-1]
    claims = {copy.piece.id: spaced(copy, 0.0, job.cutter.spacing / 2).area for copy in job.copies}
    share = {n: sum(claims[p.piece] for p in lay.placed) / _room(job, lay) for n, lay in enumerate(others)}
    dense = DENSE
    for number in sorted(share, key=lambda n: share[n]):
        lay = others[number]
        if not last.placed or time.monotonic() > until - 0.5:
            break
        if not lay.empty.plain or share[number] > dense - LITTLE or len(lay.placed) > CROWD:
            continue
        own, pool = lay.copies(job), by_area(last.copies(job))
        extra = _up_to(pool, claims, (dense - share[number]) * _room(job, lay))
        seconds = min(max(1.0, 0.1 * len(own)), until - time.monotonic())
        if not extra:
            continue
        found = solved(job, lay.empty, [*own, *extra], seconds, seed=seed)
        if found.placed:
            others[number] = with_placed(lay, found.placed)
            last = with_placed(last, (p for p in last.placed if (p.piece, p.copy) not in {c.key for c in extra}))
        else:
            dense = max(dense - LITTLE, share[number])
    return [*others, *([last] if last.placed else [])]


def _room(job: Job, lay: Lay) -> float:
    """Area in which pieces with half the spacing round them may lie on a plain sheet [mm2]."""
    x0, y0, x1, y1 = lay.empty.room
    return (x1 - x0 + job.cutter.spacing) * (y1 - y0 + job.cutter.spacing)


def _up_to(pool: Sequence[Copy], claims: Mapping[str, float], most: float) -> list[Copy]:
    chosen: list[Copy] = []
    for copy in pool:
        if claims[copy.piece.id] <= most:
            chosen.append(copy)
            most -= claims[copy.piece.id]
    return chosen


def drawn_together(job: Job, lay: Lay, until: float, *, solver: bool) -> Lay:
    """What lies on a sheet laid anew, so that the largest rectangle is left of it.

    `solver`: ask the strip solver too, where the pieces may come much nearer together.
    """
    copies = lay.copies(job)
    best, most = lay, spare(job, lay)
    shortest = sorted(on_one(job, lay.empty, copies, until), key=lambda other: reach(job, other))
    for other in shortest[:LOOKED_AT]:
        area = spare(job, other)
        if area > most + WORTH * lay.empty.area:
            best, most = other, area
    x0, y0, x1, y1 = lay.empty.room
    least = sum(outer_area(c) for c in copies) / (y1 - y0) / POLISH
    seconds = until - time.monotonic()
    if solver and lay.empty.plain and reach(job, best) - x0 - least > SHORTER and seconds > 0.5:
        try:
            found = solved(job, lay.empty, copies, seconds, shortest=True)
        except SolverDied:
            return best
        short = with_placed(lay, found.placed)
        if found.placed and spare(job, short) > most + WORTH * lay.empty.area:
            best = short
    return best
