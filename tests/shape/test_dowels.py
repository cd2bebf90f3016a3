"""Dowels of a stack: where they may go is measured on sections of the finished lifts by shapely, never by the placer.

Sizes: 8 mm dowels, 10 mm deep where blind, a wall of 20 mm, or 12 in a strip: common practice, no source.
"""

import math

import cadquery as cq
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from moldplan.cut.flat import flatten
from moldplan.cut.layers import bore_layer
from moldplan.shape.body import Body, Frame, Shaped, block, extruded, rod
from moldplan.shape.dowels import doweled
from moldplan.shape.stack import lifts

DOWEL, WALL, NARROW = 8.0, 20.0, 12.0
SHEET = 20.0
PLACE = Frame((310.0, -45.0, 120.0), (0.6, 0.8, 0.0), (-0.64, 0.48, 0.6))  # somewhere, leaning


def stack_of(solid, high, *, at=PLACE, sheet=SHEET, low=0.0, **more):
    """A solid of its own axes as lifts in boat axes, dowelled, and as they were before."""
    whole = solid if isinstance(solid, Shaped) else Shaped(solid)
    before = [
        Body(name=f"lift {k}", kind="lift", shaped=one.shaped.moved(at), part="p", path=(), stock="foam",
             thickness=one.high - one.low, frame=at.inside(Frame((0.0, 0.0, one.low))))
        for k, one in enumerate(lifts(whole, low=low, high=high, sheet=sheet), 1)
    ]  # fmt: skip
    return before, doweled(before, **more)


def holes(body, at=PLACE):
    """Middle of each dowel hole in the stack's axes, and the levels it goes through: (x, y, low, high)."""
    found = []
    for face in body.shaped.roles.get("dowel hole", ()):
        own = face.moved(at.location.inverse)
        box = own.BoundingBox()
        assert own.geomType() == "CYLINDER"
        (circle, *_) = [e for e in own.Edges() if e.geomType() == "CIRCLE"]
        assert circle.radius() == pytest.approx(DOWEL / 2, abs=1e-9)
        centre = circle.arcCenter()
        found.append((centre.x, centre.y, box.zmin, box.zmax))
    return sorted(found)


def section(body, level, at=PLACE):
    """A level section of a body in the stack's axes; curves in chords of 0.02 mm at most."""
    solid = body.solid.moved(at.location.inverse)
    plane = cq.Face.makePlane(5000, 5000, cq.Vector(0, 0, level), cq.Vector(0, 0, 1))
    return shapely.union_all([
        shapely.Polygon(_ring(face.outerWire()), [_ring(wire) for wire in face.innerWires()])
        for face in plane.intersect(solid).Faces()])  # fmt: skip


def _ring(wire):
    points = []
    for edge in wire.Edges():
        count = 2 if edge.geomType() == "LINE" else 181
        run = [(p.x, p.y) for p in edge.positions([k / (count - 1) for k in range(count)])]
        if points and math.dist(points[-1], run[0]) > 1e-6:
            if math.dist(points[-1], run[-1]) > 1e-6:
                points.reverse()
            if math.dist(points[-1], run[0]) > 1e-6:
                run.reverse()
        points += run
    return points


def walls_hold(before, after, wall, at=PLACE):
    """Every hole stands in material of the lift as it was, `wall` all round it, from end to end."""
    for old, new in zip(before, after, strict=True):
        found = holes(new, at)
        for low, high in {(round(low, 6), round(high, 6)) for _, _, low, high in found}:
            for share in (0.001, 0.5, 0.999):
                seen = section(old, low + share * (high - low), at)
                for x, y, *_ in found:
                    assert seen.covers(shapely.Point(x, y).buffer(DOWEL / 2 + wall - 0.02)), (new.name, x, y)
        for i, a in enumerate(found):
            assert all(math.dist(a[:2], b[:2]) >= DOWEL + wall for b in found[:i])


def misses(spots, middle, turn, flip):
    """By how much a pattern of holes misses itself, turned about a middle, or mirrored on a line through it [mm]."""
    c, s = math.cos(turn), math.sin(turn)
    moved = [(x - middle[0], y - middle[1]) for x, y in spots]
    moved = [(c * x + s * y, s * x - c * y) if flip else (c * x - s * y, s * x + c * y) for x, y in moved]
    moved = [(x + middle[0], y + middle[1]) for x, y in moved]
    return max(min(math.dist(m, p) for p in spots) for m in moved)


def told_apart(spots, middle):
    """No flip about any line through the middle, and no turn but the small ones, lays the holes on each other."""
    for k in range(720):
        assert misses(spots, middle, math.tau * k / 720, flip=True) >= DOWEL * 0.98  # within half a degree of the worst
    for k in range(60, 661):
        assert misses(spots, middle, math.tau * k / 720, flip=False) >= DOWEL * 0.98


def test_a_plain_blocks_dowels_go_through_all_lifts_near_two_corners():
    before, after = stack_of(block(400, 300, 80), 80)
    assert [b.order for b in after] == [f"{k} of 4 from below" for k in (1, 2, 3, 4)]
    spots = [[hole[:2] for hole in holes(body)] for body in after]
    assert len(spots[0]) == 2
    for own in spots[1:]:
        assert [c for p in own for c in p] == pytest.approx([c for p in spots[0] for c in p], abs=1e-6)
    # the corners less wall and radius are 352 x 252 apart, 433 mm; what tells them apart costs a little
    assert 400 < math.dist(*spots[0]) < math.hypot(352, 252)
    for k, (old, new) in enumerate(zip(before, after, strict=True)):
        assert old.solid.Volume() - new.solid.Volume() == pytest.approx(2 * math.pi * 16 * SHEET, rel=1e-9)
        assert [h[2:] for h in holes(new)] == [pytest.approx((k * SHEET, (k + 1) * SHEET), abs=1e-6)] * 2
        assert any("2 dowels of 8 mm, 80 mm long, line up 1 to 4" in note for note in new.notes)
    told_apart(spots[0], (200, 150))
    walls_hold(before, after, WALL)


@pytest.mark.parametrize("sides", [(400, 300), (300, 300), (90, 700)])
def test_no_lift_goes_in_turned_or_face_down(sides):
    _, after = stack_of(block(*sides, 40), 40)
    told_apart([hole[:2] for hole in holes(after[0])], (sides[0] / 2, sides[1] / 2))


def test_a_round_stack_is_told_apart_too():
    _, after = stack_of(cq.Solid.makeCylinder(150, 60), 60)
    told_apart([hole[:2] for hole in holes(after[1])], (0, 0))


def test_a_molding_face_is_not_drilled():
    before, after = stack_of(block(300, 200, 54), 54, sheet=18, keep_top=True)
    assert [h[2:] for h in holes(after[0])] == [pytest.approx((0, 18), abs=1e-6)] * 2
    assert [h[2:] for h in holes(after[2])] == [pytest.approx((36, 36 + 9), abs=1e-6)] * 2  # half of it: under 10
    assert before[2].solid.Volume() - after[2].solid.Volume() == pytest.approx(2 * math.pi * 16 * 9, rel=1e-9)
    # 18 + 18 + 9 less the 1 mm they must not stand up on
    assert "2 dowels of 8 mm, 44 mm long, line up 1 to 3; their holes are 9.0 mm deep in 3" in after[2].notes


def test_a_blind_hole_is_as_deep_in_the_words_as_on_its_layer():
    """18.3 mm of board, bored half through: 9.15, which two roundings must not make 9.1 and 9.2 of."""
    _, after = stack_of(block(300, 200, 36.6), 36.6, sheet=18.3, keep_top=True)
    flat = flatten(after[1])[0]
    assert {bore_layer(deep) for _, deep in flat.outline.bores} == {"bore-9.2mm"}
    assert any("9.2 mm deep in 2" in note for note in after[1].notes)


def test_a_last_lift_too_thin_for_a_blind_hole_has_none():
    _, after = stack_of(block(300, 200, 44), 44, sheet=18, keep_top=True)  # 18, 18, 8: half of 8 holds no dowel
    assert [len(holes(body)) for body in after] == [2, 2, 0]
    assert any("line it up by its edges" in note for note in after[1].notes)


def test_a_wedge_of_a_lift_is_drilled_from_its_joint_and_never_through_its_slope():
    whole = block(400, 300, 60).cut(extruded(
        [("", cq.Edge.makeLine(cq.Vector(*a), cq.Vector(*b))) for a, b in
         (((-1, -1, -1), (401, -1, -1)), ((401, -1, -1), (401, -1, 14)), ((401, -1, 14), (-1, -1, -1)))],
        (0, 302, 0)))  # fmt: skip
    before, after = stack_of(whole, 60)
    # the slope leaves 20 - 14 = 6 mm at one end: not enough for 10 mm and its cover there
    assert [len(holes(body)) for body in after] == [2, 2, 2]
    for x, _, low, high in holes(after[0]):
        assert (low, high) == pytest.approx((10, 20), abs=1e-6)
        assert 10 - (-1 + 15 * (x + 1) / 402) >= 3 - 0.3  # the cover, at the deeper side of the hole
    walls_hold(before, after, WALL)


def test_a_pyramids_dowels_are_set_in_runs_that_share_a_lift():
    cone = cq.Solid.makeCone(200, 40, 160)
    before, after = stack_of(cone, 160)
    walls_hold(before, after, NARROW)
    for low, high in zip(after, after[1:], strict=False):
        shared = [a for a in holes(low) for b in holes(high) if math.dist(a[:2], b[:2]) < 1e-6]
        assert len(shared) >= 2 or any("line it up by its edges" in n for n in low.notes)
    assert len({hole[:2] for body in after for hole in holes(body)}) >= 4  # more runs than one
    assert max(len(holes(body)) for body in after) == 4  # a lift two runs share


def test_a_thin_strip_has_no_room_and_says_so():
    _, after = stack_of(block(400, 30, 40), 40)  # 8 + 2 x 12 take 32
    assert [holes(body) for body in after] == [[], []]
    assert any("no room for a dowel to the next one up: line it up by its edges" in n for n in after[0].notes)
    assert after[1].notes == ()


def test_a_strip_that_is_just_wide_enough_has_them_and_says_what_they_do_not_tell():
    before, after = stack_of(block(400, 36, 40), 40)
    walls_hold(before, after, NARROW)
    spots = [hole[:2] for hole in holes(after[0])]
    assert misses(spots, (200, 18), math.pi, flip=False) >= DOWEL
    assert any("would go in either face up: go by the label" in note for note in after[0].notes)


def test_both_lumps_of_lifts_that_fall_in_two_are_dowelled():
    whole = block(400, 300, 60).cut(block(80, 400, 100).moved(Frame((160, -50, -10))))
    before, after = stack_of(whole, 60)
    walls_hold(before, after, WALL)
    for body in after:
        xs = [hole[0] for hole in holes(body)]
        assert (sum(x < 160 for x in xs), sum(x > 240 for x in xs)) == (2, 2)


def test_grooves_that_part_a_joint_but_no_lift_ask_for_one_pair():
    """Grooves 30 wide across the underside of the upper lift: the joint falls in four, both lifts stay whole."""
    cross = [block(500, 30, 10).moved(Frame((-50, 135, 20))), block(30, 400, 10).moved(Frame((185, -50, 20)))]
    before, after = stack_of(block(400, 300, 40).cut(*cross), 40)
    walls_hold(before, after, WALL)
    assert [len(holes(body)) for body in after] == [2, 2]
    assert 400 < math.dist(*(hole[:2] for hole in holes(after[0]))) < math.hypot(352, 252)  # as of a plain block
    told_apart([hole[:2] for hole in holes(after[0])], (200, 150))


def test_what_else_is_drilled_is_kept_clear_of():
    _, free = stack_of(block(300, 200, 40), 40)
    taken = [PLACE.place((*hole[:2], 0.0)) for hole in holes(free[0])]
    _, after = stack_of(block(300, 200, 40), 40, clear_of=taken)
    for hole in holes(after[0]):
        assert all(math.dist(hole[:2], other[:2]) >= WALL + DOWEL / 2 for other in holes(free[0]))


def test_a_single_sheet_is_left_as_it_is():
    before, after = stack_of(block(300, 200, 20), 20)
    assert after == before


@pytest.mark.parametrize("turn", [90, 180, 37])
def test_a_piece_that_lies_turned_is_drilled_alike(turn):
    """A quarter of a ring, like the corners of a round mold: cut from one file."""
    def quarter(by):
        edges = cq.Workplane().moveTo(100, 0).lineTo(160, 0).threePointArc(
            (160 * math.sqrt(0.5), 160 * math.sqrt(0.5)), (0, 160)).lineTo(0, 100).threePointArc(
            (100 * math.sqrt(0.5), 100 * math.sqrt(0.5)), (100, 0)).close()  # fmt: skip
        return edges.extrude(40).val().rotate(cq.Vector(0, 0, 0), cq.Vector(0, 0, 1), by)

    _, straight = stack_of(quarter(0), 40)
    _, turned = stack_of(quarter(turn), 40)
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    carried = sorted((c * x - s * y, s * x + c * y) for x, y, *_ in holes(straight[0]))
    assert len(carried) == 2
    assert [v for p in carried for v in p] == pytest.approx([v for h in holes(turned[0]) for v in h[:2]], abs=1e-5)


seats = st.tuples(st.floats(0.15, 0.85), st.floats(0.15, 0.85), st.floats(20, 110), st.floats(0.2, 0.95))


@settings(max_examples=20, deadline=None)
@given(st.floats(250, 600), st.floats(250, 600), st.integers(2, 4), st.lists(seats, max_size=3),
       st.one_of(st.none(), st.floats(0.2, 0.8)))  # fmt: skip
def test_random_blocks_keep_the_wall_round_every_hole(length, width, count, recesses, limber):
    """The block is a box less upright cylinders less a level one, so each wall is known without its solid."""
    high = count * SHEET
    round_ones = [(x * length, y * width, r, high * (1 - deep)) for x, y, r, deep in recesses]
    tools = [rod(r, (x, y, floor), (0, 0, high), "seat") for x, y, r, floor in round_ones]
    if limber is not None:
        tools.append(rod(8.0, (-10, limber * width, high / 2), (length / 2, 0, 0), "limber"))
    whole = block(length, width, high).cut(*tools)
    assume(len(whole.solid.Solids()) == 1)
    _, after = stack_of(whole, high)
    clear = NARROW + DOWEL / 2 - 1e-6
    for body in after:
        assert body.solid.isValid()
        for x, y, low, up in holes(body):
            assert clear <= x <= length - clear and clear <= y <= width - clear
            for cx, cy, r, floor in round_ones:
                assert up <= floor or math.hypot(x - cx, y - cy) >= r + clear
            if limber is not None and low < high / 2 + 8 and up > high / 2 - 8:
                beyond = max(x - (length / 2 - 10), 0.0)
                aside = max(abs(y - limber * width) - 8.0, 0.0)
                assert math.hypot(beyond, aside) >= clear
    for k, (low, up) in enumerate(zip(after, after[1:], strict=False)):
        level = (k + 1) * SHEET
        below = [h for h in holes(low) if abs(h[3] - level) < 1e-6]
        over = [h for h in holes(up) if abs(h[2] - level) < 1e-6]
        shared = [math.dist(a[:2], b[:2]) for a in below for b in over if math.dist(a[:2], b[:2]) < 1]
        assert all(gap < 1e-6 for gap in shared)
        assert len(shared) >= 2 or any("line it up by its edges" in note for note in low.notes)


def test_no_disc_of_an_insert_goes_in_turned_or_face_down(shaped):
    """Discs are round: neither a turn nor a flip about a diameter lays their dowel holes on each other."""
    seat = {"depth": 54, "clearance_per_side": 4, "draft": 4, "rim_radius": 0, "floor_fillet": 8}
    _, made = shaped({"gas": seat})
    pile = made.of_kind("insert")
    assert [disc.order for disc in pile] == [f"{k} of 3 from below" for k in (1, 2, 3)]
    for disc in pile:
        told_apart([hole[:2] for hole in holes(disc, disc.frame)], (0, 0))
    # two through two discs of 18, 9 deep in the lowest (half of it), less the 1 mm they must not stand up on
    assert [disc.dowels for disc in pile] == [(44.0, 44.0), (), ()]
