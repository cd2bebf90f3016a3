"""The mold of a hatch with a sump, an upstand and a given landing: it lets go, in some order, and makes the part.

Expected values: what a builder finds on the bench (a piece under another cannot leave first), closed forms by hand.
"""

import json
from dataclasses import replace

import pytest

from moldplan.check import judge as judging
from moldplan.check import mold_release
from moldplan.check.hatch_spot import spots
from moldplan.cure.search import cures
from moldplan.shape.assemble import assemble
from moldplan.shape.choose import resolve
from moldplan.spec.load import read_text

# gutter 46 wide: 36 + 22 + a fall of 8.6 leave 38.4 between its walls at the drain, room for a flange of 26 in a sump
SPEC = {"moldplan": 1, "title": "one hatch", "soles": {"s": {
    "outline": [[0, -300], [600, -300], [600, 300], [0, 300]], "hatches": {"h": {
        "centre": [300, 0], "clear_opening": [250, 250], "landing": 30, "landing_depth": 36, "upstand": 8,
        "gutter": {"width": 46, "depth": 22, "fall": "1:50"}, "bond_flange": {"width": 55},
        "drains": {"a": {"at": "aft", "bore": 19, "flange": 26, "sump": 6}},
        "lid": {"thickness": 24, "hinge": "forward", "latches": 2, "latch_force": 400,
                "gasket": {"free": 20, "squeeze": 0.4, "stop": 12, "width": 15}}}}}}}


@pytest.fixture(scope="module")
def made():
    resolved = resolve(read_text(json.dumps(SPEC), "one.yaml").spec)
    assembly = assemble(resolved)
    return resolved, assembly


@pytest.fixture(scope="module")
def spot(made):
    (one,) = spots(made[1], made[0].spec)
    return one


def test_a_sump_an_upstand_and_a_given_landing_hold_everywhere(made):
    resolved, assembly = made
    assert [f.id for f in judging.judge(assembly, resolved.spec).findings if f.verdict == "fails"] == []


def ordered(spot, *groups):
    """The spot with its break-out order in other groups, given by the ends of their names."""
    names = spot.place.mold
    order = tuple(tuple(n for n in names if n.endswith(words)) for words in groups)
    assert sorted(n for g in order for n in g) == sorted(names)
    return replace(spot, place=replace(spot.place, break_out=order))


def test_another_order_is_named_where_the_planned_one_is_blocked(spot):
    wrong = ordered(spot, ("fence",), (" table",), ("centre block",), ("sump disc",), ("corner", " side"))
    found = mold_release.break_out(wrong)
    assert (found.verdict, found.measured) == ("fails", 1)
    assert found.note == "a sump disc cannot leave while its neighbours stand"
    first, *later = found.cure.text.removeprefix("break out in another order: ").split("; then ")
    assert "table" in first  # everything else stands under it
    assert "aft side" not in first
    where = {name: k for k, group in enumerate([first, *later]) for name in group.split("; each")[0].split(", ")}
    assert where["a sump disc"] > where["aft side"] > where["table"]
    # a cure that is no change of the spec stays as the check gave it
    (kept,) = cures([found], lambda edits: pytest.fail("nothing to evaluate"))
    assert kept.cure == found.cure


def test_where_no_order_works_it_says_what_was_tried(spot):
    """The part itself laid over the mold, so that its own wall is in every strip's way."""
    import cadquery as cq

    lid = cq.Solid.makeBox(900, 900, 5, cq.Vector(-150, -450, 30))
    molding = spot.molding
    over = replace(molding, shaped=replace(molding.shaped, solid=cq.Compound.makeCompound([molding.solid, lid])))
    bodies = {**spot.assembly.bodies, molding.name: over}
    found = mold_release.break_out(replace(spot, assembly=replace(spot.assembly, bodies=bodies)))
    assert found.verdict == "fails"
    assert found.cure.text.startswith("none found")
    assert "fence" in found.cure.tried[0] and "at once: held" in found.cure.tried[-1]
    assert found.cure.edits == ()
