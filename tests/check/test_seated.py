"""An upright cylinder in its seat: measured gaps against sums worked out by hand from the spec's sizes."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.check.seated import flat_radius, seated, wall_gap
from moldplan.shape.mesh import mesh

TAN4 = math.tan(math.radians(4))
FLAT = {"cylinders/b/knuckle_radius": 0}
ABOVE = 8 * (1 - math.sin(math.radians(4)))  # the wall begins where the fillet of 8 mm ends
PAINT = 0.3 * (1 - math.cos(math.radians(4)))  # taken off square to the wall, where the nearest point lies across


def by_what(spot):
    return {f.what: f for f in seated(spot)}


def test_a_straight_body_is_nearest_where_the_wall_begins(seat):
    # 4 mm at the floor's level, more by the draft where the fillet ends
    _, gap = wall_gap(seat(FLAT))
    assert gap == pytest.approx(4 + ABOVE * TAN4 - PAINT, abs=1e-6)


def test_a_liner_takes_no_clearance(seat):
    _, gap = wall_gap(seat({**FLAT, "cradles/k/seats/b/liner": 3}))
    assert gap == pytest.approx(4 + 3 + ABOVE * TAN4 - PAINT - 3, abs=1e-6)


def test_half_the_tolerance_of_the_diameter_and_the_rest_of_the_chain_is_taken_off(seat):
    plain = by_what(seat(FLAT))["wall"]
    loose = by_what(seat({**FLAT, "cylinders/b/diameter": "100 ± 3"}))["wall"]
    assert plain.measured - loose.measured == pytest.approx(1.5)
    assert plain.measured < 4 + ABOVE * TAN4


@settings(max_examples=8, deadline=None)
@given(st.sampled_from([0.0, 10.0, 25.0]), st.sampled_from([2.0, 4.0, 8.0]), st.sampled_from([3.0, 5.0]))
def test_the_gap_is_that_of_the_profiles_taken_point_by_point(seat, knuckle, draft, clearance):
    spot = seat({"cylinders/b/knuckle_radius": knuckle, "cradles/k/seats/b/draft": draft,
                 "cradles/k/seats/b/clearance_per_side": clearance, "coats/paint": 0})
    levels = np.linspace(0, 36, 1801)
    body = np.where(levels < knuckle, 50 - knuckle + np.sqrt(np.maximum(knuckle**2 - (knuckle - levels) ** 2, 0)), 50.0)
    above = np.linspace(8 * (1 - math.sin(math.radians(draft))), 33, 1801)  # from the fillet to the rim
    wall = 50 + clearance + above * math.tan(math.radians(draft))
    apart = np.hypot(wall[:, None] - body[None], above[:, None] - levels[None])
    _, gap = wall_gap(spot)
    assert gap == pytest.approx(apart.min(), abs=2e-3)


def test_a_body_that_stands_in_the_wall_has_a_negative_gap_as_deep_as_it_stands(seat):
    # the wall locates the foot, 70 mm across; the body above it is 100 and begins 20 mm up, below the rim
    spot = seat({"cylinders/b/foot": {"diameter": 70, "height": 20}, "cylinders/b/knuckle_radius": 0,
                 "cradles/k/seats/b/locate": "foot"})
    wall_at_20 = 35 + 4 + 20 * TAN4
    expected = -(50 - wall_at_20) * math.cos(math.radians(4))
    found = by_what(spot)["wall"]
    _, gap = wall_gap(spot)
    assert gap == pytest.approx(expected, abs=0.02)
    assert found.verdict == "fails"


def test_the_flat_of_the_floor_ends_where_the_fillet_begins(seat):
    # R - f tan(45 - a/2), R the wall at the floor (computations: fit chain of a seat)
    assert flat_radius(seat(FLAT)) == pytest.approx(54 - 8 * math.tan(math.radians(43)), abs=1e-6)


def test_a_flat_bottom_stands_on_the_fillet_and_only_a_square_corner_clears_it(seat):
    found = by_what(seat(FLAT))["foot"]
    assert found.verdict == "fails"
    play = 4 + ABOVE * TAN4
    assert found.measured == pytest.approx(4 - 8 * math.tan(math.radians(43)) - play, abs=1e-6)
    assert "stands on the fillet" in found.note
    assert found.moves[0].edits[0].to == 0


def test_a_rounded_knuckle_leaves_the_fillet_alone(seat):
    found = by_what(seat())["foot"]
    assert found.verdict == "holds"
    levels = np.linspace(ABOVE, 36, 20001)
    body = np.where(levels < 20, 30 + np.sqrt(np.maximum(400 - (20 - levels) ** 2, 0)), 50.0)
    play = (54 + levels * TAN4 - body).min()
    assert found.measured == pytest.approx(54 - 8 * math.tan(math.radians(43)) - 30 - play, abs=5e-3)


def test_the_fillet_that_is_offered_clears(seat):
    changes = {"cylinders/b/knuckle_radius": 12, "cradles/k/seats/b/floor_fillet": 15}
    found = by_what(seat(changes))["foot"]
    offered = found.moves[0].edits[0].to
    assert found.verdict == "fails"
    assert 0 < offered < 15
    after = by_what(seat({**changes, "cradles/k/seats/b/floor_fillet": offered}))["foot"]
    assert after.verdict != "fails"


@pytest.mark.parametrize("towards", ["aft", "port"])
@pytest.mark.parametrize("fall", ["1:40", "2 %"])
def test_a_limber_falls_as_told_and_starts_at_the_floor(seat, towards, fall):
    slope = {"1:40": 1 / 40, "2 %": 0.02}[fall]
    spot = seat({"cradles/k/seats/b/limber": {"towards": towards, "bore": 18, "fall": fall}})
    found = by_what(spot)
    assert found["fall"].measured == pytest.approx(slope, abs=1e-9)
    assert found["bore"].measured == pytest.approx(18)
    assert found["lip"].verdict == "holds"


def test_a_limber_that_falls_inward_is_seen(seat, in_locker):
    locker = in_locker(cradles__k__sits="with the sole")
    locker["lockers"]["l"]["sole"] = {"fall": "1:20", "towards": "aft"}
    out = {"cradles/k/seats/b/limber": {"towards": "forward", "bore": 15, "fall": "1:50"}}
    spot = seat({**locker, **out})
    lean = math.atan(1 / 20)
    expected = math.tan(math.atan(1 / 50) - lean)
    found = by_what(spot)["fall"]
    assert found.measured == pytest.approx(expected, abs=1e-6)
    assert found.verdict == "fails"


def test_the_foot_is_measured_on_the_finished_body(seat):
    spot = seat({"cylinders/b/foot": {"diameter": 80, "height": 15, "edge_radius": 6}})
    points = mesh(spot.body.solid, tolerance=0.02, angle=5.0)[0]
    floor = spot.stand.frame.origin
    low = points[np.abs(points[:, 2] - floor[2]) < 1e-6]
    stands = np.hypot(low[:, 0] - floor[0], low[:, 1] - floor[1]).max()
    assert stands == pytest.approx(34, abs=1e-3)
    assert f"stands on {34:.1f} mm" in by_what(spot)["foot"].note


@pytest.mark.parametrize(("foot", "clearance"), [(60, 10), (70, 2)])
def test_the_play_of_a_foot_under_a_body_that_hangs_over_the_rim_is_the_foots_own(seat, foot, clearance):
    """The wall holds a straight foot taller than the seat is deep: it goes sideways by clearance and draft where the
    fillet ends. The body above it hangs over the rim, and its nearest point to the seat lies below it."""
    spot = seat({"cylinders/b/foot": {"diameter": foot, "height": 42}, "cylinders/b/knuckle_radius": 0,
                 "cradles/k/seats/b/locate": "foot", "cradles/k/seats/b/clearance_per_side": clearance})
    found = by_what(spot)["foot"]
    play = clearance + ABOVE * TAN4
    flat = foot / 2 + clearance - 8 * math.tan(math.radians(43))
    assert found.measured == pytest.approx(flat - foot / 2 - play, abs=1e-6)


def test_a_body_that_holds_the_whole_wall_stands_in_its_block(seat):
    """A foot of 2 mm: the body, 100 mm across, stands in the block from there up and is near none of the wall's faces,
    which all lie inside it. It is deepest where the wall begins, over the molded fillet of 8.3 mm."""
    spot = seat({"cylinders/b/foot": {"diameter": 70, "height": 2}, "cylinders/b/knuckle_radius": 0,
                 "cradles/k/seats/b/locate": "foot"})
    ends = 8.3 * (1 - math.sin(math.radians(4))) - 0.3
    molded = 35 + 4 + ends * TAN4 + 0.3 / math.cos(math.radians(4))
    _, gap = wall_gap(spot)
    assert gap == pytest.approx(-(50 - molded) * math.cos(math.radians(4)) - 0.3, abs=1e-4)
    assert by_what(spot)["wall"].verdict == "fails"


def test_a_body_that_sinks_into_the_rim_alone_fails(seat):
    """The body begins half a millimetre under the rim's top, past the rounding of 3 mm: it stands on the block."""
    spot = seat({"cylinders/b/foot": {"diameter": 70, "height": 35.5}, "cylinders/b/knuckle_radius": 0,
                 "cradles/k/seats/b/locate": "foot"})
    assert by_what(spot)["wall"].verdict == "fails"
    clear = seat({"cylinders/b/foot": {"diameter": 70, "height": 42}, "cylinders/b/knuckle_radius": 0,
                  "cradles/k/seats/b/locate": "foot"})
    assert by_what(clear)["wall"].verdict != "fails"
