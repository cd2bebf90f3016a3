"""Sheets read back by GDAL (through pyogrio), a reader that shares no code with the writer.

GDAL turns arcs into chords; with a step of 0.1 deg the area of a circle comes out 5.1e-7 short: 1 - sin(w) / w.
Meanings of header fields: the DXF reference, $INSUNITS 4 = millimetres, as remembered.
"""

import math
import re

import cadquery as cq
import numpy as np
import pyogrio
import pytest
import shapely

from moldplan.cut.cutting import flatten, lay_out
from moldplan.cut.dxf import named, write_sheet
from moldplan.cut.layers import outlined
from moldplan.shape.assembly import Assembly
from moldplan.shape.body import Body, Frame, Shaped
from moldplan.spec.model import Cutter, Stock

BOARD = Stock(kind="plywood", thickness=18, size=(1220, 1000))
PLAIN = Cutter(corner_relief="none")
SHORT = 5.5e-7  # relative, of chords of 0.1 deg


def solids():
    """{name: (solid, frame)}: lines, arcs, openings, recesses, drafted walls, a spline."""
    plate = cq.Workplane().box(300, 200, 18, centered=(True, True, False))
    holed = plate.faces(">Z").workplane().pushPoints([(80, 40), (-70, 0)]).hole(31).faces(">Z").workplane()
    rib = (
        cq.Workplane("XZ").moveTo(-150, 0).lineTo(-20, 0).threePointArc((0, 12), (20, 0)).lineTo(150, 0)
        .lineTo(150, 100).lineTo(110, 100).threePointArc((0, 25), (-110, 100)).lineTo(-150, 80).close().extrude(18)
    )  # fmt: skip
    return {
        "plate": (holed.center(0, -60).slot2D(70, 22).cutThruAll().val(), Frame()),
        "bored": (plate.faces(">Z").workplane().center(40, 20).hole(60, 9).val(), Frame((900, 40, 7))),
        "rib": (rib.val(), Frame((0, 0, 0), (1, 0, 0), (0, -1, 0))),
        "disc": (cq.Workplane().circle(130).extrude(18, taper=4).val(), Frame()),
        "frame": (plate.cut(cq.Workplane().rect(120, 90).extrude(18).edges("|Z").fillet(20)).val(), Frame()),
        "oval": (cq.Workplane().ellipse(140, 70).extrude(18).val(), Frame()),
    }


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """(folder, sheets, pieces, {body: (solid, frame)})."""
    made = solids()
    bodies = {
        name: Body(name=name, kind="insert", shaped=Shaped(solid.moved(frame.location) if name == "bored" else solid),
                   part="p", path=("cradles", "p"), frame=frame, stock="board", thickness=18.0)
        for name, (solid, frame) in made.items()
    }  # fmt: skip
    cutting = flatten(Assembly(bodies=bodies, stands=()), {"board": BOARD}, PLAIN)
    laid = lay_out(cutting, {"board": BOARD}, PLAIN, saved=None, say=print)
    layout = named(laid.layout, {"board": BOARD}, title="Six pieces", revision="A")
    folder = tmp_path_factory.mktemp("sheets")
    for sheet in layout.sheets:
        write_sheet(folder / sheet.file, sheet, cutting.pieces, BOARD, cutter=PLAIN, title="Six pieces", revision="A")
    return folder, layout.sheets, cutting.pieces, made


@pytest.fixture(scope="module")
def read(written):
    """{file: [(layer, subclasses, geometry)]} as GDAL reads it."""
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": "0.1", "DXF_ENCODING": "UTF-8"})
    folder, sheets, _, _ = written
    found = {}
    for sheet in sheets:
        _, _, shapes, fields = pyogrio.raw.read(folder / sheet.file, columns=["Layer", "SubClasses"])
        found[sheet.file] = list(zip(fields[0], fields[1], shapely.from_wkb(shapes), strict=True))
    return found


def outlines(entities, layer):
    return [geometry for name, _, geometry in entities if name == layer]


def test_every_outline_is_closed_and_every_entity_a_polyline_or_circle(read):
    for entities in read.values():
        assert {kinds.split(":")[-1] for _, kinds, _ in entities} <= {"AcDbPolyline", "AcDbCircle"}
        for layer, _, geometry in entities:
            assert geometry.geom_type == "LineString" and np.isfinite(geometry.bounds).all()
            if outlined(layer):
                assert geometry.is_ring, layer


def test_layers_are_those_promised_and_no_text_or_spline_is_there(read, written):
    folder, sheets, _, _ = written
    for sheet in sheets:
        for layer, _, _ in read[sheet.file]:
            outlined(layer)  # raises for a layer that is not in the table of cut/layers.py
        text = (folder / sheet.file).read_text(encoding="utf-8")
        entities = text[text.index("ENTITIES"):text.index("OBJECTS")]
        assert not re.search(r"^(SPLINE|TEXT|MTEXT|ELLIPSE|DIMENSION|HATCH|INSERT)$", entities, re.M)


def test_the_header_says_millimetres(written):
    folder, sheets, _, _ = written
    for sheet in sheets:
        lines = (folder / sheet.file).read_text(encoding="utf-8").split("\n")
        at = lines.index("$INSUNITS")
        assert [line.strip() for line in lines[at + 1 : at + 3]] == ["70", "4"]


def test_the_sheet_is_drawn_at_true_scale_with_its_corner_at_0_0(read):
    for entities in read.values():
        (edge,) = outlines(entities, "sheet-edge")
        assert edge.bounds == pytest.approx((0, 0, 1220, 1000), abs=1e-9)
        assert shapely.box(*edge.bounds).covers(shapely.MultiLineString([g for _, _, g in entities]))


def test_areas_are_those_of_the_solids_faces(read, written):
    """Each outline net of its openings against the face of its solid, as the kernel measures it."""
    _, sheets, pieces, made = written
    for piece in pieces:
        solid, frame = made[piece.body]
        face = max(f.Area() for f in solid.Faces() if f.geomType() == "PLANE" and
                   abs(f.normalAt(None).dot(cq.Vector(*frame.z))) > 0.999)  # of a bored plate: the whole lower face
        net = []
        for sheet in sheets:
            for placed in sheet.placed:
                if placed.piece == piece.id:
                    net.append(net_area(read[sheet.file], sheet, pieces, placed))
        assert len(net) == piece.quantity
        fitted = 2e-4 if piece.body == "oval" else 1e-6  # arcs within 0.02 mm of an ellipse, not the ellipse
        assert net[0] == pytest.approx(face, rel=fitted)
        assert piece.area == pytest.approx(face, rel=fitted if piece.body == "oval" else 1e-9)


def net_area(entities, sheet, pieces, placed):
    """Area of the placed piece's outline in the file less the openings inside it."""
    order = list(sheet.placed).index(placed)
    outer = shapely.Polygon(outlines(entities, "cut-piece")[order])
    holes = [shapely.Polygon(h) for h in outlines(entities, "cut-opening")]
    return outer.area - sum(hole.area for hole in holes if outer.contains(hole))


def test_bridges_are_as_many_and_as_long_as_planned_and_lie_on_a_cut(read, written):
    _, sheets, pieces, _ = written
    table = {piece.id: piece for piece in pieces}
    for sheet in sheets:
        entities = read[sheet.file]
        bridges = outlines(entities, "bridge-2.0mm")
        assert len(bridges) == sum(len(table[p.piece].cut.bridges) for p in sheet.placed) > 0
        cuts = shapely.MultiLineString(outlines(entities, "cut-piece"))
        for bridge in bridges:
            assert bridge.length == pytest.approx(PLAIN.bridge_length, rel=1e-6)
            assert cuts.buffer(1e-3).covers(bridge)  # both in chords, of arcs of one circle


def test_a_full_circle_is_a_circle_of_its_size(read):
    circles = [g for entities in read.values() for layer, kinds, g in entities
               if layer == "cut-piece" and kinds.endswith("AcDbCircle")]
    (disc,) = circles
    assert shapely.Polygon(disc).area == pytest.approx(math.pi * 130**2, rel=SHORT)
    assert disc.bounds[2] - disc.bounds[0] == pytest.approx(260, abs=1e-3)


def test_pieces_in_the_file_keep_the_spacing_and_the_margin(read):
    for entities in read.values():
        shapes = [shapely.Polygon(g) for g in outlines(entities, "cut-piece")]
        for i, shape in enumerate(shapes):
            assert all(shape.distance(other) >= 12 - 1e-4 for other in shapes[:i])
            assert shapely.box(15, 15, 1205, 985).buffer(1e-4).covers(shape)
