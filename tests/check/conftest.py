"""Shaped stands for the checks to measure; the sizes are ours, the expected values are worked out beside each test."""

import copy

import pytest

from moldplan.check.spot import Spot
from moldplan.shape.assemble import assemble
from moldplan.shape.choose import resolve
from moldplan.spec.model import Spec

BOTTLE = {"diameter": 100, "height": 200, "knuckle_radius": 20, "valve": {"diameter": 40, "height": 60},
          "full_mass": 5, "contents": "lp gas"}
SEAT = {"depth": 36, "clearance_per_side": 4, "draft": 4, "floor_fillet": 8}
LOCKER = {"box": {"from": [0, 0, 0], "to": [400, 400, 400]}, "lid": {"clear_opening": [300, 300], "corner_radius": 30}}
ONE_SEAT = {"moldplan": 1, "title": "one seat", "cylinders": {"b": BOTTLE}, "coats": {"paint": 0.3},
            "cradles": {"k": {"block": [200, 200, 60], "seats": {"b": SEAT}}}}
ONE_RACK = {"moldplan": 1, "title": "one rack", "cylinders": {"b": {**BOTTLE, "contents": "other", "height": 300}},
            "cradles": {"k": {"block": [320, 250, 20], "chocks": {"b": {"wrap": 120}}}}}


def with_changes(base, changes):
    data = copy.deepcopy(base)
    for where, value in changes.items():
        *way, last = where.split("/")
        here = data
        for step in way:
            here = here.setdefault(step, {})
        here[last] = copy.deepcopy(value)
    return data


def shaped(data):
    resolved = resolve(Spec.model_validate(data))
    return assemble(resolved), resolved.spec


@pytest.fixture(scope="session")
def seat():
    """seat(changes={"cradles/k/at": ...}) -> Spot of the first stand, shaped once for each set of changes."""
    return _maker(ONE_SEAT)


@pytest.fixture(scope="session")
def rack():
    return _maker(ONE_RACK)


def _maker(base):
    known = {}

    def make(changes=None, stand=0):
        key = repr(changes)
        if key not in known:
            known[key] = shaped(with_changes(base, changes or {}))
        assembly, spec = known[key]
        return Spot(assembly, assembly.stands[stand], spec)

    return make


@pytest.fixture(scope="session")
def in_locker():
    """Changes that put the cradle into a locker of a size, with a lid."""
    def make(size=(400, 400, 400), lid=None, **more):
        locker = copy.deepcopy(LOCKER)
        locker["box"]["to"] = list(size)
        locker["lid"] = lid if lid is not None else locker["lid"]
        return {"lockers": {"l": locker}, "cradles/k/locker": "l", **{k.replace("__", "/"): v for k, v in more.items()}}

    return make
