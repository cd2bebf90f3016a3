"""The way out through the lid's opening: straight against plan sums, tilted against the kernel's own distances."""

import math

import numpy as np
import pytest

from moldplan.check.gap import least
from moldplan.check.lift import lift_out, shadow_points, straight
from moldplan.check.outline import inside
from moldplan.check.retrace import exact_edge, placing, sheet
from moldplan.check.tilt import search

ASIDE = {"clear_opening": [200, 200], "centre": [480, 200], "corner_radius": 30}
OVER_THE_VALVE = {"clear_opening": [250, 200], "centre": [400, 200], "corner_radius": 30}


def test_straight_up_in_the_middle(seat, in_locker):
    spot = seat(in_locker(lid={"clear_opening": [160, 140], "corner_radius": 20}))
    found = straight(spot, spot.room.opening)
    assert found.gap == pytest.approx(70 - 50, abs=1e-9)
    assert found.tolerance == 0


def test_half_the_tolerance_is_taken_off(seat, in_locker):
    spot = seat({**in_locker(lid={"clear_opening": [160, 140]}), "cylinders/b/diameter": "100 ± 4"})
    (found,) = lift_out(spot)
    assert found.measured == pytest.approx(20 - 2)


def test_without_a_lid_it_is_not_judged(seat, in_locker):
    changes = in_locker()
    changes["lockers"]["l"]["lid"] = None
    (found,) = lift_out(seat(changes))
    assert found.verdict == "not judged"


def test_the_shadow_of_a_lying_bottle_is_its_length_and_width(rack, in_locker):
    spot = rack(in_locker((600, 400, 400), {"clear_opening": [500, 300], "corner_radius": 0}))
    points = shadow_points(spot.solids)
    assert np.ptp(points[:, 0]) == pytest.approx(360, abs=0.1)
    assert np.ptp(points[:, 1]) == pytest.approx(100, abs=0.1)
    found = straight(spot, spot.room.opening)
    (x, y), half = spot.room.opening.centre, (250, 150)
    expected = min(half[0] - np.abs(points[:, 0] - x).max(), half[1] - np.abs(points[:, 1] - y).max())
    assert found.gap == pytest.approx(expected, abs=1e-6)


def test_an_opening_narrower_than_the_cylinder_is_a_proof(seat, in_locker):
    (found,) = lift_out(seat(in_locker(lid={"clear_opening": [200, 96]})))
    assert found.verdict == "fails"
    assert found.measured == pytest.approx(48 - 50)
    assert "no tilt can" in found.note


def held_clear(spot, way, path, need):
    """Least exact distance to the lid's sheet over every pose of a path, and that it really leaves."""
    e = {"fore and aft": (1.0, 0.0, 0.0), "valve up": (1.0, 0.0, 0.0)}[way]
    gaps = [exact_edge(spot, e, pose, spot.room.opening) for pose in path]
    turn, move = placing(spot, e, path[-1])
    points = np.vstack([np.array(v.toTuple()) for s in spot.solids for v in (v.Center() for v in s.Vertices())])
    placed = (points - np.array(spot.stand.frame.origin)) @ turn.T + move
    return min(gaps) >= need, placed[:, 2].min() > spot.room.opening.underside


def test_a_cylinder_beside_the_opening_is_raised_and_moved_over(seat, in_locker):
    spot = seat(in_locker((600, 400, 400), ASIDE, cradles__k__at=[20, 100]))
    way = search(spot, spot.room, spot.room.opening, need=5)
    assert way.path
    assert way.most_tilt == 0
    clear, out = held_clear(spot, way.towards, way.path, 5)
    assert clear and out
    (found,) = lift_out(spot)
    assert found.verdict != "fails"
    assert "straight up: -310" in found.note  # 480 - 120 to the opening's middle, less 100, plus 50


def test_a_lying_bottle_is_tilted_out(rack, in_locker):
    spot = rack(in_locker((600, 400, 300), OVER_THE_VALVE, cradles__k__at=[50, 75]))
    way = search(spot, spot.room, spot.room.opening, need=5)
    assert way.path
    assert way.most_tilt > 10
    assert way.looked >= 10 * (len(way.path) - 1)
    clear, out = held_clear(spot, way.towards, way.path, 5)
    assert clear and out
    steps = [max(abs(a - b) / s for a, b, s in zip(p, q, (10, 40, 5), strict=True))
             for p, q in zip(way.path, way.path[1:], strict=False)]
    assert max(steps) <= 1.0001


def test_what_cannot_be_found_is_called_not_found(rack, in_locker):
    spot = rack(in_locker((600, 400, 160), {"clear_opening": [130, 130], "centre": [400, 200]},
                          cradles__k__at=[50, 75]))
    way = search(spot, spot.room, spot.room.opening, need=5)
    assert not way.path
    assert "no way found" in way.why
    (found,) = lift_out(spot)
    assert found.verdict == "fails"
    assert "cannot" not in found.note


def test_the_sheet_round_the_opening_has_the_openings_outline(seat, in_locker):
    spot = seat(in_locker(lid={"clear_opening": [160, 140], "corner_radius": 20}))
    hole = sheet(spot.room.opening).innerWires()[0]
    assert hole.Length() == pytest.approx(2 * (120 + 100) + 2 * math.pi * 20)
    on = np.array([hole.positionAt(k / 50).toTuple()[:2] for k in range(50)])
    assert np.abs(inside(spot.room.opening, on)).max() < 1e-6


def test_where_it_stands_a_pose_is_the_stand_itself(rack, in_locker):
    spot = rack(in_locker((600, 400, 300), OVER_THE_VALVE, cradles__k__at=[50, 75]))
    turn, move = placing(spot, (1.0, 0.0, 0.0), (0.0, 0.0, 90.0))
    assert turn == pytest.approx(np.eye(3), abs=1e-12)
    assert move == pytest.approx(np.array(spot.stand.frame.origin))
    direct = min(least(s, sheet(spot.room.opening)).size for s in spot.solids)
    assert exact_edge(spot, (1.0, 0.0, 0.0), (0.0, 0.0, 90.0), spot.room.opening) == pytest.approx(direct, abs=1e-9)
