"""What a plan says on a terminal: the answer, what fails with its cure, what is close, the counts, the cautions.

In       a plan (answer, findings, cautions).
Out      lines of text; colour only repeats what the words say.
Not here printing them (cli.py), the report (report/).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path as FilePath
from typing import Protocol

from moldplan.finding import Finding
from moldplan.quantity import plain

BOLD, RED, YELLOW, END = "\x1b[1m", "\x1b[31m", "\x1b[33m", "\x1b[0m"


class Finished(Protocol):
    """As much of a plan as is told here."""

    @property
    def answer(self) -> str: ...

    @property
    def findings(self) -> Sequence[Finding]: ...

    @property
    def cautions(self) -> Sequence[str]: ...

    @property
    def places(self) -> Mapping[str, str]:
        """By the id of a finding: its field's line in the spec, and the field."""
        ...


def lines(plan: Finished, *, written: FilePath | None, colour: bool) -> Iterator[str]:
    """The whole message, line by line."""
    yield f"{BOLD}{plan.answer}{END}" if colour else plan.answer
    fails = [each for each in plan.findings if each.verdict == "fails"]
    close = [each for each in plan.findings if each.verdict == "close"]
    rows = _aligned([*fails, *close])
    for finding, row in zip([*fails, *close], rows, strict=True):
        paint = RED if finding.verdict == "fails" else YELLOW
        yield f"{paint}{row[:5]}{END}{row[5:]}" if colour else row
        if finding.verdict == "fails":
            if finding.id in plan.places:
                yield f"       {plan.places[finding.id]}"
            yield f"       {_cure(finding)}"
    yield counts(plan.findings)
    for caution in plan.cautions:
        yield f"caution: {caution}"
    if written is not None:
        yield f"Wrote {written}. Open {written / 'report.html'}"


def counts(findings: Sequence[Finding]) -> str:
    """How many of each verdict, in words: "14 hold, 1 close, 2 not judged"."""
    words = {"fails": "fail", "close": "close", "holds": "hold", "not judged": "not judged"}
    count = {verdict: sum(each.verdict == verdict for each in findings) for verdict in words}
    said = ", ".join(f"{count[verdict]} {word}" for verdict, word in words.items() if count[verdict])
    return f"Of {len(findings)} findings: {said}." if said else "Nothing was judged."


def _aligned(findings: Sequence[Finding]) -> list[str]:
    columns = [(finding.verdict, finding.part, finding.what, *figures(finding), _where(finding))
               for finding in findings]
    widths = [max((len(row[n]) for row in columns), default=0) for n in range(7)]
    return ["  ".join(text.ljust(width) for text, width in zip(row, widths, strict=True)).rstrip() for row in columns]


def figures(finding: Finding) -> tuple[str, str, str]:
    """Measured, limit and margin in text, with as many digits as it takes to tell measured from limit."""
    measured, limit, margin = finding.measured, finding.limit, finding.margin
    if measured is None or limit is None or margin is None:
        return "", "", finding.skipped or ""
    ends = limit if isinstance(limit, tuple) else (limit,)
    digits = 1 if max(abs(measured), *(abs(end) for end in ends)) >= 10 else 2
    if finding.unit == "mm/mm":
        digits = 4
    while digits < 12 and any(end != measured and plain(end, digits) == plain(measured, digits) for end in ends):
        digits += 1
    unit = "" if finding.unit == "mm/mm" else f" {finding.unit}"
    if isinstance(limit, tuple):
        bound = f"between {plain(limit[0], digits)} and {plain(limit[1], digits)}{unit}"
    else:
        bound = f"{'at least' if finding.sense == 'at_least' else 'at most'} {plain(limit, digits)}{unit}"
    room = f"{plain(abs(margin), digits)}{unit} {'to spare' if margin >= 0 else missing(finding)}"
    return f"{plain(measured, digits)}{unit}", bound, room


def missing(finding: Finding) -> str:
    """The word for what a failing margin is: short of a least value, over a greatest one."""
    return "short" if finding.sense == "at_least" else "over" if finding.sense == "at_most" else "outside"


def _where(finding: Finding) -> str:
    units = {"heel": " deg", "trim": " deg"}
    return ", ".join(f"{name} {plain(value, 1)}{units.get(name, '')}" for name, value in finding.at.items())


def _cure(finding: Finding) -> str:
    cure = finding.cure
    if cure is None:
        return "no cure was looked for"
    if cure.rechecked or not cure.tried:
        return f"cure: {cure.text}"
    return f"{cure.text}; tried: {', '.join(cure.tried)}"
