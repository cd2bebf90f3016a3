"""The sheets that pieces may be cut from: part-used ones in the rack first, then each size that is sold.

In       a stock with its sizes and its part-used sheets.
Out      Blank: a rectangle or an outline, its lower left corner at 0,0; the places on it that are spoilt.
Not here thickness and stacks (stock.py), what is laid on a sheet (cut/).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

Point = tuple[float, float]
Box = tuple[float, float, float, float]  # x low, y low, x high, y high


class SizeLike(Protocol):
    """A size that is sold [mm], and its price."""

    @property
    def size(self) -> tuple[float, float]: ...
    @property
    def price(self) -> float | None: ...


class DefectLike(Protocol):
    """A spoilt place: a circle by middle and diameter, else a rectangle [mm]."""

    @property
    def at(self) -> Point | None: ...
    @property
    def box(self) -> Box: ...


class OnHandLike(Protocol):
    """Part-used sheets that are all alike, in axes of their own [mm]."""

    @property
    def size(self) -> tuple[float, float] | None: ...
    @property
    def corners(self) -> Sequence[Point]: ...
    @property
    def defects(self) -> Sequence[DefectLike]: ...
    @property
    def count(self) -> int: ...


class Sheets(Protocol):
    """What a stock must say of its sheets."""

    @property
    def size(self) -> tuple[float, float]: ...
    @property
    def price(self) -> float | None: ...
    @property
    def sizes(self) -> Sequence[SizeLike]: ...
    @property
    def on_hand(self) -> Sequence[OnHandLike]: ...


@dataclass(frozen=True)
class Spoilt:
    """A place that no piece may come near: its box, and whether it is the circle in that box."""

    box: Box
    round: bool


@dataclass(frozen=True, kw_only=True)
class Blank:
    """A sheet before it is cut. `size`: length and width of its box; `outline`: its corners, none where it is that box.

    `name`: empty for one that is bought; "on hand 1" and so on for those in the rack. Lengths in mm.
    """

    size: tuple[float, float]
    outline: tuple[Point, ...] = ()
    spoilt: tuple[Spoilt, ...] = ()
    price: float | None = None
    name: str = ""


def bought(stock: Sheets) -> tuple[Blank, ...]:
    """One blank for each size that is sold, the stock's own first, each size once."""
    sold = {(stock.size[0], stock.size[1]): stock.price}
    for other in stock.sizes:
        sold.setdefault((other.size[0], other.size[1]), other.price)
    return tuple(Blank(size=size, price=price) for size, price in sold.items())


def on_hand(stock: Sheets) -> tuple[Blank, ...]:
    """The part-used sheets one by one, in the order of the spec: the first is "on hand 1"."""
    found: list[Blank] = []
    for kind in stock.on_hand:
        for _ in range(kind.count):
            found.append(_part_used(kind, f"on hand {len(found) + 1}"))
    return tuple(found)


def _part_used(kind: OnHandLike, name: str) -> Blank:
    xs, ys = zip(*kind.corners, strict=True)
    x0, y0 = min(xs), min(ys)
    outline = () if kind.size is not None else tuple((x - x0, y - y0) for x, y in kind.corners)
    if len(outline) > 2 and sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(outline, (*outline[1:], outline[0]),
                                                                          strict=True)) < 0:
        outline = tuple(reversed(outline))
    spoilt = tuple(
        Spoilt((d.box[0] - x0, d.box[1] - y0, d.box[2] - x0, d.box[3] - y0), d.at is not None) for d in kind.defects
    )
    return Blank(size=(max(xs) - x0, max(ys) - y0), outline=outline, spoilt=spoilt, name=name)
