"""A locker with a gas cylinder: vent, walls, passages, lid, cylinders on deck. Heights typed here.

The cylinder stands 200 mm high with 60 mm of valve in a seat; where its top lies is read off its solid.
"""

import copy
from dataclasses import replace

import pytest

from moldplan.check.gas_space import gas_space
from moldplan.check.ways_out import ways_out
from moldplan.shape.assemble import assemble
from moldplan.shape.choose import resolve
from moldplan.spec.model import Lid, Passage, Spec

BOTTLE = {"diameter": 100, "height": 200, "knuckle_radius": 20, "valve": {"diameter": 40, "height": 60},
          "full_mass": 5, "contents": "lp gas"}
DATA = {"moldplan": 1, "title": "t", "cylinders": {"b": BOTTLE},
        "cradles": {"k": {"block": [200, 200, 60], "locker": "l", "seats": {
            "b": {"depth": 36, "clearance_per_side": 4, "draft": 4, "limber": {"towards": "aft", "bore": 15}}}}},
        "lockers": {"l": {"box": {"from": [0, 200, 0], "to": [400, 600, 400]}, "vent": {"at": [0, 400, 380]},
                          "drain": {"at": [40, 570], "outlet": [40, 640, -90]}}}}


@pytest.fixture(scope="module")
def plan():
    resolved = resolve(Spec.model_validate(copy.deepcopy(DATA)))
    return assemble(resolved), resolved.spec


def judged(plan, *, vent=None, rules=(), **locker):
    """Findings by what, of the shaped locker with fields of its spec changed: no field of these moves a solid."""
    assembly, spec = plan
    if vent is not None:
        vents = tuple(replace(v, at=(v.at[0], v.at[1], vent)) for v in assembly.vents) if vent else ()
        assembly = replace(assembly, vents=vents)
    one = spec.lockers["l"].model_copy(update=locker)
    spec = spec.model_copy(update={"lockers": {"l": one}, "rules": rules})
    return {f.what: f for f in gas_space(assembly, spec)}


def top(plan):
    assembly, _ = plan
    return assembly.body(assembly.stands[0].envelope).solid.BoundingBox().zmax


def test_the_valves_top_is_260_over_the_seats_floor(plan):
    assembly, _ = plan
    assert top(plan) == pytest.approx(assembly.stands[0].frame.origin[2] + 260, abs=1e-3)


@pytest.mark.parametrize(("over", "verdict"), [(0.01, "holds"), (-0.01, "fails"), (None, "fails")])
def test_a_vent_lies_over_the_valves(plan, over, verdict):
    """UK scheme 7.2: ventilation above the cylinders' level."""
    found = judged(plan, vent=0 if over is None else top(plan) + over)["high vent"]
    assert found.verdict == verdict
    if over is None:
        assert "no air comes in" in found.note
    if verdict == "fails":
        assert found.moves[0].edits[0].to[2] >= top(plan)


def test_the_vents_outlet_keeps_clear_of_openings_too(plan):
    """Reported of ISO 10239: 500 mm from drain and vent; from the rim of a bore of 25, 12.5 off its middle."""
    assembly, spec = plan
    hatch = {"from": [600, 300, 400], "to": [800, 500, 400]}
    boat = Spec.model_validate(DATA | {"boat": {"openings": {"hatch": hatch}}}).boat
    here = spec.model_copy(update={"boat": boat, "rules": ("iso 10239 as reported",)})
    for off, verdict in ((513, "close"), (512, "fails"), (None, "not judged")):
        outlet = None if off is None else (600 - off, 400, 400)
        vents = tuple(replace(v, outlet=outlet) for v in assembly.vents)
        found = [f for f in gas_space(replace(assembly, vents=vents), here) if f.part == "l.vent"]
        assert [f.verdict for f in found] == [verdict]
        assert off is None or found[0].measured == pytest.approx(off - 12.5)
        if verdict == "fails":
            assert found[0].moves[0].edits[0].to == (600 - 512 - 1.5, 400, 400)


@pytest.mark.parametrize(("over", "verdict"), [(0.01, "holds"), (-0.01, "fails")])
def test_walls_are_tight_up_to_the_top_of_the_valves(plan, over, verdict):
    assert judged(plan, gas_tight_to=top(plan) + over)["gas-tight height"].verdict == verdict


def test_what_the_spec_leaves_unsaid_is_not_judged_and_names_its_field(plan):
    found = judged(plan)
    for what, field in (("gas-tight height", "gas_tight_to"), ("passages sealed", "passages"),
                        ("lid opens on top", "no lid"), ("lid gasket", "no lid"), ("lid latch", "no lid")):
        assert found[what].verdict == "not judged" and field in found[what].skipped
    lid = Lid.model_validate({"clear_opening": [300, 300], "gasket": True})
    found = judged(plan, lid=lid)
    assert found["lid gasket"].verdict == "holds" and "lid.latch is not given" in found["lid latch"].skipped


@pytest.mark.parametrize(("sealed", "verdict"), [
    ([True], "holds"), ([True, False], "fails"), ([True, None], "not judged"), ([False, None], "fails")])
def test_passages_are_sealed_all_of_them(plan, sealed, verdict):
    given = {f"p{k}": Passage(at=(0, 300, 300), sealed=one) for k, one in enumerate(sealed)}
    found = judged(plan, passages=given)["passages sealed"]
    assert found.verdict == verdict
    if verdict == "not judged":
        assert "p1" in found.skipped


@pytest.mark.parametrize(("name", "what", "bad"), [
    ("opens", "lid opens on top", "inside"), ("gasket", "lid gasket", False), ("latch", "lid latch", False)])
def test_a_lid_that_is_not_as_asked_fails(plan, name, what, bad):
    good = {"clear_opening": [300, 300], "opens": "top", "gasket": True, "latch": True}
    assert judged(plan, lid=Lid.model_validate(good))[what].verdict == "holds"
    assert judged(plan, lid=Lid.model_validate(good | {name: bad}))[what].verdict == "fails"


def test_fire_is_never_judged_and_demands_in_words_are_told(plan):
    found = judged(plan, rules=("uk boat safety scheme",))
    assert found["fire resistance"].verdict == "not judged"
    assert any("nothing stored loose" in (f.skipped or "") for f in found.values())


def test_every_finding_of_gas_goes_with_another_gas(plan):
    """The same locker and bottle with breathing air: water still has to leave, nothing is asked of vent, walls, lid."""
    assembly, spec = plan
    stands = tuple(replace(s, cylinder=s.cylinder.model_copy(update={"contents": "breathing air"}))
                   for s in assembly.stands)
    air = replace(assembly, stands=stands)
    assert gas_space(air, spec) == []
    found = ways_out(air, spec)
    assert any(f.what == "hose" for f in found)
    assert not any(f.what == "own line" for f in found)


def test_a_gas_line_is_its_own_but_for_a_drain_of_the_same_locker(plan):
    assembly, spec = plan
    (drain,) = (d for d in assembly.drains if d.kind == "locker drain")
    line = ((40, 230, 0), (40, 230, -40))
    inner = replace(drain, name="l.two", rim=line[0], line=line, outlet=None, joins=drain.name)
    other = replace(inner, name="m.drain", space="m")
    for more, verdict in ((inner, "holds"), (other, "fails")):
        found = ways_out(replace(assembly, drains=(*assembly.drains, more)), spec)
        assert next(f for f in found if (f.part, f.what) == ("l.drain", "own line")).verdict == verdict


def test_what_the_locker_holds_decides_the_bore_that_is_asked(plan):
    """UK scheme 7.5, built before 3 January 2000: 12 mm up to 15 kg of gas, 19 mm as we read it above."""
    assembly, spec = plan
    boat = Spec.model_validate(DATA | {"boat": {"built": "1995-01-01"}}).boat
    here = spec.model_copy(update={"boat": boat, "rules": ("uk boat safety scheme",)})
    for mass, bore in ((15, 12), (15.5, 19)):
        stands = tuple(replace(s, cylinder=s.cylinder.model_copy(update={"gas": mass})) for s in assembly.stands)
        found = ways_out(replace(assembly, stands=stands), here)
        assert next(f for f in found if (f.part, f.what) == ("l.drain", "bore")).limit == bore


def test_a_cylinder_on_an_open_deck_keeps_a_metre_from_openings(plan):
    """By UK scheme 7.2 and 7.3, distance of the solids: the bottle's side is 50 mm off its axis at x 200, y 400."""
    assembly, spec = plan
    stand = replace(assembly.stands[0], room=None)
    for gap, verdict in ((1000.5, "close"), (999.5, "fails")):
        hatch = {"from": [200 + 50 + gap, 300, 0], "to": [2000, 500, 200]}
        boat = type(spec).model_validate(DATA | {"boat": {"openings": {"hatch": hatch}}}).boat
        cradle = spec.cradles["k"].model_copy(update={"stowage": "deck", "locker": None})
        here = spec.model_copy(update={"boat": boat, "cradles": {"k": cradle}})
        (found,) = gas_space(replace(assembly, stands=(stand,)), here)
        assert found.measured == pytest.approx(gap, abs=1e-6)
        assert (found.verdict, found.limit) == (verdict, 1000)


def test_gas_in_no_locker_says_that_it_is_not_judged(plan):
    assembly, spec = plan
    stand = replace(assembly.stands[0], room=None)
    cradle = spec.cradles["k"].model_copy(update={"locker": None})
    (found,) = gas_space(replace(assembly, stands=(stand,)), spec.model_copy(update={"cradles": {"k": cradle}}))
    assert found.verdict == "not judged" and "stowage: deck" in found.skipped
