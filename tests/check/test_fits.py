"""Alternatives: each put in the planned one's place and judged on the same gaps."""

import math

import pytest

from moldplan.check.fits import fits, swapped
from moldplan.check.judge import judge
from moldplan.check.seated import seated
from moldplan.check.spot import Spot

BOTTLE = {"diameter": 100, "height": 200, "knuckle_radius": 20, "contents": "lp gas"}


def with_other(**changes):
    return {"cylinders/b/or": ["other"], "cylinders/other": {**BOTTLE, **changes}}


def test_without_alternatives_there_is_no_table(seat):
    assert fits(seat().assembly, seat().spec) == ((), ())


def test_a_row_for_the_planned_one_and_for_each_alternative(seat):
    spot = seat(with_other(diameter=96))
    rows, (found,) = fits(spot.assembly, spot.spec)
    assert [(row["cylinder"], row["fits"]) for row in rows] == [("b", True), ("other", True)]
    assert found.what == "other"
    assert found.verdict != "fails"


@pytest.mark.parametrize("diameter", [92, 100, 104])
def test_its_wall_gap_is_its_own(seat, diameter):
    spot = seat(with_other(diameter=diameter, knuckle_radius=0))
    changed, stand = swapped(spot.assembly, spot.stand, "other", spot.spec.cylinders["other"])
    wall = next(f for f in seated(Spot(changed, stand, spot.spec)) if f.what == "wall")
    allowance = Spot(changed, stand, spot.spec).allowance
    slant = math.radians(4)
    above = 8 * (1 - math.sin(slant)) * math.tan(slant)  # the wall begins over the fillet of 8 mm
    paint = 0.3 * (1 - math.cos(slant))  # taken off square to the wall, where the nearest point lies across
    assert wall.measured + allowance == pytest.approx(54 + above - diameter / 2 - paint, abs=2e-6)
    assert spot.assembly.body(spot.stand.body) is not changed.body(stand.body)


def test_one_that_is_too_wide_fails_and_says_where(seat):
    spot = seat(with_other(diameter=109))
    rows, (found,) = fits(spot.assembly, spot.spec)
    assert rows[1]["fits"] is False
    assert rows[1]["where"] == "wall"
    assert found.verdict == "fails"
    assert "does not fit" in found.note
    assert found.moves


def test_one_that_is_too_tall_fails_at_the_lid(seat, in_locker):
    spot = seat({**in_locker(), **with_other(height=380)})
    rows, (found,) = fits(spot.assembly, spot.spec)
    assert rows[1]["where"] == "lid"
    assert found.verdict == "fails"


def test_judge_hands_on_rows_and_findings_once(seat):
    spot = seat(with_other(diameter=96))
    judged = judge(spot.assembly, spot.spec)
    ids = [f.id for f in judged.findings]
    assert len(ids) == len(set(ids))
    assert len(judged.fits) == 2
    assert {f.check for f in judged.findings} >= {"clearance", "draft", "fits", "limber", "secured", "stack"}
    assert all(f.note or f.skipped for f in judged.findings)
    assert all(f.at for f in judged.findings if f.verdict != "not judged" and f.what != "undercut")
