"""Gaps round a lid, closed and as it swings: against trigonometry on the finished section, no kernel involved.

The hatch of tests/conftest.py: opening 500 x 400, wall 25 + 40 outside it and drafted 4 deg, lid 22 with an edge of
6 deg and 3 mm of gap, rim rounded by 3 (the frame's own), paint 0.3.
"""

import math
from dataclasses import replace

import numpy as np
import pytest

from moldplan.check import edge_gap
from moldplan.check.gauges import gauges

WALL, EDGE, PAINT, LID, GAP, RIM = math.radians(4), math.radians(6), 0.3, 22, 3, 3
UNDER = {"bond_flange/lies": "under", "bond_flange/bed": 1.5, "lid/finished": False, "lid/knuckle": 20,
         "drains": {"port": {"at": "aft port", "bore": 19, "sump": 8, "flange": 24},
                    "starboard": {"at": "aft starboard", "bore": 19, "sump": 8, "flange": 24}}}
FINE = 1e-5  # mm, of the solids and of findings' six places


@pytest.fixture(scope="module")
def spot(hatch_spot):
    return hatch_spot()


@pytest.fixture(scope="module")
def steep(hatch_bits):
    """Upright wall and upright edge."""
    return hatch_bits({"gutter/draft": 0, "lid/edge_draft": 0, "gutter/fall": "0 %"}, "frame", "lid")


def test_the_gap_at_the_surface_is_the_one_asked_for_and_two_coats_more_when_bare(spot):
    assert edge_gap.widest(spot).measured == pytest.approx(GAP, abs=FINE)
    # bare and level with the lid's bare top, 0.3 down, where the edge has receded: a coat on each of two slanted faces
    level, _ = edge_gap.gap_at(spot, -PAINT, painted=False)
    slants = PAINT / math.cos(WALL) + PAINT / math.cos(EDGE) + PAINT * (math.tan(EDGE) - math.tan(WALL))
    assert level == pytest.approx(GAP + slants, abs=FINE)
    assert edge_gap.bare(spot).measured == pytest.approx(level - 2 * PAINT, abs=1e-6)


def test_the_drafts_of_wall_and_edge_make_the_gap_at_the_underside(spot):
    found = edge_gap.underside(spot)
    assert found.measured == pytest.approx(GAP - LID * (math.tan(WALL) - math.tan(EDGE)), abs=FINE)
    assert "drafted 6.0 deg against a wall of 4.0 deg" in found.note


def test_the_least_gap_lies_where_the_rims_rounding_begins(spot):
    # the wall's upper end: the rim's middle lies 3 below the surface and inside, a bare radius of 3 - 0.3 about it
    top = -RIM + (RIM - PAINT) * math.sin(WALL)
    bare = GAP - top * (math.tan(EDGE) - math.tan(WALL)) + PAINT / math.cos(WALL) + PAINT / math.cos(EDGE)
    assert edge_gap.anywhere(spot).measured == pytest.approx(bare * math.cos(EDGE) - 2 * PAINT, abs=FINE)


def off(u, z, *, wall, draft):
    """Distance of points from the finished wall through (wall, 0) and its rounded rim, by plain geometry."""
    middle = (wall + RIM / math.cos(draft) - RIM * math.tan(draft), -RIM)
    along = (u - wall) * math.sin(draft) + z * math.cos(draft)  # the foot's way down the wall's line
    ends = (middle[0] - wall) * math.sin(draft) + middle[1] * math.cos(draft)
    straight = (wall + z * math.tan(draft) - u) * math.cos(draft)
    return np.where(along <= ends, straight, np.hypot(u - middle[0], z - middle[1]) - RIM)


def off_sole(u, z, *, wall, draft):
    """Distance of points from the painted edge of a sole whose upper corner is sharp, by plain geometry: a segment
    through (wall, 0), bare a coat outside it and from a coat under the surface on down."""
    top = np.array([wall - PAINT * math.tan(draft) + PAINT / math.cos(draft), -PAINT])
    along = (u - top[0]) * math.sin(draft) + (z - top[1]) * math.cos(draft)  # up the segment, from its upper corner
    straight = (top[0] - u) * math.cos(draft) + (z - top[1]) * math.sin(draft)
    return np.where(along <= 0, straight, np.hypot(u - top[0], z - top[1])) - PAINT


def swing(half, *, draft, edge, knuckle, thick=LID, off=off):
    """Least gap as the lid turns about the opposite rebate's edge, `half` of the opening from the middle; the turn."""
    wall, turns = half + 65, np.radians(np.linspace(0, 90, 180001))
    gaps = []
    for z in (-PAINT, PAINT - thick):  # the lid's bare corners, a coat round each
        u = half + 62 + z * math.tan(edge) - PAINT / math.cos(edge)
        away, up = u + wall, z - knuckle
        out = -wall + away * np.cos(turns) - up * np.sin(turns)
        high = knuckle + away * np.sin(turns) + up * np.cos(turns)
        gaps.append(off(out, high, wall=wall, draft=draft) - PAINT)
    least = np.min(gaps, axis=0)
    return float(least.min()), math.degrees(turns[int(least.argmin())])


def hinged(spot, knuckle, side="forward", half=250):
    """The same faces, hinged at the edge of the rebate on another side, its axis `knuckle` over the sole."""
    axis = {"forward": ((half + 65, 0.0), (0.0, 1.0)), "starboard": ((0.0, -half - 65), (1.0, 0.0))}[side]
    lid = spot.place.hatch.lid.model_copy(update={"knuckle": knuckle, "hinge": side})
    return replace(spot, place=replace(spot.place, hinge=axis, hatch=spot.place.hatch.model_copy(update={"lid": lid})))


@pytest.mark.parametrize("knuckle", [0, 5, 12, 30])
@pytest.mark.parametrize(("side", "half"), [("forward", 250), ("starboard", 200)])
def test_the_free_edge_swings_out_as_turned_by_hand(spot, knuckle, side, half):
    found = edge_gap.swing(hinged(spot, knuckle, side, half))[0]
    least, turn = swing(half, draft=WALL, edge=EDGE, knuckle=knuckle)
    assert found.measured == pytest.approx(least, abs=1e-4)
    assert f"at its least after {turn:.1f} deg" in found.note


@pytest.mark.parametrize("knuckle", [0, 10, 20])
def test_an_upright_edge_takes_the_square_of_its_depth_over_twice_the_reach(steep, knuckle):
    """d2 / (2 R): d from the axis down to the corner, R from the axis to the free edge. It is spent only when the
    corner is level with the axis, by then over the wall: what is left to go there is (k + 3)2 / (2 R), k over the sole,
    the rim's rounding 3 under it. Higher terms, d4 / (8 R3), are under 0.001 mm.
    """
    found = edge_gap.swing(hinged(steep, knuckle))[0]
    reach = 2 * 250 + 65 + 62
    straight = GAP - ((LID + knuckle) ** 2 - (knuckle + RIM) ** 2) / (2 * reach)
    assert found.measured == pytest.approx(straight, abs=0.02)
    assert found.measured >= GAP - (LID + knuckle) ** 2 / (2 * reach) - 0.001
    assert found.measured == pytest.approx(swing(250, draft=0, edge=0, knuckle=knuckle)[0], abs=2e-4)


def test_a_lid_that_lifts_off_has_no_swing(spot):
    lid = spot.place.hatch.lid.model_copy(update={"hinge": "none"})
    free = replace(spot, place=replace(spot.place, hatch=spot.place.hatch.model_copy(update={"lid": lid})))
    assert edge_gap.swing(free) == []


def test_over_a_frame_under_the_sole_the_gap_is_to_the_soles_own_edge(hatch_spot):
    """The sole's edge goes on in the gutter's wall: 4 deg, finished 65 outside the opening at the surface."""
    under = hatch_spot(UNDER)
    thick = LID + 2 * PAINT  # given bare
    assert edge_gap.widest(under).measured == pytest.approx(GAP, abs=FINE)
    slants = PAINT / math.cos(WALL) + PAINT / math.cos(EDGE) + PAINT * (math.tan(EDGE) - math.tan(WALL))
    assert edge_gap.bare(under).measured == pytest.approx(GAP + slants - 2 * PAINT, abs=FINE)
    low = GAP + thick * (math.tan(EDGE) - math.tan(WALL))
    assert edge_gap.underside(under).measured == pytest.approx(low, abs=FINE)
    # the lid's edge leans more, so the nearest place is its upper corner, square to the sole's edge
    assert edge_gap.anywhere(under).measured == pytest.approx((GAP + slants) * math.cos(WALL) - 2 * PAINT, abs=FINE)
    shims = {row["name"]: row["size"] for row in gauges(under.assembly)}  # to 0.01
    assert shims["edge shim, bare"] == pytest.approx(GAP + slants, abs=5.1e-3)
    assert shims["edge shim, painted"] == pytest.approx(GAP, abs=5.1e-3)
    assert shims["edge shim, underside"] == pytest.approx(low, abs=5.1e-3)
    least, turn = swing(250, draft=WALL, edge=EDGE, knuckle=20, thick=thick, off=off_sole)
    found = edge_gap.swing(under)[0]
    assert found.measured == pytest.approx(least, abs=1e-4)
    assert f"at its least after {turn:.1f} deg" in found.note


@pytest.mark.parametrize("draft", [4, 12])
def test_the_soles_edge_stands_in_the_line_of_the_wall_under_it(hatch_bits, draft):
    """Over a frame under the sole: no ledge between the two, bare faces in one plane, a coat outside the finished."""
    made = hatch_bits({"bond_flange/lies": "under", "gutter/draft": draft, "gutter/width": 60, "gutter/fall": "0 %"},
                      "frame", "sole")
    edge = edge_gap.walls_at(made, 0.0)
    slant, coat = math.tan(math.radians(draft)), PAINT / math.cos(math.radians(draft))
    for side, half in (("forward", 250), ("aft", 250), ("port", 200), ("starboard", 200)):
        for level in (0.0, -10.0, -22.0):
            assert edge[side].off(level) == pytest.approx(half + 85 + level * slant + coat, abs=FINE)
            assert made.outer[side].off(level) == pytest.approx(edge[side].off(level), abs=FINE)


@pytest.mark.parametrize(("edge", "coats"), [(0, 0.3), (30, 0.3), (30, 0.8)])
def test_the_lids_coat_lies_square_to_its_edge(hatch_bits, edge, coats):
    """A coat t square to an edge of a deg is t / cos a across: at 30 deg a level one would be 0.046 mm short of it."""
    made = hatch_bits({"lid/edge_draft": edge, "/coats/paint": coats}, "frame", "lid")
    assert edge_gap.widest(made).measured == pytest.approx(GAP, abs=FINE)
    off = made.lid_edge["port"].off(0.0)
    assert off == pytest.approx(200 + 62 - coats / math.cos(math.radians(edge)), abs=FINE)


def test_shims_are_cut_for_the_soles_edge_where_that_is_what_the_lid_faces(hatch_spot, hatch_bits):
    """A sole whose cut-out over a frame stands 1 mm further out all round: its shims are 1 mm thicker."""
    under = hatch_spot(UNDER)
    cut = hatch_bits({"bond_flange/lies": "under", "gutter/width": 41, "gutter/fall": "0 %"}, "sole")
    bodies = {**under.assembly.bodies, under.sole.part: cut.assembly.body(under.sole.part)}
    shims = [{row["name"]: row["size"] for row in gauges(one)}
             for one in (under.assembly, replace(under.assembly, bodies=bodies))]
    for name in ("edge shim, bare", "edge shim, painted"):
        assert shims[1][name] - shims[0][name] == pytest.approx(1, abs=5.1e-3)
