"""1:1 patterns for those who cut by hand: one PDF a piece, a sheet or both, and the offset tables for a batten.

In       a finished plan, a folder.
Out      paper/<piece>.pdf: a page with the map, the tiles, the offset table; paper/<stock>_sheet-<number>.pdf: map and
         tiles; tables/offsets.csv. The same plan gives the same bytes.
Not here tiles (cut/paper.py), offsets (cut/batten.py), what is on a page (paper_tile.py, paper_map.py, paper_sheet.py,
         paper_sheet_map.py).

The outline is the piece as designed: corners that are opened for a round cutter are of no use to a saw.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable
from pathlib import Path

from moldplan.cut.batten import Offsets, lengthwise, offsets
from moldplan.cut.paper import Tiling, page_of, tiling
from moldplan.cut.paper_card import lines_of
from moldplan.cut.piece import Piece
from moldplan.finding import slug
from moldplan.material.stock import known
from moldplan.report.paper_ink import Sheet, pdf
from moldplan.report.paper_map import map_sheets
from moldplan.report.paper_sheet import Pattern, pattern, sheet_tile
from moldplan.report.paper_sheet_map import sheet_map
from moldplan.report.paper_tile import Job, tile_sheet
from moldplan.report.subject import Plan
from moldplan.report.tables import safe
from moldplan.spec.paper import Paper

OFFSETS = ("piece", "name", "face", "line", "number", "depth mm", "point", "X mm", "Y mm", "to the next", "radius mm")


def write(plan: Plan, folder: Path) -> None:
    """All patterns the spec asks for and the table of offsets; nothing where nothing is cut."""
    if not plan.pieces:
        return
    spec, tables = plan.spec, []
    job, paper = Job(spec.title, spec.revision, spec.units == "inch"), spec.paper
    place = folder / "paper"
    place.mkdir(parents=True, exist_ok=True)
    for piece in plan.pieces:
        tiled = tiling(piece.by_hand, page_of(paper))
        table = offsets(piece, lengthwise(piece, tiled.turn))
        tables.append((piece, table))
        if paper.of == "sheets":
            continue
        pdf(sheets(job, piece, tiled, table, paper), place / file_name(job, piece, paper),
            title=f"{piece.id} {piece.body}, {job.title}, revision {job.revision}")
    if paper.of != "pieces":
        _write_sheets(plan, job, place)
    write_offsets(tables, folder / "tables" / "offsets.csv")


def _write_sheets(plan: Plan, job: Job, place: Path) -> None:
    """A pattern of every sheet that was laid out."""
    paper, stocks, taken = plan.spec.paper, known(plan.spec), set[str]()
    for sheet in plan.layout.sheets if plan.layout else ():
        given = pattern(sheet, plan.pieces, page_of(paper), grain=stocks[sheet.stock].grain)
        words = (sheet.stock, f"sheet-{sheet.number}", paper.size, f"rev-{job.revision}")
        name = _named(words)
        while name in taken:  # two stocks may be one word to a file system
            name = f"{name}-2"
        taken.add(name)
        pdf(sheet_pages(job, given, paper), place / f"{name}.pdf",
            title=f"{given.title}, {job.title}, revision {job.revision}")


def sheet_pages(job: Job, given: Pattern, paper: Paper) -> list[Sheet]:
    """The pages of one sheet: map, tiles row by row, the rest of its list of pieces."""
    first, *rest = sheet_map(job, given, paper)
    lines = lines_of(given.tiling)
    return [first, *(sheet_tile(job, given, tile, lines) for tile in given.tiling.tiles), *rest]


def sheets(job: Job, piece: Piece, tiled: Tiling, table: Offsets, paper: Paper) -> list[Sheet]:
    """The pages of one piece: map, tiles row by row, the rest of its offset table."""
    first, *rest = map_sheets(job, piece, tiled, table, paper)
    lines = lines_of(tiled)
    return [first, *(tile_sheet(job, piece, tiled, tile, lines) for tile in tiled.tiles), *rest]


def file_name(job: Job, piece: Piece, paper: Paper) -> str:
    """piece_body_paper_revision.pdf, fit for any file system."""
    return _named((piece.id, piece.body, paper.size, f"rev-{job.revision}")) + ".pdf"


def _named(words: Iterable[str]) -> str:
    return "_".join(slug(word).replace("/", "-").replace("_", "-").strip("-.") or "x" for word in words)


def write_offsets(tables: Iterable[tuple[Piece, Offsets]], path: Path) -> None:
    """One CSV with the offset tables of all pieces."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("w", encoding="utf-8-sig", newline="") as file:
        writer = csv.writer(file, lineterminator="\r\n")
        writer.writerow(OFFSETS)
        for piece, table in tables:
            for row in table.rows:
                cells = (piece.id, piece.body, row.face, row.line, row.index, "" if row.depth is None else row.depth,
                         row.number, row.x, row.y, row.on, "" if row.radius is None else row.radius)
                writer.writerow([safe(cell) for cell in cells])
