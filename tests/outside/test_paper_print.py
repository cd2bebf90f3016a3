"""1:1 patterns as a printer would put them down: drawn by poppler's pdftoppm at 300 dpi, then measured in pixels.

A pixel is 0.085 mm; the middle of a line is found to a small part of that from its grey edges.
"""

import json
import math
import subprocess

import numpy as np
import pytest
from PIL import Image

from moldplan.cut.batten import lengthwise, offsets
from moldplan.cut.paper import page_of, tiling
from moldplan.cut.paper_card import card_at
from moldplan.cut.piece import Loop, Outline, Piece, Placed, Sheet
from moldplan.report import paper
from moldplan.report.paper_ink import pdf
from moldplan.report.paper_sheet import pattern
from moldplan.report.paper_tile import Job
from moldplan.spec.paper import Paper

DPI = 300
PX = DPI / 25.4
WIDE, HIGH, RADIUS, HOLE = 330.0, 400.0, 60.0, (230.0, 120.0)


def drawn(path, folder):
    """Every page as an array of ink, 0 white to 1 black."""
    done = subprocess.run(["pdftoppm", "-r", str(DPI), "-gray", str(path), str(folder / path.stem)],
                          capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    return [1 - np.asarray(Image.open(page), dtype=float) / 255 for page in sorted(folder.glob(f"{path.stem}-*.pgm"))]


def middle(ink, low, high):
    """Middle of the line in a strip of pixels, along the strip's first axis [px]; the strip holds one line."""
    run = ink[round(low) : round(high)].mean(axis=1)
    assert run.max() > 0.3, "no line where one is due"
    return round(low) + 0.5 + float((run * np.arange(len(run))).sum() / run.sum())


def across(page, x, y0, y1, reach=1.5):
    """Where an upright line crosses, near x, between two heights [mm from the upper left corner]."""
    return middle(page[round(y0 * PX) : round(y1 * PX)].T, (x - reach) * PX, (x + reach) * PX) / PX


def down(page, y, x0, x1, reach=1.5):
    """Where a level line lies, near y, between two places across [mm from the upper left corner]."""
    return middle(page[:, round(x0 * PX) : round(x1 * PX)], (y - reach) * PX, (y + reach) * PX) / PX


@pytest.fixture(scope="module", params=[(50.0, 50.0), (49.0, 50.5)], ids=["as it is", "corrected"])
def printed(request, tmp_path_factory):
    """A plate with a round hole on A4, its tiling, its pages as ink, how much larger they are to be."""
    outline = Outline(Loop(((0, 0, 0), (WIDE, 0, 0), (WIDE, HIGH, 0), (0, HIGH, 0))),
                      holes=(Loop(circle=(*HOLE, RADIUS)),))
    one = Piece(id="P1", body="plate", part="plate", path=(), stock="foam", thickness=20, outline=outline, cut=outline,
                area=1, outline_length=1, forward=0.0, bodies=("plate",))
    asked = Paper(measured=request.param[0], measured_up=request.param[1])
    made = tiling(outline, page_of(asked))
    folder = tmp_path_factory.mktemp("pages")
    pdf(paper.sheets(Job("Plate", "A"), one, made, offsets(one, lengthwise(one, made.turn)), asked), folder / "p.pdf",
        title="plate")
    return made, drawn(folder / "p.pdf", folder)[1:], tuple(50 / each for each in request.param)


def on_page(made, tile, point):
    """A point of the turned piece, mm across and down the page as it should be printed."""
    page = made.page
    u, v = point[0] - tile.low[0] + page.margin[0], point[1] - tile.low[1] + page.margin[1]
    return (u * page.drawn[0], (page.height - v) * page.drawn[1])


def test_the_page_is_a4(printed):
    _, pages, _ = printed
    for page in pages:
        assert page.shape == pytest.approx((297 * PX, 210 * PX), abs=1.0)


def test_the_square_measures_50_mm_both_ways(printed):
    made, pages, (wide, high) = printed
    for tile, page in zip(made.tiles, pages, strict=False):
        left, low = on_page(made, tile, card_at(made, tile))
        right, top = left + 50 * wide, low - 50 * high
        measured = across(page, right, top + 20, top + 24, 0.8) - across(page, left, top + 20, top + 24, 0.8)
        assert measured == pytest.approx(50 * wide, abs=0.06), tile.name
        measured = down(page, low, left + 20, left + 24, 0.8) - down(page, top, left + 20, left + 24, 0.8)
        assert measured == pytest.approx(50 * high, abs=0.06), tile.name


def test_joined_at_their_seams_the_tiles_give_the_plate_its_length_and_width(printed):
    """From one side of the plate to the seam on one tile, and from the seam to the other side on the next."""
    made, pages, (wide, high) = printed
    assert (made.rows, made.columns) == (2, 2)
    by_cell = {tile.cell: page for tile, page in zip(made.tiles, pages, strict=False)}
    tiles = {tile.cell: tile for tile in made.tiles}
    turned = made.turn % 180 == 90
    size = (HIGH, WIDE) if turned else (WIDE, HIGH)
    xs, ys = zip(*((x, y) for x, y, _ in made.outline.outer.vertices), strict=True)

    def seam(tile, side):
        (found,) = [s for s in made.seams(tile) if s.side == side]
        return found.start

    left, right = tiles[0, 0], tiles[0, 1]
    y = on_page(made, left, (0, (max(ys) + left.low[1]) / 2))[1]
    total = 0.0
    for tile, side, edge, way in ((left, "right", min(xs), 1), (right, "left", max(xs), -1)):
        page = by_cell[tile.cell]
        joint = across(page, on_page(made, tile, seam(tile, side))[0], y, y + 40, 0.5)
        total += way * (joint - across(page, on_page(made, tile, (edge, 0))[0], y, y + 40))
    assert total == pytest.approx(size[0] * wide, abs=0.1)

    upper, lower = tiles[0, 0], tiles[1, 0]
    x = on_page(made, upper, ((min(xs) + upper.high[0]) / 2, 0))[0]
    total = 0.0
    for tile, side, edge, way in ((upper, "lower", max(ys), 1), (lower, "upper", min(ys), -1)):
        page = by_cell[tile.cell]
        joint = down(page, on_page(made, tile, seam(tile, side))[1], x, x + 30, 0.5)
        total += way * (joint - down(page, on_page(made, tile, (0, edge))[1], x, x + 30))
    assert total == pytest.approx(size[1] * high, abs=0.1)


def test_the_hole_is_round_and_of_its_radius_on_every_tile(printed):
    made, pages, (wide, high) = printed
    (hole,) = made.outline.holes
    x, y, r = hole.circle
    seen = 0
    for tile, page in zip(made.tiles, pages, strict=False):
        cx, cy = on_page(made, tile, (x, y))
        for k in range(0, 360, 3):
            way = (math.cos(math.radians(k)), math.sin(math.radians(k)))
            spot = (x + r * way[0], y + r * way[1])
            if not (tile.low[0] + 12 < spot[0] < tile.high[0] - 12 and tile.low[1] + 12 < spot[1] < tile.high[1] - 12):
                continue  # near a seam, its crosses and its words
            # along the ray from the middle: ink from 2 mm inside the line to 2 mm outside it
            reach = np.arange(r - 2, r + 2, 0.02)
            ink = page[((cy - reach * way[1] * high) * PX).astype(int), ((cx + reach * way[0] * wide) * PX).astype(int)]
            assert float((ink * reach).sum() / ink.sum()) == pytest.approx(r, abs=0.08), (tile.name, k)
            seen += 1
    assert seen > 80


def test_what_is_cut_is_drawn_wide_enough_for_a_poor_printer(printed):
    """0.5 mm of ink at least, across the plate's side."""
    made, pages, _ = printed
    xs, ys = zip(*((x, y) for x, y, _ in made.outline.outer.vertices), strict=True)
    tile, page = made.tiles[0], pages[0]
    x, y = on_page(made, tile, (min(xs), max(ys) - 30))
    ink = page[round(y * PX) : round((y + 10) * PX), round((x - 1.2) * PX) : round((x + 1.2) * PX)]
    assert ink.sum(axis=1).min() / PX >= 0.5


@pytest.fixture(scope="module")
def sheet_printed(tmp_path_factory):
    """Two plates as nested, 240 apart, on a sheet of 900 x 600, on A4 drawn up for a square of 49.5 by 50.5."""
    outline = Outline(Loop(((0, 0, 0), (180, 0, 0), (180, 240, 0), (0, 240, 0))))
    one = Piece(id="P1", body="plate", part="plate", path=(), stock="foam", thickness=20, outline=outline, cut=outline,
                area=1, outline_length=1, bodies=("left", "right"), quantity=2)
    placed = tuple(Placed(piece="P1", copy=n, x=x, y=30, turn=0) for n, x in ((1, 20), (2, 440)))
    asked = Paper(measured=49.5, measured_up=50.5)
    given = pattern(Sheet(stock="foam", number=1, size=(900, 600), placed=placed, used=0.2), [one], page_of(asked),
                    grain=False)
    folder = tmp_path_factory.mktemp("sheet")
    pdf(paper.sheet_pages(Job("Plates", "A"), given, asked), folder / "s.pdf", title="sheet")
    return given, drawn(folder / "s.pdf", folder), asked


def test_pieces_of_a_sheet_lie_where_the_card_says_and_as_wide_as_they_are(sheet_printed):
    """From the corner bracket, whose place on the sheet the card has, to a plate's side: measured on the page."""
    given, (first, *pages), asked = sheet_printed
    assert given.tiling.turn == 0
    wide, high = 50 / asked.measured, 50 / asked.measured_up
    seen = set()
    for tile, page in zip(given.tiling.tiles, pages, strict=True):
        assert first.shape == page.shape == pytest.approx((297 * PX, 210 * PX), abs=1.0)
        left, top = on_page(given.tiling, tile, (tile.low[0], tile.high[1]))
        for side in (20, 200, 440, 620):
            if not tile.low[0] + 12 < side < tile.high[0] - 12:
                continue
            x = on_page(given.tiling, tile, (side, 0))[0]
            y0, y1 = (on_page(given.tiling, tile, (0, y))[1] for y in (150, 130))
            if top + 15 < y0 < y1 < page.shape[0] / PX - 15:
                measured = (across(page, x, y0, y1) - left) / wide + given.on_sheet(tile.low)[0]
                assert measured == pytest.approx(side, abs=0.08), (tile.name, side)
                seen.add(side)
        for level in (30, 270):
            if tile.low[1] + 12 < level < tile.high[1] - 12 and tile.low[0] < 60 and tile.high[0] > 110:
                y = on_page(given.tiling, tile, (0, level))[1]
                x0, x1 = (on_page(given.tiling, tile, (x, 0))[0] for x in (60, 80))
                low = on_page(given.tiling, tile, tile.low)[1]
                measured = (low - down(page, y, x0, x1)) / high + given.on_sheet(tile.low)[1]
                assert measured == pytest.approx(level, abs=0.08), (tile.name, level)
                seen.add(-level)
    assert seen == {20, 200, 440, 620, -30, -270}


def test_tiles_of_bare_sheet_are_not_printed_and_each_page_has_its_square(sheet_printed):
    given, pages, asked = sheet_printed
    assert len(given.tiling.tiles) < given.tiling.rows * given.tiling.columns
    assert len(pages) == 1 + len(given.tiling.tiles)
    for tile, page in zip(given.tiling.tiles, pages[1:], strict=True):
        left, low = on_page(given.tiling, tile, card_at(given.tiling, tile))
        right, top = left + 50 * 50 / asked.measured, low - 50 * 50 / asked.measured_up
        found = across(page, right, top + 20, top + 24, 0.8) - across(page, left, top + 20, top + 24, 0.8)
        assert found == pytest.approx(50 * 50 / asked.measured, abs=0.06), tile.name
        found = down(page, low, left + 20, left + 24, 0.8) - down(page, top, left + 20, left + 24, 0.8)
        assert found == pytest.approx(50 * 50 / asked.measured_up, abs=0.06), tile.name


def test_a_square_of_another_size_is_not_taken_for_one_of_50_mm(printed):
    """The finder below, tried on pages that are drawn 2 % wider and 1 % lower."""
    _, pages, (wide, high) = printed
    assert _square(pages[0] > 0.5) == (wide == high == 1)


def test_every_page_of_a_plan_holds_a_square_of_50_mm(built, tmp_path):
    """Found without knowing where: two level and two upright lines of 50 mm that close, to a pixel."""
    folder = built["quarter-locker"]
    pieces = json.loads((folder / "plan.json").read_text(encoding="utf-8"))["pieces"]
    files = sorted((folder / "paper").glob("*.pdf"))
    assert len(files) == len(pieces)
    for file in files:
        for number, page in enumerate(drawn(file, tmp_path), 1):
            assert _square(page > 0.5), f"{file.name}, page {number}"


def _square(dark):
    side = round(50 * PX)
    sums = np.cumsum(np.pad(dark.astype(int), ((0, 0), (1, 0))), axis=1)
    level = sums[:, side:] - sums[:, :-side] >= side - 1  # a level run of 50 mm that begins at this pixel
    sums = np.cumsum(np.pad(dark.astype(int), ((1, 0), (0, 0))), axis=0)
    upright = sums[side:] - sums[:-side] >= side - 1
    rows, columns = upright.shape[0], level.shape[1]
    for slip in (-1, 0, 1):
        for lean in (-1, 0, 1):
            tall, long = side + slip, side + lean
            r, c = min(rows, dark.shape[0] - tall), min(columns, dark.shape[1] - long)
            corner = level[:r, :c] & level[tall : tall + r, :c] & upright[:r, :c] & upright[:r, long : long + c]
            if corner.any():
                return True
    return False
