"""Boxes on sheets: they never meet, none is lost, and sheets of the rack come first."""

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.cut.place import NoRoom, placings

SIZES = st.lists(st.tuples(st.integers(5, 90), st.integers(5, 60)), min_size=1, max_size=12)
SHEET = (((3.0, 3.0, 103.0, 73.0),),)


@settings(max_examples=25, deadline=None)
@given(SIZES, st.sampled_from([0.0, 4.0]))
def test_boxes_keep_their_spacing_inside_the_room_and_none_is_lost(sizes, spacing):
    boxes = [[(float(w), float(h)), (float(h), float(w))] if w <= 70 else [(float(w), float(h))] for w, h in sizes]
    for made in placings(boxes, (((0.0, 0.0, 50.0, 50.0), (0.0, 40.0, 90.0, 50.0)),), SHEET, spacing, shuffles=2):
        assert sorted(s.copy for sheet in made for s in sheet.spots) == list(range(len(boxes)))
        for sheet in made:
            rooms = SHEET[0] if sheet.bought else [(0, 0, 50, 50), (0, 40, 90, 50)]
            taken = [(s.x, s.y, s.x + boxes[s.copy][s.turn][0], s.y + boxes[s.copy][s.turn][1]) for s in sheet.spots]
            for a in taken:
                assert any(x0 <= a[0] and y0 <= a[1] and a[2] <= x1 + 1e-6 and a[3] <= y1 + 1e-6
                           for x0, y0, x1, y1 in rooms)
            for a, b in itertools.combinations(taken, 2):
                apart = max(b[0] - a[2], a[0] - b[2], b[1] - a[3], a[1] - b[3])
                assert apart >= spacing - 1e-5


def test_the_rack_is_filled_before_a_sheet_is_bought():
    boxes = [[(40.0, 40.0)]] * 3
    made = next(placings(boxes, (((0.0, 0.0, 90.0, 45.0),),), SHEET, 0.0))
    assert [(sheet.bought, len(sheet.spots)) for sheet in made] == [(False, 2), (True, 1)]


def test_of_sizes_that_are_sold_the_first_that_holds_a_box_is_opened_and_none_is_an_error():
    sold = (((0.0, 0.0, 50.0, 50.0),), ((0.0, 0.0, 100.0, 50.0),))
    made = next(placings([[(60.0, 20.0)]], (), sold, 0.0))
    assert [sheet.number for sheet in made] == [1]
    with pytest.raises(NoRoom):
        next(placings([[(60.0, 60.0)]], (), sold, 0.0))
