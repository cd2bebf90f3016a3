"""A spec file -> Spec, or every mistake in it at once, one located line each, in line order.

In       the path of a YAML file.
Out      Loaded: the Spec, the plain data it came from, a mark for every field, cautions, a digest of all files read.
Not here reading YAML (source.py), includes (include.py), outline files (outline_file.py), wording (mistakes.py),
         names (references.py), and what shows only when parts meet (shape/choose.py): that comes back as SpecFault,
         and `located` gives it its lines.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path as FilePath
from typing import Any

from pydantic import ValidationError

from moldplan import quantity
from moldplan.errors import Fault, Path, SpecError, SpecFault, dotted
from moldplan.finding import Edit
from moldplan.quantity import QuantityError, Toleranced, plain
from moldplan.spec import references
from moldplan.spec.envelope_file import with_envelopes
from moldplan.spec.fields import Slot, slot
from moldplan.spec.include import with_includes
from moldplan.spec.mistakes import first_causes, mark_of, of_error, of_fault, value_at
from moldplan.spec.model import Spec
from moldplan.spec.outline_file import key_of, with_outlines
from moldplan.spec.sole import Vertex
from moldplan.spec.source import MOST_LINES, Mark, Mistake, Source, parsed, raise_all, read_source

Marks = Mapping[Path, Mark]


@dataclass(frozen=True)
class Loaded:
    """A spec that holds by itself, with all that is needed to speak about it.

    `data` is plain data after includes; treat it as frozen. `marks` gives the place of every path in it. `sha256` is
    the digest of the file followed by its includes, then its outline files, then its STEP files, each in the order they
    were read.
    """

    file: FilePath
    spec: Spec
    data: dict[str, Any]
    marks: Marks
    cautions: tuple[str, ...]
    sha256: str
    of_the_text: tuple[str, ...] = ()  # those of the cautions that are about the text itself: `edited` keeps them
    outlines: Mapping[str, tuple[dict[str, list[float]], ...]] = field(default_factory=dict)  # corners read from files
    envelopes: Mapping[str, bytes] = field(default_factory=dict)  # STEP files by the names written


def read(path: str | FilePath) -> Loaded:
    """The spec in a file. Raises CallError (no such file) and SpecError (every mistake in it)."""
    file = FilePath(path)
    source = read_source(file, str(path))
    raw = with_includes(source, str(path)) + with_outlines(source, str(path)) + with_envelopes(source)
    digest = hashlib.sha256(raw).hexdigest()
    return _judged(source, digest)


def read_text(text: str, shown_as: str) -> Loaded:
    """The spec in a text that is no file yet. Raises SpecError."""
    raw = text.encode()
    source = parsed(raw, FilePath(shown_as), shown_as)
    raw += with_outlines(source, shown_as) + with_envelopes(source)
    return _judged(source, hashlib.sha256(raw).hexdigest())


def locate(where: Loaded | Marks, fault: Fault) -> str:
    """The one line of a Fault: file, line, field, value, what is allowed, why."""
    return str(of_fault(where.marks if isinstance(where, Loaded) else where, fault))


def located(where: Loaded | Marks, error: SpecFault) -> SpecError:
    """What shape/choose.py found wrong, as located lines in line order."""
    marks = where.marks if isinstance(where, Loaded) else where
    return SpecError(dict.fromkeys(str(each) for each in sorted(of_fault(marks, fault) for fault in error.faults)))


def edited(loaded: Loaded, edits: Iterable[Edit]) -> Loaded:
    """The spec with some fields changed, judged again. Raises SpecError when the changed spec has mistakes.

    A shorthand on the way (`insert: board`) is written out, a missing map is made, a tolerance that stands beside a
    number is kept, and a number goes into a field that refuses bare ones with its unit. `to` None takes a field away.
    """
    data = _copied(loaded.data)
    for edit in edits:
        _set(data, edit.path, edit.to)
    source = Source(loaded.file, b"", data, dict(loaded.marks), cautions=list(loaded.of_the_text),
                    outlines=dict(loaded.outlines), envelopes=dict(loaded.envelopes))
    with_outlines(source, str(loaded.file))
    with_envelopes(source)
    return _judged(source, loaded.sha256)


def _judged(source: Source, digest: str) -> Loaded:
    """Every rule that needs the spec alone; all mistakes at once."""
    mistakes = list(source.mistakes)
    more = 0
    spec: Spec | None = None
    try:
        # aliases only: `from_` and `alternatives` are our names, not the builder's
        spec = Spec.model_validate(source.data, by_alias=True, by_name=False)
    except ValidationError as error:
        errors = first_causes(error.errors(include_url=False), source.halved, source.robbed)
        more = max(0, len(errors) - MOST_LINES)
        mistakes += [of_error(each, source.data, source.marks, source.commas) for each in errors[:MOST_LINES]]
    faults = references.faults(source.data) + references.limit_faults(source.data) + _cut_corners(source)
    mistakes += [of_fault(source.marks, fault) for fault in faults]
    raise_all(_without_echoes(mistakes), more)
    assert spec is not None
    heard = tuple(source.cautions)
    return Loaded(source.file, _with_files(spec, source), source.data, source.marks,
                  (*heard, *_inch_cautions(source)), digest, heard, source.outlines,
                  source.envelopes)


def _with_files(spec: Spec, source: Source) -> Spec:
    """The spec with the corners of its outline files in the place of the files, and its STEP files read."""
    changed = {}
    for name, sole in spec.soles.items():
        update: dict[str, Any] = {}
        if sole.outline_from is not None:
            found = source.outlines[key_of(source.data["soles"][name]["outline_from"])]
            update["outline"] = tuple(Vertex.model_validate(each) for each in found)
        if any(item.step is not None for item in sole.below.values()):
            update["below"] = {key: item if item.step is None else item.holding(source.envelopes[item.step])
                               for key, item in sole.below.items()}
        if update:
            changed[name] = sole.model_copy(update=update)
    return spec.model_copy(update={"soles": {**spec.soles, **changed}}) if changed else spec


def _cut_corners(source: Source) -> list[Fault]:
    """Corners [0, 9,5]: a decimal comma would pass for the radius of the corner."""
    return [Fault(path, value_at(source.data, path), "[x, y] or [x, y, radius], with a blank after every comma",
                  "one comma has a blank after it and one has none; decimals take a point, as in 9.5")
            for path in sorted(source.commas & source.loose, key=str)
            if len(path) == 4 and path[0] == "soles" and path[2] == "outline"]


def _without_echoes(mistakes: list[Mistake]) -> list[Mistake]:
    """One line a field: a second mistake about the same field at the same place says nothing new."""
    first: dict[tuple[Mark, str], Mistake] = {}
    for each in mistakes:
        first.setdefault((each.mark, each.text.split(" = ", 1)[0]), each)
    return list(first.values())


def _inch_cautions(source: Source) -> list[str]:
    """ "did you mean 12 in" for bare numbers that are small for mm and usual for inches."""
    found = []
    for path, value, here in _numbers((), source.data, slot(Spec)):
        least = here.extra("usual_least")
        if least is not None and quantity.looks_like_inches(value, least):
            mark, bare = mark_of(source.marks, path), quantity.toleranced(value).value
            found.append((mark, f"{mark}: {dotted(path)} = {value} is {plain(bare, 4)} mm as it stands; did you mean "
                                f'"{plain(bare, 4)} in" ({plain(bare * quantity.INCH)} mm)?'))
    return [text for _, text in sorted(found)]


def _numbers(path: Path, data: Any, here: Slot) -> Iterator[tuple[Path, Any, Slot]]:
    """Every value written without a unit, with its path and its slot."""
    inside: Iterable[tuple[str | int, Any]] = ()
    if isinstance(data, dict):
        inside = data.items()
    elif isinstance(data, list):
        inside = enumerate(data)
    elif quantity.is_bare(data):
        yield path, data, here
    for step, each in inside:
        inner = here.inside(step)
        if inner is not None:
            yield from _numbers((*path, step), each, inner)


def _copied(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _copied(each) for key, each in value.items()}
    return [_copied(each) for each in value] if isinstance(value, (list, tuple)) else value


def _set(data: dict[str, Any], path: Path, to: Any) -> None:
    """Change one field of plain data in place; raises KeyError for a path the spec does not know (a bug of ours)."""
    here: Slot = slot(Spec)
    holder: Any = data
    for place, step in enumerate(path):
        inner = here.inside(step) or _by_own_name(here, step)
        if inner is None:
            raise KeyError(f"no field {dotted(path)} in a spec")
        key = (inner.info.alias or step) if here.part is not None and inner.info is not None else step
        if place == len(path) - 1:
            _put(holder, key, to, inner)
            return
        holder, here = _entered(holder, key, inner), inner


def _by_own_name(here: Slot, step: str | int) -> Slot | None:
    """`from_` and `alternatives` are how the program calls what the spec calls `from` and `or`."""
    if here.part is None or step not in here.part.model_fields:
        return None
    return here.inside(here.part.model_fields[str(step)].alias or step)


def _entered(holder: Any, key: str | int, inner: Slot) -> Any:
    """What stands at a key, made into a map where the way goes on through it."""
    held = holder[key] if isinstance(key, int) else holder.get(key)
    if not isinstance(held, (dict, list)):
        shorthand = inner.part.SHORTHAND if inner.part else ""
        held = {shorthand: held} if shorthand and held is not None else {}
        holder[key] = held
    return held


def _put(holder: Any, key: str | int, to: Any, inner: Slot) -> None:
    if to is None and isinstance(holder, dict):
        holder.pop(key, None)
        return
    if isinstance(to, (tuple, list)):
        to = _copied(to)
    elif isinstance(to, (int, float)) and not isinstance(to, bool) and inner.kind is not None:
        to = quantity.written(to, inner.kind)
        stood = holder[key] if isinstance(key, int) else holder.get(key)
        if inner.type is Toleranced and (off := _tolerance(stood)):
            to = f"{to} ± {off:.10g}"
    holder[key] = to


def _tolerance(stood: Any) -> float:
    try:
        return quantity.toleranced(stood).tolerance if stood is not None else 0.0
    except QuantityError:
        return 0.0
