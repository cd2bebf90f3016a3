"""Published sets of limits for drains, gas lockers and cockpits, each by a plain name, and where they differ.

In       rules.csv beside this module; the names a builder lists under `rules:`, facts about the boat.
Out      Rule: a figure or a demand in words, with when it applies and where it was read; Difference between documents.
Not here formulas (46 CFR 178.450: check/freeing.py), measuring, judging.

A set is a document as we could read it, never the document itself: the builder reads the current edition, and local
rules and a licensed person decide. A remembered figure is shown and never fails a plan.
"""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import get_args

from moldplan.finding import HowRead, Sense, Source
from moldplan.handbook.lookup import HandbookError, nearest

OURS = "ours"
WORDS = "text"  # the unit of a demand in words
YES = "yes"  # the unit of a demand that is met (1) or not (0)

Facts = Mapping[str, str | float]


@dataclass(frozen=True)
class Condition:
    """One fact a rule asks for: `fact` stands in relation `sign` (=, <, <=, >, >=) to one of `values`."""

    fact: str
    sign: str
    values: tuple[str, ...]

    def holds(self, facts: Facts) -> bool | None:
        """Whether it holds; None when the fact is not given. Numbers compare as such, dates as 2000-01-03."""
        if self.fact not in facts:
            return None
        given = facts[self.fact]
        if self.sign == "=":
            return str(given) in self.values
        (text,) = self.values
        here, there = (float(given), float(text)) if isinstance(given, (int, float)) else (given, text)
        return {"<": here < there, "<=": here <= there, ">": here > there, ">=": here >= there}[self.sign]  # type: ignore[operator]

    def __str__(self) -> str:
        return f"{self.fact} {self.sign} {' or '.join(self.values)}" if self.sign != "=" else (
            f"{self.fact} {' or '.join(self.values)}")


@dataclass(frozen=True, kw_only=True)
class Rule:
    """One figure (in `unit`, `sense` at_least or at_most) or demand (`unit` yes: 1 is met; text: words, no sense)."""

    rules: str
    quantity: str
    value: str
    unit: str
    sense: Sense | None
    when: tuple[Condition, ...]
    source: Source
    meaning: str

    @property
    def number(self) -> float:
        """The value as a number; HandbookError when the rule is words."""
        if self.unit == WORDS:
            raise HandbookError(f"{self.rules}, {self.quantity}: {self.value!r} is words, not a number")
        return float(self.value)

    @property
    def applies_when(self) -> str:
        """When it applies, as people read it; "always" without a condition."""
        return " and ".join(str(condition) for condition in self.when) or "always"

    def applies(self, facts: Facts) -> bool | None:
        """Whether it applies; None when that depends on a fact not given."""
        found = [condition.holds(facts) for condition in self.when]
        return False if False in found else None if None in found else True

    def why_not_judged(self, facts: Facts) -> str | None:
        """Why nothing may be held against it, one phrase; None when it may."""
        unknown = [c.fact for c in self.when if c.holds(facts) is None]
        if unknown:
            return f"it depends on what is not given: {', '.join(dict.fromkeys(unknown))}"
        if self.unit == WORDS:
            return "a demand in words"
        if self.source.how_read == "remembered":
            return "a remembered figure: read the document before relying on it"
        return None


@dataclass(frozen=True, kw_only=True)
class Difference:
    """One quantity for which documents give different figures, side by side in the table's order."""

    quantity: str
    unit: str
    rules: tuple[Rule, ...]

    @property
    def strictest(self) -> Rule:
        """The one that asks most: all others are kept with it."""
        return max(self.rules, key=lambda rule: rule.number if rule.sense == "at_least" else -rule.number)


def rule_sets() -> tuple[str, ...]:
    """The names that may stand under `rules:`, in the table's order."""
    return tuple(dict.fromkeys(rule.rules for rule in _rules()))


def checked(rules: Sequence[str]) -> tuple[str, ...]:
    """The sets chosen, ours when none; raises HandbookError naming the nearest there is for an unknown one."""
    for name in rules:
        if name not in rule_sets():
            raise HandbookError(f"no set of rules is called {name!r}; {nearest(name, rule_sets())}")
    return tuple(rules) or (OURS,)


def quantities(rules: Sequence[str] | None = None) -> tuple[str, ...]:
    """What the chosen sets speak of (all of them: None), each once."""
    sets = rule_sets() if rules is None else checked(rules)
    return tuple(dict.fromkeys(rule.quantity for rule in _rules() if rule.rules in sets))


def limits_for(rules: Sequence[str], quantity: str, facts: Facts | None = None) -> tuple[Rule, ...]:
    """Every rule of the chosen sets on a quantity that applies, or may, as far as the facts go; in the sets' order.

    A set that says nothing on it gives nothing: silence is no leave. HandbookError for an unknown set or quantity.
    """
    if quantity not in quantities():
        raise HandbookError(f"no rule speaks of {quantity!r}; {nearest(quantity, quantities())}")
    return tuple(rule for name in checked(rules) for rule in _rules()
                 if (rule.rules, rule.quantity) == (name, quantity) and rule.applies(facts or {}) is not False)


def side_by_side(quantity: str, facts: Facts | None = None) -> tuple[Rule, ...]:
    """What every document there is says on a quantity, ours last."""
    return limits_for(rule_sets(), quantity, facts)


def differences(rules: Sequence[str] | None = None, facts: Facts | None = None) -> tuple[Difference, ...]:
    """The quantities on which documents that apply (all there are: None) give different figures; ours left out."""
    found = []
    for quantity in quantities(rules):
        told = tuple(rule for rule in limits_for(rule_sets() if rules is None else checked(rules), quantity, facts)
                     if rule.unit not in (WORDS, YES) and rule.rules != OURS and rule.applies(facts or {}))
        if len({rule.number for rule in told}) > 1:
            found.append(Difference(quantity=quantity, unit=told[0].unit, rules=told))
    return tuple(found)


@cache
def _rules() -> tuple[Rule, ...]:
    text = resources.files("moldplan.handbook").joinpath("rules.csv").read_text(encoding="utf-8")
    reader = csv.DictReader(text.splitlines(), strict=True)
    found = []
    for row in reader:
        if None in row or None in row.values():
            raise HandbookError(f"rules.csv:{reader.line_num}: a row of the wrong width")
        found.append(_rule(reader.line_num, row))
    return tuple(found)


def _rule(line: int, row: Mapping[str, str]) -> Rule:
    how: dict[str, HowRead] = {word: word for word in get_args(HowRead) if word != "spec"}
    senses: dict[str, Sense | None] = {"at_least": "at_least", "at_most": "at_most", "": None}
    worded = row["unit"] == WORDS
    if not worded and not _is_number(row["value"]):
        raise HandbookError(f"rules.csv:{line}: {row['value']!r} is no finite number")
    if row["sense"] not in senses or (row["sense"] == "") != worded:
        raise HandbookError(f"rules.csv:{line}: sense {row['sense']!r}, allowed at_least or at_most, none for words")
    if row["how_read"] not in how or not row["document"]:
        raise HandbookError(f"rules.csv:{line}: a row needs its document, and how_read as one of {', '.join(how)}")
    source = Source(document=row["document"], edition=row["edition"], clause=row["clause"],
                    how_read=how[row["how_read"]])
    return Rule(rules=row["rules"], quantity=row["quantity"], value=row["value"], unit=row["unit"],
                sense=senses[row["sense"]], when=_conditions(line, row["when"]), source=source, meaning=row["meaning"])


def _conditions(line: int, text: str) -> tuple[Condition, ...]:
    found = []
    for part in filter(None, (piece.strip() for piece in text.split(";"))):
        match = re.fullmatch(r"([a-z ]+?)(<=|>=|=|<|>)(.+)", part)
        if match is None:
            raise HandbookError(f"rules.csv:{line}: {part!r} is no condition such as route=exposed")
        found.append(Condition(match[1], match[2], tuple(match[3].split("|"))))
    return tuple(found)


def _is_number(text: str) -> bool:
    try:
        return math.isfinite(float(text))
    except ValueError:
        return False
