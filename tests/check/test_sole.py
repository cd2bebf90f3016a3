"""Layout, crown, keep-outs and plugs of a sole: against closed forms. Reach: test_sole_reach.py."""

import json
import math

import cadquery as cq
import pytest

from moldplan.check.sole_below import below
from moldplan.check.sole_layout import layout
from moldplan.shape.assemble import assemble
from moldplan.shape.choose import resolve
from moldplan.spec.load import read
from moldplan.spec.model import Spec

HATCH = {"centre": [450, 0], "clear_opening": [300, 300], "corner_radius": 40,
         "gutter": {"width": 40, "depth": 22, "fall": "1:50"}, "lid": {"thickness": 22}}


@pytest.fixture(scope="module")
def judged():
    """A function: {what: finding} of one sole with some fields."""

    def run(**fields):
        body = {"outline": [[0, -500], [1800, -500], [1800, 500], [0, 500]], "hatches": {"a": HATCH}} | fields
        resolved = resolve(Spec.model_validate({"moldplan": 1, "title": "t", "soles": {"s": body}}))
        made = assemble(resolved)
        return {f"{f.part} {f.what}": f for f in [*layout(made, resolved.spec), *below(made, resolved.spec)]}

    return run


def test_land_is_the_gap_between_rebates(judged):
    # rebate 65 outside the opening: 150 + 65 from the middle; 450 to the aft edge, 500 to the sides
    found = judged(hatches={"a": HATCH, "b": {**HATCH, "centre": [1000, 0]}})
    assert found["s.b land to a"].measured == pytest.approx(1000 - 450 - 2 * 215, abs=1e-6)
    assert found["s.b flange to a"].measured == pytest.approx(1000 - 450 - 2 * 265, abs=1e-6)
    assert found["s.a land to the edge"].measured == pytest.approx(450 - 215, abs=1e-6)


def test_two_turned_hatches_meet_corner_to_corner(judged):
    # turned by 45 deg, corners face each other: half diagonal of the inner square and the corner radius, 40 + 65
    found = judged(hatches={"a": {**HATCH, "turn": 45}, "b": {**HATCH, "centre": [1050, 0], "turn": 45}})
    reach = math.sqrt(2) * (215 - 105) + 105
    assert found["s.b land to a"].measured == pytest.approx(600 - 2 * reach, abs=1e-6)


def test_the_crown_under_a_flat_frame_is_a_sagitta(judged):
    found = judged(crown=10)["s.a crown"]
    radius = 1000**2 / (8 * 10) + 10 / 2
    half = 150 + 65 + 50 + 2  # the flange's edge and 2 mm
    assert found.measured == pytest.approx(radius - math.sqrt(radius**2 - half**2), abs=0.02)


def test_a_tank_is_as_far_as_the_frame_is_deep(judged):
    # straight under the drains' tails: a fall of 1:50 over the longest run, the tails 40 long
    run = 150 - 40 + (40 + 45) * math.pi / 2 + (300 - 80) + (40 + 45) * math.pi / 4
    deep = 28 + 22 + run / 50 + 0.3 + 40
    tank = {"tank": {"from": [0, -400, -400], "to": [900, 400, -150]}}
    found = judged(below=tank, depth_below=200)
    skin = 1.2
    assert found["s.a clear of tank"].measured == pytest.approx(150 - deep - skin, abs=0.1)
    assert found["s.a depth"].measured == pytest.approx(deep + skin, abs=0.1)


DEEPEST = 28 + 22 + (150 - 40 + 85 * math.pi / 2 + 220 + 85 * math.pi / 4) / 50 + 0.3 + 40 + 1.2  # as above


@pytest.mark.parametrize("angles", [(0, 360), (150, 210)])
def test_a_swept_sector_under_the_drains_is_as_far_as_a_tank(judged, angles):
    # whole, it lies under everything; from aft by 30 deg either way under the two drains at the aft corners
    sweep = {"pivot": [700, 0], "radius": 600, "from": angles[0], "to": angles[1], "low": -400, "high": -150}
    found = judged(below={"tiller": {"sweep": sweep}})["s.a clear of tiller"]
    assert found.measured == pytest.approx(150 - DEEPEST, abs=0.1)


def test_a_swept_sector_beside_the_frame_is_as_far_as_in_plan(judged):
    # the flange's edge 265 from the middle: 450 + 265 is as far forward as it goes; the rim comes to 755
    sweep = {"pivot": [1055, 0], "radius": 300, "inner_radius": 200, "from": 90, "to": 270, "low": -90, "high": -1}
    found = judged(below={"lever": {"sweep": sweep}})["s.a clear of lever"]
    assert found.measured == pytest.approx(755 - 450 - 265, abs=1e-6)


def test_a_step_body_is_as_far_as_the_tank_it_was_drawn_as(tmp_path, monkeypatch):
    """A box of 900 x 800 x 250 by the kernel's writer, put with its corner at 0, -400, -400: the tank above."""
    monkeypatch.chdir(tmp_path)
    cq.exporters.export(cq.Workplane(cq.Solid.makeBox(900, 800, 250)), "tank.step")
    data = {"moldplan": 1, "title": "t", "soles": {"s": {
        "outline": [[0, -500], [1800, -500], [1800, 500], [0, 500]], "hatches": {"a": HATCH},
        "below": {"tank": {"step": "tank.step", "at": [0, -400, -400]}}}}}
    (tmp_path / "spec.yaml").write_text(json.dumps(data), encoding="utf-8")
    resolved = resolve(read("spec.yaml").spec)
    found = {f.what: f for f in below(assemble(resolved), resolved.spec)}
    assert found["clear of tank"].measured == pytest.approx(150 - DEEPEST, abs=0.1)


def test_what_cuts_into_a_drain_is_told_by_how_much(judged):
    # a plate 5 mm thick across the tails: it shares 5 mm of height with each
    plate = {"from": [0, -400, -101], "to": [900, 400, -96]}
    found = judged(below={"plate": plate})["s.a clear of plate"]
    assert found.measured == pytest.approx(-5, abs=1e-6)
    assert "cuts 5.0 mm into plate" in found.note


def test_a_plug_keeps_core_round_it(judged):
    # plug 60 + 2 x 20 across; the hatch's flange ends at 715, the sole at 500 to port
    found = judged(fittings={"post": {"at": [780, 100], "flange": 60}, "eye": {"at": [900, 440], "flange": 60}})
    assert found["s.post plug to a"].measured == pytest.approx(780 - 715 - 50, abs=1e-6)
    assert found["s.eye plug to the edge"].measured == pytest.approx(500 - 440 - 50, abs=1e-6)
    assert found["s.eye plug to post"].measured == pytest.approx(math.hypot(120, 340) - 100, abs=1e-6)
