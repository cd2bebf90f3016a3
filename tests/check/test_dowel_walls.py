"""Material round dowel holes: plain distances in bodies whose sizes are chosen here."""

import math

import pytest

from moldplan.check.dowel_walls import dowel_walls
from moldplan.shape.assembly import Assembly
from moldplan.shape.body import Body, Frame, Shaped, block, rod
from moldplan.spec.model import Spec

PLACE = Frame((310.0, -45.0, 120.0), (0.6, 0.8, 0.0), (-0.64, 0.48, 0.6))  # somewhere, leaning
SPEC = Spec.model_validate({"moldplan": 1, "title": "t", "cylinders": {"b": {"diameter": 100, "height": 200}},
                            "cradles": {"k": {"block": [200, 200, 60], "seats": {"b": {
                                "depth": 36, "clearance_per_side": 4}}}}})


def hole(x, y, low=-1.0, high=21.0):
    return rod(4, (x, y, low), (0, 0, high - low), "dowel hole")


def judged(*tools, mirrored=False):
    """The finding of a sheet of 100 x 60 x 20 mm less some tools."""
    body = Body(name="lift 1", kind="lift", shaped=block(100, 60, 20).cut(*tools).moved(PLACE), part="k",
                path=("cradles", "k"), frame=PLACE)
    if mirrored:
        body = body.mirrored(name="lift 1", hand="port")
    found, = dowel_walls(Assembly(bodies={"lift 1": body}, stands=()), SPEC)
    return found


@pytest.mark.parametrize(("tools", "left"), [
    ([hole(50, 12)], 8),  # to the side
    ([hole(50, 30, high=16)], 4),  # blind, to the face it does not reach
    ([hole(50, 30), hole(50, 43)], 5),  # two in a row
    ([hole(50, 30), block(10, 20, 8).moved(Frame((57, 20, 6)))], 3),  # a pocket inside, whose floor is no joint
    ([hole(10, 10)], 6),
    ([hole(50, 3)], 0),  # out through the side
    ([hole(50, 30), rod(6, (50, -5, 10), (0, 28, 0), "limber")], 3),  # in front of a limber's end
    ([hole(50, 30), rod(6, (0, 36, 10), (200, 0, 0), "limber")], 0),  # into a limber
])  # fmt: skip
@pytest.mark.parametrize("mirrored", [False, True])
def test_the_least_beside_a_hole_is_measured(tools, left, mirrored):
    found = judged(*tools, mirrored=mirrored)
    assert found.measured == pytest.approx(left, abs=1e-6)
    assert (found.verdict == "fails") == (left < 3)


def test_a_slope_over_a_blind_hole_is_measured_square_to_it():
    # a plane that falls 45 deg towards x, through x = 46 at the upper face: x + z = 66
    slope = block(200, 200, 200).moved(Frame((46, -50, 20), (1 / math.sqrt(2), 0, -1 / math.sqrt(2)),
                                             (1 / math.sqrt(2), 0, 1 / math.sqrt(2))))
    found = judged(hole(44, 30, high=10), slope)
    assert found.measured == pytest.approx((66 - (44 + 4) - 10) / math.sqrt(2), abs=1e-6)


def test_a_hole_far_from_all_is_told_as_such_and_without_holes_there_is_nothing():
    assert "12 mm or more" in judged(hole(50, 30)).note
    bare = Body(name="lift 1", kind="lift", shaped=Shaped(block(100, 60, 20).solid), part="k", path=(), frame=Frame())
    assert dowel_walls(Assembly(bodies={"lift 1": bare}, stands=()), SPEC) == ()
