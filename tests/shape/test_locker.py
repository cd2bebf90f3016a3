"""Lockers: sloping soles against plain trigonometry, twins on the other side."""

import math

import pytest

from moldplan.shape.locker import sole_frame, sole_height
from moldplan.spec.model import Locker

BOX = {"from": [0, 100, -200], "to": [600, 700, 400]}


@pytest.mark.parametrize(("towards", "low", "high"), [
    ("aft", (0, 400), (600, 400)), ("forward", (600, 400), (0, 400)),
    ("port", (300, 700), (300, 100)), ("starboard", (300, 100), (300, 700))])
def test_the_sole_is_lowest_on_the_side_it_falls_to(towards, low, high):
    frame = sole_frame(Locker.model_validate({"box": BOX, "sole": {"fall": "1:40", "towards": towards}}))
    assert sole_height(frame, *low) == pytest.approx(-200)
    assert sole_height(frame, *high) == pytest.approx(-200 + 600 / 40)
    assert math.degrees(math.acos(frame.z[2])) == pytest.approx(1.4321, abs=5e-5)  # 1:40, plain trigonometry


def test_a_level_block_is_wedged_to_the_sole(shaped):
    locker = {"box": BOX, "sole": {"fall": "1:40", "towards": "aft"}}
    _, made = shaped(cradle={"locker": "l"}, lockers={"l": locker})
    core = made.body("block core")
    under = core.faces("underside")
    assert any(math.degrees(math.acos(abs(f.normalAt().z))) == pytest.approx(1.4321, abs=1e-3) for f in under)
    assert made.stands[0].frame.z == pytest.approx((0, 0, 1))
    _, flat = shaped()
    # the wedge taken away: half a box, 400 wide, 400/40 high at its forward end; two dowel holes 8 across go through
    # the level lift of 20, and 10 deep into the wedge
    assert flat.body("block lift 1").solid.Volume() - made.body("block lift 1").solid.Volume() == pytest.approx(
        400 * 400 * 10 / 2 - 2 * math.pi * 4**2 * (20 - 10), rel=1e-9)


def test_a_block_with_the_sole_leans_and_says_by_how_much(shaped):
    locker = {"box": BOX, "sole": {"fall": "1:40", "towards": "aft"}}
    _, made = shaped(cradle={"locker": "l", "sits": "with the sole"}, lockers={"l": locker})
    assert math.degrees(math.acos(made.stands[0].frame.z[2])) == pytest.approx(1.4321, abs=5e-5)
    assert made.cautions == ("block.gas leans with the sole by 1.4 deg: 11 mm at its top",)


def test_both_hands_make_a_mirrored_twin_in_a_twin_locker(shaped):
    locker = {"box": BOX, "lid": {"clear_opening": [400, 400]}}
    _, made = shaped(cradle={"locker": "l", "hand": "both"}, lockers={"l": locker})
    port, starboard = made.body("block part (port)"), made.body("block part (starboard)")
    a, b = port.solid.Center(), starboard.solid.Center()
    assert (a.x, a.y, a.z) == pytest.approx((b.x, -b.y, b.z))
    assert port.solid.Volume() == pytest.approx(starboard.solid.Volume(), rel=1e-9)
    assert made.rooms["l (starboard)"].high[1] == -100
    assert [s.room for s in made.stands] == ["l", "l (starboard)"]
