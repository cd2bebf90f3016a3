"""Lengths and areas of closed rounded rectangles: 2 (a + b - 4 r) + 2 pi r round one, a b - (4 - pi) r2 within.

Source    plane geometry (mathematics). Measured on the flat and upright faces of a frame, a gasket and a mold's block.
Worked    in 30 digits on two routes (also as a cross of two rectangles and a disc), for an opening of 500 x 400 with
          corners of 40 and a face so far outside it:
              outside     sizes              corner    round        within
              0.3         500.6 x 400.6      40.3      1733.2124    199146.2292
              115         730 x 630          155       2453.8937    439276.7635
"""

import math

import pytest

ROUND = {0.3: 1733.2124, 115: 2453.8937}
WITHIN = {0.3: 199146.2292, 115: 439276.7635}


def round_it(off):
    return 2 * (500 + 400 - 4 * 40) + 2 * math.pi * (40 + off)


def within(off):
    return (500 + 2 * off) * (400 + 2 * off) - (4 - math.pi) * (40 + off) ** 2


@pytest.fixture(scope="module")
def spot(hatch_spot):
    return hatch_spot()


def area(faces):
    return sum(face.Area() for face in faces)


@pytest.mark.parametrize("off", ROUND)
def test_the_worked_figures_follow_from_the_closed_forms(off):
    assert round_it(off) == pytest.approx(ROUND[off], abs=5e-5)
    assert within(off) == pytest.approx(WITHIN[off], abs=5e-5)


def test_the_frames_edges_are_as_long_as_worked(spot):
    """Upright bands as high as the skin is thick."""
    assert area(spot.molding.faces("flange edge")) / 1.2 == pytest.approx(ROUND[115], rel=1e-6)
    assert area(spot.molding.faces("opening edge")) / 1.2 == pytest.approx(ROUND[0.3], rel=1e-6)


def test_the_landings_and_the_gaskets_faces_are_what_lies_between_two_of_them(spot):
    ends = [round(math.hypot(v.X, v.Y), 9) for f in spot.molding.faces("landing") for v in f.Vertices()]
    assert min(ends) > 200  # a ring: nothing of it in the opening
    # flat up to where the rounding of the bare edge begins: 3 tan 43 deg inside the wall, 25 outside the opening
    flat = 25 - 3 * math.tan(math.radians(43))
    assert area(spot.molding.faces("landing")) == pytest.approx(within(flat) - WITHIN[0.3], rel=1e-6)
    gasket = spot.assembly.body(spot.place.gasket)
    off = gasket.solid.BoundingBox(1e-6).xmax - 250
    for role in ("top", "underside"):
        assert area(gasket.faces(role)) == pytest.approx(within(off) - within(off - 15), rel=1e-5)


def test_the_block_under_the_landing_is_one_of_them(spot):
    """Between the strips: its bare side stands a coat, square to the wall of 4 deg, inside the landing's edge."""
    (face,) = spot.assembly.body("sole.hatch centre block").faces("molding landing")
    assert face.Area() == pytest.approx(within(25 - 0.3 * math.tan(math.radians(43))), rel=1e-6)
