"""Seats: the solids against closed forms, and the chains against distances measured in the solids."""

import math

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from moldplan.shape.assemble import assemble
from moldplan.shape.choose import resolve


def recess_volume(*, floor, top, radius, fillet, draft):
    """A drafted recess with a floor fillet, by integrating its section: independent of the kernel."""
    slant = math.radians(draft)
    flat = radius - fillet * math.tan(math.radians(45 - draft / 2))
    bend = floor + fillet * (1 - math.sin(slant))  # where the fillet runs into the wall

    def area(z):
        if z < bend:
            return math.pi * (flat + math.sqrt(max(fillet**2 - (fillet - (z - floor)) ** 2, 0))) ** 2
        return math.pi * (radius + (z - floor) * math.tan(slant)) ** 2

    return quad(area, floor, bend, epsabs=1e-9)[0] + quad(area, bend, top, epsabs=1e-9)[0]


def test_the_cured_part_is_its_block_less_the_molded_recess(shaped):
    seats = {"gas": {"depth": 36, "clearance_per_side": 4, "draft": 4, "floor_fillet": 8, "rim_radius": 0,
                     "limber": {"towards": "aft", "bore": 6}}}
    resolved, made = shaped(seats)
    skin = resolved.skins["block"].thickness
    part = made.body("block part")
    outer = (400 + 2 * skin) ** 2 * (80 + skin)
    molded_radius = 137.5 + 0.3 * (1 - math.sin(math.radians(4))) / math.cos(math.radians(4))
    recess = recess_volume(floor=80 + skin - 36, top=80 + skin, radius=molded_radius, fillet=8.3, draft=4)
    # what is left over is the limber's bore, whose volume is its wall's area times r / 2 (a cylinder's ends cancel)
    bore = part.faces("gas limber")[0].Area() * 3 / 2
    assert bore < 0.001 * recess
    assert part.solid.Volume() == pytest.approx(outer - recess - bore, abs=0.02 * bore)


def test_the_core_cut_out_is_a_frustum(shaped):
    seats = {"gas": {"depth": 36, "clearance_per_side": 4, "draft": 5, "limber": {"towards": "aft", "bore": 6}}}
    resolved, made = shaped(seats)
    skin, slant = resolved.skins["block"].thickness, math.radians(5)
    core = made.body("block core")
    low = 137.5 + (0.3 + skin) * (1 - math.sin(slant)) / math.cos(slant)
    high = low + 36 * math.tan(slant)
    frustum = math.pi * 36 * (low**2 + low * high + high**2) / 3
    tube = math.pi * 4.5**2 * 60
    assert 400 * 400 * 80 - core.solid.Volume() == pytest.approx(frustum + tube, rel=2e-4)


def test_the_lifts_that_a_limber_runs_through_say_so_and_no_others(shaped):
    """Held against the tube's own height: the block is of sheets of 20, the tube 6 wide with walls of 1.5."""
    seats = {"gas": {"depth": 36, "clearance_per_side": 4, "draft": 5, "limber": {"towards": "aft", "bore": 6}}}
    _, made = shaped(seats)
    box = made.body("block.gas tube").solid.BoundingBox()
    told = [any(note.startswith("the limber of gas, 9 mm across") for note in lift.notes)
            for lift in made.of_kind("lift")]  # fmt: skip
    assert told == [box.zmin < 20 * k + 20 and box.zmax > 20 * k for k in range(4)]
    assert any(told) and not all(told)


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(depth=st.floats(20, 60), draft=st.floats(0.5, 12), clearance=st.floats(0, 12), paint=st.floats(0, 0.5),
       bed=st.floats(0, 3), knuckle=st.floats(12, 60), use=st.sampled_from(["mold", "press"]), coat=st.floats(0, 0.6))
def test_chains_equal_distances_in_the_solids(spec, depth, draft, clearance, paint, bed, knuckle, use, coat):
    one = spec({"gas": {"depth": depth, "draft": draft, "clearance_per_side": clearance, "floor_fillet": 5,
                        "rim_radius": 0, "insert": {"use": use}, "limber": {"towards": "aft", "bore": 6}}},
               block=(420, 420, 90), cylinder={"knuckle_radius": knuckle}, cradle={"bed": bed},
               coats={"paint": paint, "in_mold": coat})
    # the limber is left out of the way by looking at the wall from the other side
    resolved = resolve(one)
    made = assemble(resolved)
    for body in made.bodies.values():
        assert body.solid.isValid(), body.name
    chains = {(c.at, c.measure): c for c in made.chains}
    part, core = made.body("block part"), made.body("block core")
    top = 90 + resolved.skins["block"].thickness
    assert chains["floor", "depth"].nominal == pytest.approx(90 - core.faces("gas floor")[0].Center().z, abs=1e-6)
    assert top - part.faces("gas floor")[0].Center().z == pytest.approx(depth, abs=1e-6)
    level = min(depth * 0.8, depth - 0.5)  # a level above the fillet, seen by both surfaces
    floor = part.faces("gas floor")[0].Center().z + paint
    slope = math.tan(math.radians(draft))
    radius_m = math.dist((210, 210), _point(part, "gas wall", floor + level)[:2])
    radius_c = math.dist((210, 210), _point(core, "gas wall", floor + level)[:2])
    assert chains["floor", "per_side"].upto("M") + level * slope == pytest.approx(radius_m, abs=1e-5)
    assert chains["floor", "per_side"].nominal + level * slope == pytest.approx(radius_c, abs=1e-5)
    assert chains["rim", "diameter"].nominal == pytest.approx(2 * (chains["floor", "per_side"].nominal + depth * slope))


def _point(body, role, z):
    """A point of a wall at a level, on the forward side."""
    import cadquery as cq
    from OCP.BRepExtrema import BRepExtrema_DistShapeShape

    ray = cq.Edge.makeLine(cq.Vector(210, 210, z), cq.Vector(600, 210, z))
    found = min((BRepExtrema_DistShapeShape(ray.wrapped, face.wrapped) for face in body.faces(role)),
                key=lambda d: d.Value())
    assert found.Value() < 1e-6
    spot = found.PointOnShape1(1)
    return spot.X(), spot.Y(), spot.Z()


def test_half_the_tolerance_on_the_diameter_goes_to_each_side(shaped):
    _, made = shaped(cylinder={"diameter": "267 ± 2"})
    chain = next(c for c in made.chains if (c.at, c.measure) == ("floor", "per_side"))
    assert chain.steps[0].tolerance == 1.0
    # worst case adds, root-sum-square does not: 1.0, 0.09, skin 15 %, cut 0.5
    skin = 0.15 * 1.164
    shares = [1.0, 0.09 / math.cos(math.radians(4)), skin / math.cos(math.radians(4)), 0.5]
    assert chain.worst_case == pytest.approx(sum(shares), rel=1e-3)
    assert chain.root_sum_square == pytest.approx(math.sqrt(sum(s * s for s in shares)), rel=1e-3)


def test_skin_core_and_paste_fill_the_part(shaped):
    # what is not skin or core behind the floor's fillet is paste: its ring is known by Pappus
    seats = {"gas": {"depth": 36, "clearance_per_side": 4, "draft": 0, "floor_fillet": 8, "rim_radius": 0,
                     "limber": {"towards": "aft", "bore": 6}}}
    resolved, made = shaped(seats)
    part, core, skin, tube = (made.body(n).solid.Volume() for n in
                              ("block part", "block core", "block skin", "block.gas tube"))
    corner = 8.3 + resolved.skins["block"].thickness
    radius = 137.5 + 0.3 + resolved.skins["block"].thickness
    ring = (1 - math.pi / 4) * corner**2 * 2 * math.pi * (
        radius - corner * (10 - 3 * math.pi) / (12 - 3 * math.pi))
    assert part - core - skin - tube == pytest.approx(ring, rel=0.03)  # the limber takes a little of the ring


def test_the_floor_fillet_chosen_lets_the_foot_stand_with_its_play(shaped):
    resolved, _ = shaped(cylinder={"knuckle_radius": 6})
    fillet = resolved.spec.cradles["block"].seats["gas"].floor_fillet
    flat = 137.5 - fillet * math.tan(math.radians(45 - 2))
    assert flat >= (133.5 - 6) + 4


def test_a_cylinder_stands_on_the_finished_floor(shaped):
    _, made = shaped()
    part, bottle = made.body("block part"), made.body("block.gas cylinder")
    gap = part.faces("gas floor")[0].distance(bottle.faces("standing")[0])
    assert gap == pytest.approx(0.3, abs=1e-6)  # the paint, which is on no solid
    assert bottle.solid.distance(part.solid) == pytest.approx(0.3, abs=1e-6)


@pytest.mark.parametrize("turn", [0, 30, 90])
def test_a_block_stands_where_it_is_put_and_turned(shaped, turn):
    _, made = shaped(cradle={"at": [1000, 200], "base": -50, "turn": turn})
    angle = math.radians(turn)
    middle = made.body("block.gas cylinder").solid.Center()
    assert (middle.x, middle.y) == pytest.approx((1000 + 200 * math.cos(angle) - 200 * math.sin(angle),
                                                  200 + 200 * math.sin(angle) + 200 * math.cos(angle)))
