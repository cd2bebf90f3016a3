"""Angles of a fall of 1 in N, and of two falls one over the other.

Figures   1:24 2.3859, 1:40 1.4321, 1:50 1.1458, 1:60 0.9548, 1:80 0.7162, 1:100 0.5729 deg (mathematics, to four
          decimals, so half a unit of the last is claimed). A finding's slope is written to six decimals, 3e-5 deg.
Measured  on the floor of the strips that make a gutter: drop over level run, the flattest place of the run.
"""

import math

import pytest

from moldplan.check.floor import falls

ANGLES = {24: 2.3859, 40: 1.4321, 50: 1.1458, 60: 0.9548, 80: 0.7162, 100: 0.5729}
# a drain in the middle of both ends: every run is as long, half an end, a corner, half a side, twice
BOTH_ENDS = {"forward": {"at": "forward", "bore": 19}, "aft": {"at": "aft", "bore": 19}}


@pytest.fixture(scope="module")
def angles(hatch_bits):
    """A function: {run: angle in deg} of a gutter that falls 1 in N."""

    def make(n, **changes):
        spot = hatch_bits({"gutter/fall": f"1:{n}", "gutter/width": 50, "drains": BOTH_ENDS} | changes, "strips")
        return {f.what: math.degrees(math.atan(f.measured)) for f in falls(spot)}

    return make


@pytest.mark.parametrize(("n", "angle"), ANGLES.items())
def test_a_gutter_falls_by_the_printed_angle_on_all_its_runs(angles, n, angle):
    found = angles(n)
    assert len(found) == 4
    assert list(found.values()) == pytest.approx([angle] * 4, abs=5e-5 + 3e-5)


@pytest.mark.parametrize(("gutter", "sole", "turn"), [(50, 80, 0), (50, 80, 180), (100, 24, 0)])
def test_a_sole_that_falls_aft_takes_its_own_angle_from_runs_forward(angles, gutter, sole, turn):
    """Where a side runs fore and aft both falls lie in one upright plane, so that their angles add up: on a sole of
    1:80 a run forward at 1:50 keeps 1.1458 - 0.7162 deg. Runs aft are flattest where they run across: there the
    gutter's own fall is left, by the sole's lean a hair less, 1.1458 cos 0.7162 deg."""
    found = angles(gutter, **{"/soles/sole/fall": f"1:{sole}", "turn": turn})
    uphill = "forward" if turn == 0 else "aft"
    across = ANGLES[gutter] * math.cos(math.radians(ANGLES[sole]))
    for what, angle in found.items():
        want = ANGLES[gutter] - ANGLES[sole] if what.startswith(f"fall to {uphill},") else across
        assert angle == pytest.approx(want, abs=1.3e-4), what  # three figures' last digits


def test_a_sole_that_falls_to_port_adds_its_angle_to_runs_to_port(angles):
    """Drains in the middle of both sides, 1:60 on a sole of 1:100, across: to starboard 0.9548 - 0.5729 deg is left."""
    ends = {"port": {"at": "port", "bore": 19}, "starboard": {"at": "starboard", "bore": 19}}
    found = angles(60, **{"/soles/sole/fall": "1:100", "/soles/sole/towards": "port", "drains": ends})
    for what, angle in found.items():
        want = ANGLES[60] - ANGLES[100] if "to starboard," in what else ANGLES[60]
        assert angle == pytest.approx(want, abs=2e-4), what
