"""Least gaps that do not crush a part of the body: EN 349, whose figures ISO 13854 carries on.

Figures   finger 25, toes 50, hand or fist 100, arm 120, foot 120, leg 180, head 300, body 500 mm.
Read      second-hand, in a page that reports the two standards: confirm the document before relying on them.
"""

import pytest

from moldplan.check.around import fingers, hand_at_valve
from moldplan.check.spot import Spot
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


@pytest.fixture(scope="module")
def standing(spec_with, shaped):
    """A function: a bottle of 160 mm with a valve of 60 mm in a locker, its axis so far from the aft wall [mm].

    The other walls stand so far from the axis as `others` says: forward, port, starboard.
    """

    def make(aft, others=(400, 400, 400)):
        forward, port, starboard = others
        spec = spec_with(
            cylinders={"bottle": {"diameter": 160, "height": 500, "valve": {"diameter": 60, "height": 80}}},
            lockers={"locker": {"box": {"from": [0, 0, 0], "to": [aft + forward, port + starboard, 900]}}},
            cradles={"block": {
                "locker": "locker", "at": [aft - 95, starboard - 95], "block": [190, 190, 80],
                "seats": {"bottle": {"depth": 36, "clearance_per_side": 3, "straps": 0}}}})
        bodies = shaped(spec)
        return Spot(bodies, bodies.stands[0], spec), bodies.rooms["locker"]

    return make


@pytest.mark.parametrize(("aft", "gap", "fails"), [
    (80 + 25.01, 25.01, False), (80 + 24.99, 24.99, True), (80 + 60, 60.0, False)])
def test_fingers_are_judged_at_25_mm_from_the_wall(standing, aft, gap, fails):
    """By hand: the nearest wall is the distance of the axis less the radius, 80 mm, away from the bottle."""
    found = fingers(*standing(aft))
    assert found.measured == pytest.approx(gap, abs=1e-6)
    assert (found.limit, found.verdict == "fails") == (25, fails)
    assert found.source.document == "EN 349 / ISO 13854"


@pytest.mark.parametrize(("wide", "gap", "fails"), [(30 + 100.01, 100.01, False), (30 + 99.99, 99.99, True)])
def test_a_fist_is_judged_at_100_mm_on_the_widest_side_of_the_valve(standing, wide, gap, fails):
    """By hand: the widest side is the distance of the axis less half the valve, 30 mm, away from it."""
    (found,) = hand_at_valve(*standing(120, (wide, 125, 120)))
    assert found.measured == pytest.approx(gap, abs=1e-6)
    assert (found.limit, found.verdict == "fails") == (100, fails)
    assert found.source.document == "EN 349 / ISO 13854"
