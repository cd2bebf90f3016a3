"""Pictures of the sheets: every piece where it lies, numbered, the margin kept free, what stays as offcut.

In       a finished plan with a Layout.
Out      pictures(): one Drawing a sheet, made once and handed on; overview(): all one below the other in one SVG
         and one PNG.
Not here laying out (cut/nest.py), the files a router takes (cut/dxf.py), where the numbers go (numbers.py).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from moldplan import quantity
from moldplan.cut.loop import bounds, on_sheet
from moldplan.cut.offcut import left_words
from moldplan.cut.piece import Loop, Outline, Piece, Sheet, Stage
from moldplan.cut.stages import DOWEL
from moldplan.cut.sunk import islands
from moldplan.report.drawing import (
    TEXT,
    Anchor,
    Curve,
    Drawing,
    Mark,
    PenName,
    Point,
    Text,
    View,
    circle,
    circle_loop,
    fitted,
    flattened,
    line,
    polygon,
    rectangle,
    wrapped,
)
from moldplan.report.ink import svg
from moldplan.report.ink_png import png
from moldplan.report.numbers import Wish, labelled
from moldplan.report.subject import Plan
from moldplan.spec.model import Cutter

WIDTH, MARGIN, HEAD = 190.0, 4.0, 12.0
BROAD = 277.0  # mm, the free width of A4 lying
BROADEST = 400.0  # mm, that of A3
BAND = 12.0  # mm bare round a sheet whose numbers stand outside it
FINE = 3.0  # mm on paper; what is sunk and smaller is drawn unbroken
BAR = 1.6  # mm on paper, across the outline where a bridge is
RIMS = 24  # places on what is sunk that a line to its words may start at
TICK = 5.0  # mm on paper, of the ticks at a stage's ends
LEADERS = 8  # numbers beside their pieces, more than which are too many for the narrow paper


def overview(plan: Plan, path: Path, drawn: Sequence[Drawing]) -> None:
    """All sheets `drawn` (pictures()) into one SVG at `path` and a PNG beside it; nothing when there are none."""
    if drawn:
        path.parent.mkdir(parents=True, exist_ok=True)
        whole = stacked(drawn, f"{plan.spec.title}: sheets")
        path.write_text(svg(whole), encoding="utf-8")
        png(whole, path.with_suffix(".png"))


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
    """One sheet with its pieces, to scale: on paper 190 mm wide, or wider where small pieces lie crowded on it."""
    for wide, margin in ((WIDTH, MARGIN), (BROAD, MARGIN)):
        drawing, missing = _laid(one, pieces, cutter, wide, margin, most=LEADERS)
        if not missing:
            return drawing
    drawing, missing = _laid(one, pieces, cutter, BROADEST, BAND, most=len(one.placed))
    return _told(drawing, missing) if missing else drawing


def _laid(one: Sheet, pieces: Mapping[str, Piece], cutter: Cutter, wide: float, margin: float, *, most: int
          ) -> tuple[Drawing, list[str]]:  # fmt: skip
    """The sheet on paper `wide`, bare for `margin` round it, at `most` so many numbers beside; what found no place."""
    (length, width), edge = one.size, cutter.edge_margin
    scale = (wide - 2 * margin) / length
    view = View(scale, (margin, margin))
    height = width * scale + 2 * margin + HEAD
    marks: list[Mark] = [rectangle(view(0, 0), view(length, width), "wide")] if one.edge is None else [
        Curve(view.loop(vertices(one.edge)), closed=True, pen="wide")]  # fmt: skip
    marks += [Curve(view.loop(vertices(d)), closed=True, pen="narrow", fill="mid") for d in one.defects]
    if 2 * edge < min(length, width) and one.edge is None:
        marks.append(rectangle(view(edge, edge), view(length - edge, width - edge), "hidden"))
    wishes: list[Wish] = []
    sunk: list[Wish] = []
    for placed in one.placed:
        piece = pieces[placed.piece]
        shape = on_sheet(piece, placed)
        outer = Curve(view.loop(vertices(shape.outer)), closed=True, pen="narrow", fill="pale")
        through = (*shape.holes, *(hole for hole, depth in shape.drilled if depth is None))
        holes = [Curve(view.loop(vertices(h)), closed=True, pen="narrow") for h in through]
        recesses, words = _sunk(shape, view)
        marks += [*_faced(outer, holes), *holes, *recesses]
        marks += [Curve(view.loop(vertices(h)), closed=True, pen="hidden") for h in (*shape.far, *shape.true)]
        marks += [_bar(view, *ends) for ends in shape.bridges]
        copies = f"{piece.id}.{placed.copy}" if piece.quantity > 1 else piece.id
        sunk += [Wish(said, at=at, home=len(wishes)) for said, at in words]
        wishes.append(Wish(copies, polygon([loop.vertices for loop in (outer, *holes)])))
    marks += _stages(view, one)
    rack = f" ({one.rack})" if one.rack else ""
    used = f"{100 * one.used:.0f} % of its area used"
    staged = f", cut in {len(one.stages)} stages" if len(one.stages) > 1 else ""
    bars = ", bars: bridges" if any(pieces[placed.piece].cut.bridges for placed in one.placed) else ""
    heading = f"{one.stock}, sheet {one.number}{rack}: {length:g} x {width:g} mm, {used}{staged}{bars}"
    marks.append(Text((margin, height - MARGIN - TEXT), fitted(heading, wide - 2 * margin, 4.0, True), 4.0, bold=True))
    marks += _offcuts(view, one)
    made = labelled([*wishes, *sunk], marks, (wide, height), most=most)
    missing = [wish.words if wish.home < 0 else f"{wishes[wish.home].words} {wish.words}" for wish in made.missing]
    drawing = Drawing(wide, height, (*marks, *made.marks), heading, ", ".join(wish.words for wish in wishes))
    return drawing, missing


def _stages(view: View, one: Sheet) -> list[Mark]:
    """Where each stretch that lies over the router's bed begins and ends, as ticks at its edges; dowel holes."""
    marks: list[Mark] = []
    for number, stage in enumerate(one.stages, 1):
        side, along = one.size[1 - stage.axis], one.size[stage.axis]
        for at, word in ((stage.low, "from"), (stage.high, "to")):
            if len(one.stages) > 1 and 0 < at < along:
                for foot, inward in ((0.0, 1), (side, -1)):
                    x, y = view(*((at, foot) if stage.axis == 0 else (foot, at)))
                    reach = (x, y + TICK * inward) if stage.axis == 0 else (x + TICK * inward, y)
                    marks.append(line((x, y), reach, "wide"))
                marks.append(_tick_words(view, stage, f"stage {number} {word} here", at, side, number % 2 == 1))
        marks += [circle(view(*spot), max(DOWEL / 2 * view.scale, 0.9), "wide", fill="white") for spot in stage.drill]
    return marks


def _tick_words(view: View, stage: Stage, words: str, at: float, side: float, first: bool) -> Text:
    """What a tick is, beside it; every other stage's ticks at the sheet's other edge: two that overlap lie near."""
    if stage.axis == 0:
        x, y = view(at, side if first else 0.0)
        anchor: Anchor = "start" if at == stage.low else "end"
        return Text((x, y + 0.8 if first else y - 2.8), words, 2.2, anchor=anchor)
    x, y = view(0.0 if first else side, at)
    spot = (x + TICK + 1, y - 0.8) if first else (x - TICK - 1, y - 0.8)
    return Text(spot, words, 2.2, anchor="start" if first else "end", back=True)


def _told(drawing: Drawing, missing: Sequence[str]) -> Drawing:
    """The drawing with what found no place named under its heading."""
    lines = wrapped(f"Not numbered, for want of room: {', '.join(missing)}.", drawing.width - 2 * MARGIN)
    top = drawing.height + len(lines) * TEXT * 1.4
    marks = [shifted(m, top - drawing.height) if isinstance(m, Text) and m.words == drawing.title else m
             for m in drawing.marks]  # fmt: skip
    marks += [Text((MARGIN, top - HEAD + 1 - (k + 1) * TEXT * 1.4), words) for k, words in enumerate(lines)]
    return replace(drawing, height=top, marks=tuple(marks))


def _faced(outer: Curve, holes: Sequence[Curve]) -> list[Mark]:
    """A piece's outline, grey but for its openings: these are left out by a seam that is not drawn, not painted over,
    for other pieces may lie in them."""
    if not holes:
        return [outer]
    x, y, _ = outer.vertices[0]
    walk = [*outer.vertices, (x, y, 0.0)]
    for hole in holes:
        a, b, _ = hole.vertices[0]
        walk += [*hole.vertices, (a, b, 0.0), (x, y, 0.0)]
    return [Curve(tuple(walk[:-1]), closed=True, pen="none", fill=outer.fill), replace(outer, fill="none")]


def _bar(view: View, a: Point, b: Point) -> Mark:
    """A bridge: a short bar across the outline, longer than life so that it is seen."""
    (ax, ay), (bx, by) = view(*a), view(*b)
    x, y, span = (ax + bx) / 2, (ay + by) / 2, math.dist((ax, ay), (bx, by))
    ux, uy = (by - ay) / span * BAR / 2, (ax - bx) / span * BAR / 2
    return line((x - ux, y - uy), (x + ux, y + uy), "wide")


def _offcuts(view: View, one: Sheet) -> list[Mark]:
    """The edges of what is left of a sheet and worth keeping, with its size where there is room for the words."""
    marks: list[Mark] = []
    for x, y, length, width in one.offcuts:
        marks.append(rectangle(view(x, y), view(x + length, y + width), "axis"))
        size = f"{int(length)} x {int(width)}"
        for words in (f"offcut {size}", size):
            if length * view.scale > 0.6 * TEXT * len(words) and width * view.scale > 1.5 * TEXT:
                marks.append(Text(view(x + length / 2, y + width / 2), words, anchor="middle"))
                break
    return marks


def vertices(loop: Loop) -> tuple[tuple[float, float, float], ...]:
    """A loop's vertices; a full circle as two half arcs."""
    return circle_loop(*loop.circle) if loop.circle is not None else loop.vertices


def _sunk(shape: Outline, view: View) -> tuple[list[Mark], list[tuple[str, tuple[Point, ...]]]]:
    """Recesses and blind holes in fine dashes; for each depth its words and where a line to them may start."""
    marks: list[Mark] = []
    found: dict[str, list[Curve]] = {}
    blind = [(loop, depth) for loop, depth in shape.drilled if depth is not None]
    kinds = (("sunk", shape.sinks, ""), ("bored", shape.bores, ""), ("drilled", blind, ""),
             ("sunk", shape.under, " from below"))
    for word, ones, side in kinds:
        stand = islands(ones)
        for loop, depth in ones:
            low_x, low_y, high_x, high_y = bounds(loop)
            fine: PenName = "hatch" if min(high_x - low_x, high_y - low_y) * view.scale < FINE else "sunk"
            curve = Curve(view.loop(vertices(loop)), closed=True, pen=fine)
            marks.append(curve)
            if (loop, depth) not in stand:
                found.setdefault(f"{word} {depth:.1f}{side}", []).append(curve)
    said = []
    for words, curves in found.items():
        count = f", {len(curves)} of them" if len(curves) > 1 else ""
        rims = [spot for curve in curves for spot in flattened(curve.vertices, closed=True)]
        said.append((words + count, tuple(rims[:: max(len(rims) // RIMS, 1)])))
    return marks, said


def used_words(plan: Plan) -> list[str]:
    """For each stock: how many sheets, against the least that the areas allow."""
    found = []
    for stock, counts in (plan.layout.fewest if plan.layout else {}).items():
        used, bound = counts.get("used"), counts.get("lower_bound")
        if used is not None and bound is not None:
            sheets = "sheet" if used == 1 else "sheets"
            rack = counts.get("on_hand", 0)
            taken = f" bought and {rack} from the rack" if rack else ""
            fewer = f"; {quantity.plain(bound)} might do" if bound else ""
            least = "; no layout does with fewer" if used == bound else fewer
            found.append(f"{stock}: {used} {sheets}{taken}{least}")
    return [*found, *offcut_words(plan)]


def offcut_words(plan: Plan) -> list[str]:
    """What is left of each sheet that something worth keeping is left of."""
    sheets = plan.layout.sheets if plan.layout else ()
    return [f"{one.stock}, sheet {one.number}: offcuts {left_words(one)}" for one in sheets if one.offcuts]

