"""Findings on pieces and sheets: each holds on a good layout and fails, by the right amount, on a spoilt one."""

from dataclasses import replace

import pytest

from moldplan.cut.judge import judged_layout, judged_pieces
from moldplan.cut.loop import reversed_loop
from moldplan.cut.nest import layout
from moldplan.cut.piece import Layout, Loop
from moldplan.cut.seating import opened
from moldplan.cut.touching import Touching
from moldplan.shape.assembly import Assembly
from moldplan.spec.model import Cutter


@pytest.fixture
def good(piece, box, board):
    pieces = [piece("P1", box(500, 300), quantity=2), piece("P2", Loop(circle=(0, 0, 120)))]
    made = layout(pieces, {"board": board}, Cutter(), saved=None, say=lambda text: None)
    return pieces, made


def shifted(made, index, *, x=0.0, y=0.0):
    (sheet,) = made.sheets
    placed = list(sheet.placed)
    placed[index] = replace(placed[index], x=placed[index].x + x, y=placed[index].y + y)
    return replace(made, sheets=(replace(sheet, placed=tuple(placed)),))


def by_what(findings):
    return {finding.what: finding for finding in findings}


def test_a_good_layout_holds(good):
    pieces, made = good
    found = judged_layout(made, pieces, Cutter())
    assert {f.verdict for f in found} == {"holds"}
    assert "15.00 mm of 15" in by_what(found)["short of the edge margin by"].note
    assert "12.00 mm of 12" in by_what(found)["short of the spacing by"].note


def test_a_piece_pushed_to_the_edge_fails_by_what_is_missing(good):
    pieces, made = good
    found = by_what(judged_layout(shifted(made, 0, x=-3.25), pieces, Cutter()))
    assert found["short of the edge margin by"].measured == pytest.approx(3.25)
    assert found["short of the edge margin by"].verdict == "fails"


def test_two_pieces_pushed_together_fail_by_what_is_missing(good):
    pieces, made = good
    found = by_what(judged_layout(shifted(made, 0, y=1.5), pieces, Cutter()))
    assert found["short of the spacing by"].measured == pytest.approx(1.5)
    overlapping = by_what(judged_layout(shifted(made, 0, y=50), pieces, Cutter()))
    assert overlapping["short of the spacing by"].measured == pytest.approx(12)


def test_a_lost_doubled_or_mirrored_piece_fails(good):
    pieces, made = good
    (sheet,) = made.sheets
    what = "pieces not on exactly one sheet as drawn"
    lost = replace(made, sheets=(replace(sheet, placed=sheet.placed[1:]),))
    assert by_what(judged_layout(lost, pieces, Cutter()))[what].note == "P1 1 is missing"
    twice = replace(made, sheets=(sheet, replace(sheet, number=2, placed=sheet.placed[:1])))
    assert by_what(judged_layout(twice, pieces, Cutter()))[what].measured == 1
    flipped = (replace(sheet.placed[0], mirrored=True), *sheet.placed[1:])
    turned = replace(made, sheets=(replace(sheet, placed=flipped),))
    assert by_what(judged_layout(turned, pieces, Cutter()))[what].note == "P1 1 lies mirrored"


def test_more_sheets_than_the_bound_is_said_but_not_judged(good):
    pieces, made = good
    found = judged_layout(replace(made, fewest={"board": {"used": 2, "lower_bound": 1}}), pieces, Cutter())
    assert by_what(found)["sheets used"].verdict == "not judged"
    assert "sheets used" not in by_what(judged_layout(made, pieces, Cutter()))


def test_spacing_smaller_than_the_cutter_fails_and_its_cure_holds(good):
    pieces, _ = good
    (finding,) = [f for f in judged_pieces(pieces, Cutter(spacing=4, diameter=6.5)) if f.check == "sheets"]
    assert (finding.verdict, finding.margin) == ("fails", -2.5)
    ((edit,),) = [move.edits for move in finding.moves]
    cured = Cutter(**{"diameter": 6.5, edit.path[-1]: edit.to})
    assert {f.verdict for f in judged_pieces(pieces, cured) if f.check == "sheets"} <= {"holds", "close"}


def test_an_opening_under_the_cutter_fails_and_a_smaller_cutter_cures_it(piece, box):
    small = [piece("P1", box(100, 60), holes=(Loop(circle=(50, 30, 2.2)),))]
    (finding,) = [f for f in judged_pieces(small, Cutter()) if f.check == "cut"]
    assert (finding.measured, finding.limit, finding.verdict) == (pytest.approx(4.4), 6, "fails")
    (edit,) = finding.moves[0].edits
    assert (edit.path, edit.to) == (("cutter", "diameter"), 4.0)
    assert not [f for f in judged_pieces(small, Cutter(diameter=edit.to)) if f.check == "cut"]


def as_cut(pieces):
    """With their corners opened; nothing lies against any edge."""
    return opened(pieces, Touching(Assembly(bodies={}, stands=())), Cutter())


def test_a_relief_near_another_cut_is_measured_and_one_that_breaks_through_fails(piece, box):
    near = [piece("P1", box(100, 60), holes=(reversed_loop(box(40, 40, 1.5, 9)),))]
    (land,) = [f for f in judged_pieces(as_cut(near), Cutter()) if "relief" in f.what]
    assert land.measured == pytest.approx(1.5 - 3 * (1 - 0.5**0.5)) and land.verdict == "fails"
    through = [piece("P1", box(100, 60), holes=(reversed_loop(box(40, 40, 0.5, 9)),))]
    left = [f for f in judged_pieces(as_cut(through), Cutter()) if "waste left" in f.what]
    assert [f.verdict for f in left] == ["fails"] and "break through" in left[0].note
    assert left[0].measured == pytest.approx(3 * (2**0.5 - 1))


def test_a_slit_in_a_groove_that_is_made_by_hand_is_no_fault(piece, box, ring):
    slit = ring((0, 0), (49, 0), (49, 30), (51, 30), (51, 0), (100, 0), (100, 60), (0, 60))
    bare = [piece("P1", slit)]
    assert [f.verdict for f in judged_pieces(bare, Cutter()) if "narrowest slot" in f.what] == ["fails"]
    marked = [replace(bare[0], outline=replace(bare[0].outline, far=(box(20, 40, 40, 0),)))]
    assert not [f for f in judged_pieces(marked, Cutter()) if f.check == "cut"]


def test_nothing_to_cut_finds_nothing():
    assert judged_pieces([], Cutter()) == () and judged_layout(Layout(), [], Cutter()) == ()
