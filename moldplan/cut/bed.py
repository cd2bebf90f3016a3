"""How a sheet lies on the router's bed, and what the bed and the bit cannot cut.

In       the cutter with its bed and depth; stocks with all their sheets; pieces.
Out      Bed; what a sheet's room is on the bed; SpecFault for what cannot be cut.
Not here where the sheet is shifted to (stages.py).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from moldplan.cut.piece import Piece
from moldplan.errors import Fault, SpecFault
from moldplan.material.sheet import Blank, Sheets, bought, on_hand
from moldplan.material.stock import Stock
from moldplan.spec.model import Cutter

DOWEL = 8.0  # mm through a dowel hole; common practice, no source
BEYOND = 5.0  # mm that a sheet may be larger than the bed both ways, as far as its margin is not cut; ours
WALL = 3.0  # mm of sheet that stay round a dowel hole; ours


@dataclass(frozen=True)
class Bed:
    """How a sheet lies on the bed: `axis` 0 or 1 is the sheet's side that is shifted along (x or y), `reach` the bed's
    length along it [mm]. `whole`: the sheet need not be shifted."""

    axis: int
    reach: float
    whole: bool


def on_bed(size: tuple[float, float], cutter: Cutter) -> Bed | None:
    """How a sheet of `size` lies on the cutter's bed, whose ends are open: whole where it can, either way round, else
    over the length; None where both its sides are wider than the bed, and where no bed is told. What nothing is cut of
    along its edges may lie beyond the bed: sheets are sold as 8 x 4 ft and a little more."""
    if cutter.bed is None:
        return None
    beyond = max(0.0, min(BEYOND, 2 * (cutter.edge_margin - cutter.diameter)))
    length, width = (side + beyond for side in cutter.bed)
    if (size[0] <= length and size[1] <= width) or (size[1] <= length and size[0] <= width):
        return Bed(0, max(cutter.bed), True)
    ways = [Bed(axis, cutter.bed[0], False) for axis in (0, 1) if size[1 - axis] <= width]
    return min(ways, key=lambda way: size[way.axis], default=None)


def reached(size: tuple[float, float], cutter: Cutter) -> tuple[float, float]:
    """The room that one stage has of a sheet [mm]: a piece must lie in it with the cutter's width round it."""
    lies = on_bed(size, cutter)
    if lies is None or lies.whole:
        return size
    room = lies.reach - 2 * cutter.diameter
    return (min(room, size[0]), size[1]) if lies.axis == 0 else (size[0], min(room, size[1]))


def in_stages(stock: Sheets, cutter: Cutter) -> bool:
    """Whether some sheet of a stock is longer than the bed."""
    return any(lies is not None and not lies.whole for lies in (on_bed(size, cutter) for size in _sizes(stock)))


def refuse_unreached(pieces: Iterable[Piece], stocks: Mapping[str, Stock], cutter: Cutter) -> None:
    """Raises SpecFault for sheets wider than the bed, and for stock that is thicker than the bit cuts deep."""
    faults = []
    used = {piece.stock: piece for piece in pieces}
    for name in used:
        stock = stocks[name]
        if cutter.depth is not None and stock.true_thickness > cutter.depth:
            faults.append(Fault(("cutter", "depth"), cutter.depth, f"{stock.true_thickness:g} mm or more",
                                f"{name} is cut through and measures as much"))
        if cutter.bed is not None:
            each: dict[tuple[float, float], Blank] = {}
            for blank in (*bought(stock), *on_hand(stock)):
                each.setdefault(blank.size, blank)
            faults += [_wide(name, blank, cutter.bed) for size, blank in each.items()
                       if on_bed(size, cutter) is None]
    if faults:
        raise SpecFault(faults)


def _sizes(stock: Sheets) -> Iterable[tuple[float, float]]:
    return dict.fromkeys(blank.size for blank in (*bought(stock), *on_hand(stock)))


def _wide(name: str, blank: Blank, bed: tuple[float, float]) -> Fault:
    """What is said of a sheet that lies over both sides of the bed, whichever way round."""
    size, which = blank.size, f"a sheet of {name}" + (f" ({blank.name})" if blank.name else "")
    return Fault(("cutter", "bed"), f"{bed[0]:g} x {bed[1]:g}",
                 f"{min(size):g} mm wide or more, so that {which} lies between its sides",
                 f"the sheet is {size[0]:g} x {size[1]:g} mm, {min(size) - bed[1]:.1f} mm too wide; sawn to "
                 f"{bed[1]:g} mm first it would lie there: then give that as its size")
