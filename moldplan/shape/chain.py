"""Chains: how a finished size comes to be, step by step, with the tolerance of each step in its own column.

In       named steps, nominal and tolerance in mm, and where each came from.
Out      Chain: running nominal, worst case and root-sum-square of the tolerances.
Not here which steps there are: each shaper builds its own chain.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal

from moldplan.errors import Path

Measure = Literal["diameter", "per_side", "depth", "level"]


@dataclass(frozen=True, kw_only=True)
class Step:
    """One allowance: nominal and tolerance (plus or minus) in mm, and what it came from."""

    name: str
    nominal: float
    tolerance: float
    origin: str
    surface: str = ""  # "F", "M" or "C" when the running sum reaches that surface here


@dataclass(frozen=True, kw_only=True)
class Chain:
    """A sum of steps. Tolerances are never added into the nominal."""

    part: str
    at: str
    measure: Measure
    steps: tuple[Step, ...]
    path: Path = ()

    @property
    def nominal(self) -> float:
        return sum(step.nominal for step in self.steps)

    @property
    def worst_case(self) -> float:
        return sum(step.tolerance for step in self.steps)

    @property
    def root_sum_square(self) -> float:
        return math.sqrt(sum(step.tolerance**2 for step in self.steps))

    def running(self) -> tuple[float, ...]:
        """Nominal after each step [mm]."""
        total, sums = 0.0, []
        for step in self.steps:
            total += step.nominal
            sums.append(total)
        return tuple(sums)

    def upto(self, surface: str) -> float:
        """Nominal where the chain reaches a surface; raises KeyError when it does not."""
        for step, total in zip(self.steps, self.running(), strict=True):
            if step.surface == surface:
                return total
        raise KeyError(surface)

    def as_json(self) -> dict[str, Any]:
        return {
            "part": self.part,
            "at": self.at,
            "measure": self.measure,
            "steps": [
                {"name": s.name, "nominal": s.nominal, "tolerance": s.tolerance, "from": s.origin, "surface": s.surface}
                for s in self.steps
            ],
            "nominal": self.nominal,
            "worst_case": self.worst_case,
            "root_sum_square": self.root_sum_square,
        }
