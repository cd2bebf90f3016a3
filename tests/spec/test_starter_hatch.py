"""`new hatch`: the spec it writes is right as it stands, its sum closes, and it is shaped and cut.

Closed forms: lid and squeezed gasket make the landing; whole boards make the landing where the row says so.
"""

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from moldplan import quantity
from moldplan.errors import CallError
from moldplan.spec import starter
from moldplan.spec.load import read_text
from moldplan.spec.starter_hatch import HATCH, hatch


def written(**given):
    return hatch(starter.answers(HATCH, {"length": "500", "width": "450", **given}, None))


def only(text):
    spec = read_text(text, "new.yaml").spec
    ((_, sole),) = spec.soles.items()
    ((_, one),) = sole.hatches.items()
    return spec, sole, one


@settings(max_examples=60, deadline=None)
@given(st.integers(250, 800), st.integers(250, 800), st.sampled_from(["8", "10", "15", "20", "3/4 in", "40"]),
       st.sampled_from(["9", "12", "15", "18", "18.2", "3/4 in", "30"]), st.sampled_from(["5", "10", "19", "20", "40"]),
       st.sampled_from(["", "22", "30", "1 in", "60"]))
@example(length=250, width=250, foam="8", board="3/4 in", free="40", lid="30")  # three boards, a squeeze of 0.32125
@example(length=250, width=250, foam="8", board="18.2", free="19", lid="")  # a lid of thousandths
def test_the_sum_it_writes_closes(length, width, foam, board, free, lid):
    spec, sole, one = only(written(length=str(length), width=str(width), foam_thickness=foam, board_thickness=board,
                                   gasket_free=free, lid_thickness=lid))
    gasket = one.lid.gasket
    assert gasket.free == pytest.approx(quantity.length(free))
    assert 0.27 <= gasket.squeeze <= 0.48
    assert gasket.stop == pytest.approx(gasket.free * (1 - gasket.squeeze), abs=0.001)
    if lid:
        assert one.lid.thickness == pytest.approx(quantity.length(lid), abs=0.0006)
    depth = one.lid.thickness + gasket.free * (1 - gasket.squeeze)
    sheet = quantity.length(board)
    over = depth - round(depth / sheet) * sheet
    packers = spec.stock["board"].packers
    assert abs(over) < 0.002 or any(abs((depth - p) / sheet - round((depth - p) / sheet)) * sheet < 0.002
                                    for p in packers)
    assert one.gutter.width >= 40
    assert 2 * one.lid.latch_force >= gasket.stiffness * 2 * (length + width) * gasket.squeeze
    xs, ys = ([corner.at[k] for corner in sole.outline] for k in (0, 1))
    assert max(xs) - min(xs) >= length + 2 * (25 + 40 + 55 + 30)
    assert max(ys) - min(ys) >= width + 2 * (25 + 40 + 55 + 30)


@pytest.mark.parametrize("given", [
    {}, {"length": "250", "width": "300", "foam_thickness": "10", "board_thickness": "12", "gasket_free": "5",
         "lid_thickness": "15"},
    {"length": "800", "width": "31 in", "foam_thickness": "3/4 in", "board_thickness": "3/4 in",
     "gasket_free": "10", "hinge": "port", "sole_length": "1400"},
])
def test_what_it_writes_is_shaped_and_cut_and_nothing_in_it_fails(given):
    """The kernel's own verdict on every solid (BRepCheck), the cutting room's on every outline, and the program's own
    checks, which others hold to closed forms: no failure is what a newcomer must see."""
    from moldplan.plan import flat

    made = flat(read_text(written(**given), "new.yaml"))
    assert [body.name for body in made.assembly.bodies.values() if not body.solid.isValid()] == []
    assert len(made.cutting.pieces) > 12
    assert [f for f in made.findings if f.verdict == "fails"] == []
    if "lid_thickness" not in given:
        assert not any("packer" in note for piece in made.cutting.pieces for note in piece.notes)


def test_no_line_is_wider_than_a_page_and_every_option_is_commented():
    text = written(name="engine room", foam_thickness="3/4 in")
    assert max(len(line) for line in text.splitlines()) <= 110
    assert text.count("#") > 15
    assert "engine room" in read_text(text, "new.yaml").spec.soles["sole"].hatches


@pytest.mark.parametrize(("given", "says"), [
    ({"sole_width": "600"}, "--sole-width = '600', allowed at least 750 mm"),
    ({"length": "24"}, 'did you mean "24 in" (609.6 mm)?'), ({"hinge": "left"}, "allowed forward, aft, port"),
    ({"gasket_free": "1:5"}, "is a slope"), ({"name": "a/b"}, "reads as a path"),
])
def test_a_wrong_option_says_what_is_allowed(given, says):
    with pytest.raises(CallError) as error:
        written(**given)
    assert says in str(error.value)


def test_the_command_writes_it_and_says_what_is_next(tmp_path, monkeypatch, capsys):
    from moldplan.cli import main

    monkeypatch.chdir(tmp_path)
    assert main(["new", "hatch", "--length", "500", "--width", "450"]) == 0
    assert "Wrote hatch.yaml. Next: moldplan check hatch.yaml" in capsys.readouterr().err
    assert main(["new", "hatch", "--length", "500", "--width", "450"]) == 2
    assert main(["new", "hatch", "other.yaml", "--length", "500"]) == 2
    assert not (tmp_path / "other.yaml").exists()
