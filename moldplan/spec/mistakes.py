"""A mistake in a field -> one line: where, the field, its value, what is allowed, and why.

In       pydantic's errors, or a Fault with the path of its field; the plain data and the marks.
Out      Mistake.
Not here reading YAML (source.py), which names are known (references.py).
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Mapping
from itertools import islice
from typing import Any, get_args

from moldplan import quantity
from moldplan.errors import Fault, Path, dotted
from moldplan.quantity import INCH, QuantityError, plain
from moldplan.spec.fields import Rule, Slot, SpecPart, slot
from moldplan.spec.model import Spec
from moldplan.spec.source import Mark, Mistake, display, sentence

Marks = Mapping[Path, Mark]
_MISSING = object()


def nearest(word: str, known: Iterable[str]) -> str:
    """ "did you mean" for a word, or the known ones: `x (the nearest), a, b`."""
    names = list(islice(dict.fromkeys(known), 200))
    if not names:
        return "none, none is given"
    close = difflib.get_close_matches(word.lower(), [name.lower() for name in names], n=1, cutoff=0.6)
    near = next((name for name in names if close and name.lower() == close[0]), None)
    rest = [name for name in names if name != near]
    shown = ", ".join(rest[:12]) + (", ..." if len(rest) > 12 else "")
    if near is None:
        return shown
    return f"{near} (the nearest)" + (f", {shown}" if shown else "")


def mark_of(marks: Marks, path: Path) -> Mark:
    """The mark of a path, or of the nearest part of the spec that holds it."""
    while path not in marks and path:
        path = path[:-1]
    return marks.get(path) or Mark(0, 1, 1, "the spec")


def of_fault(marks: Marks, fault: Fault) -> Mistake:
    """A Fault, located."""
    text = sentence(dotted(fault.path) or "the spec", display(fault.value), fault.allowed, fault.why)
    return Mistake(mark_of(marks, fault.path), text)


def slot_at(path: Path) -> Slot | None:
    """The slot of a spec path; None where the spec knows no such place."""
    here: Slot | None = slot(Spec)
    for step in path:
        here = here.inside(step) if here else None
    return here


def value_at(data: Any, path: Path, otherwise: Any = None) -> Any:
    """What stands at a path in plain data."""
    for step in path:
        try:
            data = data[step]
        except (KeyError, IndexError, TypeError):
            return otherwise
    return data


def range_of(here: Slot) -> str:
    """The range of a number in words: "12 to 80 mm", "0.5 % to 20 %"; empty where there is none."""
    low, high, open_ = here.range
    if low is None and high is None:
        return ""
    kind = here.kind
    unit = f" {kind.unit}" if kind and kind.unit else ""
    factor = 1.0
    if kind is quantity.SLOPE:
        unit, factor = " %", 100.0
    elif kind is quantity.AREAL_WEIGHT:
        unit, factor = " g/m2", 1000.0
    least = None if low is None else plain(low * factor, 4)
    most = None if high is None else plain(high * factor, 4)
    if least is None or most is None:
        return (f"at most {most}" if least is None else f"{'more than' if open_ else 'at least'} {least}") + unit
    return f"{'above ' if open_ else ''}{least} to {most}{unit}"


def first_causes(errors: Iterable[Mapping[str, Any]], halved: Iterable[Path],
                 robbed: Iterable[Path]) -> list[Mapping[str, Any]]:
    """pydantic's errors without the echoes of another mistake.

    A field that is missing because its key is misspelt, a value that a decimal comma cut in two, a rule that a part
    breaks only because an entry of it was refused, an entry of a list that is too short: the builder is told the cause
    once.
    """
    errors, halved, robbed = list(errors), set(halved), list(robbed)
    meant = set()
    for error in errors:
        path = tuple(error["loc"])
        owner = slot_at(path[:-1]) if error["type"] == "extra_forbidden" else None
        if owner is not None and owner.part is not None:
            keys = [info.alias or name for name, info in owner.part.model_fields.items()]
            meant |= {(*path[:-1], key) for key in difflib.get_close_matches(str(path[-1]), keys, n=1)}
    lacking = [tuple(error["loc"]) for error in errors if error["type"] == "missing"]
    short = {path[:-1] for path in lacking if path and isinstance(path[-1], int)}

    def echo(path: Path, kind: str, error: Mapping[str, Any]) -> bool:
        if path in halved or (kind == "missing" and path in meant):
            return True
        if kind != "missing" and path[:-1] in short:  # what is wrong with an entry of a list of the wrong length
            return True
        rule = kind == "too_short" or (kind == "value_error" and not isinstance(error["ctx"]["error"], QuantityError))
        return rule and any(each[: len(path)] == path for each in robbed)

    return [error for error in errors if not echo(tuple(error["loc"]), error["type"], error)]


def of_error(error: Mapping[str, Any], data: Any, marks: Marks, commas: Iterable[Path]) -> Mistake:
    """One of pydantic's errors, located and in our words."""
    path: Path = tuple(error["loc"])
    kind = error["type"]
    if kind == "missing" and path and isinstance(path[-1], int):
        path, kind = path[:-1], "too_short"
    here = slot_at(path)
    value = value_at(data, path, _MISSING)
    if value is _MISSING:
        value = None if kind == "missing" else error.get("input")
    fault = _fault(kind, path, value, here, error)
    if kind in ("too_long", "too_short") and path in set(commas):
        fault = Fault(path, value, fault.allowed, fault.why + "; decimals take a point, as in 9.5, not a comma")
    return of_fault(marks, fault)


def _fault(kind: str, path: Path, value: Any, here: Slot | None, error: Mapping[str, Any]) -> Fault:
    if kind == "missing":
        span, meaning = (range_of(here), here.meaning) if here else ("", "")
        allowed = f"{span} ({meaning})" if span and meaning else span or meaning or "a value"
        return Fault(path, None, allowed, "it is needed and has no default")
    if kind == "extra_forbidden":
        return _unknown_key(path, value)
    if here is None:
        return Fault(path, value, "another value", str(error.get("msg", "")))
    if kind == "value_error":
        return _refused(path, value, here, error["ctx"]["error"])
    if kind in ("greater_than", "greater_than_equal", "less_than", "less_than_equal"):
        why = here.extra("why") or here.meaning
        return Fault(path, value, range_of(here), why + _inches(value, here))
    return Fault(path, value, *_of_type(kind, value, here))


def _unknown_key(path: Path, value: Any) -> Fault:
    owner = slot_at(path[:-1])
    keys: list[str] = []
    if owner is not None and owner.part is not None:
        keys = [info.alias or name for name, info in owner.part.model_fields.items()]
    name = _name_of(owner.part) if owner is not None and owner.part is not None else "this part"
    return Fault(path, value, nearest(str(path[-1]), keys), f"{name} has no field {str(path[-1])!r}")


def _name_of(part: type[SpecPart]) -> str:
    name = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", part.__name__).lower()  # SheetSize: a sheet size
    return "a spec" if part is Spec else ("an " if name[0] in "aeiou" else "a ") + name


def _refused(path: Path, value: Any, here: Slot, error: Exception) -> Fault:
    """A QuantityError, or a rule of a model."""
    if isinstance(error, Rule):
        held = value.get(error.field) if isinstance(value, dict) and error.field else value
        return Fault((*path, error.field) if error.field else path, held, error.allowed, error.why)
    if not isinstance(error, QuantityError):
        return Fault(path, value, "a part that keeps its rules", str(error))
    why = error.why or (here.extra("why") or here.meaning) + _inches(value, here)
    span = range_of(here)
    allowed = error.allowed
    if span and span != allowed and here.kind:
        allowed = f"{span}, written as {here.kind.example}"
    return Fault(path, value, allowed, why)


def _inches(value: Any, here: Slot) -> str:
    """ "did you mean 12 in" for a bare number that is out of range in mm and good in inches."""
    low, high, _ = here.range
    if here.kind is not quantity.LENGTH or low is None or high is None or not quantity.is_bare(value):
        return ""
    try:
        bare = quantity.toleranced(value).value
    except QuantityError:
        return ""
    meant = 0 < bare < low <= bare * INCH <= high
    return f"; did you mean {plain(bare, 4)} in ({plain(bare * INCH)} mm)?" if meant else ""


def _of_type(kind: str, value: Any, here: Slot) -> tuple[str, str]:
    """Allowed and why for a value of the wrong type."""
    why = f"it says {here.meaning}" if here.meaning else ""
    if here.words:
        if here.words == ("1",):
            return "1", "this program reads version 1 of the spec language"
        return nearest(str(value), here.words), why
    if kind in ("too_long", "too_short") or (kind.startswith(("tuple", "list")) and not here.part):
        return _list_words(here), _standing(value)
    if here.part or kind in ("dict_type", "model_type", "model_attributes_type"):
        keys = ", ".join(info.alias or name for name, info in here.part.model_fields.items()) if here.part else ""
        allowed = f"a map with {keys}" if keys else f"a map of names ({here.meaning})"
        return allowed, f"{_found(value)} stands there"
    if kind in ("string_type", "string_too_short", "string_too_long"):
        if isinstance(value, (int, float)) and not isinstance(value, bool):
            return f'text, in quotes: "{value}"', "a bare number is no text"
        most = next((n.max_length for n in here.notes if hasattr(n, "max_length")), None)
        return "text" + (f" of 1 to {most} characters" if most else ""), why or f"{_found(value)} stands there"
    if kind == "finite_number":
        return range_of(here) or "a number", "it must be a finite number"
    if kind.startswith("bool"):
        return "true or false", why
    whole = "a whole number" if kind.startswith("int") else "a number"
    comma = isinstance(value, str) and "," in value
    return " ".join(filter(None, (whole + ("," if range_of(here) else ""), range_of(here)))), (
        "decimals take a point, as in 9.5, not a comma" if comma else why or f"{_found(value)} stands there")


def _list_words(here: Slot) -> str:
    arguments = get_args(here.type)
    if Ellipsis in arguments and slot(arguments[0]).part is not None:
        least, most = (next((getattr(n, f"{end}_length") for n in here.notes if hasattr(n, f"{end}_length")), None)
                       for end in ("min", "max"))
        return f"a list of {least} to {most} ({here.meaning})" if most else f"a list ({here.meaning})"
    if Ellipsis in arguments:
        most = next((n.max_length for n in here.notes if getattr(n, "max_length", None)), None)
        each = slot(arguments[0])
        what = "names" if each.type is str else "points [x, y]" if get_args(each.type) else "lengths"
        return f"a list of {f'1 to {most} ' if most else ''}{what} ({here.meaning})"
    if not arguments:
        return f"a list ({here.meaning})"
    if arguments[0] is str:
        return f"a map of at least one ({here.meaning})"
    example = "[400, 300, 80]" if len(arguments) == 3 else "[400, 300]"
    return f"a list of {len(arguments)} lengths in mm such as {example} ({here.meaning})"


def _found(value: Any) -> str:
    if isinstance(value, dict):
        return "a map"
    if isinstance(value, (list, tuple)):
        return "a list"
    return {type(None): "nothing", bool: "true or false", str: "text"}.get(type(value), "a number")


def _standing(value: Any) -> str:
    """What stands where a list is due: "2 stand there", "text stands there"."""
    if isinstance(value, (list, tuple)):
        return f"{len(value)} {'stands' if len(value) == 1 else 'stand'} there"
    return f"{_found(value)} stands there"
