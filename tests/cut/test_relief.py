"""Inside corners opened for the cutter: areas and distances are closed forms of circle and corner."""

import math

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.cut.loop import area, faults, outline_area, reversed_loop, sampled
from moldplan.cut.piece import Loop, Outline
from moldplan.cut.relief import relieved
from moldplan.cut.segment import from_point


@pytest.fixture
def frame(box):
    """A plate of 100 x 60 with a square opening of 20."""
    return Outline(outer=box(100, 60), holes=(reversed_loop(box(20, 20, 20, 20)),))


def wedge(angle):
    """A plate with a corner of waste of `angle` [deg] that points up into it from below."""
    half = 100 * math.tan(math.radians(angle / 2))
    return Loop(((-300, 0, 0), (-half, 0, 0), (0, 100, 0), (half, 0, 0), (300, 0, 0), (300, 200, 0), (-300, 200, 0)))


def test_round_takes_the_half_disc_less_its_triangle(frame):
    """In a square corner the circle's chord is its diameter: what it takes is pi r2 / 2 - r2, four times."""
    made = relieved(frame, radius=3, style="round")
    assert made.taken == pytest.approx(4 * (math.pi * 9 / 2 - 9))
    assert outline_area(frame) - outline_area(made.outline) == pytest.approx(made.taken)


def test_edge_takes_half_discs_beside_the_longer_edges(box):
    made = relieved(Outline(outer=box(100, 60), holes=(reversed_loop(box(40, 20, 20, 20)),)), radius=3, style="edge")
    assert made.taken == pytest.approx(4 * math.pi * 9 / 2)
    low, high = sorted(shapely.Polygon(sampled(made.outline.holes[0], 0.001)).bounds[1::2])
    assert (low, high) == pytest.approx((17, 43), abs=0.001)  # the long edges lie along x: the discs go past them


def test_none_changes_nothing_and_says_what_is_left(frame):
    made = relieved(frame, radius=3, style="none")
    assert made.outline == frame and made.taken == 0
    assert [round(c.left, 4) for c in made.corners] == [1.2426] * 4  # 3 (sqrt 2 - 1)


@pytest.mark.parametrize("angle", [40, 60, 90, 120])
def test_round_passes_through_the_corner_at_every_angle(angle):
    made = relieved(Outline(outer=wedge(angle)), radius=3, style="round")
    (corner,) = [c for c in made.corners if abs(c.angle - angle) < 1e-6]
    assert corner.left == pytest.approx(3 * (1 / math.sin(math.radians(angle / 2)) - 1))
    assert min(from_point(s, (0.0, 100.0)) for s in walk(made.outline.outer)) < 1e-9
    h = math.radians(angle / 2)  # the circle's part beyond both edges: sector of 2 pi - 4 h less two triangles
    assert made.taken == pytest.approx(9 * (math.pi - 2 * h) - 9 * math.sin(2 * h))
    assert faults(made.outline.outer) == ()


def walk(loop):
    from moldplan.cut.loop import segments

    return segments(loop)


@pytest.mark.parametrize("style", ["round", "edge"])
def test_a_square_piece_seats_in_the_relieved_corner(box, style):
    """The cutter's own reach: the opening shrunk and grown by its radius holds the whole square."""
    hole = reversed_loop(box(30, 24, 20, 20))
    made = relieved(Outline(outer=box(100, 80), holes=(hole,)), radius=3, style=style)
    waste = shapely.Polygon(sampled(made.outline.holes[0], 0.005))
    swept = waste.buffer(-2.99, quad_segs=64).buffer(3.0, quad_segs=64)
    assert shapely.box(20, 20, 50, 44).difference(swept).area < 0.05
    before = shapely.Polygon(sampled(hole, 0.005)).buffer(-2.99, quad_segs=64).buffer(3.0, quad_segs=64)
    assert shapely.box(20, 20, 50, 44).difference(before).area > 5


def test_outside_corners_and_wide_ones_are_left_alone(box):
    plain = Outline(outer=box(100, 60))
    assert relieved(plain, radius=3, style="round").corners == ()
    blunt = Outline(outer=wedge(174))
    assert relieved(blunt, radius=3, style="round").taken == 0


def test_the_end_of_a_narrow_slot_is_opened_along_its_sides(ring):
    slot = ring((0, 0), (46, 0), (46, 40), (54, 40), (54, 0), (100, 0), (100, 60), (0, 60))
    made = relieved(Outline(outer=slot), radius=3, style="round")
    assert [c.done for c in made.corners] == ["edge", "edge"]
    assert made.taken == pytest.approx(math.pi * 9)
    assert faults(made.outline.outer) == ()


def test_an_inside_arc_tighter_than_the_cutter_is_swallowed():
    arc = -math.tan(math.pi / 8)
    plate = Loop(((0, 0, 0), (100, 0, 0), (100, 60, 0), (60, 60, 0), (60, 32, arc), (58, 30, 0), (0, 30, 0)))
    made = relieved(Outline(outer=plate), radius=3, style="round")
    assert [c.left for c in made.corners] == [pytest.approx((3 - 2) * (math.sqrt(2) - 1))]
    assert made.taken > 0 and faults(made.outline.outer) == ()
    swept = shapely.box(-20, -20, 120, 80).difference(shapely.Polygon(sampled(made.outline.outer, 0.002)))
    reached = swept.buffer(-2.98, quad_segs=64).buffer(3.0, quad_segs=64)
    corner = shapely.box(40, 20, 70, 50).difference(shapely.Polygon(sampled(plate, 0.002)))
    assert corner.intersection(shapely.box(50, 25, 62, 40)).difference(reached).area < 0.05


def test_a_relief_that_would_break_through_is_left_out(box):
    close = Outline(outer=box(100, 60), holes=(reversed_loop(box(40, 40, 0.5, 10)),))
    made = relieved(close, radius=3, style="round")
    left = [c for c in made.corners if c.done == "none"]
    assert {c.at for c in left} == {(0.5, 10.0), (0.5, 50.0)}
    assert all(c.reason == "a relief would break through" for c in left)


def test_the_land_beside_a_relief_is_measured(box):
    """A square opening 5 mm from both edges: the disc reaches r (1 - cos 45 deg) past the edges' lines."""
    made = relieved(Outline(outer=box(100, 60), holes=(reversed_loop(box(40, 40, 5, 5)),)), radius=3, style="round")
    assert min(c.land for c in made.corners) == pytest.approx(5 - 3 * (1 - math.sqrt(0.5)), abs=1e-9)


def test_recesses_are_opened_outward(box):
    made = relieved(Outline(outer=box(100, 60), sinks=((box(30, 20, 10, 10), 6.0),)), radius=3, style="round")
    ((sink, depth),) = made.outline.sinks
    assert depth == 6.0
    assert area(sink) == pytest.approx(600 + 4 * (math.pi * 9 / 2 - 9))


@settings(max_examples=30, deadline=None)
@given(st.lists(st.integers(6, 50), min_size=4, max_size=10), st.sampled_from(["round", "edge"]),
       st.sampled_from([1.0, 3.0, 6.0]))
def test_a_relieved_comb_stays_sound_and_only_loses(heights, style, radius):
    """Random steps along the top: every loop stays closed and simple, inside the one it came from."""
    top = [(20.0 * k + d, float(h)) for k, h in enumerate(heights) for d in (0, 20)]
    points = [(0.0, -60.0), (20.0 * len(heights), -60.0), *reversed(top)]
    loop = Loop(tuple((x, y, 0.0) for i, (x, y) in enumerate(points) if points[i - 1] != (x, y)))
    made = relieved(Outline(outer=loop), radius=radius, style=style)
    assert faults(made.outline.outer) == ()
    before, after = (shapely.Polygon(sampled(o, 0.001)) for o in (loop, made.outline.outer))
    assert after.difference(before.buffer(0.01)).area < 1e-6
    assert before.area - after.area == pytest.approx(made.taken, abs=0.5)
    assert made.taken >= -1e-9
