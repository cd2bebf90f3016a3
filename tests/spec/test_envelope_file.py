"""A builder's STEP file as a thing below: which files are let in, and what the program says of those that are not.

The good file is written by the kernel (tests/shape/test_below.py measures it); the bad ones by hand.
"""

import hashlib

import pytest

from moldplan import cli
from moldplan.spec import load

SPEC = """\
moldplan: 1
title: Over an engine
soles:
  deck:
    outline: [[0, -500], [1400, -500], [1400, 500], [0, 500]]
    below: {engine: {step: engine.step, at: [400, 0, -300], turn: 30}}
"""
# ISO 10303-21 as far as it goes without a shape
EMPTY = """ISO-10303-21;
HEADER;
FILE_DESCRIPTION((''),'2;1');
FILE_NAME('','2000-01-01T00:00:00',(''),(''),'','','');
FILE_SCHEMA(('AUTOMOTIVE_DESIGN'));
ENDSEC;
DATA;
ENDSEC;
END-ISO-10303-21;
"""


@pytest.fixture
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "spec.yaml").write_text(SPEC, encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize(("content", "says"), [
    ("", "the file is empty"),
    ("An engine, 400 x 300 x 500\n", "does not begin with ISO-10303-21;"),
    (EMPTY.partition("DATA;")[0], "it is cut short"),
    (EMPTY.replace("HEADER;", "An engine."), "it is broken"),
    (EMPTY, "there is no shape in it"),
])
def test_a_file_without_a_body_is_refused_in_one_line(here, capfd, content, says):
    (here / "engine.step").write_text(content, encoding="utf-8")
    assert cli.main(["check", "spec.yaml"]) == 2
    out, err = capfd.readouterr()  # the kernel would write past Python
    (line,) = err.splitlines()
    assert out == ""
    assert line.startswith("spec.yaml:6:")
    assert "soles.deck.below.engine.step = 'engine.step', allowed a" in line
    assert says in line.partition(", because ")[2]


def test_a_file_by_another_ending_is_refused(here):
    (here / "engine.iges").write_text("", encoding="utf-8")
    (here / "spec.yaml").write_text(SPEC.replace("engine.step", "engine.iges"), encoding="utf-8")
    with pytest.raises(load.SpecError, match=r"allowed a \.step or \.stp file"):
        load.read("spec.yaml")


def test_its_bytes_count_in_the_digest_and_stay_with_an_edited_spec(here):
    (here / "engine.step").write_text(EMPTY, encoding="utf-8")
    loaded = load.read("spec.yaml")
    assert loaded.sha256 == hashlib.sha256((SPEC + EMPTY).encode()).hexdigest()
    (here / "engine.step").unlink()
    changed = load.edited(loaded, [load.Edit(("soles", "deck", "fall"), 0.01)])
    assert changed.spec.soles["deck"].below["engine"].content == EMPTY.encode()
    assert changed.sha256 == loaded.sha256
