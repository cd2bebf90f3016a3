"""The plain text beside a sheet's file.

In       a sheet with its placed pieces, the stock, the cutter, title and revision.
Out      units, datum, cut side, cutter, depths, layers, pieces, cautions.
Not here the file itself (dxf.py), the words on a piece (label.py).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from moldplan.cut.bridges import height, loose_words, small, spaced
from moldplan.cut.datum import datum_words, pinned, stage_words
from moldplan.cut.drilled import drill_words
from moldplan.cut.layers import DEFECT, LAYERS, STAGED, TRUE, bore_layer, bridge_layer, drill_layer, sink_layer
from moldplan.cut.loop import bounds, holds_point, on_sheet, segments
from moldplan.cut.offcut import left_words
from moldplan.cut.piece import Piece, Placed, Sheet, Stage
from moldplan.cut.step import step_words
from moldplan.cut.sunk import islands
from moldplan.material.stock import Stock
from moldplan.spec.model import Cutter


def note(
    sheet: Sheet, pieces: Mapping[str, Piece], stock: Stock, *, cutter: Cutter, title: str, revision: str,
    cramped: Sequence[Placed] = (), stages: Sequence[Stage] = (),
) -> str:
    """The plain text beside a sheet's file: units, datum, cut side, cutter, depths, layers, pieces, cautions."""
    wide, high = sheet.size
    used = {p.piece: pieces[p.piece] for p in sheet.placed}
    spacing = spaced(pieces.values(), sheet.stock, stock, cutter).spacing
    wider = f": {cutter.spacing:g} were asked for, but the waste must hold together" if spacing > cutter.spacing else ""
    lines = [
        f"{title}, revision {revision}",
        f"Sheet {sheet.number} of {sheet.stock}: {stock.kind}, {stock.true_thickness:g} mm as measured, "
        f"{wide:g} x {high:g} mm; {sheet.used:.0%} of it used",
        *_from_rack(sheet),
        f"Left over  {left_words(sheet) or 'nothing worth keeping'}",
        "",
        "Units      millimetres, 1:1",
        f"Datum      {datum_words(sheet, cutter)}",
        *stage_words(sheet, stages),
        f"Cutter     {cutter.diameter:g} mm; lines are the finished edge, the offset is the shop's to set",
        "Cut side   outside the line on cut-piece, inside the line on cut-opening, sink- and bore- layers",
        "Direction  cut-piece lines run counter-clockwise, cut-opening lines clockwise; lead-in is left to the shop",
        f"Curves     lines and arcs only, within {cutter.arc_tolerance:g} mm of the true curve",
        f"Free       {cutter.edge_margin:g} mm along the sheet's edge, {spacing:g} mm between pieces{wider}",
        f"Corners    inside corners tighter than the cutter: {_reliefs(cutter)}",
        "",
        "Layers",
        *_layer_lines(sheet, used),
        *_bridge_lines(used, stock, cutter),
        "",
        "Pieces",
        *(_piece_lines(sheet, used)),
        "",
        "Cautions",
        *(f"  {text}" for text in _cautions(sheet, used, cramped)),
    ]
    return "\n".join(lines) + "\n"


def _layer_lines(sheet: Sheet, used: Mapping[str, Piece]) -> list[str]:
    """What is done on each layer of the file."""
    sinks = sorted({depth for piece in used.values() for _, depth in piece.cut.sinks})
    ringed = any(islands(piece.cut.sinks) for piece in used.values())
    between = ", between the lines: one within another is an island that stays" if ringed else ""
    bores = sorted({depth for piece in used.values() for _, depth in piece.cut.bores})
    drills = sorted({(drill_layer(2 * loop.circle[2], depth), "through" if depth is None else f"{depth:.1f} mm deep")
                     for piece in used.values() for loop, depth in piece.cut.drilled if loop.circle})
    return [
        *(f"  {name:<14} {what}" for name, (what, _) in LAYERS.items()),
        *(f"  {name:<14} {what}" for name, (what, _) in STAGED.items() if pinned(sheet)),
        *([f"  {DEFECT:<14} a spoilt place of this sheet: not cut"] if sheet.defects else []),
        *(f"  {sink_layer(d):<14} sunk {d:.1f} mm deep from the face that lies up{between}" for d in sinks),
        *(f"  {bore_layer(d):<14} round hole {d:.1f} mm deep from the face that lies up" for d in bores),
        *([f"  {TRUE:<14} the true line of a piece cut rough: mark it; scribe and trim to it"]
          if any(piece.cut.true for piece in used.values()) else []),
        *(f"  {name:<14} narrower than the cutter: not routed; drill at the cross, {deep}" for name, deep in drills),
    ]


def _from_rack(sheet: Sheet) -> list[str]:
    """What is said of a part-used sheet."""
    if not sheet.rack:
        return []
    spoilt = f", {len(sheet.defects)} spoilt place(s) kept clear of" if sheet.defects else ""
    shape = "; its outline is on sheet-edge, 0,0 is the corner of the box round it" if sheet.edge is not None else ""
    return [f"From the rack, {sheet.rack} as the spec counts them{spoilt}{shape}"]


def _bridge_lines(used: Mapping[str, Piece], stock: Stock, cutter: Cutter) -> list[str]:
    """What is done over the stretches that are drawn on a layer of their own, where there are any."""
    if not any(piece.cut.bridges for piece in used.values()):
        return []
    stays = height(cutter, stock.true_thickness)
    return [f"  {bridge_layer(stays):<14} lies on the cut: leave {stays:.1f} mm of the thickness over these stretches; "
            "trim and sand flush"]


def _reliefs(cutter: Cutter) -> str:
    return {
        "by fit": "opened along the edge nothing lies against; else round, past the corner",
        "round": "opened round, past the corner",
        "edge": "opened along the longer edge",
        "none": "left round by the cutter; square them by hand",
    }[cutter.corner_relief]


def _piece_lines(sheet: Sheet, used: Mapping[str, Piece]) -> list[str]:
    lines = []
    inside = _in_openings(sheet, used)
    for placed in sheet.placed:
        piece = used[placed.piece]
        low_x, low_y, high_x, high_y = bounds(on_sheet(piece, placed).outer)
        body = piece.bodies[placed.copy - 1] if len(piece.bodies) >= placed.copy else piece.body
        facts = [body, f"{high_x - low_x:.1f} x {high_y - low_y:.1f} mm at {low_x:.1f}, {low_y:.1f}"]
        facts += [piece.hand] if piece.hand else []
        facts += ["mirrored"] if placed.mirrored else []
        facts += ["face up" if piece.up == "face" else "underside up"]
        order = piece.orders[placed.copy - 1] if len(piece.orders) >= placed.copy else ""
        facts += [f"{order} in its stack, the labelled face {'up' if piece.up == 'face' else 'down'}"] if order else []
        facts += ["dress to the marked line"] if piece.cut.far else []
        facts += [*step_words(piece.steps), *drill_words(piece.cut)]
        facts += [f"in an opening of {inside[placed]}: cut it before that opening"] if placed in inside else []
        facts += [f"second set-up from below: {len(piece.cut.under)} recess(es)"] if piece.cut.under else []
        lines.append(f"  {piece.id} {placed.copy}/{piece.quantity}  " + "; ".join([*facts, *piece.notes]))
    return lines


def _in_openings(sheet: Sheet, used: Mapping[str, Piece]) -> dict[Placed, str]:
    """The pieces that lie in the openings of others, and of which (the nearest round it)."""
    found: dict[Placed, str] = {}
    least: dict[Placed, float] = {}
    cut = [(p, on_sheet(used[p.piece], p)) for p in sheet.placed]
    for host, outline in cut:
        for hole in outline.holes:
            x0, y0, x1, y1 = bounds(hole)
            for guest, other in cut:
                a0, b0, a1, b1 = bounds(other.outer)
                size = (x1 - x0) * (y1 - y0)
                within = guest != host and x0 <= a0 and y0 <= b0 and a1 <= x1 and b1 <= y1
                if within and size < least.get(guest, math.inf) and holds_point(hole, segments(other.outer)[0].start):
                    found[guest], least[guest] = f"{host.piece} {host.copy}", size
    return found


def _cautions(sheet: Sheet, used: Mapping[str, Piece], cramped: Sequence[Placed]) -> list[str]:
    """What can go wrong at the machine."""
    out = [
        "Dust of board, foam and laminate harms lungs and some of it burns: extraction and a fitting mask.",
        "Keep clamps and screws off every line; nothing is drawn here for them.",
        "Read the file at 1:1 and measure one piece on the screen before the first cut.",
    ]
    held = [p.id for p in used.values() if p.cut.bridges and not p.loose]
    if held:
        out.append(f"Small pieces stay in the sheet by their bridges ({', '.join(held)}): saw these through by hand, "
                   "never let the cutter free the piece.")
    loose = loose_words(p for p in used.values() if small(p.cut))
    if loose:
        out.append("Small pieces that no bridges hold can lift or fly: screw them down inside the outline, tape them, "
                   f"or hold them by vacuum before they are cut free: {loose}.")
    if any(order for piece in used.values() for order in piece.orders):
        out.append("Lifts are glued up on their dowels, which stay in; what is open of a dowel hole is filled flush "
                   "before the stack is laminated over, and sealed in a mold before it is waxed.")
    if cramped:
        names = ", ".join(f"{p.piece} {p.copy}" for p in cramped)
        out.append(f"No room for the whole label on {names}: write it on by hand as soon as it is cut.")
    return out
