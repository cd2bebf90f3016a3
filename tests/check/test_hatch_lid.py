"""A lid's mass, its centre and its close-out: areas times thicknesses times densities, added up by hand.

The hatch of tests/conftest.py: lid 22 finished, edge of 6 deg, 62 outside an opening of 500 x 400 with corners of 40;
skin 1.2 of half glass (2.56) and half resin (1.20 g/cm3) by mass; core of foam, 80 kg/m3, 30 back at its underside and
tapered by 30 deg; what lies between core and edge is filled (700 kg/m3, ours).
"""

import math
from dataclasses import replace

import pytest

from moldplan.check import lid_weight

SKIN, PAINT = 1.2, 0.3
LAMINATE = 1 / (0.5 / 2560 + 0.5 / 1200)  # kg/m3, without voids
FOAM, FILL = 80, 700  # kg/m3


def area(length, width, radius):
    """A rounded rectangle: the whole less its corners."""
    return length * width - (4 - math.pi) * radius**2


def lap(length, width, radius):
    return 2 * (length + width - 4 * radius) + 2 * math.pi * radius


class Plate:
    """Between two levels, rounded rectangles round 420 x 320 (the opening less its corners) with radii low and high:
    straights are planes, corners cones."""

    def __init__(self, low, high, thick):
        self.low, self.high, self.thick = low, high, thick

    @staticmethod
    def at(radius):
        return area(420 + 2 * radius, 320 + 2 * radius, radius)

    @property
    def volume(self):
        """Simpson's rule, exact: the area is a square of the level."""
        return self.thick / 6 * (self.at(self.low) + 4 * self.at((self.low + self.high) / 2) + self.at(self.high))

    @property
    def middle(self):
        """Level of the centre over the lower face; the moment is a cubic, exact by Simpson's rule too."""
        half = self.at((self.low + self.high) / 2)
        return self.thick / 6 * (4 * half * self.thick / 2 + self.at(self.high) * self.thick) / self.volume

    @property
    def side(self):
        """Slant height, times the straights and the middle of both rings of corners."""
        return math.hypot(self.thick, self.high - self.low) * (2 * (420 + 320) + math.pi * (self.low + self.high))

    @property
    def surface(self):
        return self.at(self.low) + self.at(self.high) + self.side

    @property
    def surface_middle(self):
        mean = math.pi * (self.low + self.high)  # corners' ring at half height; the wider end weighs more
        straight, slant = 2 * (420 + 320), math.hypot(self.thick, self.high - self.low)
        moment = straight * self.thick / 2 + mean * self.thick / 2 + math.pi * (self.high - self.low) * self.thick / 6
        return (self.at(self.high) * self.thick + slant * moment) / self.surface


THICK = 22 - 2 * PAINT
SLANT, COAT = math.tan(math.radians(6)), PAINT / math.cos(math.radians(6))
# radii of the bare corners: 40 + 62 at the finished top, less the coat, less what the edge has receded
PART = Plate(102 - COAT - (22 - PAINT) * SLANT, 102 - COAT - PAINT * SLANT, THICK)
CORE_THICK = THICK - 2 * SKIN
CORE = Plate(PART.low - 30, PART.low - 30 - CORE_THICK / math.tan(math.radians(30)), CORE_THICK)
CORE_MASS = CORE.volume * FOAM * 1e-9
SKIN_MASS = PART.surface * SKIN * LAMINATE * 1e-9
FILL_MASS = (PART.volume - CORE.volume - PART.surface * SKIN) * FILL * 1e-9


@pytest.fixture(scope="module")
def spot(hatch_spot):
    return hatch_spot()


def test_the_mass_is_core_skins_and_fill(spot):
    made = lid_weight.lid_mass(spot)
    assert made.core == pytest.approx(CORE_MASS, rel=1e-4)
    assert made.skins == pytest.approx(SKIN_MASS, rel=1e-4)
    assert made.fill == pytest.approx(FILL_MASS, rel=2e-4)
    assert made.whole == pytest.approx(CORE_MASS + SKIN_MASS + FILL_MASS, rel=1e-4)


def test_the_centre_is_that_of_its_parts(spot):
    x, y, z = lid_weight.lid_mass(spot).centre
    low = -22 + PAINT
    moment = (CORE_MASS * (low + SKIN + CORE.middle) + SKIN_MASS * (low + PART.surface_middle)
              + FILL_MASS * (low + PART.middle))
    assert (x, y) == pytest.approx((0, 0), abs=1e-3)
    assert z == pytest.approx(moment / (CORE_MASS + SKIN_MASS + FILL_MASS), abs=5e-3)


def test_one_hand_lifts_its_mass(spot):
    """8 kg: common practice, no source."""
    found = lid_weight.one_hand(spot)
    assert found.measured == pytest.approx(CORE_MASS + SKIN_MASS + FILL_MASS, rel=1e-4)
    assert (found.limit, found.verdict, found.source.how_read) == (8, "holds", "practice")


@pytest.mark.parametrize(("density", "whole", "fails"), [(1280, 7.920, False), (1320, 8.089, True)])
def test_a_lid_too_heavy_for_one_hand_fails(spot, density, whole, fails):
    """The same lid with a heavier core: 4.2157 dm3 of it, and skins of 1.3243 and fill of 1.1998 kg."""
    core = replace(spot.assembly.body(spot.place.lid_core), density=density)
    bodies = {**spot.assembly.bodies, spot.place.lid_core: core}
    found = lid_weight.one_hand(replace(spot, assembly=replace(spot.assembly, bodies=bodies)))
    assert found.measured == pytest.approx(whole, abs=1e-3)
    assert (found.verdict == "fails") is fails


def test_the_core_stays_back_from_the_edge_by_what_was_asked_and_the_edges_lean_over_one_skin(spot):
    found = lid_weight.close_out(spot)
    assert found.measured == pytest.approx(30 + SKIN * SLANT, abs=1e-5)
    assert (found.limit, found.verdict, found.source.how_read) == (25, "holds", "practice")
    # 19 of core at 30 deg
    assert f"tapers over {CORE_THICK / math.tan(math.radians(30)):.1f} mm at 30 deg" in found.note
