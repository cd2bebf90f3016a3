"""Part-used sheets, several sizes, near misses. What must hold is measured by GEOS, apart from the code that placed."""

import json

import ezdxf
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.cut import saved
from moldplan.cut.dxf import write_sheet
from moldplan.cut.judge import judged_layout
from moldplan.cut.loop import on_sheet, sampled
from moldplan.cut.nest import layout, lower_bound
from moldplan.cut.piece import Loop
from moldplan.cut.room import defect_gap, sound
from moldplan.cut.table import offcut_list, to_buy
from moldplan.errors import SpecFault
from moldplan.spec.model import Cutter, Stock

CUT_CORNER = [[0, 0], [1500, 0], [1500, 500], [900, 1000], [0, 1000]]
SPOILT = [{"at": [400, 500], "diameter": 60}, {"from": [1000, 100], "to": [1080, 300]}]


def quiet(text):
    """Says nothing."""


def stock(**more):
    return Stock.model_validate({"kind": "plywood", "thickness": 18, "size": [2440, 1220], **more})


def laid(made, pieces):
    """For each sheet, the polygons on it."""
    table = {p.id: p for p in pieces}
    return [(sheet, [shapely.Polygon(sampled(on_sheet(table[p.piece], p).outer, 0.001)) for p in sheet.placed])
            for sheet in made.sheets]


def check(made, pieces, shapes, cutter):
    """Every copy once; each on its sheet's true outline within the margin, off its defects, apart from the others.

    `shapes`: for each sheet's name in the rack its outline and its defects.
    """
    copies = sorted((p.piece, p.copy) for s in made.sheets for p in s.placed)
    assert copies == sorted((p.id, n) for p in pieces for n in range(1, p.quantity + 1))
    for sheet, lying in laid(made, pieces):
        edge, defects = shapes.get(sheet.rack, (shapely.box(0, 0, *sheet.size), []))
        for i, shape in enumerate(lying):
            assert edge.covers(shape) and edge.exterior.distance(shape) >= cutter.edge_margin - 0.003
            assert all(shape.distance(defect) >= cutter.spacing - 0.003 for defect in defects)
            assert all(shape.distance(other) >= cutter.spacing - 1e-5 for other in lying[:i])


@settings(max_examples=10, deadline=None)
@given(st.lists(st.tuples(st.integers(40, 500), st.integers(40, 400), st.integers(1, 3), st.booleans()),
                min_size=1, max_size=4), st.sampled_from([0.0, 6.0, 12.5]))
def test_on_part_used_sheets_nothing_lies_off_the_outline_on_a_defect_or_on_another(piece, box, found, spacing):
    pieces = [piece(f"P{n}", Loop(circle=(9.0, 9.0, h / 2)) if round_ else box(w, h), quantity=q)
              for n, (w, h, q, round_) in enumerate(found, 1)]
    board = stock(on_hand=[{"outline": CUT_CORNER, "defects": SPOILT}, {"size": [600, 500]}])
    cutter = Cutter(spacing=spacing, edge_margin=15, nest_seconds=0.5)
    made = layout(pieces, {"board": board}, cutter, saved=None, say=quiet)
    shapes = {"on hand 1": (shapely.Polygon(CUT_CORNER), [shapely.Point(400, 500).buffer(30, quad_segs=200),
                                                          shapely.box(1000, 100, 1080, 300)])}
    check(made, pieces, shapes, cutter)
    assert made.fewest["board"]["used"] >= made.fewest["board"]["lower_bound"]
    assert sound(made, pieces, {"board": board}, cutter)
    assert all(f.verdict == "holds" for f in judged_layout(made, pieces, cutter) if f.what.startswith("short of"))


def test_the_rack_is_used_first_and_each_sheet_of_it_once(piece, box):
    board = stock(on_hand=[{"size": [700, 500], "count": 2}])
    pieces = [piece("P1", box(600, 400), quantity=3)]
    made = layout(pieces, {"board": board}, Cutter(), saved=None, say=quiet)
    assert [s.rack for s in made.sheets] == ["on hand 1", "on hand 2", ""]
    assert made.fewest == {"board": {"used": 1, "lower_bound": 1, "on_hand": 2}}
    twice = json.loads(saved.as_text(made))
    twice["sheets"][1]["rack"] = "on hand 1"
    assert not sound(saved.from_text(json.dumps(twice)), pieces, {"board": board}, Cutter())


def test_an_outline_drawn_elsewhere_and_clockwise_is_the_same_sheet(piece, box):
    away = [[x + 300, y - 700] for x, y in reversed(CUT_CORNER)]
    pieces = [piece("P1", box(1000, 400)), piece("P2", box(800, 500))]
    one, two = (layout(pieces, {"board": stock(on_hand=[{"outline": o}])}, Cutter(), saved=None, say=quiet)
                for o in (CUT_CORNER, away))  # fmt: skip
    assert one.fewest["board"]["used"] == 0
    assert [s.placed for s in one.sheets] == [s.placed for s in two.sheets]


def test_a_piece_that_only_the_rack_holds_goes_there_and_one_too_many_is_refused(piece, box):
    board = stock(on_hand=[{"size": [3000, 1220]}])
    made = layout([piece("P1", box(900, 1000), quantity=4), piece("P2", box(2700, 500))], {"board": board}, Cutter(),
                  saved=None, say=quiet)  # fmt: skip
    assert [p.piece for p in made.sheets[0].placed].count("P2") == 1 and made.sheets[0].rack == "on hand 1"
    with pytest.raises(SpecFault, match="body P2") as caught:
        layout([piece("P2", box(2700, 700), quantity=2)], {"board": board}, Cutter(), saved=None, say=quiet)
    assert "only a sheet on hand is large enough" in caught.value.faults[0].why


def test_a_piece_larger_than_all_sizes_is_refused_against_the_largest(piece, box):
    board = stock(sizes=[[3050, 1525]], on_hand=[{"size": [800, 600]}])
    with pytest.raises(SpecFault) as caught:
        layout([piece("P1", box(3100, 1400))], {"board": board}, Cutter(), saved=None, say=quiet)
    (fault,) = caught.value.faults
    assert fault.allowed.startswith("at most 3020 x 1495 mm, the largest sheet of board")
    assert fault.why.startswith("it is 80.0 mm too long")


def test_of_several_sizes_the_least_area_is_bought_and_with_all_prices_the_least_money(piece, box):
    """Two of 1100 x 1100: one sheet of 2440 x 1220, or two of 1220 x 1220 of the same area: fewer sheets then. One of
    them: the small sheet. Where two small ones cost less than a large one, these."""
    two, one = [piece("P1", box(1100, 1100), quantity=2)], [piece("P1", box(1100, 1100))]

    def sizes(pieces, board):
        made = layout(pieces, {"board": board}, Cutter(nest_seconds=0.5), saved=None, say=quiet)
        return [s.size for s in made.sheets], to_buy(made, board, "board")

    plain = stock(sizes=[[1220, 1220]])
    assert sizes(two, plain)[0] == [(2440, 1220)]
    assert sizes(one, plain)[0] == [(1220, 1220)]
    priced = stock(price=90, sizes=[{"size": [1220, 1220], "price": 40}])
    assert sizes(two, priced) == ([(1220, 1220), (1220, 1220)], [((1220, 1220), 2, 40.0)])


def test_a_sheet_bought_for_the_want_of_a_millimetre_is_told(piece, box, board):
    """2 x 1200 + 12 = 2412 of the 2410 that 2440 less two margins of 15 leave: 2 mm more sheet, 2 mm less between
    them or 1 mm less along either edge would do. 2 x 1204 + 12 = 2420: spacing can only give the 6 to the cutter."""
    made = layout([piece("P1", box(1200, 1190), quantity=2)], {"board": board}, Cutter(), saved=None, say=quiet)
    assert made.near == ("board: 2 sheets bought, and 1 sheet would do with sheets 2.0 mm longer, or with 10.0 mm "
                         "between pieces, or with 14.0 mm kept free along the edge",)  # fmt: skip
    made = layout([piece("P1", box(1204, 1190), quantity=2)], {"board": board}, Cutter(), saved=None, say=quiet)
    assert made.near == ("board: 2 sheets bought, and 1 sheet would do with 10.0 mm kept free along the edge",)
    made = layout([piece("P1", box(1199, 1190), quantity=2)], {"board": board}, Cutter(), saved=None, say=quiet)
    assert len(made.sheets) == 1 and made.near == ()


def test_a_layout_on_odd_sheets_is_kept_word_for_word_while_they_stand(piece, box):
    rack = {"outline": CUT_CORNER, "defects": SPOILT}
    pieces, board = [piece("P1", box(600, 400), quantity=2)], stock(on_hand=[rack])
    first = layout(pieces, {"board": board}, Cutter(), saved=None, say=quiet)
    kept = saved.from_text(saved.as_text(first))
    assert kept == first and saved.as_text(kept) == saved.as_text(first)
    assert layout(pieces, {"board": board}, Cutter(), saved=kept, say=quiet) is kept
    for other in (stock(on_hand=[rack | {"defects": SPOILT[:1]}]), stock(on_hand=[rack], sizes=[[1000, 1000]]),
                  stock(on_hand=[rack, rack])):  # fmt: skip
        assert layout(pieces, {"board": other}, Cutter(), saved=kept, say=quiet).key != kept.key


def test_what_a_kept_layout_says_is_left_is_measured_anew_and_its_counts_must_agree(piece, box):
    pieces, board = [piece("P1", box(600, 400), quantity=2)], stock()
    first = layout(pieces, {"board": board}, Cutter(), saved=None, say=quiet)
    data = json.loads(saved.as_text(first))
    data["sheets"][0]["offcuts"] = [[0.0, 0.0, 2440.0, 1220.0]]
    said = []
    assert layout(pieces, {"board": board}, Cutter(), saved=saved.from_text(json.dumps(data)), say=said.append) == first
    assert said == ["the saved layout is used again"]
    for change in ({"fewest": {"board": {"used": 2, "lower_bound": 1}}},
                   {"sheets": [*data["sheets"], data["sheets"][0] | {"placed": []}]},
                   {"sheets": [*data["sheets"], data["sheets"][0] | {"placed": [], "stock": "glass"}]}):
        assert not sound(saved.from_text(json.dumps(data | change)), pieces, {"board": board}, Cutter())


def test_the_file_shows_an_odd_sheet_by_its_own_edge_and_its_defects_apart(piece, box, tmp_path):
    """Read back by ezdxf; areas by the shoelace rule: 1500 x 1000 less a corner of 600 x 500 / 2."""
    board = stock(on_hand=[{"outline": CUT_CORNER, "defects": SPOILT}])
    pieces = [piece("P1", box(600, 200))]
    made = layout(pieces, {"board": board}, Cutter(), saved=None, say=quiet)
    write_sheet(tmp_path / "s.dxf", made.sheets[0], pieces, board, cutter=Cutter(), title="t", revision="A")
    space = ezdxf.readfile(tmp_path / "s.dxf").modelspace()
    (edge,) = space.query('*[layer=="sheet-edge"]')
    assert shapely.Polygon(edge.get_points("xy")).area == pytest.approx(1_500_000 - 150_000)
    spoilt = {e.dxftype(): e for e in space.query('*[layer=="sheet-defect"]')}
    assert (spoilt["CIRCLE"].dxf.radius, len(spoilt)) == (30, 2)
    text = (tmp_path / "s.txt").read_text()
    assert "From the rack, on hand 1" in text and "2 spoilt place(s)" in text and "Left over" in text


def test_a_piece_pushed_on_a_defect_fails_by_what_is_missing(piece, box):
    board = stock(on_hand=[{"size": [800, 600], "defects": [{"from": [500, 0], "to": [560, 600]}]}])
    pieces = [piece("P1", box(400, 300))]
    made = layout(pieces, {"board": board}, Cutter(), saved=None, say=quiet)
    data = json.loads(saved.as_text(made))
    data["sheets"][0]["placed"][0] |= {"x": 95.5, "y": 100.0, "turn": 0.0}
    pushed = saved.from_text(json.dumps(data))
    assert not sound(pushed, pieces, {"board": board}, Cutter())
    (finding,) = [f for f in judged_layout(pushed, pieces, Cutter()) if "defect" in f.what]
    assert finding.verdict == "fails" and finding.measured == pytest.approx(12 - 4.5)


def test_what_is_left_is_listed_and_free_of_pieces_and_defects(piece, box):
    board = stock(on_hand=[{"outline": CUT_CORNER, "defects": SPOILT}])
    pieces = [piece("P1", box(600, 200)), piece("P2", Loop(circle=(0, 0, 90)))]
    made = layout(pieces, {"board": board}, Cutter(), saved=None, say=quiet)
    (sheet, lying), *others = laid(made, pieces)
    assert not others and sheet.offcuts
    taken = shapely.union_all([*lying, shapely.Point(400, 500).buffer(30), shapely.box(1000, 100, 1080, 300)])
    rectangles = [shapely.box(x, y, x + length, y + width) for x, y, length, width in sheet.offcuts]
    for i, rectangle in enumerate(rectangles):
        assert shapely.Polygon(CUT_CORNER).buffer(0.01).covers(rectangle)
        assert rectangle.intersection(taken).area < 0.01
        assert all(rectangle.intersection(other).area < 0.01 for other in rectangles[:i])
    assert [row[2:4] for row in offcut_list(made)] == [o[2:] for o in sheet.offcuts]


def test_what_is_too_wide_for_any_part_used_sheet_needs_a_bought_one(piece, box):
    """A square of 720 holds a disc of 720; inside its margin of 15 a sheet of 1100 x 700 is 670 across. One of 600 may
    lie on it, whatever it does in fact."""
    board = stock(on_hand=[{"size": [1100, 700], "count": 2}])
    bare = Cutter(edge_margin=15)
    assert lower_bound([piece("P1", box(720, 720))], board, bare) == 1
    assert lower_bound([piece("P1", box(600, 600))], board, bare) == 0


def test_a_defect_is_told_by_its_middle_as_the_spec_has_it(piece, box):
    board = stock(on_hand=[{"size": [1200, 600], "defects": [{"at": [400, 300], "diameter": 60}]}])
    pieces = [piece("P1", box(355, 500), quantity=2)]
    cutter = Cutter(nest_seconds=0.5)
    made = layout(pieces, {"board": board}, cutter, saved=None, say=quiet)
    (sheet,) = made.sheets
    assert sheet.rack == "on hand 1"
    assert defect_gap(sheet, {"P1": pieces[0]}, within=2000).second == "the defect about 400, 300"
