"""The way round an opening: stations against plain geometry, swept solids against closed forms."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.shape.ring import SPOTS, Line, Ring, sweep

RINGS = st.builds(Ring, length=st.floats(200, 1200), width=st.floats(200, 1200), radius=st.floats(10, 90),
                  off=st.floats(5, 80))
ROUND = [Ring(length=400, width=400, radius=200, off=45), Ring(length=400, width=380, radius=190, off=45),
         Ring(length=380, width=400, radius=190, off=45)]  # round, and half-round at two ends


def rounded_area(ring, off):
    """Area of the opening grown by `off`: a rectangle less its corners, (4 - pi) r2."""
    radius = ring.radius + off
    return (ring.length + 2 * off) * (ring.width + 2 * off) - (4 - math.pi) * radius**2


@given(RINGS)
def test_the_way_is_as_long_as_a_rounded_rectangle_grown_by_off(ring):
    straight = 2 * (ring.length + ring.width - 4 * ring.radius)
    assert ring.whole == pytest.approx(straight + 2 * math.pi * (ring.radius + ring.off))


@given(RINGS, st.floats(0, 1))
def test_a_station_is_on_the_edge_and_its_way_out_square_to_it(ring, share):
    here, after = ring.station(share * ring.whole), ring.station(share * ring.whole + 1e-4)
    step = (after.at[0] - here.at[0], after.at[1] - here.at[1])
    assert math.hypot(*here.out) == pytest.approx(1)
    assert abs(step[0] * here.out[0] + step[1] * here.out[1]) < 1e-7
    assert step[0] * here.out[1] - step[1] * here.out[0] <= 1e-12  # counter-clockwise: out lies to the right


@given(RINGS, st.floats(0, 1), st.floats(-4, 60))
def test_a_point_outside_a_station_finds_its_way_back(ring, share, off):
    s = share * ring.whole
    spot = ring.station(s)
    found, out = ring.nearest(spot.at[0] + off * spot.out[0], spot.at[1] + off * spot.out[1])
    assert out == pytest.approx(off, abs=1e-6)
    assert abs((found - s + ring.whole / 2) % ring.whole - ring.whole / 2) < 1e-5 * ring.whole


def test_the_spots_lie_where_their_names_say():
    ring = Ring(length=800, width=500, radius=40, off=30)
    signs = {name: (("forward" in name) - ("aft" in name), ("port" in name) - ("starboard" in name)) for name in SPOTS}
    for name in SPOTS:
        out = ring.station(ring.spot(name)).out
        assert (round(out[0] / max(map(abs, out))), round(out[1] / max(map(abs, out)))) == signs[name]


@settings(max_examples=10, deadline=None)
@given(RINGS, st.floats(3, 30), st.floats(8, 40))
def test_a_box_section_swept_has_the_volume_of_a_frame(ring, inner, width):
    low, high = -30.0, -10.0
    corners = [(inner, low), (inner, high), (inner + width, high), (inner + width, low)]
    section = [Line(role, corners[k], corners[(k + 1) % 4]) for k, role in enumerate(("in", "top", "out", "floor"))]
    made = sweep(ring, lambda s: section)
    want = (rounded_area(ring, inner + width) - rounded_area(ring, inner)) * 20
    assert made.solid.isValid()
    assert made.solid.Volume() == pytest.approx(want, rel=1e-7)
    assert sum(f.Area() for f in made.faces("top")) == pytest.approx(want / 20, rel=1e-7)


def test_stretches_of_the_way_add_up_to_the_whole():
    ring = Ring(length=500, width=400, radius=40, off=30)
    corners = [(5, -30), (5, -10), (35, -10), (35, -30)]
    section = [Line(role, corners[k], corners[(k + 1) % 4]) for k, role in enumerate("abcd")]
    marks = [ring.spot(name) for name in ("forward port", "aft", "starboard")]
    parts = [sweep(ring, lambda s: section, span=span)
             for span in zip(marks, [*marks[1:], marks[0] + ring.whole], strict=True)]
    whole = sweep(ring, lambda s: section)
    assert sum(p.solid.Volume() for p in parts) == pytest.approx(whole.solid.Volume(), rel=1e-8)
    assert all(p.solid.isValid() and p.faces("start") and p.faces("end") for p in parts)


@pytest.mark.parametrize("ring", ROUND)
def test_a_ring_without_straights_goes_round_all_the_same(ring):
    """Its named spots by symmetry, its way there and back, and the volume of a box section once round."""
    for name in SPOTS:
        out = ring.station(ring.spot(name)).out
        turn = {"forward": 0, "forward port": 45, "port": 90, "aft port": 135, "aft": 180}.get(name)
        if turn is not None:
            assert out == pytest.approx((math.cos(math.radians(turn)), math.sin(math.radians(turn))), abs=1e-12)
    for share in range(16):
        s = share / 16 * ring.whole
        spot = ring.station(s)
        found, off = ring.nearest(spot.at[0] + 20 * spot.out[0], spot.at[1] + 20 * spot.out[1])
        assert off == pytest.approx(20)
        assert abs((found - s + ring.whole / 2) % ring.whole - ring.whole / 2) < 1e-6
    section = box_at(5, 35)
    want = (rounded_area(ring, 35) - rounded_area(ring, 5)) * 20
    parts = [sweep(ring, lambda s: section, span=(a, b)) for a, b in ring.pieces()]
    assert len(parts) == len([b for a, b in zip(ring.bounds, ring.bounds[1:], strict=False) if b - a > 1])
    assert sum(p.solid.Volume() for p in parts) == pytest.approx(want, rel=1e-7)
    assert sweep(ring, lambda s: section).solid.Volume() == pytest.approx(want, rel=1e-7)


def box_at(low, high):
    corners = [(low, -30), (low, -10), (high, -10), (high, -30)]
    return [Line(role, corners[k], corners[(k + 1) % 4]) for k, role in enumerate("abcd")]
