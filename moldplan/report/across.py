"""A chock cut across its cylinder: wrap, radius, chord, depth, rise, liner, and the path of the strap.

In       a finished plan, a stand of kind chock.
Out      chock(): sheets (A4) with the section, the arc enlarged with its chain beside it, the chains as tables.
Not here seats (section.py).

The plane goes through the first rib; straps stand beside the rib and are drawn as what lies beyond.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from moldplan.quantity import plain
from moldplan.report import slice as slicing
from moldplan.report.annotate import A4, arrow_head, dimension, dimension_or_tip, free_area, scale_word
from moldplan.report.chain_table import chain_beside
from moldplan.report.drawing import TEXT, Drawing, Mark, Point, Text, View, arc, line, rectangle
from moldplan.report.place import placed
from moldplan.report.scene import Cut, arrows, drawn, inside_point, meet, outline, shells
from moldplan.report.section import Sheet, bound, chain_sheets
from moldplan.report.slice import Plane
from moldplan.report.straps import strap_words
from moldplan.report.subject import Plan, chains_of, one, size
from moldplan.shape.assembly import Stand
from moldplan.shape.body import Body, Frame
from moldplan.shape.chain import Chain, Step
from moldplan.spec.model import Chock

SCALES = (2.0, 1.0, 0.5, 0.4, 0.2, 0.1)
KINDS = ("core", "rib", "liner", "core plug", "skin")
ASIDE = 2.0  # mm along the cylinder, so that the plane runs inside a sheet and not between two


def chock(plan: Plan, stand: Stand) -> tuple[Drawing, ...]:
    """The drawing of one chock."""
    chains = chains_of(plan, stand.path)
    (left, low), (right, high) = free_area(*A4)
    middle = low + (high - low) * 0.37
    across, word = _across(plan, stand, chains, (left, middle), (right, high))
    detail, enlarged = _detail(plan, stand, chains, (left, low), (right, middle - 4))
    about = f"Section of a rib of {stand.name} across the cylinder, scale {word}, and its arc at {enlarged}."
    views: list[Sheet] = [("Chock, section and fit", f"{word}, {enlarged}", (*across, *detail), about)]
    return bound(plan, stand, views, chain_sheets(plan, chains, (left, high), right - left, low))


def asked(plan: Plan, stand: Stand) -> Chock:
    """The chock as the spec has it."""
    return plan.spec.cradles[str(stand.path[1])].chocks[str(stand.path[3])]


def plane_of(rib: Body, low: Point, high: Point) -> Plane:
    """Across the cylinder, inside the rib: u across, v up, origin on the cylinder's axis."""
    at = rib.frame.place((0.0, 0.0, ASIDE))
    return Plane(Frame(at, rib.frame.x, rib.frame.z), low, high)


def _bodies(plan: Plan, stand: Stand) -> list[Body]:
    return [*plan.assembly.of_kind(*KINDS), plan.assembly.body(stand.body)]


def _across(plan: Plan, stand: Stand, chains: Sequence[Chain], low: Point, high: Point
            ) -> tuple[tuple[Mark, ...], str]:  # fmt: skip
    """The section with its dimensions, and its scale."""
    rib, spec, radius = plan.assembly.body(stand.hosts[0]), asked(plan, stand), _radius(stand, chains)
    half = math.radians(spec.wrap / 2)
    lip, top = radius * math.sin(half), -radius * math.cos(half)
    base = -(radius + spec.rise)
    side = (radius if spec.wrap > 180 else lip) + spec.shoulder
    under = _base_depth(plan, stand)
    r = stand.cylinder.radius
    room = (high[0] - low[0] - 72, high[1] - low[1] - 38)
    scale = next((s for s in SCALES if 2 * side * s <= room[0] and (r - base + under) * s <= room[1]), SCALES[-1])
    edge = max(side, r) + 4 / scale
    window = plane_of(rib, (-edge, base - under - 1), (edge, r + stand.cylinder.radius))
    view = View(scale, (low[0] + 2 + edge * scale, low[1] + 26), (0.0, base - under))
    cuts = meet(plan, _bodies(plan, stand), window)
    marks: list[Mark] = [*drawn(cuts, window, view), *shells(plan, window, view), *_straps(plan, stand, window, view)]
    marks += [line(view(0, base - under - 4 / scale), view(0, r + 6 / scale), "axis"),
              line(view(-r - 5 / scale, 0), view(r + 5 / scale, 0), "axis")]  # fmt: skip
    wrap, tips = _wrap(view, radius, half, plain(spec.wrap, 1))
    marks += wrap
    for k, (x, v, words) in enumerate(((lip, top, "chord"), (side, base, "rib"))):
        marks += _breadth(view, x, v, base - under, f"{words} {size(plan, 2 * x)}", 10 + 9 * k)
    levels = {"base": base, "bottom": -radius, "top": top}
    out = view(max(side, r) + 4 / scale, 0)[0]
    upright, more = _heights(plan, view, side, levels, out)
    marks += upright
    tips += more
    marks += arrows(window, (high[0] - 20, high[1] - 16))
    marks.append(Text((low[0], high[1] - TEXT), f"Section of a rib, {scale_word(scale)}", 4.2, bold=True))
    tips += [(inside_point(cut, view, near=_near(cut, side, base, under)), _label(cut)) for cut in _named(cuts)]
    tips += _strap_tip(plan, stand, window, view)
    spot = view(radius * math.sin(half * 0.8), -radius * math.cos(half * 0.8))
    tips.append((spot, f"arc R {size(plan, radius)} finished"))
    tips.append((view(r * 0.5, r * 0.45), f"cylinder Ø {size(plan, 2 * r)}"))
    marks += placed(marks, tips, column=out + 25, top=high[1] - 30, low=low[1] + 6)
    return tuple(marks), scale_word(scale)


def _breadth(view: View, x: float, v: float, foot: float, words: str, shift: float) -> list[Mark]:
    """A breadth of 2 `x` that ends at height `v`, given under the foot of the drawing."""
    marks: list[Mark] = [line(view(way * x, v), (view(way * x, foot)[0], view(0, foot)[1] - shift - 1.4))
                         for way in (-1, 1)]
    return [*marks, *dimension(view(-x, foot), view(x, foot), words, shift=-shift)]


def _heights(plan: Plan, view: View, side: float, levels: Mapping[str, float], out: float
             ) -> tuple[list[Mark], list[tuple[Point, str]]]:  # fmt: skip
    """Rise, depth and their sum to the right of the rib, beyond `out` on paper; what has no room there as tips."""
    right = view(side, 0)[0]
    at = {name: (right, view(0, v)[1]) for name, v in levels.items()}
    marks: list[Mark] = []
    tips: list[tuple[Point, str]] = []
    rows = (("base", "bottom", "rise ", 7), ("bottom", "top", "depth ", 7), ("base", "top", "", 16))
    for low, high, name, shift in rows:
        words = f"{name}{size(plan, levels[high] - levels[low])}"
        upright, more = dimension_or_tip(at[low], at[high], words, shift=out - right + shift)
        marks += upright
        tips += more
    marks.append(line(view(0, levels["bottom"]), (right + 0.8, at["bottom"][1])))
    return marks, tips


def _radius(stand: Stand, chains: Sequence[Chain]) -> float:
    chain = one(chains, "per_side", "arc")
    return chain.upto("F") if chain else stand.cylinder.radius + stand.liner


def _base_depth(plan: Plan, stand: Stand) -> float:
    """How much of the base under the rib is drawn [mm]."""
    return min(plan.spec.cradles[str(stand.path[1])].block[2] + 2.0, 40.0)


def _wrap(view: View, radius: float, half: float, words: str) -> tuple[list[Mark], list[tuple[Point, str]]]:
    """The angle of the cylinder's girth that rests in the rib; its words as a tip where they have no room."""
    at, r = view(0, 0), 0.5 * radius * view.scale
    reach = radius * view.scale
    marks: list[Mark] = []
    for way in (-1, 1):
        end = (at[0] + way * reach * math.sin(half), at[1] - reach * math.cos(half))
        marks.append(line(at, end))
        tip = (at[0] + way * r * math.sin(half), at[1] - r * math.cos(half))
        marks.append(arrow_head(tip, math.atan2(math.sin(half), way * math.cos(half))))
    marks.append(arc(at, r, math.degrees(-math.pi / 2 - half), math.degrees(2 * half)))
    text = Text((at[0] + 2.0, at[1] - r - TEXT * 1.15), f"wrap {words} deg")
    if math.hypot(text.width + 4, r + TEXT * 1.5) < reach - 3 and half > math.radians(40):
        return [*marks, text], []
    return marks, [((at[0] + r * math.sin(half * 0.5), at[1] - r * math.cos(half * 0.5)), text.words)]


def _straps(plan: Plan, stand: Stand, window: Plane, view: View) -> tuple[Mark, ...]:
    """The first strap with its eyes, cut in its own middle and drawn as what lies beyond."""
    marks: list[Mark] = []
    for body in _first_strap(plan, stand):
        own = Plane(Frame(body.frame.origin, window.frame.x, window.frame.z), window.low, window.high)
        for loop in slicing.cut(body.solid, own):
            marks += outline(loop, own, view, "narrow")
    return tuple(marks)


def _first_strap(plan: Plan, stand: Stand) -> list[Body]:
    bodies = [plan.assembly.body(name) for name in stand.straps]
    bodies = [body for body in bodies if body.kind in ("strap", "eye")]
    return [body for body in bodies if body.frame.origin == bodies[0].frame.origin]


def _strap_tip(plan: Plan, stand: Stand, window: Plane, view: View) -> list[tuple[Point, str]]:
    if not _first_strap(plan, stand):
        return []
    r, turn = stand.cylinder.radius + 1.0, math.radians(35)
    return [(view(r * math.sin(turn), r * math.cos(turn)), strap_words(plan, stand))]


def _named(cuts: Sequence[Cut]) -> list[Cut]:
    """One cut of each kind, the largest; the cylinder is named apart."""
    best: dict[str, Cut] = {}
    for cut in cuts:
        if cut.body.kind != "cylinder" and (
            cut.body.kind not in best or cut.area().area > best[cut.body.kind].area().area
        ):
            best[cut.body.kind] = cut
    return list(best.values())


def _near(cut: Cut, side: float, base: float, under: float) -> Point:
    match cut.body.kind:
        case "core":
            return (side * 1.02, base - under / 2)
        case "core plug":
            return (side * 0.9, base - under / 2)
        case "liner":
            return (side, base / 2)
        case _:
            return (side * 0.85, base * 0.85)


def _label(cut: Cut) -> str:
    words = {"core": "base", "rib": f"rib, {cut.body.stock}", "liner": "liner", "core plug": "plug under the eye"}
    return words.get(cut.body.kind, cut.body.kind)


def _detail(plan: Plan, stand: Stand, chains: Sequence[Chain], low: Point, high: Point) -> tuple[tuple[Mark, ...], str]:
    """The lowest point of the arc, enlarged, with the chain beside it."""
    chain = one(chains, "per_side", "arc")
    if chain is None:
        return (), "no detail"
    inner, outer = chain.steps[0].nominal, chain.upto("C") if _reaches(chain, "C") else chain.nominal
    tall_paper = min(high[1] - low[1] - 8, 74.0)
    span, finished = outer - inner + 14, chain.upto("F")
    scale = next((s for s in (5.0, 2.0, 1.0, 0.5, 0.2) if span * s <= tall_paper), 0.2)
    tall, wide = tall_paper / scale, 70 / scale
    middle = -(inner + outer) / 2
    rib = plan.assembly.body(stand.hosts[0])
    window = plane_of(rib, (-wide / 2, middle - tall / 2), (wide / 2, middle + tall / 2))
    view = View(scale, (low[0], high[1] - 8 - tall_paper), window.low)
    cuts = meet(plan, _bodies(plan, stand), window)
    marks: list[Mark] = [*drawn(cuts, window, view), *shells(plan, window, view)]
    marks.append(rectangle(view(*window.low), view(*window.high)))
    heading = f"Detail at the bottom of the arc, {scale_word(scale)}"
    marks.append(Text((low[0], high[1] - TEXT), heading, 4.2, bold=True))

    def tip(step: Step, before: float, total: float, level: float) -> Point | None:
        u = wide * 0.28
        r = total - 3 / scale if step is chain.steps[0] else (before + total) / 2
        if step.name == "liner":  # it lies in the arc, the clearance between it and the cylinder
            r = finished - step.nominal / 2
        elif step.name == "clearance":
            r = inner + step.nominal / 2
        return view(u, -math.sqrt(max(r * r - u * u, 0.0)))

    marks += chain_beside(chain, "Fit, from the axis outward [mm]", "step, along the radius", top=high[1] - 8,
                          left=view(window.high[0], 0)[0] + 14, right=high[0], tip=tip)  # fmt: skip
    return tuple(marks), scale_word(scale)


def _reaches(chain: Chain, surface: str) -> bool:
    return any(step.surface == surface for step in chain.steps)
