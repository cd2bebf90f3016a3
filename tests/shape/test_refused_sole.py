"""Bad soles and hatches through the real command line: exit 2, one line, nothing written. Texts typed by hand."""

import pytest

from moldplan import cli

BASE = """\
moldplan: 1
title: Bad input
soles:
  deck:
    outline: [[0, -500], [1400, -500], [1400, 500], [0, 500]]
    hatches:
      one:
        centre: [400, 0]
        clear_opening: [400, 380]
        gutter: {width: 40, depth: 22, fall: 1:50}
        lid: {thickness: 22, gasket: {free: 10, squeeze: 0.4, stop: 6}}
"""
SWEEP = "pivot: [0, 0], radius: 300, low: -300, high: -200"
LIST = "[[0, -500], [1400, -500], [1400, 500], [0, 500]]"
OPENING = "clear_opening: [400, 380]"
TWO = "      two: {centre: [900, 0], clear_opening: [400, 380], gutter: {width: 40, depth: 22}, lid: {thickness: 22}}\n"


def in_sole(text):
    return ("    hatches:\n", f"    {text}\n    hatches:\n")


def in_hatch(text):
    return (OPENING, f"{OPENING}\n        {text}")


# rebates lie 65, flanges 115 outside an opening; 10 mm of core and 2 more are left between flanges, 1 mm kept in hand
@pytest.mark.parametrize(("old", "new", "field", "says"), [
    ("centre: [400, 0]", "centre: [3000, 0]", "one.centre", "a place 1865 mm further in, such as one at 1072, 0, b"),
    ("centre: [400, 0]", "centre: [400, 250]", "one.centre", "a place 5 mm further in, such as one at 400, 182, bec"),
    ("    hatches:\n", f"    hatches:\n{TWO}", "one.centre", "of two, such as in line one at 400, 0 and two at 1043,"),
    ("    hatches:\n", f"    hatches:\n{TWO}".replace("900", "890"), "one.centre", "cut 40.0 mm into each other"),
    ("[1400, -500], [1400, 500]", "[1400, 500], [1400, -500]", "deck.outline", "crosses itself at 700, 0"),
    (*in_hatch("corner_radius: 200"), "one.corner_radius", "5 to 190, because at most half the shorter side"),
    (*in_hatch("corner_radius: 189"), "one.corner_radius", "5 to 187, or 190, because 2.0 mm of a side are left stra"),
    (OPENING, "clear_opening: [384, 380]\n        corner_radius: 190", "corner_radius", "or 190 with both sides 380"),
    (*in_sole("depth_below: 60"), "one.gutter.depth", "mm less, because its drain would lie deeper than the 60 mm"),
    (*in_hatch("drains: {a: {at: [400, 0]}}"), "drains.a.at", "a point 25 to 65 mm outside the opening"),
    (*in_hatch("drains: {a: aft prt}"), "drains.a.at", "aft port, aft starboard, or a point such as [400, -120]"),
    (*in_hatch("drains: {a: {at: [1, 2, 3]}}"), "drains.a.at", "a list of 2 lengths in mm"),
    (*in_hatch("drains: {a: aft, b: {at: [156, 10]}}"), "drains.b.at", "its flange would lie on that of a"),
    (*in_hatch("drains: {a: {at: aft, bore: 40, flange: 30}}"), "drains.a.flange", "at least 40"),
    # floor at the drain: 40 - (2 x 67.9 - 28) tan 4 = 32.5; less 2 x (0.5 + 3 tan 43 + 6 tan 4) = 25.0
    (*in_hatch("drains: {a: {at: aft, bore: 19, sump: 6}}"), "drains.a.flange", "up to 25, or a gutter at least 60"),
    (*in_hatch("landing_depth: 20"), "one.landing_depth", "the lid is thicker than the rebate it lies in"),
    ("squeeze: 0.4", "squeeze: 0.95", "gasket.squeeze", "allowed 0 to 0.9"),
    ("stop: 6", "stop: 12", "gasket.stop", "less than 10"),
    ("width: 40", "width: 16", "gutter.width", "a strip's flat there must take the 6 mm cutter"),
    ("depth: 22", "depth: 5", "gutter.depth", "its wall is all rounding"),
    (LIST, "[[0, -250], [1000, -250], [1000, 250], [0, 250]]", "one.centre", "5 mm further in, which there is none"),
    (LIST, "[[0, 0], [1400, 0]]", "deck.outline", "a list of 3 to 2000"),
    (*in_sole("outline_from: a.csv"), "deck.outline_from", "one of outline, outline_from"),
    (f"outline: {LIST}", "outline_from: a.csv", "deck.outline_from", "there is no such file"),
    (f"    outline: {LIST}\n", "", "deck.outline", "a sole has an outline"),
    (*in_sole("below: {tank: {from: [0, 0, 0]}}"), "below.tank", "because to is missing"),
    (*in_sole("below: {tank: {from: [0, 0, 0], to: [1, 1, 1], top: [0, 0, 1]}}"), "below.tank", "a part of each"),
    (*in_sole("below: {tank: {from: [0, 0, 0], to: [1, 1, 0]}}"), "below.tank.to", "a box without size"),
    (*in_sole("below: {shaft: {base: [0, 0, 0], top: [0, 0, 0], diameter: 5}}"), "shaft.top", "without length"),
    (*in_sole("below: {tank: {}}"), "below.tank", "a swept sector {sweep}, or a body from a STEP file {step, at"),
    (*in_sole("below: {tank: {from: [0, 0, 0], to: [1, 1, 1], turn: 5}}"), "below.tank.turn", "this beside `step`"),
    (*in_sole(f"below: {{arm: {{sweep: {{{SWEEP}, from: 30, to: 30}}}}}}"), "arm.sweep.to", "sweeps nothing"),
    (*in_sole(f"below: {{arm: {{sweep: {{{SWEEP}, from: 150, to: -150}}}}}}"), "arm.sweep.to", "such as 210, because"),
    (*in_sole(f"below: {{arm: {{sweep: {{{SWEEP}, from: 0, to: 361}}}}}}"), "arm.sweep.to", "up to 360"),
    (*in_sole(f"below: {{arm: {{sweep: {{{SWEEP}, from: 0, to: 9, inner_radius: 300}}}}}}"), "sweep.inner_radius",
     "less than 300"),
    (*in_sole(f"below: {{arm: {{sweep: {{{SWEEP}, from: 0, to: 9, low: -200}}}}}}".replace("low: -300, ", "")),
     "sweep.high", "takes no room"),
    (*in_sole("below: {engine: {step: engine.step}}"), "engine.step", "there is no such file"),
    (*in_sole("below: {engine: {step: ../engine.step}}"), "engine.step", "must not lead out of the folder"),
    ("[0, 500]]", "[0]]", "outline.3", "[x, y], [x, y, radius], or a map"),
    ("[0, 500]]", "[0, port]]", "outline.3.at.1", "cannot be read as a length"),
    ("[0, 500]]", "[0, 9,5]]", "outline.3", "decimals take a point"),
    ("[0, 500]]", "[0, 500], [0, 500]]", "outline.3", "an edge has no length"),
    ("[0, 500]]", "[0, 500, 1200]]", "outline.3", "less than 1000, because the rounding takes more than"),
    ("[0, 500]]", "{at: [0, 500], through: [700, 500]}]", "outline.3.through", "no arc passes"),
    ("[0, 500]]", "{at: [0, 500], through: [700, 900], radius: 30}]", "outline.3", "only corners between two straight"),
    (*in_sole("fittings: {one: {at: [900, 0], flange: 90}}"), "fittings.one", "hatches.one has it"),
    (*in_sole("fittings: {c: {at: [5000, 0], flange: 90}}"), "c.at", "its flange leaves the sole"),
    (*in_sole("fittings: {c: {at: [400, 0], flange: 90}}"), "c.at", "a place clear of one"),
    (*in_sole("fittings: {c: {at: [1000, 0], flange: 90, bolts: 4, bolt_circle: 90}}"), "bolt_circle", "less than 82"),
    (*in_sole("fittings: {c: {at: [1000, 0], flange: 30, bolts: 4, bolt: 10}}"), "bolt_circle", "less than 20"),
    # 12 holes of 10 on a circle of 35 stand 35 sin 15 deg = 9.06 apart; 10 of them 10.8
    (*in_sole("fittings: {c: {at: [1000, 0], flange: 50, bolts: 12, bolt: 10}}"), "c.bolts", "up to 10, because on a"),
    # 20 of core, two skins of 1.2 and a coat of paint under the surface
    (*in_sole("targets: {cock: {at: [900, 0, -15], arm: 600}}"), "cock.at", "under -23, the sole's underside there"),
    (*in_sole("core: fome"), "deck.core", "foam (the nearest)"),
    (*in_hatch("mold_stock: bord"), "mold_stock", "board (the nearest)"),
    (*in_hatch("skin: thick"), "one.skin", "no laminate has that name"),
    ("lid: {", "lid: {core: fome, ", "lid.core", "foam (the nearest)"),
    ("lid: {", "lid: {skin: thick, ", "lid.skin", "no laminate has that name"),
    ("lid: {thickness: 22", "lid: {thickness: 4", "lid.thickness", "leave 1.1 mm for a core"),
    ("lid: {", "lid: {close_out: 195, ", "lid.close_out", "cut back to nothing"),
    (*in_hatch("upstand: 20"), "one.upstand", "less than 6"),
    (*in_hatch("upstand: 5\n        landing: 15"), "gasket.width", "beside the upstand's foot, which takes 2.1 mm"),
    (*in_hatch("upstand: 5\n        landing: 8"), "one.landing", "leaves no flat between its root and the gutter"),
    (OPENING, "clear_opening: [16, 15]", "one.clear_opening", "did you mean 16 x 15 in?"),
    ("width: 40", "width: 1.5", "gutter.width", "did you mean 1.5 in (38.1 mm)?"),
    ("      one:", '      "../x":', "hatches.../x", "a name such as"),
])
def test_it_is_refused_in_one_line_and_nothing_is_written(tmp_path, monkeypatch, capsys, old, new, field, says):
    monkeypatch.chdir(tmp_path)
    assert old in BASE
    (tmp_path / "bad.yaml").write_text(BASE.replace(old, new), encoding="utf-8")
    assert cli.main(["build", "bad.yaml"]) == 2
    out, err = capsys.readouterr()
    (line,) = err.splitlines()
    assert out == ""
    assert line.startswith("bad.yaml:")
    assert field in line.split(" = ")[0]
    assert says in line
    assert ", allowed " in line
    assert ", because " in line
    assert [each.name for each in tmp_path.iterdir()] == ["bad.yaml"]


def test_a_gutter_that_rises_to_its_only_drain_is_refused(tmp_path, monkeypatch, capsys):
    """A sole that falls forward at 1:20 takes more than a gutter's 1:50 aft can give."""
    monkeypatch.chdir(tmp_path)
    text = BASE.replace(*in_sole("fall: 1:20\n    towards: forward")).replace(*in_hatch("drains: {a: aft}"))
    (tmp_path / "bad.yaml").write_text(text, encoding="utf-8")
    assert cli.main(["check", "bad.yaml"]) == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert "one.gutter.fall = '2 %', allowed steeper than the sole's own 5 %" in line
    assert "every run of the gutter would rise to its drain" in line


def test_a_thing_below_by_two_names_in_one_row_of_files_is_refused(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    text = BASE.replace(*in_sole("below: {Tank: {from: [0, 0, 0], to: [9, 9, 9]}}\n    targets: {tank: [0, 0, 0]}"))
    (tmp_path / "bad.yaml").write_text(text.replace("tank: [0, 0, 0]", "tank: {at: [0, 0, -90]}"), encoding="utf-8")
    assert cli.main(["check", "bad.yaml"]) == 2
    assert "below.Tank has it" in capsys.readouterr().err


def test_a_thing_below_named_like_a_hatchs_frame_is_refused(tmp_path, monkeypatch, capsys):
    """The frame of hatch `one` in sole `deck` is the body "deck.one frame"."""
    monkeypatch.chdir(tmp_path)
    text = BASE.replace(*in_sole("below: {One Frame: {from: [0, 0, -900], to: [9, 9, -800]}}"))
    (tmp_path / "bad.yaml").write_text(text, encoding="utf-8")
    assert cli.main(["check", "bad.yaml"]) == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert "comes to the same file" in line
