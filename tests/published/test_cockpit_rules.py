"""Cockpits, wells and freeing ports: 46 CFR 178.420, 178.450, 179.360 and 171.150 (seen), French Division 245 (seen),
Large Yacht Code LY3 (seen), ISO 11812 as remembered. Worked figures by hand from the printed formulas.

The metric form of 178.450 is printed with its factor upside down; the inch form is the one held here.
"""

import math

import pytest

from moldplan.check.freeing import (
    CM2,
    METRIC,
    Well,
    basic_area,
    basic_area_metric,
    bulwark_area,
    drains_needed,
    remembered_emptying_time,
    required_area,
)
from moldplan.handbook.lookup import HandbookError, table
from moldplan.handbook.rules import differences, limits_for

FOOT = 304.8  # mm
WX_1 = (36, Well(length=8, height=1.5, deck=72, structure=6), None)
WX_2 = (45, Well(length=10, height=2, deck=100), Well(length=12, height=1, deck=60, structure=4))


def test_wx_1_a_recess_of_102_cubic_feet():
    assert WX_1[1].volume == 102
    assert basic_area(*WX_1) == pytest.approx(34.0, rel=1e-9)
    assert basic_area(*WX_1) * CM2 == pytest.approx(219.354, abs=5e-4)


def test_wx_2_a_recess_and_a_weather_deck():
    assert basic_area(*WX_2) == pytest.approx(89.0666667, rel=1e-7)
    assert basic_area(*WX_2) * CM2 == pytest.approx(574.62, abs=5e-3)


@pytest.mark.parametrize(("route", "area", "small", "large"), [
    ("exposed", 34.0, 20, 11), ("partially protected", 17.0, 10, 6), ("protected", 3.40, 2, 2)])
def test_wx_1_by_waters_and_in_round_drains_of_1_5_and_2_inches(route, area, small, large):
    found = required_area(basic_area(*WX_1), route)
    assert found == pytest.approx(area, rel=1e-9)
    assert (drains_needed(found, 1.5), drains_needed(found, 2)) == (small, large)


def test_the_metric_form_divides_and_gives_what_the_inch_form_does():
    """28316.846592 cm3 in a cubic foot over 6.4516 cm2 in a square inch: 4389.12, to divide by."""
    assert pytest.approx(30.48**3 / 2.54**2, rel=1e-12) == METRIC == pytest.approx(4389.12, abs=1e-9)
    litres = FOOT**3 / 1e6
    for length, *wells in (WX_1, WX_2):
        metric = basic_area_metric(length * FOOT, *((w.length * FOOT, w.volume * litres) for w in wells if w))
        assert metric == pytest.approx(basic_area(length, *wells) * CM2, rel=1e-9)


def test_wx_3_a_bulwark_of_15_inches_is_interpolated():
    assert bulwark_area(height=15, length=10) == pytest.approx(60.0, rel=1e-9)
    assert bulwark_area(height=15, length=10) * CM2 == pytest.approx(387.10, abs=5e-3)


@pytest.mark.parametrize(("height", "area"), [(6, 2), (12, 4), (18, 8), (24, 12), (30, 16), (36, 20), (33, 18)])
def test_171_150_by_height(height, area):
    assert bulwark_area(height=height, length=1) == pytest.approx(area, rel=1e-12)


@pytest.mark.parametrize(("height", "metric"), [(6, 42.33), (36, 423.33)])
def test_wx_4_square_inches_a_foot_in_square_centimetres_a_metre(height, metric):
    assert bulwark_area(height=height, length=1) * CM2 / 0.3048 == pytest.approx(metric, abs=5e-3)


def one(rules, quantity, **facts):
    (rule,) = limits_for([rules], quantity, facts)
    return rule


@pytest.mark.parametrize(("route", "coaming"), [("exposed", 150), ("partially protected", 150), ("protected", 75)])
def test_179_360_coamings_by_waters(route, coaming):
    assert one("46 cfr 179", "coaming height", route=route).number == coaming


def test_178_420_floors_stand_255_mm_up_where_the_waters_are_open():
    for route in ("exposed", "partially protected"):
        assert one("46 cfr 178", "cockpit floor height", route=route).number == 255
    assert limits_for(["46 cfr 178"], "cockpit floor height", {"route": "protected"}) == ()


@pytest.mark.parametrize(("category", "floor"), [("A", 150), ("B", 100), ("C", 75), ("D", 50)])
def test_cockpit_floors_by_category_seen_in_one_document_and_remembered_of_the_other(category, floor):
    seen = one("french division 245", "cockpit floor height", category=category)
    remembered = one("iso 11812 as remembered", "cockpit floor height", category=category)
    assert seen.number == remembered.number == floor
    assert seen.why_not_judged({"category": category}) is None
    assert "remembered" in remembered.why_not_judged({"category": category})


@pytest.mark.parametrize(("category", "craft", "sill", "rules"), [
    ("A", "monohull sail", 300, "french division 245"), ("A", "other", 200, "french division 245"),
    ("B", "monohull sail", 250, "french division 245"), ("B", "other", 150, "french division 245"),
    ("C", "monohull sail", 150, "iso 11812 as remembered"), ("C", "other", 100, "iso 11812 as remembered"),
    ("D", "monohull sail", 50, "iso 11812 as remembered"), ("D", "other", 50, "iso 11812 as remembered")])
def test_sills_by_category_and_craft(category, craft, sill, rules):
    assert one(rules, "sill height", category=category, craft=craft).number == sill


def test_division_245_asks_for_two_drains_of_25_mm_that_empty_nine_tenths_heeled():
    assert one("french division 245", "drain count").number == 2
    assert one("french division 245", "drain bore").number == 25
    assert one("french division 245", "emptied share").number == 0.9
    assert one("french division 245", "emptying heel", craft="monohull sail").number == 30
    assert one("french division 245", "emptying heel", craft="other").number == 10


def test_ly3_empties_a_recess_in_three_minutes_and_iso_is_only_remembered_to_say_five():
    told = {d.quantity: d for d in differences(["large yacht code ly3", "iso 11812 as remembered"])}
    assert {r.rules: r.number for r in told["emptying time"].rules} == {
        "large yacht code ly3": 180, "iso 11812 as remembered": 300}
    assert told["emptying time"].strictest.rules == "large yacht code ly3"


@pytest.mark.parametrize("category", ["A", "B", "C", "D"])
def test_coc_08_all_categories_of_the_worked_cockpit_meet_the_remembered_cap(category):
    """V 1.08 m3, 10 x 3.2 x 1.1 m: k = 0.030682, so that 0.3 / k is 9.8 min already; capped at 5."""
    sizes = {"cockpit": 1.08, "length": 10, "beam": 3.2, "freeboard": 1.1}
    assert remembered_emptying_time(category, **sizes) == 300
    rule = one("iso 11812 as remembered", "emptying time factor", category=category)
    assert rule.number == {"A": 0.3, "B": 0.4, "C": 0.6, "D": 0.9}[category] and rule.source.how_read == "remembered"


def test_coc_08_a_large_cockpit_is_under_the_cap_by_hand():
    """k = 6 / 35.2; 0.3 min / k = 1.76 min = 105.6 s."""
    assert remembered_emptying_time("A", cockpit=6, length=10, beam=3.2, freeboard=1.1) == pytest.approx(105.6)


@pytest.mark.parametrize(("bore", "slope", "code"), [
    (38, 1 / 48, "international plumbing code"), (76.2, 1 / 96, "international plumbing code"),
    (203.2, 1 / 192, "international plumbing code"), (76.2, 1 / 48, "international residential code"),
    (101.6, 1 / 96, "international residential code")])
def test_falls_of_drainage_pipes_ashore_by_bore(bore, slope, code):
    """FALL-01, FALL-02: a quarter, an eighth, a sixteenth of an inch a foot; the two codes differ at 3 in."""
    assert one(code, "pipe fall", bore=bore).number == pytest.approx(slope, rel=1e-8)


def test_freeing_ports_of_two_smaller_codes():
    assert one("uk inland passenger boats", "freeing port area", category="D").number == 225
    assert one("small vessel code as reported", "freeing area share").number == 0.05
    assert one("small vessel code as reported", "freeing area share").source.how_read == "second-hand"


def test_171_150_and_178_450_were_seen():
    assert {row.source.how_read for row in table("freeing_ports").rows.values()} == {"seen"}


@pytest.mark.parametrize("wrong", [
    lambda: bulwark_area(height=5.9, length=1), lambda: bulwark_area(height=36.1, length=1),
    lambda: bulwark_area(height=math.nan, length=1), lambda: bulwark_area(height=12, length=-1),
    lambda: basic_area(0, WX_1[1]), lambda: basic_area(7, WX_1[1]),
    lambda: basic_area(36, Well(length=8, height=1, deck=2, structure=3)),
    lambda: basic_area(36, Well(length=8, height=math.nan, deck=2)), lambda: basic_area_metric(5000, (6000, 10)),
    lambda: required_area(34, "sheltered"), lambda: required_area(math.nan, "exposed"),
    lambda: drains_needed(10, 0), lambda: remembered_emptying_time("A", cockpit=0, length=1, beam=1, freeboard=1)])
def test_outside_its_range_a_formula_refuses(wrong):
    with pytest.raises(HandbookError):
        wrong()
