"""Attitudes against rotation matrices written out here, dense sampling and hand sums; no value comes from the module.

The published rows (falls under heel and trim, tilted planes) stand in tests/published/test_effective_fall.py.
"""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.attitude import (
    Attitude,
    AttitudeBox,
    AttitudeError,
    Waterline,
    attitude_of,
    fall_along,
    heels_where,
    heels_where_falls,
    immersion_angle,
    least_along_up,
    least_fall,
    least_height,
    most_along_up,
    plane_fall,
    up,
    ups,
)

heels, trims = st.floats(-60, 60), st.floats(-30, 30)
part = st.floats(-1, 1)
vectors = st.tuples(part, part, part).filter(lambda v: math.hypot(*v) > 0.05)
quick = settings(max_examples=25, deadline=None)


def to_world(heel, trim):
    """The turn from boat to world: heel about x, then trim about the level y, bow up (a turn by -trim about +y)."""
    a, b = math.radians(heel), math.radians(trim)
    about_x = np.array([[1, 0, 0], [0, math.cos(a), -math.sin(a)], [0, math.sin(a), math.cos(a)]])
    about_y = np.array([[math.cos(b), 0, -math.sin(b)], [0, 1, 0], [math.sin(b), 0, math.cos(b)]])
    return about_y @ about_x


def sampled(value, box, n=201):
    """Least of a function of heel and trim on a dense grid of a box."""
    return min(value(h, t) for h in np.linspace(*box.heel, n) for t in np.linspace(*box.trim, n))


@given(heels, trims, vectors)
@quick
def test_up_is_the_third_row_of_the_turn_to_world(heel, trim, v):
    assert np.dot(up(Attitude(heel, trim)), v) == pytest.approx((to_world(heel, trim) @ np.array(v))[2], abs=1e-12)


def test_the_signs_are_starboard_down_and_bow_up():
    port, bow = (0, 1000, 0), (1000, 0, 0)
    water = Waterline(height=0, at_x=0)
    assert water.height_above(port, Attitude(10, 0)) == pytest.approx(1000 * math.sin(math.radians(10)))
    assert water.height_above(bow, Attitude(0, 10)) == pytest.approx(1000 * math.sin(math.radians(10)))


def test_heel_comes_first_and_the_other_order_differs():
    """Both angles 45: up across the boat is cos 45 sin 45 = 0.5 in this order, sin 45 in the other."""
    assert up(Attitude(45, 45)) == pytest.approx((math.sqrt(0.5), 0.5, 0.5))


def test_many_at_once_are_the_same_as_one_by_one():
    box = AttitudeBox(heel=(-12, 12), trim=(-2, 4))
    h, t = box.grid(5, 3)
    assert h.shape == t.shape == (15,)
    assert t[:3].tolist() == [-2, 1, 4] and h.reshape(5, 3)[:, 0].tolist() == [-12, -6, 0, 6, 12]
    assert ups(h, t) == pytest.approx(np.array([(to_world(a, b).T @ [0, 0, 1]) for a, b in zip(h, t, strict=True)]))
    assert ups(3.0, t).shape == (15, 3) and ups(0, 0).tolist() == [[0, 0, 1]]


@given(heels, trims, st.floats(-179, 179), vectors)
@quick
def test_turning_boat_and_axes_together_changes_nothing(heel, trim, turn, v):
    """About the boat's vertical: the same up in turned axes is another pair of angles, and every fall is the same."""
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    turned = lambda w: (c * w[0] - s * w[1], s * w[0] + c * w[1], w[2])  # noqa: E731
    here, there = Attitude(heel, trim), attitude_of(turned(up(Attitude(heel, trim))))
    assert fall_along(turned(v), there) == pytest.approx(fall_along(v, here), abs=1e-9)
    assert plane_fall(turned(v), there)[0] == pytest.approx(plane_fall(v, here)[0], abs=1e-9)
    water = Waterline(height=0, at_x=0)
    assert water.height_above(turned(v), there) == pytest.approx(water.height_above(v, here), abs=1e-12)


@given(heels, trims)
@quick
def test_an_attitude_is_found_again_from_its_up(heel, trim):
    found = attitude_of(up(Attitude(heel, trim)))
    assert (found.heel, found.trim) == pytest.approx((heel, trim), abs=1e-9)


def boxes():
    def made(a, b, c, d):
        return AttitudeBox(heel=(min(a, b), max(a, b)), trim=(min(c, d), max(c, d)))
    return st.builds(made, heels, heels, trims, trims)


@given(vectors, boxes())
@settings(max_examples=12, deadline=None)
def test_the_least_over_a_box_is_never_above_a_sample_and_close_below_the_best(v, box):
    h, t = (a.ravel() for a in np.meshgrid(np.linspace(*box.heel, 241), np.linspace(*box.trim, 241)))
    along = ups(h, t) @ np.array(v)
    least, most = least_along_up(v, box), most_along_up(v, box)
    assert box.holds(least.at) and box.holds(most.at)
    assert np.dot(up(least.at), v) == pytest.approx(least.value, abs=1e-12)
    coarse = 1e-4  # a smooth least is missed by half the curvature times a half step squared: (0.25 deg)^2 / 2
    assert -1e-12 <= along.min() - least.value <= coarse
    assert -1e-12 <= most.value - along.max() <= coarse


@pytest.mark.parametrize(
    ("d", "box", "at", "where"),
    [   # by hand: a run that leads aft falls least bow down, and least of all heeled
        ((-1, 0, -0.02), AttitudeBox(heel=(-5, 5), trim=(-2, 2)), (5, -2), "corner"),
        # a pipe that leads up and a little to port rises most steeply where it stands plumb athwartships, at a heel of
        # atan(0.1), and as near plumb fore and aft as the box lets it, at its lower end of trim
        ((0, 0.1, 1.0), AttitudeBox(heel=(-20, 20), trim=(1, 4)), (math.degrees(math.atan(0.1)), 1), "edge"),
        # a pipe that stands plumb at some attitude within the box rises there by 90 deg
        ((0.05, 0.1, 1.0), AttitudeBox(heel=(-20, 20), trim=(-10, 10)),
         (math.degrees(math.atan(0.1)), math.degrees(math.atan2(0.05, math.hypot(0.1, 1.0)))), "inside"),
    ],
)
def test_the_worst_place_may_be_a_corner_on_an_edge_or_inside(d, box, at, where):
    least = least_fall(d, box)
    found = (abs(least.at.heel), least.at.trim) if where == "corner" else (least.at.heel, least.at.trim)
    assert found == pytest.approx(at, abs=1e-9)
    run = np.array(d) / math.hypot(*d)
    dense = sampled(lambda h, t: -(to_world(h, t) @ run)[2], box)
    assert math.sin(math.radians(least.value)) == pytest.approx(dense, abs=2e-6)
    assert math.sin(math.radians(least.value)) <= dense + 1e-12
    if where != "corner":  # the corners alone would have missed it
        corners = min(fall_along(d, c) for c in box.corners)
        assert corners > least.value + 0.1


def test_a_hose_that_runs_to_port_falls_least_on_an_edge_of_the_box():
    """With d = (0, cos a, -sin a), -u . d is cos t sin(a - h): at the largest heel, 10, less than nought, so that it is
    least where cos t is largest, at trim 0, in the middle of that edge. By hand 3 - 10 = -7 deg."""
    a = math.radians(3)
    least = least_fall((0, math.cos(a), -math.sin(a)), AttitudeBox(heel=(-10, 10), trim=(-5, 4)))
    assert least.value == pytest.approx(-7, abs=1e-9)
    assert (least.at.heel, least.at.trim) == pytest.approx((10, 0), abs=1e-9)


def test_a_plumb_hose_is_measured_exactly():
    """An arc sine loses half the digits here; 1e-7 deg off plumb stays 1e-7 deg."""
    assert fall_along((0, 0, -3)) == 90.0
    assert 90.0 - fall_along((0, 0, -3), Attitude(1e-7, 0)) == pytest.approx(1e-7, rel=1e-5)


def test_the_least_height_in_a_box_is_the_dense_one():
    water, p = Waterline(height=-380, at_x=2600), (0, 560, -300)
    box = AttitudeBox(heel=(-12, 12), trim=(-2, 4))
    least = least_height(p, water, box)
    arm = np.array([-2600, 560, 80])
    assert least.value == pytest.approx(sampled(lambda h, t: (to_world(h, t) @ arm)[2], box, 121), abs=1e-9)
    assert (least.at.heel, least.at.trim) == (-12, 4)  # its own side down and the stern down: the corner of the box


@pytest.mark.parametrize(("side", "angle"), [("port", math.degrees(math.atan2(80, 560))), ("starboard", None)])
def test_immersion_upright_in_trim_is_the_angle_of_a_triangle(side, angle):
    """80 mm up and 560 mm out: it meets the water at atan(80 / 560) to its own side and never to the other."""
    found = immersion_angle((0, 560, -300), Waterline(height=-380, at_x=2600), side)
    assert found is None if angle is None else found == pytest.approx(angle, abs=1e-9)


@pytest.mark.parametrize("p", [(0, 560, -300), (0, -560, -300), (-900, 0, -100), (2600, 300, 100), (0, 20, -379)])
@pytest.mark.parametrize("side", ["port", "starboard"])
@pytest.mark.parametrize("trim", [-3.0, 0.0, 4.0])
def test_immersion_is_where_a_walk_by_small_heels_first_finds_water(p, side, trim):
    water = Waterline(height=-380, at_x=2600)
    arm = np.array(p) - [2600, 0, -380]
    sign = 1 if side == "starboard" else -1
    walk = next((k / 50 for k in range(4501) if (to_world(sign * k / 50, trim) @ arm)[2] <= 1e-9), None)
    found = immersion_angle(p, water, side, trim=trim)
    if walk is None:
        assert found is None
    else:
        assert walk - 0.02 - 1e-9 <= found <= walk + 1e-9


def test_over_a_range_of_trim_the_first_immersion_is_the_least_of_many_trims():
    water, p = Waterline(height=-380, at_x=2600), (0, 560, -150)
    found = immersion_angle(p, water, "port", trim=(-2, 3))
    every = [immersion_angle(p, water, "port", trim=t) for t in np.linspace(-2, 3, 51)]
    assert found == pytest.approx(min(every), abs=1e-12) and found < every[20]
    assert immersion_angle((2600, 0, -300), water, "port", trim=(-2, 3)) == pytest.approx(90)  # over the centreline


@given(vectors, trims, st.floats(-20, 20))
@quick
def test_the_heels_where_a_run_falls_are_those_and_no_others(d, trim, fall):
    ranges = heels_where_falls(d, trim, fall=fall)
    assert list(ranges) == sorted(ranges)
    for heel in np.linspace(-90, 90, 61):
        inside = any(low <= heel <= high for low, high in ranges)
        near = any(abs(heel - end) < 1e-6 for span in ranges for end in span)
        short = fall_along(d, Attitude(heel, trim)) - fall
        assert near or abs(short) < 1e-6 or inside == (short > 0)


def test_heels_may_fall_in_two_ranges_or_in_none():
    """A run straight up falls never within 90 deg; one along -x falls at every heel once the bow is up."""
    assert heels_where_falls((0, 0, 1), 0.0, fall=1) == ()
    assert heels_where_falls((-1, 0, 0), 5.0, fall=4) == ((-90.0, 90.0),)
    two = heels_where((0, 0, -1.0), -0.5, 0.0)  # -cos h >= -0.5: 60 deg and more, to both sides
    assert [end for span in two for end in span] == pytest.approx([-90, -60, 60, 90])


def test_a_level_plane_lies_level_and_a_heeled_one_falls_abeam():
    assert plane_fall((0, 0, 1)) == (0.0, 0.0)
    assert plane_fall((0, 0, 2), Attitude(7, 0)) == pytest.approx((7, -90))


@pytest.mark.parametrize("wrong", [
    lambda: Attitude(math.nan, 0), lambda: Attitude(0, 91), lambda: Attitude(181, 0),
    lambda: AttitudeBox(heel=(5, -5), trim=(0, 0)), lambda: AttitudeBox(heel=(-5, 5), trim=(0, math.nan)),
    lambda: fall_along((0, 0, 0)), lambda: least_fall((0, math.inf, 0), Attitude(0, 0)),
    lambda: attitude_of((0, 0, 0)), lambda: plane_fall((0, math.nan, 1)),
    lambda: AttitudeBox(heel=(-5, 5), trim=(0, 0)).grid(1, 1)])
def test_what_has_no_meaning_is_refused(wrong):
    with pytest.raises(AttitudeError):
        wrong()


def test_a_flat_box_has_its_corners_once():
    assert AttitudeBox(heel=(0, 0), trim=(-1, 1)).corners == (Attitude(0, -1), Attitude(0, 1))
    assert AttitudeBox.only(Attitude(3, 1)).grid(1, 1)[0].tolist() == [3]
