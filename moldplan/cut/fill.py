"""Copies laid on a sheet by their true outlines, one after the other, on columns of bits.

In       a Job, bare sheets, copies in the order they are tried.
Out      what lies on each sheet.
Not here the columns (grid.py), other ways of placing (place.py, solver.py), proof with true arcs (room.py).
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from moldplan.cut.bare import Bare
from moldplan.cut.grid import Cell, Cells, Mask, mask
from moldplan.cut.job import Copy, Job, outer_area
from moldplan.cut.loop import moved, swollen
from moldplan.cut.piece import Placed

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

OUTWARD = 0.1  # a shape on cells holds the true outline and leaves it by at most this [mm]
MANY = 150  # copies beyond which a copy is passed over that is larger all ways than one that found no room


def cell_for(copies: int) -> Cell:
    """Fine cells for few copies, coarser ones for many."""
    return Cell(3.0, 1.5) if copies <= 40 else Cell(4.0, 1.0) if copies <= 150 else Cell(8.0, 2.0)


@dataclass
class Shapes:
    """The masks of a job's pieces, each made once."""

    job: Job
    cell: Cell
    known: dict[tuple[str, float], Mask] = field(default_factory=dict)

    def of(self, copy: Copy, turn: float) -> Mask:
        """The copy turned, with half the spacing round it."""
        key = (copy.piece.id, turn)
        if key not in self.known:
            self.known[key] = mask(spaced(copy, turn, self.job.cutter.spacing / 2), self.cell)
        return self.known[key]

    def ways(self, copy: Copy) -> list[tuple[float, Mask]]:
        """The turns that differ on cells."""
        ways: list[tuple[float, Mask]] = []
        for turn in copy.turns:
            made = self.of(copy, turn)
            if not any(made.runs == other.runs for _, other in ways):
                ways.append((turn, made))
        return ways


def spaced(copy: Copy, turn: float, by: float) -> BaseGeometry:
    """The copy's outer outline turned, with all within `by` of it; never smaller."""
    import shapely

    shape = shapely.Polygon(swollen(moved(copy.piece.cut.outer, turn=turn), OUTWARD))
    if not shape.is_valid:
        shape = shape.convex_hull
    return shape.buffer(by * 1.003, quad_segs=8) if by > 0 else shape  # 1 / cos(pi / 4 / 8) = 1.005 on its corners


def cells_of(empty: Bare, cell: Cell) -> Cells | None:
    """The free cells of a bare sheet for shapes with half the spacing round them; None where it has no room."""
    half = empty.spacing / 2
    if empty.open.is_empty:
        return None
    wide = empty.open.buffer(half, join_style="mitre") if half else empty.open
    if not empty.plain and abs(wide.buffer(-half, join_style="mitre").area - empty.open.area) > 1.0:
        wide = empty.open  # a slit narrower than the spacing would be closed: its edges keep half the spacing more
    return Cells(wide, cell)


@dataclass
class Filling:
    """A sheet that is being filled."""

    shapes: Shapes
    cells: Cells
    placed: list[Placed] = field(default_factory=list)
    starts: dict[tuple[str, float], int] = field(default_factory=dict)

    def add(self, copy: Copy) -> bool:
        """Lay a copy where its far end lies least far along the sheet; whether it found room."""
        best: tuple[float, int, int, float, Mask] | None = None
        for turn, shape in self.shapes.ways(copy):
            key = (copy.piece.id, turn)
            spot = self.cells.find(shape, self.starts.get(key, 0))
            self.starts[key] = spot[0] if spot else len(self.cells.columns)
            if spot and (best is None or (spot[0] + shape.columns, spot[1]) < best[:2]):
                best = (spot[0] + shape.columns, spot[1], spot[0], turn, shape)
        if best is None:
            return False
        _, row, column, turn, shape = best
        self.cells.take(shape, column, row)
        x, y = self.cells.at(shape, column, row)
        self.placed.append(Placed(piece=copy.piece.id, copy=copy.number, turn=turn, x=round(x, 4), y=round(y, 4)))
        return True


def filled(shapes: Shapes, empty: Bare, queue: Sequence[Copy], until: float) -> list[Placed]:
    """One sheet with what it takes of the copies, tried in their order, until the time is over."""
    cells = cells_of(empty, shapes.cell)
    if cells is None:
        return []
    filling = Filling(shapes, cells)
    refused: set[str] = set()
    too_large: list[tuple[float, ...]] = []
    for copy in queue:
        if copy.piece.id in refused:
            continue
        if time.monotonic() > until:
            break
        first = shapes.ways(copy)[0][1] if copy.turns else None
        if first is None or first.cells > cells.left:
            continue
        sides = (first.columns * shapes.cell.wide, first.rows * shapes.cell.high)
        size = (min(sides), max(sides), float(first.cells))
        if len(queue) > MANY and any(all(a >= b for a, b in zip(size, other, strict=True)) for other in too_large):
            continue
        if not filling.add(copy):
            refused.add(copy.piece.id)
            too_large.append(size)
    return filling.placed


def by_area(copies: Sequence[Copy]) -> list[Copy]:
    """The copies, largest first."""
    return sorted(copies, key=lambda c: (-outer_area(c), c.piece.id, c.number))
