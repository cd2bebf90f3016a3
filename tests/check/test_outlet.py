"""An outlet's height, immersion and neighbours, against hand sums and dense sampling."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.attitude import Attitude, AttitudeBox, AttitudeError, Waterline
from moldplan.check.outlet import below_floor, distance_to_box, narrowest, nearby, round_bore, sharing, stands

WATER = Waterline(height=-380, at_x=2600)
AFLOAT = AttitudeBox(heel=(-12, 12), trim=(-2, 4))


def test_an_outlet_abreast_of_the_pivot_by_hand():
    """560 out and 80 up: upright 80; at 5 deg to port 80 cos 5 - 560 sin 5; under at atan(80 / 560) = 8.130 deg."""
    found = stands((2600, 560, -300), WATER, AttitudeBox(heel=(-5, 5), trim=(0, 0)))
    five = math.radians(5)
    assert found.rest == 80 and found.least.value == pytest.approx(80 * math.cos(five) - 560 * math.sin(five))
    assert found.least.at == Attitude(-5, 0) and not found.under
    assert found.port == pytest.approx(8.1301, abs=1e-4) and found.starboard is None
    assert found.first == found.port


def test_its_lowest_edge_is_what_goes_under():
    """A bore of 20: the edge stands 70 up and goes under at atan(70 / 560)."""
    found = stands((2600, 560, -300), WATER, AttitudeBox(heel=(-8, 8), trim=(0, 0)), rim=10)
    assert found.rest == 70 and found.under
    assert found.port == pytest.approx(math.degrees(math.atan2(70, 560)))
    assert not stands((2600, 560, -300), WATER, AttitudeBox(heel=(-8, 8), trim=(0, 0))).under


@given(st.floats(-500, 3000), st.floats(-1000, 1000), st.floats(-379, 200))
@settings(max_examples=20, deadline=None)
def test_it_goes_under_in_the_box_exactly_when_an_immersion_angle_lies_in_it(x, y, z):
    """Two independent routes: the least height over the box, and the heel at which the worst trim meets the water."""
    found = stands((x, y, z), WATER, AFLOAT)
    h, t = (np.radians(a).ravel() for a in np.meshgrid(np.linspace(-12, 12, 49), np.linspace(-2, 4, 25)))
    dense = (np.sin(t) * (x - 2600) + np.cos(t) * (np.sin(h) * y + np.cos(h) * (z + 380))).min()
    assert dense - 0.5 <= found.least.value <= dense + 1e-9
    if abs(found.least.value) > 1e-6:
        assert found.under == (found.first is not None and found.first < 12)


@given(st.tuples(*[st.floats(-50, 50)] * 3), st.tuples(*[st.floats(-50, 50)] * 3), st.tuples(*[st.floats(-90, 90)] * 3))
@settings(max_examples=20, deadline=None)
def test_the_distance_to_a_box_is_that_to_its_nearest_point(a, b, p):
    """The nearest point is sought by bounded least squares (SciPy)."""
    from scipy.optimize import lsq_linear

    low, high = np.minimum(a, b), np.maximum(a, b) + 1e-9
    nearest = lsq_linear(np.eye(3), np.array(p), bounds=(low, high), tol=1e-14).x
    assert distance_to_box(p, (a, b)) == pytest.approx(math.dist(nearest, p), abs=1e-5)


def test_a_window_by_hand_edge_and_corner_and_inside():
    window = ((2100, 800, 250), (2500, 800, 420))
    assert distance_to_box((2300, 500, 300), window) == 300
    assert distance_to_box((2097, 796, 238), window) == 13
    assert distance_to_box((2300, 800, 300), window) == 0


def test_neighbours_come_nearest_first_measured_from_the_rim():
    found = nearby((0, 560, -300), {"window": ((0, 560, 0), (500, 560, 400))}, {"flue": (0, 560, -200)}, rim=10)
    assert [(n.name, n.kind, n.distance) for n in found] == [("flue", "ignition", 90), ("window", "opening", 290)]
    assert nearby((0, 0, 0), {}, {"spark": (0, 0, 3)}, rim=10)[0].distance == 0


def test_how_far_below_its_floor_an_outlet_stays_by_hand():
    """500 out to port and 60 down: heeled to starboard 60 cos 5 - 500 sin 5 = 16.19 are left, less a trim of 1."""
    found = below_floor((0, 0, -240), (0, 500, -300), AttitudeBox(heel=(-5, 5), trim=(-1, 1)))
    five = math.radians(5)
    assert found.value == pytest.approx((60 * math.cos(five) - 500 * math.sin(five)) * math.cos(math.radians(1)))
    assert found.at.heel == 5 and abs(found.at.trim) == 1


def test_the_narrowest_place_is_named_the_first_of_equals():
    assert narrowest([("drain", 25), ("tail", 19), ("hose", 20), ("skin fitting", 19)]) == ("tail", 19)


@pytest.mark.parametrize(("wide", "high"), [(19, 19), (12.7, 31)])
def test_an_opening_that_is_not_round_counts_by_its_area(wide, high):
    assert math.pi * round_bore(wide * high) ** 2 / 4 == pytest.approx(wide * high)


def test_drains_that_share_an_outlet_find_each_other():
    found = sharing({"gas": None, "a": "b", "b": None, "c": "a"})
    assert found == {"gas": (), "a": ("b", "c"), "b": ("a", "c"), "c": ("a", "b")}


@pytest.mark.parametrize("wrong", [
    lambda: narrowest([]), lambda: narrowest([("hose", 0)]), lambda: narrowest([("hose", math.nan)]),
    lambda: round_bore(-1), lambda: sharing({"a": "b", "b": "a"}), lambda: sharing({"a": "sea"}),
    lambda: sharing({"a": "a"})])
def test_what_is_no_way_out_is_refused(wrong):
    with pytest.raises(AttitudeError):
        wrong()
