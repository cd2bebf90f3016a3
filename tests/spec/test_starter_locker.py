"""`new locker`: what it writes is read, shaped, and holds as it stands."""

import pytest

from moldplan.spec import starter
from moldplan.spec.load import read_text
from moldplan.spec.starter_locker import LOCKER, locker


def written(**given):
    return locker(starter.answers(LOCKER, {"diameter": "267 ± 2", "height": "430", **given}, None))


@pytest.mark.parametrize("given", [
    {"contents": "lp gas"}, {"contents": "breathing air", "side": "starboard", "diameter": "171", "height": "600"},
    {"diameter": "10 1/2 in", "height": "18 in", "foam_thickness": "3/4 in", "board_thickness": "3/4 in"},
])
def test_nothing_fails_in_what_it_writes(tmp_path, given):
    from moldplan.cli import main

    file = tmp_path / "locker.yaml"
    file.write_text(written(**given), encoding="utf-8")
    assert main(["check", str(file)]) == 0


def test_it_lies_on_the_side_asked_for_and_each_line_is_narrow():
    text = written(side="starboard")
    box = read_text(text, "locker.yaml").spec.lockers["locker"].box
    assert max(box.from_[1], box.to[1]) < 0
    assert max(len(line) for line in text.splitlines()) <= 130


def test_the_command_writes_it_and_says_what_is_next(tmp_path, monkeypatch, capsys):
    from moldplan.cli import main

    monkeypatch.chdir(tmp_path)
    assert main(["new", "locker", "--diameter", "300", "--height", "450", "--contents", "lp gas"]) == 0
    assert "Wrote locker.yaml. Next: moldplan check locker.yaml" in capsys.readouterr().err
