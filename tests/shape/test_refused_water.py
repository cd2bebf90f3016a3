"""Bad drains, hoses and attitudes through the real command line: exit 2, one line, nothing written. Typed by hand."""

import pytest

from moldplan import cli

BASE = """\
moldplan: 1
title: Bad water
boat:
  waterline: {height: -400, at_x: 0}
  box: {heel: [-10, 10], trim: [-2, 3]}
lockers:
  box:
    box: {from: [0, 0, 0], to: [400, 300, 400]}
    drain: {at: [40, 150], bore: 20, outlet: [-200, 150, -100]}
soles:
  deck:
    outline: [[500, -400], [1400, -400], [1400, 400], [500, 400]]
    scuppers: {low: {at: [560, 300], outlet: [480, 300, -200]}}
"""
DRAIN = "drain: {at: [40, 150], bore: 20, outlet: [-200, 150, -100]}"
HATCH = ("    scuppers: {low: {at: [560, 300]", "    hatches: {h: {centre: [950, 0], clear_opening: [300, 280], "
         "gutter: {width: 40, depth: 22}, lid: {thickness: 22}}}\n    scuppers: {low: {at: [900, 190]")


@pytest.mark.parametrize(("old", "new", "field", "says"), [
    ("[40, 150], bore", "[40, 350], bore", "box.drain.at", "60 mm off the locker's sole, in mid-air"),
    (DRAIN, "drain: {hose: [[0, 0, -50]], outlet: [0, 0, -90]}", "box.drain.hose", "because 1 stands there"),
    (DRAIN, "drain: {hose: [[0, 0, -50], [0, 0, -90]]}", "box.drain.outlet", "a hose leads somewhere"),
    ("outlet: [-200, 150, -100]", "outlet: [200, 150, 100]", "box.drain.outlet", "it lies inside box"),
    ("boat:\n", "boat:\n  outline: [[-500, -900], [2000, -900], [2000, 900], [-500, 900]]\n", "box.drain.outlet",
     "it lies 300 mm inside the hull"),
    (DRAIN, "drain: {joins: deck.low, outlet: [0, 0, -9]}", "box.drain.joins", "`outlet` is given too"),
    (DRAIN, "drain: {joins: deck.hi}", "box.drain.joins", "no drain is called 'deck.hi'"),
    ("outlet: [480, 300, -200]", "joins: deck.low", "low.joins", "run into each other in a ring"),
    (DRAIN, "drain: {flange: 15, bore: 20}", "box.drain.flange", "a flange is wider than its bore"),
    (DRAIN, "vent: {at: [900, 0, 300]}", "box.vent.at", "a vent of the locker would be 500 mm away"),
    (DRAIN, "passages: {hose: {at: [200, -80, 300]}}", "passages.hose.at",
     "a passage of the locker would be 80 mm away"),
    (DRAIN, f"{DRAIN}\n    drains: {{drain: {{at: [60, 60]}}}}", "box.drains", "`drain` of the locker goes by it"),
    ("soles:\n", "cylinders: {c: {diameter: 90, height: 100}}\ncradles: {k: {locker: box, block: [300, 200, 60], "
     "seats: {c: {depth: 30, clearance_per_side: 3}}}}\nsoles:\n", "box.drain.at", "further from k"),
    (DRAIN, "drain: lowst", "box.drain.at", "lowest, or a point such as [400, -120]"),
    ("[-10, 10]", "[-70, 10]", "box.heel.0", "-60 to 60 deg"),
    ("[-10, 10]", "[10, -10]", "box.heel", "from 10 to -10 deg there is no attitude"),
    ("boat:\n", "boat:\n  attitudes: {ashore: {trim: 75}}\n", "ashore.trim", "-60 to 60 deg"),
    ("boat:\n", "boat:\n  attitudes: {ashore: {demand: dry}}\n", "ashore.demand", "fall, no pond, report"),
    ("at: [560, 300]", "at: [300, 300]", "low.at", "its flange leaves the sole"),
    ("at: [560, 300]", "at: [505, 300]", "low.at", "its flange leaves the sole"),
    ("scuppers: {", "scuppers: {too: {at: [600, 310]}, ", "low.at", "at least 58 mm from too"),
    (*HATCH, "low.at", "its flange would lie over the hatch"),
])
def test_it_is_refused_in_one_line(old, new, field, says, tmp_path, capsys):
    assert BASE.count(old) == 1
    file = tmp_path / "bad.yaml"
    file.write_text(BASE.replace(old, new), encoding="utf-8")
    code = cli.main(["build", str(file), "--out", str(tmp_path / "out")])
    err = capsys.readouterr().err
    assert code == 2, err
    line = next(each for each in err.splitlines() if "bad.yaml:" in each)
    assert field in line and says in line and ", allowed " in line and ", because " in line
    assert not (tmp_path / "out").exists()
