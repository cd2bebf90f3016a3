"""The section sum of a hatch on its finished faces: every level and offset added up by hand beside its test.

The hatch (tests/conftest.py): opening 500 x 400, corners 40; lid 22 on a gasket of 10 squeezed by 0.4; gutter 40 wide,
24 deep, 1:50, walls of 4 deg, roots 6; paint 0.3, skin 1.2. Drains at both aft corners.
"""

import math
from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from moldplan.check import section
from moldplan.shape import hatch as frames
from moldplan.shape.seat import Build
from moldplan.spec.sole import Hatch

PAINT = 0.3
# from the middle of the forward side to the middle of an aft corner, on the middle of the gutter, 25 + 20 outside:
# half a side of 400 - 80, a corner of radius 85, a side of 500 - 80, half a corner
RUN = 160 + 85 * math.pi / 2 + 420 + 85 * math.pi / 4
A = 22 + 10 * 0.6
B = A + 24
C = B + RUN / 50
# the same hatch with its flange under a sole of 20 mm core and two skins of 1.2, a lid given bare, and a sump
UNDER = {"bond_flange/lies": "under", "bond_flange/bed": 1.5, "lid/finished": False, "lid/knuckle": 20,
         "drains": {"port": {"at": "aft port", "bore": 19, "sump": 8, "flange": 24},
                    "starboard": {"at": "aft starboard", "bore": 19, "sump": 8, "flange": 24}}}


@pytest.fixture(scope="module")
def spot(hatch_spot):
    return hatch_spot()


@pytest.fixture(scope="module")
def under(hatch_spot):
    return hatch_spot(UNDER)


def levels(spot, body, role):
    """All levels of a role's corners, down from the sole's surface [mm]."""
    return sorted({round(-spot.own(v.toTuple())[2], 6) for face in body.faces(role) for v in face.Vertices()})


def floors(spot):
    return sorted(level for tool in spot.tools if "molding floor" in tool.shaped.roles
                  for level in levels(spot, tool, "molding floor"))


def lap(length, width, radius):
    """Length round a rounded rectangle: its straights and one whole turn."""
    return 2 * (length + width - 4 * radius) + 2 * math.pi * radius


def test_the_levels_stand_where_the_sum_says(spot):
    assert levels(spot, spot.molding, "landing") == pytest.approx([A + PAINT], abs=1e-6)
    assert levels(spot, spot.molding, "flange") == pytest.approx([PAINT], abs=1e-6)
    assert spot.landing == pytest.approx(28)
    found = floors(spot)
    assert found[0] == pytest.approx(B + PAINT, abs=1e-5)
    assert found[-1] == pytest.approx(C + PAINT, abs=1e-5)


def test_a_flange_under_the_sole_a_bare_lid_and_a_sump_enter_the_sum(under):
    a = 22 + 2 * PAINT + 6  # both coats on a lid that was given bare
    c = a + 24 + RUN / 50
    assert levels(under, under.lid, "underside") == pytest.approx([22 + PAINT], abs=1e-6)
    assert levels(under, under.molding, "landing") == pytest.approx([a + PAINT], abs=1e-6)
    assert levels(under, under.molding, "flange") == pytest.approx([20 + 2 * 1.2 + 1.5 + PAINT], abs=1e-6)
    found = floors(under)
    assert found[-1] == pytest.approx(c + 8 + PAINT, abs=1e-5)
    assert max(level for level in found if level < c + 7) == pytest.approx(c + PAINT, abs=1e-5)
    assert section.total(under).measured == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize(("which", "a", "d"), [("spot", 28, 52 + RUN / 50), ("under", 28.6, 60.6 + RUN / 50)])
def test_the_chain_of_levels_reads_as_the_faces_do(request, which, a, d):
    made = request.getfixturevalue(which)
    (chain,) = (c for c in made.assembly.chains if c.at == "section")
    assert [chain.upto(k) for k in "ABC"] == pytest.approx([a, a + 24, a + 24 + RUN / 50])
    assert chain.upto("D") == chain.nominal == pytest.approx(d)


def test_the_offsets_stand_where_the_sum_says(spot):
    for side, half in (("forward", 250), ("aft", 250), ("port", 200), ("starboard", 200)):
        assert spot.inner[side].off(-A, PAINT) - half == pytest.approx(25, abs=1e-5)
        assert spot.outer[side].off(0, PAINT) - half == pytest.approx(25 + 40, abs=1e-5)
        assert spot.lid_edge[side].off(0, PAINT) - half == pytest.approx(25 + 40 - 3, abs=1e-5)
    assert spot.flange.half == pytest.approx((250 + 115, 200 + 115), abs=1e-6)
    assert spot.flange.radius == pytest.approx(40 + 115, abs=1e-6)
    assert spot.opening.half == pytest.approx((250, 200), abs=1e-6)
    assert spot.opening.radius == pytest.approx(40, abs=1e-6)


def test_every_painted_face_is_moved_by_its_paint_when_bare(spot):
    square = PAINT / math.cos(math.radians(4))  # across, on a wall drafted 4 deg
    assert spot.outer["port"].off(0) - spot.outer["port"].off(0, PAINT) == pytest.approx(square)
    assert spot.outer["aft"].off(0) == pytest.approx(250 + 65 + square, abs=1e-5)
    assert spot.inner["aft"].off(-A) == pytest.approx(250 + 25 - square, abs=1e-5)
    assert levels(spot, spot.lid, "top") == pytest.approx([PAINT], abs=1e-6)
    assert levels(spot, spot.lid, "underside") == pytest.approx([22 - PAINT], abs=1e-6)
    edge = {round(abs(spot.own(v.toTuple())[0]), 5) for f in spot.molding.faces("opening edge") for v in f.Vertices()}
    assert max(edge) == pytest.approx(250 + PAINT, abs=1e-5)


@pytest.mark.parametrize(("depth", "stop", "proud", "words"), [
    (None, 6, 0.0, "closes flush"),  # 22 + 6 in 28
    (None, 7, 1.0, "1.0 mm proud of the sole"),  # the stop of 7 holds it up: 22 + 7 in 28
    (30, 6, 2.0, "2.0 mm below the sole"),  # 22 + 6 in 30
    (None, None, 0.0, "closes flush"),  # on its gasket, squeezed from 10 to 6
])
def test_a_lid_closes_as_high_as_lid_and_gasket_less_the_landing(spot, hatch_bits, depth, stop, proud, words):
    made = hatch_bits({"landing_depth": depth}, "frame") if depth else altered(spot, stop=stop)
    found = section.total(made)
    assert found.measured == pytest.approx(proud, abs=1e-6)
    assert (words in found.note, found.verdict == "fails") == (True, proud > 0.5)


def altered(spot, **gasket):
    """The same faces under other words for gasket, latches."""
    lid = spot.place.hatch.lid
    own = {k: gasket.pop(k) for k in ("latches", "latch_force") if k in gasket}
    lid = lid.model_copy(update={**own, "gasket": lid.gasket.model_copy(update=gasket)})
    hatch = spot.place.hatch.model_copy(update={"lid": lid})
    return replace(spot, place=replace(spot.place, hatch=hatch))


@pytest.mark.parametrize(("free", "share", "fails"), [
    (10, 0.4, False), (8, 0.25, False), (7.9, 1 - 6 / 7.9, True), (12, 0.5, False), (12.1, 1 - 6 / 12.1, True)])
def test_squeeze_is_the_share_of_the_free_height_that_28_less_22_leaves(spot, free, share, fails):
    """Band 0.25 to 0.5: common practice, no source."""
    found = section.squeeze(altered(spot, free=free))
    assert found.measured == pytest.approx(share, abs=1e-6)
    assert (found.limit, found.verdict == "fails") == ((0.25, 0.5), fails)


@pytest.mark.parametrize(("stop", "share", "fails"), [
    (6, 0.4, False), (7.5, 0.25, False), (7.6, 0.24, True), (5, 0.5, False), (4.9, 0.51, True), (None, 1.0, True)])
def test_a_stop_leaves_its_own_height_of_gasket(spot, stop, share, fails):
    found = section.stop(altered(spot, stop=stop))
    assert (found.measured, found.verdict == "fails") == (pytest.approx(share), fails)


def test_the_gaskets_length_is_a_rounded_rectangle_through_its_middle(spot):
    box = spot.assembly.body(spot.place.gasket).solid.BoundingBox()
    off = box.xmax - 250 - 15 / 2  # its outer edge less half its width of 15, outside the opening
    assert box.ymax - 200 - 15 / 2 == pytest.approx(off, abs=1e-4)
    assert section.gasket_line(spot) == pytest.approx(lap(500 + 2 * off, 400 + 2 * off, 40 + off), rel=1e-6)


def test_the_force_that_closes_is_stiffness_times_length_times_squeeze(spot):
    """Latches of 60 N each: what one more of them adds to the ratio is 60 N over the force that is needed."""
    none, two = (section.closing_force(altered(spot, latches=n)).measured for n in (0, 2))
    off = spot.assembly.body(spot.place.gasket).solid.BoundingBox().xmax - 250 - 7.5
    needed = 0.5 * lap(500 + 2 * off, 400 + 2 * off, 40 + off) * 0.4  # N: 0.5 N/mm for the whole of its height
    assert 2 * 60 / (two - none) == pytest.approx(needed, rel=1e-4)  # the ratios are rounded to 6 places
    assert section.closing_force(altered(spot, latches=2, latch_force=needed / 2)).verdict in ("holds", "close")
    assert section.closing_force(altered(spot, latches=2, latch_force=0.4 * needed)).verdict == "fails"


def test_a_lid_on_a_high_stop_needs_the_force_of_its_lesser_squeeze(spot):
    none, two = (section.closing_force(altered(spot, latches=n, stop=7)) for n in (0, 2))
    full = [section.closing_force(altered(spot, latches=n)).measured for n in (0, 2)]
    assert (two.measured - none.measured) / (full[1] - full[0]) == pytest.approx(0.4 / 0.3, rel=1e-4)


def test_the_gasket_sits_on_what_the_rounding_leaves_flat_of_the_landing(spot, hatch_bits):
    # bare: from a coat outside the opening to where a rounding of 3 - 0.3 begins, whose corner of 94 deg has moved in
    # by the coat; tan 43 of each (the way turns by 90 - 4 deg)
    share = math.tan(math.radians(43))
    flat = (25 - PAINT * share - (3 - PAINT) * share) - PAINT
    assert section.gasket_seat(spot).measured == pytest.approx(flat - 15, abs=1e-5)
    # inside an upstand of 4 mm the flat begins at its foot and the root there, half the gutter's radius. It leans in by
    # 4 deg; at its top a coat, then skin and coat square to its face reach from the opening to the finished face
    upstand = hatch_bits({"upstand": 4, "gutter/fall": "0 %"}, "frame")
    lean = math.radians(4)
    begins = PAINT + (1.2 + PAINT) * math.cos(lean) + 4 * math.tan(lean) + 3 * share
    ends = 25 - 3 * share
    assert section.gasket_seat(upstand).measured == pytest.approx(ends - begins - 15, abs=1e-5)


def reach(spot):
    """How far outside the opening the gasket lies, at the middle of its forward side."""
    faces = spot.assembly.body(spot.place.gasket).faces("underside")
    ends = [spot.own(v.toTuple()) for face in faces for v in face.Vertices()]
    return min(x for x, _, _ in ends if x > 240) - 250, max(x for x, _, _ in ends) - 250


def test_the_gasket_lies_on_the_flat_and_not_on_the_rounding_beside_it(spot, hatch_bits):
    """A rounding of 3 in a corner of 94 deg takes 3 tan 43 = 2.80 of the landing: 22.20 of 25 are flat, finished."""
    ends = 25 - 3 * math.tan(math.radians(43))
    assert reach(spot) == pytest.approx((ends - 15, ends), abs=1e-5)
    # one of 24 does not fit: it begins at the opening, and 1.8 of it lie beyond the flat; bare, the flat begins a coat
    # further out
    wide = hatch_bits({"lid/gasket/width": 24, "gutter/fall": "0 %"}, "frame", "lid")
    assert reach(wide) == pytest.approx((0, 24), abs=1e-5)
    found = section.gasket_seat(wide)
    assert found.measured == pytest.approx(ends - PAINT - 24, abs=1e-5)
    assert (found.verdict, "1.8 mm of it lie beyond" in found.note) == ("fails", True)


def test_a_gasket_that_hangs_over_the_rounding_fails_as_wide_as_the_landing_may_be(spot):
    """The gasket drawn up to the landing's edge, 25.0 outside the opening: 2.80 of it hang over the rounding."""
    import cadquery as cq

    body = spot.assembly.body(spot.place.gasket)
    out = cq.Workplane().rect(550, 450).extrude(1).edges("|Z").fillet(65).translate((0, 0, -28)).val()
    face = min(out.Faces(), key=lambda f: f.Center().z)
    ring = replace(body, shaped=replace(body.shaped, roles={**body.shaped.roles, "underside": (
        face.moved(spot.place.frame.location), *body.faces("underside"))}))
    moved = replace(spot, assembly=replace(spot.assembly, bodies={**spot.assembly.bodies, ring.name: ring}))
    found = section.gasket_seat(moved)
    assert found.measured == pytest.approx(-3 * math.tan(math.radians(43)), abs=1e-5)
    assert found.verdict == "fails"


@pytest.mark.parametrize("which", ["spot", "under"])
def test_the_clear_opening_is_as_wide_as_asked_for(request, which):
    found = section.clear_opening(request.getfixturevalue(which))
    assert found.measured == pytest.approx(0, abs=1e-6)
    # corner to corner: the rectangle its corners' middles make, 420 x 320, and a radius of 40 at both ends
    assert f"its diagonals {math.hypot(420, 320) + 80:.1f} mm" in found.note


SPOTS = ("forward", "forward port", "port", "aft port", "aft", "aft starboard", "starboard", "forward starboard")
BUILD = Build(skin=1.2, skin_tolerance=0.18, lap=0.6, paint=0.3, paint_tolerance=0.09, in_mold=0.0,
              in_mold_tolerance=0.0, cut_tolerance=0.5, origin="")  # fmt: skip


def longest_run(length, width, radius, off, spots):
    """Half the longest way between neighbouring drains, found along a polygon that another library makes."""
    from shapely.geometry import Point, box

    x, y = length / 2 - radius, width / 2 - radius
    way = box(-x, -y, x, y).buffer(radius + off, 512).exterior
    ends = {"forward": (1, 0), "aft": (-1, 0), "port": (0, 1), "starboard": (0, -1)}
    places = []
    for spot in spots:
        u, v = (sum(ends[word][k] for word in spot.split()) for k in (0, 1))
        reach = (radius + off) / math.hypot(u, v)
        places.append(way.project(Point(u * (x + reach), v * (y + reach))))
    places.sort()
    after = [*places[1:], places[0] + way.length]
    return max(b - a for a, b in zip(places, after, strict=True)) / 2


@settings(max_examples=25, deadline=None)
@given(size=st.tuples(st.floats(200, 900), st.floats(200, 900)), radius=st.floats(10, 100), landing=st.floats(15, 40),
       width=st.floats(30, 80), depth=st.floats(10, 60), fall=st.floats(0, 0.05), thick=st.floats(12, 60),
       finished=st.booleans(), free=st.floats(4, 20), squeeze=st.floats(0.2, 0.6), gap=st.floats(1, 8),
       paint=st.floats(0, 1), sump=st.sampled_from([0.0, 7.5]),
       spots=st.sets(st.sampled_from(SPOTS), min_size=1, max_size=4))
def test_the_sums_of_any_hatch_close(size, radius, landing, width, depth, fall, thick, finished, free, squeeze, gap,
                                     paint, sump, spots):
    assume(min(size) > 2 * radius + 1)
    one = Hatch.model_validate({
        "centre": [0, 0], "clear_opening": list(size), "corner_radius": radius, "landing": landing,
        "gutter": {"width": width, "depth": depth, "fall": f"{100 * fall} %"},
        "lid": {"thickness": thick, "finished": finished, "gap": gap,
                "gasket": {"free": free, "squeeze": squeeze, "width": 8}},
        "drains": {s: {"at": s, "bore": 19, "sump": sump} for s in spots}})
    levels = frames.levels(one, paint=paint)
    down, out = frames.chains("h", (), one, levels, replace(BUILD, paint=paint))
    lid = thick + (0 if finished else 2 * paint)
    run = longest_run(*size, radius, landing + width / 2, spots)
    sums = [lid + free - free * squeeze]
    sums += [sums[0] + depth, sums[0] + depth + fall * run, sums[0] + depth + fall * run + sump]
    assert [down.upto(k) for k in "ABCD"] == pytest.approx(sums, rel=1e-5)  # the polygon's chords: a millionth
    assert (levels.landing, levels.high, levels.drain, levels.rim) == pytest.approx([down.upto(k) for k in "ABCD"])
    assert [out.upto(k) for k in "abc"] == pytest.approx([landing, landing + width, landing + width - gap])
    assert lid + free * (1 - squeeze) - levels.landing == pytest.approx(0, abs=1e-9)  # it closes flush
