"""The files of a sheet: same bytes twice, the promised layers, labels clear of every cut, names that a disk takes.

What other readers make of the files is asked in tests/published/test_dxf_gdal.py.
"""

import math
import os
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import ezdxf
import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.cut import dxf, sheet_note
from moldplan.cut.label import label, words
from moldplan.cut.lettering import _STROKES, strokes, width
from moldplan.cut.loop import on_sheet, reversed_loop, sampled
from moldplan.cut.nest import layout
from moldplan.cut.piece import Layout, Loop, Outline, Placed, Sheet, Step
from moldplan.errors import OutputError
from moldplan.spec.model import Cutter


@pytest.fixture
def pieces(piece, box):
    """A plate with everything on it, a pair of discs with a second outline, a piece too small for a label."""
    full = piece("P1", box(300, 200))
    full = replace(full, hand="port", forward=30.0, grain=False, bodies=("base of galley",), cut=Outline(
        outer=full.cut.outer, holes=(reversed_loop(box(40, 30, 20, 20)), Loop(circle=(150, 100, 25))),
        bores=((Loop(circle=(260, 40, 10)), 8.0),), sinks=((box(50, 20, 200, 150), 6.0),)))
    disc = piece("P2", Loop(circle=(0, 0, 90)), quantity=2)
    disc = replace(disc, cut=replace(disc.cut, far=(Loop(circle=(0, 0, 88)),)), up="underside", bodies=("one", "two"))
    return [full, disc, piece("P3", box(40, 9))]


@pytest.fixture
def sheet(pieces, board):
    made = layout(pieces, {"board": board}, Cutter(), saved=None, say=lambda text: None)
    return dxf.named(made, {"board": board}, title="Galley seat", revision="A").sheets[0]


def written(folder, sheet, pieces, board):
    folder.mkdir(exist_ok=True)
    dxf.write_sheet(folder / sheet.file, sheet, pieces, board, cutter=Cutter(), title="Galley seat", revision="A")
    return folder / sheet.file


def test_two_writings_are_equal_to_the_byte(tmp_path, sheet, pieces, board):
    first, second = (written(tmp_path / name, sheet, pieces, board) for name in ("a", "b"))
    assert first.read_bytes() == second.read_bytes()
    assert first.with_suffix(".txt").read_bytes() == second.with_suffix(".txt").read_bytes()


def test_two_programs_write_the_same_bytes(tmp_path):
    """Whatever the seed of their hashes, by which sets of words are ordered."""
    code = """import sys, pathlib
from moldplan.cut.dxf import write_sheet
from moldplan.cut.piece import Sheet
from moldplan.spec.model import Cutter, Stock
write_sheet(pathlib.Path(sys.argv[1]), Sheet(stock="board", number=1, size=(500, 400), placed=(), used=0), [],
            Stock(kind="plywood", thickness=18, size=(500, 400)), cutter=Cutter(), title="t", revision="A")
"""
    for seed in ("1", "4"):
        subprocess.run([sys.executable, "-c", code, str(tmp_path / f"{seed}.dxf")], check=True,
                       env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(Path(__file__).parents[2])})
    assert (tmp_path / "1.dxf").read_bytes() == (tmp_path / "4.dxf").read_bytes()
    assert not ezdxf.options.write_fixed_meta_data_for_testing


def test_layers_say_what_is_done(tmp_path, sheet, pieces, board):
    space = ezdxf.readfile(written(tmp_path, sheet, pieces, board)).modelspace()
    by_layer = {}
    for entity in space:
        by_layer.setdefault(entity.dxf.layer, []).append(entity)
    assert {name for name in by_layer if name.startswith("mark")} == {"mark-line", "mark-text"}
    count = {name: len(found) for name, found in by_layer.items() if not name.startswith("mark")}
    assert count.pop("datum-mark") == 1
    assert count == {"sheet-edge": 1, "cut-piece": 4, "cut-opening": 2, "sink-6.0mm": 1, "bore-8.0mm": 1, "far-face": 2}
    assert {e.dxftype() for e in space} == {"LWPOLYLINE", "CIRCLE"}
    assert all(e.dxftype() == "CIRCLE" or e.closed for name in count for e in by_layer[name])


def test_an_outline_read_back_lies_where_it_was_placed(tmp_path, sheet, pieces, board):
    table = {p.id: p for p in pieces}
    space = ezdxf.readfile(written(tmp_path, sheet, pieces, board)).modelspace()
    read = list(space.query('LWPOLYLINE[layer=="cut-piece"]'))
    wanted = [on_sheet(table[p.piece], p).outer for p in sheet.placed if table[p.piece].cut.outer.circle is None]
    assert len(read) == len(wanted) == 2
    for entity, loop in zip(read, wanted, strict=True):
        flat = [v for vertex in entity.get_points("xyb") for v in vertex]
        assert flat == pytest.approx([v for vertex in loop.vertices for v in vertex], abs=1e-9)


@settings(max_examples=12, deadline=None)
@given(st.floats(0, 360), st.floats(300, 900), st.floats(300, 900), st.booleans())
def test_turning_a_piece_in_and_out_of_the_file_is_the_identity(
        tmp_path_factory, piece, box, board, turn, x, y, mirrored):
    """Read from the file, then shifted, turned and mirrored back by hand: each vertex and its bulge, every layer."""
    cut = Outline(outer=Loop(((0, 0, 0), (200, 0, 0.3), (200, 150, 0), (80, 150, -0.2), (0, 90, 0))),
                  holes=(Loop(((40, 40, 0), (40, 70, 0), (90, 70, 0.5), (90, 40, 0))), Loop(circle=(150, 100, 25))),
                  far=(Loop(((3, 3, 0), (197, 3, 0), (190, 140, 0.1), (4, 88, 0))),),
                  bores=((Loop(circle=(20, 80, 6)), 8.0),), sinks=((box(50, 20, 100, 10), 6.0),))
    one = replace(piece("P1", cut.outer), cut=cut)
    sheet = Sheet(stock="board", number=1, size=(2440, 1220), used=0.1, file="a.dxf", placed=(
        Placed(piece="P1", copy=1, x=x, y=y, turn=turn, mirrored=mirrored),))
    space = ezdxf.readfile(written(tmp_path_factory.mktemp("turned"), sheet, [one], board)).modelspace()
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))

    def back(u, v):
        across, up = c * (u - x) + s * (v - y), c * (v - y) - s * (u - x)
        return (-across if mirrored else across, up)

    wanted = {"cut-piece": [cut.outer], "cut-opening": list(cut.holes), "far-face": list(cut.far),
              "bore-8.0mm": [cut.bores[0][0]], "sink-6.0mm": [cut.sinks[0][0]]}
    for layer, loops in wanted.items():
        for entity, loop in zip(space.query(f'*[layer=="{layer}"]'), loops, strict=True):
            if loop.circle is not None:
                found = (*back(entity.dxf.center.x, entity.dxf.center.y), entity.dxf.radius)
                assert found == pytest.approx(loop.circle, abs=1e-6)
                continue
            read = [(*back(u, v), bulge) for u, v, bulge in entity.get_points("xyb")]
            if mirrored:  # walked backwards, so that it keeps its sense: each bulge stands at the segment's other end
                read = [(*read[k][:2], read[k - 1][2]) for k in range(len(read))][::-1]
            first = min(range(len(read)), key=lambda k: math.dist(read[k][:2], loop.vertices[0][:2]))
            assert np.array([*read[first:], *read[:first]]) == pytest.approx(np.array(loop.vertices), abs=1e-6)


def test_labels_keep_clear_of_every_cut(sheet, pieces):
    table = {p.id: p for p in pieces}
    for placed in sheet.placed:
        cut = on_sheet(table[placed.piece], placed)
        found = label(table[placed.piece], placed, cut)
        loops = [cut.outer, *cut.holes, *(loop for loop, _ in (*cut.bores, *cut.sinks)), *cut.far]
        lines = shapely.MultiLineString([shapely.LinearRing(sampled(loop, 0.05)) for loop in loops])
        ink = shapely.MultiLineString([*found.text, *found.lines])
        assert lines.distance(ink) > 1.0
        assert shapely.Polygon(sampled(cut.outer, 0.05)).contains(ink)
        assert found.whole == (placed.piece != "P3")


def test_a_label_says_number_copy_body_hand_and_face(pieces):
    assert words(pieces[0], 1) == ("P1", "base of galley", "PORT", "FACE UP")
    assert words(pieces[1], 2) == ("P2 2/2", "two", "UNDERSIDE UP")


def test_a_lifts_label_says_where_in_its_stack_it_goes_and_which_way_up(pieces):
    lift = replace(pieces[1], orders=("1 of 4 from below", "3 of 4 from below"))
    assert words(lift, 2) == ("P2 2/2", "two", "3 OF 4 FROM BELOW", "THIS FACE DOWN")
    assert words(replace(lift, up="face"), 1) == ("P2 1/2", "one", "1 OF 4 FROM BELOW", "THIS FACE UP")
    lone = replace(pieces[0], orders=("",))
    assert words(lone, 1) == words(pieces[0], 1)


@pytest.mark.parametrize(("size", "said"), [
    ((320, 38), ("P9  1 OF 4 FROM BELOW  THIS FACE UP", "hatch forward side sheet 1", "FWD")),  # all, in fewer lines
    ((38, 320), ("P9  1 OF 4 FROM BELOW  THIS FACE UP", "hatch forward side sheet 1", "FWD")),
    ((80, 26), ("P9", "1 OF 4 FROM BELOW", "THIS FACE UP")), ((150, 13), ("P9  1 OF 4 FROM BELOW  THIS FACE UP",)),
    ((30, 12), ("P9",))])
def test_a_narrow_lift_says_at_least_its_place_and_its_face(piece, box, size, said):
    """Which lines are drawn is told by how many strokes they take; each lies inside the piece."""
    strip = replace(piece("P9", box(*size)), bodies=("hatch forward side sheet 1",), forward=90.0,
                    orders=("1 of 4 from below",))
    found = label(strip, Placed(piece="P9", copy=1, x=0, y=0, turn=0), strip.cut)
    assert len(found.text) == sum(len(list(strokes(line, 5))) for line in said)
    assert found.whole == ("FWD" in said)
    assert shapely.box(3, 3, size[0] - 3, size[1] - 3).covers(shapely.MultiLineString([*found.text, *found.lines]))


@pytest.mark.parametrize(("turn", "mirrored"), [(40, False), (155, False), (70, True)])
def test_the_label_of_a_strip_that_lies_askew_runs_along_it(piece, box, turn, mirrored):
    """320 x 38: upright there is room for a number only. The bow is at 90 deg of its own, 90 mirrored too."""
    strip = replace(piece("P9", box(320, 38)), bodies=("hatch forward side sheet 1",), forward=90.0,
                    orders=("1 of 4 from below",))
    placed = Placed(piece="P9", copy=1, x=400, y=300, turn=turn, mirrored=mirrored)
    cut = on_sheet(strip, placed)
    found = label(strip, placed, cut)
    assert found.whole
    assert shapely.Polygon(sampled(cut.outer, 0.05)).buffer(-2.9).covers(
        shapely.MultiLineString([*found.text, *found.lines]))
    (ax, ay), (bx, by) = found.lines[0]
    assert math.degrees(math.atan2(by - ay, bx - ax)) == pytest.approx((90 + turn + 180) % 360 - 180)


def test_the_note_says_a_lifts_place_its_face_and_its_step(sheet, pieces, board):
    lift = replace(pieces[1], orders=("1 of 4 from below", "3 of 4 from below"), steps=(
        Step("outline", "lower", 2.0, 2.0), Step("opening", "upper", 0.5, 1.5)))
    table = {p.id: p for p in (pieces[0], lift, pieces[2])}
    text = sheet_note.note(sheet, table, board, cutter=Cutter(), title="Galley seat", revision="A")
    assert ("underside up; 3 of 4 from below in its stack, the labelled face down; dress to the marked line; "
            "step 2.0 mm, upper outline larger; step 0.5 to 1.5 mm, its opening wider at the upper face") in text
    assert "glued up on their dowels" in text
    plain = sheet_note.note(sheet, {p.id: p for p in pieces}, board, cutter=Cutter(), title="Galley seat", revision="A")
    assert "stack" not in plain and "step" not in plain


@pytest.mark.parametrize(("turn", "mirrored", "expected"), [(0, False, 30), (90, False, 120), (0, True, 150)])
def test_the_arrow_points_to_the_bow_however_the_piece_lies(pieces, sheet, turn, mirrored, expected):
    """forward is 30 deg in the outline's axes; a mirror about y makes it 150."""
    import math

    placed = replace(sheet.placed[0], piece="P1", copy=1, turn=float(turn), mirrored=mirrored)
    found = label(pieces[0], placed, on_sheet(pieces[0], placed))
    (ax, ay), (bx, by) = found.lines[0]
    assert math.degrees(math.atan2(by - ay, bx - ax)) % 360 == pytest.approx(expected)


def test_the_note_says_what_the_shop_asks(sheet, pieces, board):
    text = sheet_note.note(sheet, {p.id: p for p in pieces}, board, cutter=Cutter(), title="Galley seat", revision="A",
                    cramped=[p for p in sheet.placed if p.piece == "P3"])
    for wanted in ("millimetres, 1:1", "lower left corner of the sheet", "outside the line on cut-piece",
                   "6 mm; lines are", "arcs only, within 0.02 mm of the true curve",
                   "sink-6.0mm     sunk 6.0 mm deep", "P2 2/2  two; 180.0 x 180.0 mm at",
                   "underside up", "dress to the marked line", "Dust of board", "clamps",
                   "No room for the whole label on P3 1"):
        assert wanted in text, wanted


@pytest.mark.parametrize("title", [
    "../x", "a/b\\c", "  ", "Ärger: 1/2 \u201cseat\u201d", "con.", "con.b", "aux.1 tub", "x" * 90])  # fmt: skip
def test_a_file_name_is_one_plain_word(title, board):
    sheet = Sheet(stock="my board", number=2, size=(1, 1), placed=(), used=0.0)
    name = dxf.file_name(sheet, board, title=title, revision="B/2")
    assert re.fullmatch(r"[\w.-]+_my-board_18mm_sheet-2_rev-b-2", name)
    assert not name.startswith((".", "-"))
    # Windows reads a device in what stands before the first dot: Microsoft, "Naming Files, Paths, and Namespaces",
    # as remembered
    assert name.partition(".")[0].lower() not in {"con", "prn", "aux", "nul", *(f"com{n}" for n in range(10))}


def test_names_never_collide(board):
    sheets = tuple(Sheet(stock=s, number=1, size=(1, 1), placed=(), used=0.0) for s in ("a b", "a-b", "a/b"))
    files = [s.file for s in dxf.named(Layout(sheets=sheets), dict.fromkeys(("a b", "a-b", "a/b"), board), title="t",
                                       revision="A").sheets]
    assert len(set(files)) == 3


def test_a_disk_that_refuses_is_an_output_error(tmp_path, sheet, pieces, board):
    with pytest.raises(OutputError, match="cannot be written"):
        dxf.write_sheet(tmp_path / "none" / "x.dxf", sheet, pieces, board, cutter=Cutter(), title="t", revision="A")


def test_letters_keep_their_height_and_no_two_are_alike():
    for letter in _STROKES:
        points = [p for path in strokes(letter, 12.0) for p in path]
        assert all(-4 <= y <= 12 for _, y in points) and all(0 <= x <= 8 for x, _ in points), letter
        assert all(len(path) >= 2 for path in strokes(letter, 12.0)), letter
    for capital in "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789":
        ys = [y for path in strokes(capital, 12.0) for _, y in path]
        assert (min(ys), max(ys)) == (0, 12), capital
    assert len({strokes(letter, 6.0) for letter in _STROKES}) == len(_STROKES)


def test_text_is_laid_from_left_to_right_and_unknown_signs_are_told():
    assert width("MM", 10) > 2 * width("M", 10)
    assert strokes("\u00e9", 6) == strokes("e", 6)
    assert strokes("\u4e2d", 6) == strokes("?", 6)
    assert strokes("", 6) == () and width(" ", 6) == 0.0
