"""Tables read back by the standard library's reader; cells that would run as a formula are made inert.

Formula injection: OWASP's page of that name lists = + - @ and tab and return as the dangerous first letters.
"""

import csv
import math
from dataclasses import replace

import pytest

from moldplan.cut.piece import Loop
from moldplan.report import tables


def rows(path):
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("first", ["=", "+", "-", "@", "\t", "\r"])
def test_words_that_would_run_get_a_quote_mark(first):
    assert tables.safe(f"{first}HYPERLINK(1)") == f"'{first}HYPERLINK(1)"


def test_numbers_and_plain_words_stay_as_they_are():
    assert tables.safe(-3.5) == -3.5
    assert tables.safe("a = b") == "a = b"
    assert tables.safe("") == ""


def test_three_tables_are_written_and_read_back(seat, tmp_path):
    poisoned = replace(seat.findings[0], note='=cmd|" /c calc"!A0')
    tables.write(replace(seat, findings=(poisoned, *seat.findings[1:])), tmp_path)
    found = rows(tmp_path / "tables" / "findings.csv")
    assert [row["verdict"] for row in found] == [f.verdict for f in seat.findings]
    assert found[0]["note"] == "'=cmd|\" /c calc\"!A0"
    assert float(found[0]["margin"]) == 12.0 - 25.0
    assert found[0]["cure"] == "Raise the lid 13 mm"
    assert found[4]["not judged"] == "the locker has no lid"


def test_the_cut_list_has_a_row_a_piece_with_its_size(seat, tmp_path):
    tables.write(seat, tmp_path)
    first, second = rows(tmp_path / "tables" / "cut-list.csv")
    assert (first["piece"], first["quantity"], first["stock"]) == ("P1", "2", "foam")
    assert float(first["length mm"]) == pytest.approx(400)
    assert float(second["width mm"]) == pytest.approx(280, abs=0.2)


def test_materials_count_sheets_area_and_money(seat, tmp_path):
    priced = seat.spec.model_copy(update={"stock": {"foam": stock(price=74.0)}})
    tables.write(replace(seat, spec=priced), tmp_path)
    board, foam, *_ = rows(tmp_path / "tables" / "materials.csv")
    assert float(foam["area of pieces m2"]) == pytest.approx(2 * 0.101035, abs=5e-4)  # two pieces of 101 035 mm2
    assert float(foam["area of sheets m2"]) == pytest.approx(2.44 * 1.22, abs=5e-4)
    assert float(foam["price"]) == 74.0
    assert board["price"] == ""  # no price in the spec: none made up


def test_part_used_sheets_and_what_all_costs_stand_in_the_materials(seat, tmp_path):
    """2 sheets at 74 and 1 at 58 are 206; the sheet from the rack is an L of 1 x 0.9 less 0.5 x 0.45 m: 0.675 m2."""
    corners = [(0, 0), (1000, 0), (1000, 450), (500, 450), (500, 900), (0, 900)]
    foam, board = seat.layout.sheets
    rack = replace(foam, number=3, rack="on hand 2", size=(1000.0, 900.0), edge=Loop(tuple((*p, 0.0) for p in corners)))
    laid = replace(seat.layout, sheets=(foam, replace(foam, number=2), rack, board))
    stocks = {"foam": stock(price=74.0), "board": stock(price=58.0, size=[2800, 2070])}
    tables.write(replace(seat, layout=laid, spec=seat.spec.model_copy(update={"stock": stocks})), tmp_path)
    found = {(row["stock"], row["kind"]): row for row in rows(tmp_path / "tables" / "materials.csv")}
    assert found["all sheets to buy", ""]["price"] == "206.0"
    old = found["foam", "pvc foam, on hand 2"]
    assert (old["sheet mm"], old["sheets used"], float(old["area of sheets m2"])) == ("1000 x 900", "1", 0.675)
    assert old["price"] == ""
    tables.write(replace(seat, layout=laid, spec=seat.spec.model_copy(update={"stock": {"foam": stock(price=74.0)}})),
                 tmp_path)  # of the board no price is known: no sum
    assert not [row for row in rows(tmp_path / "tables" / "materials.csv") if row["stock"].startswith("all")]


def stock(**more):
    from moldplan.spec.model import Stock

    return Stock.model_validate({"kind": "pvc foam", "thickness": 20, "size": [2440, 1220], **more})


def test_straps_stand_in_the_materials_with_their_length(chocks, tmp_path):
    """Webbing from eye to eye by plane geometry on the bodies: two straights and half a turn; then 150 mm to grip and
    40 mm sewn at either end, common practice, no source."""
    tables.write(chocks, tmp_path)
    found = {row["kind"]: row for row in rows(tmp_path / "tables" / "materials.csv")}
    straps = [b for b in chocks.assembly.of_kind("strap") if "buckle" not in b.name]
    box = straps[0].solid.BoundingBox()
    radius = (box.ymax - box.ymin) / 2  # to the outside of the band, lying along x
    straight = box.zmax - radius - box.zmin
    middle = radius - float(found["webbing"]["thickness mm"]) / 2
    cut = 2 * straight + math.pi * middle + 150 + 2 * 40
    assert float(found["webbing"]["length to cut mm"]) == pytest.approx(cut, abs=0.5)
    assert int(found["webbing"]["pieces"]) == len(straps)
    assert (int(found["eye"]["pieces"]), int(found["buckle"]["pieces"])) == (2 * len(straps), len(straps))


def test_a_loosened_limit_says_why(seat, tmp_path):
    loose = replace(seat.findings[1], loosened="an old boat, and the locker is dry")
    tables.write(replace(seat, findings=(seat.findings[0], loose)), tmp_path)
    found = rows(tmp_path / "tables" / "findings.csv")
    assert [row["loosened"] for row in found] == ["", "an old boat, and the locker is dry"]


def test_dowels_stand_in_the_materials_by_length(seat, tmp_path):
    """Four of 49 mm and two of 26, whichever bodies they stand in; the length is cut once for each."""
    bodies = dict(seat.assembly.bodies)
    first, second, *_ = bodies
    bodies |= {first: replace(bodies[first], dowels=(49.0, 49.0, 26.0)), second: replace(
        bodies[second], dowels=(49.0, 49.0, 26.0))}
    bare = {name: replace(body, dowels=()) for name, body in bodies.items() if name not in (first, second)}
    tables.write(replace(seat, assembly=replace(seat.assembly, bodies=bodies | bare)), tmp_path)
    found = [row for row in rows(tmp_path / "tables" / "materials.csv") if row["stock"] == "dowel"]
    assert [(row["thickness mm"], row["pieces"], row["length to cut mm"]) for row in found] == [
        ("8.0", "4", "49.0"), ("8.0", "2", "26.0")]
