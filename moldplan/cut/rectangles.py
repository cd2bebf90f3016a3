"""The largest upright rectangles in a free shape: where boxes may go, and what offcut is left.

In       a polygon with holes [mm].
Out      rectangles (x low, y low, x high, y high) wholly inside it.
Not here what the shape is: bare.py, offcut.py.

The shape is cut into upright strips at its corners; in a strip the heights that are free over its whole width are
intervals, and a rectangle over several strips takes what is free in all of them. Upright edges are met exactly; along
slants and arcs a rectangle errs to the small side, by a strip's width at most.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

Rectangle = tuple[float, float, float, float]  # x low, y low, x high, y high
Interval = tuple[float, float]
SAME = 1e-6  # lengths nearer than this are one [mm]


def rectangles(shape: BaseGeometry, *, strips: int, least: float = 1.0) -> list[Rectangle]:
    """Every upright rectangle in the shape that lies in no other, sides over `least`; at most about `strips` strips."""
    breaks = _breaks(shape, strips)
    free = _free(shape, breaks)
    found: list[Rectangle] = []
    for i, start in enumerate(free):
        open_ = start
        for j in range(i, len(free)):
            common = open_ if j == i else _common(open_, free[j])
            before = free[i - 1] if i else []
            after = _common(common, free[j + 1]) if j + 1 < len(free) else []
            for low, high in common:
                if high - low < least or breaks[j + 1] - breaks[i] < least:
                    continue
                if not _held(before, low, high) and not _held(after, low, high):
                    found.append((breaks[i], low, breaks[j + 1], high))
            open_ = common
            if not open_:
                break
    return found


def largest(shape: BaseGeometry, *, strips: int) -> Rectangle | None:
    """The upright rectangle of the greatest area; of two alike the one farther along. None for an empty shape."""
    if shape.is_empty:
        return None
    breaks = _breaks(shape, strips)
    free = _free(shape, breaks)
    tallest = [max((high - low for low, high in each), default=0.0) for each in free]
    best: Rectangle | None = None
    most = 0.0
    for i, start in enumerate(free):
        open_, height = start, tallest[i]
        if height * (breaks[-1] - breaks[i]) < most - SAME:
            continue
        for j in range(i, len(free)):
            open_ = open_ if j == i else _common(open_, free[j])
            if not open_:
                break
            low, high = max(open_, key=lambda each: each[1] - each[0])
            wide = breaks[j + 1] - breaks[i]
            if wide * (high - low) > most - SAME:
                best, most = (breaks[i], low, breaks[j + 1], high), max(most, wide * (high - low))
            if (high - low) * (breaks[-1] - breaks[i]) < most - SAME:
                break
    return best


def _breaks(shape: BaseGeometry, strips: int) -> list[float]:
    """Where the strips part: at upright edges first, then at corners, then evenly between."""
    import shapely

    if shape.is_empty:
        return []
    low, _, high, _ = shape.bounds
    upright: set[float] = {low, high}
    corners: set[float] = set()
    for part in shapely.get_parts(shape).tolist():
        for ring in (part.exterior, *part.interiors) if part.geom_type == "Polygon" else ():
            points = shapely.get_coordinates(ring).tolist()
            for (ax, ay), (bx, by) in zip(points, points[1:], strict=False):
                corners.add(ax)
                if abs(ax - bx) < SAME and abs(ay - by) > 1:
                    upright.add(ax)
    kept = sorted(upright)
    gap = (high - low) / strips
    more = [low + gap * k for k in range(1, strips)] if corners - upright else []
    for x in (*sorted(corners), *more):
        place = bisect_left(kept, x)
        if kept[place] - x > gap * 0.6 and x - kept[place - 1] > gap * 0.6:
            kept.insert(place, x)
    return [x for k, x in enumerate(kept) if k == 0 or x - kept[k - 1] > SAME]


def _free(shape: BaseGeometry, breaks: Sequence[float]) -> list[list[Interval]]:
    """For each strip the heights that are free over its whole width, lowest first."""
    import shapely

    if len(breaks) < 2:
        return []
    _, low, _, high = shape.bounds
    boxes = [shapely.box(a, low - 1, b, high + 1) for a, b in zip(breaks, breaks[1:], strict=False)]
    found = []
    for closed in shapely.difference(boxes, shape):
        spans = sorted((part.bounds[1], part.bounds[3]) for part in shapely.get_parts(closed).tolist()
                       if part.area > SAME * SAME and part.bounds[2] - part.bounds[0] > SAME)  # fmt: skip
        free: list[Interval] = []
        at = low
        for start, end in spans:
            if start - at > SAME:
                free.append((at, start))
            at = max(at, end)
        if high - at > SAME:
            free.append((at, high))
        found.append(free)
    return found


def _common(a: Sequence[Interval], b: Sequence[Interval]) -> list[Interval]:
    found = []
    i = j = 0
    while i < len(a) and j < len(b):
        low, high = max(a[i][0], b[j][0]), min(a[i][1], b[j][1])
        if high - low > SAME:
            found.append((low, high))
        if a[i][1] < b[j][1]:
            i += 1
        else:
            j += 1
    return found


def _held(intervals: Sequence[Interval], low: float, high: float) -> bool:
    return any(a <= low + SAME and b >= high - SAME for a, b in intervals)
