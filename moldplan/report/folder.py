"""Every file of a plan into one folder, but for plan.json.

In       a finished plan and an empty folder.
Out      report.html, drawings, solids/, sheets/, tables/.
Not here plan.json and swapping the folder in (plan.py), what any file says (the modules beside this one).
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from moldplan.cut.dxf import write_sheets
from moldplan.cut.saved import as_text
from moldplan.material.stock import known
from moldplan.report import drawings, html, paper, sheets, solids, tables
from moldplan.report.drawing import Drawing
from moldplan.report.nets import Nets
from moldplan.report.subject import Plan


def write_all(plan: Plan, folder: Path) -> None:
    """All files of the plan. Raises OSError or OutputError from the disk, GeometryError from the kernel."""
    nets = Nets()
    solids.write(plan, folder, nets)
    pictured = sheets.pictures(plan)
    _write_sheets(plan, folder / "sheets", pictured)
    tables.write(plan, folder)
    paper.write(plan, folder)
    drawn = drawings.by_part(plan)
    drawings.write(plan, folder, drawn)
    html.write(plan, folder / "report.html", drawn=drawn, pictured=pictured, nets=nets)


def _write_sheets(plan: Plan, place: Path, pictured: Sequence[Drawing]) -> None:
    """One DXF and its text a sheet, their picture, and the layout to use again."""
    if plan.layout is None:
        return
    place.mkdir(parents=True, exist_ok=True)
    stocks = known(plan.spec)
    for sheet in plan.layout.sheets:
        write_sheets(place, sheet, plan.pieces, stocks[sheet.stock], cutter=plan.spec.cutter, title=plan.spec.title,
                     revision=plan.spec.revision)
    sheets.overview(plan, place / "overview.svg", pictured)
    (place / "layout.json").write_text(as_text(plan.layout), encoding="utf-8")
