"""The command line: exit codes, streams, and one line for every kind of bad file. Expected texts typed by hand.

The chain behind `check` and `build` is played by a stand-in here; the real one runs in tests/whole.
"""

import io
import json
import math
import os
import subprocess
import sys
from dataclasses import dataclass, field
from pathlib import Path
from types import SimpleNamespace

import pytest

import moldplan
from moldplan import cli
from moldplan.errors import Fault, KernelError, OutputError, SpecFault
from moldplan.finding import Finding, Source

ROOT = Path(__file__).parents[1]
GOOD = """\
moldplan: 1
title: Galley gas seat
cylinders: {galley: {diameter: 267 ± 2, height: 430, contents: lp gas}}
cradles:
  seat block: {block: [400, 400, 80], seats: {galley: {depth: 36, clearance_per_side: 4}}}
"""


@dataclass
class Made:
    answer: str
    findings: tuple
    cautions: tuple = ()
    places: dict = field(default_factory=dict)

    def as_json(self):
        return {"answer": self.answer, "spec": {"title": "± 2"}}


def finding(measured):
    return Finding(check="draft", part="block", what="wall draft", measured=measured, limit=3.0, sense="at_least",
                   unit="deg", source=Source(document="a test", how_read="ours"))


@pytest.fixture
def chain(monkeypatch):
    """A stand-in for plan.py; its `measured` and `raises` steer it, `calls` tells how it was called."""
    state = SimpleNamespace(measured=(9.0,), raises=None, write_raises=None, calls=[])

    def make(loaded, *, nest, layout, say):
        state.calls.append(("make", loaded.spec.title, nest, layout))
        say("shaping")
        if state.raises:
            raise state.raises
        return Made("The cylinder fits.", tuple(finding(each) for each in state.measured))

    def write(plan, out):
        state.calls.append(("write", out))
        if state.write_raises:
            raise state.write_raises
        return out / "spec"

    module = SimpleNamespace(make=make, write=write)
    monkeypatch.setitem(sys.modules, "moldplan.plan", module)
    monkeypatch.setattr(moldplan, "plan", module, raising=False)
    monkeypatch.setattr("moldplan.shape.kernel.kernel", lambda: None)
    return state


@pytest.fixture
def here(tmp_path, monkeypatch):
    """The test's own folder as the current one, with a good spec in it."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "spec.yaml").write_text(GOOD, encoding="utf-8")
    return tmp_path


def test_check_says_the_answer_on_standard_error_and_nothing_on_standard_output(here, chain, capsys):
    assert cli.main(["check", "spec.yaml"]) == 0
    out, err = capsys.readouterr()
    assert out == ""
    assert err == "The cylinder fits.\nOf 1 findings: 1 hold.\n"
    assert chain.calls == [("make", "Galley gas seat", False, None)]


def test_something_that_fails_is_exit_1_and_all_is_written(here, chain, capsys):
    chain.measured = (9.0, 1.0)
    assert cli.main(["build", "spec.yaml", "--out", "made"]) == 1
    assert chain.calls == [("make", "Galley gas seat", True, None), ("write", Path("made"))]
    err = capsys.readouterr().err
    assert "fails  block  wall draft  1 deg  at least 3 deg  2 deg short" in err
    assert err.endswith(f"Wrote {Path('made/spec')}. Open {Path('made/spec/report.html')}\n")


def test_an_earlier_layout_is_handed_on(here, chain):
    sheets = here / "outputs" / "spec" / "sheets"
    sheets.mkdir(parents=True)
    (sheets / "layout.json").write_text("{}")
    assert cli.main(["build", "spec.yaml"]) == 0
    assert chain.calls[0][3] == Path("outputs/spec/sheets/layout.json")


def test_json_goes_to_standard_output_as_utf8(here, chain, capsysbinary):
    assert cli.main(["check", "spec.yaml", "--json"]) == 0
    out, err = capsysbinary.readouterr()
    assert json.loads(out.decode("utf-8"))["spec"]["title"] == "± 2"
    assert b"The cylinder fits." in err


def test_parts_that_do_not_meet_are_located_and_exit_2(here, chain, capsys):
    chain.raises = SpecFault([
        Fault(("cradles", "seat block", "seats", "galley", "depth"), 36, "at most 30", "the block ends there"),
        Fault(("cylinders", "galley", "height"), 430, "less", "so")])
    assert cli.main(["build", "spec.yaml"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.splitlines() == [
        "spec.yaml:3:41: cylinders.galley.height = 430, allowed less, because so",
        "spec.yaml:5:56: cradles.seat block.seats.galley.depth = 36, allowed at most 30, because the block ends there"]
    assert [call[0] for call in chain.calls] == ["make"]


@pytest.mark.parametrize(("state", "error"), [
    ("write_raises", OutputError("outputs/spec: holds no plan of ours")),
    ("raises", KernelError("libGL.so.1 is missing"))])
def test_what_cannot_be_written_or_started_is_exit_3(here, chain, capsys, state, error):
    setattr(chain, state, error)
    assert cli.main(["build", "spec.yaml"]) == 3
    assert capsys.readouterr().err == f"{error}\n"


def test_a_fault_of_ours_keeps_its_traceback(here, chain):
    chain.raises = ZeroDivisionError("ours")
    with pytest.raises(ZeroDivisionError):
        cli.main(["check", "spec.yaml"])


def test_an_interrupt_is_quiet(here, chain, capsys):
    chain.raises = KeyboardInterrupt()
    assert cli.main(["check", "spec.yaml"]) == 130
    assert capsys.readouterr() == ("", "")


class Terminal(io.StringIO):
    def isatty(self):
        return True


@pytest.mark.parametrize(("no_colour", "term", "coloured", "progress"), [
    ("", "xterm", True, True), ("1", "xterm", False, True), ("", "dumb", False, False)])
def test_colour_and_progress_are_for_terminals(here, chain, monkeypatch, no_colour, term, coloured, progress):
    monkeypatch.setenv("NO_COLOR", no_colour)
    monkeypatch.setenv("TERM", term)
    stream = Terminal()
    monkeypatch.setattr(sys, "stderr", stream)
    assert cli.main(["check", "spec.yaml"]) == 0
    assert ("\x1b[1mThe cylinder fits." in stream.getvalue()) is coloured
    assert ("shaping ..." in stream.getvalue()) is progress


SEAT = "seats: {galley: {depth: 36, clearance_per_side: 4}}"
BOARD = "moldplan: 1\ntitle: a board\nsoles: {s: {outline: [[0, 0], [400, 0], [400, 400], [0, 400]]}}\n"
# name -> (the file, a fragment of its line)
BAD = {
    "not yaml": ("a: [1, 2", "allowed YAML"),
    "empty": ("", "bad.yaml:1:1: the file = nothing"),
    "only comments": ("# nothing\n", "the file is empty"),
    "a list": ("- 1\n", "the file = a list, allowed a map of fields"),
    "a list where a map is due": (GOOD.replace(f"{{{SEAT}}}", "[1]").replace(SEAT, "seats: [1]"),
                                 "a list stands there"),
    "unknown key": (GOOD.replace("depth", "dept"), "allowed depth (the nearest)"),
    "duplicate key": (GOOD + "title: again\n", "bad.yaml:6:1: title = a second time"),
    "missing field": (GOOD.replace("depth: 36, ", ""), "seats.galley.depth = nothing"),
    "negative": (GOOD.replace("430", "-430"), "height = -430, allowed 10 to 3000 mm"),
    "zero": (GOOD.replace("430", "0"), "height = 0, allowed 10 to 3000 mm"),
    "nan": (GOOD.replace("430", ".nan"), "it must be a finite number"),
    "infinite": (GOOD.replace("430", ".inf"), "it must be a finite number"),
    "infinite by overflow": (GOOD.replace("430", "1e999"), "it must be a finite number"),
    "absurd": (GOOD.replace("430", "1e9"), "allowed 10 to 3000 mm"),
    "absurd block": (GOOD.replace("[400, 400, 80]", "[1e9, 400, 80]"), "block.0 = 1000000000.0, allowed above 0 to"),
    "wrong kind of unit": (GOOD.replace("430", "24 lb"), "lb is a unit of mass"),
    "bare slope": (GOOD.replace("depth: 36", "depth: 36, limber: {towards: aft, fall: 0.02}"),
                   "bare number does not"),
    "decimal comma in a map": (GOOD.replace("depth: 36", "depth: 36,5"), "depth = 36,5, allowed 36.5"),
    "decimal comma in a list": (GOOD.replace("[400, 400, 80]", "[400,5, 400, 80]"), "not a comma"),
    "decimal comma in a text": (GOOD.replace("430", '"430,5"'), "decimals take a point"),
    "two names, one file": (GOOD.replace("cradles:\n", f"cradles:\n  Seat-Block: {{block: [400, 400, 80], {SEAT}}}\n"),
                            "gives the same file name"),
    "cylinder not given": (GOOD.replace("seats: {galley: {", "seats: {tall: {"), "no cylinder is called 'tall'"),
    "cylinder not given by name": (GOOD.replace("depth: 36", "depth: 36, cylinder: gally"),
                                   "allowed galley (the nearest)"),
    "alias bomb": ("a: &a [x, x]\nb: &b [*a, *a]\nc: [*b, *b]\n" + GOOD, "anchors are not kept here"),
    "alias": (GOOD + "cutter: *x\n", "aliases are not followed here"),
    "python tag": (GOOD.replace("title: Galley gas seat", "title: !!python/object/apply:os.system [touch owned]"),
                   "tags are not followed here"),
    "own tag": (GOOD.replace("title: Galley", "title: !x Galley"), "tags are not followed here"),
    "nested brackets": (GOOD + "limits: " + "[" * 10_000 + "]" * 10_000, "up to 40 levels"),
    "open brackets": (GOOD + "limits: " + "[" * 10_000, "up to 40 levels"),
    "include loop": (GOOD + "include: [bad.yaml]\n", "bad.yaml -> bad.yaml is a ring"),
    "missing include": (GOOD + "include: [none.yaml]\n", "there is no such file"),
    "include from above": (GOOD + "include: [../x.yaml]\n", "must not lead out"),
    "path in a name": (GOOD.replace("seat block", "../x"), "it reads as a path"),
    "path in a name of a seat": (GOOD.replace("seats: {galley:", r'seats: {"a\\b":').replace(
        "depth: 36", "depth: 36, cylinder: galley"), "it reads as a path"),
    "tabs": (GOOD.replace("  seat block", "\tseat block"), "a tab stands there; indent with spaces"),
    "comment in a flow value": (GOOD.replace("depth: 36", "depth: 36 #2"), "' #'"),
    "dash for a minus": (GOOD.replace("430", "–430"), "a typographic dash"),
    "times for a list": (GOOD.replace("[400, 400, 80]", "400 × 400 × 80"), "a list of 3 lengths"),
    "number for a key": (GOOD.replace("seats: {galley", "seats: {9"), 'in quotes: "9"'),
    "looser limit": (GOOD + "limits: {draft: {least: 1}}\n", "a `reason`"),
    "unknown limit": (GOOD + "limits: {draught: {least: 4}}\n", "no limit has that name"),
    "not utf-8": (GOOD.encode("latin-1"), "is no UTF-8"),
    "utf-16": (GOOD.encode("utf-16"), "UTF-8"),
    "binary": (b"\x00\x01\x02", "control character"),
    "two documents": (GOOD + "---\na: 1\n", "a spec is one plan"),
    "a sheet wider than the bed both ways": (
        BOARD + "cutter: {bed: [900, 800]}\n",
        "bad.yaml:4:10: cutter.bed = '900 x 800', allowed 1220 mm wide or more, so that a sheet of foam lies between "
        "its sides, because the sheet is 2440 x 1220 mm, 420.0 mm too wide"),
    "a bit too short for the sheet": (
        BOARD + "cutter: {depth: 5}\n", "cutter.depth = 5.0, allowed 20 mm or more, because foam is cut through"),
    "a piece larger than every sheet": (
        BOARD + "stock: {foam: {kind: pvc foam, thickness: 20, size: [300, 600]}}\n",
        "bad.yaml:3:9: soles.s = 's sheet, 400.0 x 400.0 mm', allowed at most 270 x 570 mm, a sheet of foam inside its "
        "edge margin, because it is 130.0 mm too long; large enough: board (18 mm)"),
    "too long": (GOOD + "#" * 1_000_001, "up to 1 MB"),
}


@pytest.mark.parametrize("name", BAD)
def test_a_bad_file_is_told_in_one_line_and_nothing_is_written(name, here, capsys):
    text, fragment = BAD[name]
    (here / "bad.yaml").write_bytes(text if isinstance(text, bytes) else text.encode())
    assert cli.main(["build", "bad.yaml", "--out", "out"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert len(err.splitlines()) == 1, err
    assert err.startswith("bad.yaml:")
    assert fragment in err
    assert sorted(each.name for each in here.iterdir()) == ["bad.yaml", "spec.yaml"]


def test_a_unicode_minus_and_a_vulgar_fraction_are_read(here, chain):
    text = GOOD.replace("430", "16½ in").replace("depth: 36", "depth: 36, turn: −30")
    (here / "spec.yaml").write_text(text, encoding="utf-8")
    assert cli.main(["check", "spec.yaml"]) == 0


def test_a_file_of_50_mb_is_refused(here, capsys):
    with (here / "big.yaml").open("wb") as stream:
        stream.truncate(50_000_000)
    assert cli.main(["check", "big.yaml"]) == 2
    assert capsys.readouterr().err.startswith("big.yaml:1:1: the file = 50.0 MB, allowed up to 1 MB")


@pytest.mark.parametrize("argv", [["check", "none.yaml"], ["check", "."], ["build", "spec.yaml/x"]])
def test_what_is_no_file_is_exit_2(argv, here, capsys):
    assert cli.main(argv) == 2
    assert len(capsys.readouterr().err.splitlines()) == 1


@pytest.mark.parametrize("argv", [
    [], ["bild", "x"], ["check"], ["check", "spec.yaml", "--jsn"], ["new"], ["new", "boat"]])
def test_a_wrong_call_is_exit_2(argv, here, capsys):
    with pytest.raises(SystemExit) as left:
        cli.main(argv)
    assert left.value.code == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "usage: moldplan" in err


def test_new_writes_a_spec_once_and_never_over_a_file(here, capsys, monkeypatch):
    monkeypatch.setattr(sys, "stdin", io.StringIO())
    call = ["new", "cradle", "mine.yaml", "--diameter", "267", "--height", "430"]
    assert cli.main(call) == 0
    first = (here / "mine.yaml").read_bytes()
    assert b"diameter: 267 " in first
    assert cli.main([*call[:-1], "600"]) == 2
    assert (here / "mine.yaml").read_bytes() == first
    assert cli.main(["new", "cradle", "other.yaml"]) == 2
    assert cli.main(["new", "cradle", "no/folder.yaml", *call[3:]]) == 3
    err = capsys.readouterr().err.splitlines()
    assert err[0] == "Wrote mine.yaml. Next: moldplan check mine.yaml"
    assert len(err) == 4
    assert not (here / "other.yaml").exists()


def test_new_asks_on_a_terminal(here, monkeypatch):
    typed = Terminal("bottle\n104\n600\n\nlying\nbreathing air\n\n\n\n")
    monkeypatch.setattr(sys, "stdin", typed)
    said = Terminal()
    monkeypatch.setattr(sys, "stderr", said)
    assert cli.main(["new", "cradle"]) == 0
    assert "Its diameter, over paint and net" in said.getvalue()
    assert "  bottle:" in (here / "cradle.yaml").read_text(encoding="utf-8")
    monkeypatch.setattr(sys, "stdin", Terminal("bottle\n"))
    assert cli.main(["new", "cradle", "second.yaml"]) == 2
    assert not (here / "second.yaml").exists()


def run(*argv, cwd, **options):
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    return subprocess.run([sys.executable, "-m", "moldplan", *argv], cwd=cwd, capture_output=True, env=environment,
                          **options)


def test_the_schema_is_json_on_standard_output(tmp_path):
    done = run("schema", cwd=tmp_path)
    assert (done.returncode, done.stderr) == (0, b"")
    assert json.loads(done.stdout)["$schema"] == "https://json-schema.org/draft/2020-12/schema"


def test_version_and_help(tmp_path):
    assert run("--version", cwd=tmp_path).stdout.decode().split() == ["moldplan", moldplan.__version__]
    text = run("--help", cwd=tmp_path).stdout.decode()
    assert all(command in text for command in ("new", "check", "build", "schema"))


def test_a_reader_that_goes_away_is_no_trouble(tmp_path):
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    with subprocess.Popen([sys.executable, "-m", "moldplan", "schema"], cwd=tmp_path, env=environment,
                          stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        process.stdout.close()
        assert process.stderr.read() == b""
    assert process.returncode == 0


def test_help_and_schema_load_no_more_than_they_need(tmp_path):
    """--help must not load pydantic (0.1 s), and neither it nor schema the kernel or pint."""
    code = ("import sys; from moldplan import cli\ntry:\n    cli.main(sys.argv[1:])\nexcept SystemExit:\n    pass\n"
            "print('loaded', *sorted({name.split('.')[0] for name in sys.modules}), file=sys.stderr)")
    for argv, never in ((["--help"], {"pydantic", "yaml"}), (["schema"], {"cadquery", "pint", "scipy", "shapely"})):
        done = subprocess.run([sys.executable, "-c", code, *argv], cwd=tmp_path, capture_output=True, text=True,
                              env={**os.environ, "PYTHONPATH": str(ROOT)})
        loaded = set(done.stderr.split("loaded", 1)[1].split())
        assert "moldplan" in loaded
        assert not loaded & never


def test_the_public_face_is_lazy_and_whole(here, chain):
    assert moldplan.load("spec.yaml").spec.title == "Galley gas seat"
    assert moldplan.build("spec.yaml", out=None).answer == "The cylinder fits."
    assert [call[0] for call in chain.calls] == ["make"]
    moldplan.build("spec.yaml", out="made")
    assert chain.calls[-1] == ("write", Path("made"))
    with pytest.raises(AttributeError):
        _ = moldplan.nothing


@pytest.mark.parametrize(("shut", "code", "told"), [
    (">&-", 0, ""), (">/dev/full", 3, "standard output: cannot be written"), ("2>&-", 0, "")])
def test_a_stream_that_is_shut_or_full_is_no_traceback(tmp_path, shut, code, told):
    """/dev/full is Linux's device that has no space left."""
    made = subprocess.run(["sh", "-c", f'"{sys.executable}" -m moldplan schema {shut}'], cwd=tmp_path,
                          capture_output=True, text=True, env=os.environ | {"PYTHONPATH": str(ROOT)})
    assert made.returncode == code
    assert told in made.stderr and made.stderr.count("\n") == bool(told)


def test_an_error_stays_on_one_line_and_commands_no_terminal(here, capsys):
    Path("a\nb.yaml").write_text(GOOD.replace("depth", '"\\e[31mdepht"'))
    assert cli.main(["check", "a\nb.yaml"]) == 2
    told = capsys.readouterr().err
    assert told.count("\n") == 2 and "\x1b" not in told and "\\x1b[31mdepht" in told
    Path("a\nb.yaml").write_text(GOOD)
    assert cli.main(["build", "a\nb.yaml"]) == 2
    assert "names no folder" in capsys.readouterr().err
    assert cli.main(["build", "spec.yaml", "--out", ""]) == 2


def test_a_number_that_is_none_fails_and_is_null_in_json():
    told = finding(math.nan).as_json()
    assert told["verdict"] == "fails" and told["measured"] is None and told["margin"] is None
    assert json.loads(json.dumps(told, allow_nan=False)) == told
    assert finding(-math.inf).as_json()["verdict"] == "fails"
