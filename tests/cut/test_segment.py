"""Lines and arcs: against closed forms, and against a brute search over points by GEOS."""

import math

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.cut.segment import Segment, apart, crossings, from_point

whole = st.integers(-40, 40).map(float)
points = st.tuples(whole, whole)
bulges = st.sampled_from([0.0, 0.2, -0.3, 1.0, -1.0, 0.7, -1.8, 2.4])


@st.composite
def pieces_of_line(draw):
    start, end = draw(points), draw(points)
    if math.dist(start, end) < 2:
        end = (start[0] + 5.0, start[1] + 3.0)
    return Segment(start, end, draw(bulges))


def chords(s, count=2000):
    return shapely.LineString([s.at(k / count) for k in range(count + 1)])


def test_a_half_circle():
    arc = Segment((10.0, 0.0), (-10.0, 0.0), 1.0)
    assert arc.centre == pytest.approx((0.0, 0.0))
    assert arc.radius == pytest.approx(10.0)
    assert arc.length == pytest.approx(10 * math.pi)
    assert arc.middle == pytest.approx((0.0, 10.0))
    assert arc.lune == pytest.approx(50 * math.pi)
    assert arc.bounds == pytest.approx((-10.0, 0.0, 10.0, 10.0))


@pytest.mark.parametrize("sweep_deg", [1, 30, 90, 200, 330, -45, -300])
def test_chord_sagitta_and_radius_of_an_arc(sweep_deg):
    """chord 2 R sin(w / 2), sagitta R (1 - cos(w / 2)), length R w: closed forms."""
    w, r = math.radians(abs(sweep_deg)), 137.0
    arc = Segment((0.0, 0.0), (2 * r * math.sin(w / 2), 0.0), math.tan(math.radians(sweep_deg) / 4))
    assert arc.radius == pytest.approx(r, rel=1e-9)
    assert arc.length == pytest.approx(r * w, rel=1e-9)
    sagitta = r * (1 - math.cos(w / 2))
    assert arc.middle[1] == pytest.approx(-math.copysign(sagitta, sweep_deg), rel=1e-9)


@settings(max_examples=60, deadline=None)
@given(pieces_of_line(), pieces_of_line())
def test_distance_of_two_segments_is_what_points_on_them_say(a, b):
    assert apart(a, b) == pytest.approx(chords(a).distance(chords(b)), abs=0.01)
    assert apart(a, b) == pytest.approx(apart(b, a), abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(pieces_of_line(), points)
def test_distance_of_a_point_is_what_points_on_the_segment_say(s, p):
    assert from_point(s, p) == pytest.approx(chords(s).distance(shapely.Point(p)), abs=0.01)


@settings(max_examples=60, deadline=None)
@given(pieces_of_line(), pieces_of_line())
def test_crossings_lie_on_both(a, b):
    for p in crossings(a, b):
        assert chords(a).distance(shapely.Point(p)) < 0.01
        assert chords(b).distance(shapely.Point(p)) < 0.01


@settings(max_examples=40, deadline=None)
@given(pieces_of_line())
def test_bounds_are_those_of_the_points(s):
    assert s.bounds == pytest.approx(chords(s).bounds, abs=0.001)
    assert s.reversed().length == pytest.approx(s.length)
    assert s.reversed().at(0.3) == pytest.approx(s.at(0.7))
