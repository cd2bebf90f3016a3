"""Rough outlines round true ones: shapely's buffer, which shares no code with the kernel's offset, and closed forms.

Steiner's formula: a convex figure of area A and perimeter P grown by d all round has area A + P d + pi d^2 and
perimeter P + 2 pi d. shapely's round corners of 256 chords a quarter lie within d (1 - cos(pi / 1024)) = 5e-6 d.
"""

import math
from dataclasses import replace

import cadquery as cq
import ezdxf
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from moldplan.cut.batten import offsets
from moldplan.cut.cutting import flatten, lay_out
from moldplan.cut.dxf import write_sheet
from moldplan.cut.loop import area, faults, length, moved, moved_outline, sampled, segments
from moldplan.cut.outline import pieces
from moldplan.cut.oversize import _by_kernel, grown, rough
from moldplan.cut.paper import loops_of
from moldplan.cut.piece import Loop, Outline
from moldplan.cut.table import cut_list
from moldplan.errors import SpecFault
from moldplan.report.paper_ink import CUT, TRUE
from moldplan.report.paper_tile import pens_of
from moldplan.shape.assembly import Assembly
from moldplan.spec.model import Cutter, Stock

OVER = 15.0


def polygon(loop):
    return shapely.Polygon(sampled(loop, 0.001))


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 60), st.integers(0, 60)), min_size=3, max_size=8, unique=True),
       st.integers(1, 40))
def test_a_convex_polygon_grows_by_the_closed_form_and_keeps_its_lines_and_arcs(corners, by):
    hull = shapely.MultiPoint([(20.0 * x, 20.0 * y) for x, y in corners]).convex_hull
    assume(hull.geom_type == "Polygon" and hull.area > 5000)
    ring = shapely.geometry.polygon.orient(hull).exterior.coords[:-1]
    loop = Loop(tuple((x, y, 0.0) for x, y in ring))
    made = grown(loop, float(by))
    assert faults(made) == ()
    assert area(made) == pytest.approx(hull.area + hull.length * by + math.pi * by**2, rel=1e-7)
    assert length(made) == pytest.approx(hull.length + 2 * math.pi * by, rel=1e-6)
    assert all(s.straight or s.radius == pytest.approx(by, abs=1e-6) for s in segments(made))


NOTCHED = Loop(((0, 0, 0), (600, 0, 0), (600, 300, 0.3), (350, 320, 0), (340, 200, 0), (260, 200, 0), (250, 320, 0),
                (0, 300, 0)))
BITTEN = Loop(((0, 0, 0), (400, 0, 0), (400, 300, 0), (240, 300, 1.0), (160, 300, 0), (0, 300, 0)))  # half a circle out


@pytest.mark.parametrize("loop", [NOTCHED, BITTEN, Loop(circle=(30, -20, 120))])
@settings(max_examples=8, deadline=None)
@given(by=st.floats(1, 25), turn=st.floats(0, 360))
def test_every_point_of_the_rough_line_lies_just_so_far_from_the_true_one(loop, by, turn):
    true = moved(loop, turn=turn)
    made = grown(true, by)
    ring, wanted = polygon(true).exterior, polygon(true).buffer(by, quad_segs=256)
    spots = [shapely.Point(p) for p in sampled(made, 0.5)]
    assert all(by - 0.02 <= ring.distance(spot) <= by + 0.02 for spot in spots)
    assert polygon(made).symmetric_difference(shapely.Polygon(wanted.exterior)).area <= 0.02 * wanted.length
    assert faults(made) == ()


def test_lines_and_arcs_are_kept_and_a_notch_too_narrow_is_closed_over():
    assert len(segments(grown(NOTCHED, OVER))) < 2 * len(segments(NOTCHED)) + 1
    narrow = Loop(((0, 0, 0), (400, 0, 0), (400, 300, 0), (210, 300, 0), (210, 100, 0), (190, 100, 0), (190, 300, 0),
                   (0, 300, 0)))
    made = grown(narrow, OVER)
    wanted = shapely.Polygon(polygon(narrow).buffer(OVER, quad_segs=256).exterior)
    assert polygon(made).symmetric_difference(wanted).area <= 0.02 * wanted.length and faults(made) == ()


def test_where_the_kernel_has_no_answer_strokes_stand_in(monkeypatch):
    monkeypatch.setattr("moldplan.cut.oversize._by_kernel", lambda loop, by: None)
    made = grown(NOTCHED, OVER)
    wanted = shapely.Polygon(polygon(NOTCHED).buffer(OVER, quad_segs=256).exterior)
    assert polygon(made).hausdorff_distance(wanted) < 0.05 and faults(made) == ()
    assert _by_kernel(NOTCHED, OVER) is not None


def test_openings_stay_true_and_the_true_line_goes_with_the_piece(box):
    outline = Outline(outer=box(300, 200), holes=(moved(Loop(circle=(0, 0, 30)), x=100, y=100),))
    made = rough(outline, OVER)
    assert made.true == (outline.outer,) and made.holes == outline.holes and rough(outline, 0) is outline
    there = moved_outline(made, turn=90, x=7, y=9, mirrored=True)
    assert polygon(there.outer).buffer(-OVER).symmetric_difference(polygon(there.true[0])).area < 1


@pytest.fixture(scope="module")
def scribed(flat_body):
    plate = cq.Workplane().box(500, 300, 18).faces(">Z").workplane().pushPoints([(80, 0)]).hole(90).val()
    body = replace(flat_body(plate, name="sole sheet"), scribe=OVER)
    fellow = replace(flat_body(plate.translate(cq.Vector(0, 0, 900)), name="other sheet"), scribe=0.0)
    return Assembly(bodies={b.name: b for b in (body, fellow)}, stands=())


def test_the_piece_is_cut_rough_nested_rough_and_listed_rough_but_tabulated_true(scribed, board, tmp_path):
    cutting = flatten(scribed, {"board": board}, Cutter())
    first, other = cutting.pieces
    assert (first.quantity, other.quantity) == (1, 1)  # one outline, yet one is cut rough
    net = 500 * 300 - math.pi * 45**2
    assert first.area == pytest.approx(net, rel=1e-9)  # of its solid's face
    assert area(first.cut.outer) == pytest.approx(500 * 300 + 1600 * OVER + math.pi * OVER**2, rel=1e-9)
    row, _ = cut_list(cutting.pieces)
    assert (row["length_mm"], row["width_mm"]) == (530, 330) and "rough, 15 mm over; true line marked" in row["notes"]
    xs = [r.x for r in offsets(first, 0.0).rows if r.line == "outline"]
    assert max(xs) - min(xs) == pytest.approx(500)
    assert first.by_hand.true == (first.outline.outer,) and other.by_hand is other.outline
    assert first.by_hand.true[0] in loops_of(first.by_hand)
    pens = dict(pens_of(first.by_hand))
    assert pens[TRUE] == (first.outline.outer,) and pens[CUT][0] == first.cut.outer

    layout = lay_out(cutting, {"board": board}, Cutter(), saved=None, say=lambda text: None).layout
    (sheet,) = layout.sheets
    path = tmp_path / "sheet.dxf"
    write_sheet(path, sheet, cutting.pieces, board, cutter=Cutter(), title="t", revision="A")
    space = ezdxf.readfile(path).modelspace()
    (line,) = space.query('*[layer=="true-outline"]')
    true = shapely.Polygon([v[:2] for v in line.get_points()])
    assert line.closed and true.area == pytest.approx(500 * 300)
    outers = [shapely.Polygon([v[:2] for v in e.get_points()]) for e in space.query('LWPOLYLINE[layer=="cut-piece"]')]
    assert max(outers, key=lambda shape: shape.area).exterior.distance(true) > OVER - 5  # chords across the corners
    text = path.with_suffix(".txt").read_text(encoding="utf-8")
    assert "true-outline   the true line of a piece cut rough: mark it; scribe and trim to it" in text
    assert "rough, 15 mm over; true line marked" in text


def test_a_piece_too_large_only_for_its_oversize_is_refused_and_told_so(scribed):
    tight = Stock(kind="plywood", thickness=18, size=(540, 340))
    with pytest.raises(SpecFault) as refused:
        pieces(scribed, {"board": tight}, Cutter())
    (fault,) = refused.value.faults
    assert "only for the 15 mm it is cut larger all round" in fault.why and "530.0 x 330.0" in str(fault.value)
    with pytest.raises(SpecFault) as refused:
        pieces(scribed, {"board": Stock(kind="plywood", thickness=18, size=(400, 340))}, Cutter())
    assert all("only for" not in fault.why for fault in refused.value.faults)
