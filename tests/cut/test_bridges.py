"""Bridges: where they go, where they never go, and that the judge sees what is spoilt, by measuring of its own.

Distances are checked with shapely on the outlines and with boxes whose places are known; the greatest least distance
of places on a ring against every choice (brute force).
"""

import itertools
import math
from dataclasses import replace

import cadquery as cq
import ezdxf
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.cut.bridges import _Place, bridged, on_outline, small, spaced, spread
from moldplan.cut.cutting import flatten, lay_out
from moldplan.cut.dxf import write_sheet
from moldplan.cut.judge_bridges import judged_bridges, judged_waste
from moldplan.cut.loop import moved, on_sheet, sampled
from moldplan.cut.outline import pieces
from moldplan.cut.piece import Loop, Outline
from moldplan.cut.saved import as_text, from_text
from moldplan.cut.seating import opened
from moldplan.cut.touching import Touching
from moldplan.errors import SpecFault
from moldplan.shape.assembly import Assembly
from moldplan.shape.body import Body, Frame, Shaped
from moldplan.spec.model import Cutter, Stock

CUTTER = Cutter(corner_relief="none")
WRONG, LOOSE = "bridges on a mating edge, a corner or an arc that must be fair", "small pieces that bridges do not hold"


def body(name, solid, *, kind="rib", stock=None, frame=None):
    return Body(name=name, kind=kind, shaped=Shaped(solid), part="a part", path=("cradles", "a"), stock=stock,
                thickness=18.0 if stock else None, frame=frame or Frame())


def brick(x, y, z, at):
    return cq.Workplane().box(x, y, z, centered=False).translate(at).val()


def plan(*bodies):
    return Assembly(bodies={b.name: b for b in bodies}, stands=())


def made(assembly, board, cutter=CUTTER):
    touching = Touching(assembly)
    cut = opened(pieces(assembly, {"board": board}, cutter), touching, cutter)
    found = bridged(cut, touching, {"board": board}, cutter)
    return found, {f.what: f for f in judged_bridges(found, assembly, cutter)}


def middles(piece):
    return [((ax + bx) / 2, (ay + by) / 2) for (ax, ay), (bx, by) in piece.cut.bridges]


@pytest.fixture(scope="module")
def footed():
    """A rib of board, 200 x 80 x 18, that stands on a base along its lower edge and leans on a post at its right."""
    rib = body("rib", brick(200, 80, 18, (0, 0, 0)), stock="board")
    base = body("base", brick(600, 20, 600, (-200, -20, -300)), kind="part")
    post = body("post", brick(20, 80, 60, (200.3, 0, -20)), kind="liner")  # a bond line of 0.3 mm
    return plan(rib, base, post)


def test_no_bridge_lies_on_an_edge_that_stands_on_a_base_or_against_a_post(footed, board):
    (rib,), found = made(footed, board)
    spots = middles(rib)
    assert len(spots) == 4 and rib.loose == ""
    assert {"top" if y == 80 else "left" if x == 0 else "?" for x, y in spots} == {"top", "left"}
    assert [f.verdict for f in found.values()] == ["holds", "holds"]


@pytest.mark.parametrize(("z", "outer"), [(12, 9.1), (9, 8), (17, 9.1), (9, 4)])
def test_no_bridge_lies_over_the_mouth_of_a_tube(board, z, outer):
    """A tube along x through the middle of a square block's two sides, as a limber's is; two sides stay free."""
    ring = cq.Workplane("YZ").circle(outer).circle(outer - 1.6).extrude(210).translate((-5, 100, z)).val()
    hole = cq.Workplane("YZ").circle(outer).extrude(210).translate((-5, 100, z)).val()
    lift = body("lift", brick(200, 200, 18, (0, 0, 0)).cut(hole), kind="lift", stock="board")
    plain = body("plain", brick(200, 200, 18, (0, 0, 0)), kind="lift", stock="board")
    (piece,) = pieces(plan(plain), {"board": board}, CUTTER)
    piece = replace(piece, bodies=("lift",))
    assembly = plan(lift, body("tube", ring, kind="tube"))
    (done,) = bridged([piece], Touching(assembly), {"board": board}, CUTTER)
    found = {f.what: f for f in judged_bridges([done], assembly, CUTTER)}
    assert len(done.cut.bridges) == 4 and found[WRONG].verdict == "holds"
    half = math.sqrt(max(outer**2 - min(abs(z - level) for level in (1, 9, 17)) ** 2, 0))  # of its mouth at a level
    for ends in done.cut.bridges:
        (_, ay), (_, by) = ends
        assert not (ends[0][0] == ends[1][0] and min(ay, by) < 100 + half and max(ay, by) > 100 - half)


def test_bridges_lie_on_the_outline_clear_of_its_corners_and_of_each_other(footed, board):
    (rib,), _ = made(footed, board)
    ring = shapely.LinearRing(sampled(rib.cut.outer, 0.01))
    lines = [shapely.LineString(ends) for ends in rib.cut.bridges]
    for line in lines:
        assert line.length == pytest.approx(CUTTER.bridge_length) and line.hausdorff_distance(ring) > 0
        assert ring.buffer(1e-6).covers(line)
        assert all(line.distance(shapely.Point(x, y)) >= CUTTER.diameter - 1e-9 for x, y, _ in rib.cut.outer.vertices)
    assert all(a.distance(b) >= CUTTER.diameter for a, b in itertools.combinations(lines, 2))


def test_every_copy_counts_not_only_the_first(board):
    # two equal ribs, the second turned by half a turn and standing on its other long edge
    turned = Frame((200, 80, 300), (-1, 0, 0), (0, 0, 1))
    one = body("one", brick(200, 80, 18, (0, 0, 0)), stock="board")
    two = body("two", brick(200, 80, 18, (0, 0, 300)), stock="board", frame=turned)
    under = body("base", brick(600, 20, 100, (-200, -20, -40)), kind="part")
    over = body("shelf", brick(600, 20, 100, (-200, -20, 260)), kind="part")
    (rib,), found = made(plan(one, two, under, over), board)
    assert rib.quantity == 2
    assert all(0 < y < 80 for _, y in middles(rib)) and len(rib.cut.bridges) >= 2  # the ends alone are free
    assert [f.verdict for f in found.values()] == ["holds", "holds"]


def test_a_body_that_holds_the_piece_says_nothing(board):
    rib = body("rib", brick(200, 80, 18, (0, 0, 0)), stock="board")
    skin = body("laminated rib", brick(203, 83, 18, (-1.5, -1.5, 0)), kind="part")
    (rib,), found = made(plan(rib, skin), board)
    assert len(rib.cut.bridges) == 4 and found[WRONG].verdict == "holds"


def test_a_tool_may_be_bridged_on_a_straight_edge_that_molds_but_not_where_its_end_butts(board):
    strip = body("strip", brick(300, 40, 18, (0, 0, 0)), kind="mold sheet", stock="board")
    molded = body("frame", brick(300, 5, 30, (0, 40, -5)), kind="part")
    block = body("block", brick(300, 50, 30, (0, -50, -5)), kind="mold sheet")
    ends = [body(f"corner {x}", brick(60, 40, 18, (x, 0, 0)), kind="mold sheet") for x in (-60, 300)]
    (strip,), found = made(plan(strip, molded, block, *ends), board)
    assert len(strip.cut.bridges) == 4 and all(y == 40 for _, y in middles(strip))
    assert [f.verdict for f in found.values()] == ["holds", "holds"]


def test_a_round_piece_and_one_that_mates_all_round_get_none_and_say_why(board):
    disc = body("disc", cq.Workplane().circle(90).extrude(18).val(), kind="insert", stock="board")
    (disc,), found = made(plan(disc), board)
    assert disc.cut.bridges == () and disc.loose == "round: the edge must be fair"
    assert found[LOOSE].verdict == "not judged" and "hold down P1" in found[LOOSE].skipped and WRONG not in found
    plug = body("plug", brick(80, 80, 18, (0, 0, 0)), kind="core plug", stock="board")
    socket = body("socket", cq.Workplane().box(200, 200, 18).cut(cq.Workplane().box(80, 80, 18)).val().translate(
        cq.Vector(40, 40, 9)), kind="part")
    (plug,), found = made(plan(plug, socket), board)
    assert plug.cut.bridges == () and "fitted to other pieces" in plug.loose
    assert found[LOOSE].verdict == "not judged"


def test_a_free_arc_of_a_large_radius_takes_bridges_where_there_is_no_straight_edge(board):
    lens = cq.Workplane().moveTo(-100, 0).threePointArc((0, -60), (100, 0)).threePointArc((0, 60), (-100, 0)).close()
    piece = body("lens", lens.extrude(18).val(), stock="board")
    (lens,), found = made(plan(piece), board)
    assert len(lens.cut.bridges) == 4 and found[WRONG].verdict == "holds"
    for ends in lens.cut.bridges:
        s = on_outline(lens.cut.outer, ends)
        (_, y), r = s.centre, s.radius
        assert r == pytest.approx((100**2 + 60**2) / 120) and abs(y) == pytest.approx(r - 60)  # circle by three points
        assert s.length == pytest.approx(CUTTER.bridge_length)
    wrapped = body("liner", cq.Workplane().box(400, 400, 18).cut(cq.Workplane().moveTo(-100, 0).threePointArc(
        (0, -60), (100, 0)).threePointArc((0, 60), (-100, 0)).close().extrude(18, both=True)).val().translate(
        cq.Vector(0, 0, 9)), kind="liner")
    (lens,), _ = made(plan(piece, wrapped), board)
    assert lens.cut.bridges == ()


@pytest.mark.parametrize(("ends", "why"), [
    (((80.0, 0.0), (88.0, 0.0)), "an edge that meets base"),
    (((200.0, 30.0), (200.0, 38.0)), "an edge that meets post"),
    (((198.0, 80.0), (190.0, 80.0)), "on a corner"),
    (((80.0, 40.0), (88.0, 40.0)), "off the outline"),
])
def test_the_judge_finds_a_bridge_that_was_moved_to_a_wrong_place(footed, board, ends, why):
    (rib,), _ = made(footed, board)
    spoilt = replace(rib, cut=replace(rib.cut, bridges=(ends, *rib.cut.bridges[1:])))
    found = {f.what: f for f in judged_bridges([spoilt], footed, CUTTER)}
    assert (found[WRONG].verdict, found[WRONG].measured) == ("fails", 1) and why in found[WRONG].note
    assert found[WRONG].moves


def test_the_judge_finds_a_bridge_on_a_fair_arc(board):
    disc = body("disc", cq.Workplane().circle(90).extrude(18).val(), kind="insert", stock="board")
    assembly = plan(disc)
    (disc,), _ = made(assembly, board)
    c, s = math.cos(0.08), math.sin(0.08)
    spoilt = replace(disc, cut=replace(disc.cut, bridges=(((90 * c, -90 * s), (90 * c, 90 * s)),)))
    found = {f.what: f for f in judged_bridges([spoilt], assembly, CUTTER)}
    assert found[WRONG].verdict == "fails" and "arc that must be fair" in found[WRONG].note


def test_a_bridge_too_long_for_every_edge_fails_and_a_shorter_one_cures_it(board):
    # a post of 16 x 16: its edges are too short for 8 mm clear of both corners by the cutter's 6, long enough for 4
    assembly = plan(body("post", brick(16, 16, 18, (0, 0, 0)), stock="board"))
    _, found = made(assembly, board)
    assert (found[LOOSE].verdict, found[LOOSE].measured) == ("fails", 1)
    edits = {edit.path[-1]: edit.to for move in found[LOOSE].moves for edit in move.edits}
    (post,), cured = made(assembly, board, Cutter(corner_relief="none", **edits))
    assert cured[LOOSE].verdict == "holds" and len(post.cut.bridges) == 4


def test_one_bridge_does_not_hold_a_piece_and_more_cure_it(footed, board):
    _, found = made(footed, board, Cutter(corner_relief="none", bridges=1))
    assert found[LOOSE].verdict == "fails"
    (edit,) = found[LOOSE].moves[0].edits
    _, cured = made(footed, board, Cutter(corner_relief="none", bridges=edit.to))
    assert edit.path == ("cutter", "bridges") and cured[LOOSE].verdict == "holds"


def test_none_asked_for_none_there(footed, board):
    (rib,), found = made(footed, board, Cutter(corner_relief="none", bridges=0))
    assert rib.cut.bridges == () and rib.loose == "none are asked for" and found == {}


@pytest.mark.parametrize(("size", "is_small"), [((299, 299), True), ((301, 299), False), ((299, 301), False),
                                                ((900, 99), True), ((900, 101), False)])
def test_what_is_small(size, is_small):
    w, h = size
    loop = Loop(((0, 0, 0), (w, 0, 0), (w, h, 0), (0, h, 0)))
    assert small(Outline(outer=loop)) == is_small
    assert small(Outline(outer=moved(loop, turn=33))) == is_small


def test_bridges_thicker_than_the_sheet_are_refused_but_the_default_gives_way(footed):
    thin = Stock(kind="plywood", thickness=1.5, size=(2440, 1220))
    sliver = plan(replace(body("sliver", brick(200, 80, 1.5, (0, 0, 0)), stock="board"), thickness=1.5))
    with pytest.raises(SpecFault) as refused:
        flatten(sliver, {"board": thin}, Cutter(bridge_height=2))
    (fault,) = refused.value.faults
    assert fault.path == ("cutter", "bridge_height") and fault.allowed == "at most 1.5"
    assert flatten(sliver, {"board": thin}, Cutter()).pieces[0].cut.bridges


def test_bridges_go_with_the_piece_and_waste_stays_beside_them(footed, board):
    cutting = flatten(footed, {"board": board}, CUTTER)
    cutting = replace(cutting, pieces=tuple(replace(p, quantity=5, bodies=(), laid=()) for p in cutting.pieces))
    laid = lay_out(cutting, {"board": board}, CUTTER, saved=None, say=lambda text: None)
    table = {p.id: p for p in cutting.pieces}
    (sheet,) = laid.layout.sheets
    shapes = [shapely.Polygon(sampled(on_sheet(table[p.piece], p).outer, 0.01)) for p in sheet.placed]
    for k, placed in enumerate(sheet.placed):
        for ends in on_sheet(table[placed.piece], placed).bridges:
            line = shapely.LineString(ends)
            assert shapes[k].exterior.buffer(1e-6).covers(line)
            apart = min(line.distance(other) for j, other in enumerate(shapes) if j != k)
            assert apart >= 2 * CUTTER.diameter + 4 - 1e-6  # both cuts and 4 mm between them
    (finding,) = judged_waste(laid.layout, cutting.pieces, CUTTER)
    assert finding.verdict == "holds" and from_text(as_text(laid.layout)) == laid.layout
    first = replace(sheet, placed=(replace(sheet.placed[0], x=sheet.placed[0].x - 9), *sheet.placed[1:]))
    (spoilt,) = judged_waste(replace(laid.layout, sheets=(first,)), cutting.pieces, CUTTER)
    assert spoilt.verdict == "fails"


def test_sheets_without_bridges_keep_the_spacing_as_it_is(piece, box, board):
    plain = [piece("P1", box(500, 400))]
    assert spaced(plain, "board", board, CUTTER) is CUTTER


@settings(max_examples=25, deadline=None)
@given(st.lists(st.integers(0, 99), min_size=2, max_size=9, unique=True), st.integers(2, 4))
def test_places_are_spread_as_far_as_can_be(ats, most):
    whole, apart = 100.0, 7.0
    places = [_Place(float(at), 1.0, ((at, 0), (at + 1, 0)), 0, True) for at in sorted(ats)]

    def least(chosen):
        ring = sorted(chosen)
        return min((b - a) % whole or whole for a, b in zip(ring, [*ring[1:], ring[0]], strict=True))

    best = {n: max((least(pick) for pick in itertools.combinations(sorted(ats), n)), default=0)
            for n in range(2, min(most, len(ats)) + 1)}  # every choice
    fits = [n for n, gap in best.items() if gap >= apart]
    found = [p.at for p in spread(places, most, whole=whole, apart=apart)]
    if not fits:
        assert len(found) == 1
    else:
        assert len(found) == max(fits) and least(found) == pytest.approx(best[max(fits)], abs=0.02)


def test_the_file_has_each_bridge_open_over_a_whole_cut_and_the_note_explains(footed, board, tmp_path):
    disc = body("disc", cq.Workplane().circle(90).extrude(18).translate((0, 0, 900)).val(), stock="board")
    both = replace(footed, bodies={**footed.bodies, "disc": disc})
    cutting = flatten(both, {"board": board}, CUTTER)
    layout = lay_out(cutting, {"board": board}, CUTTER, saved=None, say=lambda text: None).layout
    (sheet,) = layout.sheets
    path = tmp_path / "sheet.dxf"
    write_sheet(path, sheet, cutting.pieces, board, cutter=CUTTER, title="t", revision="A")
    space = ezdxf.readfile(path).modelspace()
    lines = list(space.query('LWPOLYLINE[layer=="bridge-2.0mm"]'))
    assert len(lines) == 4 and all(not line.closed and len(line) == 2 for line in lines)
    assert all(e.dxftype() == "CIRCLE" or e.closed for e in space.query('*[layer=="cut-piece"]'))
    ring = shapely.LinearRing(sampled(on_sheet(cutting.pieces[0], sheet.placed[0]).outer, 0.01))
    assert all(ring.buffer(1e-6).covers(shapely.LineString([v[:2] for v in line.get_points()])) for line in lines)
    text = path.with_suffix(".txt").read_text(encoding="utf-8")
    assert "bridge-2.0mm   lies on the cut: leave 2.0 mm of the thickness over these" in text
    assert "stay in the sheet by their bridges (P1)" in text and "P2 (round: the edge must be fair)" in text
    assert "16 mm between pieces" in text


def test_a_mold_does_not_meet_the_boat_it_stands_in(board):
    fence = body("fence", brick(400, 18, 18, (0, 0, 0)), kind="mold sheet", stock="board")
    sheet = body("sole sheet", brick(400, 200, 30, (0, 18, -6)), kind="lift")
    (fence,), found = made(plan(fence, sheet), board)
    assert {y for _, y in middles(fence)} == {0, 18} and found[WRONG].verdict == "holds"
