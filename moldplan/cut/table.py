"""The cut list as rows.

In       pieces, and the layout for where they lie.
Out      one dict a piece, in the order of COLUMNS; numbers rounded as a saw needs them. Sheets to buy by size; offcuts.
Not here the file (report/tables.py).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from typing import Any

from moldplan.cut.drilled import drill_words
from moldplan.cut.fits import least_rectangle, size_turned
from moldplan.cut.loop import area
from moldplan.cut.names import in_stack, listed
from moldplan.cut.piece import Layout, Piece
from moldplan.cut.step import step_words
from moldplan.material.sheet import Sheets, bought
from moldplan.shape.framed import RAW

COLUMNS = (
    "id", "name", "stock", "thickness_mm", "length_mm", "width_mm", "quantity", "hand", "area_m2", "edges", "stack",
    "step", "sheets", "notes",
)  # fmt: skip
FOAM = ("foam",)  # kinds of stock whose cut edges are laminated over, not sealed


def cut_list(pieces: Iterable[Piece], layout: Layout | None = None) -> list[dict[str, Any]]:
    """One row a piece: its least rectangle (with a grain: along and across it), quantity, edges, notes."""
    rows = []
    for piece in pieces:
        if piece.grain:
            long, short = size_turned(piece.by_hand.outer, 0.0)
        else:
            long, short, _ = least_rectangle(piece.by_hand.outer)
        rows.append(
            {
                "id": piece.id,
                "name": listed(piece.bodies or (piece.body,)),
                "stock": piece.stock,
                "thickness_mm": round(piece.thickness, 2),
                "length_mm": round(long, 1),
                "width_mm": round(short, 1),
                "quantity": piece.quantity,
                "hand": piece.hand or "",
                "area_m2": round(piece.area / 1e6, 4),
                "edges": _edges(piece),
                "stack": in_stack(piece.orders),
                "step": "; ".join(word.removeprefix("step ") for word in step_words(piece.steps)),
                "sheets": " ".join(_sheets(piece, layout)),
                "notes": "; ".join(_notes(piece)),
            }
        )
    return rows


def to_buy(layout: Layout, stock: Sheets, name: str) -> list[tuple[tuple[float, float], int, float | None]]:
    """(size [mm], sheets bought, price of one) for each size of a stock that is bought; the stock's own size with none
    when all of it came from the rack."""
    price = {blank.size: blank.price for blank in bought(stock)}
    counted = Counter(sheet.size for sheet in layout.sheets if sheet.stock == name and not sheet.rack)
    return [(size, counted[size], each) for size, each in price.items() if counted[size]] or [
        (stock.size, 0, stock.price)
    ]


def from_rack(layout: Layout, name: str) -> list[tuple[str, tuple[float, float], float]]:
    """(which of the spec's list, size of the box round it [mm], area [mm2]) of each part-used sheet that is cut."""
    return [(sheet.rack, sheet.size, abs(area(sheet.outline)))
            for sheet in layout.sheets if sheet.stock == name and sheet.rack]  # fmt: skip


def offcut_list(layout: Layout) -> list[tuple[str, int, float, float, float, float]]:
    """(stock, sheet, length, width, x, y of its lower left corner) of all that is left and worth keeping [mm]."""
    return [(sheet.stock, sheet.number, length, width, x, y)
            for sheet in layout.sheets for x, y, length, width in sheet.offcuts]  # fmt: skip


def _edges(piece: Piece) -> str:
    """What is done to the edges after cutting."""
    todo = ["dress to the marked line"] if piece.outline.far else []
    if RAW not in piece.notes and not any(word in piece.stock.lower() for word in FOAM):
        todo.append("seal raw edges")
    return "; ".join(todo)


def _sheets(piece: Piece, layout: Layout | None) -> list[str]:
    sheets = layout.sheets if layout is not None else ()
    numbers = {s.number for s in sheets if s.stock == piece.stock and any(p.piece == piece.id for p in s.placed)}
    return [str(number) for number in sorted(numbers)]


def _notes(piece: Piece) -> list[str]:
    notes = ["cut with its underside up"] if piece.up == "underside" else []
    notes += ["grain lengthwise"] if piece.grain else []
    notes += [f"sink {depth:.1f} mm" for depth in sorted({d for _, d in piece.outline.sinks})]
    notes += [f"bore {depth:.1f} mm" for depth in sorted({d for _, d in piece.cut.bores})]
    notes += drill_words(piece.cut)
    notes += ["second set-up from below"] if piece.outline.under else []
    return [*notes, *piece.notes]
