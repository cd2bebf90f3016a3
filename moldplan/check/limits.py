"""The limit a finding is held against: the handbook's, or the builder's own.

In       the name of a limit and the spec, whose `limits:` may tighten or, with a reason, loosen it.
Out      Bound: the number with its sense, unit, source, and why it was loosened.
Not here the numbers themselves (handbook/limits.csv), measuring.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from moldplan.errors import Path
from moldplan.finding import Finding, Move, Sense, Source
from moldplan.handbook.lookup import limit
from moldplan.spec.model import Spec

NOISE = 6  # decimals; the kernel takes points within 1e-7 mm as one: less is no measure and must not miss a limit


@dataclass(frozen=True, kw_only=True)
class Bound:
    """One limit as it applies to this plan."""

    name: str
    value: float
    unit: str
    sense: Sense
    source: Source
    loosened: str | None

    def short(self, measured: float) -> float:
        """How much is missing, 0 when the limit is kept; in the limit's unit."""
        missing = self.value - measured if self.sense == "at_least" else measured - self.value
        return max(round(missing, NOISE), 0.0)

    def finding(self, *, check: str, part: str, what: str, measured: float, path: Path, note: str,
                at: Mapping[str, float] | None = None, tolerance: float = 0.0,
                moves: tuple[Move, ...] = ()) -> Finding:
        """The finding of one measurement; moves are kept only where it falls short."""
        made = Finding(check=check, part=part, what=what, measured=round(measured, NOISE), limit=self.value,
                       sense=self.sense, unit=self.unit, source=self.source, path=path, at=at or {},
                       tolerance=tolerance, note=note, loosened=self.loosened, moves=moves)
        return made if made.verdict == "fails" else _without_moves(made)

    def unjudged(self, *, check: str, part: str, what: str, path: Path, why: str) -> Finding:
        """The finding that says why nothing was measured."""
        return Finding(check=check, part=part, what=what, measured=None, limit=self.value, sense=self.sense,
                       unit=self.unit, source=self.source, path=path, skipped=why)


def _without_moves(made: Finding) -> Finding:
    return replace(made, moves=())


@dataclass(frozen=True)
class Band:
    """Two limits that a number must lie between."""

    low: Bound
    high: Bound

    def short(self, measured: float) -> float:
        """How far below the band (positive) or above it (negative) a number lies; 0 within."""
        return self.low.short(measured) - self.high.short(measured)

    def finding(self, *, check: str, part: str, what: str, measured: float, path: Path, note: str,
                at: Mapping[str, float] | None = None, tolerance: float = 0.0,
                moves: tuple[Move, ...] = ()) -> Finding:
        """The finding of one measurement, as Bound's."""
        worse = self.high if self.high.short(measured) else self.low
        made = Finding(check=check, part=part, what=what, measured=round(measured, NOISE),
                       limit=(self.low.value, self.high.value), sense="between", unit=worse.unit,
                       source=worse.source, path=path, at=at or {}, tolerance=tolerance, note=note,
                       loosened=self.low.loosened or self.high.loosened, moves=moves)
        return made if made.verdict == "fails" else _without_moves(made)


def band(low: str, high: str, spec: Spec) -> Band:
    """Two limits by their handbook names, as this spec has them."""
    return Band(bound(low, spec), bound(high, spec))


def bound(name: str, spec: Spec) -> Bound:
    """A limit by its handbook name, as this spec has it. Raises HandbookError for a name the handbook lacks."""
    book = limit(name)
    own = spec.limits.get(name)
    stated = None if own is None else (own.least if book.sense == "at_least" else own.most)
    if own is None or stated is None:
        return Bound(name=name, value=book.value, unit=book.unit, sense=book.sense, source=book.source, loosened=None)
    looser = stated < book.value if book.sense == "at_least" else stated > book.value
    return Bound(name=name, value=stated, unit=book.unit, sense=book.sense, source=Source.spec(f"limits.{name}"),
                 loosened=(own.reason or "no reason given") if looser else None)


def value_at(spec: Spec, path: Path) -> Any:
    """What stands at a path of the spec; None where a part on the way is absent."""
    here: Any = spec
    for step in path:
        if here is None:
            return None
        if isinstance(here, Mapping):
            here = here.get(step)
        elif isinstance(here, (tuple, list)):
            here = here[step] if isinstance(step, int) and step < len(here) else None
        else:
            here = getattr(here, str(step), None)
    return here
