"""Pictures of the sheets: every piece where it lies, numbered, the margin kept free, what stays as offcut.

In       a finished plan with a Layout.
Out      sheet(): one Drawing a sheet; overview(): all of them one below the other in one SVG.
Not here laying out (cut/nest.py), the files a router takes (cut/dxf.py).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from moldplan import quantity
from moldplan.cut.loop import bounds, on_sheet
from moldplan.cut.piece import Loop, Piece, Sheet
from moldplan.report.drawing import (
    TEXT,
    Curve,
    Drawing,
    Mark,
    Point,
    Text,
    View,
    circle_loop,
    fitted,
    flattened,
    line,
    polygon,
    rectangle,
)
from moldplan.report.ink import svg
from moldplan.report.subject import Plan
from moldplan.spec.model import Cutter

WIDTH, MARGIN, HEAD = 190.0, 4.0, 12.0
Box = tuple[float, float, float, float]  # left, low, right, high on paper
OFFCUT = 200.0  # mm, shorter than that is waste; ours


def overview(plan: Plan, path: Path) -> None:
    """All sheets into one SVG at `path`; nothing is written when no sheets were laid out."""
    drawings = pictures(plan)
    if drawings:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(svg(stacked(drawings, f"{plan.spec.title}: sheets")), encoding="utf-8")


def pictures(plan: Plan) -> list[Drawing]:
    """One drawing for each sheet."""
    pieces = {piece.id: piece for piece in plan.pieces}
    return [sheet(one, pieces, plan.spec.cutter) for one in (plan.layout.sheets if plan.layout else ())]


def stacked(drawings: Sequence[Drawing], title: str) -> Drawing:
    """Drawings one below the other as one."""
    height = sum(drawing.height for drawing in drawings)
    marks: list[Mark] = []
    top = height
    for drawing in drawings:
        top -= drawing.height
        marks += [shifted(mark, top) for mark in drawing.marks]
    return Drawing(max(d.width for d in drawings), height, tuple(marks), title)


def shifted(mark: Mark, up: float) -> Mark:
    """The mark moved up the paper."""
    if isinstance(mark, Text):
        return replace(mark, at=(mark.at[0], mark.at[1] + up))
    if isinstance(mark, Curve):
        return replace(mark, vertices=tuple((x, y + up, b) for x, y, b in mark.vertices))
    return replace(mark, loops=tuple(tuple((x, y + up, b) for x, y, b in loop) for loop in mark.loops))


def sheet(one: Sheet, pieces: Mapping[str, Piece], cutter: Cutter) -> Drawing:
    """One sheet with its pieces, to scale on paper 190 mm wide."""
    (length, width), margin = one.size, cutter.edge_margin
    scale = (WIDTH - 2 * MARGIN) / length
    view = View(scale, (MARGIN, MARGIN))
    height = width * scale + 2 * MARGIN + HEAD
    marks: list[Mark] = [rectangle(view(0, 0), view(length, width), "wide")]
    if 2 * margin < min(length, width):
        marks.append(rectangle(view(margin, margin), view(length - margin, width - margin), "hidden"))
    labels: list[tuple[str, tuple[Curve, ...]]] = []
    reach = 0.0
    for placed in one.placed:
        piece = pieces[placed.piece]
        shape = on_sheet(piece, placed)
        outer = Curve(view.loop(vertices(shape.outer)), closed=True, pen="narrow", fill="pale")
        holes = [Curve(view.loop(vertices(h)), closed=True, pen="narrow", fill="white") for h in shape.holes]
        marks += [outer, *holes]
        marks += [Curve(view.loop(vertices(h)), closed=True, pen="hidden") for h in shape.far]
        copies = f"{piece.id}.{placed.copy}" if piece.quantity > 1 else piece.id
        labels.append((copies, (outer, *holes)))
        reach = max(reach, bounds(shape.outer)[2])
    heading = f"{one.stock}, sheet {one.number}: {length:g} x {width:g} mm, {100 * one.used:.0f} % of its area used"
    marks.append(Text((MARGIN, height - MARGIN - TEXT), fitted(heading, WIDTH - 2 * MARGIN, 4.0, True), 4.0, bold=True))
    marks += _offcut(view, reach + cutter.spacing, (length, width))
    free = (1.0, 1.0, WIDTH - 1.0, height - HEAD)
    marks += _numbers(labels, marks, free)
    return Drawing(WIDTH, height, tuple(marks), heading, ", ".join(words for words, _ in labels))


def _offcut(view: View, start: float, size: tuple[float, float]) -> list[Mark]:
    """The edge of the untouched rest of a sheet and its size, where there is a usable one."""
    length, width = size
    if length - start < OFFCUT or (length - start) * view.scale < 30:
        return []
    middle = view((start + length) / 2, width / 2)
    words = f"offcut {length - start:.0f} x {width:.0f}"
    return [line(view(start, 0), view(start, width), "axis"), Text(middle, words, anchor="middle")]


def vertices(loop: Loop) -> tuple[tuple[float, float, float], ...]:
    """A loop's vertices; a full circle as two half arcs."""
    return circle_loop(*loop.circle) if loop.circle is not None else loop.vertices


def _numbers(labels: Sequence[tuple[str, tuple[Curve, ...]]], marks: Sequence[Mark], free: Box) -> list[Mark]:
    """Each piece's number inside it where it has room, else beside it with a short line, on the paper `free`."""
    from shapely import LineString, Polygon, unary_union

    lines = unary_union([LineString([*flattened(m.vertices, closed=m.closed), m.vertices[0 if m.closed else -1][:2]])
                         for m in marks if isinstance(m, Curve)])  # fmt: skip
    taken: list[Any] = [Polygon(m.box(0.25)) for m in marks if isinstance(m, Text)]
    found: list[Mark] = []
    areas = [polygon([loop.vertices for loop in loops]) for _, loops in labels]
    for words, area in zip((words for words, _ in labels), areas, strict=True):
        spots = _inside(area)
        best: Text | None = None
        for size in (TEXT, 3.0, 2.4):
            for x, y in spots:
                text = Text((x, y - size * 0.27), words, size, "middle", bold=True)
                box = Polygon(text.box(0.25))
                if area.contains(box) and not box.intersects(lines) and not any(box.intersects(t) for t in taken):
                    best = text
                    break
            if best:
                break
        if best is None:
            others = [each for each in areas if each is not area]
            best = _beside(words, area.representative_point(), lines, taken, others, free)
            found += _tie(area.representative_point(), best)
            taken += [LineString([v[:2] for v in m.vertices]).buffer(0.2) for m in found[-1:] if isinstance(m, Curve)]
        taken.append(Polygon(best.box(0.25)))
        found.append(best)
    return found


def _inside(area: Any) -> list[Point]:
    """Points to try for a number, the most open first."""
    from shapely import Point as Spot
    from shapely.ops import polylabel

    parts = sorted(getattr(area, "geoms", [area]), key=lambda p: -p.area)
    shape = parts[0]
    left, low, right, high = shape.bounds
    grid = [(left + (right - left) * i / 12, low + (high - low) * j / 12) for i in range(1, 12) for j in range(1, 12)]
    inner = [p for p in grid if shape.contains(Spot(p))]
    inner.sort(key=lambda p: (-round(shape.exterior.distance(Spot(p)), 1), p[1], p[0]))
    pole = polylabel(shape, tolerance=max(shape.length / 200, 0.05))
    return [(pole.x, pole.y), *inner]


def _beside(words: str, at: Any, lines: Any, taken: Sequence[Any], others: Sequence[Any], free: Box) -> Text:
    """A place for a number near a piece that has no room for it, its line across no other piece."""
    from shapely import LineString, Polygon
    from shapely import box as rectangle_of

    paper = rectangle_of(*free)

    x, y = at.x, at.y
    for reach in (half / 2 for half in range(4, 120)):
        for dx, dy in ((1, 0), (0, 1), (-1, 0), (0, -1), (1, 1), (-1, 1), (1, -1), (-1, -1)):
            text = Text((x + dx * reach, y + dy * reach), words, 3.0, "middle", bold=True)
            box = Polygon(text.box(0.3))
            tie = LineString([at, box.centroid])
            clear = paper.contains(box) and not box.intersects(lines)
            if clear and not any(tie.intersects(t) or box.intersects(t) for t in (*taken, *others)):
                return text
    return Text((x, y), words, 3.0, "middle", bold=True, back=True)


def _tie(start: Any, text: Text) -> list[Mark]:
    """A short line from a piece to its number, ending before the first letter."""
    from shapely import LineString, Polygon

    around = Polygon(text.box(0.5))
    way = LineString([start, around.centroid]).difference(around)
    return [line(way.coords[0], way.coords[-1])] if not way.is_empty else []


def used_words(plan: Plan) -> list[str]:
    """For each stock: how many sheets, against the least that the areas allow."""
    found = []
    for stock, counts in (plan.layout.fewest if plan.layout else {}).items():
        used, bound = counts.get("used"), counts.get("lower_bound")
        if used is not None and bound is not None:
            sheets = "sheet" if used == 1 else "sheets"
            found.append(f"{stock}: {used} {sheets}; by area alone {quantity.plain(bound)} would be the least")
    return found

