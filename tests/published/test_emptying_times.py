"""Emptying: the prismatic closed form (ORI-04 to -06), published and remembered times (COC rows), gas (GAS-08).

t = 2 A (sqrt(h0 + H) - sqrt(h1 + H)) / (n Cd a sqrt(2g)). Large Yacht Code LY3 6.3 (seen): a full recess empties in
3 min, upright. ISO 11812:2001 is remembered, never judged by.
"""

import math

import pytest

from moldplan.check.emptying import Outlet, empty, opening, prism, time_to_fill
from moldplan.check.emptying_times import Hull, beside, published_times, share_left
from moldplan.check.flow_gas import gas_emptying, gas_outflow, gas_outlet
from moldplan.check.flow_rain import rain_flow

AREA, SILL = 2.4e6, 300  # mm2, mm: a cockpit of 2.0 x 1.2 m


def holes(count, bore, drop=0.0):
    return [opening("drains", level=0, bore=bore, discharge=0.61, drop=drop, count=count)]


@pytest.mark.parametrize(("count", "bore", "all_of_it", "to_100"), [
    (2, 25, 991.3, 419.0), (2, 38, 429.05, 181.34), (4, 38, 214.53, 90.67), (2, 50, 247.82, 104.74),
    (2, 50.8, 240.08, 101.47)])
def test_ori_04_a_cockpit_with_sharp_drains(count, bore, all_of_it, to_100):
    basin = prism(AREA, sill=SILL)
    assert empty(basin, holes(count, bore)).seconds == pytest.approx(all_of_it, abs=0.06)
    assert empty(basin, holes(count, bore), until=100).seconds == pytest.approx(to_100, abs=0.06)


def test_ori_04_to_the_last_printed_digit():
    assert empty(prism(AREA, sill=SILL), holes(2, 38), until=100).seconds == pytest.approx(181.338584, rel=1e-6)


def test_ori_05_three_quarters_run_out_in_half_the_time():
    basin, ways = prism(AREA, sill=SILL), holes(2, 38)
    whole = empty(basin, ways)
    assert empty(basin, ways, until=75).seconds == pytest.approx(whole.seconds / 2, rel=1e-6)
    assert share_left(basin, ways, seconds=whole.seconds / 2) == pytest.approx(0.25, abs=1e-4)


def test_ori_06_an_outlet_200_mm_lower_pulls_along():
    assert empty(prism(AREA, sill=SILL), holes(2, 38, drop=200)).seconds == pytest.approx(203.584115, rel=1e-6)


def test_coc_10_ly3_is_seen_and_judged_and_iso_is_remembered_and_not():
    times = {t.rules: t for t in published_times(["large yacht code ly3", "iso 11812 as remembered"],
                                                 facts={"category": "B"})}
    code, standard = times["large yacht code ly3"], times["iso 11812 as remembered"]
    assert (code.seconds, code.source.clause, code.source.how_read, code.not_judged) == (180, "6.3", "seen", None)
    assert (standard.seconds, standard.depth_left) == (300, 100)
    assert "remembered" in standard.not_judged
    assert times["common practice"].source.how_read == "practice"


def test_coc_10_beside_the_worked_cockpit():
    """From the table above: 2 x 38 mm take 429 s and 2 x 50.8 mm 240 s, over three minutes; 4 x 50.8 mm take 120 s."""
    basin = prism(AREA, sill=SILL)
    code, standard = published_times(["large yacht code ly3", "iso 11812 as remembered"], facts={"category": "B"})[:2]
    held = {n: beside(code, basin, holes(n, 50.8), floor=0) for n in (2, 4)}
    assert held[2].holds is False and held[4].holds is True
    # to 5 mm instead of dry: 1 - sqrt(5 / 300) of the time
    assert held[4].seconds == pytest.approx(240.08 / 2 * (1 - math.sqrt(5 / 300)), abs=0.05)
    unjudged = beside(standard, basin, holes(2, 38), floor=0)
    assert unjudged.holds is None and unjudged.seconds == pytest.approx(181.34, abs=0.01)


def test_coc_08_the_remembered_formula_is_worked_out_and_capped():
    """V 1.08 m3 in 10 x 3.2 x 1.1 m: k 0.030682, capped at 5 min; 6 m3: 0.3 / (6 / 35.2) min = 105.6 s."""
    small, large = (published_times(["iso 11812 as remembered"], facts={"category": "A"},
                                    hull=Hull(length=10, beam=3.2, freeboard=1.1, cockpit=v))[0] for v in (1.08, 6))
    assert small.seconds == 300 and large.seconds == pytest.approx(105.6)
    assert small.not_judged and large.not_judged


@pytest.mark.parametrize(("count", "bore", "area"), [(2, 25, 981.75), (4, 20, 1256.64), (4, 19.05, 1.7671 * 645.16)])
def test_coc_15_areas_of_drains_and_the_flow_they_share(count, bore, area):
    """Equal areas let out alike: count x bore against one hole of the same area."""
    one = empty(prism(AREA, sill=SILL), holes(1, math.sqrt(4 * area / math.pi)), until=100).seconds
    assert empty(prism(AREA, sill=SILL), holes(count, bore), until=100).seconds == pytest.approx(one, rel=1e-4)


def test_en_06_rain_on_that_cockpit_is_tiny_beside_boarding_water():
    """75 mm/h fills 0.3 m in 4 hours; the drains at the sill let out 60 times as much."""
    rain = rain_flow(AREA, intensity=75)
    assert time_to_fill(prism(AREA, sill=SILL), inflow=rain) == pytest.approx(4 * 3600, rel=1e-9)
    assert holes(2, 38)[0].flow(SILL) / rain == pytest.approx(2 * 1.67812 / 0.05, rel=1e-4)


@pytest.mark.parametrize(("bore", "flow"), [(19, 16.75), (12.7, 7.48)])
def test_gas_08_pure_propane_runs_out_by_its_weight(bore, flow):
    found = gas_outflow("propane", head=400, bore=bore, vented=True)
    assert found.flow == pytest.approx(flow, abs=0.006)
    assert (found.low, found.high) == (pytest.approx(0.7 * found.flow), pytest.approx(1.3 * found.flow))


def test_gas_08_needs_a_free_way_in_for_air():
    found = gas_outflow("propane", head=400, bore=19, vented=False)
    assert found.flow == found.low == found.high == 0 and "air" in found.why


def test_a_locker_of_gas_takes_twice_its_volume_over_the_first_flow():
    """The prismatic closed form: 0.1 m2 x 400 mm = 40 L, first 16.75 L/min: 2 x 40 / 16.75 min, +-30 % of the flow."""
    basin, way = prism(1e5, sill=400), gas_outlet("drain", "propane", level=0, bore=19)
    least, most, why = gas_emptying(basin, way, vented=True)
    middle = 2 * 40 / 16.75 * 60
    assert why is None
    assert (least, most) == (pytest.approx(middle / 1.3, rel=1e-3), pytest.approx(middle / 0.7, rel=1e-3))
    assert gas_emptying(basin, way, vented=False)[0] == math.inf


def test_an_outlet_that_is_any_function_of_the_head():
    """A constant 1 L/s from 720 L: 720 s, by arithmetic."""
    pump = Outlet(name="pump", level=0, flow=lambda head: 1.0)
    assert empty(prism(AREA, sill=SILL), [pump]).seconds == pytest.approx(720, rel=1e-6)
