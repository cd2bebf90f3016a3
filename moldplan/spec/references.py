"""Names in a spec: fit to be a file's name, and known where one part names another.

In       the plain data of a spec, before or after the model has judged it.
Out      Faults.
Not here limits of a field (model.py), parts that do not meet (shape/choose.py).

It reads plain data and not the Spec, so that a wrong name is reported along with every other mistake.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from moldplan.errors import Fault, Path, dotted
from moldplan.finding import slug
from moldplan.spec.mistakes import nearest
from moldplan.spec.source import MOST_LINES

LONGEST_NAME = 60
_RESERVED = {"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(1, 10))}

# where names are given; limits are named by the handbook and are no parts
NAMED: tuple[Path, ...] = (
    ("cylinders",), ("stock",), ("fabrics",), ("resins",), ("laminates",), ("lockers",), ("cradles",),
    ("cradles", "*", "seats"), ("cradles", "*", "chocks"),
    ("soles",), ("soles", "*", "hatches"), ("soles", "*", "hatches", "*", "drains"), ("soles", "*", "fittings"),
    ("soles", "*", "below"), ("soles", "*", "targets"), ("soles", "*", "scuppers"),
    ("lockers", "*", "passages"), ("lockers", "*", "drains"),
    ("boat", "attitudes"), ("boat", "openings"), ("boat", "ignition"),
)
# tables whose names stand in one row of files and findings: the same name twice would be two things by one name
TOGETHER: tuple[tuple[Path, tuple[str, ...]], ...] = (
    ((), ("cradles", "soles")),
    (("soles", "*"), ("hatches", "fittings", "below", "targets", "scuppers")),
)
# where a name stands -> the table it must be in
NAMES: tuple[tuple[Path, str], ...] = (
    (("cylinders", "*", "or", "*"), "cylinders"),
    (("laminates", "*", "plies", "*"), "fabrics"),
    (("laminates", "*", "resin"), "resins"),
    (("lockers", "*", "core"), "stock"),
    (("cradles", "*", "stock"), "stock"),
    (("cradles", "*", "locker"), "lockers"),
    (("cradles", "*", "skin"), "laminates"),
    (("cradles", "*", "seats", "*", "cylinder"), "cylinders"),
    (("cradles", "*", "seats", "*", "insert"), "stock"),
    (("cradles", "*", "seats", "*", "insert", "stock"), "stock"),
    (("cradles", "*", "chocks", "*", "cylinder"), "cylinders"),
    (("cradles", "*", "chocks", "*", "stock"), "stock"),
    (("cradles", "*", "chocks", "*", "skin"), "laminates"),
    (("soles", "*", "core"), "stock"),
    (("soles", "*", "skin"), "laminates"),
    (("soles", "*", "hatches", "*", "skin"), "laminates"),
    (("soles", "*", "hatches", "*", "mold_stock"), "stock"),
    (("soles", "*", "hatches", "*", "lid", "core"), "stock"),
    (("soles", "*", "hatches", "*", "lid", "skin"), "laminates"),
)
# what holds parts, and the tables of its parts: a part goes by both names, holder.part
PARTS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("cradles", ("seats", "chocks")), ("soles", ("hatches", "fittings", "below", "targets", "scuppers")))
WORDS: tuple[Path, ...] = (("title",), ("revision",), ("limits", "*", "reason"))
UNSEEN = ("Cc", "Cf", "Cs", "Zl", "Zp")
_ONE = {"cylinders": "cylinder", "fabrics": "fabric", "resins": "resin", "stock": "stock", "lockers": "locker",
        "laminates": "laminate"}


def faults(data: Mapping[str, Any]) -> list[Fault]:
    """Every name that is no name, and every name that names nothing."""
    found = [fault for pattern in NAMED for path, named in _at(data, pattern) if isinstance(named, dict)
             for fault in _names(path, named)]
    found += [fault for pattern, tables in TOGETHER for path, part in _at(data, pattern) if isinstance(part, dict)
              for fault in _twice(path, part, tables)]
    found += [*_words(data), *_full_names(data), *_rules(data)]
    tables = {table: known(table, data) for table in {table for _, table in NAMES}}
    given = {table: frozenset(names) for table, names in tables.items()}
    for pattern, table in NAMES:
        found.extend(fault for path, name in _at(data, pattern) if isinstance(name, str)
                     for fault in _known(path, name, table, tables[table], given[table]))
    for part in ("seats", "chocks"):
        for path, entry in _at(data, ("cradles", "*", part, "*")):
            name = str(path[-1])
            if isinstance(entry, dict) and entry.get("cylinder") is None and name not in given["cylinders"]:
                found.append(Fault(
                    (*path, "cylinder"), None, _near(name, tables["cylinders"], len(found)),
                    f"a {part[:-1]} without `cylinder` holds the cylinder of its own name, and no cylinder is called "
                    f"{name!r}"))
    return found


def _words(data: Any) -> Iterator[Fault]:
    """Words that are printed on sheets and drawings, on one line each."""
    for pattern in WORDS:
        for path, text in _at(data, pattern):
            if isinstance(text, str) and any(_unseen(letter) for letter in text):
                yield Fault(path, text, "words on one line", "it holds a line's end or a character that cannot be seen")
            elif isinstance(text, str) and text and not text.strip() and path[0] != "limits":
                yield Fault(path, text, "words on one line", "blanks say nothing")


def _rules(data: Any) -> Iterator[Fault]:
    """`rules:` names published sets that the handbook carries, each once."""
    given = data.get("rules") if isinstance(data, dict) else None
    if not isinstance(given, (list, tuple)) or not given:
        return
    from moldplan.handbook.rules import rule_sets

    sets = rule_sets()
    for place, name in enumerate(given):
        if isinstance(name, str) and name not in sets:
            yield Fault(("rules", place), name, nearest(name, sets), "no set of rules has that name")
        elif name in given[:place]:
            yield Fault(("rules", place), name, "each set once", "it is picked above already")


def _unseen(letter: str) -> bool:
    # the joiners (Cf) are part of how some scripts are spelt
    return letter not in "\u200c\u200d" and unicodedata.category(letter) in UNSEEN


def _full_names(data: Any) -> Iterator[Fault]:
    """Names that differ in their tables and are one when joined: seat `b.c` of cradle `a`, seat `c` of cradle `a.b`."""
    first: dict[str, Path] = {}
    for holders, tables in PARTS:
        for path, holder in _at(data, (holders, "*")):
            # a part in two tables of one holder is a mistake of its own, told elsewhere
            inside = {f"{path[1]}.{name}": (*path, table, str(name)) for table in tables if isinstance(holder, dict)
                      for name in (holder[table] if isinstance(holder.get(table), dict) else ())}
            both = isinstance(holder, dict) and holder.get("hand") == "both"
            for full, one in {str(path[1]): path, **inside}.items():
                for name in (full, f"{full} (port)", f"{full} (starboard)") if both else (full,):
                    other = first.setdefault(slug(unicodedata.normalize("NFC", name)), one)
                    if len(one) > 2 and other[1] != one[1] and slug(str(other[1])) == slug(str(one[1])):
                        continue  # their holders' names are told already
                    if other != one and (other[:-1] != one[:-1] or slug(str(other[-1])) != slug(str(one[-1]))):
                        yield Fault(one, one[-1], "another name",
                                    f"{dotted(other)} comes to the same name, {name!r}, in files and findings")


def known(table: str, data: Mapping[str, Any]) -> tuple[str, ...]:
    """The names of a table: those the spec gives, then those the handbook knows."""
    own = data.get(table)
    return tuple(dict.fromkeys((*(own if isinstance(own, dict) else ()), *_handbook(table))))


def _handbook(table: str) -> tuple[str, ...]:
    from moldplan.handbook import lookup

    if table == "resins":
        densities = lookup.table("densities")
        return tuple(n for n in densities.names() if "resin" in densities.entry(n, "density").meaning)
    return lookup.table(table).names() if table in ("stock", "fabrics", "laminates") else ()


def _at(data: Any, pattern: Path) -> Iterator[tuple[Path, Any]]:
    """Every (path, value) that a pattern meets; `*` stands for any name or place in a list."""
    if not pattern:
        yield (), data
        return
    step, *rest = pattern
    inside: Iterable[tuple[str | int, Any]] = ()
    if isinstance(data, dict):
        inside = data.items() if step == "*" else [(step, data[step])] if step in data else []
    elif isinstance(data, list) and step == "*":
        inside = enumerate(data)
    for name, each in inside:
        for path, value in _at(each, tuple(rest)):
            yield (name, *path), value


def _names(path: Path, named: Mapping[str, Any]) -> Iterator[Fault]:
    by_file: dict[str, str] = {}
    for name in named:
        why = why_no_name(name)
        if why:
            yield Fault((*path, name), name, "a name such as seat block", why)
            continue
        file = slug(unicodedata.normalize("NFC", name))
        if file in by_file:
            yield Fault((*path, name), name, f"a name whose file name is not {file}",
                        f"{by_file[file]!r} gives the same file name")
        by_file.setdefault(file, name)


def _twice(path: Path, part: Mapping[str, Any], tables: Iterable[str]) -> Iterator[Fault]:
    """A name given in two tables that stand together, or one with the same file name."""
    first: dict[str, tuple[str, str]] = {}
    for table in tables:
        named = part.get(table)
        for name in named if isinstance(named, dict) else ():
            file = slug(unicodedata.normalize("NFC", str(name)))
            known_as = first.setdefault(file, (table, str(name)))
            if known_as[0] != table:
                yield Fault((*path, table, name), name, f"a name that no other of {', '.join(tables)} has",
                            f"{'.'.join(known_as)} has it, and files are named after parts")


def why_no_name(name: str) -> str:
    """Why a text cannot be the name of a part; empty when it can."""
    if not name.strip():
        return "an empty name names nothing"
    if len(name) > LONGEST_NAME:
        return f"a name has at most {LONGEST_NAME} characters; this has {len(name)}"
    if "/" in name or "\\" in name or ".." in name:
        return "it reads as a path, and files are named after parts"
    if any(unicodedata.category(each) in UNSEEN for each in name):
        return "it holds a character that cannot be seen"
    if name != name.strip():
        return "it begins or ends with a blank"
    if name[0] == "." or name[-1] == ".":
        return "files are named after parts, and a dot at either end hides or spoils a file name"
    if name.split(".")[0].strip().lower() in _RESERVED:
        return "Windows keeps that file name for itself"
    return "" if re.search(r"[^\W_]", name) else "it has no letter and no digit"


def _near(name: str, names: Iterable[str], told: int) -> str:
    # a spec with hundreds of unknown names is garbled as a whole, and the search for near ones is slow
    return nearest(name, names) if told < MOST_LINES else "a name that is given"


def _known(path: Path, name: str, table: str, names: tuple[str, ...], given: frozenset[str]) -> Iterator[Fault]:
    if name not in given:
        yield Fault(path, name, nearest(name, names), f"no {_ONE[table]} has that name")
    elif table == "cylinders" and path[0] == "cylinders" and path[1] == name:
        yield Fault(path, name, "another cylinder", "a cylinder is no alternative to itself")


def limit_faults(data: Mapping[str, Any]) -> list[Fault]:
    """`limits:` names limits of the handbook; a looser one needs a reason."""
    given = data.get("limits")
    if not isinstance(given, dict) or not given:
        return []
    from moldplan.handbook import lookup

    names = lookup.limit_names()
    found: list[Fault] = []
    for name, entry in given.items():
        if name not in names:
            found.append(Fault(("limits", name), entry, nearest(name, names), "no limit has that name"))
        elif isinstance(entry, dict):
            found.extend(_limit(("limits", name), entry, lookup.limit(name)))
    return found


def _limit(path: Path, entry: Mapping[str, Any], ours: Any) -> Iterator[Fault]:
    mine, other = ("least", "most") if ours.sense == "at_least" else ("most", "least")
    stated = f"{ours.value:g} {ours.unit}"
    if entry.get(other) is not None:
        yield Fault((*path, other), entry[other], f"`{mine}`", f"ours is a {mine} value, {stated}: {ours.meaning}")
    value = entry.get(mine)
    if value is None:
        if entry.get(other) is None:
            yield Fault((*path, mine), None, f"a number in {ours.unit}", f"nothing else is set; ours is {stated}")
        return
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return  # the model says so
    looser = value < ours.value if mine == "least" else value > ours.value
    if looser and not str(entry.get("reason") or "").strip():
        bound = "at least" if mine == "least" else "at most"
        yield Fault((*path, mine), value, f"{bound} {stated}, or a `reason` beside it",
                    f"it is looser than ours: {ours.meaning}")
