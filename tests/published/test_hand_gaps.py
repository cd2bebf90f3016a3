"""Least gaps that do not crush a part of the body: EN 349, whose figures ISO 13854 carries on.

Figures   finger 25, toes 50, hand or fist 100, arm 120, foot 120, leg 180, head 300, body 500 mm.
Read      second-hand, in a page that reports the two standards: confirm the document before relying on them.
"""

import pytest

from moldplan.handbook.lookup import limit, table

FIGURES = {"finger": 25, "toes": 50, "hand": 100, "arm": 120, "foot": 120, "leg": 180, "head": 300, "body": 500}


@pytest.mark.parametrize(("part", "gap"), FIGURES.items())
def test_the_handbook_carries_the_published_gap(part, gap):
    row = table("gaps").entry(part, "gap")
    assert table("gaps").number(part, "gap", unit="mm") == gap
    assert row.source.document == "EN 349 / ISO 13854" and row.source.how_read == "second-hand"


def test_it_carries_no_gap_that_was_not_published():
    assert set(table("gaps").names()) == set(FIGURES)


@pytest.mark.parametrize(("name", "part"), [("finger-gap", "finger"), ("hand-gap", "hand")])
def test_what_findings_are_held_against_is_the_published_gap(name, part):
    found = limit(name)
    assert (found.value, found.unit, found.sense) == (FIGURES[part], "mm", "at_least")
    assert found.source.document == "EN 349 / ISO 13854" and found.source.how_read == "second-hand"
