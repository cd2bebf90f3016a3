"""Gutters as laws: more slope, more width, less roughness carry more; the depth found carries; refusals."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.check.flow import FlowError, Section, capacity, drafted, half_round, manning, normal_depth
from moldplan.check.flow_gather import Run, critical_depth, most_gathered, profile

few = settings(max_examples=25, deadline=None)
SLOPE, N = st.floats(0.001, 0.09), st.floats(0.008, 0.03)


@few
@given(st.floats(15, 100), st.floats(8, 60), SLOPE, N, st.floats(1.01, 1.1))
def test_a_gutter_carries_more_when_wider_steeper_deeper_or_smoother(width, depth, slope, n, more):
    def most(w=width, d=depth, s=slope, r=n):
        return capacity(drafted(width=w, depth=d), slope=s, roughness=r).flow

    base = most()
    assert most(w=width * more) > base and most(d=depth * more) > base and most(s=slope * more) > base
    if n / more >= 0.008:
        assert most(r=n / more) == pytest.approx(base * more, rel=1e-9)
    assert most(s=slope * more) == pytest.approx(base * math.sqrt(more), rel=1e-9)


@few
@given(st.floats(20, 100), st.floats(10, 60), SLOPE, N, st.floats(0.01, 1))
def test_the_depth_found_is_the_depth_that_carries(width, depth, slope, n, share):
    gutter = drafted(width=width, depth=depth)
    flow = share * capacity(gutter, slope=slope, roughness=n).flow
    found = normal_depth(gutter, flow, slope=slope, roughness=n)
    assert manning(gutter, depth=found, slope=slope, roughness=n).flow == pytest.approx(flow, rel=1e-6)


def test_a_drafted_gutter_with_roots_by_hand():
    """40 x 20 mm, draft 0, roots 6: 800 - 2 (36 - 9 pi) = 784.549 mm2; wetted 2 (14 + 14) + 6 pi = 74.850 mm."""
    wet = drafted(width=40, depth=20, root_radius=6).wet(20)
    assert wet.area == pytest.approx(800 - 2 * (36 - 9 * math.pi), rel=2e-4)
    assert wet.perimeter == pytest.approx(2 * (14 + 14) + 6 * math.pi, rel=2e-4)


def test_draft_alone_by_hand():
    """45 deg, 60 wide, 20 deep: a trapezium 20 to 60 wide; half full 20 to 40."""
    gutter = drafted(width=60, depth=20, draft=45)
    assert gutter.wet(20).area == pytest.approx(800) and gutter.wet(10).area == pytest.approx(300)
    assert gutter.wet(20).perimeter == pytest.approx(20 + 40 * math.sqrt(2)) and gutter.wet(10).top == pytest.approx(40)


@few
@given(st.floats(30, 100), st.floats(15, 60), st.floats(0, 10), st.floats(0, 8), st.floats(0.05, 1))
def test_roots_and_draft_wet_what_shapely_cuts_out(width, depth, draft, root, share):
    """Shapely's own polygon of the same points, cut at the water's level."""
    from shapely.geometry import Polygon, box

    gutter = drafted(width=width, depth=depth, draft=draft, root_radius=root)
    cut = Polygon(gutter.points).intersection(box(-width, -1, width, share * depth))
    wet = gutter.wet(share * depth)
    assert wet.area == pytest.approx(cut.area, rel=1e-6)
    assert wet.perimeter + wet.top == pytest.approx(cut.length, rel=1e-6)


def test_a_gutter_lower_on_one_side_spills_there():
    assert Section(((0, 20), (0, 0), (40, 0), (40, 45))).brim == 20


def test_a_ledge_takes_the_greater_depth():
    """A narrow channel in a wide tray: just over the ledge the water rubs on it and less is carried; the safe one."""
    tray = Section(((0, 40), (0, 20), (90, 20), (90, 0), (110, 0), (110, 20), (200, 20), (200, 40)))
    below = manning(tray, depth=20, slope=0.02, roughness=0.01).flow
    assert manning(tray, depth=20.5, slope=0.02, roughness=0.01).flow < below
    found = normal_depth(tray, 0.95 * below, slope=0.02, roughness=0.01)
    assert found > 20
    assert manning(tray, depth=found, slope=0.02, roughness=0.01).flow == pytest.approx(0.95 * below, rel=1e-6)


@pytest.mark.parametrize("slope", [0, -0.02, math.nan])
def test_without_a_fall_it_is_refused_in_plain_words(slope):
    with pytest.raises(FlowError, match="does not fall towards the drain"):
        capacity(drafted(width=40, depth=20), slope=slope, roughness=0.01)


@pytest.mark.parametrize("wrong", [
    lambda: capacity(drafted(width=40, depth=20), slope=0.11, roughness=0.01),
    lambda: capacity(drafted(width=40, depth=20), slope=0.02, roughness=0.1),
    lambda: capacity(drafted(width=40, depth=4), slope=0.02, roughness=0.01),
    lambda: manning(drafted(width=40, depth=20), depth=21, slope=0.02, roughness=0.01),
    lambda: manning(drafted(width=40, depth=20), depth=math.nan, slope=0.02, roughness=0.01),
    lambda: normal_depth(drafted(width=40, depth=20), 5, slope=0.02, roughness=0.01),
    lambda: normal_depth(drafted(width=40, depth=20), -1, slope=0.02, roughness=0.01),
    lambda: drafted(width=40, depth=20, draft=60), lambda: drafted(width=40, depth=20, root_radius=21),
    lambda: half_round(0), lambda: Section(((0, 0), (1, 1))), lambda: Section(((0, 5), (4, 0), (2, 5))),
    lambda: Section(((0, 0), (5, 0), (9, 0)))])
def test_outside_its_range_it_refuses(wrong):
    with pytest.raises(FlowError):
        wrong()


def gutter(**changed):
    box = drafted(width=40, depth=20)
    given = {"high": box, "low": box, "length": 1000, "slope": 0.02, "roughness": 0.01, "gathered": 0.2}
    return Run(**{**given, **changed})


def test_more_inflow_stands_deeper_everywhere_and_spills_first_where_it_is_fullest():
    shallow, deep = profile(gutter(gathered=0.1)), profile(gutter(gathered=0.5))
    assert all(a < b for a, b in zip(shallow.depth, deep.depth, strict=True))
    assert shallow.spills_at is None
    assert deep.spills_at == deep.x[max(range(len(deep.x)), key=lambda k: deep.depth[k])]


def test_a_steeper_wider_or_smoother_gutter_gathers_more():
    base = most_gathered(gutter())[0]
    wide = drafted(width=48, depth=20)
    for better in (gutter(slope=0.03), gutter(high=wide, low=wide), gutter(roughness=0.0085)):
        assert most_gathered(better)[0] > 1.01 * base


def test_water_backed_up_from_the_drain_never_helps():
    free, backed = profile(gutter()), profile(gutter(), end_depth=18)
    assert all(b >= a - 1e-6 for a, b in zip(free.depth, backed.depth, strict=True))
    assert backed.depth[-1] == pytest.approx(18)
    assert most_gathered(gutter(), end_depth=18)[0] <= most_gathered(gutter())[0] * (1 + 1e-3)


def test_at_the_critical_depth_waves_stand():
    """Q^2 T = g A^3 in a box: y_c = (q^2 / g)^(1/3)."""
    assert critical_depth(gutter(), 1000) == pytest.approx(((0.2e6 / 40) ** 2 / 9806.65) ** (1 / 3), rel=1e-9)
    assert critical_depth(gutter(), 0) == 0


def test_a_dry_gutter_is_dry():
    found = profile(gutter(gathered=0))
    assert set(found.depth) == {0.0} and found.spills_at is None and found.thin


@pytest.mark.parametrize("wrong", [
    lambda: gutter(slope=-0.01), lambda: gutter(slope=0.2), lambda: gutter(length=0), lambda: gutter(gathered=-1),
    lambda: gutter(carried=math.nan), lambda: gutter(low=half_round(40)), lambda: profile(gutter(), end_depth=-1),
    lambda: most_gathered(gutter(), end_depth=25), lambda: most_gathered(gutter(carried=3))])
def test_a_run_outside_its_range_is_refused(wrong):
    with pytest.raises(FlowError):
        wrong()
