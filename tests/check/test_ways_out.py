"""Closed ways out and their outlets, judged in a locker's spec, against sums by hand.

The locker: 400 x 400 mm, level; its drain at (200, 200, 0), tail 40 mm plumb, then straight to an outlet 300 mm further
to port and 60 mm lower. atan(60 / 300) = 11.3099 deg.
"""

import copy
import math
from dataclasses import replace

import pytest

from moldplan.check.way import ways
from moldplan.check.ways_out import cautions, ways_out
from moldplan.shape.assemble import assemble
from moldplan.shape.choose import resolve
from moldplan.spec.model import Spec

RUN = math.degrees(math.atan2(60, 300))
DRAIN = {"at": [200, 200], "bore": 20, "tail": 40, "outlet": [200, 500, -100]}
PLAIN = {"moldplan": 1, "title": "locker", "lockers": {"l": {
    "box": {"from": [0, 0, 0], "to": [400, 400, 400]}, "drain": DRAIN}}}


def shaped(changes=None, **fields):
    """(assembly, spec) of the locker with values set at paths of steps parted by slashes."""
    data = copy.deepcopy(PLAIN) | copy.deepcopy(fields)
    for where, value in (changes or {}).items():
        *way, last = where.split("/")
        here = data
        for step in way:
            here = here.setdefault(step, {})
        here[last] = copy.deepcopy(value)
    resolved = resolve(Spec.model_validate(data))
    return assemble(resolved), resolved.spec


def judged(changes=None, **fields):
    """Findings by "part/what"."""
    found = ways_out(*shaped(changes, **fields))
    assert len({f.id for f in found}) == len(found)
    return {f"{f.part}/{f.what}": f for f in found}


def boat(heel=(-8, 8), trim=(0, 0), **more):
    return {"waterline": {"height": -190, "at_x": 200}, "box": {"heel": list(heel), "trim": list(trim)}} | more


def test_a_straight_hose_falls_by_its_slope_less_the_heel():
    """Out to port: most level heeled to starboard, by exactly the heel."""
    found = judged(boat=boat())["l.drain/hose"]
    assert found.measured == pytest.approx(RUN - 8, abs=1e-6)
    assert (found.at["heel"], found.verdict) == (8, "holds")
    assert found.source.document == "our own assumption" and "1:48" in found.note


def test_without_a_box_it_is_judged_at_rest_and_says_so():
    found = judged()
    assert found["l.drain/hose"].measured == pytest.approx(RUN, abs=1e-6)
    assert "boat.box is not given" in found["l.drain/hose"].note
    assert found["boat/heel and trim"].skipped and found["boat/waterline"].skipped
    assert "l.drain/height at rest" not in found


def test_what_runs_back_fails_and_the_pocket_is_as_deep_as_its_rise():
    """At 12 deg the outlet stands 300 sin 12 - 60 cos 12 over the tail's end."""
    found = judged(boat=boat(heel=(-12, 12)))
    assert found["l.drain/hose"].measured == pytest.approx(RUN - 12, abs=1e-6)
    assert found["l.drain/hose"].verdict == found["l.drain/pocket"].verdict == "fails"
    turn = math.radians(12)
    assert found["l.drain/pocket"].measured == pytest.approx(300 * math.sin(turn) - 60 * math.cos(turn), abs=1e-5)
    assert found["l.drain/hose"].moves == found["l.drain/pocket"].moves != ()


def test_a_hose_judged_is_the_hose_given():
    """The flattest of its legs counts: 5 mm over 150."""
    found = judged({"lockers/l/drain/hose": [[200, 200, -90], [200, 350, -95]]})["l.drain/hose"]
    assert found.measured == pytest.approx(math.degrees(math.atan2(5, 150)), abs=1e-6)
    assert "leg 2 of the hose" in found.note and found.at["y"] == 200


def test_a_hose_given_a_point_in_its_tails_end_has_no_leg_there():
    points = shaped({"lockers/l/drain/hose": [[200, 200, -40], [200, 350, -95]]})
    (way,) = ways(*points)
    assert [tuple(p) for p in way.points] == [(200, 200, 0), (200, 200, -40), (200, 350, -95), (200, 500, -100)]
    assert way.start == 1
    assert way.fields[1] == (("lockers", "l", "drain", "hose", 0),)
    assert way.fields[3] == (("lockers", "l", "drain", "outlet"),)


def test_a_line_that_joins_runs_on_in_the_other_from_its_nearest_place():
    """The foot of the second's tail end on the first's hose, by projection."""
    more = {"at": [50, 350], "tail": 20, "bore": 20, "joins": "l.drain"}
    first, second = ways(*shaped({"lockers/l/drains": {"two": more}}))
    assert second.points[:2] == ((50, 350, 0), (50, 350, -20))
    a, d = (200, 200, -40), (0, 300, -60)
    share = ((350 - 200) * 300 + (-20 + 40) * -60) / (300**2 + 60**2)
    assert second.points[2] == pytest.approx([p + share * q for p, q in zip(a, d, strict=True)])
    assert second.points[3] == first.points[-1] == (200, 500, -100)
    found = judged({"lockers/l/drains": {"two": more}}, boat=boat())
    assert "l.two/height at rest" not in found  # the outlet is judged with the line it belongs to


def test_a_mirrored_twin_asks_for_the_same_edits_as_the_locker_that_is_drawn():
    assembly, spec = shaped({"lockers/l/box": {"from": [0, 100, 0], "to": [400, 400, 400]}}, boat=boat((-12, 12)))
    (drain,) = assembly.drains
    room = assembly.rooms["l"]
    twin = replace(assembly, drains=(drain, drain.mirrored("starboard")),
                   rooms={"l": room, "l (starboard)": replace(room, name="l (starboard)")})
    own, other = ways(twin, spec)
    assert other.points == tuple((x, -y, z) for x, y, z in own.points)
    one, two = (next(f for f in ways_out(twin, spec) if (f.part, f.what) == (name, "hose"))
                for name in ("l.drain", "l.drain (starboard)"))
    assert one.verdict == "fails" and one.measured == pytest.approx(two.measured)
    assert {move.edits for move in one.moves} == {move.edits for move in two.moves} != set()


def test_an_outlets_heights_are_those_of_its_lowest_edge():
    """Middle 90 mm over the water, edge 80; heeled 8 deg to port with y = 500: 80 cos 8 - 500 sin 8."""
    found = judged(boat=boat())
    turn = math.radians(8)
    assert found["l.drain/height at rest"].measured == pytest.approx(80)
    told = found["l.drain/height in the box"]
    assert told.measured == pytest.approx(80 * math.cos(turn) - 500 * math.sin(turn), abs=1e-6)
    assert told.at["heel"] == -8 and told.verdict == "not judged"
    angle = math.degrees(math.atan2(80, 500))
    assert f"at {angle:.1f} deg to port and not before 90 deg to starboard" in told.note


@pytest.mark.parametrize(("water", "verdict"), [(-160, "close"), (-159.9, "fails"), (-100, "fails")])
def test_a_water_outlet_stands_50_mm_over_the_water_at_rest(water, verdict):
    found = judged(boat=boat(waterline={"height": water, "at_x": 200}))["l.drain/height at rest"]
    assert (found.verdict, found.limit) == (verdict, 50)
    assert bool(found.moves) == (verdict == "fails")


def test_the_least_floor_told_of_an_outlet_is_worked_uphill():
    """Fall of 0.5 deg at 8 deg of heel: 300 tan 8.5 over the outlet, and a tail of 40."""
    found = judged(boat=boat())["l.drain/height at rest"]
    assert f"the floor may lie as low as {-100 + 300 * math.tan(math.radians(8.5)) + 40:.0f}" in found.note


def test_the_sea_comes_in_when_the_drain_goes_under_too():
    """Drain at the pivot's own x, 200 mm to port of the middle, water 20 mm under it: under at 8 deg to port."""
    found = judged(boat=boat(waterline={"height": -20, "at_x": 200}))["l.drain/sea comes in"]
    turn = math.radians(8)
    assert found.measured == pytest.approx(20 * math.cos(turn) - 200 * math.sin(turn), abs=1e-6)
    assert found.verdict == "fails" and "into the space" in found.note
    dry = judged(boat=boat())["l.drain/sea comes in"]
    assert dry.verdict == "holds"


def test_the_narrowest_place_of_the_way_is_named():
    found = judged({"lockers/l/drain/hose_bore": 25, "lockers/l/drain/narrowest": 16})["l.drain/bore"]
    assert (found.measured, found.verdict) == (16, "fails")
    assert "the narrowest fitting of l.drain" in found.note
    assert [e.path for e in found.moves[0].edits] == [("lockers", "l", "drain", "narrowest")]


def test_a_drain_of_which_no_more_is_known_is_said_and_judged_nowhere():
    found = judged({"lockers/l/drain": {"at": [200, 200]}}, boat=boat())
    told = found["l/outlets"]
    assert told.verdict == "not judged" and "outlet" in told.skipped and told.path[-1] == "outlet"
    assert not any(name.startswith("l.drain/") for name in found)


def test_breathing_air_or_nothing_at_all_draws_no_gas_findings():
    found = judged(boat=boat(openings={"door": {"from": [0, 600, -200], "to": [10, 700, 0]}}))
    assert not any(f.check.startswith("gas") or f.what.startswith(("clear of", "own line")) for f in found.values())
    assert cautions(*shaped(boat=boat())) == ()


@pytest.mark.parametrize(("drop", "verdict"), [(60, "holds"), (5, "fails")])
def test_a_plumbing_code_is_held_only_where_it_is_picked(drop, verdict):
    """1:48 is 1.19 deg; 60 in 300 is 1:5, 5 in 300 is 1:60."""
    outlet = {"lockers/l/drain/outlet": [200, 500, -40 - drop]}
    found = judged(outlet, rules=["international plumbing code"])["l.drain/pipe fall"]
    assert found.measured == pytest.approx(drop / 300, abs=1e-6)
    assert found.limit == pytest.approx(1 / 48, abs=1e-6)
    assert (found.verdict, found.source.document) == (verdict, "International Plumbing Code")
    assert "l.drain/pipe fall" not in judged(outlet)


def test_where_the_program_says_an_outlet_works_it_does():
    """The moves of a failing outlet, each put into the spec: what they promise holds there."""
    from moldplan.check.hose import hose
    from moldplan.check.overboard import demand_of, overboard
    from moldplan.spec.load import edited, read_text

    text = ("moldplan: 1\ntitle: t\n"
            "boat: {waterline: {height: -135, at_x: 200}, box: {heel: [-8, 8], trim: [-1, 1]}}\n"
            "lockers: {l: {box: {from: [0, 0, 0], to: [400, 400, 400]}, drain: {at: [200, 200], tail: 40,\n"
            "  hose: [[200, 300, -70], [190, 400, -72]], outlet: [200, 500, -100]}}}\n")
    loaded = read_text(text, "t.yaml")
    resolved = resolve(loaded.spec)
    (way,) = ways(assemble(resolved), resolved.spec)
    failing = next(f for f in overboard(way, [way]) if f.what == "height at rest")
    assert failing.verdict == "fails" and len(failing.moves) >= 2
    for move in failing.moves:
        after = resolve(edited(loaded, move.edits).spec)
        (moved,) = ways(assemble(after), after.spec)
        found = {f.what: f for f in (*hose(moved, demand_of(moved), ()), *overboard(moved, [moved]))}
        assert found["height at rest"].verdict != "fails", move.text
        assert found["hose"].verdict != "fails", move.text
