"""The discs of an insert: the shape of M for a mold, eased for a press; held against the recess they must fill."""

import math

import pytest

from moldplan.shape.assemble import assemble
from moldplan.shape.choose import resolve

SEAT = {"depth": 36, "clearance_per_side": 4, "draft": 4, "rim_radius": 0, "floor_fillet": 8,
        "limber": {"towards": "aft", "bore": 6}}


def solids(made):
    return [body.solid for body in made.of_kind("insert")]


def test_a_mold_insert_fills_the_molded_recess_to_the_rim(shaped):
    _, made = shaped({"gas": SEAT})
    part, discs = made.body("block part"), solids(made)
    assert len(discs) == 2
    for disc in discs:
        assert disc.intersect(part.solid).Volume() == pytest.approx(0, abs=1.0)
        assert disc.distance(part.solid) == pytest.approx(0, abs=1e-6)
    assert max(d.BoundingBox().zmax for d in discs) == pytest.approx(part.solid.BoundingBox().zmax, abs=1e-5)
    wall = made.body("block.gas insert 2").faces("molding wall")[0]
    assert part.faces("gas wall")[0].distance(wall) == pytest.approx(0, abs=1e-6)


def test_the_discs_lie_on_each_other_and_share_their_outline(shaped):
    _, made = shaped({"gas": SEAT})
    low, high = solids(made)
    assert low.intersect(high).Volume() == pytest.approx(0, abs=1e-3)
    rings = [max(e.radius() for e in body.Edges() if e.geomType() == "CIRCLE" and abs(e.Center().z - level) < 1e-6)
             for body, level in ((low, low.BoundingBox().zmax), (high, high.BoundingBox().zmin))]
    assert rings[0] == pytest.approx(rings[1], abs=1e-6)


def test_each_hole_of_a_disc_is_told_what_it_is_for(shaped):
    """Counted on the finished discs: 6 mm for air through all of them, 8 mm for screws in the highest alone."""
    _, made = shaped({"gas": SEAT})
    low, high = made.of_kind("insert")
    for disc in (low, high):
        assert len(disc.faces("air hole")) == 1
        assert "air hole of 6 mm in the middle, taped while laying up" in disc.notes
    assert len(high.faces("jacking hole")) == 2 and "jacking hole" not in low.shaped.roles
    assert "2 holes of 8 mm for screws or hooks to draw the insert out with" in high.notes
    assert not any("draw the insert" in note for note in low.notes)


def test_air_and_dowel_holes_never_come_out_of_the_molding_floor_but_for_the_air(shaped):
    _, made = shaped({"gas": SEAT})
    lowest = made.body("block.gas insert 1")
    floor, = lowest.faces("molding floor")
    assert len(floor.innerWires()) == 1  # the air hole, taped while laying up
    assert {"dowel hole", "air hole"} <= set(lowest.shaped.roles)


@pytest.mark.parametrize("plies", [1, 3])
def test_a_press_insert_lands_on_peel_ply_and_keeps_off_the_wall(spec, plies):
    resolved = resolve(spec({"gas": SEAT | {"insert": {"use": "press", "peel_ply": 0.2}}},
                            laminates={"skin": {"plies": ["biax 450"] * plies}}))
    made = assemble(resolved)
    part, lowest = made.body("block part"), made.body("block.gas insert 1")
    assert lowest.faces("molding floor")[0].distance(part.faces("gas floor")[0]) == pytest.approx(0.2, abs=1e-6)
    skin = resolved.skins["block"]
    # 15 % of the skin (common practice, no source) and one lap more than the peel ply, normal to the wall
    ease = 0.2 + 0.15 * skin.thickness + skin.plies[0].thickness
    assert lowest.faces("molding wall")[0].distance(part.faces("gas wall")[0]) == pytest.approx(ease, abs=1e-5)
    proud = max(d.BoundingBox().zmax for d in solids(made)) - part.solid.BoundingBox().zmax
    assert proud >= 15 - 1e-6


def test_packers_make_up_what_whole_sheets_do_not(spec):
    board = {"kind": "melamine-faced board", "thickness": 18, "size": [2440, 1220], "packers": [2, 5]}
    made = assemble(resolve(spec({"gas": SEAT | {"depth": 25}}, stock={"board": board})))
    heights = [b.solid.BoundingBox().zmax - b.solid.BoundingBox().zmin for b in made.of_kind("insert", "packer")]
    assert heights == pytest.approx([18, 5, 2], abs=1e-5)
    assert sum(heights) == pytest.approx(25, abs=1e-5)


@pytest.mark.parametrize(("radius", "fillet", "sheet"), [(80, 70, 18), (110, 95, 18), (150, 100, 25), (80, 40, 9)])
def test_no_hole_of_a_disc_breaks_out_through_a_large_fillet(spec, radius, fillet, sheet):
    """Closed form: a place inside a fillet of radius f is f less its distance from the fillet's middle circle deep."""
    seat = {"depth": 4 * sheet + fillet / 2, "clearance_per_side": 4, "draft": 4, "rim_radius": 0,
            "floor_fillet": fillet, "limber": {"towards": "aft", "bore": 6}}
    made = assemble(resolve(spec(
        {"gas": seat}, block=(500, 500, 250), cylinder={"diameter": 2 * radius, "bottom": "round",
                                                        "knuckle_radius": radius - 1},
        stock={"board": {"kind": "plywood", "thickness": sheet, "size": [2440, 1220]}})))
    pile = made.of_kind("insert")
    floor = pile[0].frame.origin[2]
    spot = pile[0].frame.origin
    molded = fillet + 0.3  # over the paint
    flat = radius + 4 + 0.3 * math.tan(math.radians(43)) - molded * math.tan(math.radians(43))
    for disc in pile:
        for face in (*disc.shaped.roles.get("dowel hole", ()), *disc.shaped.roles.get("jacking hole", ())):
            box = face.BoundingBox()
            out = math.hypot((box.xmin + box.xmax) / 2 - spot[0], (box.ymin + box.ymax) / 2 - spot[1]) + 4
            below = molded - (box.zmin - floor)
            if below > 0 and out > flat:
                assert molded - math.hypot(out - flat, below) >= 3
            assert out <= radius
    assert "dowel hole" in pile[1].shaped.roles


@pytest.mark.parametrize(("sheet", "first", "deep"), [(6, 2, None), (9, 1, 6.0), (12, 1, 6.0), (18, 1, 9.0)])
def test_a_disc_too_thin_for_a_blind_hole_has_none_and_the_stack_says_so(spec, sheet, first, deep):
    """A blind hole under 6 mm holds no dowel, and over its drill's point 3 mm are left: ours."""
    made = assemble(resolve(spec(
        {"gas": SEAT | {"depth": 3 * sheet}},
        stock={"board": {"kind": "plywood", "thickness": sheet, "size": [2440, 1220]}})))
    pile = made.of_kind("insert")
    drilled = ["dowel hole" in disc.shaped.roles for disc in pile]
    assert drilled == [first == 1, True, True]
    low = min(face.BoundingBox().zmin for face in pile[first - 1].faces("dowel hole"))
    top = pile[first].frame.origin[2]
    assert top - low == pytest.approx(deep if deep else sheet, abs=1e-5)
    assert all(f"line up {first} to 3" in note for disc in pile for note in disc.notes if "dowels of" in note)
    # what stands in the holes: two discs, and what they are deep in the lowest less the 1 mm it must not stand up on
    assert pile[first - 1].dowels == (2 * sheet + (deep - 1 if deep else 0),) * 2
    assert all(not disc.dowels for disc in pile if disc is not pile[first - 1])
