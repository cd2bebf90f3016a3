"""A gutter's width, roots and floor: trigonometry and sums by hand on its section.

The hatch of tests/conftest.py: opening 500 x 400, corners 40; gutter from 25 to 65 outside it, walls of 4 deg, floor
24 under a landing at 28, roots 6, 1:50 to drains of 19 at both aft corners; paint 0.3. The way runs along its middle,
45 outside the opening, from the middle of the forward side towards port.
"""

import itertools
import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.check import floor, gutter

DRAFT, PAINT = math.radians(4), 0.3
A, B = 28, 52
SIDE, END, RADIUS = 420, 320, 85  # straights of the sides and of the ends; a corner's radius on the way
CORNER = RADIUS * math.pi / 2
LONG = END / 2 + CORNER + SIDE + CORNER / 2  # from the middle of the forward end to a drain in an aft corner
SHORT = CORNER / 2 + END / 2  # from the middle of the aft end to a drain
C = B + LONG / 50
STEEP = (C - B) / SHORT  # as deep on the shorter way
WHOLE = 2 * (LONG + SHORT)


@pytest.fixture(scope="module")
def spot(hatch_spot):
    return hatch_spot()


def test_width_is_plan_width_less_the_outer_walls_draft_down_to_the_landing(spot):
    found = gutter.width(spot)
    assert found.measured == pytest.approx(40 - A * math.tan(DRAFT), abs=1e-5)
    assert (found.limit, found.source.how_read) == (20, "practice")  # a finger and a sponge


@pytest.mark.parametrize(("wide", "fails"), [(21.95, True), (21.97, False)])
def test_a_finger_and_a_sponge_want_20_mm_at_the_landing(hatch_bits, wide, fails):
    """28 tan 4 deg = 1.958: a plan width of 21.958 leaves 20."""
    made = hatch_bits({"gutter/width": wide, "gutter/depth": 8, "gutter/root_radius": 2, "gutter/fall": "0 %",
                       "lid/gap": 2, "/cutter": {"diameter": 3}}, "frame")
    assert (gutter.width(made).verdict == "fails") is fails


def test_a_flange_bonds_over_what_lies_outside_the_gutters_wall(spot, hatch_bits):
    assert gutter.flange(spot).measured == pytest.approx(50, abs=1e-6)
    # under the sole its wall starts 1.67 mm further in, where the sole's cut-out no longer covers the flange
    under = hatch_bits({"bond_flange": {"lies": "under", "width": 60}, "gutter/fall": "0 %"}, "frame")
    assert gutter.flange(under).measured == pytest.approx(60, abs=1e-6)


def test_the_root_is_tightest_where_the_steep_run_leaves_the_wall(spot):
    """A falling run's root is an oblique cylinder of the molded radius, 6 and a coat. At the wall its lines run down
    the wall's own slope, s / cos 4 for s along the way; square to them the radius is r / (1 + (s / cos 4)2)."""
    (found,) = gutter.roots(spot)
    assert found.measured == pytest.approx((6 + PAINT) / (1 + (STEEP / math.cos(DRAFT)) ** 2), abs=1e-4)


@pytest.mark.parametrize(("skin", "wanting", "fails"), [(1.2, 0, False), (6, 0, False), (6.5, 0.5, True), (8, 2, True)])
def test_a_root_is_no_tighter_than_the_plies_that_go_round_it(spot, skin, wanting, fails):
    """Least 6, and the skin's thickness where that is more: common practice, no source."""
    (found,) = gutter.roots(replace(spot, place=replace(spot.place, skin=skin)))
    whole = (6 + PAINT) / (1 + (STEEP / math.cos(DRAFT)) ** 2)
    assert found.measured == pytest.approx(whole - wanting, abs=1e-4)
    assert (found.verdict == "fails") is fails


@pytest.mark.parametrize("name", ["port", "starboard"])
def test_a_drains_bore_stands_on_what_drafts_and_roots_leave_of_the_floor(spot, name):
    # 40 less both walls' draft (the outer one's from the surface, the inner one's from the landing), less two roots of
    # 6 whose corners turn by 86 deg; half a millimetre beside the drain the floor is 0.01 higher
    deep = C - 0.5 / 50
    flat = 40 - (deep + deep - A) * math.tan(DRAFT) - 2 * 6 * math.tan((math.pi / 2 - DRAFT) / 2)
    assert floor.flat(spot, name).measured == pytest.approx(flat - 19, abs=1e-3)
    assert floor.bore(spot, name).measured == pytest.approx(19, abs=1e-6)


def wider(spot, bore):
    """The same faces with a drain that would be so wide."""
    drains = {n: d.model_copy(update={"bore": bore}) for n, d in spot.place.hatch.drains.items()}
    return replace(spot, place=replace(spot.place, hatch=spot.place.hatch.model_copy(update={"drains": drains})))


@pytest.mark.parametrize(("bore", "fails"), [(21.3, False), (21.33, True)])
def test_a_bore_wider_than_the_flat_climbs_the_roots(spot, bore, fails):
    """The flat by the sum above: 40 - (2 x 67.596 - 28) tan 4 deg - 12 tan 43 deg = 21.314."""
    assert (floor.flat(wider(spot, bore), "port").verdict == "fails") is fails


def test_each_run_falls_as_its_length_and_the_common_depth_say(spot):
    found = {f.what: f.measured for f in floor.falls(spot)}
    assert found == {
        "fall to port, clockwise": pytest.approx(STEEP, abs=1e-5),
        "fall to starboard, counter-clockwise": pytest.approx(STEEP, abs=1e-5),
        "fall to port, counter-clockwise": pytest.approx(1 / 50, abs=1e-6),
        "fall to starboard, clockwise": pytest.approx(1 / 50, abs=1e-6),
    }


def place(s, off):
    """A point of the way, `off` outside its middle, in plan: walked by hand round a rounded rectangle."""
    s %= WHOLE
    turn, x, y, left = 0.0, 250 + 45 + off, 0.0, s
    for number, length in enumerate((END / 2, CORNER, SIDE, CORNER, END, CORNER, SIDE, CORNER, END / 2)):
        here = min(left, length)
        if number % 2 == 0:
            x, y = x - here * math.sin(turn), y + here * math.cos(turn)
        else:
            swept, own = here / RADIUS, RADIUS + off
            x += own * (math.cos(turn + swept) - math.cos(turn))
            y += own * (math.sin(turn + swept) - math.sin(turn))
            turn += swept
        left -= here
        if left <= 0:
            break
    return x, y


@pytest.fixture(scope="module")
def depth(spot):
    """A function: finished depth of the floor at a place, the first thing a line up from below meets of the strips."""
    import cadquery as cq
    from OCP.gp import gp_Dir, gp_Lin, gp_Pnt
    from OCP.IntCurvesFace import IntCurvesFace_ShapeIntersector

    strips = [t.solid for t in spot.tools if t.name.endswith((" side", " corner"))]
    assert len(strips) == 8
    finder = IntCurvesFace_ShapeIntersector()
    finder.Load(cq.Compound.makeCompound(strips).wrapped, 1e-6)

    def at(s, off=0.0):
        x, y = place(s, off)
        finder.Perform(gp_Lin(gp_Pnt(x, y, -400), gp_Dir(0, 0, 1)), 0, 400)
        return 400 - min(finder.WParameter(k + 1) for k in range(finder.NbPnt())) - PAINT

    return at


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(["long", "short"]), st.booleans(), st.floats(0.001, 0.999), st.floats(0.001, 0.999),
       st.floats(-8, 8), st.floats(-8, 8))
def test_the_floor_never_rises_towards_its_drain(depth, run, mirrored, one, other, left, right):
    """Also with a step across the flat: at one place it is level from root to root."""
    far, near = sorted((one, other))
    start, length = (0.0, LONG) if run == "long" else (WHOLE / 2, -SHORT)
    high, low = (start + length * share for share in (far, near))
    if mirrored:
        high, low = -high, -low
    a, b = depth(high, left), depth(low, right)
    assert b >= a - 1e-4
    slope = 1 / 50 if run == "long" else STEEP
    assert b - a == pytest.approx(abs(low - high) * slope, abs=1e-3)


def test_the_strips_differ_in_height_by_run_times_fall(spot):
    """Highest and lowest corner of each strip's floor, from its solid; the way from the nearest high point by hand."""
    half = CORNER / 2
    want = {"forward side": END / 2 / 50, "aft side": END / 2 * STEEP, "port side": SIDE / 50,
            "starboard side": SIDE / 50, "forward port corner": CORNER / 50, "forward starboard corner": CORNER / 50,
            "aft port corner": half * STEEP, "aft starboard corner": half * STEEP}
    for name, drop in want.items():
        strip = spot.assembly.body(f"sole.hatch {name}")
        levels = [v.Z for face in strip.faces("molding floor") for v in face.Vertices()]
        assert max(levels) - min(levels) == pytest.approx(drop, abs=1e-4), name
    # and neighbours are as high where they meet: each ends where the next begins
    names = ("forward side", "forward port corner", "port side", "aft port corner", "aft side")
    ends = [{round(v.Z, 4) for f in spot.assembly.body(f"sole.hatch {n}").faces("molding floor") for v in f.Vertices()}
            for n in names]
    assert all(a & b for a, b in itertools.pairwise(ends))
