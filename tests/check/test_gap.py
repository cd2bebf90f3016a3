"""Distances against closed forms of solid geometry; boxes as lower bounds."""

import math

import cadquery as cq
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.check.gap import boxes_apart, corners, least
from moldplan.errors import GeometryError

turns = st.floats(0, 2 * math.pi)


@settings(max_examples=25, deadline=None)
@given(st.floats(5, 80), st.floats(5, 80), st.floats(1, 300), turns)
def test_two_upright_cylinders_are_apart_by_their_centres_less_their_radii(r, s, gap, turn):
    far = r + s + gap
    one = cq.Solid.makeCylinder(r, 100)
    other = cq.Solid.makeCylinder(s, 70, cq.Vector(far * math.cos(turn), far * math.sin(turn), 10))
    found = least(one, other)
    assert found.size == pytest.approx(gap, abs=1e-7)
    assert found.way[2] == pytest.approx(0, abs=1e-6)


@settings(max_examples=25, deadline=None)
@given(st.floats(5, 60), st.floats(5, 60), st.floats(0.5, 200), turns)
def test_crossed_cylinders_are_apart_by_their_axes_less_their_radii(r, s, gap, turn):
    one = cq.Solid.makeCylinder(r, 800, cq.Vector(0, 0, -400))
    across_it = cq.Vector(math.cos(turn), math.sin(turn), 0)
    off = cq.Vector(-across_it.y, across_it.x, 0) * (r + s + gap)
    other = cq.Solid.makeCylinder(s, 800, off - across_it * 400, across_it)
    assert least(one, other).size == pytest.approx(gap, abs=1e-6)


def test_a_ball_over_a_box_and_touching_bodies():
    box = cq.Solid.makeBox(50, 50, 10)
    ball = cq.Solid.makeSphere(5, angleDegrees1=-90)
    assert least(ball.translate(cq.Vector(25, 25, 32)), box).size == pytest.approx(17)
    touching = least(ball.translate(cq.Vector(25, 25, 12)), box)
    assert touching.size == 0
    assert touching.way == (0, 0, 0)


@settings(max_examples=25, deadline=None)
@given(st.tuples(*(st.floats(-200, 200),) * 3), turns)
def test_boxes_are_never_further_apart_than_what_they_hold(move, turn):
    one = cq.Solid.makeCone(30, 10, 60)
    other = cq.Solid.makeTorus(40, 8).rotate(cq.Vector(), cq.Vector(1, 1, 0), math.degrees(turn)).translate(
        cq.Vector(*move))
    assert boxes_apart(corners(one), corners(other)) <= least(one, other).size + 1e-6


def test_nothing_to_measure_is_an_error():
    with pytest.raises(GeometryError, match="no face"):
        least(cq.Solid.makeBox(1, 1, 1), [])
