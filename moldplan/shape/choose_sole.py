"""What a builder left open of soles and hatches, decided here with the reason; what cannot be built, refused.

In       a SolePlan whose fields are good one by one.
Out      the SolePlan with nothing left open, its choices; Faults of what does not go together.
Not here solids (cockpit.py), what is judged (check/).
"""

from __future__ import annotations

import math
from itertools import combinations

from moldplan.errors import Fault, Path, dotted
from moldplan.handbook.lookup import limit
from moldplan.quantity import at_least
from moldplan.shape import below
from moldplan.shape import hatch as frames
from moldplan.shape import sump as sumps
from moldplan.shape.arrange import MOST, RECESS, TRIED, Ground, Plot, Search, Standing, kind, parted
from moldplan.shape.cockpit import SoleBrief, bounds_of
from moldplan.shape.drain import flange_of
from moldplan.shape.record import Choice
from moldplan.shape.refuse_hatch import hatch_faults
from moldplan.shape.sole import edges_of, outline_faults, surface_of
from moldplan.spec.model import Cutter
from moldplan.spec.sole import Fitting, Hatch, HatchDrain, SolePlan, Spot

BORES = (25.0, 19.0)  # mm, common practice, no source; 12 mm clogs
FLANGE_OVER = 20.0  # mm, a drain's flange is that much wider than its bore; ours
SUMP = 6.0  # mm deep, where the floor's flat does not take the least bore; ours
CIRCLE = 0.7  # of a fitting's flange, its bolt circle where none is given; ours
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
    update["fittings"] = {k: _fitting((*path, "fittings", k), f, choices) for k, f in sole.fittings.items()}
    return sole.model_copy(update={**update, "hatches": hatches})


def _fitting(path: Path, one: Fitting, choices: list[Choice]) -> Fitting:
    """The bolt circle of a fitting with bolts."""
    if not one.bolts or one.bolt_circle is not None:
        return one
    circle = round(CIRCLE * one.flange, 1)
    choices.append(Choice(dotted((*path, "bolt_circle")), circle, "seven tenths of its flange; measure the fitting"))
    return one.model_copy(update={"bolt_circle": circle})


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
    corners = one.model_copy(update={"drains": {spot: HatchDrain(at=spot) for spot in ENDS[side]}})
    floor, draft = frames.floor_width(one, frames.levels(corners, paint=0.0)), one.gutter.draft
    flat = floor - 2 * one.gutter.root_radius * math.tan(math.radians(45 - draft / 2))
    bore = next((b for b in BORES if b <= flat), BORES[-1])
    room = sumps.widest(floor=floor, deep=SUMP, draft=draft)
    sunk = bore > flat and room >= bore  # else no sump takes it either: the check on the floor's flat says so
    flange = min(bore + FLANGE_OVER, math.floor(room)) if sunk else bore + FLANGE_OVER
    made: dict[str, HatchDrain] = {
        spot: HatchDrain(at=spot, bore=bore, sump=SUMP if sunk else 0.0, flange=flange) for spot in ENDS[side]
    }
    return made, f"the two corners on the side the sole falls to ({side}); the largest usual bore its floor takes" + (
        ", in a sump" if sunk else ""
    )


def _own_side(towards: str, turn: float) -> str:
    """A side of the boat as the nearest side of a turned hatch."""
    order = ("forward", "port", "aft", "starboard")
    return order[(order.index(towards) - round(turn / 90)) % 4]


def sole_faults(brief: SoleBrief, cutter: Cutter) -> list[Fault]:
    """Everything about one sole that cannot be."""
    found = outline_faults(brief.sole, brief.path)
    found += [f for n, item in brief.sole.below.items() for f in below.faults(item, (*brief.path, "below", n))]
    if found:
        return found
    for name, one in brief.sole.hatches.items():
        found += hatch_faults(brief, (*brief.path, "hatches", name), name, one, cutter)
    found = found or [*_off_the_sole(brief), *_into_each_other(brief)]
    return found or [*_fittings(brief), *_targets(brief)]


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
            over = max(ground.distance(p) for p in _points(rest))  # type: ignore[attr-defined]
            found.append(
                Fault(
                    (*brief.path, "hatches", name, "centre"),
                    list(brief.sole.hatches[name].centre),
                    f"a place {at_least(over, 0)} mm further in{_instead(brief, name)}",
                    "the hatch with its gutter leaves the sole",
                )
            )
    return found


def _points(shape: object) -> list[object]:
    from shapely import get_coordinates
    from shapely.geometry import Point

    return [Point(*xy) for xy in get_coordinates(shape)]


def _into_each_other(brief: SoleBrief) -> list[Fault]:
    found, plots = [], _plots(brief)
    for (a, one), (b, two) in combinations(plots.items(), 2):
        over = one.rebate + two.rebate - parted(_core(one), _core(two))[0]
        if over > 1e-6:
            found.append(
                Fault(
                    (*brief.path, "hatches", b, "centre"),
                    list(brief.sole.hatches[b].centre),
                    f"a place clear of {a}{_instead(brief, a, b)}",
                    f"the two gutters cut {over:.1f} mm into each other: there is no land between",
                )
            )
    return found


def _plots(brief: SoleBrief) -> dict[str, Plot]:
    """What each hatch takes in plan."""
    found = {}
    for name, one in brief.sole.hatches.items():
        out, (length, width), r = frames.offsets(one), one.clear_opening, one.corner_radius
        found[name] = Plot((length / 2 - r, width / 2 - r), r, r + out.gutter, r + out.flange, one.centre, one.turn)
    return found


def _core(plot: Plot) -> object:
    from shapely.geometry import MultiPoint

    return MultiPoint([(x + plot.centre[0], y + plot.centre[1]) for x, y in plot.core(False)]).convex_hull


def _instead(brief: SoleBrief, *names: str) -> str:
    """Where the hatches named would lie well, in words: they alone, else all of a sole's few; or what was tried."""
    plots, standing = _plots(brief), []
    for one in brief.sole.fittings.values():
        r, (x, y) = (one.flange + 2 * brief.core) / 2, one.at
        turns = [math.radians(15 * k) for k in range(24)]
        standing.append(Standing(tuple((x + r * math.cos(t), y + r * math.sin(t)) for t in turns), 1.0))
    land, core = (limit(name).value for name in ("hatch-land", "land"))
    ground = Ground(outline_polygon(brief.sole), tuple(standing), land, core + RECESS)
    for movable in (names, tuple(plots))[: 2 if len(names) < len(plots) <= MOST else 1]:
        found = Search(ground, plots, movable).found()
        if found:
            said = (f"{name} at {put.centre[0]:g}, {put.centre[1]:g}{' turned by 90 deg' if put.turned else ''}"
                    for name, put in sorted(found[0].items()))
            lies = f" {kind(plots, found[0])}" if len(found[0]) > 1 else ""
            return f", such as{lies} {' and '.join(said)}"
    return f", which there is none of ({TRIED})"


def _fittings(brief: SoleBrief) -> list[Fault]:
    """What is bolted down and what drains: its flange on the sole, clear of every hatch, its bolts in its flange."""
    from shapely.geometry import Point

    ground, plans, found = outline_polygon(brief.sole), _polygons(brief), []
    feet = [(("fittings", n), f.at, f.flange) for n, f in brief.sole.fittings.items()]
    feet += [(("scuppers", n), s.at, flange_of(s)) for n, s in brief.sole.scuppers.items()]
    for where, at, flange in feet:
        path = (*brief.path, *where)
        foot = Point(*at).buffer(flange / 2, 32)
        if not ground.covers(foot):  # type: ignore[attr-defined]
            found.append(Fault((*path, "at"), list(at), "a place on the sole", "its flange leaves the sole"))
        for hatch, plan in plans.items():
            if plan.intersects(foot):  # type: ignore[attr-defined]
                found.append(Fault((*path, "at"), list(at), f"a place clear of {hatch}",
                                   "its flange would lie over the hatch"))
    for (first, here), (second, there) in combinations(brief.sole.scuppers.items(), 2):
        room = (flange_of(here) + flange_of(there)) / 2
        if math.dist(here.at, there.at) < room:
            found.append(Fault((*brief.path, "scuppers", second, "at"), list(there.at),
                               f"at least {at_least(room, 0)} mm from {first}",
                               "its flange would lie on that of the other"))
    for name, one in brief.sole.fittings.items():
        path = (*brief.path, "fittings", name)
        if one.bolts:
            found += _bolts(path, one)
    return found


def _bolts(path: Path, one: Fitting) -> list[Fault]:
    """Bolts inside the flange, and apart from each other."""
    circle = one.bolt_circle or 0.0  # settled() gave it where the builder did not
    if circle + one.bolt >= one.flange:
        return [Fault((*path, "bolt_circle"), one.bolt_circle, f"less than {one.flange - one.bolt:g}",
                      "its bolts would stand outside its flange")]
    apart = circle * math.sin(math.pi / one.bolts) if one.bolts > 1 else math.inf
    if apart <= one.bolt:
        fits = max(math.floor(math.pi / math.asin(min(one.bolt / circle, 1.0)) - 1e-9), 1)
        return [Fault((*path, "bolts"), one.bolts, f"up to {fits}",
                      f"on a circle of {circle:g} their holes would meet")]
    return []


def _targets(brief: SoleBrief) -> list[Fault]:
    """What a hand must reach lies under the sole."""
    face, found = surface_of(brief.sole, bounds_of(brief.sole)), []
    for name, one in brief.sole.targets.items():
        under = face.z(one.at[0], one.at[1]) - brief.build.paint - brief.thickness
        if one.at[2] > under:
            found.append(Fault((*brief.path, "targets", name, "at"), list(one.at),
                               f"a height under {math.floor(under):g}, the sole's underside there",
                               "what is not under the sole is not reached through it"))
    return found
