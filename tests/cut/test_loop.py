"""Closed outlines: closed forms, GEOS on fine chords, and laws that hold for every outline."""

import math

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.cut.loop import (
    area,
    bounds,
    faults,
    holds_point,
    length,
    loops_apart,
    moved,
    reversed_loop,
    sampled,
    segments,
    swollen,
    tidied,
)
from moldplan.cut.piece import Loop

turns = st.floats(-360, 360, allow_nan=False)
shifts = st.floats(-3000, 3000, allow_nan=False)


@st.composite
def stars(draw):
    """A loop round 0,0 whose corners lie on rising angles, its edges bent a little."""
    count = draw(st.integers(3, 9))
    radii = draw(st.lists(st.floats(40, 200), min_size=count, max_size=count))
    bulges = draw(st.lists(st.floats(-0.15, 0.15), min_size=count, max_size=count))
    at = [2 * math.pi * k / count for k in range(count)]
    return Loop(tuple((r * math.cos(a), r * math.sin(a), b) for r, a, b in zip(radii, at, bulges, strict=True)))


def test_a_slot_with_round_ends():
    """Two half circles and two lines: area w l + pi r2, length 2 l + 2 pi r."""
    slot = Loop(((0, -5, 0), (30, -5, 1.0), (30, 5, 0), (0, 5, 1.0)))
    assert area(slot) == pytest.approx(300 + 25 * math.pi)
    assert length(slot) == pytest.approx(60 + 10 * math.pi)
    assert bounds(slot) == pytest.approx((-5, -5, 35, 5))
    assert holds_point(slot, (-4.9, 0)) and holds_point(slot, (33.5, 3.5))
    assert not holds_point(slot, (34, 4)) and not holds_point(slot, (15, 5.01))
    assert faults(slot) == ()


def test_a_bite_taken_out_by_an_arc():
    """A square of 20 less a half circle of 5 in its upper edge."""
    bitten = Loop(((0, 0, 0), (20, 0, 0), (20, 20, 0), (15, 20, -1.0), (5, 20, 0), (0, 20, 0)))
    assert area(bitten) == pytest.approx(400 - 12.5 * math.pi)
    assert not holds_point(bitten, (10, 16)) and holds_point(bitten, (10, 14.9))


def test_area_keeps_its_digits_far_from_the_origin(box):
    assert area(box(10, 10, 1e6, 1e6)) == pytest.approx(100, rel=1e-9)


@settings(max_examples=25, deadline=None)
@given(stars(), turns, shifts, shifts, st.booleans())
def test_turning_in_and_out_is_the_identity(loop, turn, x, y, mirrored):
    there = moved(loop, turn=turn, x=x, y=y, mirrored=mirrored)
    assert area(there) == pytest.approx(area(loop), rel=1e-9)
    assert length(there) == pytest.approx(length(loop), rel=1e-9)
    back = moved(moved(moved(there, x=-x, y=-y), turn=-turn), mirrored=mirrored)
    assert [v for p in tidied(back).vertices for v in p] == pytest.approx(
        [v for p in tidied(loop).vertices for v in p], abs=1e-6)


@settings(max_examples=25, deadline=None)
@given(stars())
def test_area_length_and_inside_agree_with_fine_chords(loop):
    shape = shapely.Polygon(sampled(loop, 1e-3))
    assert area(loop) == pytest.approx(shape.area, rel=1e-4)
    assert length(loop) == pytest.approx(shape.exterior.length, rel=1e-4)
    for p in ((0.0, 0.0), (55.5, 31.3), (-120.2, 44.4), (90.1, -90.7)):
        if shape.exterior.distance(shapely.Point(p)) > 0.01 and shape.is_valid:
            assert holds_point(loop, p) == shape.contains(shapely.Point(p))


@settings(max_examples=25, deadline=None)
@given(stars())
def test_running_backwards_changes_only_the_sign(loop):
    assert area(reversed_loop(loop)) == pytest.approx(-area(loop), rel=1e-12)
    assert reversed_loop(reversed_loop(loop)).vertices == loop.vertices


@settings(max_examples=25, deadline=None)
@given(stars(), st.sampled_from([0.02, 0.25, 2.0]))
def test_the_outward_polygon_holds_the_loop_and_hugs_it(loop, tolerance):
    fine, coarse = shapely.Polygon(sampled(loop, 1e-4)), shapely.Polygon(swollen(loop, tolerance))
    if not (fine.is_valid and coarse.is_valid):
        return
    assert fine.difference(coarse.buffer(2e-3)).area < 1e-9
    assert coarse.exterior.hausdorff_distance(fine.exterior) <= tolerance + 2e-3


def test_the_outward_polygon_of_a_circle():
    polygon = shapely.Polygon(swollen(Loop(circle=(5, 6, 100)), 0.1))
    reach = [math.dist(p, (5, 6)) for p in polygon.exterior.coords]
    assert polygon.exterior.distance(shapely.Point(5, 6)) >= 100 - 1e-9
    assert max(reach) <= 100.1 + 1e-9


def test_what_is_wrong_with_a_loop_is_named(ring, box):
    assert faults(box(10, 10)) == ()
    assert any("meets itself" in f for f in faults(ring((0, 0), (10, 0), (0, 10), (13, 14))))
    assert any("meets itself" in f for f in faults(ring((0, 0), (10, 0), (10, 10), (5, 0), (0, 10))))
    assert any("segment" in f for f in faults(ring((0, 0), (10, 0), (10.01, 0.01), (10, 10))))
    assert faults(ring((0, 0), (10, 0), (5, 0))) == ("no area",)
    assert faults(Loop(circle=(0, 0, 0))) and faults(Loop(circle=(0, math.nan, 3)))
    assert faults(Loop(((0, 0, 0), (math.inf, 0, 0), (1, 1, 0)))) == ("a vertex that is no number",)


def test_an_arc_that_crosses_its_own_loop_is_found():
    assert faults(Loop(((0, 0, 0), (20, 0, 0), (20, 4, 1.5), (0, 4, 0)))) == ()
    assert faults(Loop(((0, 0, 0), (20, 0, 0), (20, 4, -0.8), (0, 4, 0)))) != ()


def test_tidying_merges_runs_and_finds_the_circle(ring):
    quarter = math.tan(math.pi / 8)
    four = Loop(((5, 0, quarter), (0, 5, quarter), (-5, 0, quarter), (0, -5, quarter)))
    assert tidied(four).circle == pytest.approx((0, 0, 5))
    split = ring((0, 0), (4, 0), (10, 0), (10, 10), (3, 10), (0, 10), (0, 5))
    assert tidied(split).vertices == ((0, 0, 0), (10, 0, 0), (10, 10, 0), (0, 10, 0))
    short = ring((0, 0), (10, 0), (10.02, 0.01), (10, 10), (0, 10))
    assert all(s.length > 0.05 for s in segments(tidied(short)))
    assert area(tidied(short)) == pytest.approx(100, abs=0.3)


def test_lines_that_bend_little_by_little_are_not_all_merged():
    """1000 chords of 1 mm round a circle of 200 m: each joint lies 2.5e-6 off the next two, yet 500 mm rise 156 um."""
    turn = [k / 2e5 for k in range(1001)]
    far = [(2e5 * math.sin(t), 2e5 * (1 - math.cos(t)), 0.0) for t in turn]
    made = tidied(Loop((*far, (1000.0, 500.0, 0.0), (0.0, 500.0, 0.0))))
    ours, true = (shapely.LinearRing([v[:2] for v in loop]) for loop in (made.vertices, [*far, (1000, 500), (0, 500)]))
    assert ours.hausdorff_distance(true) <= 2e-5 + 1e-9
    assert 100 < len(made.vertices) < 400


def test_arcs_of_one_circle_are_one_however_short_and_others_are_not():
    """A quarter of radius 40 in 90 arcs; beside it one of 40.01, tangent to it: two arcs, not one, not 91."""
    at = [(40 * math.cos(math.pi / 180 * k), 40 * math.sin(math.pi / 180 * k)) for k in range(91)]
    step = math.tan(math.pi / 720)
    last = (40.01 * math.cos(math.radians(120)), -0.01 + 40.01 * math.sin(math.radians(120)))
    loop = Loop((*((x, y, step) for x, y in at[:-1]), (*at[-1], math.tan(math.radians(7.5))), (*last, 0.0),
                 (0, -5, 0.0)))
    walk = [s for s in segments(tidied(loop)) if not s.straight]
    assert sorted(round(s.radius, 6) for s in walk) == [40, 40.01]
    assert sum(math.degrees(s.sweep) for s in walk) == pytest.approx(120)


def test_a_flat_lens_of_two_segments_has_three_points_however_coarse():
    """A chord of 100 and an arc that rises 0.1: two chords of the arc within 0.2 would be none."""
    lens = Loop(((0, 0, 0.0), (100, 0, 0.002)))
    assert sampled(lens, 0.2) == [pytest.approx(p, abs=1e-6) for p in ((0, 0), (100, 0), (50, 0.1))]


def test_closing_up_what_is_short_moves_no_line_by_more_than_half_of_it(ring):
    """Two steps of 0.04 in the sides of a rectangle, a corner cut off by 0.03: within 0.02, both ways."""
    stepped = ring((0, 0), (50, 0), (50, 0.04), (100, 0.04), (100, 60), (80, 60), (80, 59.96), (0.02, 59.96),
                   (0, 59.94))
    made = tidied(stepped)
    true, ours = (shapely.LinearRing([v[:2] for v in loop.vertices]) for loop in (stepped, made))
    assert len(made.vertices) == 5  # the first step lies halfway up a line from corner to corner
    assert true.hausdorff_distance(ours) <= 0.02 + 1e-9
    assert faults(made) == ()


def test_many_short_segments_in_a_row_are_drawn_longer_not_left_out():
    """A quarter circle of radius 0.5 in 40 strokes of 0.02, at the corner of a square of 20: the quarter stays."""
    turn = [math.pi / 80 * k for k in range(41)]
    corners = [(0, 0), (20, 0), *((19.5 + 0.5 * math.cos(t), 19.5 + 0.5 * math.sin(t)) for t in turn), (0, 20)]
    made = tidied(Loop(tuple((x, y, 0.0) for x, y in corners)))
    assert 10 < len(made.vertices) < 25 and faults(made) == ()
    ours, true = shapely.LinearRing([v[:2] for v in made.vertices]), shapely.LinearRing(corners)
    assert ours.hausdorff_distance(true) < 0.002  # the sag of a chord of 0.06 in that circle is 0.0009


def test_distance_of_loops(box):
    assert loops_apart(box(10, 10), box(10, 10, 13, 14)) == pytest.approx(5.0)
    assert loops_apart(Loop(circle=(0, 0, 10)), Loop(circle=(30, 40, 15))) == pytest.approx(25.0)
    assert loops_apart(box(10, 10), Loop(circle=(15, 5, 6))) == 0.0


def test_a_crumb_stays_a_crumb():
    """A sliver all of whose segments are shorter than what is written: no crash, and named as no cut."""
    crumb = Loop(((0, 0, 0), (0.02, 0, 0), (0.02, 0.02, 0), (0, 0.02, 0)))
    assert area(tidied(crumb)) == pytest.approx(0.0004)
    assert faults(tidied(crumb)) == ("no area",)


def test_a_hole_in_pieces_a_hair_out_of_round_is_a_circle():
    """Three arcs through points of the circle of 4 mm about 20, 30, the shorter two with 0.0001 mm too much sag."""
    def spot(deg):
        return (20 + 4 * math.cos(math.radians(deg)), 30 + 4 * math.sin(math.radians(deg)))

    arcs = ((0, 295, 0.0), (295, 330, 1e-4), (330, 360, 1e-4))
    vertices = []
    for low, high, more in arcs:
        half = math.radians(high - low) / 4
        chord = 8 * math.sin(2 * half)
        vertices.append((*spot(low), math.tan(half) + 2 * more / chord))
    made = tidied(Loop(tuple(vertices)))
    assert made.circle == pytest.approx((20, 30, 4), abs=1e-6)
    vertices[1] = (*vertices[1][:2], vertices[1][2] + 2 * 0.01 / 2.4)  # 0.01 mm is no hair
    assert tidied(Loop(tuple(vertices))).circle is None
