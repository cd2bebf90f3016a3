"""The largest empty rectangle, against trying every pair of edges."""

import itertools
import math

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.cut.rectangles import largest, rectangles

BOXES = st.lists(st.tuples(st.integers(0, 90), st.integers(0, 90), st.integers(5, 40), st.integers(5, 40)), max_size=6)


def free_of(boxes):
    return shapely.box(0, 0, 100, 100).difference(shapely.union_all([shapely.box(x, y, x + w, y + h)
                                                                     for x, y, w, h in boxes]))


def brute(boxes):
    """Area of the largest rectangle whose sides lie on edges, none of whose inside is taken."""
    xs = sorted({0, 100} | {min(100, e) for x, _, w, _ in boxes for e in (x, x + w)})
    ys = sorted({0, 100} | {min(100, e) for _, y, _, h in boxes for e in (y, y + h)})
    best = 0
    for (x0, x1), (y0, y1) in itertools.product(itertools.combinations(xs, 2), itertools.combinations(ys, 2)):
        if all(x >= x1 or x + w <= x0 or y >= y1 or y + h <= y0 for x, y, w, h in boxes):
            best = max(best, (x1 - x0) * (y1 - y0))
    return best


@settings(max_examples=25, deadline=None)
@given(BOXES)
def test_the_largest_rectangle_is_the_one_that_trying_all_edges_finds(boxes):
    found = largest(free_of(boxes), strips=20)
    area = 0 if found is None else (found[2] - found[0]) * (found[3] - found[1])
    assert area == pytest.approx(brute(boxes))


@settings(max_examples=15, deadline=None)
@given(BOXES)
def test_every_rectangle_is_free_lies_in_no_other_and_the_largest_is_among_them(boxes):
    free = free_of(boxes)
    found = rectangles(free, strips=20)
    assert all(free.buffer(1e-6).covers(shapely.box(*r)) for r in found)
    for a, b in itertools.permutations(found, 2):
        assert not (b[0] <= a[0] and b[1] <= a[1] and a[2] <= b[2] and a[3] <= b[3])
    assert max((r[2] - r[0]) * (r[3] - r[1]) for r in found) == pytest.approx(brute(boxes)) if found else not free.area


def test_in_a_disc_it_comes_near_the_inscribed_square_and_never_over():
    """Closed form: the largest upright rectangle in a circle of radius r is the square of area 2 r^2."""
    disc = shapely.Point(0, 0).buffer(100, quad_segs=90)
    x0, y0, x1, y1 = largest(disc, strips=80)
    assert 0.95 * 2 * 100**2 <= (x1 - x0) * (y1 - y0) <= 2 * 100**2
    assert max(math.hypot(x, y) for x in (x0, x1) for y in (y0, y1)) <= 100 + 1e-9


def test_nothing_has_no_rectangle():
    assert largest(shapely.Polygon(), strips=10) is None and rectangles(shapely.Polygon(), strips=10) == []
