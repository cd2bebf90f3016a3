"""YAML text -> plain data with a line and a column for every field, by the scalar rules of YAML 1.2 core.

In       a file's path and its text.
Out      Source: plain data, the mark of every path, the mistakes and cautions met on the way.
Not here what the fields mean (model.py, load.py), includes (include.py).

YAML is read as a stream of events and built on an own stack: an alias, a tag, a deep nest or a great many nodes is
refused at the moment it is met, so that nothing can blow up. YAML 1.1 would read 1:40 as 100 and `no` as false.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path as FilePath
from typing import Any, Protocol

import yaml

from moldplan.errors import CallError, Path, SpecError, dotted

MOST_BYTES = 1_000_000
MOST_DEPTH = 40
MOST_NODES = 50_000
MOST_LINES = 500

_INT = re.compile(r"[-+]?[0-9]+")
_FLOAT = re.compile(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?")
_WORDS: dict[str, Any] = {
    **dict.fromkeys(("", "~", "null", "Null", "NULL"), None),
    **dict.fromkeys(("true", "True", "TRUE"), True), **dict.fromkeys(("false", "False", "FALSE"), False),
    **dict.fromkeys((".inf", ".Inf", ".INF", "+.inf", "+.Inf", "+.INF"), float("inf")),
    **dict.fromkeys(("-.inf", "-.Inf", "-.INF"), float("-inf")),
    **dict.fromkeys((".nan", ".NaN", ".NAN"), float("nan")),
}


@dataclass(frozen=True, order=True)
class Mark:
    """A place in a file; line and column count from 1. `rank` orders files: the spec itself, then its includes."""

    rank: int
    line: int
    col: int
    file: str = field(compare=False, default="")

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.col}"


@dataclass(frozen=True, order=True)
class Mistake:
    """One mistake with its place and its line of text."""

    mark: Mark
    text: str

    def __str__(self) -> str:
        return f"{self.mark}: {self.text}"


@dataclass
class Source:
    """What one file holds.

    `commas`: lists with a comma between two figures and no blank, as in [9,5]; `loose`: those with one that has a
    blank; `halved`: fields whose value a decimal comma cut in two, as in {depth: 9,5}; `robbed`: maps that lost an
    entry to a wrong key; `outlines`: corners read from files, by what the spec says of the file;
    `envelopes`: STEP files by the names written.
    """

    file: FilePath
    raw: bytes
    data: Any = None
    marks: dict[Path, Mark] = field(default_factory=dict)
    mistakes: list[Mistake] = field(default_factory=list)
    cautions: list[str] = field(default_factory=list)
    commas: set[Path] = field(default_factory=set)
    loose: set[Path] = field(default_factory=set)
    halved: set[Path] = field(default_factory=set)
    robbed: set[Path] = field(default_factory=set)
    nodes: int = 0
    outlines: dict[str, tuple[dict[str, list[float]], ...]] = field(default_factory=dict)
    envelopes: dict[str, bytes] = field(default_factory=dict)


def sentence(field_name: str, value: str, allowed: str, why: str) -> str:
    """The body of every error line."""
    return f"{field_name} = {value}, allowed {allowed}" + (f", because {why}" if why else "")


def display(value: object) -> str:
    """A value as the builder would recognise it, on one line."""
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, Mapping):
        text = "{" + ", ".join(f"{key}: {display(each)}" for key, each in list(value.items())[:6]) + "}"
    elif isinstance(value, (list, tuple)):
        text = "[" + ", ".join(display(each) for each in value[:6]) + "]"
    else:
        text = repr(value)
    return text if len(text) <= 60 else text[:57] + "..."


def raise_all(mistakes: Iterable[Mistake], more: int = 0) -> None:
    """Raise SpecError with the mistakes in line order, each once; nothing when there is none.

    Past MOST_LINES they are counted only, with the `more` that were left off before.
    """
    if lines := list(dict.fromkeys(str(each) for each in sorted(mistakes))):
        more += len(lines[MOST_LINES:])
        raise SpecError(lines[:MOST_LINES] + ([f"and {more} mistakes more"] if more else []))


def read_source(file: FilePath, shown_as: str, rank: int = 0) -> Source:
    """The plain data of one YAML file.

    Raises CallError (no such file, not a file) and SpecError (not YAML, or YAML that is not taken here).
    """
    return parsed(_bytes(file, shown_as, rank), file, shown_as, rank)


def parsed(raw: bytes, file: FilePath, shown_as: str, rank: int = 0) -> Source:
    """The plain data of YAML bytes; raises SpecError."""
    source = Source(file, raw)
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise _refusal(Mark(rank, line, 1, shown_as), "line", "bytes", "UTF-8 text",
                       f"byte {error.start + 1} is no UTF-8; save the file as UTF-8") from None
    _Builder(source, text, shown_as, rank).build()
    return source


def _bytes(file: FilePath, shown_as: str, rank: int) -> bytes:
    try:
        if not file.is_file():
            raise CallError(f"{shown_as}: " + ("not a file, a YAML file is due" if file.exists() else "no such file"))
        with file.open("rb") as stream:
            raw = stream.read(MOST_BYTES + 1)
        size = file.stat().st_size
    except OSError as error:
        raise CallError(f"{shown_as}: cannot be read ({error.strerror or error})") from None
    except ValueError as error:
        raise CallError(f"{shown_as!r}: no file name ({error})") from None
    if len(raw) > MOST_BYTES:
        raise _refusal(Mark(rank, 1, 1, shown_as), "the file", f"{size / 1e6:.1f} MB",
                       f"up to {MOST_BYTES // 1_000_000} MB", "a spec that long is no spec")
    return raw


def _refusal(mark: Mark, name: str, value: str, allowed: str, why: str) -> SpecError:
    return SpecError([f"{mark}: {sentence(name, value, allowed, why)}"])


def scalar(text: str) -> Any:
    """A plain scalar by the YAML 1.2 core rules, without octal and hexadecimal."""
    if text in _WORDS:
        return _WORDS[text]
    if _INT.fullmatch(text):
        return int(text) if len(text) < 20 else float(text)
    return float(text) if _FLOAT.fullmatch(text) else text


class _Spot(Protocol):
    """A mark of the reader, be it written in C or in Python; counts from 0."""

    line: int
    column: int


def _spot(mark: _Spot | None) -> tuple[int, int]:
    """The line and column of an event's mark: an event read from text always has one."""
    assert mark is not None
    return mark.line, mark.column


@dataclass
class _Open:
    """A map or a list that is being filled. `path` is None inside an entry that was refused."""

    into: dict[str, Any] | list[Any]
    path: Path | None
    flow: bool
    key: str | None = None
    key_mark: Mark | None = None
    odd_key: Any = None
    waiting: bool = False
    previous: Any = None
    ended: tuple[int, int] = (-1, -1)


class _Builder:
    """Builds plain data from YAML events."""

    def __init__(self, source: Source, text: str, file: str, rank: int):
        self.source, self.text, self.file, self.rank = source, text, file, rank
        self.lines = text.split("\n")
        self.open: list[_Open] = []
        self.documents = 0
        self.done = False

    def build(self) -> None:
        loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
        try:
            for event in yaml.parse(self.text, Loader=loader):
                self.take(event)
        except yaml.MarkedYAMLError as error:
            raise self.not_yaml(error) from None
        except yaml.reader.ReaderError as error:
            line = self.text[: error.position].count("\n") + 1
            raise _refusal(Mark(self.rank, line, 1, self.file), "line", "text", "printable text",
                           f"character {error.character!r} is a control character") from None
        if not self.done or self.source.data is None:
            raise _refusal(Mark(self.rank, 1, 1, self.file), "the file", "nothing", "a map of fields",
                           "the file is empty")
        if not isinstance(self.source.data, dict):
            found = "a list" if isinstance(self.source.data, list) else display(self.source.data)
            raise _refusal(Mark(self.rank, 1, 1, self.file), "the file", found,
                           "a map of fields, such as `title: Galley seat`", "every value belongs to a named field")

    def take(self, event: yaml.Event) -> None:
        if isinstance(event, yaml.DocumentStartEvent):
            self.documents += 1
            if self.documents > 1:
                raise self.refused(event, "---", "one document", "a spec is one plan")
        elif isinstance(event, (yaml.MappingEndEvent, yaml.SequenceEndEvent)):
            ended = self.open.pop()
            if self.open:
                self.open[-1].ended = _spot(event.end_mark)
                self.open[-1].previous = ended.into
        elif isinstance(event, yaml.NodeEvent):
            self.judge(event)
            self.node(event)

    def judge(self, event: yaml.NodeEvent) -> None:
        """Refuse what has no place in a spec, at the moment it is met."""
        if isinstance(event, yaml.AliasEvent):
            raise self.refused(event, f"*{event.anchor}", "the value itself", "aliases are not followed here")
        if event.anchor is not None:
            raise self.refused(event, f"&{event.anchor}", "the value itself", "anchors are not kept here")
        tag = getattr(event, "tag", None)
        if tag is not None:
            short = str(tag).replace("tag:yaml.org,2002:", "!!")[:40]
            raise self.refused(event, short, "plain values", "tags are not followed here")
        self.source.nodes += 1
        if self.source.nodes > MOST_NODES:
            raise self.refused(event, "a value more", f"up to {MOST_NODES} values", "a spec that long is no spec")
        if not isinstance(event, yaml.ScalarEvent) and len(self.open) >= MOST_DEPTH:
            raise self.refused(event, "one level more", f"up to {MOST_DEPTH} levels", "no field lies that deep")

    def node(self, event: yaml.NodeEvent) -> None:
        mark = self.mark(event.start_mark)
        at = self.open[-1] if self.open else None
        if at is not None and isinstance(at.into, dict) and not at.waiting:
            if not isinstance(event, yaml.ScalarEvent):
                raise self.refused(event, "a map or a list", "text as a key",
                                   "text with { or [ in it is written in quotes")
            self.take_key(at, event, mark)
            return
        value: Any
        if isinstance(event, yaml.ScalarEvent):
            value = scalar(event.value) if event.implicit[0] and event.style in (None, "") else event.value
        else:
            value = {} if isinstance(event, yaml.MappingStartEvent) else []
        path = self.put(at, value, mark, event)
        if isinstance(event, yaml.ScalarEvent):
            self.watch_comment(event, value, path)
        else:
            self.open.append(_Open(value, path, bool(getattr(event, "flow_style", False))))

    def take_key(self, at: _Open, event: yaml.ScalarEvent, mark: Mark) -> None:
        plain = event.implicit[0] and event.style in (None, "")
        key = scalar(event.value) if plain else event.value
        at.waiting, at.key_mark, at.odd_key = True, mark, None
        if isinstance(key, str) and at.path is not None:
            if key not in at.into:
                at.key = key
                return
            first = self.source.marks[(*at.path, key)]
            self.mistake(mark, dotted((*at.path, key)), "a second time", "each key once",
                         f"it stands at line {first.line} already")
        elif at.path is not None:
            at.odd_key = event.value or "nothing"
        at.key = None

    def put(self, at: _Open | None, value: Any, mark: Mark, event: yaml.NodeEvent) -> Path | None:
        """Put a value where it belongs; its path, or None where its key was refused."""
        if at is None:
            self.source.data, self.done = value, True
            self.source.marks[()] = mark
            return ()
        path: Path | None
        if isinstance(at.into, list):
            path = None if at.path is None else (*at.path, len(at.into))
            self.watch_comma(at, value, event)
            at.into.append(value)
        elif at.key is None:
            if at.odd_key is not None:
                self.odd(at, value)
            path = None
        else:
            path = None if at.path is None else (*at.path, at.key)
            at.into[at.key] = value
            mark = at.key_mark or mark
        at.waiting, at.previous = False, value
        at.ended = _spot(event.end_mark)
        if path is not None:
            self.source.marks[path] = mark
        return path

    def odd(self, at: _Open, value: Any) -> None:
        """A key that is no text; in `{depth: 9,5}` it is the 5 after a decimal comma."""
        assert at.key_mark is not None and at.path is not None
        number = isinstance(at.previous, (int, float)) and not isinstance(at.previous, bool)
        if at.flow and value is None and number and re.fullmatch(r"\d+.*", str(at.odd_key)):
            last = next(reversed(at.into), "")
            meant = f"{at.previous}.{at.odd_key}"
            cut = (*at.path, str(last))
            self.source.halved.add(cut)
            self.mistake(self.source.marks[cut], dotted(cut), f"{at.previous},{at.odd_key}", meant,
                         "decimals take a point, and a comma begins the next field")
            return
        self.source.robbed.add(at.path)
        where = dotted(at.path) or "the spec"
        self.mistake(at.key_mark, where, f"{{{at.odd_key}: ...}}", "text as keys",
                     f'a name such as {at.odd_key} is written in quotes: "{at.odd_key}"')

    def watch_comma(self, at: _Open, value: Any, event: yaml.NodeEvent) -> None:
        both = all(isinstance(each, (int, float)) and not isinstance(each, bool) for each in (at.previous, value))
        line, column = _spot(event.start_mark)
        if at.flow and both and at.path is not None:
            tight = at.ended == (line, column - 1)
            (self.source.commas if tight else self.source.loose).add(at.path)

    def watch_comment(self, event: yaml.ScalarEvent, value: Any, path: Path | None) -> None:
        """`title: Locker #2` loses its number: YAML takes it for a comment."""
        if not isinstance(value, str) or event.style not in (None, "") or not path:
            return
        line, column = _spot(event.end_mark)
        lost = re.match(r"\s+#[^\s#].*", self.line_at(line)[column:])
        if lost:
            self.source.cautions.append(
                f"{self.mark(event.start_mark)}: {dotted(path)} = {display(value)}: {lost[0].strip()!r} after it "
                "counts as a comment; write the whole text in quotes if it belongs to it")

    def line_at(self, number: int) -> str:
        # YAML counts a few more line ends than we do, and may stand behind the last line
        return self.lines[number] if number < len(self.lines) else ""

    def mark(self, mark: _Spot | None) -> Mark:
        line, column = _spot(mark)
        return Mark(self.rank, line + 1, column + 1, self.file)

    def mistake(self, mark: Mark, name: str, value: str, allowed: str, why: str) -> None:
        self.source.mistakes.append(Mistake(mark, sentence(name, value, allowed, why)))

    def refused(self, event: yaml.Event, value: str, allowed: str, why: str) -> SpecError:
        at = self.open[-1] if self.open else None
        path: Path = () if at is None or at.path is None else at.path + ((at.key,) if at.key and at.waiting else ())
        name = dotted(path[:6]) + ("..." if len(path) > 6 else "") if path else "the file"
        return _refusal(self.mark(event.start_mark), name, value, allowed, why)

    def not_yaml(self, error: yaml.MarkedYAMLError) -> SpecError:
        mark = error.problem_mark or error.context_mark
        place = self.mark(mark) if mark else Mark(self.rank, 1, 1, self.file)
        line = self.line_at(place.line - 1)
        why = " ".join(filter(None, (error.problem, error.context)))
        first = self.line_at(error.context_mark.line) if error.context_mark else ""
        if "nesting depth" in why:  # libyaml reads ahead, and may meet its own limit before ours
            return _refusal(place, f"line {place.line}", display(line.strip()), f"up to {MOST_DEPTH} levels",
                            "no field lies that deep")
        if "\t" in line[: place.col]:
            why = "a tab stands there; indent with spaces"
        elif " #" in line or " #" in first:
            why += "; all from ' #' on is a comment: text with it is written in quotes"
        elif "mapping values are not allowed" in why:
            why += "; text with ': ' in it is written in quotes"
        return _refusal(place, f"line {place.line}", display(line.strip()), "YAML", why)
