"""The outline of a solid from above, against plane geometry."""

import math

import cadquery as cq
import pytest
from shapely import Polygon

from moldplan.report.shadow import shadow


def area(loops):
    shapes = sorted((Polygon(loop) for loop in loops), key=lambda p: -p.area)
    return shapes[0].area - sum(p.area for p in shapes[1:])


def test_a_ring_keeps_its_opening():
    loops = shadow(cq.Workplane().circle(100).circle(60).extrude(30).val())
    assert len(loops) == 2
    assert area(loops) == pytest.approx(math.pi * (100**2 - 60**2), rel=3e-3)


def test_a_leaning_rod_casts_a_strip_with_two_half_ellipses():
    """Rod of radius r and length l, leaning by t: a strip of 2 r x l sin t, and an ellipse of r and r cos t."""
    r, long, lean = 20.0, 300.0, math.radians(50)
    way = cq.Vector(math.sin(lean), 0, math.cos(lean))
    loops = shadow(cq.Solid.makeCylinder(r, long, cq.Vector(10, 20, 30), way))
    assert len(loops) == 1
    assert area(loops) == pytest.approx(2 * r * long * math.sin(lean) + math.pi * r * r * math.cos(lean), rel=3e-3)


def test_a_corner_that_is_cut_out_stays_out():
    """An L of 100 x 100 less 60 x 60: 6400 mm2."""
    corners = [(0, 0), (100, 0), (100, 40), (40, 40), (40, 100), (0, 100)]
    assert area(shadow(cq.Workplane().polyline(corners).close().extrude(50).val())) == pytest.approx(6400, rel=1e-3)
