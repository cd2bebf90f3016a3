"""Drawings of soles, hatches and molds: every sheet in its frame, no words on words, the letters of the sum on it."""

from pathlib import Path

import pytest

from moldplan import plan as chain
from moldplan.report import drawings
from moldplan.report.drawing import clashes
from moldplan.spec.load import read

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def sheets():
    made = chain.make(read(ROOT / "specs" / "small-hatch.yaml"), nest=False)
    return drawings.by_part(made)


def test_each_sole_and_hatch_has_its_sheets(sheets):
    assert set(sheets) == {"foredeck", "foredeck.bow hatch"}
    titles = " ".join(sheet.title for ones in sheets.values() for sheet in ones)
    assert all(words in titles for words in ("from above", "section at a high point", "section at a drain", "mold"))


def test_no_words_lie_on_anything(sheets):
    assert [clash for ones in sheets.values() for sheet in ones for clash in clashes(sheet)] == []


def test_the_letters_of_the_section_sum_are_dimensioned(sheets):
    words = [text.words for sheet in sheets["foredeck.bow hatch"] for text in sheet.texts()]
    # 24 + 12 = 36; + 22 = 58: the sum by hand
    assert {"A 36", "B 58", "a 25", "b 65", "c 62"} <= set(words)
