"""Open runs: a locker's sole, a cockpit's, limbers and gutters, against angles added by hand."""

import math
from dataclasses import replace

import pytest

from moldplan.check.open_fall import open_fall
from moldplan.shape.assemble import assemble
from moldplan.shape.choose import resolve
from moldplan.spec.model import Spec


def judged(data):
    resolved = resolve(Spec.model_validate({"moldplan": 1, "title": "t"} | data))
    return {f"{f.part}/{f.what}": f for f in open_fall(assemble(resolved), resolved.spec)}


def locker(sole, at, **boat):
    return {"boat": boat, "lockers": {"l": {"box": {"from": [0, 0, 0], "to": [400, 300, 300]}, "sole": sole,
                                            "drain": {"at": at, "bore": 20}}}}


def slope(fall, degrees):
    """A slope turned by an angle: tan(atan(fall) + angle)."""
    return math.tan(math.atan(fall) + math.radians(degrees))


AFT = {"fall": "1:40", "towards": "aft"}


def test_a_lockers_sole_runs_from_its_far_corner_to_its_drain():
    """From (400, 0) to (50, 150): 350 mm of 1:40 over hypot(350, 150)."""
    found = judged(locker(AFT, [50, 150]))["l/sole"]
    assert found.measured == pytest.approx(350 / 40 / math.hypot(350, 150), abs=1e-6)
    assert (found.verdict, found.at["x"]) == ("holds", 400)


def test_a_sole_that_falls_away_from_its_drain_fails():
    found = judged(locker({"fall": "1:40", "towards": "forward"}, [50, 150]))["l/sole"]
    assert found.measured == pytest.approx(-350 / 40 / math.hypot(350, 150), abs=1e-6)
    assert found.verdict == "fails" and any("aft" in move.text for move in found.moves)


def test_a_level_sole_fails():
    found = judged(locker({}, [50, 150]))["l/sole"]
    assert (found.measured, found.verdict) == (0, "fails") and "lies level" in found.note


def test_at_an_attitude_that_demands_it_the_fall_is_turned_with_the_boat():
    """Drain abreast of the far corner: all of the run is fore and aft, and trims with the boat."""
    ashore = {"ashore": {"trim": -1, "demand": "fall"}, "moored": {"trim": -1, "demand": "no pond"}}
    data = locker(AFT, [50, 150], attitudes=ashore)
    data["lockers"]["l"]["box"]["from"] = [0, 140, 0]
    data["lockers"]["l"]["box"]["to"] = [400, 160, 300]
    found = judged(data)
    run, aside = 350, 10
    up = (math.sin(math.radians(-1)), 0, math.cos(math.radians(-1)))
    way = (-run, aside, -run / 40)
    drop = -(up[0] * way[0] + up[2] * way[2])
    level = math.sqrt(sum(c * c for c in way) - drop**2)
    assert found["l/sole, ashore"].measured == pytest.approx(drop / level, abs=1e-6)
    assert found["l/sole, ashore"].verdict == "fails" and found["l/sole, ashore"].at["trim"] == -1
    assert "l/sole, moored" not in found


def test_over_the_box_it_is_told_and_not_judged():
    found = judged(locker(AFT, [50, 150], box={"heel": [-5, 5], "trim": [0, 0]}))["l/sole, in the box"]
    assert found.verdict == "not judged" and found.measured < 0
    assert abs(found.at["heel"]) == 5


SOLE = {"outline": [[0, -400], [1200, -400], [1200, 400], [0, 400]], "fall": "1:50", "towards": "aft"}


def test_a_cockpits_sole_runs_to_the_scupper_it_falls_most_to():
    """From (1200, 400) to (60, 360): 1140 of 1:50 over hypot(1140, 40)."""
    scuppers = {"port": {"at": [60, 360], "bore": 38}, "starboard": {"at": [60, -360], "bore": 38}}
    found = judged({"soles": {"s": {**SOLE, "scuppers": scuppers}}})["s/sole"]
    assert found.measured == pytest.approx(1140 / 50 / math.hypot(1140, 40), abs=1e-6)


def test_an_open_edge_is_a_drain_all_along():
    found = judged({"soles": {"s": {**SOLE, "overboard": ["aft"]}}})["s/sole"]
    assert found.measured == pytest.approx(1 / 50, abs=1e-6)


def test_a_sole_without_any_way_out_is_not_asked_for_its_fall():
    assert not any(name.startswith("s/") for name in judged({"soles": {"s": SOLE}}))


def lies(spot, **attitudes):
    """The spot's spec in a boat that lies so."""
    boat = Spec.model_validate({"moldplan": 1, "title": "t", "lockers": {"l": {"box": {
        "from": [0, 0, 0], "to": [9, 9, 9]}}}, "boat": {"attitudes": attitudes}}).boat
    return spot.spec.model_copy(update={"boat": boat})


@pytest.mark.parametrize(("trim", "verdict"), [(0, "holds"), (-0.5, "close"), (-1, "fails")])
def test_a_limber_aft_falls_less_by_every_degree_bow_down(seat, trim, verdict):
    """1:50 is 1.146 deg."""
    spot = seat({"cradles/k/seats/b/limber": {"towards": "aft", "bore": 15, "fall": "1:50"}})
    found = {f.what: f for f in open_fall(spot.assembly, lies(spot, ashore={"trim": trim, "demand": "fall"}))}
    assert found["limber, ashore"].measured == pytest.approx(slope(0.02, trim), abs=1e-6)
    assert (found["limber, ashore"].verdict == "fails") == (verdict == "fails")


def test_of_several_limbers_the_one_that_falls_most_counts(seat):
    spot = seat({"cradles/k/seats/b/limber": {"towards": "aft", "also": ["forward"], "bore": 15, "fall": "1:50"}})
    found = {f.what: f for f in open_fall(spot.assembly, lies(spot, ashore={"trim": -3, "demand": "fall"}))}
    assert found["limber, ashore"].measured == pytest.approx(slope(0.02, 3), abs=1e-6)


def test_a_gutters_run_athwart_falls_less_by_every_degree_of_heel(hatch_spot):
    """Both halves of the forward run fall 1:50 to their sides: heeled 1 deg the one to port by 1 deg less."""
    spot = hatch_spot()
    heeled = lies(spot, anchored={"heel": 1, "demand": "fall"})
    found = {f.what: f for f in open_fall(replace(spot.assembly, stands=()), heeled)}
    assert found["gutter, anchored"].measured == pytest.approx(slope(0.02, -1), abs=2e-4)
    assert found["gutter, anchored"].verdict == "fails" and found["gutter, anchored"].at["heel"] == 1
