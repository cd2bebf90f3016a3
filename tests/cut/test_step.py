"""Steps of lifts of free shapes against closed forms: r(z) of a cone and a sphere, walls of a stated draft.

The larger outline is cut of a piece, the smaller of an opening; the other is marked. Numbers are plane geometry; where
they are read off chords of 0.004 mm, by that much.
"""

import math
from dataclasses import replace

import cadquery as cq
import pytest

from moldplan.cut.flat import flatten
from moldplan.cut.loop import area
from moldplan.cut.outline import pieces
from moldplan.cut.piece import Step
from moldplan.cut.step import short_words, step_words
from moldplan.shape.assembly import Assembly
from moldplan.shape.body import Body, Frame, Shaped
from moldplan.shape.stack import lifted
from moldplan.spec.model import Cutter, Stock

SHEET = 20.0
LEANING = Frame((310.0, -45.0, 120.0), (0.6, 0.8, 0.0), (-0.64, 0.48, 0.6))


def stack(solid, frame=None, **more):
    """Lifts of a solid given in its own axes, as they stand in the boat."""
    at = frame or Frame()
    whole = Body(name="block", kind="core", shaped=Shaped(solid).moved(at), part="p", path=("p",), frame=at)
    return lifted(whole, stock="foam", sheet=SHEET, **more)


def turned(section, upper):
    """Outline of a body of revolution, radius by height, from its axis up."""
    return cq.Workplane("XZ").moveTo(0, 0).lineTo(*section).lineTo(*upper).lineTo(0, upper[1]).close().revolve(
        360, (0, 0), (0, 1)).val()  # fmt: skip


def circles(flat):
    """Radii of what is cut, of what is marked, and of openings larger than a dowel."""
    openings = [hole.circle[2] for hole in flat.outline.holes if hole.circle and hole.circle[2] > 4.5]
    far = [loop.circle[2] for loop in flat.outline.far if loop.circle]
    return (flat.outline.outer.circle or (0, 0, 0))[2], far, openings


@pytest.mark.parametrize("frame", [None, LEANING])
@pytest.mark.parametrize("way", [-1, 1])
def test_lifts_of_a_cone_are_cut_at_their_larger_radius(frame, way):
    """r(z) = 180 -+ z / 2, so each lift of 20 steps by 10; whichever way it narrows, the smaller face lies up."""
    made = stack(turned((180.0, 0.0), (180.0 + way * 30.0, 60.0)), frame)
    assert [body.order for body in made] == [f"{k} of 3 from below" for k in (1, 2, 3)]
    for k, body in enumerate(made):
        (flat,) = flatten(body)
        ends = [180.0 + way * z / 2 for z in (k * SHEET, (k + 1) * SHEET)]
        outer, far, _ = circles(flat)
        assert outer == pytest.approx(max(ends), abs=1e-6) and far == [pytest.approx(min(ends), abs=1e-6)]
        assert flat.up == ("face" if way < 0 else "underside")
        (step,) = flat.steps
        assert (step.what, step.face) == ("outline", "upper" if way < 0 else "lower")
        assert (step.least, step.most) == pytest.approx((10, 10), abs=0.01)
        assert step_words(flat.steps) == (f"step 10.0 mm, {'lower' if way < 0 else 'upper'} outline larger",)


def test_lifts_of_a_sphere_step_by_its_own_radii_and_bulge_at_its_equator():
    """r(z) = sqrt(150^2 - z^2), from 70 under the middle to 70 over it: the fourth lift lies about the equator."""
    made = stack(cq.Solid.makeSphere(150, cq.Vector(0, 0, 0), angleDegrees1=-90, angleDegrees2=90), low=-70, high=70)
    assert len(made) == 7
    for k, body in enumerate(made[1:-1], 1):  # the end ones hold what is left of the sphere
        (flat,) = flatten(body)
        low, high = (math.sqrt(150**2 - z**2) for z in (-70 + k * SHEET, -50 + k * SHEET))
        outer, _, _ = circles(flat)
        if k == 3:
            assert outer == pytest.approx(150, abs=1e-6)
            assert [s.face for s in flat.steps] == ["lower", "upper"]
            assert [s.most for s in flat.steps] == pytest.approx([150 - low] * 2, abs=0.01)
            assert short_words(flat.steps) == "step up to 0.3 mm, both faces smaller"
            continue
        assert outer == pytest.approx(max(low, high), abs=1e-6)
        (step,) = flat.steps
        assert step.face == ("lower" if low < high else "upper")
        assert step.most == pytest.approx(abs(high - low), abs=0.01)


def test_a_widening_opening_is_cut_at_its_smaller_radius():
    """A block with an opening of r(z) = 60 + z / 2: smaller below, so cut there; the mark is 10 mm outside."""
    block = cq.Workplane().box(400, 300, 60, centered=(True, True, False)).val().cut(turned((60.0, 0.0), (90.0, 60.0)))
    for k, body in enumerate(stack(block)):
        (flat,) = flatten(body)
        _, far, (opening,) = circles(flat)
        assert opening == pytest.approx(60 + 10 * k, abs=1e-6) and far == [pytest.approx(70 + 10 * k, abs=1e-6)]
        (step,) = flat.steps
        assert (step.what, step.face, step.least, step.most) == ("opening", "upper", pytest.approx(10, abs=0.01),
                                                                 pytest.approx(10, abs=0.01))
        assert step_words(flat.steps) == ("step 10.0 mm, its opening wider at the upper face",)


def test_the_step_of_corners_is_that_of_their_walls():
    """An L drafted 8 deg: inside and outside corners alike lie 20 tan 8 in, measured square to the walls."""
    corners = [(0, 0), (300, 0), (300, 100), (120, 100), (120, 250), (0, 250)]
    (flat,) = flatten(stack(cq.Workplane().polyline(corners).close().extrude(SHEET, taper=8).val())[0])
    (step,) = flat.steps
    assert (step.least, step.most) == pytest.approx([SHEET * math.tan(math.radians(8))] * 2, abs=0.01)
    assert area(flat.outline.outer) == pytest.approx(300 * 100 + 120 * 150, rel=1e-9)


def test_one_slanting_side_steps_there_and_nowhere_else():
    """A bar whose one long side leans 15 mm in 20."""
    bar = cq.Workplane("YZ").polyline([(0, 0), (200, 0), (185, SHEET), (0, SHEET)]).close().extrude(400).val()
    (flat,) = flatten(stack(bar)[0])
    (step,) = flat.steps
    assert (step.what, step.face, step.least) == ("outline", "upper", 0.0)
    assert step.most == pytest.approx(15, abs=0.01)
    assert step_words(flat.steps) == ("step up to 15.0 mm, lower outline larger",)


def test_grooves_and_notches_are_no_step():
    plate = cq.Workplane().box(300, 200, SHEET, centered=(True, True, False))
    (grooved,) = flatten(stack(plate.cut(cq.Workplane("YZ").circle(8).extrude(400, both=True)).val())[0])
    (notched,) = flatten(stack(plate.cut(cq.Workplane().box(20, 60, 10).translate((0, 100, 0))).val())[0])
    assert grooved.steps == notched.steps == ()


def test_a_recess_steps_from_its_floor_to_its_mouth_past_a_groove_that_runs_in():
    """A round recess of 12 in a lift of 20, its wall leaning 1 in 4, with a limber of 10 from its floor to the edge."""
    block = cq.Workplane().box(300, 300, SHEET, centered=(True, True, False)).val()
    block = block.cut(turned((80.0, 0.0), (83.0, 12.0)).moved(cq.Location(cq.Vector(0, 0, 8))))
    block = block.cut(cq.Solid.makeBox(200, 10, 12, cq.Vector(0, -5, 8)))
    (flat,) = flatten(stack(block)[0])
    (step,) = flat.steps
    assert (step.what, step.face) == ("recess", "upper")
    assert (step.least, step.most) == pytest.approx((3, 3), abs=0.02)
    assert [loop.circle for loop, _ in flat.outline.bores] == [pytest.approx((0, 0, 80), abs=1e-6)]  # and the groove
    assert len(flat.outline.sinks) == 1


def test_pieces_that_differ_only_in_the_face_they_are_dressed_on_are_not_one():
    """Twice the cone's lift with a hole sunk from above: one stands on its larger face, one on its smaller."""
    hole = cq.Workplane().box(30, 60, 8).val().moved(cq.Location(cq.Vector(0, 0, SHEET - 4)))
    upright, upset = (turned(*ends).cut(hole) for ends in (((150, 0), (140, SHEET)), ((140, 0), (150, SHEET))))
    solids = {"a": upright, "b": upset, "c": upright}
    bodies = {name: replace(stack(solid)[0], name=name) for name, solid in solids.items()}
    foam = Stock(kind="pvc foam", thickness=SHEET, size=(2440, 1220))
    cut = pieces(Assembly(bodies=bodies, stands=()), {"foam": foam}, Cutter())
    assert [piece.bodies for piece in cut] == [("a", "c"), ("b",)]
    assert [[step.face for step in piece.steps] for piece in cut] == [["upper"], ["lower"]]


def test_words_of_a_range_and_of_both_faces():
    both = (Step("outline", "lower", 0.2, 0.2), Step("outline", "upper", 1.0, 3.4))
    assert step_words(both) == ("step 0.2 mm, lower outline smaller than the cut",
                                "step 1.0 to 3.4 mm, upper outline smaller than the cut")
    assert short_words(both[1:]) == "step 1.0 to 3.4 mm, lower larger"
    assert short_words(()) == "" and step_words(()) == ()


def test_a_rebate_round_an_opening_is_no_step_and_a_drafted_opening_in_it_is():
    """A rebate 40 wide and 6 deep: sunk, not dressed. Under it the opening widens by 14 tan 10 downward."""
    plate = cq.Workplane().box(400, 300, SHEET, centered=(True, True, False)).val()
    rebate = cq.Workplane().box(200, 150, 6, centered=(True, True, False)).translate((0, 0, SHEET - 6)).val()
    upright = cq.Workplane().box(120, 70, SHEET, centered=(True, True, False)).val()
    (square,) = flatten(stack(plate.cut(rebate, upright))[0])
    assert square.steps == () and [depth for _, depth in square.outline.sinks] == [6.0]
    leaning = cq.Workplane().rect(120, 70).extrude(SHEET - 6, taper=10).val()
    (flat,) = flatten(stack(plate.cut(rebate, leaning))[0])
    (step,) = flat.steps
    assert (step.what, step.face) == ("opening", "lower")
    assert step.most == pytest.approx((SHEET - 6) * math.tan(math.radians(10)), abs=0.01)
