"""Shaped stands for the checks to measure; the sizes are ours, the expected values are worked out beside each test."""

import copy

import numpy as np
import pytest

from moldplan.check.flood_surface import welded
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


@pytest.fixture(scope="session")
def net():
    """A function: vertices and triangles of a height field over grid lines, facing up, and vertex numbers (x, y)."""

    def make(x, y, height):
        X, Y = np.meshgrid(np.asarray(x, float), np.asarray(y, float), indexing="ij")
        number = np.arange(X.size).reshape(X.shape)
        a, b, c, d = (v.ravel() for v in (number[:-1, :-1], number[1:, :-1], number[1:, 1:], number[:-1, 1:]))
        triangles = np.vstack([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])
        return np.stack([X, Y, height(X, Y) + 0.0 * X], -1).reshape(-1, 3), triangles, number

    return make


@pytest.fixture(scope="session")
def rough(net):
    """A function: a bumpy square with walls all round and square drain holes, no face of it over 45 deg."""

    def make(seed, n=14, size=300.0, bumps=6.0, drains=2):
        random = np.random.default_rng(seed)
        x = np.linspace(0, size, n)
        points, triangles, number = net(x, x, lambda X, Y: random.normal(0, bumps, X.shape))
        rims, gone = {}, np.zeros(len(triangles), bool)
        cells = (n - 1) ** 2
        for k in range(drains):
            i, j = 2 + 4 * k, (2 + 5 * (k + seed)) % (n - 3)
            cell = i * (n - 1) + j
            gone[[cell, cell + cells]] = True
            rims[f"drain {k}"] = number[i:i + 2, j:j + 2].ravel()
            points[rims[f"drain {k}"], 2] = points[rims[f"drain {k}"], 2].mean()
        return welded(points, triangles[~gone], drains=rims)

    return make
