"""A packer that closes what whole sheets leave of a height: how thick, of which sheet, as a change of the spec.

In       the spec, the stock a stack is made of, the height it should have.
Out      Packer: its thickness, what it is cut from, and the Move that puts it among the stock's packers.
Not here whether a stack is off (tower.py, mold_release.py), stacking (material/stock.py).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from moldplan.check.limits import bound
from moldplan.finding import Edit, Move
from moldplan.material.stock import SAME, Stock, known
from moldplan.quantity import plain
from moldplan.spec.model import Spec

THINNEST = 0.5  # mm, a packer under that is a coat of filler; ours


@dataclass(frozen=True)
class Packer:
    """A packer [mm] over so many whole sheets; `source`: the stock it is cut from, None when none at hand is near."""

    thickness: float
    sheets: int
    stock: str
    source: str | None
    move: Move

    @property
    def words(self) -> str:
        cut = f"of {self.source}" if self.source else "planed or built up, as no sheet named here is so thick"
        under = f"{self.sheets} x {self.stock}" if self.sheets else "no whole sheet"
        return f"a packer {plain(self.thickness)} mm thick ({cut}) over {under}"


def packer(spec: Spec, stock: str, height: float) -> Packer | None:
    """The packer that brings whole sheets of `stock` up to a height [mm]; None where they make it, or nearly."""
    stocks = known(spec)
    sheet = stocks[stock]
    whole = math.floor(height / sheet.true_thickness + SAME)
    left = height - whole * sheet.true_thickness
    if left < THINNEST or not math.isfinite(left):
        return None
    source = _nearest(stocks.values(), left, within=bound("stack-error", spec).value)
    thick = round(left, 2) if source is None else source.true_thickness
    named = None if source is None else source.name
    one = Packer(thick, whole, stock, named, Move("", ()))
    return Packer(thick, whole, stock, named, Move(one.words, (_edit(spec, sheet, thick),)))


def _nearest(stocks: Iterable[Stock], left: float, *, within: float) -> Stock | None:
    """The sheet whose thickness is nearest to what is left, if it is near enough."""
    near = [s for s in stocks if abs(s.true_thickness - left) <= within]
    return min(near, key=lambda s: (abs(s.true_thickness - left), s.name), default=None)


def _edit(spec: Spec, sheet: Stock, thick: float) -> Edit:
    """The packer put among the stock's own; a stock that only the handbook knows is written out."""
    packers = [*sheet.packers, thick]
    if sheet.name in spec.stock:
        return Edit(("stock", sheet.name, "packers"), packers)
    return Edit(("stock", sheet.name), {"kind": sheet.kind, "thickness": sheet.true_thickness,
                                        "size": list(sheet.size), "density": sheet.density, "packers": packers})
