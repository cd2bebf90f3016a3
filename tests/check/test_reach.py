"""How far bodies reach: closed forms of solid geometry, and the corners of fine triangles."""

import math

import cadquery as cq
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.check.reach import extent
from moldplan.shape import cylinder
from moldplan.shape.mesh import mesh
from moldplan.spec.model import Cylinder

directions = st.tuples(*(st.floats(-1, 1),) * 3).filter(lambda v: math.hypot(*v) > 0.1).map(
    lambda v: tuple(c / math.hypot(*v) for c in v))


@settings(max_examples=50, deadline=None)
@given(directions, st.floats(-3000, 3000))
def test_a_ball_reaches_its_centre_and_its_radius(way, at):
    ball = cq.Solid.makeSphere(30, angleDegrees1=-90).translate(cq.Vector(at, 40, -7))
    assert extent((ball,), way) == pytest.approx(at * way[0] + 40 * way[1] - 7 * way[2] + 30, abs=1e-9)


@settings(max_examples=50, deadline=None)
@given(directions)
def test_a_torus_reaches_its_circle_and_its_radius(way):
    expected = 60 * math.hypot(way[0], way[1]) + 12
    assert extent((cq.Solid.makeTorus(60, 12),), way) == pytest.approx(expected, abs=1e-9)


@settings(max_examples=50, deadline=None)
@given(directions)
def test_a_cone_reaches_one_of_its_circles(way):
    flat = math.hypot(way[0], way[1])
    expected = max(50 * flat, 20 * flat + 80 * way[2])
    assert extent((cq.Solid.makeCone(50, 20, 80),), way) == pytest.approx(expected, abs=1e-9)


@pytest.fixture(scope="module")
def bottle():
    solid = cylinder.solid(Cylinder.model_validate(
        {"diameter": 267, "height": 430, "knuckle_radius": 60, "shoulder_radius": 70,
         "foot": {"diameter": 200, "height": 22, "edge_radius": 8}})).solid
    return solid, mesh(solid, tolerance=0.05, angle=5.0)[0]


@settings(max_examples=25, deadline=None)
@given(directions, st.floats(0, 360))
def test_a_bottle_reaches_as_far_as_the_corners_of_its_triangles(bottle, way, turn):
    solid, corners = bottle
    placed = solid.rotate(cq.Vector(), cq.Vector(0, 1, 0), turn).translate(cq.Vector(500, -300, 90))
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    turned = corners @ np.array([[c, 0, -s], [0, 1, 0], [s, 0, c]]) + [500, -300, 90]
    seen = (turned @ way).max()
    assert seen - 1e-6 <= extent((placed,), way) <= seen + 0.3


def test_a_loft_is_boxed_by_the_kernel():
    loft = cq.Workplane().ellipse(50, 40).workplane(offset=40).ellipse(60, 55).loft().val()
    assert extent((loft,), (1.0, 0.0, 0.0)) == pytest.approx(60, abs=1e-5)
    assert extent((loft,), (0.0, 0.0, -1.0)) == pytest.approx(0, abs=1e-6)
