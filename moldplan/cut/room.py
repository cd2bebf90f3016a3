"""What a sheet's layout leaves between its pieces and along its edge, measured on the finished outlines.

In       sheets with their placed pieces.
Out      least distances [mm], with true arcs; what is missing or there twice; the offcut.
Not here judging them (judge.py).
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from moldplan.cut.loop import bounds, holds_point, loops_apart, on_sheet, segments
from moldplan.cut.piece import Layout, Loop, Piece, Placed, Sheet
from moldplan.cut.segment import Bounds
from moldplan.material.stock import Stock
from moldplan.spec.model import Cutter

READ = 6  # decimals to which a distance is read [mm]: the kernel's own closeness


@dataclass(frozen=True)
class Gap:
    """The least distance on a sheet, and between whom."""

    distance: float
    first: str = ""
    second: str = ""


def outlines(sheet: Sheet, pieces: Mapping[str, Piece]) -> list[tuple[Placed, Loop]]:
    """The outer loop of every placed piece, where it lies."""
    return [(placed, on_sheet(pieces[placed.piece], placed).outer) for placed in sheet.placed]


def edge_room(sheet: Sheet, pieces: Mapping[str, Piece]) -> Gap:
    """Least distance from a piece to the sheet's edge; negative when it hangs over."""
    best = Gap(math.inf)
    for placed, loop in outlines(sheet, pieces):
        low_x, low_y, high_x, high_y = bounds(loop)
        room = round(min(low_x, low_y, sheet.size[0] - high_x, sheet.size[1] - high_y), READ)
        if room < best.distance:
            best = Gap(room, f"{placed.piece} {placed.copy}")
    return best


def least_gap(sheet: Sheet, pieces: Mapping[str, Piece], *, within: float) -> Gap:
    """Least distance between two pieces, true arcs; distances over `within` are not told apart from infinite.

    0 when outlines cross or one lies inside the other, be it in an opening: nothing is placed there by us.
    """
    laid = sorted(((placed, loop, bounds(loop)) for placed, loop in outlines(sheet, pieces)), key=lambda p: p[2][0])
    best = Gap(math.inf)
    for i, (placed, loop, box) in enumerate(laid):
        for other, second, their in laid[i + 1 :]:
            reach = min(within, best.distance)
            if their[0] - box[2] > reach:
                break
            if _boxes_apart(box, their) > reach:
                continue
            apart = round(_apart(loop, second, box, their, within), READ)
            if apart < best.distance and apart < within:
                best = Gap(apart, f"{placed.piece} {placed.copy}", f"{other.piece} {other.copy}")
    return best


def _apart(a: Loop, b: Loop, a_box: Bounds, b_box: Bounds, within: float) -> float:
    if holds_point(a, segments(b)[0].at(0.37)) or holds_point(b, segments(a)[0].at(0.37)):
        return 0.0
    return loops_apart(a, b, up_to=within)


def _boxes_apart(a: Bounds, b: Bounds) -> float:
    return math.hypot(max(b[0] - a[2], a[0] - b[2], 0.0), max(b[1] - a[3], a[1] - b[3], 0.0))


def misplaced(layout: Layout, pieces: Iterable[Piece]) -> tuple[str, ...]:
    """Copies that are missing, there more than once, unknown, on another stock or mirrored by accident."""
    table = {piece.id: piece for piece in pieces}
    wanted = {(piece.id, copy) for piece in table.values() for copy in range(1, piece.quantity + 1)}
    counted = Counter((p.piece, p.copy) for sheet in layout.sheets for p in sheet.placed)
    wrong = [f"{id} {copy} is missing" for id, copy in sorted(wanted - set(counted))]
    wrong += [f"{id} {copy} is placed {n} times" for (id, copy), n in sorted(counted.items()) if n > 1]
    wrong += [f"{id} {copy} is no piece of this plan" for id, copy in sorted(set(counted) - wanted)]
    for sheet in layout.sheets:
        for placed in sheet.placed:
            piece = table.get(placed.piece)
            if piece is not None and piece.stock != sheet.stock:
                wrong.append(f"{placed.piece} {placed.copy} lies on {sheet.stock}, not on {piece.stock}")
            if piece is not None and placed.mirrored != piece.mirrored:
                wrong.append(f"{placed.piece} {placed.copy} lies mirrored")
            if piece is not None and piece.grain and placed.turn % 180:
                wrong.append(f"{placed.piece} {placed.copy} lies across the grain")
    return tuple(wrong)


def sound(layout: Layout, pieces: Sequence[Piece], stocks: Mapping[str, Stock], cutter: Cutter) -> bool:
    """Whether every copy lies once, on a sheet of its stock, inside the margin and apart by the spacing."""
    if misplaced(layout, pieces):
        return False
    table = {piece.id: piece for piece in pieces}
    return all(
        sheet.size == tuple(stocks[sheet.stock].size) and sheet_sound(sheet, table, cutter) for sheet in layout.sheets
    )


def sheet_sound(sheet: Sheet, pieces: Mapping[str, Piece], cutter: Cutter) -> bool:
    """Whether one sheet keeps its margin and its spacing."""
    if edge_room(sheet, pieces).distance < cutter.edge_margin:
        return False
    return least_gap(sheet, pieces, within=cutter.spacing + 1).distance >= cutter.spacing


def offcut(sheet: Sheet, pieces: Mapping[str, Piece], cutter: Cutter) -> tuple[float, float]:
    """The rectangle across the sheet's whole width that stays beyond the last piece and a spacing [mm]."""
    reach = max((bounds(loop)[2] for _, loop in outlines(sheet, pieces)), default=0.0)
    return (max(0.0, sheet.size[0] - reach - cutter.spacing), sheet.size[1])
