"""Round holes narrower than the cutter: drilled, marked in the file, told of; all others stay with the router."""

import ezdxf
import pytest

from moldplan.cut.cutting import flatten
from moldplan.cut.drilled import crosses, drill_words, drilled
from moldplan.cut.dxf import write_sheet
from moldplan.cut.judge import judged_pieces
from moldplan.cut.layers import outlined
from moldplan.cut.loop import map_outline, moved, reversed_loop
from moldplan.cut.piece import Loop, Outline, Placed, Sheet
from moldplan.shape.assembly import Assembly
from moldplan.shape.body import Shaped, block, rod
from moldplan.spec.model import Cutter

DOWELS = (Loop(circle=(30.0, 40.0, 4.0)), Loop(circle=(270.0, 160.0, 4.0)))
AIR, WIDE = Loop(circle=(150.0, 100.0, 3.0)), Loop(circle=(150.0, 40.0, 12.0))
BLIND = (Loop(circle=(60.0, 160.0, 4.0)), 9.0)


@pytest.fixture
def outline(box):
    slot = reversed_loop(box(40, 5, 200, 60))
    bores = (BLIND, (Loop(circle=(200, 30, 9)), 9.0))
    return Outline(outer=box(300, 200), holes=(*DOWELS, AIR, WIDE, slot), bores=bores)


@pytest.mark.parametrize(("diameter", "left", "bores", "drills"), [
    (6, 5, 2, 0), (8, 4, 2, 1), (8.1, 2, 1, 4), (50, 2, 1, 4)])  # 18 and 24 mm are more than a chuck takes
def test_what_is_round_and_narrower_than_the_cutter_is_drilled(outline, diameter, left, bores, drills):
    made = drilled(outline, diameter=diameter)
    assert (len(made.holes), len(made.bores), len(made.drilled)) == (left, bores, drills)
    assert made.holes[-1] == outline.holes[-1]  # a slot cannot be drilled
    assert len(list(crosses(made))) == 2 * drills
    assert drilled(made, diameter=diameter) == made


def test_words_count_holes_by_size_and_depth(outline):
    assert drill_words(drilled(outline, diameter=10)) == (
        "drill 1 hole of 6.0 mm through", "drill 2 holes of 8.0 mm through", "drill 1 hole of 8.0 mm, 9.0 mm deep")
    assert drill_words(outline) == ()


def test_a_hole_to_drill_moves_with_its_piece(outline):
    made = map_outline(drilled(outline, diameter=10), lambda loop: moved(loop, turn=90, x=500))
    assert (Loop(circle=(460.0, 30.0, 4.0)), None) in made.drilled and len(made.drilled) == 4


def bored_body(flat_body):
    plate = block(300, 200, 18).cut(*(rod(loop.circle[2], (*loop.circle[:2], -1), (0, 0, 20), "hole")
                                      for loop in (*DOWELS, WIDE)))
    return flat_body(Shaped(plate.solid).solid, name="lift")


def test_the_file_marks_them_on_layers_of_their_own_and_no_finding_fails(flat_body, board, tmp_path):
    cutter = Cutter(diameter=10, spacing=14)
    (piece,) = flatten(Assembly(bodies={"lift": bored_body(flat_body)}, stands=()), {"board": board}, cutter).pieces
    assert not [f for f in judged_pieces([piece], cutter) if f.verdict == "fails"]
    assert piece.area == pytest.approx(300 * 200 - 3.14159265 * (2 * 16 + 144), abs=0.01)  # as designed, holes and all
    sheet = Sheet(stock="board", number=1, size=board.size, used=0.1, file="a.dxf",
                  placed=(Placed(piece=piece.id, copy=1, x=50, y=50, turn=0),))
    write_sheet(tmp_path / sheet.file, sheet, [piece], board, cutter=cutter, title="T", revision="A")
    space = ezdxf.readfile(tmp_path / "a.dxf").modelspace()
    found = {(c.dxf.layer, round(c.dxf.center.x, 6), round(c.dxf.center.y, 6), round(c.dxf.radius, 6))
             for c in space.query("CIRCLE")}
    assert found == {("drill-8.0mm", 80, 90, 4), ("drill-8.0mm", 320, 210, 4), ("cut-opening", 200, 90, 12)}
    crossed = [[(p[0], p[1]) for p in e.get_points("xy")] for e in space.query('LWPOLYLINE[layer=="mark-line"]')]
    middles = {tuple((a + b) / 2 for a, b in zip(*line, strict=True)) for line in crossed if len(line) == 2}
    assert {(80.0, 90.0), (320.0, 210.0)} <= middles
    text = (tmp_path / "a.txt").read_text(encoding="utf-8")
    assert "drill-8.0mm    narrower than the cutter: not routed; drill at the cross, through" in text
    assert "drill 2 holes of 8.0 mm through" in text


def test_the_layers_of_drilled_holes_hold_outlines_only():
    assert outlined("drill-8.0mm") and outlined("drill-8.0mm-deep-9.1mm")
    with pytest.raises(KeyError):
        outlined("dril-8.0mm")
