"""Self-draining cockpits by the rules picked: figures of 46 CFR 178 and French Division 245 typed here from their text.

The recess: 8 ft x 9 ft with a sill 1.5 ft over its level sole, 108 ft3, on 36 ft of deck. By 178.450, inch form:
108 x 8 / (2/3 x 36) = 36 in2 = 232.26 cm2 on exposed waters, half and a tenth of it on others.
"""

import copy
import math

import pytest

from moldplan.check.cockpit_rules import cockpit_rules, edge_of
from moldplan.shape.assemble import assemble
from moldplan.shape.choose import resolve
from moldplan.spec.model import Spec

FOOT = 304.8
SIDE = 4.5 * FOOT
SCUPPERS = {"port": {"at": [60, 1300], "bore": 50}, "starboard": {"at": [60, -1300], "bore": 40}}
DATA = {"moldplan": 1, "title": "t", "soles": {"s": {
    "outline": [[0, -SIDE], [8 * FOOT, -SIDE], [8 * FOOT, SIDE], [0, SIDE]], "sill": 1.5 * FOOT, "scuppers": SCUPPERS}},
    "boat": {"length": 36 * FOOT, "route": "exposed", "waterline": {"height": -255, "at_x": 0}}}


@pytest.fixture(scope="module")
def plan():
    resolved = resolve(Spec.model_validate(copy.deepcopy(DATA)))
    return assemble(resolved), resolved.spec


def judged(plan, *rules, **boat):
    assembly, spec = plan
    fields = {name: value for name, value in (DATA["boat"] | boat).items() if value is not None}
    lying = Spec.model_validate(DATA | {"boat": fields}).boat
    found = cockpit_rules(assembly, spec.model_copy(update={"rules": rules, "boat": lying}))
    return {f.what: f for f in found}


def test_without_rules_nothing_is_asked_of_a_cockpit(plan):
    assert judged(plan) == {}


def test_the_edge_of_a_sole_is_measured_on_its_solid(plan):
    assembly, _ = plan
    edge = edge_of(assembly, assembly.soles[0])
    assert edge.area == pytest.approx(72 * FOOT**2, rel=1e-6)
    assert edge.length == pytest.approx(8 * FOOT)
    assert (edge.lowest[2], edge.mean) == pytest.approx((0, 0), abs=1e-6)


@pytest.mark.parametrize(("route", "square_inches"), [("exposed", 36), ("partially protected", 18), ("protected", 3.6)])
def test_the_drain_area_of_178_450_by_waters(plan, route, square_inches):
    """Two bores of 50 and 40 mm: 32.2 cm2."""
    found = judged(plan, "46 cfr 178", route=route)["drain area"]
    assert found.limit == pytest.approx(square_inches * 2.54**2, rel=1e-6)
    assert found.measured == pytest.approx(math.pi / 4 * (5**2 + 4**2), rel=1e-6)
    assert (found.verdict, found.source.clause) == ("fails" if route != "protected" else "holds", "178.450")


def test_the_drain_area_waits_for_what_it_asks(plan):
    found = judged(plan, "46 cfr 178", length=None, route=None)["drain area"]
    assert found.verdict == "not judged"
    assert "boat.length" in found.skipped and "boat.route" in found.skipped


@pytest.mark.parametrize(("rules", "boat", "least"), [
    ("46 cfr 178", {}, 255), ("french division 245", {"category": "A"}, 150),
    ("french division 245", {"category": "C"}, 75)])
def test_the_floors_height_over_the_water(plan, rules, boat, least):
    """178.420: 255 mm (10 in); Division 245: 150 mm in A, 75 mm in C."""
    here = judged(plan, rules, **boat)["floor height"]
    assert (here.measured, here.limit) == (pytest.approx(255), least)
    assert here.verdict in ("holds", "close")
    low = judged(plan, rules, **boat, waterline={"height": 0.5 - least, "at_x": 0})["floor height"]
    assert low.verdict == "fails" and low.measured == pytest.approx(least - 0.5)
    dry = judged(plan, rules, **boat, waterline=None)["floor height"]
    assert dry.verdict == "not judged" and "waterline" in dry.skipped


def test_division_245_counts_and_measures_drains(plan):
    found = judged(plan, "french division 245")
    assert (found["drain count"].measured, found["drain count"].limit, found["drain count"].verdict) == (2, 2, "holds")
    assert (found["drain bore"].measured, found["drain bore"].limit, found["drain bore"].verdict) == (40, 25, "holds")
    assert found["floor height"].verdict == "not judged" and "category" in found["floor height"].skipped


def test_what_the_spec_has_no_field_for_is_said(plan):
    found = judged(plan, "46 cfr 171", "46 cfr 179")
    assert "not part of the spec" in found["coaming height"].skipped
    assert all(f.verdict == "not judged" for f in found.values())
