"""What a sheet's layout leaves between its pieces and along its edge, measured on the finished outlines.

In       sheets with their placed pieces.
Out      least distances [mm], with true arcs; what is missing or there twice.
Not here judging them (judge.py), what is left of a sheet (offcut.py).
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from moldplan.cut.bare import bare
from moldplan.cut.loop import bounds, holds_point, loops_apart, on_sheet, segments
from moldplan.cut.piece import Layout, Loop, Outline, Piece, Placed, Sheet
from moldplan.cut.segment import Bounds, from_point
from moldplan.material.sheet import Blank, Sheets, bought, on_hand
from moldplan.spec.model import Cutter

READ = 6  # decimals to which a distance is read [mm]: the kernel's own closeness


@dataclass(frozen=True)
class Gap:
    """The least distance on a sheet, and between whom."""

    distance: float
    first: str = ""
    second: str = ""


def outlines(sheet: Sheet, pieces: Mapping[str, Piece]) -> list[tuple[Placed, Outline]]:
    """What is cut of every placed piece, where it lies."""
    return [(placed, on_sheet(pieces[placed.piece], placed)) for placed in sheet.placed]


def edge_room(sheet: Sheet, pieces: Mapping[str, Piece]) -> Gap:
    """Least distance from a piece to the sheet's edge; negative when it hangs over, -inf when it lies off it."""
    best = Gap(math.inf)
    for placed, outline in outlines(sheet, pieces):
        low_x, low_y, high_x, high_y = bounds(outline.outer)
        room = round(min(low_x, low_y, sheet.size[0] - high_x, sheet.size[1] - high_y), READ)
        if sheet.edge is not None and room >= 0:
            room = _inside(sheet.edge, outline.outer, up_to=max(room, 1.0))
        if room < best.distance:
            best = Gap(room, f"{placed.piece} {placed.copy}")
    return best


def _inside(edge: Loop, loop: Loop, *, up_to: float) -> float:
    if not holds_point(edge, segments(loop)[0].at(0.37)):
        return -math.inf
    apart = loops_apart(edge, loop, up_to=up_to)
    # they cross, or only touch: a crossing piece has a corner or a middle outside
    spots = [spot for s in segments(loop) for spot in (s.start, s.middle)]
    over = apart < 1e-9 and not all(holds_point(edge, p) or min(from_point(s, p) for s in segments(edge)) < 1e-6
                                    for p in spots)  # fmt: skip
    return -math.inf if over else round(apart, READ)


def defect_gap(sheet: Sheet, pieces: Mapping[str, Piece], *, within: float) -> Gap:
    """Least distance from a piece to a defect of the sheet; over `within` it counts as infinite, 0 when on it.

    A defect in the opening of a piece is measured to the opening's edge.
    """
    best = Gap(math.inf)
    for placed, outline in outlines(sheet, pieces):
        for defect in sheet.defects:
            apart = round(_apart(outline, Outline(outer=defect), within), READ)
            if apart < best.distance and apart < within:
                x0, y0, x1, y1 = bounds(defect)  # told by its middle: so a round one stands in the spec
                best = Gap(apart, f"{placed.piece} {placed.copy}",
                           f"the defect about {(x0 + x1) / 2:.0f}, {(y0 + y1) / 2:.0f}")
    return best


def least_gap(sheet: Sheet, pieces: Mapping[str, Piece], *, within: float) -> Gap:
    """Least distance between two pieces, true arcs; distances over `within` are not told apart from infinite.

    0 when outlines cross or one lies on the other. Of one that lies in an opening: its distance from that opening.
    """
    laid = sorted(((p, shape, bounds(shape.outer)) for p, shape in outlines(sheet, pieces)), key=lambda p: p[2][0])
    best = Gap(math.inf)
    for i, (placed, shape, box) in enumerate(laid):
        for other, second, their in laid[i + 1 :]:
            reach = min(within, best.distance)
            if their[0] - box[2] > reach:
                break
            if _boxes_apart(box, their) > reach:
                continue
            apart = round(_apart(shape, second, within), READ)
            if apart < best.distance and apart < within:
                best = Gap(apart, f"{placed.piece} {placed.copy}", f"{other.piece} {other.copy}")
    return best


def _apart(a: Outline, b: Outline, within: float) -> float:
    """Distance of two shapes; of one in an opening of the other from that opening's edge."""
    for inner, outer in ((a, b), (b, a)):
        spot = segments(inner.outer)[0].at(0.37)
        if holds_point(outer.outer, spot):
            for hole in outer.holes:
                if holds_point(hole, spot):
                    return loops_apart(inner.outer, hole, up_to=within)
            return 0.0
    return loops_apart(a.outer, b.outer, up_to=within)


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


def sound(layout: Layout, pieces: Sequence[Piece], stocks: Mapping[str, Sheets], cutter: Cutter) -> bool:
    """Whether every copy lies once, on a sheet that there is, inside the margin, off defects, apart by the spacing."""
    if misplaced(layout, pieces):
        return False
    table = {piece.id: piece for piece in pieces}
    at_hand = {name: list(on_hand(stock)) for name, stock in stocks.items()}
    bought_of = Counter(sheet.stock for sheet in layout.sheets if not sheet.rack)
    if any(counts.get("used") != bought_of[name] for name, counts in layout.fewest.items()):
        return False
    if not all(sheet.placed and sheet.stock in stocks for sheet in layout.sheets):
        return False
    return all(_known(sheet, stocks[sheet.stock], at_hand[sheet.stock]) and sheet_sound(sheet, table, cutter)
               for sheet in layout.sheets)  # fmt: skip


def _known(sheet: Sheet, stock: Sheets, at_hand: list[Blank]) -> bool:
    """Whether there is such a sheet: a size that is sold, or one of the rack that no other sheet has taken."""
    for blank in at_hand if sheet.rack else bought(stock):
        same = bare(blank, margin=0.0, spacing=0.0)
        if (sheet.size, sheet.edge, sheet.defects, sheet.rack) == (same.size, same.edge, same.defects, same.rack):
            if sheet.rack:
                at_hand.remove(blank)
            return True
    return False


def sheet_sound(sheet: Sheet, pieces: Mapping[str, Piece], cutter: Cutter) -> bool:
    """Whether one sheet keeps its margin, its spacing, and the spacing from its defects."""
    if edge_room(sheet, pieces).distance < cutter.edge_margin:
        return False
    if sheet.defects and defect_gap(sheet, pieces, within=cutter.spacing + 1).distance < cutter.spacing:
        return False
    return least_gap(sheet, pieces, within=cutter.spacing + 1).distance >= cutter.spacing
