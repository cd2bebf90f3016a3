"""Lines past boxes, bars, sectors and meshed bodies: against many points along each line, judged by hand."""

import math

import cadquery as cq
import numpy as np
import pytest

from moldplan.check.in_the_way import Bar, Block, Net, Sector
from moldplan.shape.body import Frame
from moldplan.spec.below import Sweep

SWEEP = {"pivot": [10, -5], "radius": 80, "inner_radius": 20, "low": -30, "high": 25}


def in_box(p):
    return np.all(np.abs(p - [5, 0, 10]) < [60, 40, 30], axis=-1)


def in_leaning_box(p):
    q = p - [5, -5, 0]
    turn = np.array([[math.cos(0.5), math.sin(0.5), 0], [-math.sin(0.5), math.cos(0.5), 0], [0, 0, 1]])
    return np.all(np.abs(q @ turn.T) < [60, 30, 40], axis=-1)


def in_bar(p):
    way = np.array([2.0, 1.0, 2.0]) / 3
    along = (p - [-40, -20, -40]) @ way
    beside = np.linalg.norm(p - [-40, -20, -40] - along[..., None] * way, axis=-1)
    return (along > 0) & (along < 120) & (beside < 35)


def in_sector(p, start, wide):
    x, y = p[..., 0] - 10, p[..., 1] + 5
    turn = (np.degrees(np.arctan2(y, x)) - start) % 360
    far = np.hypot(x, y)
    return (far > 20) & (far < 80) & (p[..., 2] > -30) & (p[..., 2] < 25) & (turn < wide)


LEANING = Frame((5, -5, 0), (math.cos(0.5), math.sin(0.5), 0.0))
THINGS = {
    "box": (Block((-55, -40, -20), (65, 40, 40)), in_box),
    "leaning box": (Block((-60, -30, -40), (60, 30, 40), LEANING), in_leaning_box),
    "bar": (Bar((-40, -20, -40), (40, 20, 40), 35), in_bar),
    "sector": (Sector(Sweep.model_validate({**SWEEP, "from": 30, "to": 110})), lambda p: in_sector(p, 30, 80)),
    "all but a gap": (Sector(Sweep.model_validate({**SWEEP, "from": -100, "to": 200})),
                      lambda p: in_sector(p, -100, 300)),
    "ring": (Sector(Sweep.model_validate({**SWEEP, "from": 0, "to": 360})), lambda p: in_sector(p, 0, 361)),
    "net": (Net(cq.Solid.makeBox(120, 80, 60, cq.Vector(-55, -40, -20))), in_box),
}


@pytest.mark.parametrize("name", THINGS)
def test_a_line_is_free_where_no_point_of_it_lies_inside(name):
    thing, inside = THINGS[name]
    rng = np.random.default_rng(7)
    a, b = rng.uniform(-130, 130, (2, 1500, 3))
    b[:100] = a[:100] * [1, 1, 0.2]  # nearly level with, and near to, their starts
    a[100:400], b[200:500] = a[100:400] / 3, b[200:500] / 3  # many that begin or end inside, or lie inside wholly
    shares = np.linspace(0, 1, 801)[:, None, None]
    met = inside(a + shares * (b - a)).sum(axis=0)
    free = thing.free(a, b)
    assert 300 < (met == 0).sum() < 1300
    assert not free[met > 0].any()
    # a line that only clips a corner may pass between two of the points
    missed = np.flatnonzero(~free & (met == 0))
    assert len(missed) <= 12
    finer = np.linspace(0, 1, 80_001)[:, None]
    for k in missed:
        assert inside(a[k] + finer * (b[k] - a[k])).any()


@pytest.mark.parametrize("name", THINGS)
def test_a_point_is_free_unless_it_lies_inside(name):
    thing, inside = THINGS[name]
    points = np.random.default_rng(3).uniform(-90, 90, (2000, 3))
    assert (thing.free(points, points) == ~inside(points)).all()


@pytest.mark.parametrize("name", THINGS)
def test_its_box_holds_it_and_is_no_larger(name):
    thing, inside = THINGS[name]
    points = np.random.default_rng(5).uniform(-90, 90, (60_000, 3))
    held = points[inside(points)]
    low, high = np.array(thing.box)
    assert (held >= low).all()
    assert (held <= high).all()
    assert (held.min(axis=0) - low < 12).all()
    assert (high - held.max(axis=0) < 12).all()


def test_a_line_along_a_face_touches_and_is_free():
    box = Block((0, 0, 0), (10, 10, 10))
    along = np.array([[-5.0, 5.0, 10.0]])
    assert box.free(along, along + [20, 0, 0]).all()
    assert not box.free(along - [0, 0, 1e-6], along + [20, 0, -1e-6]).any()
