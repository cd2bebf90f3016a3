"""Paper of the 1:1 patterns, in a spec and on the command line: what is taken, and one line for what is not."""

import sys
from types import SimpleNamespace

import pytest

import moldplan
from moldplan import cli
from moldplan.errors import SpecError
from moldplan.spec.load import read_text

BASE = """\
moldplan: 1
title: Galley gas seat
cylinders: {galley: {diameter: 267, height: 430}}
cradles: {b: {block: [400, 400, 80], seats: {galley: {depth: 36, clearance_per_side: 4}}}}
"""


def paper(text):
    return read_text(f"{BASE}paper: {text}\n", "s.yaml").spec.paper


@pytest.mark.parametrize(("text", "drawn"), [
    ("A3", (1, 1)), ("{}", (1, 1)), ("{measured: 49}", (50 / 49, 50 / 49)),
    ("{measured: 49.5 mm, measured_up: 50.5}", (50 / 49.5, 50 / 50.5)),
    ("{measured: 45.46}", (50 / 45.46, 50 / 45.46)), ("{measured: 55.55}", (50 / 55.55, 50 / 55.55))])
def test_a_measured_square_gives_its_correction(text, drawn):
    assert paper(text).correction == pytest.approx(drawn)
    assert all(0.9 <= each <= 1.1 for each in paper(text).correction)


@pytest.mark.parametrize(("text", "where"), [
    ("{measured: 45.4}", "paper.measured = 45.4, allowed 45.46 to 55.55 mm"),
    ("{measured: 55.6}", "paper.measured = 55.6, allowed 45.46 to 55.55 mm"),
    ("{measured_up: 40}", "paper.measured_up = 40, allowed 45.46 to 55.55 mm"),
    ("{measured: 0}", "paper.measured = 0, allowed"), ("{measured: -49}", "paper.measured = -49, allowed"),
    ("{measured: .nan}", "paper.measured"), ("{size: A5}", "paper.size = 'A5', allowed A4, A3, letter, A0 roll"),
    ("{overlap: 3}", "paper.overlap = 3, allowed 4 to 40 mm"),
    ("{of: boards}", "paper.of = 'boards', allowed pieces, sheets, both"),
    ("{margin: 41}", "paper.margin = 41, allowed 0 to 40 mm")])
def test_what_cannot_be_printed_is_one_line(text, where):
    with pytest.raises(SpecError) as caught:
        paper(text)
    (line,) = caught.value.lines
    assert line.startswith("s.yaml:5:")
    assert where in line


@pytest.fixture
def made(monkeypatch, tmp_path):
    """A stand-in for the chain that keeps the spec it was handed; the spec file lies in the current folder."""
    kept = []

    def make(loaded, *, nest, layout, say):
        kept.append(loaded.spec.paper)
        return SimpleNamespace(answer="It fits.", findings=(), cautions=())

    module = SimpleNamespace(make=make, write=lambda plan, out: out / "spec")
    monkeypatch.setitem(sys.modules, "moldplan.plan", module)
    monkeypatch.setattr(moldplan, "plan", module, raising=False)
    monkeypatch.setattr("moldplan.shape.kernel.kernel", lambda: None)
    monkeypatch.chdir(tmp_path)
    (tmp_path / "spec.yaml").write_text(BASE + "paper: {size: letter, measured: 49, measured_up: 51}\n")
    return kept


@pytest.mark.parametrize(("options", "size", "measured", "up"), [
    ([], "letter", 49, 51), (["--paper", "A3"], "A3", 49, 51), (["--paper", "A0 roll"], "A0 roll", 49, 51),
    (["--measured", "49.5"], "letter", 49.5, None),
    (["--measured", "49.5", "--measured-up", "50.5"], "letter", 49.5, 50.5),
    (["--measured-up", "50"], "letter", 49, 50)])
def test_the_command_line_outranks_the_spec(made, options, size, measured, up):
    assert cli.main(["build", "spec.yaml", *options]) == 0
    assert (made[0].size, made[0].measured, made[0].measured_up) == (size, measured, up)


@pytest.mark.parametrize(("options", "of"), [([], "pieces"), (["--paper-of", "both"], "both"),
                                             (["--paper-of", "sheets", "--paper", "A3"], "sheets")])
def test_whole_sheets_are_printed_where_asked_for(made, options, of):
    assert cli.main(["build", "spec.yaml", *options]) == 0
    assert made[0].of == of


@pytest.mark.parametrize("options", [["--paper-of", "boards"], ["--measured", "40"], ["--measured", "x"],
                                     ["--measured-up", "60"], ["--paper", "A5"], ["--measured", "nan"],
                                     ["--measured", ""]])
def test_a_wrong_option_is_one_line_and_exit_2(made, capsys, options):
    assert cli.main(["build", "spec.yaml", *options]) == 2
    out, err = capsys.readouterr()
    assert out == "" and made == []
    assert len(err.splitlines()) == 1
    assert err.startswith("on the command line: paper.") and "allowed" in err
