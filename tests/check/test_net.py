"""Nets of triangles against plane geometry: areas of polygons, Euler's formula for a disc with holes."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.check.net import area_in_plan, border, joined, length_round, loops, zipped


def ring(radius, count, turn=0.0):
    angle = np.linspace(0, 2 * math.pi, count, endpoint=False) + turn
    return np.stack([radius * np.cos(angle), radius * np.sin(angle), 0 * angle], axis=1)


def plan_area(points, corners):
    a, b, c = (points[corners[:, k]] for k in range(3))
    return np.cross(b - a, c - a)[:, 2] / 2


@settings(max_examples=30, deadline=None)
@given(st.integers(5, 60), st.integers(5, 60), st.floats(0, 0.1))
def test_a_strip_between_two_loops_has_the_area_between_their_polygons(inside, outside, turn):
    a, b = ring(100, inside), ring(140, outside, turn)
    corners = np.array(list(zipped(a, b)))
    # area of a regular polygon of n corners on a circle: n r^2 sin(2 pi / n) / 2
    area = sum(s * n * r**2 * math.sin(2 * math.pi / n) / 2 for s, n, r in ((1, outside, 140), (-1, inside, 100)))
    assert abs(plan_area(np.concatenate([a, b]), corners)).sum() == pytest.approx(area, rel=1e-9)
    assert len(corners) == inside + outside


def test_a_square_with_a_hole_has_two_borders_and_eulers_number():
    outer, inner = ring(100, 24), ring(50, 24)
    points, corners = np.concatenate([inner, outer]), np.array(list(zipped(inner, outer)))
    edges = border(corners)
    assert sorted(len(loop) for loop in loops(edges)) == [24, 24]
    every = {tuple(sorted(pair)) for t in corners.tolist() for pair in zip(t, (*t[1:], t[0]), strict=True)}
    assert len(points) - len(every) + len(corners) == 0  # a ring: vertices - edges + faces


def test_nets_that_meet_are_welded_and_keep_which_they_were():
    one = (np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0.0]]), np.array([[0, 1, 2]]))
    two = (np.array([[1, 0, 0], [1, 1, 0], [0, 1, 0.0]]), np.array([[0, 1, 2]]))
    points, corners, which = joined([one, two])
    assert len(points) == 4
    assert which.tolist() == [0, 1]
    assert len(border(corners)) == 4


def test_a_loops_length_and_signed_area():
    square = np.array([[0, 0, 5], [2, 0, 5], [2, 3, 5], [0, 3, 5.0]])
    assert length_round(square, (0, 1, 2, 3)) == pytest.approx(10)
    assert area_in_plan(square) == pytest.approx(6)
    assert area_in_plan(square[::-1]) == pytest.approx(-6)
