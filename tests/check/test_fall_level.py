"""Levels that cure a hose, against linear programming (SciPy) and dense sampling, re-measured."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.attitude import AttitudeBox, AttitudeError
from moldplan.check.fall_level import inboard, needed_drops, relevels, shortfall

AFLOAT = AttitudeBox(heel=(-12, 12), trim=(-2, 4))
coordinate = st.floats(-400, 400)
hoses = st.lists(st.tuples(coordinate, coordinate, coordinate), min_size=2, max_size=6).filter(
    lambda ps: all(math.dist(a[:2], b[:2]) > 20 for a, b in zip(ps, ps[1:], strict=False)))


def sampled_falls(points, n=31):
    """Least fall [deg] of any leg over a grid of the box."""
    h, t = (np.radians(a).ravel() for a in np.meshgrid(np.linspace(-12, 12, n), np.linspace(-2, 4, n)))
    u = np.stack([np.sin(t), np.cos(t) * np.sin(h), np.cos(t) * np.cos(h)], -1)
    d = np.diff(np.array(points), axis=0)
    return np.degrees(np.arcsin((-(u @ d.T) / np.linalg.norm(d, axis=1)).min()))


def least_moves(points, needs, fixed):
    """Least sum of |change of height| by linear programming, with some points kept."""
    from scipy.optimize import linprog

    n, z = len(points), np.array([p[2] for p in points])
    rows, rhs = [], []
    for k, need in enumerate(needs):  # z_k + m_k - z_k+1 - m_k+1 >= need, with m = up - down
        row = np.zeros(2 * n)
        row[[k, n + k + 1]], row[[k + 1, n + k]] = -1, 1
        rows.append(row)
        rhs.append(z[k] - z[k + 1] - need)
    bounds = [(0, 0) if k % n in fixed else (0, None) for k in range(2 * n)]
    return linprog(np.ones(2 * n), A_ub=np.array(rows), b_ub=rhs, bounds=bounds)


@given(hoses, st.floats(0, 2))
@settings(max_examples=20, deadline=None)
def test_every_way_offered_falls_all_over_the_box(points, fall):
    for way in relevels(points, AFLOAT, fall=fall):
        assert sampled_falls(way.points) >= fall - 1e-6
        assert [p[:2] for p in way.points] == [tuple(p[:2]) for p in points]
        assert way.moves and all(way.points[k][2] == pytest.approx(points[k][2] + c) for k, c in way.moves)


@given(hoses)
@settings(max_examples=15, deadline=None)
def test_no_way_could_move_less(points):
    """Raising and lowering one way each, and the ends kept, against a linear program of the same needs."""
    needs = needed_drops(points, AFLOAT, fall=0.5)
    n = len(points)
    for way in relevels(points, AFLOAT, fall=0.5):
        fixed = {"raised towards the drain": {n - 1}, "lowered towards the outlet": {0}}.get(way.way, {0, n - 1})
        program = least_moves(points, needs, fixed)
        if way.way == "points between alone":
            assert way.total == pytest.approx(program.fun, abs=1e-6)
        else:  # one way only is dearer than both ways, never cheaper; and each change is needed
            assert way.total >= program.fun - 1e-6
            for k, change in way.moves:
                eased = [list(p) for p in way.points]
                eased[k][2] -= 0.02 * change
                assert min(a[2] - b[2] - need for a, b, need in zip(eased, eased[1:], needs, strict=False)) < 0


def test_a_middle_point_too_low_is_lifted_alone():
    """Two runs of 300 mm aft at trim down to -2 deg need 300 tan 2 each, 10.476; the ends drop 100."""
    hose = ((600, 0, 0), (300, 0, -120), (0, 0, -100))
    least = relevels(hose, AttitudeBox(heel=(0, 0), trim=(-2, 2)))[0]
    need = 300 * math.tan(math.radians(2))
    assert least.moves == ((1, pytest.approx(20 + need)),)
    assert shortfall(hose, AttitudeBox(heel=(0, 0), trim=(-2, 2))) == pytest.approx(2 * need - 100)


def test_where_the_drop_is_short_an_end_must_move_and_it_is_said_which():
    ways = {way.way: way for way in relevels(((300, 0, 0), (0, 0, -5)), AttitudeBox(heel=(0, 0), trim=(-2, 2)))}
    short = 300 * math.tan(math.radians(2)) - 5
    assert ways["raised towards the drain"].moves == ((0, pytest.approx(short)),)
    assert ways["lowered towards the outlet"].moves == ((1, pytest.approx(-short)),)
    assert "points between alone" not in ways


def test_nothing_is_proposed_where_every_leg_falls():
    assert relevels(((0, 0, 0), (-100, 0, -60), (-100, 100, -120)), AFLOAT) == ()


def test_an_outlet_comes_inboard_until_its_leg_falls():
    """A last leg of 400 to port drops 50: at 12 deg it may be 50 / tan 12 = 235.2 mm long."""
    box = AttitudeBox(heel=(-12, 12), trim=(0, 0))
    assert inboard(((0, 0, 0), (0, 400, -50)), box) == pytest.approx(400 - 50 / math.tan(math.radians(12)))
    assert inboard(((0, 0, 0), (0, 200, -50)), box) == 0.0
    assert inboard(((0, 0, 0), (0, 200, 5)), box) is None


def test_one_point_is_no_hose():
    with pytest.raises(AttitudeError):
        needed_drops([(0, 0, 0)], AFLOAT)
