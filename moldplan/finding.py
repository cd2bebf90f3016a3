"""One measured quantity held against one limit: what every check returns.

In       plain values.
Out      Finding, with its Source, the Moves that might cure it and the Cure that was proved to.
Not here measuring (check/, cut/) and searching for cures (cure/).
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from moldplan.errors import Path, dotted

Sense = Literal["at_least", "at_most", "between"]
Verdict = Literal["holds", "close", "fails", "not judged"]
HowRead = Literal["seen", "second-hand", "remembered", "practice", "ours", "maths", "spec"]


@dataclass(frozen=True, kw_only=True)
class Source:
    """Where a limit comes from. `practice` = common practice, no source; `ours` = our own assumption."""

    document: str
    edition: str = ""
    clause: str = ""
    how_read: HowRead

    @staticmethod
    def spec(field_name: str) -> Source:
        """A limit the builder stated in the spec."""
        return Source(document="the spec", clause=field_name, how_read="spec")


@dataclass(frozen=True)
class Edit:
    """One change to the spec: the field at `path` becomes `to`; a search may go on by `step` (0: not searched)."""

    path: Path
    to: Any
    step: float = 0.0

    def moved(self, steps: int) -> Edit:
        """The same edit `steps` further on."""
        return Edit(self.path, round(self.to + steps * self.step, 6), self.step) if steps and self.step else self


@dataclass(frozen=True)
class Move:
    """Edits that belong together and may cure a finding. `text` names the move, `{to}` stands for the first value."""

    text: str
    edits: tuple[Edit, ...]


@dataclass(frozen=True)
class Cure:
    """What was found: a move proved by re-evaluation, or none, with the moves tried."""

    text: str
    edits: tuple[Edit, ...] = ()
    rechecked: bool = False
    tried: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        return {
            "text": self.text,
            "set": [{"field": dotted(e.path), "to": e.to} for e in self.edits],
            "rechecked": self.rechecked,
            "tried": list(self.tried),
        }


def _number(value: float | None) -> float | None:
    """A number as JSON can hold it: what is not finite is null (the verdict says what it came to)."""
    return value if value is not None and math.isfinite(value) else None


def slug(*words: str) -> str:
    """A stable id from words: lower case, everything else than letters, digits, dots and slashes a hyphen."""
    return "/".join(re.sub(r"[^\w.]+", "-", w.strip().lower()) for w in words)


@dataclass(frozen=True, kw_only=True)
class Finding:
    """One measured quantity against one limit.

    `measured` in `unit`; `limit` a number, or (low, high) when `sense` is between. `tolerance` is the measurement's
    own uncertainty. `counted`: whole things were counted, so that none to spare is as good as many. `at` may hold heel,
    trim [deg] and x, y, z [mm, boat axes]. `skipped` gives the reason when nothing was judged. A NaN never holds.
    """

    check: str
    part: str
    what: str
    measured: float | None
    limit: float | tuple[float, float] | None
    sense: Sense
    unit: str
    source: Source
    path: Path = ()
    at: Mapping[str, float] = field(default_factory=dict)
    tolerance: float = 0.0
    counted: bool = False
    skipped: str | None = None
    note: str = ""
    loosened: str | None = None
    moves: tuple[Move, ...] = ()
    cure: Cure | None = None

    @property
    def id(self) -> str:
        return slug(self.part, self.check, self.what)

    @property
    def margin(self) -> float | None:
        """Positive: room to spare. Negative: short by this much, in `unit`. None when not judged."""
        if self.skipped is not None or self.measured is None or self.limit is None:
            return None
        if isinstance(self.limit, tuple):
            low, high = self.limit
            return min(self.measured - low, high - self.measured)
        return self.measured - self.limit if self.sense == "at_least" else self.limit - self.measured

    @property
    def verdict(self) -> Verdict:
        margin = self.margin
        if margin is None:
            return "not judged"
        if math.isnan(margin) or margin < 0:
            return "fails"
        if self.counted:
            return "holds"
        return "close" if margin < self._near() else "holds"

    def _near(self) -> float:
        """Below this margin a finding is only `close`: a tenth of the limit (of the band, for between)."""
        if isinstance(self.limit, tuple):
            return max((self.limit[1] - self.limit[0]) / 10, self.tolerance)
        return max(abs(self.limit or 0.0) / 10, self.tolerance)

    def as_json(self) -> dict[str, Any]:
        limit = list(self.limit) if isinstance(self.limit, tuple) else self.limit  # a spec holds no infinities
        return {
            "id": self.id,
            "check": self.check,
            "part": self.part,
            "field": dotted(self.path) or None,
            "what": self.what,
            "measured": _number(self.measured),
            "limit": limit,
            "sense": self.sense,
            "margin": _number(self.margin),
            "unit": self.unit,
            "verdict": self.verdict,
            "at": {name: _number(value) for name, value in self.at.items()},
            "tolerance": _number(self.tolerance),
            "source": {
                "document": self.source.document,
                "edition": self.source.edition,
                "clause": self.source.clause,
                "how_read": self.source.how_read,
            },
            "loosened": self.loosened,
            "not_judged": self.skipped,
            "note": self.note,
            "cure": self.cure.as_json() if self.cure else None,
        }
