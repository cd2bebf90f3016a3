"""The tables under a hatch's section: the sum down, the sum outward, sizes over all, check gauges.

In       a finished plan, a hatch, a corner on the paper.
Out      sums(), gauges(): marks; sum_rows() and its neighbours: rows of words.
Not here the section they stand under (frame_section.py), what gauges there are (check/gauges.py).

Finished sizes are those of the section sum. Bare ones are what the faces measure before paint: every painted face lies
one coat deeper in its part, so that a wall's upper corner, bent by 90 deg less its draft, moves sideways by
coat x tan(45 deg - draft / 2).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from moldplan.quantity import plain
from moldplan.report.annotate import Column, table
from moldplan.report.drawing import Mark, Point
from moldplan.report.subject import Plan, chains_of, one, size
from moldplan.shape.assembly import HatchPlace

SUM = (Column("", 9, "middle"), Column("step", 42), Column("finished", 21, "end"), Column("bare", 15, "end"),
       Column("sum", 15, "end"))  # fmt: skip
OVERALL = (Column("over all, length x width", 54), Column("finished", 44, "end"), Column("corner R", 22, "end"),
           Column("bare", 44, "end"), Column("corner R", 22, "end"))  # fmt: skip
GAUGES = (Column("gauge", 45), Column("size", 21, "end"), Column("use", 116))
Rows = list[list[str]]


def sums(plan: Plan, place: HatchPlace, at: Point, wide: float) -> list[Mark]:
    """The section sum in its two halves, and the sizes that follow from it."""
    half = (wide - 6) / 2
    down, tall = table(at, half, "Down from the sole's surface [mm]", SUM, down_rows(plan, place))
    out, more = table((at[0] + half + 6, at[1]), half, "Out from the clear opening [mm]", SUM, out_rows(plan, place))
    under = (at[0], at[1] - max(tall, more) - 5)
    over, _ = table(under, wide, f"Sizes in plan [mm]; a coat of paint is {plain(place.paint, 2)}", OVERALL,
                    overall_rows(plan, place))  # fmt: skip
    return [*down, *out, *over]


def gauges(plan: Plan, place: HatchPlace, at: Point, wide: float) -> list[Mark]:
    """Check gauges to cut from scrap."""
    rows = [[str(row["name"]), size(plan, float(row["size"])), str(row["use"])] for row in gauge_rows(plan)
            if row["hatch"] == place.name]  # fmt: skip
    if not rows:
        return []
    return list(table(at, wide, "Check gauges, from scrap [mm]", GAUGES, rows)[0])


def gauge_rows(plan: Plan) -> Sequence[Mapping[str, Any]]:
    """All check gauges of a plan: {hatch, name, size [mm], use}."""
    if not plan.assembly.hatches:
        return ()
    from moldplan.check.gauges import gauges as made

    return tuple(made(plan.assembly))


def down_rows(plan: Plan, place: HatchPlace) -> Rows:
    """The levels: letter, step, finished, bare, finished sum. Both columns end at the same levels."""
    chain = one(chains_of(plan, place.path), "level", "section")
    if chain is None:
        return []
    rows = []
    for k, (step, total) in enumerate(zip(chain.steps, chain.running(), strict=True)):
        bare = step.nominal
        if k == 0 and place.hatch.lid.finished:
            bare -= 2 * place.paint
        elif step.surface == "A":  # the gasket lies between two bare faces: two coats more
            bare += 2 * place.paint
        elif step.name.startswith("two coats"):
            bare = 0.0
        rows.append([step.surface, step.name, plain(step.nominal), plain(bare), plain(total)])
    return rows


def shift(place: HatchPlace) -> float:
    """How far a painted wall's upper corner moves sideways when the paint is off [mm]."""
    return place.paint * math.tan(math.radians(45 - place.hatch.gutter.draft / 2))


def bare_gap(place: HatchPlace) -> float:
    """The gap before paint, at the bare surface: both faces lie back [mm]."""
    draft = math.radians(place.hatch.lid.edge_draft)
    return place.hatch.lid.gap + shift(place) + place.paint * (1 / math.cos(draft) + math.tan(draft))


def out_rows(plan: Plan, place: HatchPlace) -> Rows:
    """The offsets: letter, step, finished, bare, finished sum."""
    out, move = place.offsets, shift(place)
    gutter, gap = place.hatch.gutter.width, place.hatch.lid.gap
    ledge = [["a", "landing", plain(out.landing), plain(out.landing - place.paint - move), plain(out.landing)]]
    if out.upstand:  # its foot stands on the landing; what is left of that lies between two painted faces
        left, foot = out.landing - out.upstand, out.upstand
        ledge = [["", "upstand and its draft, at its foot", plain(foot), plain(foot - place.paint - move),
                  plain(foot)],
                 ["a", "landing left for the gasket", plain(left), plain(left), plain(out.landing)]]  # fmt: skip
    return [
        *ledge,
        ["b", "gutter width", plain(gutter), plain(gutter + 2 * move), plain(out.gutter)],
        ["c", "less the gap to the lid", plain(-gap), plain(-bare_gap(place)), plain(out.lid)],
        ["", "bond flange, out from b", plain(out.flange - out.gutter), plain(out.flange - out.gutter - move),
         plain(out.flange)],
    ]  # fmt: skip


def overall_rows(plan: Plan, place: HatchPlace) -> Rows:
    """Each ring of the hatch over all, finished and bare, with its corner radius, which grows with its offset."""
    out, move, paint = place.offsets, shift(place), place.paint
    length, width = place.hatch.clear_opening
    bare_lid = out.gutter + move - bare_gap(place)
    rows = []
    for name, off, bare in (
        ("clear opening", 0.0, paint),
        ("landing's edge, a", out.landing, out.landing - move),
        ("lid, c", out.lid, bare_lid),
        ("gutter's outer wall, b", out.gutter, out.gutter + move),
        ("bond flange, trimmed", out.flange, out.flange),
    ):
        row = [name]
        for by in (off, bare):
            row += [f"{size(plan, length + 2 * by)} x {size(plan, width + 2 * by)}",
                    size(plan, place.hatch.corner_radius + by)]  # fmt: skip
        rows.append(row)
    return rows
