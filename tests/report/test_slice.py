"""Solids cut by planes against closed forms: discs, ellipses, boxes at a slant, a ring."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.report.slice import Plane, area_of, cut, reverse, traces
from moldplan.shape.body import Frame, block


def whole(frame):
    return Plane(frame, (-2000.0, -2000.0), (2000.0, 2000.0))


def tube(outer, inner, height):
    import cadquery as cq

    return cq.Solid.makeCylinder(outer, height).cut(cq.Solid.makeCylinder(inner, height))


def test_a_tube_across_is_a_ring_of_exact_arcs():
    loops = cut(tube(80, 60, 100), whole(Frame((0, 0, 40))))
    assert sorted(area_of(loop) for loop in loops) == pytest.approx([-math.pi * 60**2, math.pi * 80**2], rel=1e-9)


def test_a_tube_along_its_axis_is_two_strips():
    loops = cut(tube(80, 60, 100), whole(Frame((0, 0, 0), (1, 0, 0), (0, -1, 0))))
    assert [area_of(loop) for loop in loops] == pytest.approx([2000, 2000], rel=1e-9)


@given(slant=st.floats(5, 60))
@settings(max_examples=10, deadline=None)
def test_a_cylinder_at_a_slant_is_an_ellipse(slant):
    import cadquery as cq

    rad = math.radians(slant)
    frame = Frame((0, 0, 500), (math.cos(rad), 0, math.sin(rad)), (-math.sin(rad), 0, math.cos(rad)))
    (loop,) = cut(cq.Solid.makeCylinder(100, 1000), whole(frame))
    assert area_of(loop) == pytest.approx(math.pi * 100**2 / math.cos(rad), rel=1e-3)


@given(st.floats(20, 900), st.floats(20, 900), st.floats(20, 900), st.floats(-40, 40))
@settings(max_examples=25, deadline=None)
def test_a_box_cut_upright_at_a_slant_is_a_rectangle(length, width, height, turn):
    rad = math.radians(turn)
    frame = Frame((length / 2, width / 2, 0), (math.sin(rad), math.cos(rad), 0), (math.cos(rad), -math.sin(rad), 0))
    across = min(width / math.cos(rad), length / math.sin(abs(rad)) if abs(turn) > 1e-9 else math.inf)
    (loop,) = cut(block(length, width, height).solid, whole(frame))
    assert area_of(loop) == pytest.approx(across * height, rel=1e-6)


def test_the_window_cuts_off_what_lies_outside():
    plane = Plane(Frame((0, 0, 5)), (0.0, 0.0), (30.0, 20.0))
    (loop,) = cut(block(100, 100, 10).solid, plane)
    assert area_of(loop) == pytest.approx(600)
    assert cut(block(100, 100, 10).solid, whole(Frame((0, 0, 50)))) == ()


def test_a_face_is_traced_where_the_plane_meets_it():
    (chain,) = traces(block(100, 80, 10).faces("forward"), whole(Frame((0, 0, 5))))
    assert sorted((round(x, 6), round(y, 6)) for x, y, _ in chain) == [(100, 0), (100, 80)]


def test_a_loop_walked_back_encloses_the_same_area():
    loop = ((0.0, 0.0, 0.3), (10.0, 0.0, 0.0), (10.0, 8.0, -0.2), (0.0, 8.0, 0.0))
    assert area_of(reverse(loop)) == pytest.approx(-area_of(loop))
