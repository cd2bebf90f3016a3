"""Places too narrow for the cutter: slots of known width, beside corners that are not such places."""

import pytest

from moldplan.cut.loop import reversed_loop
from moldplan.cut.piece import Loop, Outline
from moldplan.cut.reach import narrow


@pytest.fixture
def slotted(ring):
    """A function: a plate with a slot of the width given, open below."""

    def make(w):
        left, right = 50 - w / 2, 50 + w / 2
        slot = ((left, 0), (left, 40), (right, 40), (right, 0))
        return Outline(outer=ring((0, 0), *slot, (100, 0), (100, 60), (0, 60)))

    return make


@pytest.mark.parametrize("width", [1.0, 3.0, 5.5, 5.9])
def test_a_slot_narrower_than_the_cutter_is_found_with_its_width(slotted, width):
    (place,) = narrow(slotted(width), diameter=6)
    assert place.what == "slot"
    assert place.width == pytest.approx(width, abs=0.03)
    assert 50 - width / 2 <= place.at[0] <= 50 + width / 2 and 0 <= place.at[1] <= 40


@pytest.mark.parametrize("width", [6.0, 6.1, 8, 30])
def test_a_slot_that_takes_the_cutter_is_none(slotted, width):
    assert narrow(slotted(width), diameter=6) == ()


def test_corners_are_not_narrow_places(box, ring):
    step = ring((0, 0), (100, 0), (100, 60), (60, 60), (60, 30), (0, 30))
    assert narrow(Outline(outer=step, holes=(reversed_loop(box(20, 12, 10, 10)),)), diameter=10) == ()
    acute = ring((-90, 0), (-30, 0), (0, 80), (30, 0), (90, 0), (90, 120), (-90, 120))
    assert narrow(Outline(outer=acute), diameter=6) == ()


def test_round_and_square_openings_are_measured(box):
    holes = (Loop(circle=(20, 30, 2.5)), Loop(circle=(40, 30, 3.0)), reversed_loop(box(20, 4, 60, 30)))
    found = narrow(Outline(outer=box(100, 60), holes=holes), diameter=6)
    assert [(n.what, pytest.approx(n.width, abs=0.03)) for n in found] == [("opening", 4.0), ("opening", 5.0)]


def test_bores_and_recesses_count_too(box):
    bores, sinks = ((Loop(circle=(20, 20, 2.0)), 8.0),), ((box(30, 3, 40, 20), 5.0),)
    outline = Outline(outer=box(100, 60), bores=bores, sinks=sinks)
    assert [(n.what, pytest.approx(n.width, abs=0.03)) for n in narrow(outline, diameter=6)] == [
        ("recess", 3.0), ("bore", 4.0)]


def test_a_neck_between_two_wide_places_is_found(ring):
    """An opening like a dumbbell: two rooms of 20, a neck of 4."""
    hole = ring((10, 10), (10, 30), (30, 30), (30, 22), (50, 22), (50, 30), (70, 30), (70, 10), (50, 10), (50, 18),
                (30, 18), (30, 10))  # fmt: skip
    (place,) = narrow(Outline(outer=ring((0, 0), (100, 0), (100, 60), (0, 60)), holes=(hole,)), diameter=6)
    assert place.width == pytest.approx(4.0, abs=0.03)
