"""A disc in a rounded rectangle, against brute force over the outline's points."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.check.outline import disc_gap, inside, widest_ball
from moldplan.shape.assembly import Opening


def outline_points(length, width, radius, count=4000):
    """Points of a rounded rectangle about 0, 0, by walking its sides and quarter circles."""
    x, y = length / 2 - radius, width / 2 - radius
    sides = [np.column_stack([np.linspace(-x, x, count), np.full(count, s * width / 2)]) for s in (-1, 1)]
    sides += [np.column_stack([np.full(count, s * length / 2), np.linspace(-y, y, count)]) for s in (-1, 1)]
    quarter = np.linspace(0, math.pi / 2, count)
    sides += [np.column_stack([i * (x + radius * np.cos(quarter)), j * (y + radius * np.sin(quarter))])
              for i in (-1, 1) for j in (-1, 1)]
    return np.vstack(sides)


@settings(max_examples=40, deadline=None)
@given(st.floats(100, 500), st.floats(100, 500), st.floats(0, 0.5), st.floats(-0.6, 0.6), st.floats(-0.6, 0.6))
def test_distance_to_the_outline_is_that_to_its_nearest_point(length, width, share, at_x, at_y):
    radius = share * min(length, width)
    opening = Opening(centre=(30.0, -20.0), size=(length, width), corner_radius=radius, underside=0.0)
    point = np.array([at_x * length, at_y * width])
    nearest = np.linalg.norm(outline_points(length, width, radius) - point, axis=1).min()
    found = float(inside(opening, point[None] + np.array([30.0, -20.0]))[0])
    assert abs(found) == pytest.approx(nearest, abs=0.05)
    away = np.abs(point) - (np.array([length, width]) / 2 - radius)
    is_in = np.linalg.norm(np.maximum(away, 0)) <= radius if (away > 0).all() else (away <= radius).all()
    assert (found >= 0) == is_in or nearest < 0.05


def test_a_disc_in_the_middle_is_as_far_from_the_sides_as_they_are_from_it():
    opening = Opening(centre=(0, 0), size=(420, 380), corner_radius=40, underside=0)
    assert disc_gap(opening, (0, 0), 133.5) == pytest.approx(190 - 133.5)


def test_a_disc_in_a_corner_meets_the_rounding():
    # centre 60 off both sides of a corner of radius 100: the corner's own centre is 40 further in on both
    opening = Opening(centre=(0, 0), size=(400, 400), corner_radius=100, underside=0)
    assert disc_gap(opening, (140, 140), 20) == pytest.approx(100 - 40 * math.sqrt(2) - 20)


def test_the_widest_ball_is_half_the_shorter_side():
    assert widest_ball(Opening(centre=(0, 0), size=(420, 380), corner_radius=40, underside=0)) == 190
