"""`new`: the spec it writes is right as it stands, for every size it takes."""

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan import quantity
from moldplan.errors import CallError, OutputError
from moldplan.spec import starter
from moldplan.spec.load import read_text

NEEDED = {"diameter": "267", "height": "430"}


def written(**given):
    return starter.cradle(starter.answers(starter.CRADLE, {**NEEDED, **given}, None))


@settings(max_examples=60, deadline=None)
@given(st.integers(40, 1000), st.integers(60, 3000), st.sampled_from(starter.POSTURES),
st.sampled_from(starter.CONTENTS),
       st.sampled_from(["5", "10", "15", "20", "25.4", "3/4 in", "40"]),
       st.sampled_from(["9", "12", "15", "18", "18.2", "3/4 in"]))
def test_what_it_writes_loads_and_fits(diameter, height, posture, contents, foam, board):
    spec = read_text(written(diameter=str(diameter), height=str(height), posture=posture, contents=contents,
                             foam_thickness=foam, board_thickness=board), "new.yaml").spec
    ((_, cradle),) = spec.cradles.items()
    foam_mm, board_mm = quantity.length(foam), quantity.length(board)
    assert cradle.block[2] / foam_mm == pytest.approx(round(cradle.block[2] / foam_mm), abs=1e-3)
    if posture == "upright":
        seat = cradle.seats["galley"]
        assert seat.depth / board_mm == pytest.approx(round(seat.depth / board_mm), abs=1e-3)
        assert seat.depth < height
        assert cradle.block[2] - seat.depth >= 44 - 1e-3
        assert min(cradle.block[:2]) > diameter + 2 * seat.clearance_per_side + 90
    else:
        assert cradle.block[0] <= 2440
        assert set(cradle.chocks) == {"galley"}


def test_answers_stand_in_the_spec_as_they_were_given():
    text = written(diameter="10 1/2 in ± 1/16 in", height="17 in", mass="35 lb", contents="lp", name='the "big" one: 1')
    spec = read_text(text, "new.yaml").spec
    assert "diameter: 10 1/2 in ± 1/16 in" in text
    cylinder = spec.cylinders['the "big" one: 1']
    assert cylinder.across.value == pytest.approx(266.7)
    assert cylinder.full_mass == pytest.approx(35 * 0.45359237)
    assert (cylinder.contents, spec.units) == ("lp gas", "inch")


def test_no_line_is_wider_than_a_page_and_every_option_is_commented():
    text = written()
    assert max(len(line) for line in text.splitlines()) <= 110
    assert text.count("#") > 15


@pytest.mark.parametrize(("given", "says"), [
    ({"diameter": "12"}, "--diameter = '12', allowed 40 to 1000 mm, because a starter is written for these sizes; "
                         'did you mean "12 in" (304.8 mm)?'),
    ({"diameter": "9,5"}, "decimals take a point"), ({"diameter": "24 lb"}, "lb is a unit of mass"),
    ({"height": "nan"}, "a finite number"), ({"posture": "sideways"}, "--posture = 'sideways', allowed upright, lying"),
    ({"contents": "o"}, "allowed lp gas, breathing air"), ({"name": "../x"}, "reads as a path"),
    ({"foam_thickness": "0"}, "--foam-thickness = '0', allowed 3 to 100 mm"),
    ({"mass": "12 mm"}, "mm is a unit of length"),
])
def test_a_wrong_option_says_what_is_allowed(given, says):
    with pytest.raises(CallError) as error:
        written(**given)
    assert says in str(error.value)


def test_without_a_terminal_the_needed_options_are_named():
    with pytest.raises(CallError, match="new needs --diameter and --height"):
        starter.answers(starter.CRADLE, {}, None)


def test_on_a_terminal_it_asks_again_until_it_can_use_the_answer():
    lines = iter(["", "ten", "267 ± 2", "430", "", "lying", "breathing", "", "", ""])
    asked = []

    def ask(prompt):
        asked.append(prompt)
        return next(lines)

    found = starter.answers(starter.CRADLE, {}, ask)
    assert found == {"name": "galley", "diameter": "267 ± 2", "height": "430", "edge_radius": "", "posture": "lying",
                     "contents": "breathing air", "mass": "", "foam_thickness": "20", "board_thickness": "18"}
    assert "'ten' cannot be read as a length" in asked[2]
    assert asked[5].startswith("Does it stand or lie (upright, lying) [upright]")


def test_what_is_given_is_not_asked_for():
    given = {question.name: question.default or "100" for question in starter.CRADLE}
    assert starter.answers(starter.CRADLE, given, pytest.fail)["height"] == "100"


def test_a_file_that_is_there_stays_as_it_is(tmp_path):
    file = tmp_path / "a.yaml"
    file.write_text("mine")
    with pytest.raises(CallError, match="stays as it is"):
        starter.write(file, "theirs")
    assert file.read_text() == "mine"
    with pytest.raises(OutputError, match="cannot be written"):
        starter.write(tmp_path / "none" / "a.yaml", "x")


@pytest.mark.parametrize("name", ["true", "null", "1e3 x", "a#b", "- x", "é", "galley 2"])
def test_any_name_reads_back(name):
    assert list(read_text(written(name=name), "new.yaml").spec.cylinders) == [name]
    assert json.loads(json.dumps(name)) == name


@pytest.mark.parametrize(("diameter", "height", "posture", "foam", "board"), [
    ("267", "430", "upright", "20", "18"), ("104 ± 1", "600", "lying", "20", "18"), ("40", "60", "upright", "20", "6"),
    ("12 in ± 1/16 in", "17 in", "upright", "3/4 in", "3/4 in"), ("1000", "200", "lying", "10", "7"),
])
def test_what_it_writes_is_shaped_into_sound_bodies(diameter, height, posture, foam, board):
    """The kernel's own verdict on every solid (BRepCheck), through the shapers as they are."""
    from moldplan.shape.assemble import assemble
    from moldplan.shape.choose import resolve

    text = written(diameter=diameter, height=height, posture=posture, foam_thickness=foam, board_thickness=board)
    bodies = assemble(resolve(read_text(text, "new.yaml").spec)).bodies.values()
    assert len(bodies) > 5
    assert [body.name for body in bodies if not body.solid.isValid()] == []


@pytest.mark.parametrize("given", [
    {}, {"edge_radius": "0"}, {"edge_radius": "15"}, {"diameter": "305 ± 3", "height": "400"},
    {"diameter": "120", "height": "300"}, {"diameter": "204", "height": "600", "posture": "lying"},
])
def test_nothing_fails_in_what_it_writes(tmp_path, given):
    """The program's own checks, which others hold to closed forms, say so: exit 0 is what a newcomer must see."""
    from moldplan.cli import main

    file = tmp_path / "new.yaml"
    file.write_text(written(**given), encoding="utf-8")
    assert main(["check", str(file)]) == 0
