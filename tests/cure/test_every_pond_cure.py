"""Findings about ponds, pockets of gas, rain and boarding seas: each in a spec that fails, and its cure that holds."""

import pytest

LOCKER = {"box": {"from": [0, 0, 0], "to": [400, 300, 300]}, "sole": {"fall": "1:20", "towards": "aft"}}
WATER = {"moldplan": 1, "title": "pond", "lockers": {"l": {**LOCKER, "drain": {"at": [30, 150], "bore": 20}}}}
SEAT = {"moldplan": 1, "title": "seat", "cylinders": {
    "b": {"diameter": 100, "height": 200, "contents": "lp gas", "full_mass": 5}},
    "cradles": {"k": {"block": [200, 200, 60], "seats": {"b": {
        "depth": 36, "clearance_per_side": 4, "limber": {"towards": "aft", "bore": 20, "fall": "1:25"}}}}}}
SOLE = {"outline": [[0, -400], [1200, -400], [1200, 400], [0, 400]], "fall": "1:50"}
HATCH = {"centre": [300, 0], "clear_opening": [250, 250],
         "gutter": {"width": 40, "depth": 7, "fall": "1:250", "root_radius": 2},
         "drains": {"a": {"at": "aft", "bore": 19, "flange": 30}}, "bond_flange": {"width": 55}, "landing_depth": 36,
         "lid": {"thickness": 24, "gasket": {"free": 20, "squeeze": 0.4, "stop": 12, "width": 15}}}
LONG = [[0, -560], [2300, -560], [2300, 560], [0, 560]]


def sole(boat, rules=(), **more):
    return {"moldplan": 1, "title": "sole", "boat": boat, "rules": list(rules), "soles": {"s": {**SOLE, **more}}}


SLOW = sole({}, rules=["large yacht code ly3"], sill=150, scuppers={"one": {"at": [40, 0], "bore": 28}})
FAILING = {
    ("pond", "over heel and trim"): {**WATER, "boat": {"box": {"heel": [-3, 3], "trim": [-1, 1]}}},
    ("pond", "ashore"): {**SEAT, "boat": {"attitudes": {"ashore": {"trim": -6}}}},
    ("gas", "pocket ashore"): {**SEAT, "boat": {"attitudes": {"ashore": {"heel": 6}}}},
    ("rain", "drain one"): sole({"rain": 400}, scuppers={"one": {"at": [40, 0], "bore": 14}}),
    ("rain", "gutter"): sole({"rain": 400}, outline=LONG, hatches={"h": HATCH}),
    ("emptying", "at rest"): SLOW,
    ("emptying", "by large yacht code ly3"): SLOW,
}


@pytest.mark.parametrize("kind", FAILING, ids="/".join)
def test_the_cure_makes_it_hold_and_breaks_nothing(kind, prove):
    prove(kind, FAILING[kind])
