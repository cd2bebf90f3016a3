"""The wall of a seat, enlarged: every layer between cylinder and core, tied to its row of the fit chain.

In       a finished plan, a stand, its chains, two corners on the paper.
Out      detail(): marks and the scale in words.
Not here the section it belongs to (section.py).

The wall opposite the limber is shown, where nothing goes through it. Gaps of 4 mm, skins of 1.5 mm and paint of 0.3 mm
cannot be seen at the section's scale.
"""

from __future__ import annotations

from collections.abc import Sequence

from moldplan.report import slice as slicing
from moldplan.report.annotate import scale_word
from moldplan.report.chain_table import chain_beside
from moldplan.report.drawing import TEXT, Curve, Mark, Point, Text, View, flattened, polyline, rectangle
from moldplan.report.scene import Cut, axial_plane, bodies_for, drawn, meet, paste
from moldplan.report.slice import Plane
from moldplan.report.subject import Plan, one
from moldplan.shape.assembly import Stand
from moldplan.shape.body import Frame
from moldplan.shape.chain import Chain, Step

SCALES = (5.0, 2.0, 1.0, 0.5, 0.2, 0.1)
WIDE = 76.0  # of the window on paper [mm]


def detail(plan: Plan, stand: Stand, chains: Sequence[Chain], low: Point, high: Point) -> tuple[tuple[Mark, ...], str]:
    """The enlarged wall with the chain at the floor beside it, row by row."""
    chain = one(chains, "per_side", "floor")
    if chain is None:
        return (), "no detail"
    across = axial_plane(plan, stand, (0, 0), (1, 1)).frame
    u, z = across.x, across.z
    away = Frame(across.origin, (-u[0], -u[1], -u[2]), (-z[0], -z[1], -z[2]))
    down = one(chains, "depth", "floor")
    depth = down.steps[0].nominal if down else 40.0
    tall_paper = high[1] - low[1] - 8
    window, scale = _window(chain, away, depth, tall_paper)
    view = View(scale, (low[0], high[1] - 8 - (window.high[1] - window.low[1]) * scale), window.low)
    cuts = meet(plan, [*bodies_for(plan, stand), plan.assembly.body(stand.body)], window)
    marks: list[Mark] = [*drawn(cuts, window, view), *paste(plan, stand, window, view, cuts)]
    marks += _paint(plan, stand, window, view, cuts)
    marks.append(rectangle(view(*window.low), view(*window.high)))
    heading = f"Detail at the wall opposite the limber, {scale_word(scale)}"
    if not plan.assembly.of_kind("tube"):
        heading = f"Detail at the wall, {scale_word(scale)}"
    marks.append(Text((low[0], high[1] - TEXT), heading, 4.2, bold=True))
    marks += _chain_beside(plan, stand, chain, window, view, cuts, high)
    return tuple(marks), scale_word(scale)


def _window(chain: Chain, frame: Frame, depth: float, tall: float) -> tuple[Plane, float]:
    """The window and the scale: the layers across, and as much of the wall as the paper takes."""
    core, radius, finished = chain.upto("C"), chain.steps[0].nominal, chain.upto("F")
    span = core - radius + 14
    scale = next((s for s in SCALES[1:] if span * s <= WIDE), SCALES[-1])
    wide, high = WIDE / scale, tall / scale
    below = (core - finished) + 6 / scale
    high = min(high, below + depth + 16 / scale)
    middle = (radius + core) / 2
    return Plane(frame, (middle - wide / 2, -below), (middle + wide / 2, high - below)), scale


def _chain_beside(plan: Plan, stand: Stand, chain: Chain, window: Plane, view: View, cuts: Sequence[Cut], high: Point
                  ) -> list[Mark]:  # fmt: skip
    """The chain as a table to the right, a level leader from each row to its layer."""
    walls = _wall_levels(plan, stand, window)

    def tip(step: Step, before: float, total: float, level: float) -> Point | None:
        if not walls:
            return None
        v = window.low[1] + (level - view.at[1]) / view.scale
        v = min(max(v, walls[0][1] + 1.5 / view.scale), walls[-1][1] - 1.5 / view.scale)
        lean = _at(walls, v) - chain.upto("M")
        return view(_middle(chain, step.name, before, total, lean, v, cuts, view.scale), v)

    return chain_beside(
        chain, "Fit, from the axis outward [mm]", "step, per side at the floor", left=view(window.high[0], 0)[0] + 14,
        top=view(0, window.high[1])[1], right=high[0], tip=tip)  # fmt: skip


def _middle(chain: Chain, name: str, before: float, total: float, lean: float, v: float, cuts: Sequence[Cut],
            scale: float) -> float:  # fmt: skip
    """Where a layer's leader ends at level v: its middle; for the cylinder and the gap beside it as they really are."""
    if name not in (chain.steps[0].name, chain.steps[1].name):
        return (before + total) / 2 + lean
    side = _cylinder_side(cuts, v)
    side = before if side is None and name != chain.steps[0].name else total if side is None else side
    return side - 4 / scale if name == chain.steps[0].name else (side + total + lean) / 2


def _cylinder_side(cuts: Sequence[Cut], v: float) -> float | None:
    from shapely import LineString

    for cut in cuts:
        if cut.body.kind == "cylinder":
            met = cut.area().intersection(LineString([(-1e4, v), (1e4, v)]))
            return None if met.is_empty else float(met.bounds[2])
    return None


def _wall_levels(plan: Plan, stand: Stand, plane: Plane) -> list[Point]:
    """The molded wall as (radius, level) points, lowest first, measured on the hosts' own faces."""
    found: list[Point] = []
    for name in stand.hosts:
        roles = plan.assembly.body(name).shaped.roles
        for chain in slicing.traces(roles.get(f"{stand.roles} wall", ()), plane):
            found += [p for p in flattened(chain, closed=False) if p[0] > 0]
    return sorted(found, key=lambda p: p[1])


def _at(walls: Sequence[Point], v: float) -> float:
    """The wall's radius at a level between its ends."""
    (u, low), (eu, high) = walls[0], walls[-1]
    return u + (eu - u) * (v - low) / (high - low) if high > low else u


def _paint(plan: Plan, stand: Stand, plane: Plane, view: View, cuts: Sequence[Cut]) -> tuple[Mark, ...]:
    """The paint on the molded faces as a grey band: it lies outside the bodies."""
    from shapely import LineString, box
    from shapely.ops import linemerge, unary_union

    if stand.paint <= 0:
        return ()
    pieces = []
    for name in stand.hosts:
        for role, faces in plan.assembly.body(name).shaped.roles.items():
            mine = role.startswith(f"{stand.roles} ") and not role.endswith("limber")
            if mine or role == "top":
                pieces += [flattened(chain, closed=False) for chain in slicing.traces(faces, plane)]
    lines = [LineString([(round(x, 5), round(y, 5)) for x, y in points]) for points in pieces]
    lines = [run for run in lines if run.length > 1e-4]
    if not lines:
        return ()
    solid = unary_union([c.area() for c in cuts if c.body.kind not in ("cylinder", "envelope", "liner")]).buffer(1e-3)
    joined = linemerge(lines) if len(lines) > 1 else lines[0]
    marks: list[Mark] = []
    for run in getattr(joined, "geoms", [joined]):
        band = run.buffer(stand.paint, cap_style="flat").difference(solid).intersection(box(*plane.low, *plane.high))
        for part in getattr(band, "geoms", [band]):
            if part.geom_type == "Polygon" and part.area > 1e-2:
                points = [view(x, y) for x, y in part.exterior.coords[:-1]]
                marks.append(polyline(points, "none", closed=True, fill="mid"))
                marks.append(Curve(tuple((*p, 0.0) for p in points), closed=True, pen="hatch"))
    return tuple(marks)

