"""The dowels of all stacks as rows of the table of materials.

In       a finished plan.
Out      dowel_rows(): how many, of which length.
Not here where they go (shape/dowels.py, shape/insert.py).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Any

from moldplan.report.subject import Plan
from moldplan.shape.dowels import DOWEL


def dowel_rows(plan: Plan) -> list[Sequence[Any]]:
    """Dowels by length, the longest first, in the columns of the table of materials: what, kind, thickness, seven that
    are for sheets, how many, length of each."""
    counts = Counter(long for body in plan.assembly.bodies.values() for long in body.dowels)
    return [("dowel", f"round wooden dowel {DOWEL:g} across, bonded in as the stack is glued up", DOWEL, *[""] * 7,
             counts[long], long) for long in sorted(counts, reverse=True)]  # fmt: skip
