"""Room round a cylinder, against the plan sums a builder does with a tape."""

import math
from dataclasses import replace

import pytest

from moldplan.check.around import around, fingers, head_room, lid, neighbour, over_seat
from moldplan.check.land import land
from moldplan.check.secured import cautions, secured

TWO = {"cradles/k/block": [320, 200, 60],
       "cradles/k/seats": {"b": {"depth": 36, "clearance_per_side": 4, "at": [90, 100]},
                           "c": {"depth": 36, "clearance_per_side": 4, "cylinder": "b", "at": [230, 110]}}}


def one(findings, what):
    return next(f for f in findings if f.what == what)


def test_neighbours_are_apart_by_their_centres_less_their_diameters(seat):
    (found,) = neighbour(seat(TWO))
    assert found.measured == pytest.approx(math.hypot(140, 10) - 100, abs=1e-6)
    assert "k.c" in found.note


def test_both_neighbours_count_at_their_largest(seat):
    (found,) = neighbour(seat({**TWO, "cylinders/b/diameter": "100 ± 4"}))
    assert found.measured == pytest.approx(math.hypot(140, 10) - 100 - 4, abs=1e-6)


def test_alone_there_is_no_neighbour_and_without_a_locker_nothing_is_claimed(seat):
    found = around(seat())
    assert [f.what for f in found if f.what == "neighbour"] == []
    assert one(found, "locker").verdict == "not judged"
    assert "no locker" in one(found, "locker").skipped


def test_fingers_go_where_the_nearest_wall_is(seat, in_locker):
    # block's corner at 20, 60; the seat 100 further: to the aft wall 120 - 50, to starboard 160 - 50
    spot = seat(in_locker(cradles__k__at=[20, 60]))
    found = fingers(spot, spot.room)
    assert found.measured == pytest.approx(70, abs=1e-6)
    assert "aft wall" in found.note


def test_a_cylinder_through_the_wall_has_a_negative_gap(seat, in_locker):
    spot = seat(in_locker(cradles__k__at=[20, 60]))
    nearer = replace(spot.room, low=(80.0, 0.0, 0.0))
    assert fingers(spot, nearer).measured == pytest.approx(120 - 80 - 50, abs=1e-6)
    assert fingers(spot, nearer).verdict == "fails"


def test_the_lid_closes_over_valve_block_and_depth(seat, in_locker):
    # block 60, its skin and paint, less 36 of depth, then 200 of body and 60 of valve
    spot = seat(in_locker())
    floor = spot.stand.frame.origin[2]
    found = lid(spot, spot.room)
    assert found.measured == pytest.approx(400 - floor - 260, abs=1e-6)
    assert 24 < floor < 28


def test_head_room_counts_only_beside_the_opening(seat, in_locker):
    over = seat(in_locker())
    assert head_room(over, over.room) == []
    aside = seat(in_locker(lid={"clear_opening": [160, 160], "centre": [300, 200]}))
    (found,) = head_room(aside, aside.room)
    assert found.measured == pytest.approx(400 - aside.stand.frame.origin[2] - 260, abs=1e-6)


def test_a_neighbour_takes_the_room_of_the_hand(seat, in_locker):
    # valves 40 across: port and starboard 120 to the walls, forward another cylinder in the way
    size = (400, 240, 400)
    lid_ = {"clear_opening": [300, 200]}
    free = seat({**TWO, **in_locker(size, lid_, cradles__k__at=[40, 20])})
    found = one(around(free), "hand at the valve")
    assert found.measured == pytest.approx(40 + 90 - 20, abs=1e-6)
    assert "aft" in found.note
    # from the valve of b (side at 150 in x) to the valve of c, 40 across too: less than to the aft wall
    (x0, y0), (x1, y1) = (90, 100), (230, 110)
    assert math.dist((x0, y0), (x1, y1)) - 40 < 110


def test_the_valve_keeps_clear_of_the_base_below_it(rack):
    # lying: axis over the base by rise + liner + clearance + radius; the valve's envelope is 130 across
    spot = rack({"cradles/k/chocks/b/rise": 14, "cradles/k/chocks/b/limber": 8,
                 "cylinders/b/valve": {"diameter": 130, "height": 60}})
    (found,) = over_seat(spot)
    assert found.measured == pytest.approx(14 + 3 + 1 + 50 - 65, abs=1e-6)


def test_core_left_is_what_block_and_cut_out_leave(seat):
    found = {f.what: f for f in land(seat())}
    under = found["core under"].measured
    # depth 36 from the finished top; skin and paint lie over top and floor alike: 60 - 36
    assert under == pytest.approx(24, abs=1e-6)
    beside = found["core beside"].measured
    assert beside < 100 - 54
    spot = seat()
    cone = spot.core.faces("b wall")[0]
    rim = max(math.hypot(v.X - 100, v.Y - 100) for v in cone.Vertices())
    assert beside == pytest.approx(100 - rim, abs=1e-6)


def test_core_between_two_seats_is_found(seat):
    spot = seat(TWO)
    found = one(land(spot), "core beside")
    cone = spot.core.faces("b wall")[0]
    rim = max(math.hypot(v.X - 90, v.Y - 100) for v in cone.Vertices())
    # the same cone at both: rims apart by the centres less two radii, unless a side is nearer
    assert found.measured == pytest.approx(min(math.hypot(140, 10) - 2 * rim, 90 - rim), abs=1e-6)


@pytest.mark.parametrize(("contents", "count", "verdict"), [
    ("lp gas", 1, "holds"), ("lp gas", 0, "fails"), ("breathing air", 0, "fails"), ("inert gas", 2, "holds")])
def test_a_gas_cylinder_wants_a_strap(seat, contents, count, verdict):
    found = one(secured(seat({"cylinders/b/contents": contents, "cradles/k/seats/b/straps": count})), "straps")
    assert found.measured == count
    assert found.verdict == verdict


def test_what_is_no_gas_wants_none(seat):
    assert secured(seat({"cylinders/b/contents": "other", "cradles/k/seats/b/straps": 0})) == []


def test_an_unknown_mass_is_said(seat):
    found = secured(seat({"cylinders/b/full_mass": None}))
    assert one(found, "full mass").verdict == "not judged"


def test_lying_lp_gas_fails_and_upright_holds(rack, seat):
    found = one(secured(rack({"cylinders/b/contents": "lp gas"})), "upright")
    assert found.measured == pytest.approx(90)
    assert found.verdict == "fails"
    assert "valve uppermost" in found.note
    assert one(secured(seat()), "upright").measured == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize(("other", "said"), [("breathing air", True), ("oxygen-enriched gas", True),
                                             ("inert gas", False), ("lp gas", False)])
def test_lp_gas_does_not_share_a_space_with_what_feeds_a_fire(seat, other, said):
    bottle = {"diameter": 100, "height": 200, "knuckle_radius": 20, "contents": other}
    spot = seat({**TWO, "cylinders/d": bottle, "cradles/k/seats": {
        **TWO["cradles/k/seats"], "c": {**TWO["cradles/k/seats"]["c"], "cylinder": "d"}}})
    found = cautions(spot.assembly, spot.spec)
    assert bool(found) is said
    assert all("must not share" in text for text in found)
