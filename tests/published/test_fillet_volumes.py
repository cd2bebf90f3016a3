"""What fills a hollow right-angled corner rounded by r: (1 - pi / 4) r2 for its length.

Figures   r 10 mm 21.46, 12 mm 30.90, 20 mm 85.84, 25 mm 134.13 mL for a metre (mathematics; half a unit of the last
          digit is claimed).
Measured  on the strips of a gutter with upright walls: what the rounding of its two roots takes off a square strip.
"""

import math

import pytest

from moldplan.shape.mold import medium_volume
from moldplan.shape.seat import Build

BARE = Build(skin=1.2, skin_tolerance=0, lap=0, paint=0, paint_tolerance=0, in_mold=0, in_mold_tolerance=0,
             cut_tolerance=0, origin="")  # fmt: skip
ROWS = {10: 21.46, 12: 30.90, 20: 85.84, 25: 134.13}


@pytest.fixture(scope="module")
def upright(hatch_bits):
    """A function: a hatch without paint whose gutter has upright walls and roots rounded by r."""

    def make(r):
        return hatch_bits({"/coats/paint": 0, "gutter": {"width": 80, "depth": 60, "fall": "0 %", "draft": 0,
                                                         "root_radius": r}}, "strips")

    return make


@pytest.fixture(scope="module")
def strip(upright):
    """A function: volume [mm3] of the straight strip on the port side, 420 mm long."""
    return lambda r: upright(r).assembly.body("sole.hatch port side").solid.Volume()


@pytest.fixture(scope="module")
def square(strip):
    return strip(0)


@pytest.mark.parametrize(("r", "each_metre"), ROWS.items())
def test_two_roots_are_filled_with_the_printed_volume(strip, square, r, each_metre):
    assert (square - strip(r)) / 2 / 420 == pytest.approx(each_metre, abs=5e-3)


def test_a_molds_own_corners_take_as_much_for_their_radius_and_length(upright):
    """Rim and landing's edge, both rounded by 3: the printed 10 mm figure times 0.3 squared, for two rounded
    rectangles: 105 outside the opening of 500 x 400 with corners of 40, and 25 outside it."""
    place = upright(6).place
    long = sum(2 * (500 + 400 - 4 * 40) + 2 * math.pi * (40 + off) for off in (25 + 80, 25))  # mm
    found = medium_volume(place.hatch, place.levels, BARE, start=place.start)
    assert found == pytest.approx(21.46 * 0.3**2 * long / 1000, rel=3e-4)
