"""The copies of one stock and the sheets they may lie on: what every way of placing them starts from.

In       pieces, the stock, the cutter; what lies in openings already (holes.py).
Out      Job; sheets with their placed pieces; what a layout costs and leaves, so that two can be compared.
Not here placing (place.py, fill.py, solver.py).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from moldplan.cut.bare import Bare, bare
from moldplan.cut.bed import reached
from moldplan.cut.fits import size_turned, turns
from moldplan.cut.loop import area, bounds, moved
from moldplan.cut.piece import Piece, Placed, Sheet
from moldplan.material.sheet import Blank, Sheets, bought, on_hand
from moldplan.spec.model import Cutter

Key = tuple[str, int]  # a piece and the number of the copy


@dataclass(frozen=True)
class Copy:
    """One copy of a piece, and the turns in which it may lie [deg]."""

    piece: Piece
    number: int
    turns: tuple[float, ...]

    @property
    def key(self) -> Key:
        return (self.piece.id, self.number)


@dataclass(frozen=True)
class Job:
    """What placing the copies of one stock needs. `inside`: what lies in a copy's openings, in its own axes."""

    name: str
    stock: Sheets
    cutter: Cutter
    pieces: Mapping[str, Piece]
    copies: tuple[Copy, ...]
    inside: Mapping[Key, tuple[Placed, ...]] = field(default_factory=dict)

    @cached_property
    def rack(self) -> tuple[Bare, ...]:
        """The part-used sheets, each there once."""
        return tuple(self._bare(blank) for blank in on_hand(self.stock))

    @cached_property
    def sold(self) -> tuple[Bare, ...]:
        """The sizes that are sold, the stock's own first."""
        return tuple(self._bare(blank) for blank in bought(self.stock))

    @cached_property
    def priced(self) -> bool:
        """Whether each size has its price."""
        return all(each.price is not None for each in self.sold)

    def _bare(self, blank: Blank) -> Bare:
        stage = reached(blank.size, self.cutter)
        return bare(blank, margin=self.cutter.edge_margin, spacing=self.cutter.spacing,
                    stage=None if stage == blank.size else stage)

    def cost(self, sheet: Bare) -> float:
        """What is paid for a sheet: its price, or its area where not every size has one; nothing out of the rack."""
        if sheet.rack:
            return 0.0
        return float(sheet.price or 0.0) + 1e-9 * sheet.area if self.priced else sheet.area


def job(name: str, pieces: Sequence[Piece], stock: Sheets, cutter: Cutter) -> Job:
    """All copies of the pieces of one stock."""
    own = [piece for piece in pieces if piece.stock == name]
    copies = [Copy(p, n, way) for p in own for way in [turns(p, stock, cutter)] for n in range(1, p.quantity + 1)]
    return Job(name, stock, cutter, {p.id: p for p in own}, tuple(copies))


def suited(copy: Copy, empty: Bare) -> Copy:
    """The copy with those of its turns in which it is cut in one stage of the sheet."""
    if empty.stage is None:
        return copy
    ways = tuple(t for t in copy.turns if empty.stages(size_turned(copy.piece.cut.outer, t)))
    return copy if ways == copy.turns else replace(copy, turns=ways)


def at(copy: Copy, turn: float, x: float, y: float) -> Placed:
    """A copy whose turned box has its lower left corner at x, y on the sheet."""
    low_x, low_y, _, _ = bounds(moved(copy.piece.cut.outer, turn=turn))
    return Placed(piece=copy.piece.id, copy=copy.number, turn=turn, x=round(x - low_x, 9), y=round(y - low_y, 9))


def sheet_of(job: Job, empty: Bare, placed: Iterable[Placed]) -> Sheet:
    """The sheet with the copies placed on it, and with what lies in their openings."""
    whole = sorted((each for one in placed for each in _with_inside(job, one)), key=lambda p: (_rank(p.piece), p.copy))
    used = sum(job.pieces[p.piece].area for p in whole) / empty.area
    return Sheet(stock=job.name, number=1, size=empty.size, placed=tuple(whole), used=used, edge=empty.edge,
                 defects=empty.defects, rack=empty.rack)  # fmt: skip


def _rank(id: str) -> tuple[int, str]:
    digits = "".join(c for c in id if c.isdigit())
    return (int(digits or 0), id)


def _with_inside(job: Job, host: Placed) -> Iterable[Placed]:
    yield host
    for guest in job.inside.get((host.piece, host.copy), ()):
        x, y = turned(guest.x, guest.y, host.turn)
        laid = replace(guest, turn=(guest.turn + host.turn) % 360, x=round(x + host.x, 9), y=round(y + host.y, 9))
        yield from _with_inside(job, laid)


def turned(x: float, y: float, turn: float) -> tuple[float, float]:
    """A point turned about 0,0 [deg, counter-clockwise]; quarters exactly."""
    quarters = {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}
    c, s = quarters.get(turn % 360, (math.cos(math.radians(turn)), math.sin(math.radians(turn))))
    return (c * x - s * y, s * x + c * y)


def taken_out(copies: Sequence[Copy], placed: Iterable[Placed]) -> list[Copy]:
    """The copies that are not among those placed."""
    gone = {(p.piece, p.copy) for p in placed}
    return [copy for copy in copies if copy.key not in gone]


def outer_area(copy: Copy) -> float:
    """Area inside a copy's outer outline [mm2]: what no other piece can have once its openings are filled."""
    return abs(area(copy.piece.cut.outer))
