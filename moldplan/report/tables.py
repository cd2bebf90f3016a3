"""Tables for a spreadsheet: the cut list, the materials, the findings, the check gauges.

In       a finished plan, a folder.
Out      tables/cut-list.csv, materials.csv, findings.csv, offcuts.csv, of hatches gauges.csv: UTF-8 with a mark,
         commas, one heading row.
Not here judging or cutting.

A cell of words that a spreadsheet would run as a formula (it begins with = + - @, a tab or a return) gets a quote mark
in front; numbers stay numbers.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from moldplan.errors import dotted
from moldplan.finding import Finding
from moldplan.report.dowels import dowel_rows
from moldplan.report.frame_tables import gauge_rows
from moldplan.report.straps import strap_rows
from moldplan.report.subject import Plan

CUT_LIST = ("piece", "name", "stock", "thickness mm", "length mm", "width mm", "quantity", "hand", "area m2", "edges",
            "in its stack", "step", "sheets", "notes")  # fmt: skip
MATERIALS = ("stock", "kind", "thickness mm", "sheet mm", "sheets used", "fewest by area", "area of pieces m2",
             "area of sheets m2", "price a sheet", "price", "pieces", "length to cut mm")  # fmt: skip
FINDINGS = ("id", "verdict", "part", "what", "measured", "sense", "limit", "margin", "unit", "at", "source", "cure",
            "not judged", "note", "loosened")  # fmt: skip
OFFCUTS = ("stock", "sheet", "length mm", "width mm", "x mm", "y mm")
GAUGES = ("hatch", "gauge", "size mm", "use")


def write(plan: Plan, folder: Path) -> None:
    """All tables of a plan into `folder`/tables."""
    from moldplan.cut.table import offcut_list

    place = folder / "tables"
    place.mkdir(parents=True, exist_ok=True)
    made: list[tuple[str, Sequence[str], list[Sequence[Any]]]] = [
        ("cut-list", CUT_LIST, cut_list_rows(plan)),
        ("materials", MATERIALS, material_rows(plan)),
        ("findings", FINDINGS, [finding_row(finding) for finding in plan.findings]),
    ]
    gauges = [(row["hatch"], row["name"], row["size"], row["use"]) for row in gauge_rows(plan)]
    if gauges:
        made.append(("gauges", GAUGES, list(gauges)))
    left = offcut_list(plan.layout) if plan.layout else []
    if left:
        made.append(("offcuts", OFFCUTS, [(*row[:4], *(round(mm, 1) for mm in row[4:])) for row in left]))
    for name, heads, rows in made:
        with (place / f"{name}.csv").open("w", encoding="utf-8-sig", newline="") as file:
            writer = csv.writer(file, lineterminator="\r\n")
            writer.writerow(heads)
            writer.writerows([[safe(cell) for cell in row] for row in rows])


def safe(cell: Any) -> Any:
    """The cell as a spreadsheet may have it: words that would run as a formula are led by a quote mark."""
    if isinstance(cell, str) and cell[:1] in ("=", "+", "-", "@", "\t", "\r", "\n"):
        return f"'{cell}"
    return cell


def cut_list_rows(plan: Plan) -> list[Sequence[Any]]:
    """One row a piece, in the order of CUT_LIST."""
    from moldplan.cut.table import COLUMNS, cut_list

    return [[row[column] for column in COLUMNS] for row in cut_list(plan.pieces, plan.layout)]


def material_rows(plan: Plan) -> list[Sequence[Any]]:
    """One row a stock, or a size of it that is bought: what is computed and nothing else; sheets only where they were
    laid out. What is said of the stock as a whole stands in its first row; part-used sheets follow; what all that is
    bought costs stands last, where every price is known."""
    from moldplan.cut.table import from_rack, to_buy
    from moldplan.material.stock import known

    stocks = known(plan.spec)
    rows: list[Sequence[Any]] = []
    paid: list[float | None] = []  # for each row of sheets that are bought; None where no price is known
    used = sorted({piece.stock for piece in plan.pieces})
    for name in used:
        stock = stocks.get(name)
        fewest = plan.layout.fewest.get(name, {}) if plan.layout else {}
        area = sum(p.area * p.quantity for p in plan.pieces if p.stock == name) / 1e6
        buy: list[tuple[tuple[float, float] | None, int | None, float | None]] = [(None, None, None)]
        if stock is not None:
            buy = [*to_buy(plan.layout, stock, name)] if plan.layout else [(stock.size, None, stock.price)]
        for place, (size, count, price) in enumerate(buy):
            paid += [None if price is None else price * count] if count else []
            rows.append((
                name, stock.kind if stock else "", _number(stock.measured or stock.thickness) if stock else "",
                f"{size[0]:g} x {size[1]:g}" if size else "", "" if count is None else count,
                "" if place else fewest.get("lower_bound", ""), "" if place else round(area, 3),
                "" if count is None or size is None else round(count * size[0] * size[1] / 1e6, 3),
                "" if price is None else price, "" if price is None or count is None else round(price * count, 2),
            ))  # fmt: skip
        rows += [(name, f"{stock.kind if stock else ''}, {rack}", rows[-1][2], f"{size[0]:g} x {size[1]:g}", 1,
                  "", "", round(square / 1e6, 3), "", "")
                 for rack, size, square in (from_rack(plan.layout, name) if plan.layout else [])]  # fmt: skip
    if len(paid) > 1 and None not in paid:
        rows.append(("all sheets to buy", *[""] * 8, round(sum(cost or 0.0 for cost in paid), 2)))
    return [*((*row, "", "") for row in rows), *_covering_rows(plan), *dowel_rows(plan), *strap_rows(plan)]


def _covering_rows(plan: Plan) -> list[Sequence[Any]]:
    """What covers each insert that is built of frames: its thickness, and the area of the surface it makes."""
    rows: list[Sequence[Any]] = []
    for stand in plan.assembly.stands:
        if stand.frames:
            whole = plan.assembly.body(stand.tools[0])
            area = sum(face.Area() for role, faces in whole.shaped.roles.items() if role.startswith("molding")
                       for face in faces)  # fmt: skip
            thick = plan.spec.cradles[str(stand.path[1])].seats[str(stand.path[3])].insert.frames.covering
            rows.append((f"covering of {whole.name}", "covering", _number(thick), *[""] * 3, round(area / 1e6, 3),
                         *[""] * 5))  # fmt: skip
    return rows


def finding_row(finding: Finding) -> Sequence[Any]:
    """One finding, its numbers unrounded."""
    limit = finding.limit
    return (
        finding.id, finding.verdict, finding.part, finding.what, _blank(finding.measured),
        finding.sense.replace("_", " "), f"{limit[0]} to {limit[1]}" if isinstance(limit, tuple) else _blank(limit),
        _blank(finding.margin), finding.unit, place_words(finding.at), source_words(finding),
        finding.cure.text if finding.cure else "", finding.skipped or "", finding.note, finding.loosened or "",
    )  # fmt: skip


def place_words(at: Mapping[str, float]) -> str:
    """Where it was measured: "x 320, y 360, z 340 mm; heel 12 deg"."""
    spots = ", ".join(f"{axis} {at[axis]:.0f}" for axis in ("x", "y", "z") if axis in at)
    turns = ", ".join(f"{name} {at[name]:g}" for name in ("heel", "trim") if name in at)
    return "; ".join(filter(None, (f"{spots} mm" if spots else "", f"{turns} deg" if turns else "")))


HOW_READ = {
    "seen": "",
    "second-hand": "read second-hand",
    "remembered": "from memory",
    "practice": "common practice, no source",
    "ours": "our own assumption",
    "maths": "mathematics",
    "spec": "set in the spec",
}


def source_words(finding: Finding) -> str:
    """The source of a limit in one line, with how it was read."""
    source = finding.source
    words = [source.document, source.edition, source.clause, HOW_READ.get(source.how_read, source.how_read)]
    return ", ".join(dict.fromkeys(word for word in words if word))


def edits_words(finding: Finding) -> str:
    """What a cure sets: "lockers.a.lid.underside: 363"."""
    return "; ".join(f"{dotted(e.path)}: {e.to}" for e in finding.cure.edits) if finding.cure else ""


def _blank(number: float | None) -> float | str:
    return "" if number is None else number


def _number(mm: float) -> float:
    return round(mm, 2)

