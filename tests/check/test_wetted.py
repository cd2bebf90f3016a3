"""Wetted faces of made bodies against plan areas and heights worked out by hand."""

import math

import numpy as np
import pytest

from moldplan.check.net import border, loops
from moldplan.check.wetted import spaces
from moldplan.shape.assemble import assemble
from moldplan.shape.choose import resolve
from moldplan.spec.model import Spec

HATCH = {"centre": [450, 0], "clear_opening": [300, 280], "corner_radius": 30, "landing": 25,
         "gutter": {"width": 40, "depth": 22, "fall": "1:50"}, "drains": {"a": {"at": "aft", "bore": 19, "flange": 40}},
         "lid": {"thickness": 24, "gasket": {"free": 20, "squeeze": 0.4}}}
DATA = {
    "moldplan": 1, "title": "wetted", "cylinders": {"b": {"diameter": 100, "height": 200}},
    "lockers": {"box": {"box": {"from": [1000, 0, 0], "to": [1400, 300, 400]}, "sole": {"fall": "1:40"},
                        "drain": {"bore": 20, "proud": 2}}},
    "cradles": {"k": {"locker": "box", "block": [200, 200, 60], "seats": {
        "b": {"depth": 36, "clearance_per_side": 4, "limber": {"towards": "aft", "also": ["port"]}}}}},
    "soles": {"s": {"outline": [[0, -400], [900, -400], [900, 400], [0, 400]], "overboard": ["aft"],
                    "scuppers": {"drain": {"at": [60, 300], "bore": 38}}, "hatches": {"h": HATCH}}},
}


def made(data):
    return {space.name: space for space in spaces(assemble(resolve(Spec.model_validate(data))))}


@pytest.fixture(scope="module")
def all_spaces():
    return made(DATA)


def plan_area(space):
    a, b, c = (space.vertices[space.triangles[:, k]] for k in range(3))
    return np.cross(b - a, c - a)[:, 2].sum() / 2


def rounded(length, width, radius):
    return length * width - (4 - math.pi) * radius**2


def test_a_sole_and_its_gutter_cover_the_outline_but_opening_and_bores(all_spaces):
    space = all_spaces["s"]
    # the skin's cut edge lies a coat of paint (0.3) inside the finished opening's edge
    area = 900 * 800 - rounded(300 + 0.6, 280 + 0.6, 30.3) - math.pi * (19**2 + 9.5**2)
    assert plan_area(space) == pytest.approx(area, rel=5e-4)
    assert space.parts == ("s", "s.h")
    # every border closes: outline, opening, scupper, gutter drain
    assert len(loops(border(space.triangles))) == 4


def test_open_edges_are_those_of_the_side_named(all_spaces):
    space = all_spaces["s"]
    assert np.allclose(space.vertices[space.open_edge][:, 0], 0)
    assert len(space.open_edge) >= 2
    assert not len(all_spaces["box"].open_edge)


def test_rims_stand_where_the_bores_are(all_spaces):
    rim = all_spaces["s"].vertices[all_spaces["s"].rims["s.drain"]]
    assert np.hypot(rim[:, 0] - 60, rim[:, 1] - 300) == pytest.approx(19, abs=0.01)
    # level A = 24 lid + 12 gasket, 22 of gutter, and the fall of half the way round
    gutter = all_spaces["s"].vertices[all_spaces["s"].rims["s.h.a"]]
    way = 2 * (300 - 60) + 2 * (280 - 60) + 2 * math.pi * (30 + 25 + 20)
    assert gutter[:, 2] == pytest.approx(-(24 + 12 + 22 + way / 2 / 50) - 0.3, abs=0.25)


def test_a_lockers_sole_goes_round_its_block(all_spaces):
    space = all_spaces["box"]
    # 400 x 300 less the block of 200 x 200 with its skin, less the drain
    bare = 400 * 300 - math.pi * 10**2 - plan_area(space)
    side = math.sqrt(bare)
    assert 200 <= side <= 206
    assert space.parts == ("box",)


def test_a_flange_that_stands_proud_lifts_its_rim(all_spaces):
    space = all_spaces["box"]
    rim = space.vertices[space.rims["box.drain"]]
    floor = (rim[:, 0] - 1000) / 40  # the sole's lowest side is aft, at 0
    assert rim[:, 2] - floor == pytest.approx(2.0, abs=0.06)


def test_a_seat_runs_off_over_its_rim_and_out_of_its_limbers(all_spaces):
    space = all_spaces["k.b"]
    assert set(space.rims) == {"k.b.limber", "k.b.limber 2"}
    top = space.vertices[:, 2].max()
    assert np.allclose(space.vertices[space.open_edge][:, 2], top)
    lowest = [space.vertices[rim][:, 2].min() for rim in space.rims.values()]
    assert lowest == pytest.approx([space.vertices[:, 2].min()] * 2, abs=0.25)


def test_a_flange_that_lies_under_the_sole_leaves_no_hole():
    data = {**DATA, "lockers": {}, "cradles": {}, "soles": {"s": {**DATA["soles"]["s"], "hatches": {
        "h": {**HATCH, "bond_flange": {"width": 50, "lies": "under"}}}}}}
    space = made({k: v for k, v in data.items() if k != "cylinders"})["s"]
    assert len(loops(border(space.triangles))) == 4
    # wound alike all over, the strip that hangs over too: no edge is walked twice the same way
    edges = np.concatenate([space.triangles[:, [k, (k + 1) % 3]] for k in range(3)])
    assert len(np.unique(edges, axis=0)) == len(edges)
