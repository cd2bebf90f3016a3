"""What stays in a space over heel and trim, as contour lines of depth, and its plan with the pond at the worst of them.

In       a finished plan, one SpaceMap of it.
Out      water_map(): one A4 sheet; contours(), above(): lines and region of a level on a grid.
Not here the flood (check/pond.py), verdicts (check/ponds.py).

Between the attitudes looked at, depth is taken as linear on the two triangles of each cell of the grid.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from moldplan.check.seen_water import SpaceMap
from moldplan.quantity import plain
from moldplan.report.annotate import view_arrow
from moldplan.report.drawing import TEXT, Drawing, Mark, Point, Region, Text, Vertex, View, circle, polyline
from moldplan.report.graph import LAID, Axes, area, sheet
from moldplan.report.subject import Plan

if TYPE_CHECKING:
    import numpy as np

DEPTHS = (1.0, 10.0, 30.0)  # mm, besides the limit
PLACES = (0.5, 0.3, 0.7, 0.15, 0.85)  # shares of a line's length where its depth may stand
CRACK = 0.5  # mm, half of what is closed between triangles
LEAST = 1e-3  # mm2 of a triangle seen from above; less is a wall
Corner = tuple[float, float, float]


def water_map(plan: Plan, seen: SpaceMap) -> Drawing:
    """The sheet of one space; its box must have a width in heel and in trim."""
    low, high = area()
    middle = low[0] + 108.0
    grid, name = seen.open, seen.basin.space.name
    axes = Axes(across=(float(grid.heels[0]), float(grid.heels[-1])), upward=(float(grid.trims[0]),
                float(grid.trims[-1])), low=low, high=(middle, high[1]))  # fmt: skip
    marks: list[Mark] = axes.marks("heel [deg], starboard down positive", "trim [deg], bow up positive")
    marks += _region(axes, above(grid.heels, grid.trims, grid.depth[0], seen.depth))
    runs = [([axes(*p) for p in run], level) for level in sorted({*DEPTHS, seen.depth})
            for run in contours(grid.heels, grid.trims, grid.depth[0], level)]  # fmt: skip
    x, y = axes(seen.worst.heel, seen.worst.trim)
    marks += [circle((x, y), 1.8, "wide", fill="white"), circle((x, y), 0.7, "none", fill="black")]
    marks += _labelled(marks, runs, seen.depth)
    marks += _plan(seen, (middle + 12, low[1]), (LAID[0] - 18, high[1] - 76))
    drawn = {level for _, level in runs}
    others = ", ".join(plain(level, 1) for level in sorted(drawn - {seen.depth}))
    keys = [("wide", f"depth left {plain(seen.depth, 1)} mm, the limit; hatched: more")] if seen.depth in drawn else []
    keys += [("narrow", f"depth left {others} mm")] if others else []
    about = f"Depth of water left in {name} over heel and trim, and where it stands at the worst attitude."
    return sheet(plan, marks, part=name, name="Water left over heel and trim", said=_said(seen), about=about, keys=keys)


def _said(seen: SpaceMap) -> list[str]:
    grid = seen.open
    i, j = (int(abs(a - b).argmin()) for a, b in ((grid.heels, seen.worst.heel), (grid.trims, seen.worst.trim)))
    litres, depth = float(grid.litres[0, i, j]), float(grid.depth[0, i, j])
    safe = float((grid.depth[0] <= seen.depth).mean())
    where = f"heel {plain(seen.worst.heel, 1)}, trim {plain(seen.worst.trim, 1)} deg"
    return [f"Ring: most is left at {where}: {plain(litres, 2)} L, {plain(depth, 1)} mm deep. Below: the space from "
            "above with that water hatched, drains as circles.",
            f"Of the attitudes looked at {plain(100 * safe, 0)} % keep within the limit, all drains open."]


def _labelled(marks: Sequence[Mark], runs: Sequence[tuple[list[Point], float]], limit: float) -> list[Mark]:
    """The contour lines, each broken where its depth stands in it; a line with no room for words goes without."""
    from shapely import LineString, Polygon

    lines = [LineString(points) for points, _ in runs]
    areas = [Polygon(t.box()) for t in marks if isinstance(t, Text)]
    found: list[Mark] = []
    for k, (line, (_, level)) in enumerate(zip(lines, runs, strict=True)):
        others = [*areas, *lines[:k], *lines[k + 1:]]
        whole: Any = line
        for share in PLACES:
            at = line.interpolate(share, normalized=True)
            text = Text((at.x, at.y - TEXT * 0.3), plain(level, 1), anchor="middle", bold=level == limit, back=True)
            box = Polygon(text.box(0.6))
            if line.length > 12 and not any(box.intersects(other) for other in others):
                whole = line.difference(box)
                areas.append(box)
                found.append(text)
                break
        found += [polyline(list(part.coords), "wide" if level == limit else "narrow")
                  for part in getattr(whole, "geoms", [whole])]  # fmt: skip
    return found


def _plan(seen: SpaceMap, low: Point, high: Point) -> list[Mark]:
    """The space from above, the water in it, its drains."""
    surface = seen.basin.surface
    whole = _shadow(surface.vertices[surface.triangles])
    x0, y0, x1, y1 = whole.bounds
    scale = min((high[0] - low[0]) / (x1 - x0), (high[1] - low[1]) / (y1 - y0))
    at = ((low[0] + high[0] - (x1 - x0) * scale) / 2, (low[1] + high[1] - (y1 - y0) * scale) / 2)
    view = View(scale, at, (x0, y0))
    marks: list[Mark] = [polyline([view(*p) for p in ring], "wide", closed=True) for ring in _rings(whole)]
    if len(seen.water):
        wet = _shadow(seen.water)
        marks += _region(view, wet)
        marks += [polyline([view(*p) for p in ring], closed=True) for ring in _rings(wet)]
    marks += [circle(view(*d.rim[:2]), max(d.bore / 2 * scale, 1.0), "wide", fill="white")
              for d in seen.basin.space.drains]  # fmt: skip
    return [*marks, *view_arrow((high[0] - 18, high[1] + 8), "FWD", 0.0)]


def _shadow(triangles: np.ndarray) -> Any:
    """The union of triangles (n, 3, 3) seen from above, walls left out."""
    import shapely

    faces = shapely.polygons(triangles[:, :, :2])
    whole = shapely.union_all(faces[shapely.area(faces) > LEAST], grid_size=1e-3)  # else GEOS loses thin ones
    return whole.buffer(CRACK, join_style="mitre").buffer(-CRACK, join_style="mitre").simplify(0.05)


def _rings(shape: Any) -> list[list[Point]]:
    parts = [p for p in getattr(shape, "geoms", [shape]) if p.geom_type == "Polygon" and not p.is_empty]
    return [[(x, y) for x, y, *_ in ring.coords][:-1] for p in parts for ring in (p.exterior, *p.interiors)]


def _region(view: Axes | View, shape: Any) -> list[Mark]:
    loops: tuple[tuple[Vertex, ...], ...] = tuple(tuple((*view(*p), 0.0) for p in ring) for ring in _rings(shape))
    return [Region(loops, "board")] if loops else []


def contours(across: np.ndarray, upward: np.ndarray, values: np.ndarray, level: float) -> list[list[Point]]:
    """Lines at a level of values (len(across), len(upward)), chained; the longest first."""
    from shapely import LineString, line_merge, union_all

    pieces = []
    for corners in _triangles(across, upward, values):
        ends = [_between(p, q, level) for p, q in _sides(corners) if (p[2] > level) != (q[2] > level)]
        if len(ends) == 2 and ends[0] != ends[1]:
            pieces.append(LineString(ends))
    if not pieces:
        return []
    merged: Any = line_merge(union_all(pieces))
    runs = sorted(getattr(merged, "geoms", [merged]), key=lambda run: -run.length)
    return [[(x, y) for x, y in run.coords] for run in runs]


def above(across: np.ndarray, upward: np.ndarray, values: np.ndarray, level: float) -> Any:
    """The area where values lie over a level, as a shapely shape."""
    from shapely import Polygon, union_all

    pieces = []
    for corners in _triangles(across, upward, values):
        points: list[Point] = []
        for p, q in _sides(corners):
            if p[2] > level:
                points.append((p[0], p[1]))
            if (p[2] > level) != (q[2] > level):
                points.append(_between(p, q, level))
        if len(points) >= 3:
            pieces.append(Polygon(points))
    return union_all(pieces)


def _triangles(across: np.ndarray, upward: np.ndarray, values: np.ndarray) -> Iterator[tuple[Corner, Corner, Corner]]:
    for i in range(len(across) - 1):
        for j in range(len(upward) - 1):
            a, b, c, d = ((float(across[k]), float(upward[m]), float(min(values[k, m], 1e6)))
                          for k, m in ((i, j), (i + 1, j), (i + 1, j + 1), (i, j + 1)))  # fmt: skip
            yield a, b, c
            yield a, c, d


def _sides(corners: tuple[Corner, Corner, Corner]) -> tuple[tuple[Corner, Corner], ...]:
    a, b, c = corners
    return (a, b), (b, c), (c, a)


def _between(p: Corner, q: Corner, level: float) -> Point:
    """Where a side crosses the level; the same from either end, so that neighbours meet."""
    p, q = sorted((p, q))
    share = (level - p[2]) / (q[2] - p[2])
    return p[0] + share * (q[0] - p[0]), p[1] + share * (q[1] - p[1])
