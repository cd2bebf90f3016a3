"""Offset tables: points on the outlines, near enough to each other, from one end; what a batten makes of them.

A batten sprung through pins takes, where it bends little, the shape of a natural cubic spline (beam theory); SciPy's
spline through the printed points stands for it.
"""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import CubicSpline

from moldplan.cut.batten import CHORD, lengthwise, offsets, rounded, spans
from moldplan.cut.piece import Loop, Outline, Piece
from moldplan.cut.segment import Segment

ROUNDING = 0.25 * math.sqrt(2) + 1e-9  # a quarter of a millimetre each way


def piece(outer, **more):
    outline = Outline(outer, **more)
    return Piece(id="P1", body="rib", part="part", path=(), stock="board", thickness=18, outline=outline, cut=outline,
                 area=1, outline_length=1)


def stadium(length, radius):
    """Two straight sides, two half turns."""
    return Loop(((0, 0, 0.0), (length, 0, 1.0), (length, 2 * radius, 0.0), (0, 2 * radius, 1.0)))


def to_stadium(x, y, length, radius):
    """Distance from the line of a stadium whose box begins at 0,0: that of its core line, less the radius."""
    along = min(max(x, radius), radius + length)
    return abs(math.hypot(x - along, y - radius) - radius)


@settings(max_examples=25, deadline=None)
@given(st.floats(1, 2000), st.floats(3, 1500))
def test_points_lie_on_the_line_and_chords_within_the_stated_error(length, radius):
    rows = offsets(piece(stadium(length, radius)), 0.0).rows
    ring = [(row.x, row.y, row.on) for row in rows]
    for (ax, ay, on), (bx, by, _) in zip(ring, [*ring[1:], ring[0]], strict=True):
        assert to_stadium(ax, ay, length, radius) <= ROUNDING
        for k in range(1, 10):
            x, y = ax + (bx - ax) * k / 10, ay + (by - ay) * k / 10
            assert to_stadium(x, y, length, radius) <= ROUNDING + (CHORD if on == "batten" else 0.0)


@pytest.mark.parametrize(("length", "radius"), [(400, 30), (200, 137), (50, 600), (900, 12)])
def test_a_batten_through_the_points_errs_by_less_than_stated(length, radius):
    rows = offsets(piece(stadium(length, radius)), 0.0).rows
    run = [(row.x, row.y) for row in rows[1:4]] if len(rows) == 4 else [(row.x, row.y) for row in rows[1:]]
    # one end's half turn, from where the straight side ends to where the next begins
    half = [p for p in run if p[0] >= radius + length - 0.5]
    points = np.array(half)
    along = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))))
    bent = CubicSpline(along, points, bc_type="natural")(np.linspace(0, along[-1], 600))
    assert max(to_stadium(x, y, length, radius) for x, y in bent) <= CHORD + ROUNDING


def test_a_trapezoid_by_hand():
    """Corners typed in here; X from its left end, Y from its lower edge, to the half millimetre."""
    rows = offsets(piece(Loop(((10.2, 5.0, 0), (310.2, 5.0, 0), (290.0, 105.3, 0), (40.9, 105.3, 0)))), 0.0).rows
    assert [(r.number, r.x, r.y, r.on) for r in rows] == [
        (1, 0.0, 0.0, "straight"), (2, 300.0, 0.0, "straight"), (3, 280.0, 100.5, "straight"),
        (4, 30.5, 100.5, "straight")]


def test_both_faces_and_all_that_is_sunk_are_in_the_table():
    box = Loop(((0, 0, 0), (300, 0, 0), (300, 200, 0), (0, 200, 0)))
    inner = Loop(((2, 2, 0), (298, 2, 0), (298, 198, 0), (2, 198, 0)))
    made = offsets(piece(box, holes=(Loop(circle=(60, 60, 20)),), far=(inner,),
                         bores=((Loop(circle=(200, 100, 4)), 9.1),), sinks=((inner, 3.0),),
                         under=((Loop(circle=(250, 50, 5)), 2.0),)), 0.0)
    assert {(r.face, r.line, r.depth) for r in made.rows} == {
        ("near", "outline", None), ("near", "opening", None), ("far", "far outline", None), ("near", "bore", 9.1),
        ("near", "recess", 3.0), ("far", "recess from below", 2.0)}
    (hole,) = [r for r in made.rows if r.line == "opening"]
    assert (hole.x, hole.y, hole.on, hole.radius) == (60.0, 60.0, "circle", 20.0)


def test_many_short_arcs_of_a_free_curve_are_thinned_and_still_hold():
    """A parabola y = x^2 / 400 over 0 to 200 in 200 chords: the table needs few points, and none leaves it."""
    curve = [(float(x), x * x / 400, 1e-6) for x in range(201)]
    loop = Loop((*((x, y, b) for x, y, b in curve[:-1]), (200.0, 100.0, 0.0), (0.0, 100.0, 0.0)))
    rows = offsets(piece(loop), 0.0).rows
    assert len(rows) < 25
    ring = [(r.x, r.y) for r in rows if r.on == "batten"] + [(200.0, 100.0)]
    for x in np.linspace(0, 200, 401):
        on_chords = np.interp(x, [p[0] for p in ring], [p[1] for p in ring])
        slope = x / 200
        assert abs(on_chords - x * x / 400) / math.hypot(1, slope) <= CHORD + ROUNDING + 0.01


@settings(max_examples=40, deadline=None)
@given(st.floats(0.5, 1e5), st.floats(0.01, 5.0))
def test_the_sagitta_of_a_part_is_within_the_error_and_of_one_less_is_not(radius, sweep):
    """Sagitta of a chord over the angle a: R (1 - cos(a / 2)), closed form; a quarter turn at most."""
    s = Segment((radius, 0), (radius * math.cos(sweep), radius * math.sin(sweep)), math.tan(sweep / 4))
    count = spans(s)
    assert radius * (1 - math.cos(sweep / count / 2)) <= CHORD * (1 + 1e-6)
    if count > 1 and sweep / (count - 1) <= math.pi / 2:
        assert radius * (1 - math.cos(sweep / (count - 1) / 2)) > CHORD * (1 - 1e-6)


def test_the_baseline_runs_along_the_longer_side():
    tall = piece(Loop(((0, 0, 0), (50, 0, 0), (50, 400, 0), (0, 400, 0))))
    assert lengthwise(tall, 0.0) == 270
    made = offsets(tall, 270)
    assert (made.length, made.width) == pytest.approx((400, 50))
    # a quarter turn clockwise lays the lower left corner at the upper left
    assert (made.rows[0].x, made.rows[0].y) == (0.0, 50.0)


@pytest.mark.parametrize(("mm", "half"), [(0.24, 0.0), (0.25, 0.5), (12.74, 12.5), (12.75, 13.0), (-0.1, 0.0)])
def test_rounding_is_to_the_half_millimetre(mm, half):
    assert rounded(mm) == half and math.copysign(1, rounded(mm)) == 1
