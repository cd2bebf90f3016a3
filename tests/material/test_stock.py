"""Stacks: held against brute force over every pile of sheets and packers; stock by name."""

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.finding import Source
from moldplan.material.stock import known, stack


def test_sheets_come_up_to_the_depth_or_over_it():
    pile = stack(36, sheet=18.2, tolerance_each=0.3)
    assert (pile.sheets, pile.packers) == (2, ())
    assert pile.height == pytest.approx(36.4)
    assert pile.error == pytest.approx(0.4)
    assert pile.new_depth == pytest.approx(36.4)
    assert pile.worst_case == pytest.approx(0.6)
    assert pile.root_sum_square == pytest.approx(0.3 * math.sqrt(2))


def test_a_depth_that_sheets_make_exactly_gains_no_sheet_from_rounding():
    for sheets in range(1, 60):
        assert stack(sheets * 18.2, sheet=18.2).sheets == sheets
        assert stack(sum([0.1] * sheets), sheet=0.1).sheets == sheets


def test_a_packer_answers_what_is_over():
    pile = stack(40, sheet=18, packers=(6, 4))
    assert (pile.sheets, pile.packers, pile.error) == (2, (4,), 0)


def test_a_packer_that_comes_no_nearer_is_left_out():
    assert stack(35.9, sheet=18, packers=(3,)).packers == ()


def test_fewer_layers_where_two_piles_come_equally_near():
    assert stack(24, sheet=18, packers=(3, 6, 2)).packers == (6,)


def test_a_pile_thinner_than_one_sheet_may_be_packers_only():
    pile = stack(9, sheet=18, packers=(3,))
    assert (pile.sheets, pile.packers, pile.error) == (0, (3, 3, 3), 0)


@settings(max_examples=100, deadline=None)
@given(
    depth=st.integers(30, 2000), sheet=st.integers(30, 400),
    packers=st.lists(st.integers(15, 120), max_size=3, unique=True),
)
def test_no_pile_comes_nearer_than_the_one_given(depth, sheet, packers):
    """Brute force in tenths of a mm: floor(depth/sheet) sheets with any packers under one sheet, or sheets alone."""
    whole = depth // sheet
    best = abs(math.ceil(depth / sheet) * sheet - depth)
    for counts in itertools.product(*(range(sheet // p + 1) for p in packers)):
        packed = sum(count * p for count, p in zip(counts, packers, strict=True))
        if 0 < packed < sheet:
            best = min(best, abs(whole * sheet + packed - depth))
    pile = stack(depth / 10, sheet=sheet / 10, packers=[p / 10 for p in packers])
    assert abs(pile.error) == pytest.approx(best / 10, abs=2e-3)
    assert sum(pile.packers) < sheet / 10
    assert pile.height == pytest.approx(pile.sheets * sheet / 10 + sum(pile.packers))
    if not packers:
        assert pile.error >= -1e-9


@settings(max_examples=25, deadline=None)
@given(depth=st.floats(3, 1000), sheet=st.floats(1, 60), packers=st.lists(st.floats(0.5, 20), max_size=4))
def test_the_new_depth_is_one_that_the_same_stock_makes(depth, sheet, packers):
    pile = stack(depth, sheet=sheet, packers=packers)
    again = stack(pile.new_depth, sheet=sheet, packers=packers)
    assert abs(again.error) < 2e-3


@pytest.mark.parametrize("bad", [0.0, -3.0, math.nan, math.inf])
def test_nothing_is_stacked_of_nothing(bad):
    for depth, sheet, packers in ((bad, 18, []), (36, bad, []), (36, 18, [bad])):
        with pytest.raises(ValueError, match="above nothing"):
            stack(depth, sheet=sheet, packers=packers)


def test_many_packers_take_no_time_that_grows_with_their_piles():
    """200 thicknesses; every sum below a sheet is found once, so the work is bounded by sums times packers."""
    pile = stack(47.3, sheet=18, packers=[1 + n / 100 for n in range(200)])
    assert abs(pile.error) < 1e-3


def test_foam_and_board_are_known_and_say_so(spec_with):
    found = known(spec_with())
    assert set(found) == {"foam", "board"}
    for sheet in found.values():
        assert sheet.true_thickness == sheet.thickness
        assert "measure yours" in sheet.assumed
    assert found["board"].kind == "melamine-faced board"


def test_the_specs_sheet_wins_and_is_as_thick_as_measured(spec_with):
    found = known(spec_with(stock={"board": {
        "kind": "melamine-faced board", "thickness": 18, "measured": 18.2, "size": [2800, 2070], "packers": [3, 6]}}))
    board = found["board"]
    assert (board.true_thickness, board.size, board.packers, board.assumed) == (18.2, (2800, 2070), (3, 6), "")
    assert board.source == Source.spec("stock.board")
    assert board.tolerance == 0.3  # EN 312 / EN 324 as remembered
    assert "foam" in found
