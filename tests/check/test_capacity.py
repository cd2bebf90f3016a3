"""Rain and boarding seas on a made sole against sums by hand: a level sole with one scupper is a prism with a hole."""

import math

import pytest

from moldplan.check.basin import basins
from moldplan.check.capacity import drain_of, emptying, rain, served
from moldplan.check.flow_rain import rain_flow
from moldplan.shape.assemble import assemble
from moldplan.shape.choose import resolve
from moldplan.spec.model import Spec

G = 9.80665


def made(**more):
    sole = {"outline": [[0, -500], [1000, -500], [1000, 500], [0, 500]], "sill": 200,
            "scuppers": {"one": {"at": [100, 0], "bore": 40}, "two": {"at": [900, 0], "bore": 40}}, **more}
    resolved = resolve(Spec.model_validate({"moldplan": 1, "title": "rain", "boat": {"rain": 90},
                                            "rules": ["large yacht code ly3"], "soles": {"s": sole}}))
    assembly = assemble(resolved)
    return assembly, resolved.spec, basins(assembly)


@pytest.fixture(scope="module")
def sole():
    return made()


def test_all_rain_on_a_sole_goes_to_its_drains(sole):
    """1 m2 at 90 mm/h is 90 L an hour: 0.025 L/s, both drains together; either takes it all at the most."""
    _, _, (basin,) = sole
    areas = served(basin, [], [0.0])
    assert rain_flow(sum(areas.values()), intensity=90) == pytest.approx(0.025, rel=0.003)  # less the drains' holes
    found = rain(*sole)
    assert len(found) == 2
    assert all(float(f.note.split(" L/s")[0]) <= 0.025 for f in found)
    assert all(f.verdict == "holds" for f in found)


def test_two_like_drains_of_a_sole_take_alike_and_with_a_list_nearly_all():
    """By symmetry about the centreline; the low side takes all but what runs straight down to the other's rim."""
    scuppers = {"port": {"at": [60, 400], "bore": 40}, "starboard": {"at": [60, -400], "bore": 40}}
    found = rain(*made(fall="1:60", scuppers=scuppers))
    areas = [float(f.note.split("from ")[1].split(" m2")[0]) for f in found]
    assert areas[0] == pytest.approx(areas[1], rel=0.02)
    assert all(0.7 < area <= 1.0 for area in areas)


def test_a_sill_of_200_empties_as_a_prism_with_two_sharp_holes(sole):
    """t = 2 A (sqrt h0 - sqrt h1) / (Cd a sqrt 2g), ORI-04's closed form, while the orifice and not the weir rules.

    A weir of the rim's length takes less than the hole only below D/2 or so: the rest is compared in the range above.
    """
    _, (curve,) = emptying(*sole)
    area, holes = 1.0 - 2 * math.pi * 0.02**2, 2 * math.pi * 0.02**2
    top = curve.all_open.levels[0] - curve.lowest
    for share in (0.75, 0.5, 0.3):
        level = share * top
        by_hand = 2 * area * (math.sqrt(top / 1000) - math.sqrt(level / 1000)) / (0.61 * holes * math.sqrt(2 * G))
        assert curve.all_open.time_to(curve.lowest + level) == pytest.approx(by_hand, rel=0.02)


def test_with_one_of_two_like_drains_blocked_it_takes_twice_as_long(sole):
    _, (curve,) = emptying(*sole)
    half = curve.lowest + 100
    assert curve.blocked["s.one"].time_to(half) == pytest.approx(2 * curve.all_open.time_to(half), rel=1e-3)


def test_the_time_a_code_prints_is_held_beside_it(sole):
    found = {f.id: f for f in emptying(*sole)[0]}
    assert found["s/emptying/by-large-yacht-code-ly3"].limit == 180
    assert found["s/emptying/by-large-yacht-code-ly3"].source.clause == "6.3"


def test_a_sole_without_a_sill_is_not_judged():
    found, curves = emptying(*made(sill=None))
    assert [f.verdict for f in found] == ["not judged"]
    assert curves == []


def test_a_known_hose_holds_the_drain_back():
    scuppers = {"one": {"at": [100, 0], "bore": 40, "hose_bore": 20, "outlet": [-400, 0, -200]}}
    assembly, _, _ = made(scuppers=scuppers)
    drain = drain_of(assembly.drain("s.one"))
    assert drain.pipe.bore == 20
    assert drain.pipe.drop == pytest.approx(200, abs=1)
    assert drain.through(100).by == "pipe"
