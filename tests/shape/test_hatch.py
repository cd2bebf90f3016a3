"""Hatch frames: the section sum by hand, the molding against integrals and Pappus, the mold against the molding."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from moldplan.shape import hatch as frames
from moldplan.shape import lid as lids
from moldplan.shape import mold as molds
from moldplan.shape.ring import sweep
from moldplan.shape.seat import Build
from moldplan.spec.sole import Hatch

BUILD = Build(skin=1.2, skin_tolerance=0.18, lap=0.6, paint=0.3, paint_tolerance=0.09, in_mold=0.0,
              in_mold_tolerance=0.0, cut_tolerance=0.5, origin="two plies")


def hatch(**more):
    fields = {"centre": [0, 0], "clear_opening": [500, 400], "corner_radius": 40,
              "gutter": {"width": 40, "depth": 24, "fall": "1:50", "draft": 4, "root_radius": 6},
              "lid": {"thickness": 22, "gasket": {"free": 10, "squeeze": 0.4}},
              "drains": {"a": {"at": "aft port", "bore": 19}, "b": {"at": "aft starboard", "bore": 19}}}
    return Hatch.model_validate(fields | more)


def test_the_section_sum_by_hand():
    one = hatch()
    made = frames.levels(one, paint=0.3)
    # A = 22 + 10 x 0.6; B = A + 24; C = B + a fiftieth of the longest run: from the middle of the forward side to a
    # corner of the aft side, on the middle of the gutter
    corner = math.pi / 2 * (40 + 25 + 20)
    run = (400 - 80) / 2 + corner + (500 - 80) + corner / 2
    assert (made.landing, made.high) == (28.0, 52.0)
    assert made.drain == pytest.approx(52 + run / 50)
    assert frames.levels(hatch(lid={"thickness": 22, "finished": False}), paint=0.3).lid == pytest.approx(22.6)


def test_a_given_landing_is_the_chains_landing_and_says_what_is_left_for_the_gasket():
    one = hatch(landing_depth=30)
    made = frames.levels(one, paint=0.3)
    down = frames.chains("h", (), one, made, BUILD)[0]
    assert [down.upto(letter) for letter in "ABC"] == pytest.approx([made.landing, made.high, made.drain])
    # 30 less a lid of 22 leaves 8 for a gasket 10 high: squeezed by a fifth, not by the 40 % planned
    (left,) = [step for step in down.steps if step.surface == "A"]
    assert (down.upto("A"), left.nominal) == (30, 8)
    assert "landing_depth 30" in left.origin and "squeezed 20%" in left.origin
    assert made.gasket == 8


@pytest.mark.parametrize("given", [None, 29.5])
@pytest.mark.parametrize("finished", [True, False])
def test_chains_come_to_the_levels_and_offsets(given, finished):
    one = hatch(landing_depth=given, lid={"thickness": 22, "finished": finished, "gasket": {"free": 10}}, upstand=3)
    made = frames.levels(one, paint=0.3)
    down, out = frames.chains("h", (), one, made, BUILD)
    assert [down.upto(letter) for letter in "ABCD"] == pytest.approx([made.landing, made.high, made.drain, made.rim])
    plan = frames.offsets(one)
    assert [out.upto(letter) for letter in "abc"] == pytest.approx([plan.landing, plan.gutter, plan.lid])


@pytest.mark.parametrize(("height", "draft"), [(10, 4), (5, 12)])
def test_an_upstand_leaves_the_whole_opening_at_its_narrowest(height, draft):
    one = hatch(upstand=height, lid={"thickness": 22, "gasket": {"free": 20, "squeeze": 0.4, "width": 8}},
                gutter={"width": 40, "depth": 24, "fall": 0, "draft": draft, "root_radius": 6})
    made = frames.levels(one, paint=0.3)
    body = sweep(frames.ring(one), lambda s: frames.section(one, made, BUILD, made.high, start=0.0))
    walls = [v.toTuple() for face in body.faces("under upstand") for v in face.Vertices()]
    # bare, the opening is one coat of 0.3 wider on each side
    assert min(abs(x) for x, y, z in walls if abs(y) < 160 + 1e-6) == pytest.approx(250.3, abs=1e-6)
    assert min(abs(y) for x, y, z in walls if abs(x) < 210 + 1e-6) == pytest.approx(200.3, abs=1e-6)
    # the lean, h tan a, is said in the plan sum, which still comes to the landing's edge
    out = frames.chains("h", (), one, made, BUILD)[1]
    (lean,) = [step for step in out.steps if step.name.startswith("draft of the upstand")]
    assert lean.nominal == pytest.approx(height * math.tan(math.radians(draft)))
    assert out.upto("a") == pytest.approx(25)
    edge = [v.toTuple()[0] for face in body.faces("landing") for v in face.Vertices()]
    assert max(edge) == pytest.approx(275 - 3 * math.tan(math.radians(45 - draft / 2)), abs=1e-6)


def test_the_offsets_by_hand():
    made = frames.offsets(hatch())
    assert (made.landing, made.gutter, made.lid, made.flange) == (25, 65, 62, 115)


@settings(max_examples=8, deadline=None)
@given(depth=st.floats(12, 40), width=st.floats(38, 70), draft=st.floats(1, 8), landing=st.floats(15, 40),
       radius=st.floats(15, 100), upstand=st.sampled_from([0, 5]), lies=st.sampled_from(["rebated", "under"]))
def test_a_level_frame_has_the_volume_that_pappus_gives(depth, width, draft, landing, radius, upstand, lies):
    one = hatch(corner_radius=radius, landing=landing, upstand=upstand, bond_flange={"lies": lies},
                lid={"thickness": 22, "gasket": {"free": 10, "squeeze": 0.4, "width": 8}},
                gutter={"width": width, "depth": depth, "fall": 0, "draft": draft, "root_radius": 5})
    made = frames.levels(one, paint=0.3)
    way, start = frames.runs(one, made), frames.start_level(one, sole=22.4)
    body = sweep(way.ring, lambda s: frames.section(one, made, BUILD, way.level(s), start=start))
    area, arm = section_of(body)
    # Pappus: the straights count the area, the four corners turn it once about their own centres
    straight = 2 * (500 + 400 - 4 * radius)
    assert body.solid.isValid()
    assert body.solid.Volume() == pytest.approx(area * (straight + 2 * math.pi * (radius + arm)), rel=1e-6)


def section_of(body):
    """Area of the molding cut across at the middle of its forward side, and its centroid outside the opening."""
    import cadquery as cq

    plane = cq.Face.makePlane(2000, 2000, cq.Vector(0, 0, 0), cq.Vector(0, 1, 0))
    cut = [f for f in plane.intersect(body.solid).Faces() if f.Center().x > 0]
    return sum(f.Area() for f in cut), sum(f.Area() * f.Center().x for f in cut) / sum(f.Area() for f in cut) - 250


def test_a_falling_gutter_has_the_volume_of_its_section_along_the_way():
    one = hatch()
    made = frames.levels(one, paint=0.3)
    way = frames.runs(one, made)
    body = sweep(way.ring, lambda s: frames.section(one, made, BUILD, way.level(s), start=0.0), breaks=way.kinks)

    def slice_at(s):
        area, arm = polygon(frames.section(one, made, BUILD, way.level(s), start=0.0))
        corner = way.ring.is_corner(s)
        return area * ((40 + arm) / (40 + way.ring.off) if corner else 1.0)

    marks = sorted({*way.ring.bounds, *(k % way.ring.whole for k in way.kinks)})
    want = sum(quad(slice_at, a + 1e-9, b - 1e-9, epsrel=1e-9)[0] for a, b in zip(marks, marks[1:], strict=False))
    assert body.solid.isValid()
    assert body.solid.Volume() == pytest.approx(want, rel=1e-6)


CHORDS = 2000


def polygon(section):
    """Area of a closed section and its centroid's u, arcs in CHORDS chords each: no kernel involved."""
    spots = []
    for edge in section:
        if hasattr(edge, "middle"):
            spots += arc_points(edge.start, edge.middle, edge.end)
        else:
            spots.append(edge.start)
    pairs = list(zip(spots, spots[1:] + spots[:1], strict=True))
    double = sum(a[0] * b[1] - b[0] * a[1] for a, b in pairs)
    moment = sum((a[0] + b[0]) * (a[0] * b[1] - b[0] * a[1]) for a, b in pairs) / 6
    return abs(double) / 2, moment / (double / 2)


def arc_points(a, m, b):
    (ax, ay), (mx, my), (bx, by) = a, m, b
    d = 2 * (ax * (my - by) + mx * (by - ay) + bx * (ay - my))
    ux = ((ax**2 + ay**2) * (my - by) + (mx**2 + my**2) * (by - ay) + (bx**2 + by**2) * (ay - my)) / d
    uy = ((ax**2 + ay**2) * (bx - mx) + (mx**2 + my**2) * (ax - bx) + (bx**2 + by**2) * (mx - ax)) / d
    start, middle, end = (math.atan2(p[1] - uy, p[0] - ux) for p in (a, m, b))
    sweep = (end - start) % (2 * math.pi)
    if (middle - start) % (2 * math.pi) > sweep:
        sweep -= 2 * math.pi
    radius = math.hypot(ax - ux, ay - uy)
    return [(ux + radius * math.cos(start + sweep * k / CHORDS), uy + radius * math.sin(start + sweep * k / CHORDS))
            for k in range(CHORDS)]


@given(st.floats(0, 1), st.floats(0, 1))
def test_the_floor_never_rises_towards_the_next_drain(share, step):
    one = hatch()
    way = frames.runs(one, frames.levels(one, paint=0.3))
    for drain, high in zip(way.drains, way.highs, strict=True):
        a = drain + share * (high - drain)
        b = a + step * (high - a)
        assert way.level(b) <= way.level(a) + 1e-9  # further from the drain, less deep
    assert max(way.level(d) for d in way.drains) == pytest.approx(min(way.level(d) for d in way.drains))


def test_strips_differ_in_height_by_run_times_fall():
    one = hatch()
    made = frames.levels(one, paint=0.3)
    way = frames.runs(one, made)
    strips = {p.name: p for p in molds.strips(one, made, way, BUILD, start=0.0)}
    (at, low), (end, high) = strips["port side"].heights
    fall = (made.drain - made.high) / way.longest
    assert high - low == pytest.approx((end - at) * fall)
    assert fall == pytest.approx(1 / 50)


@pytest.mark.parametrize(("size", "radius", "count"),
                         [([400, 400], 200, 4), ([400, 380], 190, 6), ([380, 400], 190, 6)])
def test_strips_of_a_hatch_that_is_all_corner_leave_no_gap(size, radius, count):
    """Their volumes by Pappus on the square end of one: its area along the straights, and once round its centroid."""
    one = hatch(clear_opening=size, corner_radius=radius, gutter={"width": 40, "depth": 24, "fall": 0})
    made = frames.levels(one, paint=0.3)
    found = molds.strips(one, made, frames.runs(one, made), BUILD, start=0.0)
    assert len(found) == count
    end = next(s for s in found if s.name == "forward port corner").shaped.faces("start")[0]
    at = size[0] / 2 if size[0] <= size[1] else size[0] / 2 - radius  # where the forward port corner begins
    arm = end.Center().x - (at if size[0] <= size[1] else size[0] / 2)
    way = 2 * sum(size) - 8 * radius + 2 * math.pi * (radius + arm)
    assert sum(s.shaped.solid.Volume() for s in found) == pytest.approx(end.Area() * way, rel=1e-7)
    assert all(s.shaped.solid.isValid() for s in found)


@pytest.mark.parametrize(("size", "radius"), [([400, 400], 200), ([400, 380], 190)])
@pytest.mark.parametrize("more", [{}, {"drip_lip": 6, "taper": 90}])
def test_a_lid_that_is_all_corner_is_a_cone_between_straights(size, radius, more):
    one = hatch(clear_opening=size, corner_radius=radius, lid={"thickness": 22, "gasket": {"free": 10}, **more})
    made = frames.levels(one, paint=0.3)
    closed = lids.lid(one, made, frames.offsets(one), BUILD)
    straight = max(size) - 2 * radius
    slant = math.tan(math.radians(4))  # of the lid's edge, unless said otherwise
    low = radius + 62 - 0.3 / math.cos(math.radians(4)) - 21.7 * slant
    tall, high = 21.4, low + 21.4 * slant
    want = math.pi * tall / 3 * (low**2 + low * high + high**2) + straight * tall * (low + high)
    if more:  # a ring of two skins under it
        want += (math.pi * (low**2 - (low - 2.4) ** 2) + 2 * straight * 2.4) * 6
    assert closed.part.solid.Volume() == pytest.approx(want, rel=1e-6)
    assert all(made.solid.isValid() for made in (closed.part, closed.core, closed.gasket))


@pytest.mark.parametrize(("draft", "paint", "each_metre"), [(4, 0.3, 1.33), (0, 0, 1.93)])
def test_corner_radius_medium_fills_the_corners_as_they_are_molded(draft, paint, each_metre):
    """In mL a metre, by another library's areas: a corner of 90 deg and the draft, less what lies inside a circle of
    the rim's 3 less a coat that touches both its legs. Both lines: the landing's edge and the rim."""
    from shapely.geometry import Point, Polygon

    radius, turn = 3 - paint, math.radians(90 + draft)
    legs = ((1.0, 0.0), (math.cos(turn), math.sin(turn)))
    far, reach = radius / math.sin(turn / 2), radius / math.tan(turn / 2)
    centre = Point(far * math.cos(turn / 2), far * math.sin(turn / 2))
    kite = Polygon([(0, 0), (reach, 0), (centre.x, centre.y), (reach * legs[1][0], reach * legs[1][1])])
    area = kite.difference(centre.buffer(radius, 512)).area
    assert area == pytest.approx(each_metre, abs=5e-3)
    one = hatch(gutter={"width": 40, "depth": 24, "fall": 0, "draft": draft})
    made = frames.levels(one, paint=paint)
    long = sum(2 * (500 + 400 - 160) + 2 * math.pi * (40 + off) for off in (25, 65))
    found = molds.medium_volume(one, made, replace(BUILD, paint=paint), start=0.0)
    assert found == pytest.approx(area * long / 1000, rel=1e-3)  # a coat moves the corners by up to 0.3 mm


@pytest.mark.parametrize("more", [{}, {"upstand": 5}, {"bond_flange": {"lies": "under"}}])
def test_the_mold_touches_the_molding_and_never_enters_it(more):
    one = hatch(**more)
    made = frames.frame(one, BUILD, sole=22.4)
    start = frames.start_level(one, sole=22.4)
    # starboard mirrors port, drains and all; strips are the same with an upstand, which is the block's
    strips = [s for s in molds.strips(one, made.levels, made.runs, BUILD, start=start) if "starboard" not in s.name]
    pieces = [*strips, molds.centre_block(one, made.levels, BUILD, start=start)]
    for piece in pieces if not one.upstand else pieces[-1:]:
        assert piece.shaped.solid.isValid()
        assert piece.shaped.solid.intersect(made.molding.solid).Volume() < 1.0, piece.name
    floor = made.molding.faces("floor")[0]
    assert min(f.distance(floor) for p in pieces for f in p.shaped.roles.get("molding floor", ())) < 1e-6


def test_a_lid_lies_flush_in_its_rebate_with_its_gap():
    one = hatch()
    made = frames.frame(one, BUILD, sole=22.4)
    closed = lids.lid(one, made.levels, made.offsets, BUILD)
    top = closed.part.faces("top")[0].Center().z
    assert top == pytest.approx(-0.3)  # flush once painted
    # 3 mm finished at the top, two coats more when bare; measured square to the rim's level
    wall = made.molding.faces("outer wall")
    assert closed.part.solid.distance(wall[0]) == pytest.approx(3.6, abs=0.35)
    assert closed.core.solid.Volume() < closed.part.solid.Volume()
    assert closed.gasket.solid.BoundingBox().zmax == pytest.approx(-22, abs=1e-3)


def test_the_lids_core_is_cut_back_and_tapered():
    one = hatch(lid={"thickness": 22, "close_out": 30, "taper": 45, "edge_draft": 0})
    made = frames.levels(one, paint=0.3)
    closed = lids.lid(one, made, frames.offsets(one), BUILD)
    thick = 22 - 0.6 - 2.4
    part, core = closed.part.solid.BoundingBox(), closed.core.solid.BoundingBox()
    assert part.xmax - core.xmax == pytest.approx(30, abs=1e-5)
    assert core.zmax - core.zmin == pytest.approx(thick, abs=1e-5)
    top = max(closed.core.solid.Faces(), key=lambda f: f.Center().z).BoundingBox()
    # 45 deg: the run is as long as the core is thick (plain trigonometry)
    assert core.xmax - top.xmax == pytest.approx(thick, abs=1e-5)


def cup(z, *, rim, flange, by, draft=4, foot=3):
    """Radius of a sump's face moved by `by`, at a level z over its floor: by hand, a rounding and then a straight."""
    low, radius, slant = rim - by, foot + by, math.radians(draft)
    turned = (1 - math.sin(slant)) * radius  # height of the rounding
    if z - low < turned:
        return flange / 2 + math.sqrt(radius**2 - (radius - (z - low)) ** 2)
    return flange / 2 + radius * math.cos(slant) + (z - low - turned) * math.tan(slant)


def test_a_sump_is_as_thick_as_the_frame_and_its_disc_fills_it():
    plain = {"width": 70, "depth": 24, "fall": 0, "draft": 4, "root_radius": 6}
    drains = {"a": {"at": "aft", "bore": 19, "flange": 40, "sump": 6}}
    one, level = hatch(gutter=plain, drains=drains), hatch(gutter=plain, drains={"a": drains["a"] | {"sump": 0}})
    deep, flat = (frames.frame(each, BUILD, sole=22.4).molding.solid for each in (one, level))
    floor, rim = -52.0, -58.0  # 28 + 24, and 6 more
    face = 0.3, 1.5  # M, and the bare skin under it

    def volume(top, by):
        return quad(lambda z: math.pi * cup(z, rim=rim, flange=40, by=by) ** 2, rim - by, top, epsrel=1e-10)[0]

    # what the cup adds under the floor's skin, less what it takes away inside, down to the floor's face
    assert deep.isValid() and len(deep.Solids()) == 1
    grown = volume(floor - face[1], face[1]) - volume(floor - face[0], face[0])
    assert deep.Volume() - flat.Volume() == pytest.approx(grown, rel=1e-6)
    made = frames.frame(one, BUILD, sole=22.4)
    (disc,) = molds.sump_discs(one, made.levels, made.runs, BUILD, start=0.0)
    assert disc.shaped.solid.Volume() == pytest.approx(volume(floor - face[0], face[0]), rel=1e-6)


def test_a_sump_as_wide_as_the_walls_allow_is_filled_by_its_disc_and_nothing_else():
    one = hatch(drains={"a": {"at": "aft port", "bore": 19, "flange": 24, "sump": 4}})
    made = frames.frame(one, BUILD, sole=22.4)
    (disc,) = molds.sump_discs(one, made.levels, made.runs, BUILD, start=0.0)
    strips = molds.strips(one, made.levels, made.runs, BUILD, start=0.0)
    assert made.molding.solid.isValid() and disc.shaped.solid.isValid()
    assert disc.shaped.solid.intersect(made.molding.solid).Volume() < 1e-3
    assert sum(disc.shaped.solid.intersect(s.shaped.solid).Volume() for s in strips) < 1e-3
    # nothing hangs over the open sump: looked at from above, its whole flat is seen
    x, y = frames.middle_of(made.runs, frames.drain_place(made.runs.ring, one, one.drains["a"]))
    import cadquery as cq

    over = cq.Solid.makeCylinder(11.9, 100, cq.Vector(x, y, -made.levels.rim - 0.29), cq.Vector(0, 0, 1))
    assert over.intersect(made.molding.solid).Volume() < 1e-3
