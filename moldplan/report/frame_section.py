"""A hatch cut across one side of its frame: the section sum dimensioned on the bodies, with its tables under it.

In       a finished plan, one of its hatches.
Out      hatch(): two A4 sheets, at the gutter's high point and at a drain, 1:1 where the paper holds it.
Not here the sums as tables (frame_tables.py), the sole from above (sole_view.py), the mold (mold_view.py).

Outlines are cut from the bodies, which are bare; the sizes are finished, those of the section sum. One coat of paint
lies between the two, less than a wide line, and the tables give both.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from moldplan.quantity import plain
from moldplan.report import frame_tables
from moldplan.report import slice as slicing
from moldplan.report.annotate import A4, Title, break_line, dimension, frame, free_area, scale_word
from moldplan.report.drawing import TEXT, Anchor, Curve, Drawing, Mark, Material, Point, Region, Text, View, line
from moldplan.report.place import placed
from moldplan.report.scene import Cut, arrows, drawn, outline
from moldplan.report.slice import Plane
from moldplan.report.subject import Plan, size
from moldplan.shape.assembly import HatchPlace, SolePlace
from moldplan.shape.body import Body, Frame, Vector

SCALES = (1.0, 0.5, 0.4, 0.2, 0.1)
INSIDE, BEYOND, ABOVE = 14.0, 8.0, 2.0  # paper mm drawn inside the opening, outside the flange, over the surface
SIDES = 42.0  # paper mm beside the view, for upright dimensions
ROWS = 40.0  # paper mm over it, for level ones
TAIL = 14.0  # paper mm of a drain's tail, at most


Group = tuple[list[tuple[Point, str]], float, float, float, Anchor]  # tips, column, top, least, side


@dataclass(frozen=True)
class Laid:
    """The cutting plane and where it lies on the paper. `whole`: the flange is shown to its edge."""

    plane: Plane
    view: View
    whole: bool


def hatch(plan: Plan, place: HatchPlace) -> tuple[Drawing, ...]:
    """The sheets of one hatch's section."""
    runs = place.runs
    return (
        *_sheets(plan, place, runs.highs[0], drain=None),
        *_sheets(plan, place, runs.drains[0], drain=_drain_at(place, runs.drains[0])),
    )


def _sheets(plan: Plan, place: HatchPlace, s: float, *, drain: str | None) -> tuple[Drawing, ...]:
    """The section with its table under it, or the table on a sheet of its own where a deep gutter leaves no room."""
    (left, low), (right, high) = free_area(*A4)
    below = place.levels.rim + place.paint + place.skin if drain else place.levels.drain
    laid = _laid(place, s, (left, high), right - left, below, tail=_tail(plan, place, drain))
    word, at = scale_word(laid.view.scale), "at a drain" if drain else "at a high point"
    marks = [*_cut(plan, place, laid), *_across(plan, place, laid), *_down(plan, place, laid, drain is not None)]
    marks.append(Text((left, high - TEXT), f"Section {at} of the gutter, {word}", 4.2, bold=True))
    marks += arrows(laid.plane, (right - 22, high - 22))
    bottom = laid.view(0.0, laid.plane.low[1])[1]
    for tips, column, top, least, side in _labels(plan, place, laid, drain):
        marks += placed(marks, tips, column=column, top=top, low=least, side=side)
    frame_of = frame_tables.sums if drain is None else frame_tables.gauges
    table = frame_of(plan, place, (left, bottom - 7), right - left)
    fits = all(mark.at[1] > low + 2 for mark in table if isinstance(mark, Text))
    about = f"The hatch {place.name} cut across one side of its frame {at}, scale {word}."

    def drawn_on(words: str, these: Sequence[Mark], scale: str, sheet: str) -> Drawing:
        title = title_of(plan, place.name, f"Hatch, {words}", scale, sheet)
        return Drawing(*A4, (*frame(*A4, title), *these), f"{place.name}: {words}", about)

    if fits:
        return (drawn_on(f"section {at}", (*marks, *table), word, "1 of 1"),)
    apart = frame_of(plan, place, (left, high - 4), right - left)
    what = "section sum" if drain is None else "check gauges"
    return (drawn_on(f"section {at}", marks, word, "1 of 2"), drawn_on(what, apart, "none", "2 of 2"))


def title_of(plan: Plan, part: str, drawing: str, scale: str, sheet: str = "1 of 1") -> Title:
    """The title block of a hatch's or a sole's drawing."""
    return Title(title=plan.spec.title, part=part, drawing=drawing, revision=plan.spec.revision, scale=scale,
                 hand="as drawn", units="mm (inches)" if plan.spec.units == "inch" else "mm", sheet=sheet)  # fmt: skip


def _drain_at(place: HatchPlace, s: float) -> str | None:
    """The drain whose tube stands nearest to a place along the way."""
    station = place.runs.ring.station(s)
    out = place.offsets.landing + place.hatch.gutter.width / 2
    spot = place.frame.place((station.at[0] + out * station.out[0], station.at[1] + out * station.out[1], 0.0))
    names = list(place.hatch.drains)
    from moldplan.shape.hatch import drain_place, middle_of

    def far(name: str) -> float:
        x, y = middle_of(place.runs, drain_place(place.runs.ring, place.hatch, place.hatch.drains[name]))
        return math.dist(place.frame.place((x, y, 0.0)), spot)

    return min(names, key=far) if names else None


def _tail(plan: Plan, place: HatchPlace, drain: str | None) -> float:
    return place.hatch.drains[drain].spigot if drain else 0.0


def _laid(place: HatchPlace, s: float, corner: Point, wide: float, below: float, *, tail: float) -> Laid:
    """The largest scale at which the section has room; at it the flange is broken off if that is what it takes."""
    out, ring = place.offsets, place.runs.ring
    inside = min(ring.length, ring.width) / 2
    for scale in SCALES:
        for whole in (True, False):
            near = min(INSIDE / scale, inside)
            far = out.flange + BEYOND / scale
            if not whole:
                far = min(max(out.gutter + 36 / scale, (wide - SIDES) / scale - near), out.flange - 1)
            if (near + far) * scale <= wide - SIDES and below * scale <= 110 and far <= out.flange + BEYOND / scale:
                deep = below + min(tail, TAIL / scale) + 3 / scale
                plane = plane_at(place, s, (-near, -deep), (far, ABOVE / scale))
                at = (corner[0] + 13, corner[1] - ROWS)
                return Laid(plane, View(scale, at, (-near, 0.0)), whole)
    scale = SCALES[-1]
    plane = plane_at(place, s, (-INSIDE / scale, -below), (out.gutter + 36 / scale, ABOVE / scale))
    return Laid(plane, View(scale, (corner[0] + 13, corner[1] - ROWS), (-INSIDE / scale, 0.0)), False)


def plane_at(place: HatchPlace, s: float, low: Point, high: Point) -> Plane:
    """The plane square to the opening's edge at `s`: u outward from the finished edge, v up from the surface."""
    station = place.runs.ring.station(s)
    u = place.frame.turn((*station.out, 0.0))
    v = place.frame.z
    normal: Vector = (u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0])
    return Plane(Frame(place.frame.place((*station.at, 0.0)), u, normal), low, high)


def _sole(plan: Plan, place: HatchPlace) -> SolePlace:
    return next(sole for sole in plan.assembly.soles if sole.name == place.sole)


def core_of(plan: Plan, stock: str) -> Material:
    """The hatch of a core of that stock."""
    from moldplan.material.stock import known

    found = known(plan.spec).get(stock)
    return "foam" if found is None or "foam" in found.kind else "board"


def _cut(plan: Plan, place: HatchPlace, laid: Laid) -> list[Mark]:
    """Everything the plane goes through, hatched, with break lines where it goes on."""
    sole, plane, view = _sole(plan, place), laid.plane, laid.view

    def meet(name: str, material: Material) -> Cut | None:
        body = plan.assembly.body(name)
        loops = slicing.cut(body.solid, plane)
        return Cut(body, loops, material) if loops else None

    plugs = [b.name for b in plan.assembly.of_kind("core plug") if _own(b, sole, place)]
    inner = [(sole.core, core_of(plan, sole.sole.core)), (place.lid_core, core_of(plan, place.hatch.lid.core)),
             (place.gasket, "rubber"), *((name, "plug") for name in plugs)]  # fmt: skip
    cuts = [cut for name, material in inner if (cut := meet(name, material))]
    cuts += [cut for name in (place.molding, *place.tubes) if (cut := meet(name, "skin"))]
    marks = list(drawn(cuts, plane, view))
    by_name = {cut.body.name: cut for cut in cuts}
    for part, core, closed in ((sole.part, sole.core, False), (place.lid, place.lid_core, True)):
        shell = meet(part, "plain")
        if shell:
            marks += _shell(shell, by_name.get(core), plane, view, closed)
    marks += _bed(plan, place, laid, [c for c in (meet(sole.part, "plain"), by_name.get(place.molding)) if c])
    (near, deep), (far, _), lid = plane.low, plane.high, place.levels.lid
    marks += break_line(view(near, -lid), view(near, 0))
    marks += break_line(view(far, -place.paint - sole.thickness), view(far, -place.paint))
    for name in place.tubes:
        cut = by_name.get(name)
        if cut and cut.area().bounds[1] < deep + 0.1:
            low, _, high, _ = cut.area().bounds
            marks += break_line(view(low, deep), view(high, deep))
    return marks


def _own(body: Body, sole: SolePlace, place: HatchPlace) -> bool:
    return body.part.startswith((f"{sole.name}.", place.name)) or body.part == sole.name


def _shell(shell: Cut, core: Cut | None, plane: Plane, view: View, closed: bool) -> list[Mark]:
    """The skins of a cored part; a lid's edge, `closed`, is filled between its skins where the core stops short."""
    area = shell.area()
    marks: list[Mark] = []
    for loop in shell.loops:
        marks += outline(loop, plane, view, "wide")
    if core is None:
        return marks
    inside = core.area()
    rest = area.difference(inside.buffer(0.005))
    if closed:
        skin = area.bounds[3] - inside.bounds[3]
        within = area.buffer(-skin, join_style="mitre")
        marks += _filled(within.difference(inside.buffer(0.005)), view, "paste")
        rest = area.difference(within)
    return marks + _filled(rest, view, "skin")


def _filled(area: Any, view: View, material: Material) -> list[Mark]:
    """An area of the plane hatched on paper; slivers left out."""
    marks: list[Mark] = []
    for part in getattr(area, "geoms", [area]):
        if part.geom_type == "Polygon" and part.buffer(-0.05).area > 0.3:
            rings = [part.exterior, *part.interiors]
            loops = tuple(tuple((*view(x, y), 0.0) for x, y in ring.coords[:-1]) for ring in rings)
            marks.append(Region(loops, material))
            if material == "paste":
                marks += [Curve(loop, closed=True, pen="narrow") for loop in loops]
    return marks


def bed_levels(plan: Plan, place: HatchPlace) -> tuple[float, float]:
    """Between which levels the paste under (rebated) or over (under) the bond flange lies [mm]."""
    bed = place.hatch.bond_flange.bed
    if place.hatch.bond_flange.lies == "rebated":
        under = place.paint + plan.spec.coats.in_mold + place.skin
        return -(under + bed), -under
    face = place.start + place.paint
    return -face, -face + bed


def _bed(plan: Plan, place: HatchPlace, laid: Laid, others: Sequence[Cut]) -> list[Mark]:
    from shapely import box

    low, high = bed_levels(plan, place)
    edge = place.offsets.gutter - place.start * math.tan(math.radians(place.hatch.gutter.draft))  # the wall there
    free = box(edge, low, min(place.offsets.flange, laid.plane.high[0]), high)
    for cut in others:
        free = free.difference(cut.area())
    return _filled(free, laid.view, "paste")


def _across(plan: Plan, place: HatchPlace, laid: Laid) -> list[Mark]:
    """Plan offsets over the view: a, c, b from the clear opening outward, the gap, the flange."""
    out, view = place.offsets, laid.view
    base = view(0, 0)[1]

    def spot(u: float) -> Point:
        return view(u, 0)[0], base

    edge, ledge = view(0, -place.levels.landing), view(out.landing, -place.levels.landing)
    marks: list[Mark] = [line((edge[0], edge[1] + 0.8), (edge[0], base)),
                         line((ledge[0], ledge[1] + 0.8), (ledge[0], base))]  # fmt: skip
    marks += dimension(spot(out.lid), spot(out.gutter), f"gap {size(plan, place.hatch.lid.gap)}", shift=7)
    marks += dimension(spot(0), spot(out.landing), f"a {size(plan, out.landing)}", shift=14)
    if laid.whole:
        flange = size(plan, out.flange - out.gutter)
        marks += dimension(spot(out.gutter), spot(out.flange), f"flange {flange}", shift=14)
    marks += dimension(spot(0), spot(out.lid), f"c {size(plan, out.lid)}", shift=21)
    marks += dimension(spot(0), spot(out.gutter), f"b {size(plan, out.gutter)}", shift=28)
    marks.append(Text((spot(0)[0] - 2, base + 17), "opening", anchor="end", turn=90))
    return marks


def _down(plan: Plan, place: HatchPlace, laid: Laid, drain: bool) -> list[Mark]:
    """Levels beside the view, and the lid's thickness on its other side."""
    made, out, view = place.levels, place.offsets, laid.view
    far, surface = laid.plane.high[0], 0.0
    middle = out.landing + place.hatch.gutter.width / 2
    marks: list[Mark] = []
    if not drain:
        ends = (middle - 6 / view.scale, middle + 6 / view.scale)
        marks.append(line(view(ends[0], -made.drain), view(ends[1], -made.drain), "axis"))
        if (made.drain - made.high - place.skin) * view.scale > 6:
            marks.append(Text((view(middle, 0)[0], view(0, -made.drain)[1] + 1.2), "floor at the drain",
                              anchor="middle"))  # fmt: skip
    rows = [("A", made.landing, out.landing)]
    if drain:
        rim = [] if made.rim - made.drain < 0.05 else [("D", made.rim, middle)]
        rows += [("C" if rim else "C, D", made.drain, middle), *rim]
    else:
        rows += [("B", made.high, middle), ("C", made.drain, middle + 6 / view.scale)]
    for k, (letter, level, u) in enumerate(rows):
        marks += dimension(view(far, surface), view(u, -level), f"{letter} {size(plan, level)}",
                           shift=-(6 + 8.5 * k), turn=90)  # fmt: skip
    near = laid.plane.low[0]
    marks += dimension(view(near, -made.lid), view(near, 0), f"lid {size(plan, made.lid)}", shift=6, turn=90)
    return marks


def _labels(plan: Plan, place: HatchPlace, laid: Laid, drain: str | None
            ) -> list[Group]:  # fmt: skip
    """Names with the column each group stands in."""
    made, out, view, one = place.levels, place.offsets, laid.view, place.hatch
    sole, deep = _sole(plan, place), view(0, laid.plane.low[1])[1]
    floor = made.drain if drain else made.high
    slant = math.tan(math.radians(one.gutter.draft))
    near = laid.plane.low[0]
    lid = [(view(near * 0.95, -made.lid / 2), f"lid core, {one.lid.core}")]
    gasket = [(view(out.landing - one.lid.gasket.width * 0.8, -(made.lid + made.landing) / 2),
               f"gasket {size(plan, made.gasket)}")]  # fmt: skip
    wall = out.gutter - floor * slant / 2 + place.skin / 2
    low, high = bed_levels(plan, place)
    column = view(out.gutter, 0)[0] + 16
    right = [((column - 7, view(0, -place.paint - sole.thickness * 0.6)[1]), f"sole core, {sole.sole.core}"),
             (view(wall, -floor / 2 - 2), f"frame, draft {plain(one.gutter.draft)} deg"),
             ((column - 3, view(0, (low + high) / 2)[1]), "paste bed"),
             (view(out.gutter - floor * slant - one.gutter.root_radius * 0.3, -floor + one.gutter.root_radius * 0.3),
              f"root R {plain(one.gutter.root_radius)}")]  # fmt: skip
    if drain:
        fitting = one.drains[drain]
        middle = out.landing + one.gutter.width / 2
        right.append((view(middle + fitting.bore / 2 + 1, -made.rim - 12 / view.scale),
                      f"drain, bore {size(plan, fitting.bore)}"))  # fmt: skip
    under = view(0, -max(made.landing, sole.thickness + place.paint + place.start))[1] - 3
    edge, ledge = view(near, 0)[0] - 2, view(0, -made.landing)[1] - 8
    groups: list[Group] = [(gasket, gasket[0][0][0] - 2, ledge, ledge - 8, "end"),
                           (lid, edge, ledge - 9, deep, "start"),
                           (right, column, under, deep - 6, "start")]  # fmt: skip
    fill = (view(out.lid - one.lid.close_out / 3, -made.lid / 2), "close-out")
    if one.gutter.width * view.scale >= 30:
        groups.append(([fill], view(out.landing, 0)[0] + 6, view(0, -made.landing)[1] - 5, view(0, -made.high)[1] + 3,
                       "start"))  # fmt: skip
    else:
        lid.append(fill)
    return groups
