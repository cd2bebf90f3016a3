"""The two steps together, and the cut list."""

import cadquery as cq
import pytest

from moldplan.cut.cutting import flatten, lay_out
from moldplan.cut.saved import as_text
from moldplan.cut.table import COLUMNS, cut_list
from moldplan.shape.assembly import Assembly
from moldplan.spec.model import Cutter


@pytest.fixture
def discs(flat_body):
    cone = cq.Workplane().circle(120).extrude(18, taper=4).val()
    bodies = [flat_body(cone, name=f"disc {n}") for n in (1, 2)]
    bodies.append(flat_body(cq.Workplane().box(300, 80, 18).rotate((0, 0, 0), (0, 0, 1), 25).val()
                            .translate(cq.Vector(0, 500, 0)), name="strip"))  # nothing lies against it
    return Assembly(bodies={body.name: body for body in bodies}, stands=())


def test_flatten_then_lay_out(discs, board):
    cutting = flatten(discs, {"board": board}, Cutter())
    assert [(p.id, p.quantity) for p in cutting.pieces] == [("P1", 2), ("P2", 1)]
    said = []
    laid = lay_out(cutting, {"board": board}, Cutter(), saved=None, say=said.append)
    judged = {f.what: f.verdict for f in (*cutting.findings, *laid.findings)}
    assert set(judged.values()) == {"holds"}, judged
    assert len({f.id for f in (*cutting.findings, *laid.findings)}) == len(cutting.findings) + len(laid.findings)
    again = lay_out(cutting, {"board": board}, Cutter(), saved=as_text(laid.layout), say=said.append)
    assert again.layout == laid.layout and said == ["the saved layout is used again"]
    assert lay_out(cutting, {"board": board}, Cutter(), saved="junk", say=said.append).layout == laid.layout


def test_sheets_left_out_are_not_judged(discs, board):
    left = flatten(discs, {"board": board}, Cutter()).left_out()
    assert left.layout is None
    assert [f.verdict for f in left.findings] == ["not judged"] and left.findings[0].skipped


def test_the_cut_list_has_the_least_rectangle_and_the_work_on_the_edges(discs, board):
    cutting = flatten(discs, {"board": board}, Cutter())
    rows = cut_list(cutting.pieces, lay_out(cutting, {"board": board}, Cutter(), saved=None, say=print).layout)
    assert all(tuple(row) == COLUMNS for row in rows)
    assert [(r["id"], r["name"], r["quantity"], r["length_mm"], r["width_mm"]) for r in rows] == [
        ("P1", "disc 1 and 2", 2, 240.0, 240.0), ("P2", "strip", 1, 300.0, 80.0)]
    assert rows[0]["edges"] == "dress to the marked line; seal raw edges"
    assert rows[1]["edges"] == "seal raw edges"
    assert [r["sheets"] for r in rows] == ["1", "1"]
