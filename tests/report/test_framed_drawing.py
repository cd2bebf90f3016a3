"""The drawing of an insert that is built of frames: readable, its numbers those of the circles it is made of."""

import math
from dataclasses import replace
from functools import cache

import pytest

from moldplan.report.drawing import Region, clashes
from moldplan.report.section import seat as seat_sheets
from moldplan.report.tables import MATERIALS, material_rows

SLANT = math.radians(4)
COVERING, DEEP, FILLET = 4.0, 72.0, 8.3  # the fillet of M: 8 finished, 0.3 of paint more
FLOOR = 104 + 0.3 * (1 - math.sin(SLANT)) / math.cos(SLANT)  # radius of M where its wall would meet its floor
MOUTH = FLOOR + DEEP * math.tan(SLANT)


@pytest.fixture(scope="module")
def framed(seat, framed_seat):
    """A function: a plan of one seat with an insert of frames, in mm or inches."""
    resolved, assembly = framed_seat()

    def make(units="mm"):
        spec = resolved.spec.model_copy(update={"units": units})
        return replace(seat, spec=spec, assembly=assembly, chains=assembly.chains, pieces=(), layout=None)

    return make


@pytest.fixture(scope="module")
def sheet(framed):
    """A function: the insert's sheet, drawn once in each unit."""
    @cache
    def make(units="mm"):
        plan = framed(units)
        return next(s for s in seat_sheets(plan, plan.assembly.stands[0]) if "insert" in s.title)

    return make


@pytest.mark.parametrize("units", ["mm", "inch"])
def test_no_words_stand_on_a_line_and_all_are_large_enough(sheet, units):
    assert clashes(sheet(units)) == []
    small = {text.words for text in sheet(units).texts() if text.size < 10 * 25.4 / 72}
    assert small <= {"Title", "Drawing", "Part", "Hand", "Rev.", "Scale", "Units", "Sheet"}


def test_frames_are_listed_in_the_order_of_setting_up_with_the_chords_they_are_cut_to(sheet, framed):
    words = [text.words for text in sheet().texts()]
    body = framed().assembly.body("k.b frame athwart 1")
    off = abs(body.frame.origin[0] + 4.5 - 160)
    radius = MOUTH - COVERING / math.cos(SLANT)  # of the circle under the covering at the mouth
    length = f"{2 * math.sqrt(radius**2 - (off + 4.5) ** 2):.1f}".removesuffix(".0")
    first, second = words.index("athwart 1 and 2"), words.index("fore and aft 1 and 2")
    assert words[first + 1: first + 5] == [length, f"{DEEP - COVERING:g}", f"{off:.1f}".removesuffix(".0"),
                                           "up: stand first"]
    assert words[second + 1: second + 5] == [*words[first + 1: first + 4], "down: go over them"]
    assert first < second


def test_it_says_how_the_frames_are_put_up_and_covered(sheet):
    said = " ".join(text.words for text in sheet().texts())
    for what in ("mouth down on a flat board", "stand the athwart frames", "4 mm thick, normal to the surface",
                 "air hole of 6 mm", "Frames of ply 9", "covering 4", f"Ø {2 * MOUTH:.1f} mouth"):
        assert what in said, what


def test_frames_are_hatched_as_board_and_the_covering_is_black(sheet):
    regions = [mark for mark in sheet().marks if isinstance(mark, Region)]
    board = [len(region.loops) for region in regions if region.material == "board"]
    # cut through the axis: the two frames athwart; at the mouth these whole, the others in three pieces between slits
    assert sorted(board) == [1, 1, 1, 1, 3, 3]
    assert {region.material for region in regions} == {"board", "skin"}


def test_the_covering_is_in_the_table_of_materials(framed):
    (row,) = (dict(zip(MATERIALS, row, strict=True)) for row in material_rows(framed()) if row[1] == "covering")
    assert row["stock"] == "covering of k.b insert" and row["thickness mm"] == 4
    turn, flat = math.pi / 2 - SLANT, FLOOR - FILLET * math.tan(math.radians(43))
    round_ = 2 * math.pi * FILLET * (flat * turn + FILLET * (1 - math.cos(turn)))
    low, up = flat + FILLET * math.sin(turn), FILLET * (1 - math.cos(turn))
    wall = math.pi * (low + MOUTH) * math.hypot(MOUTH - low, DEEP - up)
    area = math.pi * (flat**2 - 3**2) + round_ + wall  # less the air hole
    assert row["area of pieces m2"] == pytest.approx(area / 1e6, abs=0.0006)  # printed to 0.001


def test_an_insert_of_discs_has_no_covering_to_buy(seat):
    assert not [row for row in material_rows(seat) if row[1] == "covering"]
