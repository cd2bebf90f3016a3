"""Shapes on cells, against GEOS and against trying every place."""

import math
import random

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.cut.grid import Cell, Cells, mask

CELL = Cell(4.0, 3.0)


def blob(seed):
    """A star-shaped polygon of 9 corners."""
    draw = random.Random(seed)
    spokes = [(draw.uniform(10, 45), a / 9 * math.tau) for a in range(9)]
    return shapely.Polygon([(r * math.cos(a), r * math.sin(a)) for r, a in spokes])


def cells_of(made, cell):
    return {(column, row) for column, first, count in made.runs for row in range(first, first + count)}


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10**6))
def test_a_mask_holds_every_cell_that_the_shape_enters_and_no_row_of_cells_it_is_clear_of(seed):
    shape = blob(seed)
    made = mask(shape, CELL)
    got = cells_of(made, CELL)
    assert made.cells == len(got)
    for column in range(made.columns):
        low = made.low[0] + column * CELL.wide
        for row in range(-1, made.rows + 1):
            base = made.low[1] + row * CELL.high
            inside = shape.intersection(shapely.box(low, base, low + CELL.wide, base + CELL.high)).area
            if inside > 1e-6:
                assert (column, row) in got
            elif shape.distance(shapely.box(low, base, low + CELL.wide, base + CELL.high)) > 1e-6:
                assert (column, row) not in got


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 10**6), st.integers(0, 10**6))
def test_the_place_found_is_the_first_of_all_places(one, other):
    cells = Cells(shapely.box(0, 0, 130, 99), CELL)
    first, second = mask(blob(one), CELL), mask(blob(other), CELL)
    assert cells.find(first) == (0, 0)
    cells.take(first, 0, 0)
    taken = cells_of(first, CELL)
    places = [(c, r) for c in range(130 // 4 - second.columns + 1) for r in range(33 - second.rows + 1)
              if not any((c + x, r + y) in taken for x, y in cells_of(second, CELL))]
    assert cells.find(second) == (min(places) if places else None)


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 10**6), st.floats(-20, 120), st.floats(-20, 90))
def test_what_is_blocked_where_it_lies_and_what_lies_off_the_free_shape_is_not_free(seed, x, y):
    room = shapely.Polygon([(0, 0), (120, 0), (120, 40), (70, 90), (0, 90)])
    lying = shapely.affinity.translate(blob(seed), x, y)
    cells = Cells(room, CELL)
    cells.block(lying)
    free = 0
    for column, bits in enumerate(cells.columns):
        for row in range(cells.rows):
            box = shapely.box(column * 4, row * 3, column * 4 + 4, row * 3 + 3)
            if bits >> row & 1:
                free += 1
                assert room.buffer(1e-6).covers(box) and lying.intersection(box).area < 1e-6
    assert free == cells.left


def test_a_shape_that_just_fits_is_laid_and_one_a_hair_larger_is_not():
    cells = Cells(shapely.box(10, 10, 50, 40), CELL)
    assert cells.find(mask(shapely.box(0, 0, 40, 30), CELL)) == (0, 0)
    assert cells.at(mask(shapely.box(0, 0, 40, 30), CELL), 0, 0) == pytest.approx((10, 10))
    assert cells.find(mask(shapely.box(0, 0, 40.1, 30), CELL)) is None
    assert cells.find(mask(shapely.box(0, 0, 40, 30.1), CELL)) is None
