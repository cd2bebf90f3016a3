"""What the rules picked ask of one quantity, as the limit of a finding; and where documents differ.

In       the Spec (its `rules:`, facts about the boat), a quantity of handbook/rules.csv.
Out      Asked: the strictest figure that may be judged, what the other sets say of it; cautions on differences.
Not here the figures themselves (handbook/rules.csv), measuring.

One finding holds one quantity against the strictest figure of the sets picked, and names that one's document; the
others stand in its note. A set that says nothing of it gives no leave: then ours applies. A remembered figure, a demand
in words and one that depends on a fact not given are told and judged by nobody.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from moldplan.check.limits import Bound
from moldplan.errors import Path
from moldplan.finding import Finding, Move, Source
from moldplan.handbook.rules import OURS, WORDS, YES, Rule, checked, differences, limits_for, side_by_side
from moldplan.spec.model import Spec

Facts = Mapping[str, str | float]


@dataclass(frozen=True, kw_only=True)
class Asked:
    """One quantity: the figure to hold, None with `why` when nothing may be judged; `beside`: what others say."""

    quantity: str
    bound: Bound | None
    rule: Rule
    beside: str
    why: str

    def finding(self, *, check: str, part: str, what: str, measured: float, path: Path, note: str,
                at: Mapping[str, float] | None = None, moves: tuple[Move, ...] = ()) -> Finding:
        """The finding of one measurement, or the one that says why it is told and not judged."""
        said = "; ".join(filter(None, (note, self.beside)))
        if self.bound is None:
            return Finding(check=check, part=part, what=what, measured=round(measured, 6), limit=self._figure,
                           sense=self.rule.sense or "at_least", unit=_unit(self.rule), source=self.rule.source,
                           path=path, at=at or {}, skipped=self.why, note=said)
        made = self.bound.finding(check=check, part=part, what=what, measured=measured, path=path, at=at, note=said,
                                  moves=moves)
        return replace(made, counted=self.rule.unit not in ("mm", "mm/mm", "cm2", "in2"))

    def unjudged(self, *, check: str, part: str, what: str, path: Path, why: str) -> Finding:
        """The finding that says why nothing was measured."""
        return Finding(check=check, part=part, what=what, measured=None, limit=self._figure,
                       sense=self.rule.sense or "at_least", unit=_unit(self.rule), source=_source(self.rule, {}),
                       path=path, skipped=why, note=self.beside)

    @property
    def _figure(self) -> float | None:
        return None if self.rule.unit == WORDS else self.rule.number


def facts_of(spec: Spec, **more: str | float | None) -> dict[str, str | float]:
    """What the spec says of the boat that rules ask for, and more; what is None is not known. Length in m."""
    boat = spec.boat
    told: dict[str, str | float | None] = {} if boat is None else {
        "category": boat.category, "craft": boat.craft, "built": boat.built, "route": boat.route,
        "length": None if boat.length is None else boat.length / 1000}
    return {name: fact for name, fact in {**told, **more}.items() if fact is not None}


def asked(quantity: str, spec: Spec, facts: Facts) -> Asked | None:
    """What is asked of a quantity; None when neither the sets picked nor ours speak of it."""
    picked = limits_for(spec.rules, quantity, facts)
    held = [rule for rule in picked if rule.why_not_judged(facts) is None]
    own = limits_for((OURS,), quantity, facts)
    ours = [] if held else [rule for rule in own if rule.why_not_judged(facts) is None]
    rules = held or ours
    if not rules:
        if not picked:
            return None
        rule = picked[0]
        return Asked(quantity=quantity, bound=None, rule=rule, why=rule.why_not_judged(facts) or "",
                     beside=_beside(rule, picked, facts))
    rule = _strictest(rules)
    beside = _beside(rule, picked, facts)
    if ours and spec.rules and OURS not in spec.rules and not picked:
        beside = "the rules picked say nothing of it, so ours is held"
    bound = Bound(name=quantity, value=rule.number, unit=_unit(rule), sense=rule.sense or "at_least",
                  source=_source(rule, facts), loosened=None)
    return Asked(quantity=quantity, bound=bound, rule=rule, beside=beside, why="")


def in_words(quantities: Iterable[str], spec: Spec, facts: Facts) -> list[Rule]:
    """The demands of the sets picked that are words, of some quantities, as far as they apply."""
    return [rule for quantity in quantities for rule in limits_for(spec.rules, quantity, facts) if rule.unit == WORDS]


def told(rule: Rule, *, check: str, part: str, path: Path) -> Finding:
    """A demand in words, for somebody else to judge."""
    return Finding(check=check, part=part, what=f"{rule.quantity}, {rule.rules}", measured=None, limit=None,
                   sense="at_least", unit="", source=rule.source, path=path,
                   skipped=f"a demand in words: {rule.value} ({rule.meaning})")


def _strictest(rules: Iterable[Rule]) -> Rule:
    return max(rules, key=lambda rule: rule.number if rule.sense == "at_least" else -rule.number)


def _unit(rule: Rule) -> str:
    return "" if rule.unit in (YES, WORDS) else rule.unit


def _source(rule: Rule, facts: Facts) -> Source:
    """Its document; beside a figure of ours the strictest that was published."""
    if rule.rules != OURS:
        return rule.source
    others = [r for r in side_by_side(rule.quantity, facts) if r.rules != OURS and r.unit != WORDS]
    if not others:
        return rule.source
    best = _strictest(others)
    figure = f"{best.value} {best.unit}, " if best.unit != YES else ""
    return replace(rule.source, document=f"our own assumption; strictest published: {figure}{best.source.document}",
                   edition=best.source.edition, clause=best.source.clause)


def _beside(rule: Rule, picked: Iterable[Rule], facts: Facts) -> str:
    """What the other sets picked say of the same, in a phrase."""
    said = []
    for other in picked:
        if other is rule or other.unit == WORDS:
            continue
        why = other.why_not_judged(facts)
        figure = "also asks for it" if other.unit == YES else f"asks for {other.value} {other.unit}"
        said.append(f"{other.source.document} {figure}" + (f" ({why})" if why else ""))
    return "; ".join(said)


def cautions(spec: Spec, topics: Iterable[str], facts: Facts) -> tuple[str, ...]:
    """One line for each quantity, of those that begin with one of the topics, on which documents differ.

    Of the sets picked; with none picked, of all there are.
    """
    starts = tuple(topics)
    if not starts:
        return ()
    sets = checked(spec.rules) if spec.rules else None
    return tuple(
        f"Documents differ on {one.quantity}: "
        + "; ".join(f"{rule.value} {rule.unit} ({rule.source.document}{_how(rule)})" for rule in one.rules)
        for one in differences(sets, facts) if one.quantity.startswith(starts))


def _how(rule: Rule) -> str:
    return "" if rule.source.how_read == "seen" else f", {rule.source.how_read}"
