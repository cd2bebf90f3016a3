"""Bodies cut from sheet as pieces: numbered, equal ones counted together.

In       the assembly, the stocks, the cutter.
Out      Pieces: outlines in the body's own axes (x along frame.x, y = z cross x; seen from the side that lies up).
Not here flattening one body (flat.py), reliefs (seating.py, relief.py), placing (nest.py).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from moldplan.cut.fits import refuse_oversize
from moldplan.cut.flat import Flat, flatten
from moldplan.cut.loop import length, outline_area
from moldplan.cut.oversize import rough
from moldplan.cut.piece import Piece
from moldplan.cut.same import same_turned, shift_onto
from moldplan.material.stock import Stock
from moldplan.shape.assembly import Assembly
from moldplan.shape.body import Body
from moldplan.spec.model import Cutter

FACED = ("melamine-faced board", "glass board")


def pieces(assembly: Assembly, stocks: Mapping[str, Stock], cutter: Cutter) -> tuple[Piece, ...]:
    """Every piece to cut, in the order of the bodies, equal ones merged into a quantity.

    Pieces are equal when one can be turned onto the other (by half a turn only where the stock has a grain); a
    mirrored one is another piece. Raises GeometryError when a body cannot be flattened, SpecFault for a piece that is
    larger than every sheet of its stock.
    """
    found: list[Piece] = []
    for body in assembly.bodies.values():
        if body.stock is None:
            continue
        flats = flatten(body, cutter.arc_tolerance)
        for index, flat in enumerate(flats):
            piece = _piece(body, flat, stocks[body.stock])
            if len(flats) > 1:
                piece = replace(piece, notes=(*piece.notes, f"part {index + 1} of {len(flats)} of {body.name}"))
            _count(found, piece)
    numbered = tuple(replace(piece, id=f"P{number}") for number, piece in enumerate(found, 1))
    refuse_oversize(numbered, stocks, cutter)
    return numbered


def _piece(body: Body, flat: Flat, stock: Stock) -> Piece:
    outline = flat.outline
    return Piece(
        id="",
        body=body.name,
        part=body.part,
        path=body.path,
        stock=body.stock or "",
        thickness=round(body.thickness or stock.true_thickness, 6),
        outline=outline,
        cut=rough(outline, body.scribe),
        scribe=body.scribe,
        area=outline_area(outline),
        outline_length=sum(length(loop) for loop in (outline.outer, *outline.holes)),
        hand=body.hand,
        grain=stock.grain,
        notes=(*body.notes, *_rough_notes(body), *_thin_notes(body, stock, flat.notes), *flat.notes),
        bodies=(body.name,),
        orders=(body.order,),
        steps=flat.steps,
        up=flat.up,
        forward=_forward(body, flat.up),
        laid=((0.0, 0.0, 0.0),),
    )


def _rough_notes(body: Body) -> tuple[str, ...]:
    return (f"rough, {body.scribe:g} mm over; true line marked",) if body.scribe else ()


def _thin_notes(body: Body, stock: Stock, said: tuple[str, ...]) -> tuple[str, ...]:
    """What to say of a body that is thinner than its sheet, and is not shaped on top anyway."""
    thickness = body.thickness or stock.true_thickness
    if stock.true_thickness - thickness < 0.05 or any("shaped after cutting" in note for note in said):
        return ()
    if stock.kind in FACED:
        return (f"{thickness:.1f} mm of a {stock.true_thickness:g} mm board: faced board is not planed, so take a "
                "packer of that thickness, or a depth of whole boards",)
    return (f"brought from {stock.true_thickness:.1f} to {thickness:.1f} mm thick after cutting",)


def _forward(body: Body, up: str) -> float | None:
    """Where the bow is in the outline's axes [deg]; None when it is nearly square to the sheet."""
    x, y = body.frame.x[0], body.frame.y[0]
    if math.hypot(x, y) < 0.5:
        return None
    return math.degrees(math.atan2(y, -x if up == "underside" else x)) % 360


def _dressing(piece: Piece) -> set[str]:
    """What a piece's top is dressed to after it is cut."""
    return {note for note in piece.notes if "shaped after cutting" in note or "dress its top" in note}


def _sides(piece: Piece) -> set[tuple[str, str]]:
    """What of a piece is dressed off on which face."""
    return {(step.what, step.face) for step in piece.steps}


def _count(found: list[Piece], piece: Piece) -> None:
    """Adds a piece to the list, or one more to its equal there."""
    for index, other in enumerate(found):
        if (other.stock, other.up) != (piece.stock, piece.up) or abs(other.thickness - piece.thickness) > 1e-6:
            continue
        if _dressing(other) != _dressing(piece) or _sides(other) != _sides(piece) or other.scribe != piece.scribe:
            continue  # one outline, yet planed to another line, or on the other face
        turn = same_turned(piece.outline, other.outline, turns=(0.0, 180.0) if piece.grain else None)
        if turn is None:
            continue
        bow = None if piece.forward is None else (piece.forward + turn) % 360
        agree = bow is not None and other.forward is not None and abs((bow - other.forward + 180) % 360 - 180) < 1
        found[index] = replace(
            other,
            quantity=other.quantity + 1,
            hand=other.hand if other.hand == piece.hand else None,
            bodies=(*other.bodies, *piece.bodies),
            orders=(*other.orders, *piece.orders),
            forward=other.forward if agree else None,
            laid=(*other.laid, (turn, *shift_onto(piece.outline, other.outline, turn))),
            notes=tuple(dict.fromkeys((*other.notes, *piece.notes))),
        )
        return
    found.append(piece)
