"""Layout, crown, keep-outs and reach of a sole: against closed forms and brute force."""

import math

import pytest

from moldplan.check.sole_below import below
from moldplan.check.sole_layout import layout
from moldplan.shape.assemble import assemble
from moldplan.shape.choose import resolve
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


def test_a_straight_reach_is_the_distance_to_the_opening(judged):
    # the opening less half an arm's width (45, ours): 105 forward of its middle; 28 down
    found = judged(targets={"valve": {"at": [855, 0, -328], "arm": 600}})["s reach to valve"]
    assert found.measured == pytest.approx(math.hypot(855 - 450 - 105, 300), abs=0.01)


def test_a_wall_in_between_makes_the_way_longer_and_a_closed_box_unreachable(judged):
    wall = {"wall": {"from": [650, -300, -600], "to": [660, 300, -60]}}
    free = judged(targets={"valve": {"at": [855, 0, -328], "arm": 600}})["s reach to valve"]
    round_it = judged(targets={"valve": {"at": [855, 0, -328], "arm": 600}}, below=wall)["s reach to valve"]
    assert round_it.measured > free.measured + 100
    # round the wall's end, 45 off it: no shorter than over the two straight legs
    least = math.dist((555, 105, -28), (660, 300, -328)) + math.dist((660, 300, -328), (855, 0, -328))
    assert round_it.measured >= least - 1e-6
