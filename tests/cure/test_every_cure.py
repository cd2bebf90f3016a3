"""Every kind of finding that offers a cure: a spec in which it fails, and the cure that makes it hold.

Nothing is taken from the checks but whether the finding still fails: the cured spec goes through the whole chain again.
That the kinds below are all the kinds there are is read from the source of the checks.
"""

import ast
import copy
import re
from pathlib import Path

import pytest

from moldplan.check import judge as judging
from moldplan.cut import cutting

BOTTLE = {"diameter": 100, "height": 200, "knuckle_radius": 20, "valve": {"diameter": 40, "height": 60},
          "full_mass": 5, "contents": "lp gas"}
SEAT = {"depth": 36, "clearance_per_side": 4, "draft": 4}
LOCKER = {"box": {"from": [0, 0, 0], "to": [400, 400, 400]}, "lid": {"clear_opening": [300, 300], "corner_radius": 30}}
BASE = {"moldplan": 1, "title": "one seat", "cylinders": {"b": BOTTLE},
        "cradles": {"k": {"block": [200, 200, 60], "seats": {"b": SEAT}}}}
RACK = {"moldplan": 1, "title": "one rack", "cylinders": {"b": {**BOTTLE, "contents": "breathing air", "height": 300}},
        "cradles": {"k": {"block": [320, 250, 20], "chocks": {"b": {"wrap": 120}}}}}
HELD = {"locker": "l"}


def changed(base, *changes):
    """The base with values set at dotted paths."""
    data = copy.deepcopy(base)
    for where, value in changes:
        *way, last = where.split("/")
        here = data
        for step in way:
            here = here.setdefault(step, {})
        here[last] = copy.deepcopy(value)
    return data


SEAT_AT, CHOCK_AT = "cradles/k/seats/b", "cradles/k/chocks/b"
IN_LOCKER = (("lockers", {"l": LOCKER}), ("cradles/k/locker", "l"))
# too shallow for half laps, with slits too tight, and teeth narrower than asked for
FRAMED = changed(
    BASE, ("stock", {"ply": {"kind": "plywood", "thickness": 9, "size": [2440, 1220]}}), (f"{SEAT_AT}/depth", 27),
    (f"{SEAT_AT}/insert", {"stock": "ply", "built": "frames", "frames": {"spacing": 100, "clearance": 0.1}}),
    (f"{SEAT_AT}/limber", {"towards": "aft", "bore": 15}), ("limits", {"frame-tooth": {"least": 25}}))
SHARP = {**BOTTLE, "knuckle_radius": 12}

FAILING = {
    ("draft", "insert"): changed(BASE, (f"{SEAT_AT}/draft", 1)),
    ("clearance", "wall"): changed(BASE, (f"{SEAT_AT}/clearance_per_side", 0)),
    ("clearance", "foot"): changed(BASE, ("cylinders/b", SHARP), (f"{SEAT_AT}/floor_fillet", 15)),
    ("clearance", "neighbour"): changed(
        BASE, ("cradles/k/block", [320, 200, 60]), ("limits", {"neighbour-gap": {"least": 40}}),
        ("cradles/k/seats", {"b": {**SEAT, "at": [90, 100]}, "c": {**SEAT, "cylinder": "b", "at": [222, 100]}})),
    ("clearance", "fingers"): changed(BASE, *IN_LOCKER, ("cradles/k/at", [30, 100]), (f"{SEAT_AT}/at", [70, 100]),
                                      ("limits", {"finger-gap": {"least": 60}})),
    ("clearance", "hand at the valve"): changed(
        BASE, *IN_LOCKER, ("lockers/l/box", {"from": [0, 0, 0], "to": [220, 220, 400]}),
        ("lockers/l/lid", {"clear_opening": [200, 200]})),
    ("clearance", "lid"): changed(BASE, *IN_LOCKER, ("lockers/l/box", {"from": [0, 0, 0], "to": [400, 400, 288]})),
    ("clearance", "head room"): changed(
        BASE, *IN_LOCKER, ("lockers/l/box", {"from": [0, 0, 0], "to": [400, 400, 315]}),
        ("lockers/l/lid", {"clear_opening": [160, 160], "centre": [275, 200]})),
    ("clearance", "valve over its seat"): changed(
        RACK, (f"{CHOCK_AT}/rise", 14), (f"{CHOCK_AT}/limber", 8),
        ("cylinders/b/valve", {"diameter": 130, "height": 60})),
    ("clearance", "lift-out"): changed(
        BASE, *IN_LOCKER, ("lockers/l/lid", {"clear_opening": [104, 104], "centre": [200, 200]})),
    ("clearance", "core beside"): changed(BASE, (f"{SEAT_AT}/at", [66, 100])),
    ("clearance", "core under"): changed(BASE, ("cradles/k/block", [200, 200, 45])),
    ("clearance", "wrap"): changed(RACK, ("limits", {"wrap": {"most": 100}})),
    ("clearance", "arc"): changed(RACK, (f"{CHOCK_AT}/liner", 0), (f"{CHOCK_AT}/clearance", 0.5),
                                  ("cylinders/b/diameter", "100 ± 2")),
    ("clearance", "strap"): changed(RACK, ("limits", {"strap-gap": {"least": 40}}), (f"{CHOCK_AT}/straps", 1),
                                    (f"{CHOCK_AT}/spacing", 90)),
    ("limber", "bore"): changed(BASE, (f"{SEAT_AT}/limber", {"towards": "aft", "bore": 10})),
    ("limber", "fall"): changed(BASE, (f"{SEAT_AT}/limber", {"towards": "aft", "bore": 15, "fall": "1:150"})),
    ("secured", "straps"): changed(BASE, (f"{SEAT_AT}/straps", 0)),
    ("secured", "upright"): changed(BASE, *IN_LOCKER, ("lockers/l/sole", {"fall": "1:5", "towards": "aft"}),
                                    ("cradles/k/sits", "with the sole"), ("cradles/k/block", [200, 200, 100])),
    ("fits", "c"): changed(BASE, ("cylinders/b/or", ["c"]),
                           ("cylinders/c", {**BOTTLE, "diameter": 108})),
    ("stack", "height of the insert"): changed(BASE, (f"{SEAT_AT}/depth", 33),
                                               (f"{SEAT_AT}/limber", {"towards": "aft", "bore": 15})),
    ("dowels", "material round a dowel hole"): changed(  # blind in 9 mm: 3 mm left
        FRAMED, (f"{SEAT_AT}/depth", 36), (f"{SEAT_AT}/insert/built", "discs"),
        (f"{SEAT_AT}/insert/frames/clearance", 0.3), ("limits", {"dowel-wall": {"least": 8}})),
    ("frames", "play in the slits"): FRAMED,
    ("frames", "height left beside a slit"): FRAMED,
    ("frames", "width left beside a slit"): FRAMED,
}


@pytest.mark.parametrize("kind", FAILING, ids="/".join)
def test_the_cure_makes_it_hold_and_breaks_nothing(kind, prove):
    prove(kind, FAILING[kind])


ROOMS = (Path(judging.__file__).parent, Path(cutting.__file__).parent)
PASSED_ON = {"limits.py", "ruled.py"}  # what makes a finding of what a check hands it


def kinds_with_moves():
    """(check, pattern of what) of every finding made with moves, read from the source. A name that is put together is
    a pattern; so is one that is only a name, and then anything goes."""
    found, unread = set(), []
    for file in sorted(path for room in ROOMS for path in room.glob("*.py")):
        tree = ast.parse(file.read_text(encoding="utf-8"))
        for function in (node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)):
            spread = [_words(node) for node in ast.walk(function) if isinstance(node, ast.Dict)]
            for call in (node for node in ast.walk(function) if isinstance(node, ast.Call)):
                said = {word.arg: word.value for word in call.keywords}
                if None in said:  # **what: the words stand in a table of the same function
                    said |= next((words for words in spread if {"check", "what"} <= words.keys()), {})
                if {"check", "what", "moves"} <= said.keys() and isinstance(said["check"], ast.Constant):
                    found.add((said["check"].value, _pattern(said["what"])))
                elif "moves" in said and file.name not in PASSED_ON and _name(call) not in ("replace", "Relevel"):
                    unread.append(f"{file.name}:{call.lineno}")
    assert not unread, f"findings with moves whose check cannot be read: {unread}"
    return found


def _name(call):
    return call.func.attr if isinstance(call.func, ast.Attribute) else getattr(call.func, "id", "")


def _words(table):
    return {key.value: value for key, value in zip(table.keys, table.values, strict=True)
            if isinstance(key, ast.Constant)}


def _pattern(what):
    if isinstance(what, ast.JoinedStr):
        return "".join(re.escape(part.value) if isinstance(part, ast.Constant) else ".+" for part in what.values)
    return re.escape(what.value) if isinstance(what, ast.Constant) else ".+"


def kinds_proved():
    """Keys of the tables FAILING and SPOILT of this file and of its neighbours, read from their source."""
    found = set()
    for file in Path(__file__).parent.glob("test_*.py"):
        for line in ast.parse(file.read_text(encoding="utf-8")).body:
            if isinstance(line, ast.Assign) and getattr(line.targets[0], "id", "") in ("FAILING", "SPOILT"):
                assert isinstance(line.value, ast.Dict)
                found |= {ast.literal_eval(key) for key in line.value.keys}
    return found


def test_no_kind_of_cure_is_left_out():
    kinds, proved = kinds_with_moves(), kinds_proved()
    assert {("clearance", "wall"), ("draft", "insert"), ("secured", "straps"), ("layout", "crown"),
            ("layout", "land\\ to\\ .+"), ("cut", ".+:\\ waste\\ left\\ in\\ an\\ inside\\ corner")} <= kinds
    assert proved >= set(FAILING)
    missing = {(check, what) for check, what in kinds
               if not any(check == one and re.fullmatch(what, named) for one, named in proved)}
    assert missing == set()
