"""Findings about how hatches lie in a sole and what is below: each in a spec that fails, and its cure that holds."""

import copy

import pytest

HATCH = {"centre": [450, 0], "clear_opening": [300, 300], "gutter": {"width": 40, "depth": 22, "fall": "1:50"},
         "lid": {"thickness": 22, "gasket": {"free": 10, "squeeze": 0.4, "stop": 5.5, "stiffness": 0.2},
                 "latches": 2, "latch_force": 400}}
SOLE = {"outline": [[0, -500], [1800, -500], [1800, 500], [0, 500]], "hatches": {"a": HATCH}}


def sole(*, hatches=None, **more):
    """A spec of one sole, with other hatches or fields."""
    body = copy.deepcopy(SOLE) | more
    if hatches is not None:
        body["hatches"] = hatches
    return {"moldplan": 1, "title": "one sole", "soles": {"s": body}}


# with flanges of 460 and of 560 by 430 the two only lie in line with b turned, and both moved
CROWDED = sole(
    outline=[[0, -320], [940, -320], [940, 320], [0, 320]],
    hatches={"a": {**HATCH, "centre": [260, 0], "clear_opening": [230, 300]},
             "b": {**HATCH, "centre": [680, 0], "clear_opening": [330, 200]}})
ON_THE_EDGE = sole(hatches={"a": {**HATCH, "centre": [235, 0]}})
FAILING = {
    ("layout", "land to a"): CROWDED,
    ("layout", "flange to a"): CROWDED,
    ("layout", "land to the edge"): ON_THE_EDGE,
    ("layout", "flange to the edge"): ON_THE_EDGE,
    ("fitting", "plug to the edge"): sole(hatches={}, fittings={"post": {"at": [900, 450], "flange": 60}}),
    ("fitting", "plug to a"): sole(fittings={"post": {"at": [770, 0], "flange": 60}}),
    ("fitting", "plug to post"): sole(hatches={}, fittings={"post": {"at": [900, 0], "flange": 60},
                                                            "eye": {"at": [980, 40], "flange": 40}}),
    ("layout", "crown"): sole(crown=60),
    ("below", "clear of tank"): sole(below={"tank": {"from": [200, 160, -300], "to": [600, 230, -80]}}),
    ("below", "depth"): sole(depth_below=90),
    ("below", "reach to valve"): sole(targets={"valve": {"at": [1200, 0, -200], "arm": 500}}),
}


@pytest.mark.parametrize("kind", FAILING, ids="/".join)
def test_the_cure_makes_it_hold_and_breaks_nothing(kind, prove):
    prove(kind, FAILING[kind])
