"""The JSON Schema, judged by the jsonschema library (another project's reading of draft 2020-12)."""

from pathlib import Path

import jsonschema
import pytest

from moldplan.spec.load import read_text
from moldplan.spec.schema import schema
from moldplan.spec.source import parsed

ROOT = Path(__file__).parents[2]
SPECS = sorted((ROOT / "specs").glob("*.yaml"))


@pytest.fixture(scope="module")
def validator():
    whole = schema()
    jsonschema.Draft202012Validator.check_schema(whole)
    return jsonschema.Draft202012Validator(whole)


def data_of(text):
    return parsed(text.encode(), Path("a.yaml"), "a.yaml").data


@pytest.mark.parametrize("file", SPECS, ids=[file.name for file in SPECS])
def test_no_worked_example_is_called_wrong(file, validator):
    assert [error.message for error in validator.iter_errors(data_of(file.read_text(encoding="utf-8")))] == []


RICH = """\
moldplan: 1
title: Every way to write it
units: inch
include: [shop.yaml]
cylinders:
  galley: {diameter: 10 1/2 in ± 1/16 in, height: 1 ft 5 in, foot: {diameter: 200, height: 22}, full_mass: 35 lb,
           contents: lp gas, or: [tall], bottom: null}
  tall: {diameter: 267, height: 600}
stock: {ply: {kind: plywood, thickness: 9, size: [2440, 4 ft], density: 34 lb/ft3, packers: [1, 1/16 in]}}
fabrics: {cloth: {areal_weight: 12 oz/yd2}}
laminates: {skin: {plies: [cloth, cloth], fibre_fraction: 0.48}}
lockers: {aft: {box: {from: [0, 0, -250], to: [2 ft, 600, 300]}, sole: {fall: 1:40, towards: port},
                lid: {clear_opening: [420, 380]}}}
cradles:
  one: {block: [400, 400, 80], locker: aft, skin: skin, hand: both,
        seats: {galley: {depth: 36, clearance_per_side: 4, insert: ply, straps: 1, limber: aft, draft: 4 deg}}}
  two: {block: [400, 400, 20],
        chocks: {tall: {wrap: 2 rad, straps: {count: 2, width: 1 in}, stock: ply}}}
soles: {deck: {outline: [[0, 0], [2 ft, 0], [0, 500, 20]], below: {
  tank: {from: [0, 0, -400], to: [9, 9, -300]}, shaft: {base: [0, 0, -500], top: [1 ft, 0, -500], diameter: 30},
  arm: {sweep: {pivot: [100, 0], radius: 400, inner_radius: 2 in, from: 145 deg, to: 215, low: -300, high: -200}}}}}
limits: {draft: {least: 2, reason: waxed}}
"""


def test_every_way_to_write_a_value_is_right_for_both(validator):
    assert [error.message for error in validator.iter_errors(data_of(RICH))] == []
    assert read_text(RICH, "rich.yaml").spec.title == "Every way to write it"


@pytest.mark.parametrize(("old", "new", "at"), [
    ("depth: 36", "dept: 36", ["cradles", "one", "seats", "galley"]),
    ("hand: both", "hand: left", ["cradles", "one", "hand"]),
    ("units: inch", "units: cm", ["units"]), ("height: 600", "height: -600", ["cylinders", "tall", "height"]),
    ("diameter: 267", "diameter: 3", ["cylinders", "tall", "diameter"]), ("moldplan: 1", "moldplan: 2", ["moldplan"]),
    ("fall: 1:40", "fall: 0.02", ["lockers", "aft", "sole", "fall"]),
    ("lp gas", "lpgas", ["cylinders", "galley", "contents"]),
    ("12 oz/yd2", "450", ["fabrics", "cloth", "areal_weight"]), ("title: Every", "titel: Every", []),
    ("[400, 400, 80]", "[400, 400]", ["cradles", "one", "block"]),
    ("straps: 1", "straps: 9", ["cradles", "one", "seats",
                                                                                             "galley", "straps"]),
    ("to: 215", "till: 215", ["soles", "deck", "below", "arm", "sweep"]),
    ("radius: 400", "radius: 0", ["soles", "deck", "below", "arm", "sweep"]),
    ("diameter: 30}", "step: 30}", ["soles", "deck", "below", "shaft", "step"]),
    ("[400, 400, 80]", "[400, 0, 80]", ["cradles", "one", "block", 1]), ("plies: [cloth, cloth]", "plies: []",
                                                                         ["laminates", "skin", "plies"]),
])
def test_what_the_program_refuses_an_editor_marks_too(old, new, at, validator):
    assert RICH.count(old) == 1 or old in ("height: 600",)
    errors = list(validator.iter_errors(data_of(RICH.replace(old, new))))
    assert errors
    assert any(list(error.absolute_path) == at for error in errors), [list(error.absolute_path) for error in errors]


def test_every_field_explains_itself():
    whole = schema()
    parts = [whole, *(part["anyOf"][1] if "anyOf" in part else part for part in whole["$defs"].values())]
    fields = [(name, field) for part in parts for name, field in part["properties"].items()]
    assert len(fields) > 80
    bare = [name for name, field in fields if not field.get("description") or not field.get("markdownDescription")]
    assert bare == []
    strays = {key for _, field in fields for key in field} & {"ge", "gt", "le", "lt", "why", "usual_least", "title"}
    assert strays == set()


def test_a_field_says_unit_range_and_reason():
    depth = schema()["$defs"]["Seat"]["properties"]["depth"]["description"]
    assert depth.startswith("Finished depth, rim to floor [mm]. 3 to 1000 mm, because shallower does not hold. ")
