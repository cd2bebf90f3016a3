"""What a cut material looks like: one hatch each, everywhere.

In       a Region (loops on paper, its material).
Out      Curves: foam sparse dots, board slanting lines, plug wider ones the other way, rubber close ones the other
         way, paste crossed lines, skin solid (and never thinner than the wide line), plain nothing.
Not here which body is of which material (section.py).

Hatches are worked out here as lines, not left to a viewer's patterns, so that SVG and PDF show the same.
"""

from __future__ import annotations

import math
from typing import Any

from moldplan.report.drawing import Curve, Region, polygon

DOT = 0.42  # across a foam dot [mm]
DOT_STEP = 3.2  # between dots along a row; rows stand half as far apart


def hatched(region: Region) -> tuple[Curve, ...]:
    """The marks that fill a region."""
    match region.material:
        case "skin":  # the outline at wide width keeps a thin skin visible
            return tuple(Curve(loop, closed=True, pen="wide") for loop in region.loops) + (_solid(region),)
        case "foam":
            return _dots(region)
        case "board":
            return _lines(region, turn=45, step=2.2)
        case "plug":
            return _lines(region, turn=-45, step=3.0)
        case "rubber":
            return _lines(region, turn=-45, step=0.9)
        case "paste":
            return _lines(region, turn=45, step=1.6) + _lines(region, turn=-45, step=1.6)
        case _:
            return ()


def _solid(region: Region) -> Curve:
    """All loops as one black area, holes left open by the even-odd rule."""
    vertices = tuple(vertex for loop in region.loops for vertex in (*loop, (math.nan, math.nan, 0.0)))
    return Curve(vertices, closed=True, pen="none", fill="black")


def _dots(region: Region) -> tuple[Curve, ...]:
    from shapely import contains_xy, prepare

    area = polygon(region.loops).buffer(-DOT * 0.8)
    if area.is_empty:
        return ()
    prepare(area)
    left, low, right, high = area.bounds
    dots, rise, radius = [], DOT_STEP / 2, DOT / 2
    for row in range(math.floor(low / rise), math.ceil(high / rise) + 1):
        shift = DOT_STEP / 2 if row % 2 else 0.0
        for column in range(math.floor(left / DOT_STEP) - 1, math.ceil(right / DOT_STEP) + 1):
            x, y = column * DOT_STEP + shift, row * rise
            if contains_xy(area, x, y):
                dots.append(((x + radius, y, 1.0), (x - radius, y, 1.0)))
    return _together(dots, fill="black")


def _lines(region: Region, *, turn: float, step: float) -> tuple[Curve, ...]:
    from shapely import LineString

    area = polygon(region.loops)
    if area.is_empty:
        return ()
    cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    left, low, right, high = area.bounds
    across = [y * cos - x * sin for x in (left, right) for y in (low, high)]
    along = [x * cos + y * sin for x in (left, right) for y in (low, high)]
    strokes = []
    for k in range(math.ceil(min(across) / step), math.floor(max(across) / step) + 1):
        offset = k * step
        ends = [(s * cos - offset * sin, s * sin + offset * cos) for s in (min(along) - 1, max(along) + 1)]
        for piece in _parts(area.intersection(LineString(ends))):
            strokes.append(tuple((x, y, 0.0) for x, y in piece.coords))
    return _together(strokes, closed=False)


def _parts(found: Any) -> list[Any]:
    return [p for p in getattr(found, "geoms", [found]) if p.geom_type == "LineString" and p.length > 1e-6]


def _together(runs: list[Any], *, closed: bool = True, fill: Any = "none") -> tuple[Curve, ...]:
    """Many runs as one mark: a vertex of NaN lifts the pen."""
    if not runs:
        return ()
    vertices = tuple(vertex for run in runs for vertex in (*run, (math.nan, math.nan, 0.0)))
    return (Curve(vertices, closed=closed, pen="none" if fill != "none" else "hatch", fill=fill),)
