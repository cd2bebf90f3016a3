"""Sheets longer than the router's bed: fewest stages, each piece whole in one, dowels in the waste."""

import itertools
import math
import random
from dataclasses import replace

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.cut.bed import on_bed, reached
from moldplan.cut.datum import corner, mark, stage_words
from moldplan.cut.dxf import named, write_sheets
from moldplan.cut.fits import refuse_oversize, turns
from moldplan.cut.judge_stages import judged_stages
from moldplan.cut.loop import on_sheet, sampled
from moldplan.cut.nest import layout
from moldplan.cut.piece import Layout, Loop, Placed, Sheet, Stage
from moldplan.cut.stages import DOWEL, WALL, in_stages, parted
from moldplan.errors import SpecFault
from moldplan.spec.model import Cutter

SHEET = (2400.0, 1200.0)


def placed_row(piece, box, spans, width=200.0, size=SHEET):
    """Boxes laid side by side at x from, to; the pieces and their sheet."""
    made = [piece(f"P{k}", box(b - a, width)) for k, (a, b) in enumerate(spans, 1)]
    laid = tuple(Placed(piece=p.id, copy=1, x=a, y=300.0 + 10 * (k % 5), turn=0.0)
                 for k, (p, (a, _)) in enumerate(zip(made, spans, strict=True)))  # fmt: skip
    return made, Layout(sheets=(Sheet(stock="board", number=1, size=size, placed=laid, used=0.5),))


def fewest(spans, reach):
    """The least number of stretches of a length that hold all spans, by trying every way to part them."""
    best = len(spans)
    for count in range(1, len(spans)):
        for parts in itertools.product(range(count), repeat=len(spans)):
            groups = [[s for s, p in zip(spans, parts, strict=True) if p == k] for k in range(count)]
            if all(not g or max(b for _, b in g) - min(a for a, _ in g) <= reach for g in groups):
                return count
    return best


def test_a_sheet_that_fits_the_bed_either_way_round_has_no_stages(piece, box):
    made, laid = placed_row(piece, box, [(20, 400), (1500, 2300)])
    for bed in ((2400, 1200), (1200, 2400), (3000, 3000)):
        assert in_stages(laid, made, Cutter(bed=bed)) == laid
    assert in_stages(laid, made, Cutter()) == laid


@pytest.mark.parametrize(("size", "bed", "expected"), [
    ((2400, 1200), (1300, 1250), (0, 1300)),
    ((2400, 1200), (1250, 1300), (0, 1250)),  # a bed that is wider than long: still its ends are open
    ((1200, 2400), (1300, 1250), (1, 1300)),
    ((2800, 2070), (2500, 1300), None),
])  # fmt: skip
def test_a_sheet_is_shifted_along_the_side_that_the_bed_is_too_short_for(size, bed, expected):
    lies = on_bed(size, bed)
    assert (None if lies is None else (lies.axis, lies.reach)) == expected


@given(st.lists(st.tuples(st.floats(20, 1700), st.floats(60, 600)), min_size=2, max_size=5), st.floats(700, 1500))
@settings(max_examples=40, deadline=None)
def test_stages_are_the_fewest_and_hold_each_piece_once(piece, box, sizes, reach):
    """Against every way of parting the pieces, by brute force; dowels by shapely."""
    spans = [(a, min(a + long, 2380.0)) for a, long in sizes]
    cutter = Cutter(bed=(reach, 1210), spacing=0)
    made, laid = placed_row(piece, box, spans)
    grown = [(a - cutter.diameter, b + cutter.diameter) for a, b in spans]
    try:
        (sheet,) = in_stages(laid, made, cutter).sheets
    except SpecFault:
        # only where two pieces lie so far apart that no stages which hold them share the width of a dowel
        starts = sorted(a for a, _ in grown)
        assert any(max(b for a, b in grown if a >= late) - reach > early + reach - 2 * (DOWEL / 2 + WALL) - 6
                   for early, late in itertools.combinations(starts, 2))  # fmt: skip
        return
    assert len(sheet.stages) == fewest(grown, reach)
    assert sorted(key for stage in sheet.stages for key in stage.cut) == sorted((p.id, 1) for p in made)
    where = {(p.id, 1): span for p, span in zip(made, grown, strict=True)}
    for stage in sheet.stages:
        assert all(stage.low - 1e-5 <= where[key][0] and where[key][1] <= stage.high + 1e-5 for key in stage.cut)
    shapes = shapely.union_all([shapely.box(a, 300, b, 540) for a, b in spans])
    for before, after in itertools.pairwise(sheet.stages):
        assert before.drill == after.pins and len(before.drill) == 2
        assert math.dist(*before.drill) >= SHEET[1] / 3
        for x, y in before.drill:
            hole = shapely.Point(x, y).buffer(DOWEL / 2)
            assert shapely.box(after.low, 0, before.high, SHEET[1]).buffer(1e-6).contains(hole)
            assert shapely.box(0, 0, *SHEET).contains(hole.buffer(WALL - 0.1))
    shown = {f.what: f.verdict for f in judged_stages(replace(laid, sheets=(sheet,)), made, cutter)}
    assert len(shown) == (5 if len(sheet.stages) > 1 else 2) and set(shown.values()) <= {"holds", "close"}
    assert shapes.area > 0


def test_what_lies_in_an_opening_is_cut_in_the_stage_of_its_host(piece, box):
    """The ring alone would be in the first stage, its guest, which begins further on, in the second."""
    from moldplan.cut.loop import reversed_loop

    ring = piece("P1", box(900, 500))
    ring = replace(ring, cut=replace(ring.cut, holes=(reversed_loop(box(800, 400, 50, 50)),)))
    guest, far = piece("P2", box(100, 100)), piece("P3", box(300, 300))
    placed = (Placed(piece="P1", copy=1, x=20, y=20, turn=0), Placed(piece="P2", copy=1, x=700, y=200, turn=0),
              Placed(piece="P3", copy=1, x=1000, y=20, turn=0))  # fmt: skip
    laid = Layout(sheets=(Sheet(stock="board", number=1, size=SHEET, placed=placed, used=0.5),))
    (sheet,) = in_stages(laid, [ring, guest, far], Cutter(bed=(1210, 1200))).sheets
    assert [sorted(stage.cut) for stage in sheet.stages] == [[("P1", 1), ("P2", 1)], [("P3", 1)]]


def test_dowels_keep_off_cuts_and_spoilt_places(piece, box):
    """A sheet full but for one strip: the dowels lie in it, and not in the knot there."""
    spans = [(20, 1000), (1080, 2380)]
    made = [piece("P1", box(980, 1160)), piece("P2", box(1300, 1160))]
    placed = tuple(Placed(piece=p.id, copy=1, x=a, y=20.0, turn=0.0) for p, (a, _) in zip(made, spans, strict=True))
    knot = Loop(circle=(1040, 600, 30))
    laid = Layout(sheets=(Sheet(stock="board", number=1, size=SHEET, placed=placed, used=0.9, defects=(knot,)),))
    cutter = Cutter(bed=(1400, 1210))
    (sheet,) = in_stages(laid, made, cutter).sheets
    cuts = shapely.union_all([shapely.Polygon(sampled(on_sheet(p, at).outer, 0.01))
                              for p, at in zip(made, placed, strict=True)])  # fmt: skip
    for x, y in sheet.stages[0].drill:
        assert cuts.distance(shapely.Point(x, y)) >= cutter.diameter + WALL + DOWEL / 2
        assert math.dist((x, y), (1040, 600)) >= 30 + WALL + DOWEL / 2


def test_no_place_for_dowels_is_refused_with_a_margin_that_gives_one(piece, box):
    made = [piece("P1", box(1170, 1170)), piece("P2", box(1170, 1170))]
    placed = (Placed(piece="P1", copy=1, x=15, y=15, turn=0), Placed(piece="P2", copy=1, x=1197, y=15, turn=0))
    laid = Layout(sheets=(Sheet(stock="board", number=1, size=(2400, 1200), placed=placed, used=0.9),))
    with pytest.raises(SpecFault, match=r"cutter\.edge_margin = .*22 mm or more") as caught:
        in_stages(laid, made, Cutter(bed=(1300, 1250)))
    assert "two dowel holes in its waste lie" in caught.value.faults[0].why
    wider = tuple(replace(p, y=25.0, x=x) for p, x in zip(placed, (25.0, 1205.0), strict=True))
    smaller = [piece("P1", box(1150, 1150)), piece("P2", box(1150, 1150))]
    (sheet,) = in_stages(replace(laid, sheets=(replace(laid.sheets[0], placed=wider),)), smaller,
                         Cutter(bed=(1300, 1250), edge_margin=25)).sheets  # fmt: skip
    assert len(sheet.stages[0].drill) == 2


def test_a_piece_is_turned_or_refused_for_the_bed(piece, box, board):
    """A board of 2440 x 1220 shifted along x over a bed of 600 x 1250: 800 mm lie across it only."""
    cutter = Cutter(bed=(600, 1250))
    assert on_bed(board.size, cutter.bed).axis == 0
    assert turns(piece("P1", box(800, 300)), board, cutter) == (90.0, 270.0)
    assert reached(board.size, cutter) == (588, 1220)
    with pytest.raises(SpecFault) as caught:
        refuse_oversize([piece("P1", box(800, 700))], {"board": board}, cutter)
    (fault,) = caught.value.faults
    assert "one stage on the bed" in fault.allowed
    assert "a bed 712 mm long would do" in fault.why  # 700 and the cutter's 6 mm at either end
    assert turns(piece("P1", box(800, 700)), board, Cutter(bed=(712, 1250)))


@pytest.mark.parametrize(("cutter", "field"), [
    (Cutter(bed=(900, 800)), "bed"), (Cutter(depth=10), "depth")])  # fmt: skip
def test_what_the_bed_and_the_bit_cannot_cut_is_refused(piece, box, board, cutter, field):
    with pytest.raises(SpecFault) as caught:
        refuse_oversize([piece("P1", box(80, 70))], {"board": board}, cutter)
    (fault,) = caught.value.faults
    assert fault.path == ("cutter", field)


def test_each_stage_has_a_file_of_its_own_with_the_same_axes(tmp_path, piece, box, board):
    """Read by GDAL: each outline once in one file, where it lies on the sheet; dowel holes drilled and pinned on."""
    pyogrio = pytest.importorskip("pyogrio")
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": "0.1"})
    cutter = Cutter(bed=(1300, 1250), edge_margin=22)
    pieces = [piece("P1", box(500, 300), quantity=12)]
    made = layout(pieces, {"board": board}, cutter, saved=None, say=lambda text: None)
    made = named(in_stages(made, pieces, cutter), {"board": board}, title="Stages", revision="A")
    (sheet,) = made.sheets
    write_sheets(tmp_path, sheet, pieces, board, cutter=cutter, title="Stages", revision="A")
    assert [s.file for s in sheet.stages] == [f"stages_board_18mm_sheet-1-stage-{n}_rev-a.dxf" for n in (1, 2)]
    assert sorted(f.name for f in tmp_path.glob("*.dxf")) == [s.file for s in sheet.stages]
    boxes, holes = [], []
    for stage in sheet.stages:
        _, _, shapes, (layers,) = pyogrio.raw.read(tmp_path / stage.file, columns=["Layer"])
        found = list(zip(layers, shapely.from_wkb(shapes), strict=True))
        boxes += [g.bounds for layer, g in found if layer == "cut-piece"]
        holes.append({layer: sorted((round(g.centroid.x, 3), round(g.centroid.y, 3)) for on, g in found
                             if on == layer)
                      for layer in ("datum-hole", "datum-pin")})  # fmt: skip
        assert [g.bounds for layer, g in found if layer == "sheet-edge"] == [(0, 0, 2440, 1220)]
    table = {p.id: p for p in pieces}
    wanted = sorted(shapely.Polygon(sampled(on_sheet(table[p.piece], p).outer, 0.01)).bounds for p in sheet.placed)
    assert sorted(boxes) == [pytest.approx(box, abs=1e-6) for box in wanted]
    assert holes[0]["datum-hole"] == holes[1]["datum-pin"] == sorted(sheet.stages[0].drill)
    assert holes[0]["datum-pin"] == holes[1]["datum-hole"] == []
    text = (tmp_path / sheet.stages[1].file).with_suffix(".txt").read_text(encoding="utf-8")
    assert "Stage      2 of 2" in text and "drill\n           8 mm into the bed" in text
    assert stage_words(sheet=parted(sheet)[0], of=sheet.stages)[0].startswith("Stage      1 of 2")


def test_the_datum_mark_stands_at_a_corner_of_the_sheet_whatever_its_margin_and_outline(board):
    plain = Sheet(stock="board", number=1, size=(500, 400), placed=(), used=0)
    assert corner(plain) == (0, 0) and mark(plain, Cutter())[0] == (1, 11)
    assert mark(plain, Cutter(edge_margin=0)) == ((0, 12), (0, 0), (12, 0))
    askew = replace(plain, edge=Loop(((60, 0, 0), (500, 0, 0), (500, 400, 0), (0, 400, 0), (0, 80, 0))))
    assert corner(askew) == (60, 0)
    assert mark(askew, Cutter()) == (pytest.approx((60 - 12 * 0.6, 12 * 0.8)), (60, 0), (72, 0))


def test_a_dowel_never_lies_in_waste_that_falls_out(piece, box):
    """Two rows with a window of waste between them: kerfs of 6 mm that meet cut it out, and the middle is no place."""
    spans = [(15, 15, 900, 580), (15, 605, 900, 580), (927, 15, 60, 1170), (1100, 15, 1200, 1170)]
    made = [piece(f"P{k}", box(w, h)) for k, (_, _, w, h) in enumerate(spans, 1)]
    placed = tuple(Placed(piece=p.id, copy=1, x=x, y=y, turn=0) for p, (x, y, _, _) in zip(made, spans, strict=True))
    laid = Layout(sheets=(Sheet(stock="board", number=1, size=SHEET, placed=placed, used=0.9),))
    cutter = Cutter(bed=(1400, 1210), edge_margin=15)
    (sheet,) = in_stages(laid, made, cutter).sheets
    gone = shapely.union_all([shapely.box(x - 6, y - 6, x + w + 6, y + h + 6) for x, y, w, h in spans[:3]])
    left = shapely.get_parts(shapely.box(0, 0, *SHEET).difference(gone).buffer(-1))
    (later,) = [part for part in left if part.contains(shapely.Point(1700, 600))]
    assert all(later.contains(shapely.Point(spot)) for spot in sheet.stages[0].drill)
    first, second = sheet.stages
    assert all(f.verdict != "fails" for f in judged_stages(replace(laid, sheets=(sheet,)), made, cutter))
    assert second.pins == first.drill


def test_a_dowel_in_loose_waste_and_a_later_piece_in_it_are_found(piece, box):
    """Four boards round a chip of 112 by 312 mm, cut first with kerfs that meet at its corners: the chip falls out."""
    spans = [(100, 100, 312, 100), (312, 212, 100, 312), (100, 212, 88, 312), (100, 536, 312, 100),
             (1500, 100, 300, 300)]  # fmt: skip
    made = [piece(f"P{k}", box(w, h)) for k, (_, _, w, h) in enumerate(spans, 1)]
    placed = tuple(Placed(piece=p.id, copy=1, x=x, y=y, turn=0) for p, (x, y, _, _) in zip(made, spans, strict=True))
    keys = tuple((p.id, 1) for p in made)
    chip, safe = (250.0, 370.0), (1300.0, 1100.0)
    stages = (Stage(axis=0, low=0, high=1400, cut=keys[:4], drill=(chip, safe)),
              Stage(axis=0, low=1000, high=2400, cut=keys[4:], pins=(chip, safe)))  # fmt: skip
    sheet = Sheet(stock="board", number=1, size=SHEET, placed=placed, used=0.5, stages=stages)
    found = {f.what: f for f in judged_stages(Layout(sheets=(sheet,)), made, Cutter(bed=(1400, 1210)))}
    loose = found["dowels and later pieces cut loose before their stage"]
    assert loose.verdict == "fails" and loose.measured == 1 and "dowel at 250, 370" in loose.note


@pytest.mark.parametrize("seed", range(12))
def test_nested_sheets_at_the_default_margin_keep_their_dowels(piece, box, board, seed):
    """Random rectangles nested for beds of several lengths, refused or with every dowel in sound waste."""
    pick = random.Random(seed)
    made = [piece(f"P{k}", box(pick.randint(60, 700), pick.randint(60, 700)), quantity=pick.randint(1, 6))
            for k in range(1, pick.randint(4, 9))]  # fmt: skip
    cutter = Cutter(bed=(pick.choice([1100, 1300, 1600, 2000]), 1250), nest_seconds=0.2)
    laid = layout(made, {"board": board}, cutter, saved=None, say=lambda text: None)
    try:
        staged = in_stages(laid, made, cutter)
    except SpecFault as refusal:
        assert refusal.faults[0].path[0] == "cutter"
        return
    assert [f.what for f in judged_stages(staged, made, cutter) if f.verdict == "fails"] == []


def test_faults_put_into_stages_are_found(piece, box):
    """One piece left out, one hung over the bed, a dowel in a piece, dowels side by side: each finding fails."""
    spans = [(20, 700), (900, 1300), (1500, 2300)]
    made, laid = placed_row(piece, box, spans)
    cutter = Cutter(bed=(1500, 1210))
    good = in_stages(laid, made, cutter)
    (sheet,) = good.sheets
    first, second = sheet.stages

    def fails(*stages):
        spoilt = replace(good, sheets=(replace(sheet, stages=stages),))
        return [f.what.split()[0] for f in judged_stages(spoilt, made, cutter) if f.verdict == "fails"]

    assert fails(first, second) == []
    assert fails(replace(first, cut=first.cut[1:]), second) == ["pieces"]
    assert fails(replace(first, low=first.low + 30), second) == ["over"]
    inside = ((1000.0, 400.0), first.drill[1])
    assert "sheet" in fails(replace(first, drill=inside), replace(second, pins=inside))
    near = (first.drill[0], (first.drill[0][0] + 20, first.drill[0][1]))
    assert fails(replace(first, drill=near), replace(second, pins=near)) == ["dowels"]
