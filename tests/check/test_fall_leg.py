"""Hoses leg by leg, against dense sampling, a flood along the hose written out here, and hand sums."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.attitude import Attitude, AttitudeBox, AttitudeError, Waterline
from moldplan.check.fall_leg import backflow, deepest_pocket, dips, joined, leg_falls, profile, worst_leg

AFLOAT = AttitudeBox(heel=(-12, 12), trim=(-2, 4))
WATER = Waterline(height=-380, at_x=2600)
# a locker's drain to port, aft of it, with a nearly level last leg
HOSE = ((300, 150, -250), (300, 150, -280), (40, 330, -290), (0, 560, -300))
coordinate = st.floats(-500, 500)
hoses = st.lists(st.tuples(coordinate, coordinate, coordinate), min_size=2, max_size=6, unique=True).filter(
    lambda ps: all(math.dist(a, b) > 1 for a, b in zip(ps, ps[1:], strict=False)))


def ups(box, n=41):
    h, t = (np.radians(a).ravel() for a in np.meshgrid(np.linspace(*box.heel, n), np.linspace(*box.trim, n)))
    return np.stack([np.sin(t), np.cos(t) * np.sin(h), np.cos(t) * np.cos(h)], -1)


@given(hoses)
@settings(max_examples=20, deadline=None)
def test_every_leg_falls_least_where_dense_sampling_says(points):
    u = ups(AFLOAT)
    for leg in leg_falls(points, AFLOAT):
        d = (np.array(leg.end) - leg.start) / leg.length
        dense = (-(u @ d)).min()
        assert dense - 1e-4 <= math.sin(math.radians(leg.least.value)) <= dense + 1e-12
        assert AFLOAT.holds(leg.least.at)


def test_the_worst_leg_is_named_with_the_attitude_that_makes_it():
    """By hand: the last leg leads out to port, so it rises most heeled to starboard; it is the flattest against y."""
    worst = worst_leg(HOSE, AFLOAT)
    assert worst.index == 2 and worst.least.at.heel == 12
    assert worst.start == HOSE[2] and worst.least.value < -8


def test_a_profile_is_height_against_developed_length():
    found = profile(((0, 0, 0), (-300, 0, -400), (-300, 0, -500)))
    assert found == ((0, 500), (500, 100), (600, 0))
    heeled = profile(((0, 0, 0), (0, 100, 0)), Attitude(30, 0))
    assert [s.height for s in heeled] == pytest.approx([-50, 0])
    assert profile(HOSE, waterline=WATER)[-1].height == pytest.approx(80)


def flooded(heights):
    """Depths left along a line that can only run off at its end: level = highest still to come; plain reversed walk."""
    level, found = -math.inf, []
    for h in reversed(heights):
        level = max(level, h)
        found.append(level - h)
    return found[::-1]


@given(hoses, st.floats(-20, 20), st.floats(-5, 5))
@settings(max_examples=25, deadline=None)
def test_dips_are_where_a_flood_along_the_hose_leaves_water(points, heel, trim):
    at = Attitude(heel, trim)
    a, b = math.radians(heel), math.radians(trim)
    u = np.array([math.sin(b), math.cos(b) * math.sin(a), math.cos(b) * math.cos(a)])
    depths = flooded([float(u @ p) for p in points])
    found = dips(points, at, bore=20)
    assert max((d.depth for d in found), default=0.0) == pytest.approx(max(depths), abs=2e-6)
    for dip in found:
        assert depths[dip.index] == pytest.approx(dip.depth, abs=1e-9) and dip.crest > dip.index
        assert dip.sealed == (dip.depth >= 20)
    assert sum(d > 1e-7 for d in depths) >= len(found)


@given(hoses)
@settings(max_examples=12, deadline=None)
def test_the_deepest_pocket_of_a_box_is_the_deepest_of_many_attitudes(points):
    pocket = deepest_pocket(points, AFLOAT)
    heights = ups(AFLOAT, 25) @ np.array(points).T
    dense = max(h[j + 1:].max() - h[j] for h in heights for j in range(len(points) - 1))
    assert dense - 1e-9 <= pocket.depth.value <= dense + 0.5  # the grid of 1 deg by 0.25 deg over 1.5 m
    assert pocket.low < pocket.crest


def test_a_hose_whose_legs_all_fall_in_the_box_has_no_pocket_there_either_way():
    steep = ((0, 0, 0), (-100, 0, -40), (-100, 200, -100))
    assert worst_leg(steep, AFLOAT).least.value > 0
    assert deepest_pocket(steep, AFLOAT).depth.value < 0
    assert all(dips(steep, c, bore=20) == () for c in AFLOAT.corners)


def test_a_u_holds_its_depth_and_what_fills_its_bore():
    """A trap of two plumb legs 100 mm deep, level bottom 300 long, bore 20: sealed. By hand: the bottom's bore is full,
    300 pi 100 mm3, and each leg to one radius under the crest's middle, 90 mm."""
    u = ((0, 0, 0), (0, 0, -200), (300, 0, -200), (300, 0, -100), (400, 0, -150))
    (dip,) = dips(u, bore=20)
    assert (dip.index, dip.crest, dip.depth, dip.sealed) == (1, 3, 100, True)
    assert dip.over_drain == -100
    assert dip.litres == pytest.approx(math.pi * 100 * (300 + 90 + 90) / 1e6, rel=0.02)


def test_a_shallow_dip_is_not_sealed_and_holds_what_integration_says():
    """A dip 8 mm deep in a bore of 20: by a fine sum over slabs of the hose, middle by middle."""
    hose = ((0, 0, 10), (400, 0, -8), (800, 0, 0), (900, 0, -30))
    (dip,) = dips(hose, bore=20)
    assert dip.depth == pytest.approx(8) and not dip.sealed
    total, n = 0.0, 200
    for a, b in zip(hose, hose[1:3], strict=False):
        for i in range(n):
            middle = a[2] + (b[2] - a[2]) * (i + 0.5) / n
            y = np.linspace(-10, 10, 401)
            wet = np.clip(0 - 10 - middle + np.sqrt(100 - y**2), 0, 2 * np.sqrt(100 - y**2))
            total += np.trapezoid(wet, y) * math.dist(a, b) / n
    assert dip.litres == pytest.approx(total / 1e6, rel=0.01)


def test_a_crest_above_the_drain_floods_the_space_first():
    (dip,) = dips(((0, 0, 0), (100, 0, -50), (200, 0, 30), (300, 0, -80)), bore=20)
    assert (dip.over_drain, dip.depth) == (30, 80)


def test_still_water_comes_up_to_where_the_hose_rises_out_of_it():
    """Heel to port of 20 deg, hand sum: heights above the water y sin(-20) + (z + 380) cos 20; the leg is crossed at a
    share of its length."""
    hose, box = ((0, 0, -200), (0, 560, -300)), AttitudeBox(heel=(-20, 20), trim=(0, 0))
    water = Waterline(height=-380, at_x=0)
    s, c = math.sin(math.radians(20)), math.cos(math.radians(20))
    low, high = -560 * s + 80 * c, 180 * c
    found = backflow(hose, water, box)
    assert found.outlet.value == pytest.approx(low) and found.drain.value == pytest.approx(high)
    assert found.length == pytest.approx(math.dist(*hose) * -low / (high - low), abs=2e-3)
    assert not found.enters


def test_water_over_the_drain_comes_in_and_a_clear_outlet_keeps_all_dry():
    box = AttitudeBox(heel=(-20, 20), trim=(0, 0))
    water = Waterline(height=-380, at_x=0)
    assert backflow(((0, 560, -290), (0, 570, -300)), water, box).enters
    clear = backflow(((0, 20, -200), (0, 60, -300)), water, box)
    assert clear.length == 0 and not clear.enters


def test_pieces_join_without_repeats():
    assert joined([(0, 0, 0), (0, 0, -9)], [(0, 0, -9), (5, 0, -9)], [], [(5, 0, -9.0000001)]) == (
        (0, 0, 0), (0, 0, -9), (5, 0, -9))


@pytest.mark.parametrize("wrong", [
    lambda: leg_falls([(0, 0, 0)], AFLOAT), lambda: leg_falls([], AFLOAT),
    lambda: profile([(0, 0, 0), (0, 0, 0)]), lambda: dips(HOSE, bore=0), lambda: dips(HOSE, bore=math.nan),
    lambda: deepest_pocket([(0, 0, 0), (0, 0, math.nan)], AFLOAT), lambda: backflow([(1, 1, 1)], WATER, AFLOAT)])
def test_what_is_no_hose_is_refused(wrong):
    with pytest.raises(AttitudeError):
        wrong()
