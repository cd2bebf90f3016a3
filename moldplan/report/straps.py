"""Straps in words and in rows: how many, how long to cut.

In       a finished plan.
Out      strap_words() for a drawing, strap_rows() for the table of materials.
Not here the straps themselves (shape/strap.py).
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from typing import Any

from moldplan.report.subject import Plan, size
from moldplan.shape.assembly import Stand
from moldplan.shape.body import Body


def webbing(body: Body) -> float | None:
    """The length of webbing to cut for a strap [mm], as its note has it; None for other bodies."""
    found = [re.match(r"cut (\d+) mm of webbing", note) for note in body.notes]
    return next((float(one[1]) for one in found if one), None)


def strap_words(plan: Plan, stand: Stand) -> str:
    """How many straps a stand has, and what is cut for each: "2 straps, each cut 843"; empty where it has none."""
    lengths = [long for name in stand.straps if (long := webbing(plan.assembly.body(name))) is not None]
    if not lengths:
        return ""
    cut = " and ".join(size(plan, long, 0) for long in sorted(set(lengths)))
    return f"{len(lengths)} straps, each cut {cut}" if len(lengths) > 1 else f"strap, cut {cut}"


def strap_rows(plan: Plan) -> list[Sequence[Any]]:
    """Webbing by size and length, buckles and eyes by size, in the columns of the table of materials: what, kind,
    thickness, seven that are for sheets, how many, length of each."""
    counts: Counter[tuple[str, str, float | str, float | str]] = Counter()
    for body in plan.assembly.of_kind("strap", "eye"):
        cradle = plan.spec.cradles[str(body.path[1])]
        straps = (cradle.seats if body.path[2] == "seats" else cradle.chocks)[str(body.path[3])].straps
        long = webbing(body)
        if body.kind == "eye":
            counts[("eye", f"strap eye, flange {straps.eye_flange:g}", "", "")] += 1
        elif long is None:
            counts[("buckle", f"buckle for webbing {straps.width:g} wide", "", "")] += 1
        else:
            counts[("webbing", f"webbing {straps.width:g} wide", round(straps.thickness, 2), long)] += 1
    ordered = sorted(counts.items(), key=lambda item: tuple(map(str, item[0])))
    return [(what, kind, thick, *[""] * 7, count, long) for (kind, what, thick, long), count in ordered]
