"""Inclination of faces against closed forms of solid geometry, and against differences of surface points.

The closed forms are those of the shapes: a cone leans by its half angle, a sphere by its latitude, a torus is undercut
on its inner half.
"""

import math

import cadquery as cq
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from OCP.BRepBuilderAPI import BRepBuilderAPI_NurbsConvert

from moldplan.check.incline import incline

DOWN = (0.0, 0.0, -1.0)


def as_splines(shape):
    return cq.Shape.cast(BRepBuilderAPI_NurbsConvert(shape.wrapped, True).Shape())


def face_of(shape, kind):
    return next(face for face in shape.Faces() if face.geomType() == kind)


def by_differences(face, way):
    """Least asin(n . d) over a grid, normals from differences of the surface's points alone."""
    surface, (u0, u1, v0, v1) = face._geomAdaptor(), face._uvBounds()

    def point(u, v):
        spot = surface.Value(u, v)
        return np.array([spot.X(), spot.Y(), spot.Z()])

    least, inside = 90.0, lambda low, high, share: low + (high - low) * (0.001 + 0.998 * share)
    hu, hv = (u1 - u0) * 1e-5, (v1 - v0) * 1e-5
    sign = None
    for i in range(241):
        for j in range(13):
            u, v = inside(u0, u1, i / 240), inside(v0, v1, j / 12)
            normal = np.cross(point(u + hu, v) - point(u - hu, v), point(u, v + hv) - point(u, v - hv))
            normal /= np.linalg.norm(normal)
            if sign is None:
                outward = point(u, v) * [1, 1, 0]  # the solids here are round about z
                sign = np.sign(normal @ outward)
            least = min(least, math.degrees(math.asin(np.clip(sign * normal @ np.array(way), -1, 1))))
    return least


@settings(max_examples=25, deadline=None)
@given(st.floats(0.5, 30), st.floats(5, 200), st.floats(10, 300), st.booleans())
def test_a_cone_leans_by_its_half_angle(half_angle, height, radius, hidden):
    cone = cq.Solid.makeCone(radius, radius + height * math.tan(math.radians(half_angle)), height)
    if hidden:
        cone = as_splines(cone)
    wall = max(cone.Faces(), key=lambda f: f.Area() if abs(f.Center().z - height / 2) < height / 3 else 0)
    found = incline(wall, DOWN)
    assert found.least == pytest.approx(half_angle, abs=1e-6)
    assert found.tolerance == 0


def test_a_straight_wall_has_no_draft_and_a_floor_has_all():
    post = cq.Solid.makeCylinder(40, 20)
    assert incline(face_of(post, "CYLINDER"), DOWN).least == pytest.approx(0, abs=1e-9)
    floor = min(post.Faces(), key=lambda f: f.Center().z)
    assert incline(floor, DOWN).least == pytest.approx(90)
    assert incline(floor, (0.0, 0.0, 1.0)).least == pytest.approx(-90)


@pytest.mark.parametrize("latitude", [-60, -20, 0, 15, 50])
def test_a_sphere_leans_by_its_latitude(latitude):
    ball = cq.Solid.makeSphere(50, angleDegrees1=latitude, angleDegrees2=90)
    assert incline(face_of(ball, "SPHERE"), (0.0, 0.0, 1.0)).least == pytest.approx(latitude, abs=1e-9)


def test_a_torus_is_undercut_on_the_inner_half_below_and_the_outer_half_below():
    ring = cq.Solid.makeTorus(60, 12)
    assert incline(ring.Faces()[0], (0.0, 0.0, 1.0)).least == pytest.approx(-90)
    upper = ring.intersect(cq.Solid.makeBox(200, 200, 100, cq.Vector(-100, -100, 0)))
    assert incline(face_of(upper, "TORUS"), (0.0, 0.0, 1.0)).least == pytest.approx(0, abs=1e-9)


def test_a_cone_pulled_askew_is_as_steep_as_its_near_side_leaves():
    # half angle a, pulled t off the axis: the near generator has a - t
    cone = cq.Solid.makeCone(50, 50 + 40 * math.tan(math.radians(10)), 40)
    askew = (math.sin(math.radians(4)), 0.0, -math.cos(math.radians(4)))
    assert incline(face_of(cone, "CONE"), askew).least == pytest.approx(6, abs=1e-9)
    hidden = incline(max(as_splines(cone).Faces(), key=lambda f: f.Area() if f.Center().z not in (0, 40) else 0), askew)
    assert hidden.least <= 6 + 1e-9 <= hidden.least + hidden.tolerance + 2e-9
    assert hidden.tolerance <= 0.01


def test_part_of_a_cone_counts_only_as_far_as_it_goes():
    # only the side that looks to +x is left: pulled towards +x it leaves with more than the half angle
    cone = cq.Solid.makeCone(50, 60, 40).intersect(cq.Solid.makeBox(100, 40, 100, cq.Vector(0, -20, 0)))
    askew = (math.sin(0.1), 0.0, -math.cos(0.1))
    half = math.atan2(10, 40)
    turn = math.asin(20 / 50)  # the face reaches furthest round at the narrow end
    expected = math.cos(half) * math.cos(turn) * math.sin(0.1) + math.sin(half) * math.cos(0.1)
    assert incline(face_of(cone, "CONE"), askew).least == pytest.approx(math.degrees(math.asin(expected)), abs=1e-6)


@pytest.mark.parametrize("askew", [0.0, 0.15])
def test_a_loft_is_bracketed_and_differences_agree(askew):
    loft = cq.Workplane().ellipse(50, 40).workplane(offset=40).ellipse(60, 55).loft().val()
    way = (math.sin(askew), 0.0, -math.cos(askew))
    index = next(i for i, f in enumerate(loft.Faces()) if f.geomType() == "BSPLINE")
    found = incline(loft.Faces()[index], way)
    seen = by_differences(loft.Faces()[index], way)
    assert found.tolerance <= 0.01
    assert found.least - 1e-4 <= seen <= found.least + found.tolerance + 0.05


@pytest.mark.parametrize("tilt", [10, 33, 70])
@pytest.mark.parametrize("hidden", [False, True])
def test_a_ball_cut_askew_is_bracketed_by_the_circle_of_the_cut(tilt, hidden):
    # what is left of the ball lies above a plane through its middle leaning by `tilt`: least latitude is -tilt
    ball = cq.Workplane().sphere(30).val()
    below = cq.Solid.makeBox(200, 200, 100, cq.Vector(-100, -100, -100)).rotate(cq.Vector(), cq.Vector(1, 1, 0), tilt)
    rest = ball.cut(below)
    if hidden:
        rest = as_splines(rest)
    curved = min(rest.Faces(), key=lambda f: abs(f.Area() - 2 * math.pi * 900))
    found = incline(curved, (0.0, 0.0, 1.0), tolerance=0.05)
    assert found.least <= -tilt + 1e-6 <= found.least + found.tolerance + 0.02
    assert found.tolerance <= 0.06


def test_a_plane_in_a_splines_dress_is_known_for_a_plane():
    wedge = as_splines(cq.Workplane("XZ").polyline([(0, 0), (10, 0), (13, 40), (0, 40)]).close().extrude(20).val())
    slanted = next(f for f in wedge.Faces() if 10.5 < f.Center().x < 12.5 and abs(f.Center().z - 20) < 3
                   and abs(f.normalAt().x) > 0.5)
    found = incline(slanted, DOWN)
    assert found.tolerance == 0
    assert found.least == pytest.approx(math.degrees(math.atan2(3, 40)), abs=1e-9)
