"""Pieces on sheets. What must hold is measured by GEOS on fine chords, apart from the code that placed them."""

import json
import math
import sys

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.cut import saved, solver
from moldplan.cut.dxf import write_sheet
from moldplan.cut.job import job, sheet_of
from moldplan.cut.loop import on_sheet, sampled
from moldplan.cut.nest import layout, lower_bound
from moldplan.cut.piece import Layout, Loop
from moldplan.cut.room import sound
from moldplan.errors import SpecFault
from moldplan.spec.model import Cutter, Stock

CHORD = 0.001


def quiet(text):
    """Says nothing."""


def laid_out(made, pieces):
    """{stock and sheet number: polygons}, by GEOS."""
    table = {p.id: p for p in pieces}
    return {
        (s.stock, s.number): [shapely.Polygon(sampled(on_sheet(table[p.piece], p).outer, CHORD)) for p in s.placed]
        for s in made.sheets
    }


def check(made, pieces, stocks, cutter):
    """Every copy once; inside the margin; apart by the spacing."""
    copies = sorted((p.piece, p.copy) for s in made.sheets for p in s.placed)
    assert copies == sorted((p.id, n) for p in pieces for n in range(1, p.quantity + 1))
    m = cutter.edge_margin
    for (stock, _), shapes in laid_out(made, pieces).items():
        length, width = stocks[stock].size
        free = shapely.box(m, m, length - m, width - m).buffer(2 * CHORD)
        assert all(free.covers(shape) for shape in shapes)
        tree = shapely.STRtree(shapes)
        for i, shape in enumerate(shapes):
            for j in tree.query(shape.buffer(cutter.spacing)):
                assert j == i or shape.distance(shapes[j]) >= cutter.spacing - 1e-5
    assert not any(p.mirrored for s in made.sheets for p in s.placed)
    assert sound(made, pieces, stocks, cutter)


@st.composite
def sets_of_pieces(draw):
    found = []
    for _ in range(draw(st.integers(1, 5))):
        w, h = draw(st.floats(30, 500)), draw(st.floats(30, 300))
        kind = draw(st.sampled_from(["box", "disc", "triangle", "moon", "ell"]))
        t = 0.4 * min(w, h)
        loop = {
            "box": Loop(((0, 0, 0), (w, 0, 0), (w, h, 0), (0, h, 0))),
            "disc": Loop(circle=(7.0, -3.0, h / 2)),
            "triangle": Loop(((0, 0, 0), (w, 0, 0), (w / 3, h, 0))),
            "moon": Loop(((0, 0, 0), (w, 0, 0.3), (0, h, -0.1))),
            "ell": Loop(((0, 0, 0), (w, 0, 0), (w, t, 0), (t, t, 0), (t, h, 0), (0, h, 0))),
        }[kind]
        found.append((loop, draw(st.integers(1, 4)), draw(st.booleans())))
    return found


@settings(max_examples=25, deadline=None)
@given(sets_of_pieces(), st.sampled_from([0.0, 6.0, 12.5]), st.sampled_from([0.0, 15.0]))
def test_no_overlap_nothing_off_the_sheet_none_lost(piece, found, spacing, margin):
    stocks = {"board": Stock(kind="plywood", thickness=18, size=(1220, 700))}
    cutter = Cutter(spacing=spacing, edge_margin=margin, nest_seconds=0.25)  # the solver is tested below
    pieces = [piece(f"P{n}", loop, quantity=q, grain=g) for n, (loop, q, g) in enumerate(found, 1)]
    made = layout(pieces, stocks, cutter, saved=None, say=quiet)
    check(made, pieces, stocks, cutter)
    for counts in made.fewest.values():
        assert counts["lower_bound"] <= counts["used"] == len(made.sheets)


def test_true_outlines_need_a_sheet_less_where_boxes_waste_it(piece, ring):
    """Right triangles in pairs: boxes hold half of each."""
    stocks = {"board": Stock(kind="plywood", thickness=18, size=(1220, 630))}
    cutter = Cutter(spacing=4, edge_margin=5, nest_seconds=6)
    pieces = [piece("P1", ring((0, 0), (560, 0), (0, 280)), quantity=8)]
    said = []
    made = layout(pieces, stocks, cutter, saved=None, say=said.append)
    assert said == ["board: 2 sheets by boxes, 1 at the least; looking for better"]
    check(made, pieces, stocks, cutter)
    assert len(made.sheets) == 1
    assert made.fewest == {"board": {"used": 1, "lower_bound": 1}}


def test_a_set_that_fills_its_sheets_to_the_millimetre_fits(piece, box, board):
    """Two of 1190 x 1199 and a spacing of 12 fill 2410 x 1190 to the last; 1 mm more does not fit."""
    cutter = Cutter(spacing=12, edge_margin=15)
    made = layout([piece("P1", box(1199, 1190), quantity=2)], {"board": board}, cutter, saved=None, say=quiet)
    assert len(made.sheets) == 1
    quick = Cutter(spacing=12, edge_margin=15, nest_seconds=0.3)
    made = layout([piece("P1", box(1200, 1190), quantity=2)], {"board": board}, quick, saved=None, say=quiet)
    assert len(made.sheets) == 2


def test_what_stays_is_one_piece_at_the_end_of_the_sheet(piece, box, board):
    pieces = [piece("P1", box(500, 300), quantity=4)]
    made = layout(pieces, {"board": board}, Cutter(), saved=None, say=quiet)
    # three across (3 x 300 + 2 x 12 <= 1190) and one beside them, turned: 15 + 500 + 12 + 300 + 12
    _, _, length, width = made.sheets[0].offcuts[0]
    assert width == 1220 and length >= 2440 - (15 + 500 + 12 + 500 + 12)


def test_grain_is_never_turned_across(piece, box, board):
    pieces = [piece("P1", box(900, 100), quantity=9, grain=True), piece("P2", box(100, 700), quantity=5, grain=True)]
    made = layout(pieces, {"board": board}, Cutter(nest_seconds=0.5), saved=None, say=quiet)
    assert {p.turn % 180 for s in made.sheets for p in s.placed} == {0.0}
    with pytest.raises(SpecFault, match="grain lengthwise"):
        layout([piece("P1", box(100, 1300), grain=True)], {"board": board}, Cutter(), saved=None, say=quiet)


def test_the_lower_bound_is_one_no_layout_beats(piece, box, board):
    """By area with half the spacing round each: 61 squares of 188 + 12 take 61 x 200^2 of (2410 + 12) x (1190 + 12);
    72 = 12 x 6 of them do fit. Discs of 700 cannot lie two on one sheet of 1190 x 1190."""
    bare = Cutter(spacing=12, edge_margin=15)
    squares = [piece("P1", box(188, 188))]
    assert lower_bound(squares * 72, board, bare) == 1
    assert lower_bound(squares * 74, board, bare) == 2
    small = Stock(kind="plywood", thickness=18, size=(1220, 1220))
    assert lower_bound([piece("P1", Loop(circle=(0, 0, 350)))] * 4, small, bare) == 4
    assert lower_bound([piece("P1", Loop(circle=(0, 0, 290)))] * 4, small, bare) == 1


def test_the_saved_layout_is_used_again_and_only_while_its_inputs_stand(piece, box, board):
    pieces, stocks = [piece("P1", box(500, 300), quantity=3)], {"board": board}
    first = layout(pieces, stocks, Cutter(), saved=None, say=quiet)
    kept = saved.from_text(saved.as_text(first))
    assert kept == first
    assert layout(pieces, stocks, Cutter(), saved=kept, say=quiet) is kept
    assert layout(pieces, stocks, Cutter(spacing=20), saved=kept, say=quiet) is not kept
    more = [piece("P1", box(500, 300), quantity=4)]
    assert layout(more, stocks, Cutter(), saved=kept, say=quiet) is not kept


def test_a_saved_layout_that_was_tampered_with_is_made_again(piece, box, board):
    pieces, stocks = [piece("P1", box(500, 300), quantity=3)], {"board": board}
    data = json.loads(saved.as_text(layout(pieces, stocks, Cutter(), saved=None, say=quiet)))
    first, second = data["sheets"][0]["placed"][:2]
    second |= {"x": first["x"] + 1, "y": first["y"] + 1, "turn": first["turn"]}
    bad = saved.from_text(json.dumps(data))
    assert bad is not None and bad.key == saved.layout_key(pieces, stocks, Cutter())
    made = layout(pieces, stocks, Cutter(), saved=bad, say=quiet)
    assert made is not bad
    check(made, pieces, stocks, Cutter())


@pytest.mark.parametrize("text", ["", "null", "[]", "{", '{"sheets": 3}', '{"sheets": [], "fewest": [], "key": ""}',
                                  '{"sheets": [{"size": [NaN, 1]}], "fewest": {}, "key": "", "cautions": []}'])
def test_a_text_that_is_no_layout_is_none(text):
    assert saved.from_text(text) is None


def test_a_solver_that_dies_leaves_the_boxes_and_a_caution(piece, monkeypatch):
    """Discs of 300, 4 apart, 1210 x 620 of room: four in a row take 1212, and staggered by 16 still 1210.7."""
    stocks = {"board": Stock(kind="plywood", thickness=18, size=(1220, 630))}
    pieces = [piece("P1", Loop(circle=(0, 0, 150)), quantity=8)]
    real = solver.subprocess.run

    def killed(command, **more):
        return real([sys.executable, "-c", "import os; os.abort()"], **more)

    monkeypatch.setattr(solver.subprocess, "run", killed)
    cutter = Cutter(spacing=4, edge_margin=5)
    made = layout(pieces, stocks, cutter, saved=None, say=quiet)
    assert made.cautions == ("board: the layout was made without the solver, for it stopped (exit -6)",)
    check(made, pieces, stocks, cutter)
    assert made.fewest == {"board": {"used": 2, "lower_bound": 1}}


def test_a_layout_of_the_solver_that_is_too_tight_is_not_taken(piece, monkeypatch):
    """A lying solver: all copies on one spot of a strip of no length."""
    stocks = {"board": Stock(kind="plywood", thickness=18, size=(1220, 630))}
    pieces = [piece("P1", Loop(circle=(0, 0, 150)), quantity=8)]
    asked = []

    def lies(job, seconds):
        asked.append(job)
        item = job["items"][0]
        return {"width": 1.0, "placed": [{"id": item["id"], "turn": 0.0, "x": 50.0, "y": 50.0}] * item["count"]}

    monkeypatch.setattr(solver, "ask", lies)
    cutter = Cutter(spacing=4, edge_margin=5, nest_seconds=1.0)
    check(layout(pieces, stocks, cutter, saved=None, say=quiet), pieces, stocks, cutter)
    assert asked


def test_the_solver_lays_copies_on_one_sheet_or_says_how_much_it_was_too_long(piece, ring):
    """Eight right triangles of 560 x 280 in pairs make 1120 x 560; half of that area does not hold them."""
    pieces = [piece("P1", ring((0, 0), (560, 0), (0, 280)), quantity=8)]
    cutter = Cutter(spacing=4, edge_margin=5)
    for size, fits in (((1220, 630), True), ((640, 630), False)):
        stocks = {"board": Stock(kind="plywood", thickness=18, size=size)}
        work = job("board", pieces, stocks["board"], cutter)
        found = solver.solved(work, work.sold[0], work.copies, 4.0)
        assert bool(found.placed) == fits and (found.over <= 0) == fits
        if fits:
            sheet = sheet_of(work, work.sold[0], found.placed)
            check(Layout(sheets=(sheet,)), pieces, stocks, cutter)


def test_the_same_layout_gives_the_same_bytes(piece, box, board, tmp_path):
    pieces = [piece("P1", box(500, 300), quantity=4), piece("P2", Loop(circle=(0, 0, 90)), quantity=3)]
    made = layout(pieces, {"board": board}, Cutter(), saved=None, say=quiet)
    kept = saved.from_text(saved.as_text(made))
    for name, one in (("a", made), ("b", kept)):
        write_sheet(tmp_path / f"{name}.dxf", one.sheets[0], pieces, board, cutter=Cutter(), title="t", revision="A")
    for end in ("dxf", "txt"):
        assert (tmp_path / f"a.{end}").read_bytes() == (tmp_path / f"b.{end}").read_bytes()


def test_without_the_solver_a_layout_made_again_is_the_same(piece, box, ring, board):
    pieces = [piece("P1", box(500, 300), quantity=9), piece("P2", ring((0, 0), (560, 0), (0, 280)), quantity=6)]
    one, two = (layout(pieces, {"board": board}, Cutter(), saved=None, say=quiet) for _ in range(2))
    assert one == two


def test_several_stocks_each_get_their_sheets(piece, box, board):
    foam = Stock(kind="pvc foam", thickness=20, size=(1000, 1000))
    pieces = [piece("P1", box(500, 300)), piece("P2", Loop(circle=(0, 0, 400)), stock="foam", quantity=2)]
    made = layout(pieces, {"board": board, "foam": foam}, Cutter(), saved=None, say=quiet)
    assert [(s.stock, s.number, s.size) for s in made.sheets] == [
        ("board", 1, (2440, 1220)), ("foam", 1, (1000, 1000)), ("foam", 2, (1000, 1000))]
    assert made.sheets[1].used == pytest.approx(math.pi * 400**2 / 1e6)


def test_nothing_to_cut_is_an_empty_layout(board):
    assert layout([], {"board": board}, Cutter(), saved=None, say=quiet).sheets == ()
