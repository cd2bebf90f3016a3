"""Loading: mistakes all at once and in line order, names, limits, cautions. Expected lines are typed here by hand."""

import hashlib
import re

import pytest

from moldplan.errors import Fault, SpecError, SpecFault
from moldplan.spec import load


def test_a_good_spec_loads_with_marks_and_a_digest(reads, good):
    loaded = reads(good)
    assert loaded.spec.cylinders["galley"].across.value == 267
    assert loaded.spec.cylinders["galley"].across.tolerance == 2
    assert str(loaded.marks["cradles", "seat block", "seats", "galley", "depth"]) == "spec.yaml:5:69"
    assert loaded.sha256 == hashlib.sha256(good.encode()).hexdigest()
    assert loaded.cautions == ()


SEATS = """\
moldplan: 1
title: t
cylinders: {{galley: {{diameter: 267, height: 430, {cylinder}}}}}
cradles:
  block: {{block: [400, 400, 80], {cradle}, seats: {{galley: {{depth: 36, clearance_per_side: 4, {seat}}}}}}}
{more}
"""


def spec(cylinder="", cradle="stock: foam", seat="draft: 4", more=""):
    return SEATS.format(cylinder=cylinder or "full_mass: 16", cradle=cradle, seat=seat, more=more)


@pytest.mark.parametrize(("parts", "place", "says"), [
    ({"seat": "draft: 4, liner: -1"}, "5:108", "cradles.block.seats.galley.liner = -1, allowed 0 to 50 mm, because"),
    ({"seat": "dratf: 4"}, "5:98", "allowed draft (the nearest)"),
    ({"seat": "rim_radius: .nan"}, "5:98", "0 to 50 mm, written as"),
    ({"seat": "rim_radius: .inf"}, "5:98", "it must be a finite number"),
    ({"seat": "rim_radius: 1e9"}, "5:98", "rim_radius = 1000000000.0, allowed 0 to 50 mm"),
    ({"seat": "rim_radius: 24 lb"}, "5:98", "lb is a unit of mass"),
    ({"seat": "rim_radius: [1]"}, "5:98", "a list stands there"),
    ({"seat": "rim_radius: 9,5"}, "5:98", "rim_radius = 9,5, allowed 9.5, because decimals take a point"),
    ({"seat": "rim_radius: '9,5'"}, "5:98", "decimals take a point"),
    ({"seat": "at: [1,5, 3]"}, "5:98", "not a comma"),
    ({"seat": "at: [1, 5, 3]"}, "5:98", "a list of 2 lengths"),
    ({"seat": "at: 5"}, "5:98", "a list of 2 lengths"),
    ({"seat": "limber: up"}, "5:98", "forward, aft, port, starboard"),
    ({"seat": "limber: {towards: aft, fall: 0.02}"}, "5:121", "a bare number does not say how a slope is meant"),
    ({"seat": "limber: {towards: aft, fall: 1:2}"}, "5:121", "0.5 to 20 %"),
    ({"seat": "limber: {fall: 1:50}"}, "5:98", "limber.towards = nothing"),
    ({"seat": "straps: 1.5"}, "5:98", "straps.count = 1.5, allowed a whole number"),
    ({"seat": "straps: 7"}, "5:98", "straps.count = 7, allowed 0 to 6"),
    ({"seat": "insert: bord"}, "5:98", "allowed board (the nearest)"),
    ({"seat": "insert: {stock: bord}"}, "5:107", "no stock has that name"),
    ({"seat": "insert: {built: frame}"}, "5:107", "allowed frames (the nearest), discs, because it says"),
    ({"seat": "insert: {frames: {spacing: 5}}"}, "5:116", "frames.spacing = 5, allowed 20 to 1000 mm, because closer"),
    ({"seat": "insert: {frames: {covering: 0}}"}, "5:116", "frames.covering = 0, allowed 0.5 to 40 mm, because thin"),
    ({"seat": "insert: {frames: {clearance: -1}}"}, "5:116", "frames.clearance = -1, allowed 0 to 5 mm, because more"),
    ({"seat": "insert: {frames: {spacng: 90}}"}, "5:116", "allowed spacing (the nearest)"),
    ({"seat": "cylinder: galey"}, "5:98", "allowed galley (the nearest), because no cylinder has that name"),
    ({"seat": "depth: 40"}, "5:98", "depth = a second time, allowed each key once, because it stands at line 5"),
    ({"cradle": "stock: fome"}, "5:34", "allowed foam (the nearest)"),
    ({"cradle": "stock: 3"}, "5:34", 'in quotes: "3"'),
    ({"cradle": "locker: aft"}, "5:34", "no locker has that name"),
    ({"cradle": "skin: thick"}, "5:34", "no laminate has that name"),
    ({"cradle": "hand: left"}, "5:34", "port, starboard, both"),
    ({"cradle": "chocks: {galley: {}}"}, "5:3", "seats, or chocks"),
    ({"cylinder": "or: [tall]"}, "3:55", "no cylinder has that name"),
    ({"cylinder": "or: [galley]"}, "3:55", "no alternative to itself"),
    ({"cylinder": "alternatives: [x]"}, "3:50", "a cylinder has no field 'alternatives'"),
    ({"cylinder": "contents: lpgas"}, "3:50", "allowed lp gas (the nearest)"),
    ({"cylinder": "valve: [3]"}, "3:50", "allowed a map with diameter, height, because a list stands there"),
    ({"cylinder": "bottom: flat, foot: {diameter: 200, height: 20}"}, "3:50",
     "bottom = 'flat', allowed foot ring, or nothing, because `foot` says"),
    ({"cylinder": "bottom: foot ring"}, "3:50", "bottom = 'foot ring', allowed flat or round, or `foot` given besides"),
    ({"cylinder": "9: 1"}, "3:50", 'a name such as 9 is written in quotes: "9"'),
    ({"more": "stock: [1]"}, "6:1", "a map of names"),
    ({"more": "cutter: 6"}, "6:1", "a map with diameter"),
    ({"more": "units: cm"}, "6:1", "mm, inch"),
    ({"more": "revision: 3"}, "6:1", 'text, in quotes: "3"'),
    ({"more": "titel: x"}, "6:1", "allowed title (the nearest)"),
    ({"more": "fabrics: {f: {areal_weight: 450}}"}, "6:15", "20 to 3000 g/m2, written as"),
    ({"more": "laminates: {l: {plies: [f]}}"}, "6:25", "no fabric has that name"),
    ({"more": "laminates: {l: {plies: []}}"}, "6:17", "a list of 1 to 40 names"),
    ({"more": "laminates: {l: {plies: [biax 450], resin: water}}"}, "6:36", "no resin has that name"),
    ({"more": "limits: {draft: {least: 2}}"}, "6:18", "at least 3 deg, or a `reason`"),
    ({"more": "limits: {draft: {least: 2, reason: ' '}}"}, "6:18", "at least 3 deg, or a `reason`"),
    ({"more": "limits: {drat: {least: 4}}"}, "6:10", "allowed draft (the nearest)"),
    ({"more": "limits: {draft: {most: 4}}"}, "6:18", "allowed `least`"),
    ({"more": "limits: {draft: {}}"}, "6:10", "a number in deg"),
    ({"more": "limits: {stack-error: {most: 1}}"}, "6:24", "at most 0.5 mm, or a `reason`"),
    ({"more": "stock: {foam: {kind: pvc foam, thickness: 20, size: [2440, 1220], price: '9,5'}}"}, "6:67", "a comma"),
])
def test_one_mistake_gives_one_line_with_its_place(parts, place, says, mistakes):
    lines = mistakes(spec(**parts))
    assert len(lines) == 1, lines
    assert lines[0].startswith(f"spec.yaml:{place}: ")
    assert says in lines[0]
    assert ", allowed " in lines[0]
    assert ", because " in lines[0]


def test_a_diameter_says_only_once_how_far_it_may_be_off(mistakes):
    (line,) = mistakes(spec(cylinder="tolerance: 3").replace("diameter: 267", "diameter: 267 ± 2"))
    assert "galley.tolerance = 3, allowed nothing, because `diameter` says with its ±" in line


@pytest.mark.parametrize("name", ["../x", "a/b", "a\\\\b", " ", "", "x" * 61, ".hidden", "end.", "con", "LPT1", "nul.x",
                                  "a\\u0007b", "***", "a\\u202eb", " x"])
def test_a_name_that_is_no_file_name_is_refused(name, mistakes):
    text = spec(more=f'lockers: {{"{name}": {{box: {{from: [0, 0, 0], to: [1, 1, 1]}}}}}}')
    (line,) = mistakes(text)
    assert line.startswith("spec.yaml:6:11: lockers.")
    assert "allowed a name such as seat block" in line


@pytest.mark.parametrize(("first", "second"), [("Seat A", "seat-a"), ("é", "e\u0301"), ("a b", "a+b")])
def test_two_names_with_one_file_name_are_refused(first, second, mistakes):
    locker = "{box: {from: [0, 0, 0], to: [1, 1, 1]}}"
    (line,) = mistakes(spec(more=f"lockers: {{{first}: {locker}, {second}: {locker}}}"))
    assert f"{first!r} gives the same file name" in line


def test_every_mistake_is_told_once_and_in_line_order(mistakes):
    lines = mistakes("""\
moldplan: 2
titel: x
cylinders:
  galley: {diameter: 9,5, height: -430}
  tall: {height: .nan, diameter: 300}
cradles:
  one: {blok: [1, 2, 3], block: [400, 400, 80], stock: fom, seats: {gally: {depth: 1, clearance_per_side: four}}}
""")
    fields = [re.match(r"spec.yaml:(\d+):\d+: (\S+) = ", line).groups() for line in lines]
    assert [(int(line), field) for line, field in fields] == [
        (1, "moldplan"), (2, "titel"), (4, "cylinders.galley.diameter"), (4, "cylinders.galley.height"),
        (5, "cylinders.tall.height"), (7, "cradles.one.blok"), (7, "cradles.one.stock"),
        (7, "cradles.one.seats.gally.cylinder"), (7, "cradles.one.seats.gally.depth"),
        (7, "cradles.one.seats.gally.clearance_per_side")]


def test_very_many_mistakes_are_counted_and_not_all_told(mistakes):
    lines = mistakes(spec(more="".join(f"x{n}: 1\n" for n in range(2000))))
    assert len(lines) == 501
    assert lines[-1] == "and 1500 mistakes more"


@pytest.mark.parametrize("limit", ["{least: 5}", "{least: 3}", "{least: 2, reason: waxed and sealed edges}"])
def test_a_tighter_limit_or_one_with_a_reason_is_taken(limit, reads):
    assert reads(spec(more=f"limits: {{draft: {limit}}}")).spec.limits["draft"].least is not None


def test_stock_and_cloth_that_the_handbook_knows_need_not_be_given(reads):
    more = "laminates: {skin: {plies: [biax 450, biax 450], resin: vinyl ester}}"
    assert reads(spec(seat="insert: board", cradle="skin: skin", more=more)).spec.stock == {}


@pytest.mark.parametrize(("parts", "says"), [
    ({"cylinder": "foot: {diameter: 200, height: 22}"}, None),
    ({"more": "stock: {b: {kind: plywood, thickness: 0.75, size: [2440, 1220]}}"},
     'spec.yaml:6:28: stock.b.thickness = 0.75 is 0.75 mm as it stands; did you mean "0.75 in" (19.05 mm)?'),
    ({"more": "stock: {b: {kind: plywood, thickness: 3/4 in, size: [96, 48 in]}}"},
     'stock.b.size.0 = 96 is 96 mm as it stands; did you mean "96 in" (2438.4 mm)?'),
])
def test_a_size_that_looks_like_inches_is_cautioned(parts, says, reads):
    cautions = reads(spec(**parts)).cautions
    assert [says in each for each in cautions] == ([True] if says else [])


def test_a_cylinder_of_12_mm_is_cautioned_and_taken(reads):
    text = spec().replace("diameter: 267", "diameter: 12")
    loaded = reads(text)
    assert loaded.spec.cylinders["galley"].diameter.value == 12
    assert 'did you mean "12 in" (304.8 mm)?' in loaded.cautions[0]


def test_an_inch_number_out_of_range_is_told_so(mistakes):
    (line,) = mistakes(spec(seat="draft: 4").replace("depth: 36", "depth: 1.5"))
    assert "did you mean 1.5 in (38.1 mm)?" in line


def test_faults_found_later_get_their_lines_in_order(reads, good):
    loaded = reads(good)
    later = Fault(("cradles", "seat block", "seats", "galley", "depth"), 36, "less", "the block is 30 high")
    no_mark = Fault(("cradles", "seat block", "seats", "galley", "limber", "bore"), 20, "less", "no room")
    sooner = Fault(("cylinders", "galley"), {"a": 1}, "smaller", "so")
    error = load.located(loaded, SpecFault([later, no_mark, sooner]))
    assert isinstance(error, SpecError)
    assert error.lines == (
        "spec.yaml:3:13: cylinders.galley = {a: 1}, allowed smaller, because so",
        "spec.yaml:5:60: cradles.seat block.seats.galley.limber.bore = 20, allowed less, because no room",
        "spec.yaml:5:69: cradles.seat block.seats.galley.depth = 36, allowed less, because the block is 30 high")
    assert load.locate(loaded.marks, later) == error.lines[2]
