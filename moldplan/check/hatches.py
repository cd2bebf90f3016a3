"""Every question about the hatches of a plan, in the order of the section sum.

In       Assembly, Spec.
Out      findings of all hatches and soles.
Not here measuring: each question has its own file.
"""

from __future__ import annotations

from moldplan.check.edge_gap import edge_gaps
from moldplan.check.floor import floor
from moldplan.check.gutter import gutter
from moldplan.check.hatch_spot import spots
from moldplan.check.lid_weight import lid_weight
from moldplan.check.mold_release import mold_release
from moldplan.check.section import section
from moldplan.finding import Finding
from moldplan.shape.assembly import Assembly
from moldplan.spec.model import Spec


def hatches(assembly: Assembly, spec: Spec) -> tuple[Finding, ...]:
    """All findings of hatches, hatch by hatch, then what lies between them."""
    found: list[Finding] = []
    for spot in spots(assembly, spec):
        for ask in (section, edge_gaps, gutter, floor, lid_weight, mold_release):
            found += ask(spot)
    return tuple(found)
