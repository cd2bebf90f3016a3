"""One DXF for each sheet, and a plain text beside it.

In       a sheet with its placed pieces, the stock, the cutter, title and revision.
Out      .dxf (R2010, millimetres, model space, sheet corner at 0,0) and .txt. The same sheet gives the same bytes.
Not here placing (nest.py); the words on a piece (label.py).

Layers are those of LAYERS plus sink-<depth>mm and bore-<depth>mm: one operation a layer, its name says which. Every
cut is one closed polyline of lines and arcs (bulges) or one circle; nothing else is on a cut layer. Colours are of
Okabe and Ito's colour-blind-safe set (2008) and mean nothing by themselves.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from moldplan.cut import lettering
from moldplan.cut.label import label
from moldplan.cut.loop import bounds, holds_point, on_sheet, segments
from moldplan.cut.offcut import left_words
from moldplan.cut.piece import Layout, Loop, Outline, Piece, Placed, Point, Sheet
from moldplan.errors import OutputError
from moldplan.finding import slug
from moldplan.material.stock import Stock
from moldplan.spec.model import Cutter

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.layouts import Modelspace

LAYERS = {
    "sheet-edge": ("the sheet's edge: not cut", 0x000000),
    "cut-piece": ("cut through; the piece is inside the line", 0xD55E00),
    "cut-opening": ("cut through; the piece is outside the line", 0xE69F00),
    "mark-line": ("mark: arrows and the datum", 0x0072B2),
    "mark-text": ("mark: letters as single strokes", 0x009E73),
    "far-face": ("outline of the other face: not cut; mark it, or leave it out", 0xCC79A7),
}
DEFECT = "sheet-defect"  # drawn only on sheets that have one
SUNK_COLOUR = 0x56B4E9  # recesses and bores; the set's yellow is too pale on white


def sink_layer(depth: float) -> str:
    """Layer of recesses of one depth [mm]."""
    return f"sink-{depth:.1f}mm"


def bore_layer(depth: float) -> str:
    """Layer of round blind holes of one depth [mm]."""
    return f"bore-{depth:.1f}mm"


def file_name(sheet: Sheet, stock: Stock, *, title: str, revision: str) -> str:
    """project_stock_thickness_sheet_revision, fit for any file system, without a suffix."""
    words = (title, sheet.stock, f"{stock.true_thickness:g}mm", f"sheet-{sheet.number}", f"rev-{revision}")
    return "_".join(slug(word).replace("/", "-").replace("_", "-").strip("-.") or "x" for word in words)


def named(layout: Layout, stocks: Mapping[str, Stock], *, title: str, revision: str) -> Layout:
    """The layout with each sheet's file name filled in; names never collide."""
    taken: dict[str, int] = {}
    sheets = []
    for sheet in layout.sheets:
        name = file_name(sheet, stocks[sheet.stock], title=title, revision=revision)
        taken[name] = taken.get(name, 0) + 1
        if taken[name] > 1:
            name += f"-{taken[name]}"
        sheets.append(replace(sheet, file=f"{name}.dxf"))
    return replace(layout, sheets=tuple(sheets))


def write_sheet(
    path: Path, sheet: Sheet, pieces: Iterable[Piece], stock: Stock, *, cutter: Cutter, title: str, revision: str
) -> None:
    """Writes `path` (.dxf) and the .txt beside it. Raises OutputError when the disk refuses."""
    table = {piece.id: piece for piece in pieces}
    words = f"{title}  {sheet.stock} {stock.true_thickness:g} mm  sheet {sheet.number}  rev {revision}"
    stream = io.StringIO()
    with _undated():
        drawing = _drawing(sheet)
        space = drawing.modelspace()
        cramped = [placed for placed in sheet.placed if not _draw_piece(drawing, space, table[placed.piece], placed)]
        _draw_sheet(space, sheet, cutter, words)
        drawing.write(stream)
    try:
        path.write_bytes(stream.getvalue().encode("utf-8"))
        path.with_suffix(".txt").write_text(
            note(sheet, table, stock, cutter=cutter, title=title, revision=revision, cramped=cramped), encoding="utf-8"
        )
    except OSError as trouble:
        raise OutputError(f"{path}: cannot be written ({trouble.strerror})") from trouble


def _drawing(sheet: Sheet) -> Drawing:
    import ezdxf

    drawing = ezdxf.new("R2010")
    drawing.header["$INSUNITS"] = 4
    drawing.header["$MEASUREMENT"] = 1
    drawing.header["$EXTMIN"] = (0.0, 0.0, 0.0)
    drawing.header["$EXTMAX"] = (*sheet.size, 0.0)
    drawing.modelspace().reset_limits((0.0, 0.0), sheet.size)
    drawing.modelspace().reset_extents((0.0, 0.0, 0.0), (*sheet.size, 0.0))
    for name, (_, colour) in LAYERS.items():
        drawing.layers.add(name, true_color=colour)
    if sheet.defects:
        drawing.layers.add(DEFECT, true_color=LAYERS["sheet-edge"][1])
    return drawing


@contextmanager
def _undated() -> Iterator[None]:
    """Keeps ezdxf from writing the date and random ids, which would make every file differ from the last."""
    import ezdxf

    before = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = before


def _draw_loop(space: Modelspace, loop: Loop, layer: str) -> None:
    if loop.circle is not None:
        x, y, r = loop.circle
        space.add_circle((x, y), r, dxfattribs={"layer": layer})
    else:
        space.add_lwpolyline(loop.vertices, format="xyb", close=True, dxfattribs={"layer": layer})


def _draw_path(space: Modelspace, path: Sequence[Point], layer: str) -> None:
    space.add_lwpolyline(path, format="xy", dxfattribs={"layer": layer})


def _depth_layer(drawing: Drawing, name: str, colour: int) -> str:
    if name not in drawing.layers:
        drawing.layers.add(name, true_color=colour)
    return name


def _draw_piece(drawing: Drawing, space: Modelspace, piece: Piece, placed: Placed) -> bool:
    """One piece with its label; whether the whole label found room."""
    cut = on_sheet(piece, placed)
    _draw_loop(space, cut.outer, "cut-piece")
    for hole in cut.holes:
        _draw_loop(space, hole, "cut-opening")
    for loop in (*cut.far, *(under for under, _ in cut.under)):
        _draw_loop(space, loop, "far-face")
    for loop, depth in cut.sinks:
        _draw_loop(space, loop, _depth_layer(drawing, sink_layer(depth), SUNK_COLOUR))
    for loop, depth in cut.bores:
        _draw_loop(space, loop, _depth_layer(drawing, bore_layer(depth), SUNK_COLOUR))
    written = label(piece, placed, cut)
    for path in written.text:
        _draw_path(space, path, "mark-text")
    for path in written.lines:
        _draw_path(space, path, "mark-line")
    return written.whole


def _draw_sheet(space: Modelspace, sheet: Sheet, cutter: Cutter, words: str) -> None:
    """The sheet's edge; in its free margin the datum mark and what the sheet is."""
    wide, high = sheet.size
    whole = Loop(((0, 0, 0.0), (wide, 0, 0.0), (wide, high, 0.0), (0, high, 0.0)))
    _draw_loop(space, whole if sheet.edge is None else sheet.edge, "sheet-edge")
    for defect in sheet.defects:
        _draw_loop(space, defect, DEFECT)
    if sheet.edge is not None and not _corner(sheet.edge):
        return  # nothing of the sheet lies at 0,0: the note beside says where its box begins
    free = cutter.edge_margin - cutter.diameter / 2 - 1  # what the cutter leaves of the margin
    if free < 4:
        return
    arm = min(free, 12.0)
    _draw_path(space, ((1, arm), (1, 1), (arm, 1), (1, arm)), "mark-line")
    height = min(6.0, free - 2)
    length = lettering.width(words, height)
    if height >= 2.5 and length + arm + 8 < wide:
        for path in lettering.strokes(words, height):
            _draw_path(space, [(x + arm + 4, y + 1.5 + height / 3) for x, y in path], "mark-text")


def _corner(edge: Loop) -> bool:
    """Whether a part-used sheet has its corner at 0,0, with room for the words along its lower edge."""
    ends = [(s.start, s.end) for s in segments(edge)]
    return any(a == (0, 0) and b[1] == 0 for a, b in ends) and any(b == (0, 0) and a[0] == 0 for a, b in ends)


def note(
    sheet: Sheet, pieces: Mapping[str, Piece], stock: Stock, *, cutter: Cutter, title: str, revision: str,
    cramped: Sequence[Placed] = (),
) -> str:
    """The plain text beside a sheet's file: units, datum, cut side, cutter, depths, layers, pieces, cautions."""
    wide, high = sheet.size
    used = {p.piece: pieces[p.piece] for p in sheet.placed}
    depths = sorted({d for p in used.values() for _, d in p.cut.sinks}), sorted(
        {d for p in used.values() for _, d in p.cut.bores}
    )
    lines = [
        f"{title}, revision {revision}",
        f"Sheet {sheet.number} of {sheet.stock}: {stock.kind}, {stock.true_thickness:g} mm as measured, "
        f"{wide:g} x {high:g} mm; {sheet.used:.0%} of it used",
        *_from_rack(sheet),
        f"Left over  {left_words(sheet) or 'nothing worth keeping'}",
        "",
        "Units      millimetres, 1:1",
        "Datum      lower left corner of the sheet, 0,0; x along the sheet's length; small triangle in the corner",
        f"Cutter     {cutter.diameter:g} mm; lines are the finished edge, the offset is the shop's to set",
        "Cut side   outside the line on cut-piece, inside the line on cut-opening, sink- and bore- layers",
        "Direction  cut-piece lines run counter-clockwise, cut-opening lines clockwise; lead-in is left to the shop",
        f"Free       {cutter.edge_margin:g} mm along the sheet's edge, {cutter.spacing:g} mm between pieces",
        f"Corners    inside corners tighter than the cutter: {_reliefs(cutter)}",
        "",
        "Layers",
        *(f"  {name:<14} {what}" for name, (what, _) in LAYERS.items()),
        *([f"  {DEFECT:<14} a spoilt place of this sheet: not cut"] if sheet.defects else []),
        *(f"  {sink_layer(d):<14} sunk {d:.1f} mm deep from the face that lies up" for d in depths[0]),
        *(f"  {bore_layer(d):<14} round hole {d:.1f} mm deep from the face that lies up" for d in depths[1]),
        "",
        "Pieces",
        *(_piece_lines(sheet, used)),
        "",
        "Cautions",
        *(f"  {text}" for text in _cautions(sheet, used, cramped)),
    ]
    return "\n".join(lines) + "\n"


def _from_rack(sheet: Sheet) -> list[str]:
    """What is said of a part-used sheet."""
    if not sheet.rack:
        return []
    spoilt = f", {len(sheet.defects)} spoilt place(s) kept clear of" if sheet.defects else ""
    shape = "; its outline is on sheet-edge, 0,0 is the corner of the box round it" if sheet.edge is not None else ""
    return [f"From the rack, {sheet.rack} as the spec counts them{spoilt}{shape}"]


def _reliefs(cutter: Cutter) -> str:
    return {
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
        facts += ["dress to the marked line"] if piece.cut.far else []
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
    """What can go wrong at the machine. Sizes of small pieces: common practice, no source."""
    out = [
        "Dust of board, foam and laminate harms lungs and some of it burns: extraction and a fitting mask.",
        "Keep clamps and screws off every line; nothing is drawn here for them.",
        "Read the file at 1:1 and measure one piece on the screen before the first cut.",
    ]
    small = [p for p in used.values() if min(_size(p.cut)) < 100 or max(_size(p.cut)) < 300]
    if small:
        names = ", ".join(p.id for p in small)
        out.append(f"Small pieces can lift or fly ({names}): leave bridges or hold them down; the file has none.")
    if cramped:
        names = ", ".join(f"{p.piece} {p.copy}" for p in cramped)
        out.append(f"No room for the whole label on {names}: write it on by hand as soon as it is cut.")
    return out


def _size(outline: Outline) -> tuple[float, float]:
    low_x, low_y, high_x, high_y = bounds(outline.outer)
    return (high_x - low_x, high_y - low_y)
