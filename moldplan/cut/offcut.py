"""What is left of a sheet in pieces worth keeping.

In       a sheet with its placed pieces, the spacing.
Out      the largest upright rectangles that nothing touches, and how they are said.
Not here finding rectangles in a shape (rectangles.py), drawing them.

An offcut keeps the spacing from every piece, as if it were one, and lies off every defect; it may reach to the edge.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

from moldplan.cut.bare import ROUND, grown
from moldplan.cut.bed import DOWEL, WALL
from moldplan.cut.loop import on_sheet, sampled, swollen
from moldplan.cut.piece import Piece, Sheet
from moldplan.cut.rectangles import Rectangle, largest

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

SHORT, LONG = 150.0, 300.0  # an offcut with smaller sides is waste [mm]; ours
MOST = 3  # offcuts told of one sheet
STRIPS = 60
Offcut = tuple[float, float, float, float]  # x and y of its lower left corner, length, width


def left(sheet: Sheet, pieces: Mapping[str, Piece], spacing: float) -> BaseGeometry:
    """The part of a sheet that is free of pieces, with the spacing round them, of defects and of dowel holes."""
    import shapely

    whole = (
        shapely.box(0, 0, *sheet.size) if sheet.edge is None
        else shapely.Polygon(sampled(sheet.edge, ROUND))
    )  # fmt: skip
    shapes = [shapely.Polygon(swollen(on_sheet(pieces[p.piece], p).outer, 0.2)) for p in sheet.placed]
    holes = [shapely.Point(at).buffer(DOWEL / 2 + WALL) for stage in sheet.stages for at in stage.drill]
    taken = [shape.buffer(spacing, join_style="mitre", mitre_limit=1.5) for shape in shapes]
    return whole.difference(shapely.union_all([*taken, *(grown(d, 0.0) for d in sheet.defects), *holes]))


def offcuts(sheet: Sheet, pieces: Mapping[str, Piece], spacing: float, most: int = MOST) -> tuple[Offcut, ...]:
    """The largest rectangle, then the largest beside it, and so on; none smaller than is worth keeping."""
    free = left(sheet, pieces, spacing)
    found: list[Offcut] = []
    while len(found) < most:
        best = largest(free, strips=STRIPS)
        if best is None:
            break
        x0, y0, x1, y1 = stretched(best, free)
        length, width = math.floor((x1 - x0) * 10 + 1e-6) / 10, math.floor((y1 - y0) * 10 + 1e-6) / 10
        if min(length, width) < SHORT or max(length, width) < LONG:
            break
        # towards the far end of the sheet: what floor() takes off is taken off at the pieces' side
        found.append((round(x1 - length, 4), round(y1 - width, 4), length, width))
        free = free.difference(_box((x0, y0, x1, y1)))
    return tuple(found)


def stretched(rectangle: Rectangle, free: BaseGeometry) -> Rectangle:
    """A rectangle in a free shape made as large as it can be, one side after the other."""
    x0, y0, x1, y1 = rectangle
    low_x, low_y, high_x, high_y = free.bounds
    closed = _box((low_x - 1, low_y - 1, high_x + 1, high_y + 1)).difference(free)
    x0 = max((b[2] for b in _blocks(closed, (low_x - 1, y0, x0, y1))), default=x0)
    x1 = min((b[0] for b in _blocks(closed, (x1, y0, high_x + 1, y1))), default=x1)
    y0 = max((b[3] for b in _blocks(closed, (x0, low_y - 1, x1, y0))), default=y0)
    y1 = min((b[1] for b in _blocks(closed, (x0, y1, x1, high_y + 1))), default=y1)
    return (x0, y0, x1, y1)


def _blocks(closed: BaseGeometry, band: Rectangle) -> list[Rectangle]:
    """Boxes of what stands in a band."""
    import shapely

    met = closed.intersection(_box(band))
    return [part.bounds for part in shapely.get_parts(met).tolist() if part.area > 1e-9]


def _box(rectangle: Rectangle) -> BaseGeometry:
    import shapely

    return shapely.box(*rectangle)


def left_words(sheet: Sheet) -> str:
    """The offcuts of a sheet as a builder writes them on: "950 x 1220, 400 x 300 mm"; empty when none is left."""
    sizes = [f"{int(length)} x {int(width)}" for _, _, length, width in sheet.offcuts]
    return f"{', '.join(sizes)} mm" if sizes else ""
