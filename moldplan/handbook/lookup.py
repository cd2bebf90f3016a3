"""The handbook's tables: one number a row, each with where it comes from and how that was read.

In       the small CSV files beside this module.
Out      Limit (a number to hold a finding against), Entry (a number or text with its source); HandbookError for a
         name, a unit or a number that a table does not carry.
Not here formulas, and the choice of which number a plan uses.

`how_read` says how far to trust a row: seen, second-hand, remembered, practice (common practice, no source), ours
(our own assumption), maths. A remembered figure is a prompt to read the real document, never a verdict by itself.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from importlib import resources
from typing import get_args

from moldplan.errors import MoldplanError
from moldplan.finding import HowRead, Sense, Source

TABLES = ("limits", "densities", "fibre_fraction", "fabrics", "laminates", "stock", "tolerances", "gaps", "gas",
          "freeing_ports", "roughness", "losses", "rain", "emptying_times")
Key = tuple[str, str]


class HandbookError(MoldplanError):
    """A table was asked for something it does not carry; says what it does carry."""


@dataclass(frozen=True, kw_only=True)
class Limit:
    """A number that findings are held against, in `unit`."""

    name: str
    value: float
    unit: str
    sense: Sense
    source: Source
    meaning: str


@dataclass(frozen=True, kw_only=True)
class Entry:
    """One row: a value in `unit` ("text" for words), the range it is usual in where one is known, and its source."""

    name: str
    what: str
    value: str
    unit: str
    low: float | None
    high: float | None
    source: Source
    meaning: str

    @property
    def number(self) -> float:
        """The value as a number; raises HandbookError when the row holds words."""
        if self.unit == "text":
            raise HandbookError(f"{self.name}, {self.what}: {self.value!r} is words, not a number")
        return float(self.value)

    def usual(self, number: float) -> float:
        """The number itself, if it lies in the row's own range; raises HandbookError otherwise, and for NaN."""
        low = -math.inf if self.low is None else self.low
        high = math.inf if self.high is None else self.high
        if not low <= number <= high:
            raise HandbookError(f"{self.name}, {self.what} = {number:g} {self.unit}, outside the table's "
                                f"{low:g} to {high:g} {self.unit}")
        return number


@dataclass(frozen=True)
class Table:
    """One table by (name, what)."""

    title: str
    rows: Mapping[Key, Entry]

    def names(self) -> tuple[str, ...]:
        """The names in the table, each once, in its order."""
        return tuple(dict.fromkeys(name for name, _ in self.rows))

    def has(self, name: str, what: str) -> bool:
        return (name, what) in self.rows

    def entry(self, name: str, what: str) -> Entry:
        """One row; raises HandbookError naming the nearest there is."""
        if (name, what) in self.rows:
            return self.rows[name, what]
        if name not in self.names():
            raise HandbookError(f"the table {self.title} has no {name!r}; {nearest(name, self.names())}")
        there = tuple(w for n, w in self.rows if n == name)
        raise HandbookError(f"the table {self.title} has no {what!r} for {name}; {nearest(what, there)}")

    def number(self, name: str, what: str, *, unit: str) -> float:
        """A number in the unit asked for; raises HandbookError when the row is in another: nothing is converted."""
        found = self.entry(name, what)
        if found.unit != unit:
            raise HandbookError(f"{name}, {what} is in {found.unit}, not in {unit}")
        return found.number

    def text(self, name: str, what: str) -> str:
        """Words; raises HandbookError when the row holds a number."""
        found = self.entry(name, what)
        if found.unit != "text":
            raise HandbookError(f"{name}, {what} is a number in {found.unit}, not words")
        return found.value


def limit(name: str) -> Limit:
    """A limit by name; raises HandbookError naming the nearest there is."""
    limits = _limits()
    if name not in limits:
        raise HandbookError(f"no limit is called {name!r}; {nearest(name, tuple(limits))}")
    return limits[name]


def limit_names() -> tuple[str, ...]:
    """The names of all limits, which are the keys a spec may write under `limits`."""
    return tuple(_limits())


@cache
def table(title: str) -> Table:
    """A table by the name of its file; raises HandbookError naming those there are."""
    if title not in TABLES or title == "limits":
        raise HandbookError(f"no table is called {title!r}; {nearest(title, TABLES[1:])}")
    rows: dict[Key, Entry] = {}
    for line, row in _read(title):
        key = (row["name"], row["what"])
        if key in rows:
            raise HandbookError(f"{title}.csv:{line}: {key[0]}, {key[1]} stands twice")
        low, high = (_number(title, line, row[end]) if row[end] else None for end in ("low", "high"))
        if row["unit"] != "text":
            _number(title, line, row["value"])
        rows[key] = Entry(name=key[0], what=key[1], value=row["value"], unit=row["unit"], low=low, high=high,
                          source=_source(title, line, row), meaning=row["meaning"])
    return Table(title, rows)


@cache
def _limits() -> Mapping[str, Limit]:
    found: dict[str, Limit] = {}
    for line, row in _read("limits"):
        name, sense = row["name"], row["sense"]
        if name in found:
            raise HandbookError(f"limits.csv:{line}: {name} stands twice")
        if sense not in ("at_least", "at_most"):
            raise HandbookError(f"limits.csv:{line}: {name}: sense {sense!r}, allowed at_least or at_most")
        found[name] = Limit(name=name, value=_number("limits", line, row["value"]), unit=row["unit"],
                            sense="at_least" if sense == "at_least" else "at_most",
                            source=_source("limits", line, row), meaning=row["meaning"])
    return found


def _read(title: str) -> list[tuple[int, dict[str, str]]]:
    """The rows of a file with their line numbers; a row of the wrong width is refused."""
    text = resources.files("moldplan.handbook").joinpath(f"{title}.csv").read_text(encoding="utf-8")
    reader = csv.DictReader(text.splitlines(), strict=True)
    rows = []
    for row in reader:
        if None in row or None in row.values():
            raise HandbookError(f"{title}.csv:{reader.line_num}: a row of the wrong width")
        rows.append((reader.line_num, row))
    return rows


def _number(title: str, line: int, text: str) -> float:
    try:
        number = float(text)
    except ValueError:
        number = math.nan
    if not math.isfinite(number):
        raise HandbookError(f"{title}.csv:{line}: {text!r} is no finite number")
    return number


def _source(title: str, line: int, row: Mapping[str, str]) -> Source:
    how: dict[str, HowRead] = {word: word for word in get_args(HowRead) if word != "spec"}
    if row["how_read"] not in how or not row["document"]:
        raise HandbookError(f"{title}.csv:{line}: a row needs its document, and how_read as one of {', '.join(how)}")
    return Source(document=row["document"], edition=row["edition"], clause=row["clause"], how_read=how[row["how_read"]])


def nearest(word: str, there: tuple[str, ...]) -> str:
    """What to tell someone who asked for a word that is not there."""
    near = get_close_matches(word, there, n=1)
    return f"did you mean {near[0]!r}?" if near else f"there are {', '.join(there)}"
