"""A round hatch's frame by Pappus: area of its section times the way of its centroid, once round.

Source    Pappus' second theorem (mathematics). The section is drawn by hand from the sums: landing 28 deep and 25 wide,
          gutter 24 deep and 40 wide with walls of 4 deg, roots 6, edges 3, flange 50; a skin of 1.2 under a coat of
          0.3. Its area and centroid are another library's, of chords under 1e-5 mm off.
"""

import math

import pytest

R, COAT, SKIN, TAN = 200, 0.3, 1.2, math.tan(math.radians(4))
A, B = 28, 52


def section(floor):
    """Area and centroid (out from the opening's edge) of the cured molding where its floor lies so deep."""
    from shapely.geometry import LineString

    corners = [(COAT, -A), (25, -A), (25 + (floor - A) * TAN, -floor), (65 - floor * TAN, -floor), (65, 0), (115, 0)]
    face = [corners[0]]
    for before, corner, after, radius in zip(corners[:-2], corners[1:-1], corners[2:], (3, 6, 6, 3), strict=True):
        face += rounding(before, corner, after, radius)
    face.append(corners[-1])
    # the part lies to the right of the way out, from one coat to a coat and a skin under its finished face
    shape = LineString(face).offset_curve(-(COAT + SKIN / 2), quad_segs=64).buffer(SKIN / 2, cap_style="flat")
    return shape.area, shape.centroid.x


def rounding(before, corner, after, radius, chords=400):
    """Points of a circle that touches both legs of a corner."""
    legs = []
    for end in (before, after):
        x, y = end[0] - corner[0], end[1] - corner[1]
        legs.append((x / math.hypot(x, y), y / math.hypot(x, y)))
    (ax, ay), (bx, by) = legs
    half = math.acos(ax * bx + ay * by) / 2
    mid = math.hypot(ax + bx, ay + by)
    far = radius / math.sin(half)
    centre = (corner[0] + far * (ax + bx) / mid, corner[1] + far * (ay + by) / mid)
    reach = radius / math.tan(half)
    start, end = (math.atan2(corner[1] + reach * y - centre[1], corner[0] + reach * x - centre[0]) for x, y in legs)
    turn = (end - start + math.pi) % (2 * math.pi) - math.pi
    return [(centre[0] + radius * math.cos(start + turn * k / chords),
             centre[1] + radius * math.sin(start + turn * k / chords)) for k in range(chords + 1)]


def once_round(floor):
    area, out = section(floor)
    return 2 * math.pi * (R + out) * area


@pytest.fixture(scope="module")
def frame(hatch_bits):
    def make(fall):
        return hatch_bits({"clear_opening": [2 * R, 2 * R], "corner_radius": R, "gutter/fall": fall},
                          "frame").molding.solid

    return make


def test_a_level_gutter(frame):
    made = frame("0 %")
    assert made.isValid()
    assert made.Volume() == pytest.approx(once_round(B), rel=1e-6)


def test_a_gutter_that_falls(frame):
    """To drains in both aft corners, a quarter apart: the longer run is three eighths of the way, on the middle of the
    gutter. Each run falls evenly from B to C, so the whole is the mean over that depth, by Simpson's rule."""
    c = B + 2 * math.pi * (R + 45) * 3 / 8 / 50
    made = frame("1:50")
    assert made.isValid()
    mean = (once_round(B) + 4 * once_round((B + c) / 2) + once_round(c)) / 6
    assert made.Volume() == pytest.approx(mean, rel=1e-6)
