"""What a builder left open of soles and hatches, decided here with the reason; what cannot be built, refused.

In       a SolePlan whose fields are good one by one.
Out      the SolePlan with nothing left open, its choices; Faults of what does not go together.
Not here solids (cockpit.py), what is judged (check/).
"""

from __future__ import annotations

import math
from itertools import combinations

from moldplan.errors import Fault, Path, dotted
from moldplan.shape import hatch as frames
from moldplan.shape.cockpit import SoleBrief, bounds_of
from moldplan.shape.record import Choice
from moldplan.shape.sole import edges_of, outline_faults, surface_of
from moldplan.spec.model import Cutter
from moldplan.spec.sole import Hatch, HatchDrain, SolePlan, Spot

BORES = (25.0, 19.0)  # mm, common practice, no source; 12 mm clogs
FLANGE_OVER = 20.0  # mm, a drain's flange is that much wider than its bore; ours
ENDS: dict[str, tuple[Spot, Spot]] = {
    "aft": ("aft port", "aft starboard"),
    "forward": ("forward port", "forward starboard"),
    "port": ("forward port", "aft port"),
    "starboard": ("forward starboard", "aft starboard"),
}


def settled(name: str, sole: SolePlan, skin: str, choices: list[Choice]) -> SolePlan:
    """The sole with nothing left open."""
    path: Path = ("soles", name)
    update: dict[str, object] = {}
    if sole.skin is None:
        update["skin"] = skin
        choices.append(Choice(dotted((*path, "skin")), skin, "no laminate is named for this sole"))
    hatches = {k: _hatch(sole, (*path, "hatches", k), h, sole.skin or skin, choices) for k, h in sole.hatches.items()}
    return sole.model_copy(update={**update, "hatches": hatches})


def _hatch(sole: SolePlan, path: Path, one: Hatch, skin: str, choices: list[Choice]) -> Hatch:
    """Skins and drains of one hatch."""
    update: dict[str, object] = {}
    if one.skin is None:
        update["skin"] = skin
        choices.append(Choice(dotted((*path, "skin")), skin, "as the sole's"))
    if one.lid.skin is None:
        update["lid"] = one.lid.model_copy(update={"skin": skin})
        choices.append(Choice(dotted((*path, "lid", "skin")), skin, "as the sole's"))
    if not one.drains:
        drains, why = _drains(sole, one)
        update["drains"] = drains
        choices.append(
            Choice(dotted((*path, "drains")), ", ".join(f"{d.at}, bore {d.bore:g}" for d in drains.values()), why)
        )
    return one.model_copy(update=update)


def _drains(sole: SolePlan, one: Hatch) -> tuple[dict[str, HatchDrain], str]:
    """Two drains at the lowest corners: where the sole falls to, aft when it is level."""
    side = _own_side(sole.towards if sole.fall else "aft", one.turn)
    slant = math.tan(math.radians(one.gutter.draft))
    floor = one.gutter.width - (2 * one.gutter.depth + one.lid.thickness + one.lid.gasket.free) * slant
    flat = floor - 2 * one.gutter.root_radius
    bore = next((b for b in BORES if b <= flat), BORES[-1])
    sump = 0.0 if bore <= flat else 6.0
    made: dict[str, HatchDrain] = {
        spot: HatchDrain(at=spot, bore=bore, sump=sump, flange=bore + FLANGE_OVER) for spot in ENDS[side]
    }
    return made, f"the two corners on the side the sole falls to ({side}); the largest usual bore its floor takes" + (
        ", in a sump" if sump else ""
    )


def _own_side(towards: str, turn: float) -> str:
    """A side of the boat as the nearest side of a turned hatch."""
    order = ("forward", "port", "aft", "starboard")
    return order[(order.index(towards) - round(turn / 90)) % 4]


def sole_faults(brief: SoleBrief, cutter: Cutter) -> list[Fault]:
    """Everything about one sole that cannot be."""
    found = outline_faults(brief.sole, brief.path)
    if found:
        return found
    for name, one in brief.sole.hatches.items():
        found += hatch_faults(brief, (*brief.path, "hatches", name), name, one, cutter)
    return found or [*_off_the_sole(brief), *_into_each_other(brief)]


def hatch_faults(brief: SoleBrief, path: Path, name: str, one: Hatch, cutter: Cutter) -> list[Fault]:
    """One hatch by itself: corners, levels, gutter, drains."""
    found = []
    short = min(one.clear_opening) / 2
    if one.corner_radius > short:
        found.append(
            Fault(
                (*path, "corner_radius"),
                one.corner_radius,
                f"5 to {short:g}",
                "at most half the shorter side of the opening",
            )
        )
        return found
    build = brief.frame_builds[name]
    levels = frames.levels(one, paint=build.paint)
    if levels.lid >= levels.landing:
        found.append(
            Fault(
                (*path, "landing_depth"),
                one.landing_depth,
                f"more than {levels.lid:g}",
                "the lid is thicker than the rebate it lies in",
            )
        )
    if one.upstand >= levels.landing - levels.lid and one.upstand:
        found.append(
            Fault(
                (*path, "upstand"),
                one.upstand,
                f"less than {levels.landing - levels.lid:g}",
                "the closed lid's underside would lie on it",
            )
        )
    if one.landing - one.lid.gasket.width < 0:
        found.append(
            Fault(
                (*path, "lid", "gasket", "width"),
                one.lid.gasket.width,
                f"up to {one.landing:g}",
                "the gasket must lie on the landing",
            )
        )
    slant = math.tan(math.radians(one.gutter.draft))
    floor = one.gutter.width - (2 * levels.drain - levels.landing) * slant
    least = max(cutter.diameter, 2.0) + 2 * (one.gutter.root_radius + build.paint) * math.tan(
        math.radians(45 - one.gutter.draft / 2)
    )
    if floor < least:
        need = one.gutter.width + least - floor
        found.append(
            Fault(
                (*path, "gutter", "width"),
                one.gutter.width,
                f"at least {need:.1f}",
                f"at the drain its floor is {floor:.1f} mm wide between drafted walls, and a strip's flat "
                f"there must take the {cutter.diameter:g} mm cutter",
            )
        )
    if brief.sole.depth_below is not None and levels.rim + build.skin > brief.sole.depth_below:
        found.append(
            Fault(
                (*path, "gutter", "depth"),
                one.gutter.depth,
                f"{levels.rim + build.skin - brief.sole.depth_below:.1f} mm less",
                f"its drain would lie deeper than the {brief.sole.depth_below:g} mm there are below the sole",
            )
        )
    if not 0 <= one.lid.gasket.squeeze < 0.9 or one.lid.close_out >= short:
        found.append(
            Fault(
                (*path, "lid", "close_out"),
                one.lid.close_out,
                f"less than {short:g}",
                "the core would be cut back to nothing",
            )
        )
    return found + _drain_faults(brief, path, one)


def _drain_faults(brief: SoleBrief, path: Path, one: Hatch) -> list[Fault]:
    """Drains in the gutter, apart from each other; a floor that falls to at least one of them as she lies at rest."""
    found, way = [], frames.ring(one)
    places = {}
    for name, drain in one.drains.items():
        if not isinstance(drain.at, str):
            off = way.nearest(*frames.own_plan(one, drain.at))[1]
            if abs(off - way.off) > one.gutter.width / 2:
                found.append(
                    Fault(
                        (*path, "drains", name, "at"),
                        list(drain.at),
                        f"a point {one.landing:g} to {one.landing + one.gutter.width:g} mm outside the opening",
                        "that is where the gutter is",
                    )
                )
        places[name] = frames.drain_place(way, one, drain)
        if drain.flange < drain.bore:
            found.append(
                Fault(
                    (*path, "drains", name, "flange"),
                    drain.flange,
                    f"at least {drain.bore:g}",
                    "a flange is wider than its bore",
                )
            )
    for a, b in combinations(places, 2):
        apart = abs(places[a] - places[b])
        apart = min(apart, way.whole - apart)
        if apart < (one.drains[a].flange + one.drains[b].flange) / 2:
            found.append(
                Fault(
                    (*path, "drains", b, "at"),
                    one.drains[b].at,
                    "a place apart from the other drains",
                    f"its flange would lie on that of {a}",
                )
            )
    return found or _uphill(brief, path, one)


def _uphill(brief: SoleBrief, path: Path, one: Hatch) -> list[Fault]:
    """A fall that is uphill to every drain at rest, because the sole leans the other way."""
    face = surface_of(brief.sole, bounds_of(brief.sole))
    at = face.frame(*one.centre, one.turn)
    levels = frames.levels(one, paint=0.0)
    way = frames.runs(one, levels)
    drops = []
    for k, high in enumerate(way.highs):
        for drain in (way.drains[k], way.drains[(k + 1) % len(way.drains)]):
            a, b = (at.place((*frames.middle_of(way, s), -way.level(s)))[2] for s in (high, drain))
            drops.append(a - b)
    if all(drop < 0 for drop in drops):
        return [
            Fault(
                (*path, "gutter", "fall"),
                one.gutter.fall,
                f"steeper than the sole's own {brief.sole.fall:g}, or drains on the side the sole falls to",
                "every run of the gutter would rise to its drain",
            )
        ]
    return []


def _polygons(brief: SoleBrief) -> dict[str, object]:
    """Plan of each hatch out to its bond flange, and of its gutter's outer wall, in boat axes."""
    from shapely import affinity
    from shapely.geometry import box

    found = {}
    for name, one in brief.sole.hatches.items():
        out = frames.offsets(one)
        (length, width), r = one.clear_opening, one.corner_radius
        core = box(-length / 2 + r, -width / 2 + r, length / 2 - r, width / 2 - r).buffer(r + out.gutter, 32)
        found[name] = affinity.translate(affinity.rotate(core, one.turn, origin=(0, 0)), *one.centre)
    return found


def outline_polygon(sole: SolePlan) -> object:
    """The sole's outline in plan as a polygon, arcs in chords under 0.05 mm off."""
    from shapely.geometry import Polygon

    spots = []
    for edge in edges_of(sole.outline or ()):
        count = 1 if edge.geomType() == "LINE" else 64
        spots += [edge.positionAt(k / count) for k in range(count)]
    return Polygon([(p.x, p.y) for p in spots])


def _off_the_sole(brief: SoleBrief) -> list[Fault]:
    ground, found = outline_polygon(brief.sole), []
    for name, plan in _polygons(brief).items():
        rest = plan.difference(ground)  # type: ignore[attr-defined]
        if not rest.is_empty:
            over = max(ground.exterior.distance(p) for p in _points(rest))  # type: ignore[attr-defined]
            found.append(
                Fault(
                    (*brief.path, "hatches", name, "centre"),
                    list(brief.sole.hatches[name].centre),
                    f"a place {over:.0f} mm further in",
                    "the hatch with its gutter leaves the sole",
                )
            )
    return found


def _points(shape: object) -> list[object]:
    from shapely import get_coordinates
    from shapely.geometry import Point

    return [Point(*xy) for xy in get_coordinates(shape)]


def _into_each_other(brief: SoleBrief) -> list[Fault]:
    plans, found = _polygons(brief), []
    for (a, one), (b, two) in combinations(plans.items(), 2):
        if one.intersection(two).area > 1e-6:  # type: ignore[attr-defined]
            found.append(
                Fault(
                    (*brief.path, "hatches", b, "centre"),
                    list(brief.sole.hatches[b].centre),
                    f"a place clear of {a}",
                    "the two gutters cut into each other: there is no land between",
                )
            )
    return found
