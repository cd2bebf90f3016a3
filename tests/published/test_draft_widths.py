"""How much a drafted wall widens: per side h tan a, and the mouth of a conical recess d + 2 h tan a.

Source    trigonometry (mathematics); worked by two independent routes that agreed, printed to three or four decimals,
          so half a unit of the last is claimed. Measured on the cured part's wall from floor to rim, without paint.
"""

import pytest


@pytest.fixture
def floor_and_mouth(circles):
    """A function: diameters of a seat's wall at its lower and its upper edge, which must lie its depth apart [mm]."""

    def measure(made, depth):
        walls = made.part.faces("bottle wall")
        low = min(v.Z for face in walls for v in face.Vertices())
        assert made.top - low == pytest.approx(depth, abs=1e-6)
        return 2 * min(circles(walls, low)), 2 * max(circles(walls, made.top))

    return measure


@pytest.mark.parametrize(
    ("height", "draft", "widening"),
    [(150, 1, 2.6183), (150, 2, 5.2381), (150, 3, 7.8612), (300, 3, 15.7223), (25, 3, 1.3102)],
)
def test_a_wall_widens_as_printed(seat_of, floor_and_mouth, height, draft, widening):
    made = seat_of(diameter=171, clearance=3, depth=height, draft=draft)
    floor, mouth = floor_and_mouth(made, height)
    assert floor == pytest.approx(177, abs=1e-6)
    assert (mouth - floor) / 2 == pytest.approx(widening, abs=5e-5)


@pytest.mark.parametrize(("diameter", "height", "mouth"), [(175, 120, 187.578), (177, 100, 187.482)])
def test_the_mouth_of_a_recess_is_as_wide_as_printed(seat_of, floor_and_mouth, diameter, height, mouth):
    made = seat_of(diameter=diameter - 4, clearance=2, depth=height, draft=3)
    assert floor_and_mouth(made, height)[1] == pytest.approx(mouth, abs=5e-4)


def test_to_seven_digits(seat_of, floor_and_mouth):
    made = seat_of(diameter=171, clearance=2, depth=120, draft=3)
    assert floor_and_mouth(made, 120)[1] == pytest.approx(187.577867, rel=1e-7)
