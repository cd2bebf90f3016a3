"""LP gas lockers: what the documents say of drain, outlet and locker, and what the gas itself is by its molar mass.

Figures   ISO 10239 through an MCA annex and class guidance (seen, the bore second-hand); UK Boat Safety Scheme part 7
          (seen); ABYC A-1 as reported (second-hand); 46 CFR 25.45-2, 169.703, 184.240 (seen).
Gas       molar masses and the gas constant; lower explosive limits as NIOSH prints them; worked rows agreed by two
          routes before they were written down.
"""

import math

import pytest

from moldplan.handbook.lookup import HandbookError, table
from moldplan.handbook.rules import YES, differences, limits_for, side_by_side
from moldplan.material.gas import (
    explosive_mass,
    gravity_outflow,
    largest_fill,
    least_explosive_mass,
    relative_density,
    vapour_density,
)

ISO, UK, ABYC = "iso 10239 as reported", "uk boat safety scheme", "abyc a-1 as reported"
NEW, OLD = {"built": "2010-06-01"}, {"built": "1999-12-31"}


@pytest.mark.parametrize(("rules", "quantity", "facts", "value", "unit", "read"), [
    (ISO, "gas drain bore", {}, 19, "mm", "second-hand"),  # LPG-01
    (ISO, "gas outlet height", {}, 75, "mm", "seen"),  # LPG-02
    (ISO, "gas outlet to openings", {}, 500, "mm", "seen"),  # LPG-04
    (UK, "gas drain bore", NEW, 19, "mm", "seen"),  # LPG-07
    (UK, "gas drain bore", {**OLD, "gas mass": 15}, 12, "mm", "seen"),
    (UK, "gas drain bore", {**OLD, "gas mass": 15.1}, 19, "mm", "ours"),  # the text is ambiguous: not interpreted
    (UK, "gas cylinders to openings", {"stowage": "deck"}, 1000, "mm", "seen"),  # LPG-10
    (UK, "gas fire resistance", {}, 30, "min", "seen"),  # LPG-11
    (ABYC, "gas drain bore", {}, 12.7, "mm", "second-hand"),  # LPG-13
    (ABYC, "gas outlet to openings", {}, 508, "mm", "second-hand"),
])
def test_a_published_figure_is_the_one_in_force(rules, quantity, facts, value, unit, read):
    (rule,) = limits_for([rules], quantity, facts)
    assert (rule.number, rule.unit, rule.sense, rule.source.how_read) == (value, unit, "at_least", read)
    assert rule.why_not_judged(facts) is None


@pytest.mark.parametrize("inch", [(12.7, 0.5), (508, 20)])
def test_inch_figures_are_stored_as_their_millimetres(inch):
    assert inch[0] == pytest.approx(inch[1] * 25.4, abs=1e-9)
    told = (*side_by_side("gas drain bore", NEW), *side_by_side("gas outlet to openings"))
    assert inch[0] in {rule.number for rule in told}


@pytest.mark.parametrize(("rules", "demands"), [
    (ISO, {"gas no pocket", "gas high vent", "gas tight", "gas opens on top", "gas passages sealed"}),
    (UK, {"gas high vent", "gas tight", "gas passages sealed", "gas cylinders upright"}),
    (ABYC, {"gas own line", "gas no pocket", "gas opens on top", "gas lid gasket", "gas lid latch"})])
def test_what_is_demanded_without_a_figure(rules, demands):
    """LPG-03, 05, 06; 08, 10; 13, 14."""
    for quantity in demands:
        (rule,) = limits_for([rules], quantity)
        assert (rule.unit, rule.number) == (YES, 1)


@pytest.mark.parametrize("rules", [ISO, UK, ABYC])
def test_all_have_the_outlet_under_the_floor(rules):
    assert [rule.number for rule in limits_for([rules], "gas outlet under floor")] == [0]


def test_the_federal_text_prints_no_drain_bore():
    """LPG-15: it sends the designer on."""
    assert limits_for(["46 cfr lp gas"], "gas drain bore") == ()
    assert "ABYC A-1 or NFPA 302" in limits_for(["46 cfr lp gas"], "gas rules named")[0].value


def test_an_old_boat_of_unknown_gas_is_told_what_it_depends_on():
    found = limits_for([UK], "gas drain bore", OLD)
    assert {rule.number for rule in found} == {12, 19}
    assert all("gas mass" in rule.why_not_judged(OLD) for rule in found)


def test_the_documents_differ_in_bore_height_and_distance():
    """The table of the three: 19, 19 (12), 12.7; 75, above, above; 500, -, 508."""
    told = {d.quantity: d for d in differences([ISO, UK, ABYC], NEW)}
    assert {q: {r.rules: r.number for r in d.rules} for q, d in told.items()} == {
        "gas drain bore": {ISO: 19, UK: 19, ABYC: 12.7},
        "gas outlet height": {ISO: 75, UK: 0, ABYC: 0},
        "gas outlet to openings": {ISO: 500, ABYC: 508}}
    assert told["gas drain bore"].strictest.number == 19
    assert told["gas outlet to openings"].strictest.rules == ABYC


def test_ours_is_no_looser_than_any_of_them():
    for quantity in ("gas drain bore", "gas outlet height", "gas outlet under floor", "gas outlet to openings"):
        (ours,) = limits_for([], quantity)
        assert ours.number >= max(rule.number for rule in side_by_side(quantity, NEW))
        assert ours.source.how_read == "ours"


@pytest.mark.parametrize(("bore", "area"), [(12.0, 113.10), (12.7, 126.68), (19.0, 283.53)])
def test_bores_and_areas(bore, area):
    from moldplan.check.outlet import round_bore

    assert round_bore(area) == pytest.approx(bore, abs=2e-4)


@pytest.mark.parametrize(("gas", "ratio"), [("propane", 1.5224), ("n-butane", 2.0067)])
def test_gas_01_density_over_airs_is_the_ratio_of_molar_masses(gas, ratio):
    assert relative_density(gas) == pytest.approx(ratio, abs=5e-5)


def test_the_molar_masses_are_sums_of_standard_atomic_weights():
    """Carbon 12.011, hydrogen 1.008 (abridged standard atomic weights): C3H8, C4H10."""
    carbon, hydrogen = 12.011, 1.008
    for gas, c, h in (("propane", 3, 8), ("n-butane", 4, 10)):
        mass = table("gas").number(gas, "molar mass", unit="g/mol")
        assert mass == pytest.approx(c * carbon + h * hydrogen, abs=2e-3)


@pytest.mark.parametrize(("gas", "density"), [("propane", 1.8649), ("air", 1.2250)])
def test_gas_03_vapour_density_at_15_deg(gas, density):
    assert vapour_density(gas) == pytest.approx(density, abs=5e-5)


def test_gas_04_and_05_a_kilogram_of_propane_as_vapour():
    assert 1 / vapour_density("propane") == pytest.approx(0.5362, abs=5e-5)
    liquid = table("gas").entry("propane", "density of the liquid")
    assert liquid.number / vapour_density("propane") == pytest.approx(272, abs=0.5)
    assert liquid.source.how_read == "remembered"


def test_gas_06_lower_explosive_limits():
    book = table("gas")
    assert book.number("propane", "lower explosive limit", unit="L/L") == 0.021
    assert book.number("n-butane", "lower explosive limit", unit="L/L") == 0.019
    assert book.number("lp gas", "short-term danger", unit="L/L") == 2000e-6
    assert book.number("lp gas", "exposure limit", unit="L/L") == 1000e-6


def test_gas_07_mass_to_the_lower_explosive_limit_of_a_locker():
    assert explosive_mass("propane", 250) == pytest.approx(9.79, abs=5e-3)
    assert least_explosive_mass(250) == pytest.approx(9.79, abs=5e-3)  # butane asks more: 4.75 L of 2.458 kg/m3
    assert explosive_mass("n-butane", 250) == pytest.approx(4.75 * 2.4581, abs=2e-3)


@pytest.mark.parametrize(("bore", "flow"), [(19, 16.75), (12.7, 7.48)])
def test_gas_08_outflow_of_pure_propane_by_its_weight(bore, flow):
    assert gravity_outflow("propane", head=400, bore=bore) == pytest.approx(flow, abs=5e-3)


def test_fill_03_a_cylinder_of_47_6_lb_of_water_takes_19_992_lb():
    """29 CFR 1910.110(b): 42 % by weight of water; the 47.6 lb are remembered."""
    assert largest_fill(47.6) == pytest.approx(19.992, abs=1e-9)


@pytest.mark.parametrize("wrong", [
    lambda: gravity_outflow("air", head=400, bore=19), lambda: gravity_outflow("propane", head=-1, bore=19),
    lambda: gravity_outflow("propane", head=math.nan, bore=19), lambda: explosive_mass("air", 10),
    lambda: explosive_mass("propane", -1), lambda: explosive_mass("propane", math.nan),
    lambda: vapour_density("propane", temperature=-100), lambda: vapour_density("hydrogen"),
    lambda: largest_fill(-1)])
def test_outside_its_range_a_figure_is_refused(wrong):
    with pytest.raises(HandbookError):
        wrong()
