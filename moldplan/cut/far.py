"""The outlines of a piece's faces that differ from what is cut: marked, and dressed to.

In       the regions of a face, the loops that are cut.
Out      loops to mark; whether one of them is an opening that no cut square to the sheet makes.
Not here finding what is cut (flat.py).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from moldplan.cut.loop import area, faults, length, segments, tidied
from moldplan.cut.piece import Loop
from moldplan.cut.profile import Region, polygon
from moldplan.cut.segment import Segment, from_point

if TYPE_CHECKING:
    from shapely import Polygon

DIFFERS = 0.05  # outlines nearer than this are one [mm]


def differing(
    lump: Polygon, side: Sequence[Region], outer: Loop, holes: Sequence[Loop]
) -> tuple[list[Loop], list[Loop]]:
    """Outer loops and openings of one face, within a lump, that are not the loops that are cut."""
    cut = [outer, *holes]
    inside = [region for region in side if region.polygon.representative_point().within(lump)]
    outers = [part for region in inside if not among(region.outer, cut) for part in _beside(region.outer, cut)]
    return (outers, [hole for region in inside for hole in region.holes if not among(hole, cut)])


def _beside(loop: Loop, cut: Sequence[Loop]) -> list[Loop]:
    """The parts of a face's outline that lie apart from the cut, each closed straight: a line is not drawn twice."""
    lines = [s for other in cut for s in segments(other)]
    walk = segments(loop)
    apart = [min(from_point(line, s.middle) for line in lines) > DIFFERS for s in walk]
    if all(apart):
        return [loop]
    first = apart.index(False)
    runs: list[list[Segment]] = [[]]
    for index in range(first, first + len(walk)):
        if apart[index % len(walk)]:
            runs[-1].append(walk[index % len(walk)])
        elif runs[-1]:
            runs.append([])
    runs = [run for run in runs if run]
    if len(runs) == 1 and len(runs[0]) == 1:
        return [loop]  # one edge by itself would be closed by a line across the piece
    if len(runs) == 1 and not _joined_on([*runs, *runs], lines):
        return [loop]  # the same of several edges
    closed = [_closed(run) for run in runs]
    together = _closed([s for run in runs for s in run])
    if any(abs(area(part)) < DIFFERS * length(part) for part in closed) or _joined_on(runs, lines):
        closed = [together]  # the sides of a groove, or of a strip: the lines that join them are cut already
    return closed if not any(map(faults, closed)) else [loop]


def _joined_on(runs: Sequence[Sequence[Segment]], lines: Sequence[Segment]) -> bool:
    """Whether runs joined end to end by straight lines are joined along what is cut."""
    joints = [(run[-1].end, runs[(k + 1) % len(runs)][0].start) for k, run in enumerate(runs)]
    return len(runs) > 1 and all(
        min(from_point(line, ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)) for line in lines) < DIFFERS for a, b in joints
    )


def _closed(run: Sequence[Segment]) -> Loop:
    """Segments one after the other, joined by straight lines where they do not meet, and closed."""
    corners: list[tuple[float, float, float]] = []
    for index, s in enumerate(run):
        corners.append((*s.start, s.bulge))
        if math.dist(s.end, run[(index + 1) % len(run)].start) > 1e-6:
            corners.append((*s.end, 0.0))
    return tidied(Loop(tuple(corners)))


def among(loop: Loop, others: Iterable[Loop], within: float = DIFFERS) -> bool:
    """Whether a loop is one of the others, but for `within` [mm]."""
    shape = polygon(loop)
    return any(shape.hausdorff_distance(polygon(other)) <= within for other in others)


def is_mouth(loop: Loop, sunk: Sequence[Loop], within: float = DIFFERS) -> bool:
    """Whether a loop is that of something sunk, or of several beside each other, but for `within` [mm]."""
    import shapely

    if among(loop, sunk, within):
        return True
    shape = polygon(loop)
    floors = [polygon(one) for one in sunk if shape.buffer(within).covers(polygon(one))]
    if len(floors) < 2:
        return False
    return bool(shape.symmetric_difference(shapely.union_all(floors)).area < within / 5 * shape.length)


def marked(
    low: tuple[list[Loop], list[Loop]], high: tuple[list[Loop], list[Loop]], holes: Sequence[Loop],
    sunk: Sequence[Loop],
) -> tuple[tuple[Loop, ...], bool]:
    """The loops to mark, each once, and whether one of them is an opening that no cut square to the sheet makes."""
    kept: list[Loop] = []
    by_hand = False
    inner = [polygon(loop).representative_point() for loop in (*holes, *sunk)]
    for loop in (*low[0], *high[0]):
        if not among(loop, [*kept, *sunk], 0.01):  # an island in a recess is marked by the recess
            kept.append(loop)
    for loop in (*low[1], *high[1]):
        if among(loop, kept, 0.01) or is_mouth(loop, sunk, 0.01):
            continue  # marked already, or the mouth of a recess with upright walls
        kept.append(loop)
        by_hand = by_hand or not any(polygon(loop).contains(point) for point in inner)
    return tuple(kept), by_hand
