"""Drawings of soles, hatches and molds: every sheet in its frame, no words on words, the letters of the sum on it.

What is printed comes from the section sum; what it is held against is measured here on the bodies' faces.
"""

import csv
import math
from pathlib import Path

import pytest

from moldplan.plan import Plan
from moldplan.report import frame_section, frame_tables, html, picture, tables, view3d
from moldplan.report import slice as slicing
from moldplan.report.drawing import clashes
from moldplan.shape.assemble import assemble
from moldplan.shape.choose import resolve
from moldplan.spec.load import read, read_text

ROOT = Path(__file__).parents[2]
BOTH = """
moldplan: 1
title: Both in one
cylinders:
  galley: {diameter: 267 ± 2, height: 430, knuckle_radius: 25, full_mass: 16, contents: lp gas}
cradles:
  seat block:
    block: [400, 400, 80]
    seats: {galley: {depth: 36, clearance_per_side: 4, draft: 4, insert: board}}
soles:
  foredeck:
    outline: [[600, -420], [1500, -380], [1500, 380], [600, 420]]
    crown: 8
    hatches:
      bow hatch:
        centre: [1050, 0]
        turn: 20
        clear_opening: [300, 280]
        landing: 30
        upstand: 10
        gutter: {width: 60, depth: 30, fall: 1:50}
        lid: {thickness: 24, drip_lip: 10, gasket: {free: 20, squeeze: 0.4, stop: 12}}
        drains: {low: {at: aft port, bore: 25, sump: 8, flange: 40}}
        bond_flange: {lies: under}
    fittings: {cleat: {at: [700, 250], flange: 80, bolts: 4}}
    below: {tank: {from: [700, -300, -400], to: [900, -100, -100]}}
"""


def shaped(loaded):
    """The plan with its bodies, not judged and not cut."""
    resolved = resolve(loaded.spec)
    return Plan(name="sole", file="sole.yaml", sha256="0" * 64, spec=resolved.spec, assembly=assemble(resolved),
                findings=(), pieces=(), layout=None, choices=(), cautions=())  # fmt: skip


@pytest.fixture(scope="module")
def hatch():
    return shaped(read(ROOT / "specs" / "small-hatch.yaml"))


@pytest.fixture(scope="module")
def both():
    return shaped(read_text(BOTH, "both.yaml"))


@pytest.fixture(scope="module")
def sheets(hatch, drawn):
    return drawn(hatch)


def words(ones):
    return [text.words for sheet in ones for text in sheet.texts()]


def test_each_sole_and_hatch_has_its_sheets(sheets):
    assert set(sheets) == {"foredeck", "foredeck.bow hatch"}
    titles = " ".join(sheet.title for ones in sheets.values() for sheet in ones)
    assert all(words in titles for words in ("from above", "section at a high point", "section at a drain", "mold"))


@pytest.mark.parametrize("which", ["hatch", "both"])
def test_no_words_lie_on_anything(which, request, drawn):
    made = drawn(request.getfixturevalue(which))
    assert [clash for ones in made.values() for sheet in ones for clash in clashes(sheet)] == []


def test_the_letters_of_the_section_sum_are_dimensioned(sheets):
    said = words(sheets["foredeck.bow hatch"])
    # 24 + 12 = 36; + 22 = 58: the sum by hand
    assert {"A 36", "B 58", "a 25", "b 65", "c 62"} <= set(said)


def test_a_sump_and_an_upstand_enter_the_section(both, drawn):
    said = words(drawn(both)["foredeck.bow hatch"])
    # 24 + 12 = 36; + 30 = 66; one drain: the run is half the way round the middle of the gutter, 60 outside the opening
    run = (2 * (300 - 60) + 2 * (280 - 60) + 2 * math.pi * (30 + 60)) / 2
    assert {"A 36", "B 66", f"C {66 + run / 50:.1f}", f"D {74 + run / 50:.1f}"} <= set(said)


def test_the_sole_says_its_fall_its_crown_and_the_gutters_levels(sheets, both, drawn):
    said = words(sheets["foredeck"])
    assert "the sole falls 1:80 aft" in said
    assert said.count("B 58") == 2
    assert {"crown 8", "tank, below"} <= set(words(drawn(both)["foredeck"]))


def _line(faces, plane):
    """u at v of the longest straight trace of faces in a plane, as a function of v."""
    chains = slicing.traces(faces, plane)
    (u0, v0), (u1, v1) = ((c[0][:2], c[-1][:2]) for c in chains if len(c) == 2).__next__()
    return lambda v: u0 + (u1 - u0) * (v - v0) / (v1 - v0)


def test_bare_sizes_are_those_of_the_bodies_faces(hatch):
    (place,) = hatch.assembly.hatches
    plane = frame_section.plane_at(place, 0.0, (-30, -90), (140, 5))
    molding, lid = (hatch.assembly.body(name) for name in (place.molding, place.lid))
    outer, inner = (_line(molding.faces(role), plane) for role in ("outer wall", "inner wall"))
    landing = slicing.traces(molding.faces("landing"), plane)[0]
    edge, level = min(p[0] for p in landing), landing[0][1]
    gap = outer(-place.paint) - _line(lid.faces("side"), plane)(-place.paint)
    rows = {row[1]: float(row[3]) for row in frame_tables.out_rows(hatch, place)}
    assert frame_tables.bare_gap(place) == pytest.approx(gap, abs=1e-4)
    assert rows["less the gap to the lid"] == pytest.approx(-gap, abs=0.006)
    assert rows["landing"] == pytest.approx(inner(level) - edge, abs=0.006)
    assert rows["gutter width"] == pytest.approx(outer(-place.paint) - inner(level), abs=0.006)


def test_the_bare_sum_closes_on_the_bodies(hatch):
    (place,) = hatch.assembly.hatches
    rows = frame_tables.down_rows(hatch, place)
    finished, bare = (sum(float(row[k]) for row in rows) for k in (2, 3))
    assert finished == pytest.approx(bare, abs=0.01)
    box = hatch.assembly.body(place.lid).solid.moved(place.frame.location.inverse).BoundingBox()
    assert float(rows[0][3]) == pytest.approx(box.zmax - box.zmin, abs=0.006)


def test_the_mold_numbers_every_piece_once_with_the_heights_its_strip_measures(hatch, sheets):
    (place,) = hatch.assembly.hatches
    said = words(sheets["foredeck.bow hatch"][-1:])
    leaves = {name: k for k, group in enumerate(place.break_out, 1) for name in group}
    for number, name in enumerate(place.mold, 1):
        short = name.removeprefix(f"{place.name} ")
        assert said.count(f"{number} {short}, out {leaves[name]}") == 1
    box = (hatch.assembly.body(f"{place.name} port side").solid.moved(place.frame.location.inverse).BoundingBox())
    heights = next(w for w in said if w.startswith(f"{box.zmax - box.zmin:.1f} at ") or
                   w.partition(", ")[2].startswith(f"{box.zmax - box.zmin:.1f} at "))  # fmt: skip
    assert heights.endswith(f"at {400 - 2 * 30}")  # a side between its corners


def test_every_sheet_says_which_way_is_forward(sheets, both, drawn):
    made = [*sheets.values(), *drawn(both).values()]
    assert all("FWD" in words([sheet]) for ones in made for sheet in ones if sheet.on_page)


def test_gauges_stand_on_the_sheet_on_the_page_and_in_a_table(hatch, sheets, tmp_path):
    tables.write(hatch, tmp_path)
    with (tmp_path / "tables" / "gauges.csv").open(encoding="utf-8-sig") as file:
        rows = {row["gauge"]: float(row["size mm"]) for row in csv.DictReader(file)}
    assert rows["landing stick"] == pytest.approx(36)
    assert rows["length lath"] == pytest.approx(400)
    assert set(rows) <= set(words(sheets["foredeck.bow hatch"]))
    page = html.page(hatch, sheets, [])
    assert all(f"<td>{name}</td>" in page for name in rows)
    assert "A the landing" in page
    assert "C the core side" not in page  # no seat, no such faces


def test_a_plan_without_hatches_has_no_gauges(seat, tmp_path):
    tables.write(seat, tmp_path)
    assert not (tmp_path / "tables" / "gauges.csv").exists()
    assert "gauges" not in html.page(seat, {}, [])


def test_the_page_shows_molds_when_asked_and_lids_to_be_taken_off(hatch):
    (place,) = hatch.assembly.hatches
    scene = view3d.scene(hatch)
    assert {g["id"]: g["on"] for g in scene["groups"]} == {"fittings": True, "skins": True, "cores": True, "lids": True,
                                                           "molds": False}  # fmt: skip
    groups = {body["name"]: body["group"] for body in scene["bodies"]}
    assert {name for name, group in groups.items() if group == "molds"} == set(place.mold)
    assert groups[place.lid] == groups[place.gasket] == "lids"
    assert "foredeck sheet" not in groups  # drawn flat for cutting: it lies where no sole is


def test_the_still_picture_shows_the_sole_not_its_molds(hatch):
    sheet = picture.picture(hatch)
    assert len(sheet.marks) > 40
    assert clashes(sheet) == []
