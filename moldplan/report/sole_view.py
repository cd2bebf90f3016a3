"""A sole from above: outline, hatches, the way their gutters fall to their drains, plugs, and what lies below.

In       a finished plan, one of its soles.
Out      sole(): one A4 sheet.
Not here sections (frame_section.py), the mold (mold_view.py).

Bow to the right, port up. Levels are below the sole's finished surface, lettered as in the section sum.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from moldplan.quantity import plain
from moldplan.report.annotate import (
    A4,
    Column,
    Title,
    arrow_head,
    dimension,
    frame,
    free_area,
    scale_word,
    table,
    view_arrow,
)
from moldplan.report.drawing import (
    TEXT,
    Curve,
    Drawing,
    Mark,
    Point,
    Text,
    Vertex,
    View,
    circle,
    clashes,
    line,
    polygon,
    polyline,
)
from moldplan.report.low_points import low_points, scuppers
from moldplan.report.place import placed
from moldplan.report.shadow import shadow
from moldplan.report.subject import Plan, size
from moldplan.shape.assembly import HatchPlace, SolePlace
from moldplan.shape.body import DIRECTIONS
from moldplan.shape.choose_sole import outline_polygon

SCALES = (0.5, 0.2, 0.1, 1 / 15, 0.05, 0.02, 0.01)
INSIDE = (4.0, 7.0, 10.0, 13.0)  # paper mm that a letter stands inside the opening's edge
LAID = (A4[1], A4[0])
SIDE = 62.0  # mm at the right for names, and at the left too where that costs no scale
COLUMNS = (Column("hatch", 44), Column("middle x", 22, "end"), Column("middle y", 22, "end"), Column("turn", 18, "end"),
           Column("clear opening", 34, "end"), Column("A", 18, "end"), Column("B", 18, "end"), Column("C", 18, "end"),
           Column("D", 18, "end"))  # fmt: skip
ARROW = 7.0  # paper mm
TURN = math.tan(math.pi / 8)


def sole(plan: Plan, place: SolePlace) -> Drawing:
    """The sheet of one sole."""
    (left, low), (right, high) = free_area(*LAID)
    hatches = [h for h in plan.assembly.hatches if h.sole == place.name]
    rows = [_row(plan, h) for h in hatches]
    heading = "Hatches: middle of the opening in boat axes, levels below the sole [mm]"
    _, tall = table((left, high), right - left, heading, COLUMNS, rows)
    below, _ = table((left, low + tall), right - left, heading, COLUMNS, rows) if rows else ([], 0.0)
    view, scale, both = _between_names(place, (left, low + tall + 6), (right, high - 22))
    marks: list[Mark] = [polyline([view(*p) for p in _outline(place)], "wide", closed=True)]
    tips: list[tuple[Point, str]] = []
    words: list[list[Text]] = []
    for name, loops in _below(plan, place):
        seen = [polyline([view(*p) for p in loop], "hidden", closed=True) for loop in loops]
        marks += seen
        tips.append((_middle(seen), f"{name}, below"))
    for hatch in hatches:
        marks += _hatch(hatch, view, tips, words)
    marks += _plugs(plan, place, view, tips)
    marks += scuppers(place, view, tips)
    marks += low_points(plan, place, view, tips)
    for name, target in place.sole.targets.items():
        x, y = view(*target.at[:2])
        marks += [line((x - 1.5, y), (x + 1.5, y)), line((x, y - 1.5), (x, y + 1.5))]
        tips.append(((x, y), f"{name}, to reach"))
    marks += _overall(plan, place, view)
    for spots_of in words:
        marks.append(_clear_of(marks, spots_of))
    marks += view_arrow((right - 26, high - 14), "FWD", 0.0)
    marks += view_arrow((right - 20, high - 22), "UP", None, away=False)
    marks.append(Text((left, high - TEXT), f"Sole from above, {scale_word(scale)}", 4.2, bold=True))
    marks += _falls(place, (left + 66, high - TEXT))
    marks += _named(marks, tips, view((place.bounds[0] + place.bounds[2]) / 2, 0)[0] if both else left,
                    (left, low + tall + 10), (right, high - 32))  # fmt: skip
    title = Title(title=plan.spec.title, part=place.name, drawing="Sole from above", revision=plan.spec.revision,
                  scale=scale_word(scale), hand="as drawn",
                  units="mm (inches)" if plan.spec.units == "inch" else "mm")  # fmt: skip
    about = f"The sole {place.name} from above with its hatches, gutters and drains, scale {scale_word(scale)}."
    return Drawing(*LAID, (*frame(*LAID, title), *marks, *below), f"{place.name}: from above", about)


def _between_names(place: SolePlace, low: Point, high: Point) -> tuple[View, float, bool]:
    """The view and its scale, and whether names find room at its left too: only where that costs no scale."""
    view, scale = _fitted(place, (low[0] + 16, low[1]), (high[0] - SIDE, high[1]))
    narrow, same = _fitted(place, (low[0] + SIDE + 8, low[1]), (high[0] - SIDE, high[1]))
    return (narrow, scale, True) if same == scale else (view, scale, False)


def _named(marks: Sequence[Mark], tips: Sequence[tuple[Point, str]], middle: float, low: Point, high: Point
           ) -> list[Mark]:  # fmt: skip
    """Names of what lies left of the middle in a column at the left, of the rest in one at the right."""
    aft = [tip for tip in tips if tip[0][0] < middle]
    left = placed(marks, aft, column=low[0] + SIDE - 6, top=high[1], low=low[1], side="end") if aft else ()
    rest = [tip for tip in tips if tip not in aft]
    return [*left, *placed([*marks, *left], rest, column=high[0] - SIDE + 6, top=high[1], low=low[1])]


def _falls(place: SolePlace, at: Point) -> list[Mark]:
    """The way the sole itself falls, and its crown, in words beside the heading."""
    said = []
    if place.sole.fall:
        said.append(f"the sole falls 1:{plain(1 / place.sole.fall, 1)} {_towards(place)}")
    if place.sole.crown:
        said.append(f"crown {plain(place.sole.crown, 1)}")
    if not said:
        return []
    marks: list[Mark] = [Text((at[0] + 10, at[1]), ", ".join(said))]
    if place.sole.fall:
        (x, y), middle = DIRECTIONS[place.sole.towards][:2], (at[0] + 3, at[1] + TEXT * 0.35)
        ends = [(middle[0] + way * x * 3.5, middle[1] + way * y * 3.5) for way in (-1, 1)]
        marks += [line(ends[0], ends[1]), arrow_head(ends[1], math.atan2(y, x))]
    return marks


def _towards(place: SolePlace) -> str:
    side = place.sole.towards
    return side if side in ("forward", "aft") else f"to {side}"


def _outline(place: SolePlace) -> list[Point]:
    ring = outline_polygon(place.sole).exterior.coords  # type: ignore[attr-defined]
    return [(x, y) for x, y, *_ in ring][:-1]


def _fitted(place: SolePlace, low: Point, high: Point) -> tuple[View, float]:
    x0, y0, x1, y1 = place.bounds
    wide, tall = high[0] - low[0] - 6, high[1] - low[1] - 16
    scale = next((s for s in SCALES if (x1 - x0) * s <= wide and (y1 - y0) * s <= tall), SCALES[-1])
    at = (low[0] + 6 + (wide - (x1 - x0) * scale) / 2, low[1] + 12 + (tall - (y1 - y0) * scale) / 2)
    return View(scale, at, (x0, y0)), scale


def _middle(seen: Sequence[Curve]) -> Point:
    """The middle of what the loops hold, or a point inside it where the middle is not."""
    area = polygon([curve.vertices for curve in seen])
    spot = area.centroid if area.contains(area.centroid) else area.representative_point()
    return spot.x, spot.y


def _rounded(place: HatchPlace, off: float) -> tuple[Vertex, ...]:
    """The opening grown by `off`, in boat axes."""
    hatch = place.hatch
    (length, width), r = hatch.clear_opening, hatch.corner_radius + off
    x, y = length / 2 + off, width / 2 + off
    own = ((-x + r, -y, 0.0), (x - r, -y, TURN), (x, -y + r, 0.0), (x, y - r, TURN), (x - r, y, 0.0), (-x + r, y, TURN),
           (-x, y - r, 0.0), (-x, -y + r, TURN))  # fmt: skip
    return tuple((*_boat(place, u, v), bulge) for u, v, bulge in own)


def _boat(place: HatchPlace, u: float, v: float) -> Point:
    """A point of the hatch's own plan, in the boat's."""
    turn, (cx, cy) = math.radians(place.hatch.turn), place.hatch.centre
    return cx + u * math.cos(turn) - v * math.sin(turn), cy + u * math.sin(turn) + v * math.cos(turn)


def _on_gutter(place: HatchPlace, s: float) -> Point:
    """Middle of the gutter at a place along the way, in the boat's plan."""
    ring = place.runs.ring
    station = ring.station(s)
    return _boat(place, station.at[0] + ring.off * station.out[0], station.at[1] + ring.off * station.out[1])


def _hatch(place: HatchPlace, view: View, tips: list[tuple[Point, str]], words: list[list[Text]]) -> list[Mark]:
    """Opening, landing, rebate, flange; arrows down the gutter; high points and drains."""
    out, runs = place.offsets, place.runs
    marks: list[Mark] = []
    for off, pen in ((0.0, "wide"), (out.landing, "narrow"), (out.gutter, "wide"), (out.flange, "hidden")):
        marks.append(Curve(view.loop(_rounded(place, off)), closed=True, pen=pen))  # type: ignore[arg-type]
    ends = (*runs.drains, runs.drains[0] + runs.ring.whole)
    for k, high in enumerate(runs.highs):
        spot = view(*_on_gutter(place, high))
        marks += [line((spot[0] - 1.2, spot[1] - 1.2), (spot[0] + 1.2, spot[1] + 1.2)),
                  line((spot[0] - 1.2, spot[1] + 1.2), (spot[0] + 1.2, spot[1] - 1.2))]  # fmt: skip
        words.append(_letters(place, view, high, f"B {plain(place.levels.high, 1)}"))
        for end in (ends[k], ends[k + 1]):
            for share in (0.35, 0.7):
                marks += _arrow(place, view, high + share * (end - high), end > high)
    for name, drain in place.hatch.drains.items():
        from moldplan.shape.hatch import drain_place

        at = drain_place(runs.ring, place.hatch, drain)
        spot = view(*_on_gutter(place, at))
        words.append(_letters(place, view, at, f"C {plain(place.levels.drain, 1)}"))
        marks.append(circle(spot, max(drain.bore / 2 * view.scale, 0.8), "wide"))
        tips.append((spot, f"{place.path[-1]}: {name}, bore {plain(drain.bore, 1)}"))
    if place.hatch.lid.hinge != "none":
        tips.append((view(*_hinge(place)), f"{place.path[-1]}: hinge"))
    x, y = view(*place.hatch.centre)
    beyond = [p[1] for p in view.loop(_rounded(place, out.flange))]  # over or under it, where its levels fill it
    lifts = (0, 7, -7, 12, -12, 17, -17, max(beyond) + TEXT - y, min(beyond) - TEXT - y)
    words.append([Text((x, y - TEXT / 2 + up), str(place.path[-1]), anchor="middle", bold=True) for up in lifts])
    return marks


def _letters(place: HatchPlace, view: View, s: float, level: str) -> list[Text]:
    """Spots for a level inside the opening, beside a place of the gutter, the nearest first; then for its letter."""
    found = []
    for words, inward in [(words, inward) for words in (level, level[:1]) for inward in INSIDE]:
        for aside in (0.0, 6.0, -6.0, 12.0, -12.0):
            station = place.runs.ring.station(s + aside / view.scale)
            by = inward / view.scale
            x, y = view(*_boat(place, station.at[0] - by * station.out[0], station.at[1] - by * station.out[1]))
            found.append(Text((x, y - TEXT * 0.35), words, anchor="middle"))
    return found


def _clear_of(marks: Sequence[Mark], spots: Sequence[Text]) -> Text:
    """The first spot whose words lie on nothing; the first of all when none does."""
    return next((t for t in spots if not clashes(Drawing(*LAID, (*marks, t), "", ""))), spots[0])


def _hinge(place: HatchPlace) -> Point:
    ways = {"forward": (1, 0), "aft": (-1, 0), "port": (0, 1), "starboard": (0, -1)}
    dx, dy = ways[place.hatch.lid.hinge]
    length, width = place.hatch.clear_opening
    return _boat(place, dx * (length / 2 + place.offsets.gutter), dy * (width / 2 + place.offsets.gutter))


def _arrow(place: HatchPlace, view: View, s: float, onward: bool) -> list[Mark]:
    """A short arrow along the gutter, the way the water runs."""
    step = ARROW / view.scale / 2 * (1 if onward else -1)
    tail, tip = view(*_on_gutter(place, s - step)), view(*_on_gutter(place, s + step))
    way = math.atan2(tip[1] - tail[1], tip[0] - tail[0])
    return [line(tail, tip), arrow_head(tip, way)]


def _plugs(plan: Plan, place: SolePlace, view: View, tips: list[tuple[Point, str]]) -> list[Mark]:
    """Fittings' flanges, and the plugs under them dashed."""
    marks: list[Mark] = []
    for (name, one), plug in zip(place.sole.fittings.items(), place.plugs, strict=True):
        spot = view(*one.at)
        box = plan.assembly.body(plug).solid.BoundingBox()
        across = (box.ymax - box.ymin) * view.scale
        marks += [circle(spot, one.flange / 2 * view.scale), circle(spot, across / 2, "hidden")]
        tips.append((spot, f"{name}, plug {plain(box.ymax - box.ymin, 0)} across"))
    return marks


def _below(plan: Plan, place: SolePlace) -> Iterator[tuple[str, list[list[Point]]]]:
    """What lies below, the loops of its shadow."""
    for name, body in place.below.items():
        yield name, shadow(plan.assembly.body(body).solid)


def _overall(plan: Plan, place: SolePlace, view: View) -> list[Mark]:
    x0, y0, x1, y1 = place.bounds
    return [*dimension(view(x0, y0), view(x1, y0), size(plan, x1 - x0), shift=-10),
            *dimension(view(x0, y0), view(x0, y1), size(plan, y1 - y0), shift=10, turn=90)]  # fmt: skip


def _row(plan: Plan, place: HatchPlace) -> list[str]:
    hatch, levels = place.hatch, place.levels
    length, width = hatch.clear_opening
    return [str(place.path[-1]), *(size(plan, c) for c in hatch.centre), f"{plain(hatch.turn, 1)} deg",
            f"{plain(length, 1)} x {plain(width, 1)}",
            *(plain(v, 1) for v in (levels.landing, levels.high, levels.drain, levels.rim))]  # fmt: skip
