"""A cradle from above in its locker: block, seats or ribs, limbers, straps, the locker's walls and its lid's opening.

In       a finished plan, the name of a cradle.
Out      cradle(): one A4 sheet.
Not here sections (section.py, across.py).

Each body is cut at a level of its own where its outline in plan is what a builder would mark; bow to the right.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from moldplan.quantity import plain
from moldplan.report import slice as slicing
from moldplan.report.annotate import A4, Column, Title, dimension, frame, free_area, scale_word, table, view_arrow
from moldplan.report.drawing import (
    TEXT,
    Curve,
    Drawing,
    Mark,
    PenName,
    Point,
    Text,
    Vertex,
    View,
    circle,
    flattened,
    line,
)
from moldplan.report.place import placed
from moldplan.report.shadow import shadow
from moldplan.report.slice import Plane
from moldplan.report.straps import strap_words
from moldplan.report.subject import Plan, chains_of, hand_of, hand_word, one, size
from moldplan.shape.assembly import Opening, Room, Stand
from moldplan.shape.body import Body, Frame

SCALES = (1.0, 0.5, 0.2, 0.1, 0.05, 0.02)
PENS: dict[str, PenName] = {"part": "wide", "cylinder": "narrow", "tube": "hidden", "strap": "narrow", "eye": "narrow",
                            "surroundings": "wide"}  # fmt: skip
COLUMNS = (Column("stand", 26), Column("forward", 19, "end"), Column("to port", 19, "end"), Column("turn", 18, "end"),
           Column("mouth Ø or ribs", 20, "end"))  # fmt: skip
LAID = (A4[1], A4[0])  # a landscape sheet
SIDE = 98.0  # mm at its right for names and the table


def cradle(plan: Plan, name: str) -> Drawing:
    """The sheet of one cradle; of a mirrored pair the first is drawn."""
    stands = _stands(plan, name)
    hand = hand_of(plan, stands[0])
    bodies = [b for b in plan.assembly.bodies.values() if b.path[:2] == ("cradles", name) and b.hand == hand]
    room = plan.assembly.rooms.get(stands[0].room or "")
    runs = [(body, loop) for body in bodies if body.kind in PENS for loop in _outline(body)]
    walls = [(body, loop) for body in _walls(plan, room) for loop in _outline(body, _between(room))]
    (left, low), (right, high) = free_area(*LAID)
    block = plan.spec.cradles[name].block
    base = next(b for b in bodies if b.kind == "part" and len(b.path) == 2)
    view, scale = _fitted([*runs, *walls], (left + 22, low), (right - SIDE - 4, high - 8))
    marks: list[Mark] = []
    for body, loop in (*walls, *runs):
        pen: PenName = "hidden" if body.kind == "part" and len(body.path) > 2 else PENS[body.kind]
        marks.append(Curve(view.loop(loop), closed=True, pen=pen))
    if room and room.opening:
        marks.append(Curve(view.loop(_opening(room.opening)), closed=True, pen="axis"))
    marks += _sizes(plan, base.frame, block, view, [*runs, *walls])
    marks += _centres(plan, stands, view)
    marks += view_arrow((right - 26, high - 16), "FWD", 0.0)
    marks += view_arrow((right - 20, high - 24), "UP", None, away=False)
    heading = f"From above, {scale_word(scale)}"
    marks.append(Text((left, high - TEXT), heading, 4.2, bold=True))
    tips = _tips(plan, stands, room, view, runs)
    rows = [_row(plan, stand, base.frame) for stand in stands]
    corner = "From the block's aft starboard corner along the block [mm]"
    _, tall = table((right - SIDE, high), SIDE, corner, COLUMNS, rows)
    below, _ = table((right - SIDE, low + tall), SIDE, corner, COLUMNS, rows)
    marks += placed(marks, tips, column=right - SIDE + 4, top=high - 24, low=low + tall + 10)
    title = Title(title=plan.spec.title, part=name, drawing="Cradle from above", revision=plan.spec.revision,
                  scale=scale_word(scale), hand=hand_word(plan, stands[0].path, hand),
                  units="mm (inches)" if plan.spec.units == "inch" else "mm")  # fmt: skip
    about = f"The cradle {name} from above, scale {scale_word(scale)}, bow to the right."
    return Drawing(*LAID, (*frame(*LAID, title), *marks, *below), f"{name}: from above", about)


def _stands(plan: Plan, name: str) -> list[Stand]:
    found = [stand for stand in plan.assembly.stands if stand.path[:2] == ("cradles", name)]
    return [stand for stand in found if stand.hand == found[0].hand]


def _walls(plan: Plan, room: Room | None) -> list[Body]:
    return [plan.assembly.body(name) for name in room.walls] if room else []


def _between(room: Room | None) -> float | None:
    return (room.low[2] + room.high[2]) / 2 if room else None


def _outline(body: Body, level: float | None = None) -> list[tuple[Vertex, ...]]:
    """The body cut level where it shows itself best: cylinders and fittings in their middle, parts under their top."""
    if body.kind == "strap" and "chocks" in body.path:  # it lies over the cylinder: seen whole
        return [tuple((x, y, 0.0) for x, y in loop) for loop in shadow(body.solid)]
    box = body.solid.BoundingBox()
    if level is None:
        middle = (box.zmin + box.zmax) / 2
        tall = box.zmax - box.zmin
        if body.kind != "part":
            level = middle
        else:  # a block under its rim, a rib between its notch and its arc
            level = box.zmax - min(8.0, tall / 4) if len(body.path) == 2 else box.zmin + tall / 4
    plane = Plane(Frame((0.0, 0.0, level)), (box.xmin - 1, box.ymin - 1), (box.xmax + 1, box.ymax + 1))
    return list(slicing.cut(body.solid, plane))


def _fitted(runs: Sequence[tuple[Body, tuple[Vertex, ...]]], low: Point, high: Point) -> tuple[View, float]:
    points = [p for _, loop in runs for p in flattened(loop, closed=True)]
    left, right = min(p[0] for p in points), max(p[0] for p in points)
    down, up = min(p[1] for p in points), max(p[1] for p in points)
    wide, tall = high[0] - low[0], high[1] - low[1] - 22
    scale = next((s for s in SCALES if (right - left) * s <= wide and (up - down) * s <= tall), SCALES[-1])
    at = (low[0] + (wide - (right - left) * scale) / 2, high[1] - (up - down) * scale - 2)
    return View(scale, at, (left, down)), scale


def _opening(opening: Opening) -> tuple[Vertex, ...]:
    """The lid's clear opening as a loop with rounded corners."""
    (cx, cy), (length, width), r = opening.centre, opening.size, opening.corner_radius
    x, y, turn = length / 2, width / 2, math.tan(math.pi / 8)
    if r <= 0:
        return ((cx - x, cy - y, 0.0), (cx + x, cy - y, 0.0), (cx + x, cy + y, 0.0), (cx - x, cy + y, 0.0))
    return (
        (cx - x + r, cy - y, 0.0), (cx + x - r, cy - y, turn), (cx + x, cy - y + r, 0.0), (cx + x, cy + y - r, turn),
        (cx + x - r, cy + y, 0.0), (cx - x + r, cy + y, turn), (cx - x, cy + y - r, 0.0), (cx - x, cy - y + r, turn),
    )  # fmt: skip


def _sizes(plan: Plan, at: Frame, block: tuple[float, float, float], view: View,
           runs: Sequence[tuple[Body, tuple[Vertex, ...]]]) -> list[Mark]:  # fmt: skip
    """Length and width of the block, along its own sides, outside everything that is drawn."""
    length, width, _ = block
    corners = [at.place((x, y, 0.0)) for x, y in ((0, 0), (length, 0), (0, width))]
    a, b, c = (view(p[0], p[1]) for p in corners)
    turn = math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))
    spots = [view(*p) for _, loop in runs for p in flattened(loop, closed=True)]

    def beyond(way: float) -> float:
        """How far the drawing reaches from corner a along a direction [deg], and room for the dimension."""
        x, y = math.cos(math.radians(way)), math.sin(math.radians(way))
        return max((p[0] - a[0]) * x + (p[1] - a[1]) * y for p in spots) + 10

    return [*dimension(a, b, f"block {size(plan, length)}", shift=-beyond(turn - 90), turn=turn),
            *dimension(a, c, f"{size(plan, width)}", shift=beyond(turn + 180), turn=turn + 90)]  # fmt: skip


def _centres(plan: Plan, stands: Sequence[Stand], view: View) -> list[Mark]:
    """Axes through each stand, and for a seat its floor as finished."""
    marks: list[Mark] = []
    for stand in stands:
        x, y = view(*stand.frame.origin[:2])
        reach = (stand.cylinder.radius + 5 / view.scale) * view.scale
        if stand.kind == "chock":
            far = stand.frame.place((0.0, 0.0, stand.cylinder.height))
            marks.append(line((x, y), view(far[0], far[1]), "axis"))
            continue
        marks += [line((x - reach, y), (x + reach, y), "axis"), line((x, y - reach), (x, y + reach), "axis")]
        chain = one(chains_of(plan, stand.path), "per_side", "floor")
        if chain:
            marks.append(circle((x, y), chain.upto("F") * view.scale))
    return marks


def _tips(plan: Plan, stands: Sequence[Stand], room: Room | None, view: View,
          runs: Sequence[tuple[Body, tuple[Vertex, ...]]]) -> list[tuple[Point, str]]:  # fmt: skip
    """What is named on the plan."""
    tips: list[tuple[Point, str]] = []
    for stand in stands:
        spot = stand.frame.origin if stand.kind == "seat" else stand.frame.place((0, 0, stand.cylinder.height / 2))
        r = stand.cylinder.radius * 0.4
        tips.append((view(spot[0] + r, spot[1] + r), stand.name.rpartition(".")[2]))
    for stand in stands:
        if straps := strap_words(plan, stand):
            tips.append((_on_edge(view, [loop for body, loop in runs if body.name == stand.straps[0]]), straps))
    for kind, words in {"tube": "limber", "eye": "strap eye"}.items():
        ones = [loop for body, loop in runs if body.kind == kind]
        if ones:
            tips.append((_on_edge(view, ones), words))
    if room:
        tips.append((view(room.high[0], room.low[1] + 0.8 * (room.high[1] - room.low[1])), f"{room.name}"))
        if room.opening:
            (cx, cy), (length, _) = room.opening.centre, room.opening.size
            tips.append((view(cx + length / 2, cy), "lid's clear opening"))
    return tips


def _on_edge(view: View, loops: Sequence[tuple[Vertex, ...]]) -> Point:
    """A point on the first of a body's outlines."""
    points = flattened(loops[0], closed=True)
    return view(*points[len(points) // 2])


def _ribs(plan: Plan, stand: Stand) -> str:
    """How many ribs, and how far apart their middles are: "2 at 243"."""
    places = [plan.assembly.body(name).frame.origin for name in stand.hosts]
    if len(places) < 2:
        return f"{len(places)}"
    return f"{len(places)} at {size(plan, math.dist(places[0], places[1]))}"


def _row(plan: Plan, stand: Stand, block: Frame) -> list[str]:
    """A row of the table: the stand's place along the block's own axes."""
    spot = stand.frame.origin
    if stand.kind == "chock":  # midway between its ribs
        ribs = [plan.assembly.body(name).frame.origin for name in stand.hosts]
        spot = tuple(sum(axis) / len(ribs) for axis in zip(*ribs, strict=True))
    d = [a - b for a, b in zip(spot, block.origin, strict=True)]
    forward, port = (sum(p * q for p, q in zip(d, way, strict=True)) for way in (block.x, block.y))
    chain = one(chains_of(plan, stand.path), "diameter", "rim")
    part = plan.spec.cradles[str(stand.path[1])]
    own = part.seats.get(str(stand.path[3])) or part.chocks[str(stand.path[3])]
    mouth = size(plan, chain.upto("F")) if chain else _ribs(plan, stand)
    return [stand.name.rpartition(".")[2], size(plan, forward), size(plan, port), f"{plain(own.turn)} deg", mouth]
