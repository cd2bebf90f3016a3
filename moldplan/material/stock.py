"""Sheets as they are, and how a depth is made up of them.

In       the builder's stock; the handbook's foam and board where he gave none; a depth.
Out      Stock by name; Stack: so many sheets and packers, how high they come, by how much that is off.
Not here the solids of a stack (shape/stack.py), cutting and nesting (cut/).

Faced board is never planed to a thickness, so a depth that the sheets do not make is answered with packers, or with
a new depth that they do make.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

from moldplan.finding import Source
from moldplan.handbook.lookup import table
from moldplan.material.sheet import OnHandLike, SizeLike

SAME = 1e-6  # mm; heights closer than this are one height
_GRID = 1e-3  # mm; sums of packers closer than this are one sum


class StockLike(Protocol):
    """What a stock must say: lengths in mm, density in kg/m3."""

    @property
    def kind(self) -> str: ...
    @property
    def thickness(self) -> float: ...
    @property
    def measured(self) -> float | None: ...
    @property
    def size(self) -> tuple[float, float]: ...
    @property
    def density(self) -> float | None: ...
    @property
    def price(self) -> float | None: ...
    @property
    def grain(self) -> bool: ...
    @property
    def packers(self) -> Sequence[float]: ...
    @property
    def sizes(self) -> Sequence[SizeLike]: ...
    @property
    def on_hand(self) -> Sequence[OnHandLike]: ...


class HasStock(Protocol):
    """A spec, or anything with its `stock`."""

    @property
    def stock(self) -> Mapping[str, StockLike]: ...


@dataclass(frozen=True, kw_only=True)
class Stock:
    """One sheet material, lengths in mm, density in kg/m3. `assumed`: in words, what the spec left to us."""

    name: str
    kind: str
    thickness: float
    measured: float | None
    size: tuple[float, float]
    density: float | None = None
    price: float | None = None
    grain: bool = False
    packers: tuple[float, ...] = ()
    sizes: tuple[SizeLike, ...] = ()
    on_hand: tuple[OnHandLike, ...] = ()
    tolerance: float
    tolerance_source: Source
    source: Source
    assumed: str = ""

    @property
    def true_thickness(self) -> float:
        """Thickness as measured, else by name [mm]."""
        return self.thickness if self.measured is None else self.measured


@dataclass(frozen=True, kw_only=True)
class Stack:
    """Sheets and packers that make up a depth, all in mm.

    `error` = height - depth: positive when the stack stands higher than asked. `new_depth`: the depth that these
    layers make exactly.
    """

    depth: float
    sheets: int
    sheet_thickness: float
    packers: tuple[float, ...]
    tolerance_each: float

    @property
    def layers(self) -> int:
        return self.sheets + len(self.packers)

    @property
    def height(self) -> float:
        return self.sheets * self.sheet_thickness + sum(self.packers)

    @property
    def error(self) -> float:
        return self.height - self.depth

    @property
    def new_depth(self) -> float:
        return self.height

    @property
    def worst_case(self) -> float:
        """How far the height may be off, plus or minus, if every layer is off the same way."""
        return self.layers * self.tolerance_each

    @property
    def root_sum_square(self) -> float:
        """How far the height may be off if the layers are off independently."""
        return math.sqrt(self.layers) * self.tolerance_each


def known(spec: HasStock) -> Mapping[str, Stock]:
    """All stock by name: the handbook's, then the spec's, which wins where a name is in both."""
    each = table("tolerances").entry("sheet", "each layer")
    rows = table("stock")
    found: dict[str, Stock] = {}
    for name in rows.names():
        thickness = rows.entry(name, "thickness")
        length, width, density = (rows.number(name, what, unit=unit) for what, unit in (
            ("length", "mm"), ("width", "mm"), ("density", "kg/m3")))
        found[name] = Stock(
            name=name, kind=rows.text(name, "kind"), thickness=thickness.number, measured=None, size=(length, width),
            density=density, tolerance=each.number, tolerance_source=each.source, source=thickness.source,
            assumed=f"{thickness.number:g} mm {rows.text(name, 'kind')}, {length:g} x {width:g}: measure yours")
    for name, given in spec.stock.items():
        found[name] = Stock(
            name=name, kind=given.kind, thickness=given.thickness, measured=given.measured, size=given.size,
            density=given.density, price=given.price, grain=given.grain, packers=tuple(given.packers),
            sizes=tuple(given.sizes), on_hand=tuple(given.on_hand), tolerance=each.number,
            tolerance_source=each.source, source=Source.spec(f"stock.{name}"))
    return found


def stack(depth: float, *, sheet: float, packers: Sequence[float] = (), tolerance_each: float = 0.0) -> Stack:
    """The layers that come nearest to a depth.

    Parameters
    ----------
    depth : what is to be made up [mm]
    sheet : measured thickness of the sheet [mm]
    packers : thicknesses of the thin packers at hand [mm]; each may be used more than once
    tolerance_each : how far each layer may be off, plus or minus [mm]

    Returns
    -------
    Stack : without packers, sheets up to the depth or over it, never under it; with packers, whatever comes nearest
        to the depth, fewer layers first where two come equally near.

    Raises
    ------
    ValueError : a depth, sheet or packer that is not a finite number above nothing.
    """
    if not all(math.isfinite(size) and size > 0 for size in (depth, sheet, *packers)):
        raise ValueError("depth, sheet and packers of a stack are above nothing")
    # a depth that is a whole number of sheets must not gain one from the last digit of a float
    over = Stack(depth=depth, sheets=math.ceil(depth / sheet - SAME), sheet_thickness=sheet, packers=(),
                 tolerance_each=tolerance_each)
    whole = math.floor(depth / sheet + SAME)
    packed = [
        Stack(depth=depth, sheets=whole, sheet_thickness=sheet, packers=chosen, tolerance_each=tolerance_each)
        for chosen in _sums(packers, below=sheet)
    ]
    return min([over, *packed], key=lambda s: (round(abs(s.error) / _GRID), s.layers, -s.height))


def _sums(packers: Sequence[float], *, below: float) -> list[tuple[float, ...]]:
    """Packers on each other, thickest first, for every sum less than one sheet: the fewest of them for each sum."""
    fewest: dict[int, tuple[float, ...]] = {}
    newest: list[tuple[float, ...]] = [()]
    while newest:
        grown: list[tuple[float, ...]] = []
        for chosen in newest:
            for thin in packers:
                pile = tuple(sorted((*chosen, thin), reverse=True))
                key = round(sum(pile) / _GRID)
                if sum(pile) < below - SAME and key not in fewest:
                    fewest[key] = pile
                    grown.append(pile)
        newest = grown
    return list(fewest.values())
