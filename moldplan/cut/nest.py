"""Pieces onto sheets: few sheets first, then one large offcut.

In       pieces, stocks with all their sheets, the cutter, an earlier layout if there is one.
Out      Layout; for each stock the sheets bought beside a lower bound; what is left of each sheet; near misses.
Not here the ways of placing (holes.py, rough.py, swap.py, solver.py), findings (judge.py), files (dxf.py, saved.py).

Openings are filled first, then the sheets of the rack, then as few as can be are bought; where a stock is sold in
several sizes, at the least cost. Boxes are placed first: that takes milliseconds and is often as few sheets as can be.
Only where the lower bound is lower are true outlines laid on cells, the last sheet emptied into the others' gaps, and
the strip solver asked, within the spec's time; only a layout that is measured to keep margin and spacing with the true
arcs is taken. Last, what lies on the last sheet is drawn together to one end. No piece is mirrored here.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from moldplan.cut.bridges import spaced
from moldplan.cut.fits import refuse_oversize, usable
from moldplan.cut.holes import with_openings
from moldplan.cut.job import Copy, Job, job
from moldplan.cut.loop import sampled
from moldplan.cut.near import near_misses
from moldplan.cut.offcut import offcuts
from moldplan.cut.piece import Layout, Piece, Sheet
from moldplan.cut.room import sound
from moldplan.cut.rough import (
    Lay,
    by_boxes,
    by_outlines,
    cost,
    downsized,
    least_cost,
    preferences,
    racked,
    reach,
    refuse_left,
    with_placed,
)
from moldplan.cut.saved import layout_key
from moldplan.cut.solver import SolverDied, solved
from moldplan.cut.swap import denser, drawn_together, emptied
from moldplan.material.sheet import Blank, Sheets, bought, on_hand
from moldplan.material.stock import Stock
from moldplan.spec.model import Cutter

SHARES = (0.92, 0.86, 0.8, 0.74, 0.68, 0.6)  # of a sheet's room that is tried, in falling order
ENOUGH = 300  # copies beyond which the solver is not asked for all sheets from the first on; it would not end in time
LAST = 0.15  # of the time, kept for drawing the last sheet's pieces together

Say = Callable[[str], None]


def layout(
    pieces: Sequence[Piece], stocks: Mapping[str, Stock], cutter: Cutter, *, saved: Layout | None, say: Say
) -> Layout:
    """All pieces on sheets. `saved` is used again when it was made from the same inputs and still measures sound.

    Raises SpecFault for a piece larger than every sheet of its stock, or than those that are left.
    """
    refuse_oversize(pieces, stocks, cutter)
    key = layout_key(pieces, stocks, cutter)
    if saved is not None and saved.key == key and sound(saved, pieces, stocks, cutter):
        say("the saved layout is used again")
        return _measured(saved, pieces, stocks, cutter)
    made = [_stock(job(name, pieces, stocks[name], spaced(pieces, name, stocks[name], cutter)), say)
            for name in dict.fromkeys(p.stock for p in pieces)]
    return Layout(
        sheets=tuple(sheet for one in made for sheet in one.sheets),
        fewest={one.name: one.counts for one in made},
        key=key,
        cautions=tuple(dict.fromkeys(caution for one in made for caution in one.cautions)),
        near=tuple(words for one in made for words in one.near),
    )


def _measured(saved: Layout, pieces: Sequence[Piece], stocks: Mapping[str, Stock], cutter: Cutter) -> Layout:
    """The saved layout with what is left of its sheets measured anew, not read."""
    table = {piece.id: piece for piece in pieces}
    names = {sheet.stock for sheet in saved.sheets}
    apart = {name: spaced(pieces, name, stocks[name], cutter).spacing for name in names}
    sheets = tuple(replace(s, offcuts=offcuts(s, table, apart[s.stock])) for s in saved.sheets)
    return saved if sheets == saved.sheets else replace(saved, sheets=sheets)


@dataclass(frozen=True)
class _Done:
    """One stock laid out."""

    name: str
    sheets: tuple[Sheet, ...]
    counts: dict[str, int]
    cautions: tuple[str, ...]
    near: tuple[str, ...]


def _stock(given: Job, say: Say) -> _Done:
    start = time.monotonic()
    seconds = given.cutter.nest_seconds
    bound = lower_bound([c.piece for c in given.copies], given.stock, given.cutter)
    work = with_openings(given, start + seconds / 4) if given.cutter.in_openings else given
    rack, left = racked(work, start + seconds / 2)
    refuse_left(work, left)
    search = _Search(work, *_needs(_cut_out(work, left), given.stock, given.cutter, ()), start + seconds * (1 - LAST),
                     say)  # fmt: skip
    lays = search.bought(left)
    if lays and rack:
        whole = emptied(work, [*rack, *lays], start + seconds)
        rack, lays = whole[: len(rack)], whole[len(rack) :]
    if lays:
        lays = [*lays[:-1], drawn_together(work, lays[-1], start + seconds, solver=search.long)]
    sheets = [replace(lay.sheet(work), number=n) for n, lay in enumerate([*rack, *lays], 1)]
    counts = {"used": len(lays), "lower_bound": bound} | ({"on_hand": len(rack)} if work.rack else {})
    spacing, pieces = given.cutter.spacing, given.pieces
    return _Done(
        given.name, tuple(replace(sheet, offcuts=offcuts(sheet, pieces, spacing)) for sheet in sheets), counts,
        tuple(search.trouble), near_misses(work, [c for lay in lays for c in lay.copies(work)], len(lays)),
    )  # fmt: skip


def _cut_out(work: Job, copies: Sequence[Copy]) -> list[Piece]:
    """The pieces of some copies and of what lies in their openings, one entry for each."""
    keys = [copy.key for copy in copies]
    for key in keys:  # grows as it goes: what lies in an opening may have one itself
        keys += [(p.piece, p.copy) for p in work.inside.get(key, ())]
    return [work.pieces[id] for id, _ in keys]


@dataclass
class _Search:
    """The search for few sheets to buy, which keeps the best it found."""

    job: Job
    need: float
    bound: int
    until: float
    say: Say
    long: bool = False  # whether the time-taking part of it was begun

    def __post_init__(self) -> None:
        self.trouble: list[str] = []
        self.best: list[Lay] = []
        self.least = least_cost(self.job, self.need)

    def bought(self, copies: Sequence[Copy]) -> list[Lay]:
        """The copies on bought sheets, the last of them the least filled."""
        if not copies:
            return []
        soon = time.monotonic() + (self.until - time.monotonic()) / 2
        self._take(downsized(self.job, by_boxes(self.job, copies), soon))
        if not self._enough():
            self.long = True
            self.say(f"{self.job.name}: {len(self.best)} sheets by boxes, {self.bound} at the least; "
                     "looking for better")  # fmt: skip
            self._by_outlines(copies, soon if len(copies) <= ENOUGH else self.until)
        if not self._enough():
            self._by_solver(copies)
        elif len(self.best) > 1:
            self._take(emptied(self.job, self.best, soon))
        return self.best

    def _take(self, lays: Sequence[Lay] | None) -> None:
        """Keep these where they cost less than the best, or leave the last sheet emptier."""
        if lays and (not self.best or self._value(lays) < self._value(self.best)):
            self.best = sorted(lays, key=lambda lay: -reach(self.job, lay))

    def _value(self, lays: Sequence[Lay]) -> tuple[float, int, float]:
        return (round(cost(self.job, lays), 6), len(lays), min(reach(self.job, lay) for lay in lays))

    def _enough(self) -> bool:
        """Whether nothing can cost less."""
        paid = cost(self.job, self.best)
        one_size = len(self.job.sold) == 1
        return len(self.best) <= self.bound if one_size else paid <= self.least * (1 + 1e-9)

    def _by_outlines(self, copies: Sequence[Copy], soon: float) -> None:
        for sizes in preferences(self.job):
            made = by_outlines(self.job, copies, sizes, soon)
            self._take(downsized(self.job, made, soon) if made else None)
        if len(self.best) > 1:
            self._take(emptied(self.job, self.best, soon))

    def _by_solver(self, copies: Sequence[Copy]) -> None:
        """Short solves with one seed after the other, from the first sheet on and from the best found, in turn."""
        seed = 0
        try:
            while not self._enough() and time.monotonic() < self.until - 0.5:
                seed += 1
                before = time.monotonic()
                if len(copies) <= ENOUGH and len(self.job.sold) == 1:
                    share = 0.5 if seed == 1 else 1.0
                    self._take(self._from_the_first(copies, before + (self.until - before) * share, seed))
                if not self._enough() and len(self.best) > 1:
                    self._take(denser(self.job, self.best, self.until, seed))
                if time.monotonic() - before < 0.1:
                    break  # nothing was left to ask
        except SolverDied as trouble:
            self.trouble.append(f"{self.job.name}: the layout was made without the solver, for it stopped ({trouble})")

    def _from_the_first(self, copies: Sequence[Copy], until: float, seed: int) -> list[Lay] | None:
        """Fewer sheets than the best by the strip solver, or None. Raises SolverDied."""
        left = sorted(copies, key=lambda c: (-c.piece.area, c.piece.id, c.number))
        lays: list[Lay] = []
        while left and len(lays) < len(self.best) - 1:
            lay = self._one_sheet(left, until, seed, last_hope=len(lays) + 1 == self.bound)
            if lay is None:
                return None
            lays.append(lay)
            gone = {(p.piece, p.copy) for p in lay.placed}
            left = [c for c in left if c.key not in gone]
            rest = by_boxes(self.job, left)
            if len(lays) + len(rest) < len(self.best):
                return [*lays, *rest]
        return None

    def _one_sheet(self, left: Sequence[Copy], until: float, seed: int, *, last_hope: bool) -> Lay | None:
        """One sheet as full as the solver gets it in its share of the time."""
        (empty,) = self.job.sold
        room = empty.open.area
        whole = sum(c.piece.area for c in left)
        shares = [s for s in SHARES if s * room < whole] or [1.0]
        if whole <= room and (last_hope or whole <= SHARES[0] * room):
            shares = [1.0, *shares] if shares != [1.0] else shares
        for share in shares:
            seconds = min(until - time.monotonic(), max(1.0, (until - time.monotonic()) / 2))
            if seconds < 0.3:
                return None
            found = solved(self.job, empty, _largest_first(left, share * room), seconds, seed=seed)
            if found.placed:
                return with_placed(Lay(empty, ()), found.placed)
        return None


def _largest_first(left: Sequence[Copy], most: float) -> list[Copy]:
    chosen: list[Copy] = []
    area = 0.0
    for copy in left:
        if area + copy.piece.area <= most:
            chosen.append(copy)
            area += copy.piece.area
    return chosen


def lower_bound(copies: Sequence[Piece], stock: Sheets, cutter: Cutter) -> int:
    """A number of bought sheets that no layout can beat, one entry in `copies` for each copy.

    By area: each piece with half the spacing round it must lie in the room with half the spacing round that; what the
    rack may take is taken off, but for pieces too wide for any sheet there.
    By size: of pieces so large that the circles inside any two cannot lie on one sheet,
    each needs its own. Of several sizes the largest counts.
    """
    return _needs(copies, stock, cutter, on_hand(stock))[1]


def _needs(copies: Sequence[Piece], stock: Sheets, cutter: Cutter, rack: Sequence[Blank]) -> tuple[float, int]:
    """The room [mm2] that bought sheets must have, with half the spacing round it; and the least number of them."""
    import shapely

    rooms = usable(stock, cutter)
    sold = [(b.size[0] - 2 * cutter.edge_margin, b.size[1] - 2 * cutter.edge_margin) for b in bought(stock)]
    less = cutter.spacing - 2 * cutter.edge_margin
    taken = sum((b.size[0] + less) * (b.size[1] + less) for b in rack if min(b.size) > 2 * cutter.edge_margin)
    widest = max((min(b.size) - 2 * cutter.edge_margin for b in rack), default=0.0)
    claims: dict[str, tuple[float, float]] = {}
    big: set[str] = set()  # what the rack cannot take: a circle inside its outline is wider than any sheet there
    for piece in copies:
        if piece.id not in claims:
            outline = shapely.Polygon(sampled(piece.cut.outer, 0.05))
            if 2 * shapely.maximum_inscribed_circle(outline, tolerance=0.1).length - 0.2 > widest:
                big.add(piece.id)
            shape = shapely.Polygon(sampled(piece.cut.outer, 0.05), [sampled(h, 0.05) for h in piece.cut.holes])
            inner = shapely.maximum_inscribed_circle(shape, tolerance=0.1).length - 0.05
            claims[piece.id] = (shape.buffer(0.995 * cutter.spacing / 2, quad_segs=8).area, inner)
    need = max(0.0, sum(claims[p.id][0] for p in copies) * (1 - 1e-4) - taken)
    room = max((max(0.0, a) + cutter.spacing) * (max(0.0, b) + cutter.spacing) for a, b in sold)
    by_area = math.ceil(max(need, sum(claims[p.id][0] for p in copies if p.id in big) * (1 - 1e-4)) / room)
    radii = sorted((claims[p.id][1] for p in copies), reverse=True)
    alone = 0
    for count, r in enumerate(radii, 1):
        # of the first `count`, the smallest two are the likeliest to share a sheet
        reaches = [math.hypot(max(0.0, a - 2 * r), max(0.0, b - 2 * r)) for a, b in rooms]
        if count == 1 or max(reaches) < 2 * r + cutter.spacing:
            alone = count
        else:
            break
    return need, max(1 if copies and not rack else 0, by_area, alone - len(rack))
