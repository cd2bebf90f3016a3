"""Weirs and orifices: ORI-01 and -02 by hand and from handbooks, weirs as the fluids library prints them, old measured
tables, EN 12056-3 as remembered, rain.

Sharp-edged round holes were measured by Mair: c = 0.6075 + 0.0098 / sqrt(h) - 0.0037 d (h ft, d in), as given in an
encyclopaedia of 1911 (vol. 14, Hydraulics).
"""

import math

import pytest

from moldplan.check.flow import FlowError
from moldplan.check.flow_drain import Drain, orifice_flow, remembered_outlet, scupper_flow, weir_flow
from moldplan.check.flow_rain import boarded_mass, rain_flow
from moldplan.handbook.lookup import table


@pytest.mark.parametrize(("bore", "flow"), [(19, 0.41953), (25, 0.72633), (38, 1.67812)])
def test_ori_01_under_300_mm(bore, flow):
    assert orifice_flow(head=300, bore=bore) == pytest.approx(flow, abs=6e-6)


@pytest.mark.parametrize(("name", "us"), [("sharp", 4.9), ("short tube", 6.4), ("rounded", 7.9), ("re-entrant", 4.1)])
def test_ori_02_coefficients_are_the_us_forms(name, us):
    """Q = C A sqrt(h) in feet: C = Cd sqrt(2 x 32.174), printed to two digits."""
    row = table("losses").entry(name, "discharge")
    assert row.number == pytest.approx(us / math.sqrt(2 * 32.174), abs=0.007)
    assert row.usual(row.number)


@pytest.mark.parametrize("head", [1, 2, 4])
@pytest.mark.parametrize("inches", [1, 1.5, 2])
def test_sharp_edged_holes_were_measured_so(head, inches):
    measured = 0.6075 + 0.0098 / math.sqrt(head) - 0.0037 * inches
    found = orifice_flow(head=head * 304.8, bore=inches * 25.4)
    free = math.pi / 4 * (inches * 0.0254) ** 2 * math.sqrt(2 * 9.80665 * head * 0.3048) * 1000
    assert found / free == pytest.approx(measured, rel=0.02)


def test_borda_loses_half():
    """A tube that stands into the water: momentum alone gives Cd 1/2."""
    assert table("losses").entry("re-entrant", "discharge").usual(0.5) == 0.5


def test_a_level_crest_has_the_critical_depths_coefficient():
    """Critical depth 2/3 h over a crest b wide: q = sqrt(g (2h/3)^3)."""
    q = math.sqrt(9.80665 * (2 * 0.05 / 3) ** 3)
    assert weir_flow(head=50, length=1000) == pytest.approx(1000 * q, rel=1e-6)


def test_weir_01_a_sharp_full_width_weir_carries_more_than_a_level_crest_and_less_than_a_quarter_more():
    """Ackers (1978) as the fluids library prints it: h1 0.9, h2 0.6, b 5 m -> 9.251938 m3/s.

    A level crest without approach speed is the lesser: 7.28 m3/s.
    """
    from fluids.open_flow import Q_weir_rectangular_full_Ackers

    assert Q_weir_rectangular_full_Ackers(h1=0.9, h2=0.6, b=5) == pytest.approx(9.251938159899948, rel=1e-9)
    crest = weir_flow(head=900, length=5000) / 1000
    assert 0.75 * 9.251938 < crest < 9.251938


@pytest.mark.parametrize("head", [30, 60, 120])
def test_weir_01_a_scupper_is_a_contracted_rectangular_weir_until_its_top(head):
    """Kindsvater and Carter (1957) by the fluids library: its printed example, then a scupper's sizes, within 15 %."""
    from fluids.open_flow import Q_weir_rectangular_Kindsvater_Carter

    assert Q_weir_rectangular_Kindsvater_Carter(0.2, 0.5, 1) == pytest.approx(0.15545928949179422, rel=1e-9)
    found = scupper_flow(head=head, width=300, height=150)
    assert found == pytest.approx(1000 * Q_weir_rectangular_Kindsvater_Carter(head / 1000, 1.0, 0.3), rel=0.15)


def test_weir_01_a_v_notch_summed_from_slots_of_a_scupper():
    """A 45 deg notch under 0.6 m: 8/15 Cd tan(22.5 deg) sqrt(2g) h^2.5 by integration; Shen (1981) measured Cd 0.58.

    The library prints 0.210717 m3/s for it, without the factor 8 sqrt(2) / 15 of the integral: put back, it is the
    measured weir's, 5 % less than a sharp edge's 0.61.
    """
    from fluids.open_flow import Q_weir_V_Shen

    printed = Q_weir_V_Shen(0.6, angle=45)
    assert printed == pytest.approx(0.21071725775478, rel=1e-9)
    half, count = 0.6 * math.tan(math.radians(22.5)), 400
    step = 2 * half / count
    slots = sum(scupper_flow(head=600 * (1 - abs(-half + (k + 0.5) * step) / half), width=1000 * step, height=1e5)
                for k in range(count))
    exact = 8 / 15 * 0.61 * math.tan(math.radians(22.5)) * math.sqrt(2 * 9.80665) * 0.6**2.5
    assert slots / 1000 == pytest.approx(exact, rel=1e-4)
    assert slots / 1000 == pytest.approx(printed * 8 * math.sqrt(2) / 15, rel=0.06)


def test_a_drowned_scupper_nears_an_orifice_under_the_head_at_its_middle():
    """Cd A sqrt(2 g h) with h to its middle: under ten heights the tall form differs by 1 / (96 x 10^2)."""
    tall = scupper_flow(head=1050, width=300, height=100)
    assert tall == pytest.approx(1000 * 0.61 * 0.03 * math.sqrt(2 * 9.80665 * 1.0), rel=2e-4)


def test_hec_22_a_grate_is_the_lesser_of_weir_and_orifice():
    """Coefficients 1.66 and 0.67 (3.0 in feet) as highway manuals give them; 1.66 is 3.0 x sqrt(0.3048)."""
    book = table("losses")
    assert book.number("grate", "weir discharge", unit="m^(1/2)/s") == pytest.approx(3.0 * math.sqrt(0.3048), abs=0.005)
    assert book.number("grate", "discharge", unit="m2/m2") == 0.67
    drain = Drain(bore=38, edge="sharp")
    for head in (2, 10, 14, 20, 100):
        ways = weir_flow(head=head, length=math.pi * 38), orifice_flow(head=head, bore=38)
        assert drain.through(head).flow == min(ways)
        assert drain.through(head).by == ("weir" if ways[0] < ways[1] else "orifice")


@pytest.mark.parametrize(("head", "flow", "by"), [(20, 0.5963, "weir"), (25, 0.8333, "weir"), (40, 1.0541, "orifice")])
def test_en_03_as_remembered(head, flow, by):
    found = remembered_outlet(head=head, bore=50)
    assert found.flow == pytest.approx(flow, abs=5e-5) and found.by == by


def test_en_03_its_two_forms_meet_at_half_the_bore_and_lie_near_the_physics():
    assert remembered_outlet(head=25, bore=50).flow == pytest.approx(50**2 * 25**0.5 / 15000, rel=1e-12)
    free = math.pi / 4 * 0.05**2 * math.sqrt(2 * 9.80665 * 0.04) * 1000
    assert remembered_outlet(head=40, bore=50).flow / free == pytest.approx(0.606, abs=5e-4)
    for head in (10, 20, 25, 40):
        share = remembered_outlet(head=head, bore=50).flow / Drain(bore=50).flow(head)
        assert 0.7 < share < 1.02


def test_every_figure_of_en_12056_3_is_marked_remembered():
    rows = [row for (name, _), row in table("losses").rows.items() if name == "en 12056-3"]
    assert len(rows) == 5 and {row.source.how_read for row in rows} == {"remembered"}


def test_en_06_rain():
    """75 mm/h is 0.020833 L/s on a square metre, 150 twice that; a cockpit of 2.4 m2: 0.0500 L/s."""
    book = table("rain")
    assert rain_flow(1e6, intensity=book.number("design rain", "intensity", unit="mm/h")) == pytest.approx(
        0.020833, abs=5e-7)
    heavy = rain_flow(1e6, intensity=book.number("heavy rain", "intensity", unit="mm/h"))
    assert heavy == pytest.approx(0.042, abs=5e-4)
    assert rain_flow(2.4e6, intensity=75) == pytest.approx(0.0500, abs=1e-9)


def test_a_cubic_metre_of_sea_weighs_1025_kg():
    assert boarded_mass(1000) == pytest.approx(1025)


@pytest.mark.parametrize("wrong", [
    lambda: orifice_flow(head=-1, bore=38), lambda: orifice_flow(head=math.nan, bore=38),
    lambda: orifice_flow(head=10, bore=0), lambda: orifice_flow(head=10, bore=38, coefficient=1.1),
    lambda: weir_flow(head=10, length=math.inf), lambda: scupper_flow(head=10, width=10, height=0),
    lambda: rain_flow(1e6, intensity=401), lambda: rain_flow(-1, intensity=75),
    lambda: rain_flow(1, intensity=math.nan),
    lambda: boarded_mass(-1), lambda: Drain(bore=0), lambda: Drain(bore=38).head_for(-1),
    lambda: Drain(bore=38).head_for(5, deepest=300)])
def test_outside_its_range_a_formula_refuses(wrong):
    with pytest.raises(FlowError):
        wrong()
