"""A cure for every failing finding: the smallest change of the spec that makes it hold and breaks nothing else.

In       findings with the moves their checks proposed; evaluate(edits) -> all findings of the changed spec, or their
         parts one after the other, each worked out when it is asked for.
Out      the findings, each failing one with its Cure: proved by re-evaluation, or none with the moves that were tried.
Not here shaping or measuring anything: that is behind evaluate().

A move is a first guess and a step. It is tried as guessed, then 1, 2, 4, 8, 16 steps further, and once some number of
steps holds, bisected back to the least that holds. Single moves come first, in the order the check gave them; then
pairs. Findings are compared by id: a cure makes its own no longer fail, and no other begin to.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import combinations
from typing import Any

from moldplan.errors import GeometryError, SpecError, SpecFault, dotted
from moldplan.finding import Cure, Edit, Finding, Move

Part = tuple[Finding, ...]
Evaluate = Callable[[tuple[Edit, ...]], Part | Iterator[Part]]
Say = Callable[[str], None]
STEPS = (0, 1, 2, 4, 8, 16)
EACH = 12  # evaluations for one finding
ALL = 40  # evaluations for all of them


@dataclass(frozen=True)
class Tried:
    """What became of a change: does the finding hold, and which others began to fail; `trouble` when impossible."""

    holds: bool
    broken: tuple[str, ...] = ()
    trouble: str = ""

    @property
    def good(self) -> bool:
        return self.holds and not self.broken and not self.trouble


@dataclass
class _Evaluated:
    """One change as far as it was looked at: its parts still to come, what has been found, what made it impossible."""

    parts: Iterator[Part]
    failing: set[str] = field(default_factory=set)
    trouble: str = ""

    def further(self) -> bool:
        """Takes in the next part; False when there is none."""
        try:
            part = next(self.parts, None)
        except (SpecError, SpecFault, GeometryError) as trouble:
            self.trouble, self.parts = str(trouble) or type(trouble).__name__, iter(())
            return False
        self.failing |= {finding.id for finding in part or () if finding.verdict == "fails"}
        return part is not None


@dataclass
class Trials:
    """Evaluations made so far, by their edits, and how many are left."""

    evaluate: Evaluate
    before: frozenset[str]
    left: int
    known: dict[tuple[Any, ...], _Evaluated] = field(default_factory=dict)

    def ask(self, edits: tuple[Edit, ...], wanted: str) -> Tried | None:
        """What a change does to one finding; None when the budget is spent. It is looked at no further than to where
        the finding fails, or another begins to."""
        key = tuple(sorted((dotted(e.path), repr(e.to)) for e in edits))
        if key not in self.known:
            if self.left <= 0:
                return None
            self.left -= 1
            self.known[key] = _Evaluated(_in_parts(self.evaluate, edits))
        found = self.known[key]
        while wanted not in found.failing and found.failing <= self.before and found.further():
            pass
        if found.trouble:
            return Tried(False, trouble=found.trouble)
        return Tried(wanted not in found.failing, tuple(sorted(found.failing - self.before)))


def _in_parts(evaluate: Evaluate, edits: tuple[Edit, ...]) -> Iterator[Part]:
    made = evaluate(edits)
    yield from (made,) if isinstance(made, tuple) else made


def cures(findings: Sequence[Finding], evaluate: Evaluate, say: Say = lambda text: None, *,
          each: int = EACH, total: int = ALL) -> tuple[Finding, ...]:
    """The findings with a cure for every failing one.

    `evaluate` may raise SpecError, SpecFault or GeometryError: that change is then impossible. `each` evaluations are
    spent on one finding at most, `total` on all. Other errors are bugs and pass through.
    """
    before = frozenset(f.id for f in findings if f.verdict == "fails")
    trials = Trials(evaluate, before, total)
    done: list[Finding] = []
    for finding in findings:
        if finding.verdict != "fails" or finding.cure:  # a cure that is no change of the spec came with the check
            done.append(finding)
            continue
        say(f"looking for a cure: {finding.part}, {finding.what}")
        done.append(replace(finding, cure=_cure(finding, trials, each)))
    return tuple(done)


def _cure(finding: Finding, trials: Trials, each: int) -> Cure:
    """The first move, or pair of moves, that holds."""
    tried: list[str] = []
    spent = _Purse(trials, each)
    for move in finding.moves:
        found = _least(move, finding.id, spent, tried)
        if found:
            return _proved(found)
    for one, two in combinations(finding.moves, 2):
        if {e.path for e in one.edits} & {e.path for e in two.edits}:
            continue
        both = Move(f"{_filled(one, one.edits)}, and {two.text}", (*two.edits, *one.edits))
        found = _least(both, finding.id, spent, tried)
        if found:
            return _proved(found)
    if not finding.moves:
        return Cure("no change of the spec is known to cure this")
    why = "" if trials.left > 0 and spent.left > 0 else "; the evaluations allowed were spent"
    return Cure(f"none found{why}", tried=tuple(tried))


@dataclass
class _Purse:
    """The evaluations one finding may use, out of all."""

    trials: Trials
    left: int

    def ask(self, edits: tuple[Edit, ...], wanted: str) -> Tried | None:
        before = self.trials.left
        if self.left <= 0:
            return None
        found = self.trials.ask(edits, wanted)
        self.left -= before - self.trials.left
        return found


def _least(move: Move, wanted: str, purse: _Purse, tried: list[str]) -> Move | None:
    """The move at the least number of steps that holds, or None; what was tried is noted down."""
    most, last = 0, -1
    answer: Tried | None = None
    steps = STEPS if any(edit.step for edit in move.edits) else STEPS[:1]
    for count in steps:
        answer = purse.ask(_edits(move, count), wanted)
        if answer is None:
            break
        most = count
        if answer.good:
            return _bisected(move, wanted, purse, last, count)
        last = count
        if answer.holds and answer.broken:
            break  # further steps only break more
    if answer or most:
        tried.append(f"{_filled(move, _edits(move, most))}: {_outcome(answer)}")
    return None


def _bisected(move: Move, wanted: str, purse: _Purse, fails: int, holds: int) -> Move:
    while holds - fails > 1:
        middle = (fails + holds) // 2
        answer = purse.ask(_edits(move, middle), wanted)
        if answer is None:
            break
        if answer.good:
            holds = middle
        else:
            fails = middle
    return Move(move.text, _edits(move, holds))


def _edits(move: Move, count: int) -> tuple[Edit, ...]:
    return tuple(edit.moved(count) for edit in move.edits)


def _outcome(answer: Tried | None) -> str:
    if answer is None:
        return "not looked at to the end"
    if answer.trouble:
        return f"impossible, {answer.trouble}"
    if answer.broken:
        return f"then {answer.broken[0]} fails" + (f" and {len(answer.broken) - 1} more" if answer.broken[1:] else "")
    return "it still fails"


def _proved(move: Move) -> Cure:
    return Cure(f"{_filled(move, move.edits)} (re-checked)", edits=move.edits, rechecked=True)


def _filled(move: Move, edits: Iterable[Edit]) -> str:
    """The move in words, with its first value in place of {to}."""
    return move.text.replace("{to}", _shown(next(iter(edits)).to))


def _shown(value: object) -> str:
    if isinstance(value, (tuple, list)):
        return " x ".join(_shown(each) for each in value) if len(value) == 3 else ", ".join(_shown(v) for v in value)
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return f"{round(value, 3):g}"
    return str(value)
