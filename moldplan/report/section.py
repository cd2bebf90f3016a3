"""A seat cut through its cylinder's axis, with its fit chain dimensioned on it.

In       a finished plan, one of its stands.
Out      seat(): sheets (A4) with the half section, the detail at the wall, the chains as tables.
Not here other drawings (across.py, insert_view.py, plan_view.py), writing them (ink.py).

The plane runs through the axis and, where there is a limber, along it. All outlines are cut from the finished bodies;
the numbers are those of the chain, so a slip between the two shows.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from moldplan.report import insert_view, wall_detail
from moldplan.report import slice as slicing
from moldplan.report.annotate import (
    A4,
    Column,
    Title,
    axis_line,
    break_line,
    dimension,
    dimension_or_tip,
    frame,
    free_area,
    halved,
    scale_word,
    table,
)
from moldplan.report.drawing import (
    TEXT,
    Drawing,
    Mark,
    Point,
    Text,
    View,
    flattened,
    line,
)
from moldplan.report.place import placed
from moldplan.report.scene import Cut, arrows, axial_plane, bodies_for, drawn, inside_point, meet, paste
from moldplan.report.slice import Plane
from moldplan.report.straps import strap_words
from moldplan.report.subject import (
    CHAIN_HEADS,
    Plan,
    chain_rows,
    chains_of,
    hand_of,
    hand_word,
    measure_word,
    one,
    size,
)
from moldplan.shape.assembly import Stand
from moldplan.shape.chain import Chain

Sheet = tuple[str, str, Sequence[Mark], str]  # drawing, scale, marks, description
SCALES = (2.0, 1.0, 0.5, 0.4, 0.2, 0.1)
COLUMNS = tuple(
    Column(heading, share, anchor)  # type: ignore[arg-type]
    for heading, share, anchor in zip(
        CHAIN_HEADS, (54, 18, 20, 18, 12, 60), ("start", "end", "end", "end", "middle", "start"), strict=True
    )
)


def seat(plan: Plan, stand: Stand) -> tuple[Drawing, ...]:
    """The drawing of one seat: a sheet with the section and the detail at the wall, then sheets with the chains."""
    chains = chains_of(plan, stand.path)
    (left, low), (right, high) = free_area(*A4)
    middle = low + (high - low) * 0.5
    section, word = _half_section(plan, stand, chains, (left, middle), (right, high))
    detail, enlarged = wall_detail.detail(plan, stand, chains, (left, low), (right, middle - 4))
    about = f"Half section through the axis of the seat {stand.name}, scale {word}, and its wall at {enlarged}."
    views: list[Sheet] = [("Seat, section and fit", f"{word}, {enlarged}", (*section, *detail), about)]
    if stand.tools:
        views.append(insert_view.view(plan, stand, (left, low), (right, high)))
    return bound(plan, stand, views, chain_sheets(plan, chains, (left, high), right - left, low))


def bound(plan: Plan, stand: Stand, views: Sequence[Sheet],
          tables: Sequence[Sequence[Mark]]) -> tuple[Drawing, ...]:  # fmt: skip
    """Views (drawing, scale, marks, description) and table sheets of one stand as numbered A4 sheets."""
    count, sheets = len(views) + len(tables), []
    for k, (name, scale, marks, about) in enumerate(views, 1):
        title = title_of(plan, stand, name, scale, f"{k} of {count}")
        sheets.append(Drawing(*A4, (*frame(*A4, title), *marks), f"{stand.name}: {name.lower()}", about))
    for k, marks in enumerate(tables, len(views) + 1):
        title = title_of(plan, stand, "Fit chains", "none", f"{k} of {count}")
        sheets.append(Drawing(*A4, (*frame(*A4, title), *marks), f"{stand.name}: fit chains, sheet {k}", on_page=False))
    return tuple(sheets)


def title_of(plan: Plan, stand: Stand, drawing: str, scale: str, sheet: str = "1 of 1") -> Title:
    """The title block of a stand's drawing."""
    units = "mm (inches)" if plan.spec.units == "inch" else "mm"
    return Title(title=plan.spec.title, part=stand.name, drawing=drawing, revision=plan.spec.revision, scale=scale,
                 hand=hand_word(plan, stand.path, hand_of(plan, stand)), units=units, sheet=sheet)  # fmt: skip


def _reach(plan: Plan, stand: Stand, plane: Plane) -> tuple[float, float]:
    """How far the hosts go from the axis along u, and down along v [mm]."""
    wide = Plane(plane.frame, (0.0, -1e4), (1e4, 1e4))
    far, deep = 1.0, 0.0
    for name in stand.hosts:
        loops = slicing.cut(plan.assembly.body(name).solid, wide)
        points = [p for loop in loops for p in flattened(loop, closed=True)]
        if points:
            far, deep = max(far, *(p[0] for p in points)), min(deep, *(p[1] for p in points))
    return far, deep


def _half_section(plan: Plan, stand: Stand, chains: Sequence[Chain], low: Point, high: Point
                  ) -> tuple[tuple[Mark, ...], str]:  # fmt: skip
    """The half section with its dimensions between two corners of the paper, and its scale."""
    far, deep = _reach(plan, stand, axial_plane(plan, stand, (0, 0), (1, 1)))
    floor, rim, down = one(chains, "per_side", "floor"), one(chains, "per_side", "rim"), one(chains, "depth", "floor")
    depth = down.steps[0].nominal if down else -deep / 2
    mouth = rim.upto("F") if rim else stand.cylinder.radius
    goes_on = far > mouth + 110
    shown = mouth + 80 if goes_on else far
    room = (high[0] - low[0] - 78, high[1] - low[1] - 62)
    scale = next((s for s in SCALES[1:] if shown * s <= room[0] and (depth - deep) * s <= room[1]), SCALES[-1])
    below, above = min(14.0, 7 / scale), 27 / scale
    window = axial_plane(plan, stand, (0.0, deep - below), (shown if goes_on else far + 5 / scale, depth + above))
    view = View(scale, (low[0] + 9, low[1] + 29), (0.0, deep))
    cuts = meet(plan, [*bodies_for(plan, stand), plan.assembly.body(stand.body)], window)
    marks: list[Mark] = [*drawn(cuts, window, view), *paste(plan, stand, window, view, cuts)]
    axis, top = view.at[0], view(0, window.high[1])[1]
    marks += [*axis_line((axis, low[1] + 3), (axis, top + 4)), *halved((axis, top + 1)), *halved((axis, low[1] + 6))]
    marks += break_line((axis, top), (view(min(stand.cylinder.radius, shown), 0)[0], top))
    if goes_on:
        marks += break_line(view(shown, deep), view(shown, depth))
    marks += _across(plan, stand, view, floor, rim, depth=depth, deep=deep)
    edge, mouth_at = view(shown, 0)[0], view(mouth, depth)
    down_marks, tips = dimension_or_tip((mouth_at[0], view(0, 0)[1]), mouth_at, f"depth {size(plan, depth)}",
                                        shift=edge - mouth_at[0] + 8)  # fmt: skip
    block = f"block {size(plan, depth - deep)}"
    block_marks, more = dimension_or_tip(view(shown, deep), view(shown, depth), block, shift=17)
    marks += [*down_marks, *block_marks]
    marks += arrows(window, (high[0] - 20, high[1] - 16))
    marks.append(Text((low[0], high[1] - TEXT), f"Half section through the axis, {scale_word(scale)}", 4.2, bold=True))
    marks.append(Text((low[0], high[1] - 2.7 * TEXT), strap_words(plan, stand)))
    tips += [*more]
    tips += [(inside_point(cut, view, near=near(cut, mouth, shown, deep, depth)), label(cut)) for cut in labelled(cuts)]
    marks += placed(marks, tips, column=edge + 26, top=high[1] - 28, low=low[1] + 6)
    return tuple(marks), scale_word(scale)


def _across(plan: Plan, stand: Stand, view: View, floor: Chain | None, rim: Chain | None, *, depth: float,
            deep: float) -> list[Mark]:  # fmt: skip
    """Half diameters: mouth and cylinder above the rim, floor and core cut-out below the block."""
    marks: list[Mark] = []
    base = view(0, deep)[1]
    if floor:
        for row, (surface, words) in enumerate((("F", "finished at floor"), ("C", "core cut-out at floor"))):
            radius = floor.upto(surface)
            spot = view(radius, 0)
            marks.append(line(spot, (spot[0], base - 11 - 9 * row - 1.4)))
            aside = view(floor.upto("C"), 0)[0] - spot[0] + 2
            marks += dimension((view.at[0], base), (spot[0], base), f"Ø {size(plan, 2 * radius)} {words}",
                               shift=-(11 + 9 * row), half=True, beyond=4, clear=aside)  # fmt: skip
    widest = view(max(stand.cylinder.radius, rim.upto("F") if rim else 0.0), 0)[0] + 2
    if rim:
        spot = view(rim.upto("F"), depth)
        marks += dimension((view.at[0], spot[1]), spot, f"Ø {size(plan, 2 * rim.upto('F'))} finished at rim",
                           shift=8, half=True, beyond=4, clear=widest - spot[0])  # fmt: skip
    spot = view(stand.cylinder.radius, depth)
    words = f"Ø {size(plan, 2 * stand.cylinder.radius)} cylinder"
    marks += dimension((view.at[0], spot[1] + 16), (spot[0], spot[1] + 16), words, shift=1, half=True, beyond=4,
                       clear=widest - spot[0])  # fmt: skip
    return marks


def labelled(cuts: Sequence[Cut]) -> list[Cut]:
    """One cut for each kind and material: the largest; cylinders have their own dimension."""
    best: dict[tuple[str, str], Cut] = {}
    for cut in cuts:
        key = (cut.body.kind, cut.material)
        if key not in best or cut.area().area > best[key].area().area:
            best[key] = cut
    return [cut for cut in best.values() if cut.body.kind != "cylinder"]


def near(cut: Cut, mouth: float, far: float, deep: float, depth: float) -> Point:
    """Where a label's leader should end, in the plane [mm]."""
    places = {"skin": (0.5, depth), "tube": (0.3, 0.0), "surroundings": (0.9, deep - 5)}
    share = places.get(cut.body.kind, (0.75, deep / 2))
    return (mouth + share[0] * (far - mouth), share[1])


def label(cut: Cut) -> str:
    """What a cut body is called on a drawing."""
    body = cut.body
    match body.kind:
        case "core" | "part":
            return f"core, {body.stock}" if body.stock else f"core, {cut.material}"
        case "tube":
            return "limber, sealed tube"
        case "surroundings":
            return "sole and walls"
        case _:
            return body.kind


def chain_sheets(plan: Plan, chains: Sequence[Chain], at: Point, width: float, low: float) -> list[tuple[Mark, ...]]:
    """Every chain's table, each whole, on as many sheets as they need."""
    sheets: list[list[Mark]] = []
    y = -math.inf
    order = {"per_side": 0, "depth": 1, "diameter": 2, "level": 3}
    for chain in sorted(chains, key=lambda c: (order[c.measure], c.at != "floor")):
        rows = chain_rows(plan, chain)
        heading = f"{measure_word(chain)} [mm]"
        for _ in (1, 2):
            marks, tall = table((at[0], y), width, heading, COLUMNS, rows, strong=[len(rows) - 1])
            if y - tall >= low + 8:
                break
            sheets.append([*_key((at[0], low + 1.5))])
            y = at[1]
        sheets[-1] += marks
        y -= tall + 8
    return [tuple(marks) for marks in sheets]


def _key(at: Point) -> tuple[Mark, ...]:
    words = "F finished and painted, M molded face, C core side. Tolerances are never added into the sum."
    return (Text(at, words),)
