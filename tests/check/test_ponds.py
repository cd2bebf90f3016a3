"""Findings of ponds and pockets against wedges of water worked out by hand."""

import math

import pytest

from moldplan.check.basin import basins
from moldplan.check.net import CHORD
from moldplan.check.pocket import pockets
from moldplan.check.ponds import ponds
from moldplan.shape.assemble import assemble
from moldplan.shape.choose import resolve
from moldplan.spec.model import Spec


def judged(data):
    resolved = resolve(Spec.model_validate({"moldplan": 1, "title": "ponds", **data}))
    assembly = assemble(resolved)
    ground = basins(assembly)
    found = [*ponds(assembly, resolved.spec, ground), *pockets(assembly, resolved.spec, ground)]
    return {f.id: f for f in found}


def tray(**more):
    """A locker of 400 x 300 with a level sole and a drain of 20 mm, its middle 60 from the aft wall."""
    return {"lockers": {"tray": {"box": {"from": [0, 0, 0], "to": [400, 300, 200]},
                                 "drain": {"at": [60, 150], "bore": 20}, **more}}}


def test_a_tray_that_trims_holds_a_wedge():
    """Bow up by t the wedge between aft wall and rim: 50 sin t deep, 300 x 50^2 tan t / 2 in volume."""
    found = judged({**tray(), "boat": {"attitudes": {"ashore": {"trim": 4}}}})["tray/pond/ashore"]
    assert found.measured == pytest.approx(50 * math.sin(math.radians(4)), abs=CHORD * math.sin(math.radians(4)))
    litres = 300 * 50**2 * math.tan(math.radians(4)) / 2 / 1e6
    assert f"{litres:.2f} L stay" in found.note
    assert found.verdict == "fails"
    assert found.at["x"] == pytest.approx(0)


def test_the_worst_of_a_box_is_at_its_corner():
    """Heeled h and bow up t the deepest corner is (50 from the rim in x, 140 in y): its fall to the rim's lowest point.

    Up is (sin t, cos t sin h, cos t cos h); the rim's lowest point lies 10 mm off its middle, straight downhill.
    """
    found = judged({**tray(), "boat": {"box": {"heel": [-5, 5], "trim": [-1, 3]}}})["tray/pond/over-heel-and-trim"]
    assert abs(found.at["heel"]) == 5
    h, depth = math.radians(5), {}
    for t in (math.radians(-1), math.radians(3)):
        slope = (math.sin(t), math.cos(t) * math.sin(h))
        reach = (400 - 60 if t < 0 else 60, 150)
        depth[t] = abs(slope[0]) * reach[0] + slope[1] * reach[1] - 10 * math.hypot(*slope)
    assert found.measured == pytest.approx(max(depth.values()), rel=3e-3)


def test_what_the_builder_asks_only_to_be_told_is_not_judged():
    found = judged({**tray(), "boat": {"attitudes": {"ashore": {"trim": 4, "demand": "report"}}}})["tray/pond/ashore"]
    assert found.verdict == "not judged"
    assert found.measured == pytest.approx(50 * math.sin(math.radians(4)), abs=CHORD * math.sin(math.radians(4)))


def test_a_space_without_a_drain_is_a_finding_and_offers_one():
    found = judged({"lockers": {"tray": {"box": {"from": [0, 0, 0], "to": [400, 300, 200]}}}})
    assert list(found) == ["tray/pond/way-out"]
    assert found["tray/pond/way-out"].verdict == "fails"
    assert [m.text for m in found["tray/pond/way-out"].moves] == ["a drain in its sole"]


def test_a_flange_that_stands_proud_keeps_its_height_over_all_the_sole():
    proud = {"drain": {"at": [60, 150], "bore": 20, "proud": 5}}
    found = judged(tray(**proud))["tray/pond/at-rest"]
    assert found.measured == pytest.approx(5)
    assert f"{(400 * 300 - math.pi * 10**2) * 5 / 1e6:.2f} L stay" in found.note


CYLINDER = {"cylinders": {"b": {"diameter": 100, "height": 200, "contents": "lp gas"}}}


def seat(**more):
    return {**CYLINDER, "cradles": {"k": {"block": [200, 200, 60], "seats": {"b": {
        "depth": 36, "clearance_per_side": 4, "floor_fillet": 6, "limber": {"towards": "aft", "bore": 20}, **more}}}}}


def test_a_seat_heeled_away_from_its_only_limber_holds_water_and_gas():
    """Bow down 10 deg the mouth, 5 mm inside the flat's aft end, is the high side; the deep end is the forward wall.

    The floor's flat and its fillet span 2 x 54 mm at most, so that the deepest point lies between 90 and 108 mm away.
    """
    found = judged({**seat(), "boat": {"attitudes": {"ashore": {"trim": -10}}}})
    depth = found["k.b/pond/ashore"].measured
    assert 80 * math.sin(math.radians(10)) < depth < 108 * math.sin(math.radians(10))
    assert found["k.b/gas/pocket-ashore"].verdict == "fails"
    assert "layers" in found["k.b/gas/pocket-ashore"].note
    assert found["k.b/gas/pocket-at-rest"].verdict == "holds"


def test_limbers_on_all_sides_let_it_out():
    more = {"limber": {"towards": "aft", "bore": 20, "also": ["forward", "port", "starboard"]}}
    found = judged({**seat(**more), "boat": {"box": {"heel": [-5, 5], "trim": [-3, 3]}}})
    assert found["k.b/pond/over-heel-and-trim"].verdict in ("holds", "close")


def test_breathing_air_draws_no_word_of_gas():
    data = seat()
    data["cylinders"] = {"b": {**CYLINDER["cylinders"]["b"], "contents": "breathing air"}}
    assert not [one for one in judged(data) if "/gas/" in one]
    assert "k.b/pond/at-rest" in judged(data)


def test_a_sole_is_offered_scuppers_at_the_corners_that_have_none():
    sole = {"outline": [[0, -400], [900, -400], [900, 400], [0, 400]], "fall": "1:60",
            "scuppers": {"one": {"at": [45, 350]}, "two": {"at": [45, -350]}}}
    found = judged({"soles": {"s": sole}, "boat": {"attitudes": {"ashore": {"trim": -3}}}})["s/pond/ashore"]
    assert found.verdict == "fails"
    (move,) = [m for m in found.moves if "scuppers" in m.text]
    assert move.text == "scuppers at forward port and forward starboard"
    assert set(move.edits[0].to) == {"one", "two", "forward port", "forward starboard"}
