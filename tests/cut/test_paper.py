"""Tiles of a 1:1 pattern: sizes of paper, covering, joints, the card, the correction.

ISO 216: A0 is one square metre, its sides as 1 : sqrt 2; each next size halves the longer side, rounded down to whole
millimetres (as published; the series 841 x 1189, 594 x 841, 420 x 594, 297 x 420, 210 x 297). Letter is 8 1/2 x 11 in.
"""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.cut.loop import bounds, sampled
from moldplan.cut.paper import SIZES, cell_name, groups, joined, loops_of, page_of, sheet_tiling, tiling
from moldplan.cut.paper_card import card_at
from moldplan.cut.piece import Loop, Outline
from moldplan.spec.paper import Paper

SMALL = 1e-6
sizes = st.sampled_from(["A4", "A3", "letter", "A0 roll"])
papers = st.builds(
    lambda size, overlap, margin, measured, up: Paper(size=size, overlap=overlap, margin=margin, measured=measured,
                                                      measured_up=up),
    sizes, st.floats(4, 40), st.floats(0, 40), st.floats(45.5, 55.5), st.floats(45.5, 55.5))


def rectangle(w, h, x=0.0, y=0.0):
    return Loop(((x, y, 0.0), (x + w, y, 0.0), (x + w, y + h, 0.0), (x, y + h, 0.0)))


def rounded(w, h, r):
    """A rectangle with round corners, counter-clockwise."""
    q = math.tan(math.pi / 8)
    return Loop(((r, 0, 0), (w - r, 0, q), (w, r, 0), (w, h - r, q),
                 (w - r, h, 0), (r, h, q), (0, h - r, 0), (0, r, q)))


def test_the_a_sizes_are_those_of_iso_216():
    long = math.sqrt(math.sqrt(2) * 1e6)
    a0 = (round(long / math.sqrt(2)), round(long))
    series = [a0]
    for _ in range(4):
        short, long = series[-1]
        series.append((long // 2, short))
    assert SIZES["A4"] == series[4]
    assert SIZES["A3"] == series[3]
    assert SIZES["A0 roll"][0] == series[0][0]


def test_letter_is_eight_and_a_half_by_eleven_inches():
    assert SIZES["letter"] == pytest.approx((8.5 * 25.4, 11 * 25.4))


@settings(max_examples=25, deadline=None)
@given(papers, st.floats(20, 1500), st.floats(20, 1500), st.floats(0.02, 0.49))
def test_every_point_of_an_outline_is_on_a_printed_tile(paper, w, h, share):
    made = tiling(Outline(rounded(w, h, min(w, h) * share)), page_of(paper))
    for x, y in sampled(made.outline.outer, 0.05):
        assert any(t.low[0] - SMALL <= x <= t.high[0] + SMALL and t.low[1] - SMALL <= y <= t.high[1] + SMALL
                   for t in made.tiles)


@settings(max_examples=25, deadline=None)
@given(papers, st.floats(20, 3000), st.floats(20, 3000))
def test_the_windows_cover_the_piece_overlap_as_told_and_keep_the_margin(paper, w, h):
    page = page_of(paper)
    made = tiling(Outline(rectangle(w, h)), page)
    low_x, low_y, high_x, high_y = bounds(made.outline.outer)
    (left, bottom), (right, top) = made.window(made.rows - 1, 0)[0], made.window(0, made.columns - 1)[1]
    assert left <= low_x and bottom <= low_y and right >= high_x and top >= high_y
    for row in range(made.rows):
        for column in range(made.columns - 1):
            assert made.window(row, column)[1][0] - made.window(row, column + 1)[0][0] == pytest.approx(paper.overlap)
    for column in range(made.columns):
        for row in range(made.rows - 1):
            assert made.window(row + 1, column)[1][1] - made.window(row, column)[0][1] == pytest.approx(paper.overlap)
    wide, high = SIZES[paper.size]  # what the file's page measures, with the margin of the printer
    assert page.window[0] * page.drawn[0] == pytest.approx(wide - 2 * paper.margin)
    assert page.window[1] * page.drawn[1] == pytest.approx(high - 2 * paper.margin)


@settings(max_examples=20, deadline=None)
@given(st.floats(300, 1200), st.floats(300, 1200), st.floats(5, 60), st.floats(0.2, 0.8), st.floats(0.2, 0.8))
def test_a_tile_without_any_line_is_left_out_unless_it_holds_others_together(w, h, r, across, up):
    """Brute force: lines sampled twice a millimetre; a millimetre about the windows' borders is left open."""
    hole = Loop(circle=(w * across, h * up, r))
    made = tiling(Outline(rectangle(w, h), holes=(hole,)), page_of(Paper()))
    points = []
    for loop in loops_of(made.outline):
        ring = sampled(loop, 0.01)
        for (ax, ay), (bx, by) in zip(ring, [*ring[1:], ring[0]], strict=True):
            n = max(1, int(math.hypot(bx - ax, by - ay) * 2))
            points += [(ax + (bx - ax) * k / n, ay + (by - ay) * k / n) for k in range(n)]
    by_cell = {tile.cell: tile for tile in made.tiles}
    for row in range(made.rows):
        for column in range(made.columns):
            low, high = made.window(row, column)
            there = any(low[0] + 1 < x < high[0] - 1 and low[1] + 1 < y < high[1] - 1 for x, y in points)
            near = any(low[0] - 1 < x < high[0] + 1 and low[1] - 1 < y < high[1] + 1 for x, y in points)
            tile = by_cell.get((row, column))
            assert not there or (tile is not None and tile.lines)
            assert near or tile is None or not tile.lines


def test_a_hole_far_inside_is_joined_to_the_rim_by_tiles_that_hold_it():
    made = tiling(Outline(rectangle(1300, 1300), holes=(Loop(circle=(650, 650, 20)),)), page_of(Paper()))
    assert any(not tile.lines for tile in made.tiles)
    assert len(made.tiles) < made.rows * made.columns
    found, edge = {made.tiles[0].cell}, [made.tiles[0].cell]
    while edge:
        row, column = edge.pop()
        for step in ((1, 0), (-1, 0), (0, 1), (0, -1)):
            near = (row + step[0], column + step[1])
            if near in made.printed and near not in found:
                found.add(near)
                edge.append(near)
    assert found == made.printed


@pytest.mark.parametrize(("cells", "added"), [
    ({(0, 0), (0, 2)}, {(0, 1)}), ({(0, 0), (0, 1)}, set()), ({(0, 0), (3, 0)}, {(1, 0), (2, 0)})])
def test_the_fewest_tiles_join(cells, added):
    assert joined(cells) == cells | added


def test_both_tiles_of_a_joint_show_the_same_crosses_and_one_of_them_is_laid_on_the_other():
    made = tiling(Outline(rectangle(500, 700)), page_of(Paper()))
    assert len(made.tiles) > 4
    by_name = {tile.name: tile for tile in made.tiles}
    for tile in made.tiles:
        for seam in made.seams(tile):
            other = by_name[seam.neighbour]
            (back,) = [s for s in made.seams(other) if s.neighbour == tile.name]
            assert back.lies_on != seam.lies_on
            assert (back.start, back.end) == (pytest.approx(seam.start), pytest.approx(seam.end))
        near = [(round(x, 6), round(y, 6)) for other in made.tiles for x, y in made.crosses(other) if other != tile]
        for x, y in made.crosses(tile):
            assert tile.low[0] < x < tile.high[0] and tile.low[1] < y < tile.high[1]
            assert (round(x, 6), round(y, 6)) in near


@pytest.mark.parametrize(("row", "column", "name"), [(0, 0, "A1"), (25, 3, "Z4"), (26, 0, "AA1"), (52, 9, "BA10")])
def test_rows_are_letters_and_columns_numbers(row, column, name):
    assert cell_name(row, column) == name


def test_a_strip_is_turned_along_the_paper_and_a_slanting_one_across_it():
    assert len(tiling(Outline(rectangle(270, 60)), page_of(Paper())).tiles) == 1
    c, s = math.cos(math.radians(33)), math.sin(math.radians(33))
    corners = [(x * c - y * s, x * s + y * c, 0.0) for x, y in ((0, 0), (275, 0), (275, 150), (0, 150))]
    slanting = tiling(Outline(Loop(tuple(corners))), page_of(Paper()))
    assert len(slanting.tiles) == 1 and slanting.turn % 90 != 0


def test_a_roll_is_cut_to_the_piece():
    made = tiling(Outline(rectangle(800, 1200)), page_of(Paper(size="A0 roll")))
    assert len(made.tiles) == 1
    assert made.page.height < 1230 and made.page.width == 841


@settings(max_examples=20, deadline=None)
@given(st.floats(60, 700), st.floats(60, 700), st.floats(0.02, 0.49), papers)
def test_the_card_is_on_its_tile_and_off_every_line(w, h, share, paper):
    made = tiling(Outline(rounded(w, h, min(w, h) * share)), page_of(paper))
    for tile in made.tiles:
        x, y = card_at(made, tile)
        assert tile.low[0] <= x and x + 50 <= tile.high[0] and tile.low[1] <= y and y + 50 <= tile.high[1]
        for px, py in sampled(made.outline.outer, 0.05):
            assert not (x + 1 < px < x + 49 and y + 1 < py < y + 49)


@pytest.mark.parametrize(("measured", "up", "drawn"), [
    (50, None, (1, 1)), (49, None, (50 / 49, 50 / 49)), (49.5, 50.2, (50 / 49.5, 50 / 50.2))])
def test_what_the_square_measures_is_made_up_for(measured, up, drawn):
    assert page_of(Paper(measured=measured, measured_up=up)).drawn == pytest.approx(drawn)


def spread_out(draw_at, edge=(2440.0, 1220.0)):
    """Panels with a hole, their lower left corners at the places given, on a sheet."""
    return rectangle(*edge), [
        Outline(rectangle(310, 420, x, y), holes=(Loop(circle=(x + 150, y + 200, 60)),)) for x, y in draw_at]


places = st.lists(st.tuples(st.floats(0, 2100), st.floats(0, 790)), min_size=1, max_size=5)


@settings(max_examples=15, deadline=None)
@given(papers, places)
def test_every_line_of_a_sheets_pieces_is_on_a_printed_tile_and_no_tile_is_there_for_the_edge_alone(paper, at):
    """Brute force: lines sampled; the sheet's edge needs no tile of its own."""
    made = sheet_tiling(*spread_out(at), page_of(paper))
    points = [p for each in made.laid for loop in loops_of(each) for p in sampled(loop, 0.05)]
    for x, y in points:
        assert any(t.low[0] - SMALL <= x <= t.high[0] + SMALL and t.low[1] - SMALL <= y <= t.high[1] + SMALL
                   for t in made.tiles)
    boxes = [bounds(each.outer) for each in made.laid]
    for tile in made.tiles:
        assert any(a <= tile.high[0] and c >= tile.low[0] and b <= tile.high[1] and d >= tile.low[1]
                   for a, b, c, d in boxes), tile.name


def test_pieces_far_apart_on_a_sheet_are_groups_of_tiles_that_are_laid_by_measure():
    made = sheet_tiling(*spread_out([(20, 20), (2100, 780)]), page_of(Paper()))
    near = sheet_tiling(*spread_out([(20, 20), (400, 20)]), page_of(Paper()))
    assert [len(groups(each)) for each in (made, near)] == [2, 1]
    assert sum(map(len, groups(made))) == len(made.tiles) < made.rows * made.columns


def test_the_grid_of_a_sheet_begins_at_its_lower_left_corner_and_a_roll_ends_behind_the_last_piece():
    made = sheet_tiling(*spread_out([(20, 20)]), page_of(Paper(size="A3")))
    low_x, low_y, _, _ = bounds(made.outline.outer)
    assert 0 <= low_x - made.origin[0] < 1 and 0 <= low_y - made.origin[1] < 1
    roll = sheet_tiling(*spread_out([(20, 20), (350, 20)]), page_of(Paper(size="A0 roll")))
    assert len(roll.tiles) == 1
    assert roll.page.window[1] == pytest.approx(440 + 1, abs=0.01)
