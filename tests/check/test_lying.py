"""A lying cylinder in its chocks, against the arc's own sums."""

import math

import pytest

from moldplan.check.lying import lying


def by_what(spot):
    return {f.what: f for f in lying(spot)}


def test_the_arc_leaves_its_clearance(rack):
    # F is at radius 50 + liner + clearance; the liner is in between: the clearance is left
    assert by_what(rack({"cradles/k/chocks/b/clearance": 1.5}))["arc"].measured == pytest.approx(1.5, abs=1e-6)


def test_without_a_liner_the_tolerances_count(rack):
    bare = {"cradles/k/chocks/b/liner": 0, "cradles/k/chocks/b/clearance": 2}
    plain = by_what(rack(bare))["arc"].measured
    loose = by_what(rack({**bare, "cylinders/b/diameter": "100 ± 3"}))["arc"].measured
    assert plain - loose == pytest.approx(1.5)
    assert plain <= 2


@pytest.mark.parametrize("wrap", [90, 120, 180])
def test_wrap_is_the_angle_of_the_finished_arc(rack, wrap):
    # the bare arc lies one coat of paint outside F, and ends where the bare shoulder, one coat lower, cuts it
    spot = rack({"cradles/k/chocks/b/wrap": wrap, "cradles/k/block": [320, 300, 20]})
    paint, radius = spot.stand.paint, 54.0
    half = math.acos((radius * math.cos(math.radians(wrap / 2)) + paint) / (radius + paint))
    assert by_what(spot)["wrap"].measured == pytest.approx(2 * math.degrees(half), abs=1e-6)
    assert by_what(spot)["wrap"].verdict in ("holds", "close")


def test_a_molded_rib_keeps_its_draft_back(rack):
    spot = rack({"cradles/k/chocks/b/made": "molded", "cradles/k/chocks/b/draft": 3})
    assert by_what(spot)["wrap"].limit == pytest.approx(180 - 2 * 3)


def test_straps_beside_the_ribs_are_as_far_as_their_middles_less_their_halves(rack):
    spot = rack()
    bands = [spot.assembly.body(n) for n in spot.stand.straps if "inside" in spot.assembly.body(n).shaped.roles]
    bands += [spot.assembly.body(n) for n in spot.stand.straps if n.endswith("buckle")]

    def along(solid):
        box = solid.BoundingBox()
        return box.xmin, box.xmax

    gaps = []
    for low, high in (along(b.solid) for b in bands):
        for rib_low, rib_high in (along(h.solid) for h in spot.hosts):
            gaps.append(max(low - rib_high, rib_low - high))
    assert by_what(spot)["strap"].measured == pytest.approx(min(gaps), abs=0.01)
