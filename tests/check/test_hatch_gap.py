"""Gaps round a lid, closed and as it swings: against trigonometry on the finished section, no kernel involved.

The hatch of tests/conftest.py: opening 500 x 400, wall 25 + 40 outside it and drafted 4 deg, lid 22 with an edge of
6 deg and 3 mm of gap, rim rounded by 3 (the frame's own), paint 0.3.
"""

import math
from dataclasses import replace

import numpy as np
import pytest

from moldplan.check import edge_gap

WALL, EDGE, PAINT, LID, GAP, RIM = math.radians(4), math.radians(6), 0.3, 22, 3, 3
COAT = 0.0018  # mm: the lid's coat is laid level instead of square to its edge, 0.3 (1 / cos 6 - 1) = 0.0017


@pytest.fixture(scope="module")
def spot(hatch_spot):
    return hatch_spot()


@pytest.fixture(scope="module")
def steep(hatch_bits):
    """Upright wall and upright edge."""
    return hatch_bits({"gutter/draft": 0, "lid/edge_draft": 0, "gutter/fall": "0 %"}, "frame", "lid")


def test_the_gap_at_the_surface_is_the_one_asked_for_and_two_coats_more_when_bare(spot):
    assert edge_gap.widest(spot).measured == pytest.approx(GAP, abs=COAT)
    # bare and level with the lid's bare top, 0.3 down, where the edge has receded: a coat on each of two slanted faces
    level, _ = edge_gap.gap_at(spot, -PAINT, painted=False)
    slants = PAINT / math.cos(WALL) + PAINT / math.cos(EDGE) + PAINT * (math.tan(EDGE) - math.tan(WALL))
    assert level == pytest.approx(GAP + slants, abs=COAT)
    assert edge_gap.bare(spot).measured == pytest.approx(level - 2 * PAINT, abs=1e-6)


def test_the_drafts_of_wall_and_edge_make_the_gap_at_the_underside(spot):
    found = edge_gap.underside(spot)
    assert found.measured == pytest.approx(GAP - LID * (math.tan(WALL) - math.tan(EDGE)), abs=COAT)
    assert "drafted 6.0 deg against a wall of 4.0 deg" in found.note


def test_the_least_gap_lies_where_the_rims_rounding_begins(spot):
    # the wall's upper end: the rim's middle lies 3 below the surface and inside, a bare radius of 3 - 0.3 about it
    top = -RIM + (RIM - PAINT) * math.sin(WALL)
    bare = GAP - top * (math.tan(EDGE) - math.tan(WALL)) + PAINT / math.cos(WALL) + PAINT / math.cos(EDGE)
    assert edge_gap.anywhere(spot).measured == pytest.approx(bare * math.cos(EDGE) - 2 * PAINT, abs=COAT)


def off(u, z, *, wall, draft):
    """Distance of points from the finished wall through (wall, 0) and its rounded rim, by plain geometry."""
    middle = (wall + RIM / math.cos(draft) - RIM * math.tan(draft), -RIM)
    along = (u - wall) * math.sin(draft) + z * math.cos(draft)  # the foot's way down the wall's line
    ends = (middle[0] - wall) * math.sin(draft) + middle[1] * math.cos(draft)
    straight = (wall + z * math.tan(draft) - u) * math.cos(draft)
    return np.where(along <= ends, straight, np.hypot(u - middle[0], z - middle[1]) - RIM)


def swing(half, *, draft, edge, knuckle):
    """Least gap as the lid turns about the opposite rebate's edge, `half` of the opening from the middle; the turn."""
    wall, turns = half + 65, np.radians(np.linspace(0, 90, 180001))
    gaps = []
    for z in (-PAINT, PAINT - LID):  # the lid's bare corners, a coat round each
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
    assert found.measured == pytest.approx(least, abs=COAT)
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
    """Both edges as drawn, from their corners: the sole's cut-out is upright, the lid's edge leans by 6 deg."""
    under = hatch_spot({"bond_flange/lies": "under", "bond_flange/bed": 1.5, "lid/finished": False, "lid/knuckle": 20,
                        "drains": {"port": {"at": "aft port", "bore": 19, "sump": 8, "flange": 24},
                                   "starboard": {"at": "aft starboard", "bore": 19, "sump": 8, "flange": 24}}})
    sole, lid = under.assembly.body(under.sole.part).faces("hatch edge"), under.lid.faces("top")
    cut = min(abs(v.Y) for face in sole for v in face.Vertices() if abs(v.X) < 211)  # port and starboard sides' ends
    edge = max(v.Y for face in lid for v in face.Vertices())
    assert cut == pytest.approx(200 + 65, abs=0.31)  # on the wall's line, a coat or none outside it
    top = cut - edge - 2 * PAINT - PAINT / math.cos(EDGE) + PAINT  # 0.3 over the lid's bare top, square coat
    assert edge_gap.widest(under).measured == pytest.approx(top - PAINT * math.tan(EDGE), abs=COAT)
    low, side = edge_gap.gap_at(under, -LID, painted=True)
    assert low - edge_gap.widest(under).measured == pytest.approx(LID * math.tan(EDGE), abs=1e-5)
    # the nearest place is the lid's upper corner, straight across
    assert edge_gap.anywhere(under).measured == pytest.approx(cut - edge - 2 * PAINT, abs=1e-5)
    assert edge_gap.swing(under)[0].measured < cut - edge - 2 * PAINT
