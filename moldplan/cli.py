"""The command line: commands, what is said where, exit codes.

In       the arguments.
Out      0 done, nothing fails; 1 done, something fails; 2 the spec or the call is wrong, nothing written; 3 files
         could not be written, or the solid kernel cannot start. Messages for people go to standard error, data
         (--json, schema) to standard output.
Not here geometry, formulas, the chain itself (plan.py), how a finding reads (report/terminal.py).

Everything heavy is imported by the command that needs it: --help must answer at once.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, Any

from moldplan._version import __version__
from moldplan.errors import CallError, KernelError, OutputError, SpecError, SpecFault, on_one_line

if TYPE_CHECKING:
    from moldplan.plan import Plan
    from moldplan.spec.load import Loaded

DONE, FAILS, WRONG, NOT_WRITTEN, INTERRUPTED = 0, 1, 2, 3, 130


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns its exit code. A fault of ours is not caught: it keeps its traceback."""
    sys.stdout, sys.stderr = (stream or open(os.devnull, "w")  # noqa: SIM115 as long as the program
                              for stream in (sys.stdout, sys.stderr))
    try:
        code = _run(argv)
        sys.stdout.flush()
        return code
    except (SpecError, CallError) as error:
        return _failed(error, WRONG)
    except (OutputError, KernelError) as error:
        return _failed(error, NOT_WRITTEN)
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:
        # whoever read our output has gone; what is left in the buffers must not complain on the way out
        _silence()
        return DONE


def _failed(error: Exception, code: int) -> int:
    for line in error.lines if isinstance(error, SpecError) else (str(error),):
        _say(on_one_line(line))
    return code


def _silence() -> None:
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _run(argv: Sequence[str] | None) -> int:
    given = _parser().parse_args(argv)
    command: Callable[[argparse.Namespace], int] = given.run
    return command(given)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="moldplan", description="Plans cradles that hold cylinders, and hatches with their gutters, in "
        "foam-cored boats: checks them before the cut and writes what the bench needs.", allow_abbrev=False,
        epilog="Exit codes: 0 nothing fails, 1 something fails, 2 the spec or the call is wrong, 3 files could not be "
        "written.")
    parser.add_argument("--version", action="version", version=f"moldplan {__version__}")
    commands = parser.add_subparsers(metavar="COMMAND", required=True)
    _add_new(commands)
    check = commands.add_parser("check", help="judge a spec, write nothing", allow_abbrev=False,
                                description="Shapes and checks a spec. Writes no files and lays out no sheets.")
    build = commands.add_parser("build", help="judge a spec and write all its files", allow_abbrev=False,
                                description="Shapes and checks a spec and writes DIR/<spec name>/.")
    for each, run in ((check, _check), (build, _build)):
        each.add_argument("spec", metavar="SPEC", help="the spec, a YAML file")
        each.add_argument("--json", action="store_true", help="put plan.json on standard output")
        each.set_defaults(run=run)
    build.add_argument("--out", metavar="DIR", default="outputs", help="where to write (default: outputs)")
    build.add_argument("--paper", dest="size", metavar="SIZE",
                       help="paper of the 1:1 patterns: A4, A3, letter, A0 roll (default: the spec's, else A4)")
    build.add_argument("--paper-of", dest="of", metavar="WHAT",
                       help="what they show: pieces, sheets, both (default: the spec's, else pieces)")
    build.add_argument("--measured", metavar="MM", help="what the patterns' 50 mm square measures across the printed "
                       "page, and up it unless said: they are drawn larger or smaller to make up for it")
    build.add_argument("--measured-up", metavar="MM", help="what it measures up the page, where that differs")
    schema = commands.add_parser("schema", help="print the JSON Schema of the spec language", allow_abbrev=False,
                                 description="Prints the JSON Schema (2020-12) of the spec language, for editors.")
    schema.set_defaults(run=_schema)
    return parser


def _add_new(commands: Any) -> None:
    from moldplan.spec.starter import CRADLE
    from moldplan.spec.starter_hatch import HATCH
    from moldplan.spec.starter_locker import LOCKER

    new = commands.add_parser("new", help="write a first spec to start from", allow_abbrev=False,
                              description="Writes a commented spec that builds as it stands.")
    kinds = new.add_subparsers(metavar="KIND", required=True)
    for kind, questions, says in (("cradle", CRADLE, "a seat or chocks for one cylinder"),
                                  ("hatch", HATCH, "a hatch with its gutter, lid and mold, in a sole"),
                                  ("locker", LOCKER, "a locker for one cylinder, with drain, vent and outlet")):
        one = kinds.add_parser(kind, help=says, allow_abbrev=False,
                               description=f"Writes a {kind} spec; on a terminal it asks for what is not given.")
        one.add_argument("file", metavar="FILE", nargs="?", default=f"{kind}.yaml",
                         help=f"the file to write, which must not be there yet (default: {kind}.yaml)")
        for question in questions:
            choices = f" ({', '.join(question.choices)})" if question.choices else ""
            default = f"; {question.default} unless given" if question.default else ""
            one.add_argument(question.option, dest=question.name, metavar="TEXT",
                             help=(question.asks + choices + default).replace("%", "%%"))
        one.set_defaults(run=_new, kind=kind)


def _new(given: argparse.Namespace) -> int:
    from moldplan.spec import starter, starter_hatch, starter_locker

    file = FilePath(given.file)
    if os.path.lexists(file):
        raise CallError(f"{file}: there is such a file already, and it stays as it is; give another name")
    questions, written = {"cradle": (starter.CRADLE, starter.cradle),
                          "hatch": (starter_hatch.HATCH, starter_hatch.hatch),
                          "locker": (starter_locker.LOCKER, starter_locker.locker)}[given.kind]
    options = {question.name: getattr(given, question.name) for question in questions}
    text = written(starter.answers(questions, options, _asker()))
    from moldplan.spec.load import read_text

    loaded = read_text(text, str(file))
    starter.write(file, text)
    for caution in loaded.cautions:
        _say(f"caution: {caution}")
    _say(f"Wrote {file}. Next: moldplan check {file}")
    return DONE


def _asker() -> Callable[[str], str] | None:
    """Asks on the terminal; None when there is none."""
    if not (sys.stdin and sys.stdin.isatty() and sys.stderr.isatty()):
        return None

    def ask(prompt: str) -> str:
        sys.stderr.write(prompt)
        sys.stderr.flush()
        line = sys.stdin.readline()
        if not line:
            raise CallError("the input ended before everything was answered; nothing was written")
        return line

    return ask


def _schema(given: argparse.Namespace) -> int:
    from moldplan.spec.schema import schema

    _put(schema())
    return DONE


def _check(given: argparse.Namespace) -> int:
    loaded = _loaded(given.spec)
    plan = _made(loaded, nest=False, layout=None)
    return _told(plan, given.json, written=None)


def _build(given: argparse.Namespace) -> int:
    loaded = _on_paper(_loaded(given.spec), given)
    out = FilePath(given.out)
    name = loaded.file.stem
    if not given.out:
        raise CallError("--out '': a folder's name is due")
    if not name.strip(".") or not name.isprintable():
        raise CallError(f"{given.spec}: a plan's folder is called after its spec, and {name!r} names no folder")
    layout = out / name / "sheets" / "layout.json"
    plan = _made(loaded, nest=True, layout=layout if os.path.isfile(layout) else None)
    from moldplan import plan as chain

    written = chain.write(plan, out)
    return _told(plan, given.json, written=written)


def _loaded(path: str) -> Loaded:
    from moldplan.spec.load import read

    return read(path)


def _on_paper(loaded: Loaded, given: argparse.Namespace) -> Loaded:
    """The spec with what was said of paper on the command line, judged as if it stood in it."""
    said = {name: getattr(given, name) for name in ("size", "of", "measured", "measured_up")}
    if not any(value is not None for value in said.values()):
        return loaded
    from moldplan.finding import Edit
    from moldplan.spec.load import edited

    edits = [Edit(("paper", name), value) for name, value in said.items() if value is not None]
    if said["measured"] is not None and said["measured_up"] is None:
        edits.append(Edit(("paper", "measured_up"), None))  # a new measure stands for both ways
    try:
        return edited(loaded, edits)
    except SpecError as error:  # of the options: the spec by itself was good
        rows = [f"paper.{line.partition('paper.')[2]}" for line in error.lines]
        raise CallError(f"on the command line: {'; '.join(rows)}") from None


def _made(loaded: Loaded, *, nest: bool, layout: FilePath | None) -> Plan:
    """The chain on a spec; what shows only when parts meet comes back with its lines."""
    from moldplan.shape.kernel import kernel
    from moldplan.spec.load import located

    kernel()
    from moldplan import plan

    progress = _Progress()
    try:
        return plan.make(loaded, nest=nest, layout=layout, say=progress.say)
    except SpecFault as fault:
        raise located(loaded, fault) from None
    finally:
        progress.clear()


def _told(plan: Plan, as_json: bool, *, written: FilePath | None) -> int:
    """Say what came out, data first; the exit code."""
    from moldplan.report import terminal

    if as_json:
        _put(plan.as_json())
    for line in terminal.lines(plan, written=written, colour=_colour()):
        _say(line)
    return FAILS if any(finding.verdict == "fails" for finding in plan.findings) else DONE


def _put(data: Any) -> None:
    # bytes, because a pipe's own encoding may not hold ± and °
    text = (json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False) + "\n").encode()
    try:
        sys.stdout.flush()
        sys.stdout.buffer.write(text)
        sys.stdout.buffer.flush()
    except BrokenPipeError:
        raise
    except OSError as trouble:
        _silence()
        raise OutputError(f"standard output: cannot be written ({trouble.strerror or trouble})") from trouble


def _say(line: str) -> None:
    print(line, file=sys.stderr)


def _colour() -> bool:
    return sys.stderr.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


class _Progress:
    """One line that is written over while work goes on; silent when standard error is no terminal."""

    def __init__(self) -> None:
        self.on = sys.stderr.isatty() and os.environ.get("TERM") != "dumb"

    def say(self, text: str) -> None:
        if self.on:
            sys.stderr.write(f"\r\x1b[K{text} ...")
            sys.stderr.flush()

    def clear(self) -> None:
        if self.on:
            sys.stderr.write("\r\x1b[K")
            sys.stderr.flush()
