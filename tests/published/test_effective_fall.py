"""Falls of built-in slopes under heel and trim: worked rows, agreed by three independent routes (closed form, rotation
matrices on end points, quaternions) before they were written down; mathematics, no document.

Rows      built-in fall s per unit of plan run; bearing of the downhill end from forward towards port; heel; trim.
Also      the least built-in slopes that leave 1:100 through a box, tilted planes, the pond of a reversed gutter.
"""

import math

import pytest

from moldplan.attitude import Attitude, AttitudeBox, fall_along, plane_fall
from moldplan.check.fall_box import least_built_in_slope, pond_of_reversed_run

# id, s, bearing, heel, trim, effective fall deg, slope
ROWS = [
    ("HT-01", 0.02, 180, 0, 0, 1.1458, 0.02000), ("HT-02", 0.02, 180, 0, -1, 0.1458, 0.00254),
    ("HT-03", 0.02, 180, 0, 1, 2.1458, 0.03747), ("HT-04", 0.02, 180, 0, -2, -0.8542, -0.01491),
    ("HT-05", 0.02, 90, 10, 0, -8.8542, -0.15578), ("HT-06", 0.02, -90, 10, 0, 11.1458, 0.19702),
    ("HT-07", 0.02, 180, 30, 0, 0.9922, 0.01732), ("HT-08", 0.02, 135, 15, 2, -7.9836, -0.14025),
    ("HT-09", 0.02, -135, 15, 2, 13.1111, 0.23291), ("HT-10", 0, -45, 10, -5, 10.5999, 0.18714),
    ("HT-11", 1 / 48, 90, 1, 0, 0.1935, 0.00338), ("HT-12", 0.0875, 90, 5, 0, 0.0006, 0.00001),
    ("HT-13", 0.30, 90, 10, 1, 6.6982, 0.11744), ("HT-14", 0.02, 0, 0, -2, 3.1458, 0.05496),
]
OTHER_ORDER = {"HT-08": -8.0387, "HT-09": 13.0682, "HT-10": 10.5725, "HT-13": 6.6968}


def run(s, bearing):
    """A run's way down in boat axes for a drop s over plan run, its downhill end at a bearing."""
    b = math.radians(bearing)
    return math.cos(b), math.sin(b), -s


@pytest.mark.parametrize("row", ROWS, ids=[r[0] for r in ROWS])
def test_a_built_in_slope_falls_by_so_much_when_the_boat_heels_and_trims(row):
    _, s, bearing, heel, trim, fall, slope = row
    found = fall_along(run(s, bearing), Attitude(heel, trim))
    assert found == pytest.approx(fall, abs=6e-5)
    assert math.tan(math.radians(found)) == pytest.approx(slope, abs=6e-6)


@pytest.mark.parametrize("row", [r for r in ROWS if r[0] in OTHER_ORDER], ids=sorted(OTHER_ORDER))
def test_the_order_is_heel_first_and_not_the_other(row):
    name, s, bearing, heel, trim, *_ = row
    assert abs(fall_along(run(s, bearing), Attitude(heel, trim)) - OTHER_ORDER[name]) > 1e-3


@pytest.mark.parametrize(("bearing", "heel", "trim", "slope"), [
    (180, (0, 0), (-1, 1), 0.027460), (180, (-5, 5), (-2, 2), 0.045108),
    (90, (-2, 2), (0, 0), 0.044936), (135, (-2, 2), (-1, 1), 0.047061)])
def test_the_least_built_in_slope_that_leaves_1_in_100_through_the_box(bearing, heel, trim, slope):
    fall = math.degrees(math.atan(0.01))
    assert least_built_in_slope(bearing, AttitudeBox(heel=heel, trim=trim), fall=fall) == pytest.approx(slope, abs=6e-7)


@pytest.mark.parametrize(("name", "sx", "sy", "heel", "trim", "tilt", "bearing"), [
    ("HP-1", 0, 0, 10, 0, 10.000, -90), ("HP-2", -0.02, 0, 0, 0, 1.1458, 180),
    ("HP-3", -0.02, 0, 5, 1, 5.4407, -113.205), ("HP-4", 0.02, 0.01, -3, -1, 4.1675, 59.026)])
def test_a_flat_sole_falls_so_steeply_and_that_way(name, sx, sy, heel, trim, tilt, bearing):
    """A sole z = -(sx x + sy y) has the normal (sx, sy, 1)."""
    found = plane_fall((sx, sy, 1), Attitude(heel, trim))
    assert found == pytest.approx((tilt, bearing), abs=6e-4)


@pytest.mark.parametrize(("fall", "length", "depth"), [(-0.8542, 1200, 17.89), (-2.0, 1200, 41.90)])
def test_a_reversed_gutter_holds_water_at_its_blind_end(fall, length, depth):
    """HT-04 over 1.2 m, and a level gutter at 2 deg the wrong way."""
    assert pond_of_reversed_run(length, fall) == pytest.approx(depth, abs=6e-3)
