"""Land beside reliefs: lengths by hand. A round relief of radius r in a square corner reaches r (1 - sqrt(1/2)) past it
along either edge's direction: its centre is on the bisector, r from the corner."""

import math

import pytest

from moldplan.cut.judge import judged_pieces
from moldplan.cut.land import least_land
from moldplan.cut.loop import wound
from moldplan.cut.piece import Outline
from moldplan.cut.relief import relieved
from moldplan.cut.seating import opened
from moldplan.cut.touching import Touching
from moldplan.shape.assembly import Assembly
from moldplan.spec.model import Cutter

REACH = 3 * (1 - math.sqrt(0.5))


def land(outline, style="round"):
    return least_land(outline, relieved(outline, radius=3, style=style).outline)[0]


@pytest.fixture
def hole(box):
    return lambda *sizes: wound(box(*sizes), clockwise=True)


def test_no_relief_no_land(box):
    assert land(Outline(outer=box(100, 60))) == math.inf


@pytest.mark.parametrize("wall", [2.0, 5.0, 8.0])
def test_an_opening_beside_the_outer_outline(box, hole, wall):
    outline = Outline(outer=box(100, 60), holes=(hole(30, 20, 100 - wall - 30, 20),))
    assert land(outline) == pytest.approx(wall - REACH, abs=1e-9)


@pytest.mark.parametrize("kind", ["sinks", "bores", "under"])
def test_an_opening_beside_a_recess(box, hole, kind):
    outline = Outline(outer=box(100, 60), holes=(hole(30, 20, 10, 20),), **{kind: ((box(30, 20, 44, 20), 5.0),)})
    both = 0 if kind == "bores" else REACH  # a recess has reliefs of its own, a bore is drilled
    assert land(outline) == pytest.approx(4 - REACH - both, abs=1e-6)


def test_a_thin_wall_between_a_slot_and_the_same_outline(ring):
    # a slot of 20 in the upper edge, whose right wall stands 4 mm from the right edge
    outer = ring((0, 0), (60, 0), (60, 50), (56, 50), (56, 20), (36, 20), (36, 50), (0, 50))
    assert land(Outline(outer=outer)) == pytest.approx(4 - REACH, abs=1e-9)


def test_the_ridge_at_the_end_of_a_slot_is_no_wall(ring):
    outer = ring((0, 0), (200, 0), (200, 150), (110, 150), (110, 80), (100, 80), (100, 150), (0, 150))
    assert land(Outline(outer=outer)) > 60  # down to the lower edge, not across the 10 mm end


def test_a_rebate_along_an_opening_has_no_wall_to_break(box, hole):
    outline = Outline(outer=box(200, 160), holes=(hole(60, 40, 70, 60),), sinks=((box(80, 60, 60, 50), 5.0),))
    assert land(outline) == pytest.approx(50 - REACH, abs=1e-6)  # the rebate's own, to the edge


def test_the_finding_fails_on_a_thin_wall_of_the_outer_outline_and_a_smaller_cutter_cures_it(piece, ring):
    outer = ring((0, 0), (60, 0), (60, 50), (58.4, 50), (58.4, 20), (36, 20), (36, 50), (0, 50))

    def judged(cutter):
        cut = opened([piece("P1", outer)], Touching(Assembly(bodies={}, stands=())), cutter)
        return [f for f in judged_pieces(cut, cutter) if "relief" in f.what]

    (found,) = judged(Cutter())
    assert found.verdict == "fails" and found.measured == pytest.approx(1.6 - REACH)
    (edit,) = found.moves[0].edits
    tried = judged(Cutter(diameter=edit.to))
    assert edit.to < 6 and tried[0].measured > found.measured
    assert judged(Cutter(diameter=3))[0].verdict != "fails"
