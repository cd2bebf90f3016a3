"""One DXF for each sheet, and a plain text beside it.

In       a sheet with its placed pieces, the stock, the cutter, title and revision.
Out      .dxf (R2010, millimetres, model space, sheet corner at 0,0) and .txt. The same sheet gives the same bytes.
Not here placing (nest.py), the layers (layers.py), the text (sheet_note.py), the words on a piece (label.py).

Every cut is one closed polyline of lines and arcs (bulges) or one circle; nothing else is on a cut layer.
Bridges are open lines over it, on a layer of their own.
"""

from __future__ import annotations

import io
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from moldplan.cut import lettering
from moldplan.cut.bridges import height, on_outline
from moldplan.cut.datum import holes, mark, pinned, strip
from moldplan.cut.drilled import crosses
from moldplan.cut.label import label
from moldplan.cut.layers import (
    BRIDGE_COLOUR,
    DEFECT,
    LAYERS,
    STAGED,
    SUNK_COLOUR,
    TRUE,
    bore_layer,
    bridge_layer,
    drill_layer,
    sink_layer,
)
from moldplan.cut.loop import on_sheet, segments
from moldplan.cut.piece import Layout, Loop, Piece, Placed, Point, Sheet, Stage
from moldplan.cut.sheet_note import note
from moldplan.cut.stages import parted
from moldplan.errors import OutputError
from moldplan.finding import slug
from moldplan.material.stock import Stock
from moldplan.spec.model import Cutter

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.layouts import Modelspace


LIFT = 1 / 3  # of a letter's height that the words in the margin stand over its edge, with 1.5 mm
LONGEST = 60  # bytes of a name's word: five of them and a suffix stay under the 255 that file systems take


def file_name(sheet: Sheet, stock: Stock, *, title: str, revision: str, stage: int = 0) -> str:
    """project_stock_thickness_sheet_revision, fit for any file system, without a suffix; `stage` counts from 1."""
    number = f"sheet-{sheet.number}" + (f"-stage-{stage}" if stage else "")
    # one system takes what stands before a name's first dot for a device, such as con
    words = (title.replace(".", "-"), sheet.stock, f"{stock.true_thickness:g}mm", number, f"rev-{revision}")
    return "_".join(_plain(word) for word in words)


def _plain(word: str) -> str:
    """A word of a file name: short, without what one file system or another takes for a command."""
    plain = slug(word).replace("/", "-").replace("_", "-").encode()[:LONGEST].decode(errors="ignore")
    return plain.strip("-.") or "x"


def named(layout: Layout, stocks: Mapping[str, Stock], *, title: str, revision: str) -> Layout:
    """The layout with each sheet's file name filled in; names never collide."""
    taken: dict[str, int] = {}

    def file(sheet: Sheet, stage: int) -> str:
        name = file_name(sheet, stocks[sheet.stock], title=title, revision=revision, stage=stage)
        taken[name] = taken.get(name, 0) + 1
        return f"{name}-{taken[name]}.dxf" if taken[name] > 1 else f"{name}.dxf"

    def filed(sheet: Sheet) -> Sheet:
        if not sheet.stages:
            return replace(sheet, file=file(sheet, 0))
        several = len(sheet.stages) > 1
        stages = tuple(replace(stage, file=file(sheet, several * n)) for n, stage in enumerate(sheet.stages, 1))
        return replace(sheet, file=stages[0].file, stages=stages)

    return replace(layout, sheets=tuple(filed(sheet) for sheet in layout.sheets))


def write_sheets(folder: Path, sheet: Sheet, pieces: Iterable[Piece], stock: Stock, *, cutter: Cutter, title: str,
                 revision: str) -> None:  # fmt: skip
    """All files of a sheet into `folder`: one, or one a stage. Raises OutputError when the disk refuses."""
    table = tuple(pieces)
    for part in parted(sheet):
        write_sheet(folder / part.file, part, table, stock, cutter=cutter, title=title, revision=revision,
                    stages=sheet.stages)


def write_sheet(
    path: Path, sheet: Sheet, pieces: Iterable[Piece], stock: Stock, *, cutter: Cutter, title: str, revision: str,
    stages: Sequence[Stage] = (),
) -> None:
    """Writes `path` (.dxf) and the .txt beside it. Raises OutputError when the disk refuses.

    `stages`: all of the sheet's, where it has any; `sheet` is then one of them (stages.parted)."""
    table = {piece.id: piece for piece in pieces}
    part = f" stage {stages.index(sheet.stages[0]) + 1}" if len(stages) > 1 else ""
    words = f"{title}  {sheet.stock} {stock.true_thickness:g} mm  sheet {sheet.number}{part}  rev {revision}"
    stream = io.StringIO()
    with _undated():
        drawing = _drawing(sheet)
        space = drawing.modelspace()
        cramped = [placed for placed in sheet.placed if not _draw_piece(drawing, space, table[placed.piece], placed)]
        _draw_bridges(drawing, sheet, table, height(cutter, stock.true_thickness))
        _draw_sheet(space, sheet, cutter, words)
        for name in sorted(drawing.entitydb.dxf_types_in_use()):
            drawing.classes.add_class(name)  # the library would list them in the order of a set, which varies
        drawing.write(stream)
    try:
        path.write_bytes(stream.getvalue().encode("utf-8"))
        path.with_suffix(".txt").write_text(
            note(sheet, table, stock, cutter=cutter, title=title, revision=revision, cramped=cramped,
                 stages=stages), encoding="utf-8",
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
    for name, (_, colour) in STAGED.items() if pinned(sheet) else ():
        drawing.layers.add(name, true_color=colour)
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


def _layer(drawing: Drawing, name: str, colour: int) -> str:
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
    for loop in cut.true:
        _draw_loop(space, loop, _layer(drawing, TRUE, LAYERS["mark-line"][1]))
    for loop, depth in cut.sinks:
        _draw_loop(space, loop, _layer(drawing, sink_layer(depth), SUNK_COLOUR))
    for loop, depth in cut.bores:
        _draw_loop(space, loop, _layer(drawing, bore_layer(depth), SUNK_COLOUR))
    for loop, deep in cut.drilled:
        _draw_loop(space, loop, _layer(drawing, drill_layer(2 * loop.circle[2] if loop.circle else 0.0, deep),
                                       SUNK_COLOUR))
    for ends in crosses(cut):
        _draw_path(space, ends, "mark-line")
    written = label(piece, placed, cut)
    for path in written.text:
        _draw_path(space, path, "mark-text")
    for path in written.lines:
        _draw_path(space, path, "mark-line")
    return written.whole


def _draw_bridges(drawing: Drawing, sheet: Sheet, table: Mapping[str, Piece], stays: float) -> None:
    """An open line over each stretch of a cut that keeps `stays` of the thickness [mm]; the cut beneath is whole."""
    for placed in sheet.placed:
        cut = on_sheet(table[placed.piece], placed)
        for ends in cut.bridges:
            s = on_outline(cut.outer, ends)
            drawing.modelspace().add_lwpolyline(
                ((*s.start, s.bulge), (*s.end, 0.0)), format="xyb",
                dxfattribs={"layer": _layer(drawing, bridge_layer(stays), BRIDGE_COLOUR)},
            )  # fmt: skip


def _draw_sheet(space: Modelspace, sheet: Sheet, cutter: Cutter, words: str) -> None:
    """The sheet's edge; in its free margin the datum mark and what the sheet is."""
    _draw_loop(space, sheet.outline, "sheet-edge")
    for defect in sheet.defects:
        _draw_loop(space, defect, DEFECT)
    for stage in sheet.stages:
        for spots, layer in ((stage.drill, "datum-hole"), (stage.pins, "datum-pin")):
            for hole in holes(spots):
                _draw_loop(space, hole, layer)
    stroke = mark(sheet, cutter)
    if stroke:
        _draw_path(space, stroke, "datum-mark")
    if sheet.edge is not None and not _corner(sheet.edge):
        return  # the words have no straight lower edge to stand on
    height = min(6.0, (strip(cutter) - 1.5) / (1 + LIFT))
    arm, length = max(x for x, _ in stroke or ((0, 0),)), lettering.width(words, height)
    if height >= 2.5 and length + arm + 8 < sheet.size[0]:
        for path in lettering.strokes(words, height):
            _draw_path(space, [(x + arm + 4, y + 1.5 + LIFT * height) for x, y in path], "mark-text")


def _corner(edge: Loop) -> bool:
    """Whether a part-used sheet has its corner at 0,0, with room for the words along its lower edge."""
    ends = [(s.start, s.end) for s in segments(edge)]
    return any(a == (0, 0) and b[1] == 0 for a, b in ends) and any(b == (0, 0) and a[0] == 0 for a, b in ends)
