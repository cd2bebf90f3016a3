"""An insert that is built of frames: cut through its axis, seen on its mouth, with its frames and how it is put up.

In       a finished plan, a stand with frames, two corners on the paper.
Out      view(): name, scale, marks, description.
Not here inserts of discs (insert_view.py), the sheets frames are cut from (sheets.py).

The second view looks on the mouth as it lies in the boat, from above, a hair under the frames' upper edges: there the
frames that stand first run through and the others are seen with their slits.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from moldplan.cut.names import listed
from moldplan.report.annotate import Column, dimension, dimension_or_tip, scale_word, table, view_arrow
from moldplan.report.drawing import TEXT, Curve, Mark, Point, Region, Text, View, flattened, line, wrapped
from moldplan.report.place import placed
from moldplan.report.scene import Cut, arrows, drawn, meet
from moldplan.report.slice import Plane
from moldplan.report.subject import Plan, size
from moldplan.shape.assembly import Stand
from moldplan.shape.body import Body, Frame, Vector, loose_box
from moldplan.spec.frames import Framing

SCALES = (1.0, 0.5, 0.4, 0.2, 0.1, 0.05)
UNDER = 1.0  # mm under the mouth that the second view cuts
BETWEEN, HEAD, FOOT, TALL = 72.0, 32.0, 24.0, 80.0  # mm of paper beside both views, above and below them, and for them
COLUMNS = (Column("frames", 50), Column("length", 34, "end"), Column("height", 34, "end"),
           Column("off the axis, each side", 44, "end"), Column("slits", 40))  # fmt: skip
WIDE = ((-1e4, -1e4), (1e4, 1e4))


@dataclass(frozen=True)
class Row:
    """Frames of one set that are alike: they stand as far on either side of the axis."""

    bodies: tuple[Body, ...]
    length: float
    height: float
    off: float
    first: bool  # they stand, the others go over them


def view(plan: Plan, stand: Stand, low: Point, high: Point) -> tuple[str, str, list[Mark], str]:
    """Section and view on the mouth side by side, the table of frames and the steps of putting them up under them."""
    whole = plan.assembly.body(stand.tools[0])
    frames = [plan.assembly.body(name) for name in stand.frames]
    upright = Plane(Frame(stand.frame.origin, stand.frame.x, _cross(stand.frame.x, stand.frame.z)), *WIDE)
    (cut,) = meet(plan, [whole], upright)[:1]
    points = [p for loop in cut.loops for p in flattened(loop, closed=True)]
    wide, bottom, top = max(abs(p[0]) for p in points), min(p[1] for p in points), max(p[1] for p in points)
    room = (high[0] - low[0] - BETWEEN) / 2
    scale = next((s for s in SCALES if 2 * wide * s <= room and (top - bottom) * s <= TALL), SCALES[-1])
    base, reach = high[1] - HEAD, wide * scale
    at = View(scale, (low[0] + 4 + reach, base - (top - bottom) * scale), (0.0, bottom))
    marks = _section(plan, stand, cut, upright, at)
    middle = (high[0] - 14 - reach, base - reach)
    marks += _on_mouth(plan, stand, top, View(scale, middle))
    word = scale_word(scale)
    marks += [Text((low[0], high[1] - TEXT), f"Insert, through the axis, {word}", 4.2, bold=True),
              Text((high[0], high[1] - TEXT), "On its mouth, from above", 4.2, anchor="end", bold=True)]  # fmt: skip
    y = min(base - 2 * reach - FOOT, base - (top - bottom) * scale - 20)
    rows = [_cells(plan, row) for row in _alike(stand, frames)]
    sheet = f"{frames[0].stock} {size(plan, frames[0].thickness or 0.0, 2)}"
    under, tall = table((low[0], y), high[0] - low[0], f"Frames of {sheet}, in the order of setting up [mm]", COLUMNS,
                        rows)  # fmt: skip
    steps = _steps(whole.notes, (low[0], y - tall - 7), high[0] - low[0])
    return "Seat, insert", word, [*marks, *under, *steps], f"The insert of {stand.name}, built of frames, scale {word}."


def _section(plan: Plan, stand: Stand, cut: Cut, window: Plane, on: View) -> list[Mark]:
    """The covering in black, the frames in it, the sizes of the whole."""
    frames = meet(plan, [plan.assembly.body(name) for name in stand.frames], window)
    points = [p for loop in cut.loops for p in flattened(loop, closed=True)]
    bottom, top = min(p[1] for p in points), max(p[1] for p in points)
    floor, mouth = (max(p[0] for p in points if abs(p[1] - level) < 0.01) for level in (bottom, top))
    covering = _framing(plan, stand).covering
    marks: list[Mark] = [*_covering(cut, covering, on, open_top=True), *drawn(frames, window, on)]
    marks.append(line((on.at[0], on(0, bottom)[1] - 2), (on.at[0], on(0, top)[1] + 5), "axis"))
    marks += dimension(on(-mouth, top), on(mouth, top), f"Ø {size(plan, 2 * mouth)} mouth", shift=8)
    marks += dimension(on(-floor, bottom), on(floor, bottom), f"Ø {size(plan, 2 * floor)} flat of the floor", shift=-8)
    edge = on(mouth, 0)[0]
    tall, tips = dimension_or_tip((edge, on(0, bottom)[1]), (edge, on(0, top)[1]), size(plan, top - bottom), shift=8)
    marks += tall
    tips.append((on(0.8 * floor, bottom + covering / 2), f"covering {size(plan, covering)}"))
    marks += placed(marks, tips, column=edge + 14, top=on(0, top)[1] + 2, low=on(0, bottom)[1] - 5)
    return [*marks, *arrows(window, (on.at[0] + 60, on(0, top)[1] + HEAD - 15))]


def _covering(cut: Cut, thick: float, on: View, *, open_top: bool) -> list[Mark]:
    """The covering as a black band inside the outline, but for the mouth when it is cut upright; the outline itself."""
    from shapely.affinity import translate

    area = cut.area()
    whole = area.convex_hull  # without the air hole
    inner = whole.buffer(-thick, join_style="mitre")
    rest = area.difference(inner.union(translate(inner, 0, thick)) if open_top else inner)
    edge = [(x, y, 0.0) for x, y in whole.exterior.coords[:-1]]
    marks: list[Mark] = [Curve(on.loop(edge), closed=True, pen="narrow")]
    for part in getattr(rest, "geoms", [rest]):
        if part.geom_type == "Polygon" and part.area > 1.0:
            rings = [part.exterior, *part.interiors]
            marks.append(Region(tuple(tuple((*on(x, y), 0.0) for x, y in ring.coords[:-1]) for ring in rings), "skin"))
    return marks


def _on_mouth(plan: Plan, stand: Stand, top: float, on: View) -> list[Mark]:
    """Both sets a hair under their upper edges, the outlines of mouth and floor, each frame's number at its end."""
    own = Frame(tuple(o + z * (top - UNDER) for o, z in zip(stand.frame.origin, stand.frame.z, strict=True)),  # type: ignore[arg-type]
                stand.frame.x, stand.frame.z)  # fmt: skip
    window = Plane(own, *WIDE)
    frames = [plan.assembly.body(name) for name in stand.frames]
    whole = meet(plan, [plan.assembly.body(stand.tools[0])], window)
    marks: list[Mark] = [*drawn(meet(plan, frames, window), window, on)]
    for cut in whole:
        marks += _covering(cut, _framing(plan, stand).covering, on, open_top=False)
    reach = max(abs(p[0]) for cut in whole for loop in cut.loops for p in flattened(loop, closed=True))
    for across in (True, False):
        own_set = [body for body in frames if _stands_first(stand, body) == across]
        spots = [(number, window.flat(_middle(body))[0 if across else 1]) for number, body in enumerate(own_set, 1)]
        near = len(spots) > 1 and abs(spots[1][1] - spots[0][1]) * on.scale < 1.4 * TEXT
        for number, at in (spots[0], spots[-1]) if near else spots:
            spot = on(at, reach) if across else on(reach, at)
            marks.append(Text((spot[0], spot[1] + 1.5), str(number), anchor="middle") if across
                         else Text((spot[0] + 1.5, spot[1] - 0.35 * TEXT), str(number)))
    head, side = on(0, reach), on(reach, 0)
    marks += [Text((head[0], head[1] + 2.5 + 1.2 * TEXT), "athwart", anchor="middle"),
              Text((side[0] + 2.5 + 2 * TEXT, side[1]), "fore and aft", anchor="middle", turn=90)]
    u, v, _ = window.along((1.0, 0.0, 0.0))
    foot = (on(0, 0)[0] - 5.5 * u, on(0, -reach)[1] - FOOT / 2 - 5.5 * v)
    return [*marks, *view_arrow(foot, "FWD", math.degrees(math.atan2(v, u)))]


def _framing(plan: Plan, stand: Stand) -> Framing:
    return plan.spec.cradles[str(stand.path[1])].seats[str(stand.path[3])].insert.frames


def _alike(stand: Stand, frames: Sequence[Body]) -> list[Row]:
    """Frames that are alike in one row, in the order of setting up; both sides of the axis have the same."""
    rows: dict[tuple[object, ...], Row] = {}
    for body in frames:
        x0, y0, _, x1, y1, _ = loose_box(body.solid.moved(body.frame.location.inverse))
        off = abs(_dot(tuple(m - o for m, o in zip(_middle(body), stand.frame.origin, strict=True)), body.frame.z))
        first = _stands_first(stand, body)
        key = (first, *(round(v, 1) for v in (x1 - x0, y1 - y0, off)))
        held = rows.get(key)
        rows[key] = Row((*(held.bodies if held else ()), body), x1 - x0, y1 - y0, off, first)
    return list(rows.values())


def _cells(plan: Plan, row: Row) -> list[str]:
    names = [body.name.partition(" frame ")[2].removesuffix(f" ({body.hand})") for body in row.bodies]
    return [listed(names), size(plan, row.length), size(plan, row.height), size(plan, row.off),
            "up: stand first" if row.first else "down: go over them"]  # fmt: skip


def _steps(notes: Sequence[str], at: Point, width: float) -> list[Mark]:
    """How it is put up, numbered."""
    x, y = at
    marks: list[Mark] = [Text((x, y), "How it is built", TEXT + 0.5, bold=True)]
    for number, note in enumerate(notes, 1):
        y -= 0.4 * TEXT
        for k, words in enumerate(wrapped(f"{note[:1].upper()}{note[1:]}.", width - 6)):
            y -= 1.35 * TEXT
            marks += [] if k else [Text((x, y), f"{number}.")]
            marks.append(Text((x + 6, y), words))
    return marks


def _stands_first(stand: Stand, body: Body) -> bool:
    """Whether a frame is one of those athwart."""
    return abs(_dot(body.frame.z, stand.frame.x)) > 0.5


def _middle(body: Body) -> Vector:
    """A point in a frame's middle plane, boat axes."""
    half = (body.thickness or 0.0) / 2
    return tuple(o + z * half for o, z in zip(body.frame.origin, body.frame.z, strict=True))  # type: ignore[return-value]


def _cross(a: Vector, b: Vector) -> Vector:
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def _dot(a: Sequence[float], b: Vector) -> float:
    return sum(p * q for p, q in zip(a, b, strict=True))
