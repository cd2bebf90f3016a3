"""Pipes that run full: the fluids library's own published figures, the worked drain ORI-07, Borda and Torricelli.

ORI-07 is worked with the wall of a drawn tube (0.0015 mm): f 0.02347. A wall with no roughness at all gives 0.02330.
"""

import math

import pytest

from moldplan.check.flow import FlowError, G
from moldplan.check.flow_pipe import Bend, Pipe, friction, full_bore, losses
from moldplan.handbook.lookup import HandbookError, table


def drain(**changed):
    return Pipe(**{"bore": 25, "length": 800, "drop": 0, "fittings": (0.35, 0.35), "roughness": 0.0015, **changed})


def test_ori_07_a_drain_under_300_mm():
    ran = full_bore(drain(), over=300, vented=True)
    assert ran.friction == pytest.approx(0.02347, abs=5e-6)
    assert ran.speed == pytest.approx(1.4120, abs=1e-4)
    assert ran.flow == pytest.approx(0.6931, abs=1e-4)
    assert ran.discharge == pytest.approx(0.5821, abs=1e-4)


def test_what_each_part_costs_sums_to_the_head():
    """Energy, put together again from the parts: V^2 / 2g x sum = head."""
    ran = full_bore(drain(bends=(Bend(90, 60),), drop=250), over=40, vented=True)
    assert ran.speed**2 / (2 * G) * sum(ran.lost.values()) == pytest.approx(0.290, rel=1e-9)
    assert ran.lost["exit"] == 1 and ran.lost["entry"] == 0.5 and ran.lost["fittings"] == 0.7


@pytest.mark.parametrize(("reynolds", "rough", "factor"), [(1e5, 1e-4, 0.01851386607747165)])
def test_friction_is_the_librarys_own_published_example(reynolds, rough, factor):
    """friction_factor(Re=1E5, eD=1E-4), printed in the library's documentation."""
    pipe = Pipe(bore=50, length=1000, drop=0, roughness=50 * rough)
    assert friction(pipe, speed=reynolds * 1.139e-6 / 0.05) == pytest.approx(factor, rel=1e-9)


def test_friction_satisfies_colebrook_and_is_64_over_re_when_laminar():
    pipe = Pipe(bore=25, length=1000, drop=0, roughness=0.038)
    factor = friction(pipe, speed=1.0)
    reynolds = 0.025 / 1.139e-6
    assert 1 / math.sqrt(factor) == pytest.approx(
        -2 * math.log10(0.038 / 25 / 3.7 + 2.51 / (reynolds * math.sqrt(factor))), rel=1e-5)
    assert friction(pipe, speed=0.04) == pytest.approx(64 / (0.04 * 0.025 / 1.139e-6), rel=1e-9)


def test_a_bend_is_the_librarys_own_published_example():
    """bend_rounded(Di=4.020, rc=4.0*5, angle=30, Re=1E5) = 0.11519070808085191, printed in its documentation."""
    pipe = Pipe(bore=4.020 * 25.4, length=500, drop=0, bends=(Bend(30, 20 * 25.4),))
    speed = 1e5 * 1.139e-6 / (4.020 * 0.0254)
    assert losses(pipe, speed=speed)["bends"] == pytest.approx(0.11519070808085191, rel=1e-6)


def test_a_pipe_of_no_length_and_a_rounded_entry_nears_torricelli():
    """sqrt(2 g h / 1.04) = 0.98 of the free speed: the handbook's rounded orifice has 0.98."""
    ran = full_bore(Pipe(bore=38, length=0, drop=0, entry="rounded"), over=300, vented=True)
    assert ran.discharge == pytest.approx(table("losses").number("rounded", "discharge", unit="m2/m2"), abs=0.01)


def test_a_short_tube_square_at_its_entry_has_the_handbooks_discharge():
    """1 / sqrt(1.5) = 0.816; hydraulics handbooks give 0.79 to 0.82 for a short tube."""
    tube = table("losses").entry("short tube", "discharge")
    assert tube.usual(full_bore(Pipe(bore=38, length=0, drop=0), over=300, vented=True).discharge)


def test_no_vent_no_outflow():
    ran = full_bore(drain(), over=300, vented=False)
    assert ran.flow == 0 and "air" in ran.why and ran.discharge == 0


@pytest.mark.parametrize(("drowned", "runs"), [(-50, True), (0, True), (299, True), (300, False), (400, False)])
def test_the_sea_over_the_outlet_takes_the_head_away(drowned, runs):
    ran = full_bore(drain(), over=300, vented=True, drowned=drowned)
    assert (ran.flow > 0) is runs and (ran.why is None) is runs
    assert ran.head == 300 - max(drowned, 0)


@pytest.mark.parametrize(("name", "metres"), [("fiberglass", 38e-6), ("plastic", 5e-6), ("drawn tube", 1.52e-6)])
def test_wall_roughness_is_the_published_tables(name, metres):
    from fluids.friction import _Farshad_roughness, _roughness

    there = {"fiberglass": _Farshad_roughness["Fiberglass lining"][0],
             "plastic": _Farshad_roughness["Plastic coated"][0], "drawn tube": _roughness["Brass"]}
    assert there[name] == metres
    assert table("roughness").number(name, "height", unit="mm") == pytest.approx(1000 * metres, rel=0.02)


@pytest.mark.parametrize("wrong", [
    {"bore": 5}, {"bore": 201}, {"bore": math.nan}, {"length": -1}, {"drop": 900}, {"drop": math.nan}, {"roughness": 2},
    {"roughness": -1}, {"bends": (Bend(0, 50),)}, {"bends": (Bend(90, 12),)}, {"fittings": (-0.1,)}])
def test_a_pipe_that_cannot_be_is_refused(wrong):
    with pytest.raises(FlowError):
        drain(**wrong)


def test_an_entry_the_handbook_does_not_carry_is_refused():
    with pytest.raises(HandbookError, match="square"):
        full_bore(drain(entry="squre"), over=300, vented=True)
    with pytest.raises(FlowError):
        full_bore(drain(), over=math.nan, vented=True)
