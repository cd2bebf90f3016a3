"""Outlines against the solids they came from: true ones hold, spoilt ones and torn sets are found.

Expected areas are the kernel's own of faces and closed forms, not those of the outlines.
"""

from dataclasses import replace

import cadquery as cq
import pytest

from moldplan.cut.judge_shapes import judged_shapes
from moldplan.cut.outline import pieces
from moldplan.shape.assembly import Assembly
from moldplan.shape.body import Frame
from moldplan.spec.model import Cutter


@pytest.fixture(scope="module")
def made(flat_body, board):
    """A holed plate lying askew, a drafted disc with a drafted opening, a plate pocketed from below and tunnelled."""
    tunnel = cq.Workplane().box(200, 120, 18, centered=(True, True, False)).faces("<Z").workplane().rect(60, 40)
    tunnel = tunnel.cutBlind(-7).cut(cq.Workplane("XZ").center(0, 13).circle(2).extrude(200, both=True))
    solids = {
        "plate": cq.Workplane().box(300, 200, 18, centered=(True, True, False)).faces(">Z").workplane().hole(61),
        "disc": cq.Workplane().circle(130).extrude(18, taper=5).cut(cq.Workplane().circle(40).extrude(18, taper=4)),
        "tunnel": tunnel,
    }
    frame = Frame((900.0, 40.0, 7.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    bodies = {}
    for name, work in solids.items():
        own = frame if name == "plate" else Frame()
        bodies[name] = flat_body(work.val().moved(own.location), name=name, frame=own)
    assembly = Assembly(bodies=bodies, stands=())
    return assembly, pieces(assembly, {"board": board}, Cutter())


def test_outlines_of_plain_drafted_and_hollowed_bodies_are_their_shadows(made):
    assembly, cut = made
    (found,) = judged_shapes(assembly, cut, Cutter())
    assert found.verdict == "holds" and found.measured < 0.02
    assert found.note.endswith("of 3 looked at")


@pytest.mark.parametrize("off", [0.06, -0.06])
def test_an_outline_that_is_off_is_found(made, off):
    """0.06 mm all round a plate of 300 x 200 with a hole of 61: its area is off by 0.06 times its edges' length."""
    assembly, cut = made
    spoilt = [replace(p, area=p.area + off * p.outline_length) if p.body == "plate" else p for p in cut]
    (found,) = judged_shapes(assembly, spoilt, Cutter())
    assert found.verdict == "fails" and "plate" in found.note
    assert found.measured == pytest.approx(0.06, abs=0.01)


def test_a_piece_shaped_by_hand_is_told_of_and_not_judged(made):
    assembly, cut = made
    shaped = {"area": 1.0, "notes": ("shaped after cutting (wedge)",)}
    spoilt = [replace(p, **shaped) if p.body == "disc" else p for p in cut]
    (found,) = judged_shapes(assembly, spoilt, Cutter())
    assert found.verdict == "holds" and "1 that are shaped by hand" in found.note


def test_a_set_for_both_hands_is_whole_or_what_is_missing_is_counted(flat_body, board):
    wedge = cq.Workplane().polyline([(0, 0), (200, 0), (160, 90), (0, 70)]).close().extrude(18).val()
    own = flat_body(wedge, name="rib (port)", hand="port")
    twin = own.mirrored(name="rib (starboard)", hand="starboard")
    assembly = Assembly(bodies={b.name: b for b in (own, twin)}, stands=())
    cut = pieces(assembly, {"board": board}, Cutter())
    assert [f.verdict for f in judged_shapes(assembly, cut, Cutter())] == ["holds", "holds"]
    torn = judged_shapes(assembly, cut[:1], Cutter())[1]
    assert torn.verdict == "fails" and torn.measured == 2  # neither of a pair is any use without the other
