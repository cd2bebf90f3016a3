"""What drop a run needs, against dense sampling of attitudes with a turn to world written out here; hand sums."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.attitude import Attitude, AttitudeBox, AttitudeError, least_fall
from moldplan.check.fall_box import least_built_in_slope, least_drop, longest_run, pond_of_reversed_run

AFLOAT = AttitudeBox(heel=(-12, 12), trim=(-2, 4))


def world_z(heel, trim):
    """The world's up in boat axes, as a column of the turn Ry(-trim) Rx(heel)."""
    a, b = np.radians(heel), np.radians(trim)
    return np.stack(np.broadcast_arrays(np.sin(b), np.cos(b) * np.sin(a), np.cos(b) * np.cos(a)), -1)


def sampled_drop(plan, box, fall, n=81):
    """Least drop by halving at every attitude of a dense grid; no quadratic."""
    h, t = (a.ravel() for a in np.meshgrid(np.linspace(*box.heel, n), np.linspace(*box.trim, n)))
    u, run = world_z(h, t), math.hypot(*plan)
    low, high = np.full(h.shape, -40.0 * run), np.full(h.shape, 40.0 * run)
    for _ in range(80):
        half = (low + high) / 2
        d = np.stack([np.full_like(half, plan[0]), np.full_like(half, plan[1]), -half], -1)
        falls = -(u * d).sum(-1) / np.linalg.norm(d, axis=-1) >= math.sin(math.radians(fall))
        low, high = np.where(falls, low, half), np.where(falls, half, high)
    return high.max()


@given(st.floats(-180, 180), st.floats(0, 5), st.floats(-25, 25), st.floats(0, 25), st.floats(-10, 10), st.floats(0, 8))
@settings(max_examples=12, deadline=None)
def test_the_least_drop_is_the_dense_one(bearing, fall, heel, wide, trim, long):
    box = AttitudeBox(heel=(heel, heel + wide), trim=(trim, trim + long))
    plan = (800 * math.cos(math.radians(bearing)), 800 * math.sin(math.radians(bearing)))
    drop, dense = least_drop(plan, box, fall=fall), sampled_drop(plan, box, fall)
    assert dense - 1e-6 <= drop <= dense + 0.1  # 0.16 deg, half the grid, squared, times 800 mm: under 0.01
    assert least_fall((*plan, -drop), box).value == pytest.approx(fall, abs=1e-9)


def test_the_least_drop_across_a_heeling_boat_is_a_tangent():
    """To port, heel up to 12 deg to starboard, level otherwise: the run must stand 12 deg and its fall more."""
    box = AttitudeBox(heel=(-12, 12), trim=(0, 0))
    assert least_drop((0, 500), box) == pytest.approx(500 * math.tan(math.radians(12)))
    assert least_drop((0, 500), box, fall=1) == pytest.approx(500 * math.tan(math.radians(13)))
    assert least_drop((0, 500), Attitude(-12, 0)) == pytest.approx(-500 * math.tan(math.radians(12)))


@given(st.floats(-180, 180), st.floats(0.01, 50))
@settings(max_examples=15, deadline=None)
def test_it_grows_with_the_run_and_carries_it_back(bearing, size):
    way = math.cos(math.radians(bearing)), math.sin(math.radians(bearing))
    drop = least_drop((way[0] * size, way[1] * size), AFLOAT, fall=0.5)
    assert drop == pytest.approx(size * least_built_in_slope(bearing, AFLOAT, fall=0.5), rel=1e-9)
    assert longest_run(drop, bearing, AFLOAT, fall=0.5) == pytest.approx(size, rel=1e-9)


def test_a_worst_attitude_on_an_edge_is_found():
    """Aft, bow up by 5 deg or more: heel takes from what the trim lends to a run that rises, so that upright asks most.
    By hand, upright at trim 5: the run stands at 2 - 5 = -3 deg."""
    box = AttitudeBox(heel=(-10, 10), trim=(5, 10))
    most = -500 * math.tan(math.radians(3))
    assert least_drop((-500, 0), box, fall=2) == pytest.approx(most, abs=1e-9)
    assert sampled_drop((-500, 0), box, 2) == pytest.approx(most, abs=1e-6)
    assert max(least_drop((-500, 0), c, fall=2) for c in box.corners) < most - 0.1


def test_a_plumb_run_needs_no_drop_and_a_lent_fall_carries_any_length():
    assert least_drop((0, 0), AFLOAT, fall=3) == 0.0
    assert longest_run(10, -90, Attitude(5, 0)) == math.inf
    assert longest_run(-10, 90, AFLOAT) == 0.0


@pytest.mark.parametrize("wrong", [
    lambda: least_drop((100, 0), AFLOAT, fall=-1), lambda: least_drop((100, 0), AFLOAT, fall=math.nan),
    lambda: least_drop((100, 0), AttitudeBox(heel=(0, 60), trim=(0, 0)), fall=31),
    lambda: least_drop((math.inf, 0), AFLOAT), lambda: least_drop((100, 0), Attitude(95, 0)),
    lambda: pond_of_reversed_run(-1, -1), lambda: pond_of_reversed_run(100, math.nan)])
def test_what_no_drop_can_do_is_refused(wrong):
    with pytest.raises(AttitudeError):
        wrong()


def test_a_run_that_falls_the_right_way_holds_nothing():
    assert pond_of_reversed_run(1200, 1.0) == 0.0
