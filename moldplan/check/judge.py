"""All checks of one plan, in the order a builder reads them.

In       Assembly, Spec (with nothing left open).
Out      Judged: findings, cautions, rows of the what-fits table.
Not here what cutting and laying out find (cut/), cures (cure/).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from moldplan.check.basin import basins
from moldplan.check.capacity import emptying, rain
from moldplan.check.clearance import clearance
from moldplan.check.dowel_walls import dowel_walls
from moldplan.check.draft import draft
from moldplan.check.fits import fits
from moldplan.check.frames_fit import frames_fit
from moldplan.check.hatches import hatches
from moldplan.check.pocket import pockets
from moldplan.check.ponds import ponds
from moldplan.check.secured import cautions
from moldplan.check.sole_below import below
from moldplan.check.sole_layout import layout
from moldplan.check.tower import stacks
from moldplan.check.ways_out import cautions as rule_cautions
from moldplan.check.ways_out import ways_out
from moldplan.finding import Finding
from moldplan.shape.assembly import Assembly
from moldplan.spec.model import Spec


@dataclass(frozen=True)
class Judged:
    """What all checks found."""

    findings: tuple[Finding, ...]
    cautions: tuple[str, ...]
    fits: tuple[dict[str, Any], ...]


def judge(assembly: Assembly, spec: Spec) -> Judged:
    """Run every check on the finished bodies. Raises GeometryError when a body lacks a face that must be measured."""
    rows, alternatives = fits(assembly, spec)
    ground = basins(assembly)
    findings = (*clearance(assembly, spec), *alternatives, *draft(assembly, spec), *stacks(assembly, spec),
                *dowel_walls(assembly, spec), *frames_fit(assembly, spec),
                *hatches(assembly, spec), *layout(assembly, spec), *below(assembly, spec), *ways_out(assembly, spec),
                *ponds(assembly, spec, ground), *pockets(assembly, spec, ground), *rain(assembly, spec, ground),
                *emptying(assembly, spec, ground)[0])
    return Judged(findings, (*cautions(assembly, spec), *rule_cautions(assembly, spec)), rows)
