"""What the rules picked ask of a cockpit that drains itself: its floor's height, its drains' number, bore and area.

In       Assembly, Spec: soles with scuppers; the rules picked.
Out      findings "rules"; nothing where no rules are picked, for ours say nothing of cockpits.
Not here how fast it empties (capacity), hoses and outlets (hose.py, overboard.py), gas (gas_space.py).

The area by 46 CFR 178.450 is taken in its inch form (freeing.py), of the recess up to the spec's `sill`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from moldplan.check.afloat import waterline_of
from moldplan.check.freeing import CM2, Well, basic_area, drains_needed, required_area
from moldplan.check.hose import at
from moldplan.check.net import border, length_round, loops, net_of
from moldplan.check.ruled import Asked, asked, facts_of, in_words, told
from moldplan.finding import Edit, Finding, Move, Source
from moldplan.shape.assembly import Assembly, SolePlace
from moldplan.shape.drain import DrainPlace
from moldplan.spec.model import Spec

FOOT = 304.8  # mm
AREA_RULES = "46 cfr 178"
AREA = Source(document="46 CFR", clause="178.450", how_read="seen")
IN_WORDS = ("cockpit floor height as practicable", "cockpit drains", "open boat", "flush deck", "backflow", "scope",
            "lockers into the cockpit", "hatch cover")
NOT_IN_SPEC = (("sill height", "the sill to the interior is not part of the spec"),
               ("coaming height", "coamings under doors are not part of the spec"),
               ("hatch trunk height", "trunks of hatches are not part of the spec"),
               ("well deck height", "whether it is a well deck is not part of the spec"),
               ("freeing area", "bulwarks are not part of the spec"),
               ("freeing area share", "bulwarks are not part of the spec"),
               ("freeing port count", "freeing ports are not part of the spec"),
               ("freeing port area", "freeing ports are not part of the spec"))


@dataclass(frozen=True)
class Edge:
    """The border of a sole's top in plan: area [mm2], length along the boat, lowest place, mean height [mm]."""

    area: float
    length: float
    lowest: tuple[float, float, float]
    mean: float


def cockpit_rules(assembly: Assembly, spec: Spec) -> list[Finding]:
    """Every sole with scuppers, if rules are picked."""
    if not spec.rules:
        return []
    found: list[Finding] = []
    for sole in assembly.soles:
        scuppers = [d for d in assembly.drains if d.space == sole.name]
        if scuppers:
            found += _cockpit(assembly, spec, sole, scuppers)
            found += _area(assembly, spec, sole, scuppers)
            found += _others(spec, sole)
    return found


def _cockpit(assembly: Assembly, spec: Spec, sole: SolePlace, scuppers: Sequence[DrainPlace]) -> list[Finding]:
    """Floor height, number and bore of the drains, as far as the rules picked speak of them."""
    facts, path = facts_of(spec), ("soles", sole.name)
    found = []
    if height := asked("cockpit floor height", spec, facts):
        found.append(_height(assembly, spec, sole, height))
    if count := asked("drain count", spec, facts):
        more = _twin(spec, sole, scuppers)
        found.append(count.finding(check="rules", part=sole.name, what="drain count", measured=float(len(scuppers)),
                                   path=(*path, "scuppers"), note=f"{len(scuppers)} through its sole", moves=more))
    if bore := asked("drain bore", spec, facts):
        least = min(scuppers, key=lambda d: d.narrowest)
        value = bore.bound.value if bore.bound else least.narrowest
        found.append(bore.finding(check="rules", part=sole.name, what="drain bore", measured=least.narrowest,
                                  path=least.path, at=at(least.rim), note=f"{least.name} is the narrowest",
                                  moves=_wider(spec, scuppers, math.ceil(value))))
    return found


def _height(assembly: Assembly, spec: Spec, sole: SolePlace, limit: Asked) -> Finding:
    """The lowest place of the floor over the loaded waterline at rest."""
    path, water = ("soles", sole.name, "surface"), waterline_of(spec)
    if water is None:
        return limit.unjudged(check="rules", part=sole.name, what="floor height", path=("boat", "waterline"),
                              why="boat.waterline is not given")
    low = edge_of(assembly, sole).lowest
    over = water.height_above(low)
    short = limit.bound.short(over) if limit.bound else 0.0
    return limit.finding(check="rules", part=sole.name, what="floor height", measured=over, path=path, at=at(low),
                         note=f"its lowest place lies {over:.0f} mm over the loaded waterline",
                         moves=(Move("the sole at {to}", (Edit(path, math.ceil(sole.sole.surface + short), 5.0),)),))


def _twin(spec: Spec, sole: SolePlace, scuppers: Sequence[DrainPlace]) -> tuple[Move, ...]:
    """One more drain: the mirror image of one that lies off the centreline."""
    given = spec.soles[sole.name].scuppers
    for name, one in given.items():
        if abs(one.at[1]) < one.bore:
            continue
        other = {**one.model_dump(warnings=False), "at": (one.at[0], -one.at[1])}
        other["hose"] = None if one.hose is None else [(x, -y, z) for x, y, z in one.hose]
        other["outlet"] = None if one.outlet is None else (one.outlet[0], -one.outlet[1], one.outlet[2])
        fields: dict[str, Any] = {key: value for key, value in other.items() if value is not None}
        title = f"{name} opposite"
        return (Move(f"{title}, the mirror image of {name}", (Edit(("soles", sole.name, "scuppers", title), fields),)),)
    return ()


def _wider(spec: Spec, scuppers: Sequence[DrainPlace], bore: float) -> tuple[Move, ...]:
    """All narrower ones with the bore that is asked, hose and flange too."""
    edits = []
    for drain in scuppers:
        one = spec.soles[drain.space].scuppers[str(drain.path[-1])]
        edits += [Edit((*drain.path, name), float(bore)) for name, size in (
            ("bore", one.bore), ("hose_bore", one.hose_bore), ("narrowest", one.narrowest))
            if size is not None and size < bore]
        if one.flange is not None and one.flange < bore + 20 and one.bore < bore:
            edits.append(Edit((*drain.path, "flange"), bore + 20.0))
    return (Move("bores of {to} mm", tuple(edits)),) if edits else ()


def edge_of(assembly: Assembly, sole: SolePlace) -> Edge:
    """The outer border of a sole's finished top, its mean height on a plane; F lies the paint over the molded face."""
    import numpy as np
    from shapely.geometry import Polygon

    vertices, triangles = net_of(assembly.body(sole.part).faces("top"))
    outer = max(loops(border(triangles)), key=lambda loop: length_round(vertices, loop))
    points = vertices[list(outer)]
    flat = Polygon(points[:, :2])
    fit = np.linalg.lstsq(np.c_[points[:, :2], np.ones(len(points))], points[:, 2], rcond=None)[0]
    mean = float(fit @ (flat.centroid.x, flat.centroid.y, 1.0)) + sole.paint
    x, y, z = min(points.tolist(), key=lambda p: p[2])
    return Edge(float(flat.area), float(np.ptp(points[:, 0])), (x, y, z + sole.paint), mean)


def _area(assembly: Assembly, spec: Spec, sole: SolePlace, scuppers: Sequence[DrainPlace]) -> list[Finding]:
    """Drain area by 46 CFR 178.450, in its inch form, up to the sill."""
    if AREA_RULES not in spec.rules:
        return []
    boat, path = spec.boat, ("soles", sole.name, "scuppers")
    missing = [name for name, value in (("boat.length", boat and boat.length), ("boat.route", boat and boat.route),
                                        (f"soles.{sole.name}.sill", sole.sole.sill)) if value is None]
    if missing or boat is None or boat.length is None or boat.route is None or sole.sole.sill is None:
        return [Finding(check="rules", part=sole.name, what="drain area", measured=None, limit=None, sense="at_least",
                        unit="cm2", source=AREA, path=path, skipped=f"it depends on what is not given: "
                                                                   f"{', '.join(missing) or 'boat'}")]
    edge = edge_of(assembly, sole)
    length, deep = boat.length / FOOT, max(sole.sole.sill - edge.mean, 0.0) / FOOT
    well = Well(length=min(edge.length / FOOT, length), height=deep, deck=edge.area / FOOT**2)
    asks = required_area(basic_area(length, well), boat.route) * CM2
    has = math.fsum(math.pi / 4 * (d.narrowest / 10) ** 2 for d in scuppers)
    each = math.ceil(10 * math.sqrt(4 * asks / math.pi / len(scuppers)))
    count = drains_needed(asks, max(d.narrowest for d in scuppers) / 10)
    return [Finding(check="rules", part=sole.name, what="drain area", measured=round(has, 6), limit=asks,
                    sense="at_least", unit="cm2", source=AREA, path=path,
                    note=f"a recess {deep * FOOT:.0f} mm deep up to the sill, {well.volume * FOOT**3 / 1e6:.0f} L, on "
                         f"{boat.route} waters; that is {count} drains of {max(d.narrowest for d in scuppers):g} mm",
                    moves=_wider(spec, scuppers, each) if has < asks else ())]


def _others(spec: Spec, sole: SolePlace) -> list[Finding]:
    """What the rules picked ask and nothing here can measure."""
    facts, path = facts_of(spec), ("soles", sole.name)
    found = []
    for quantity, why in NOT_IN_SPEC:
        if limit := asked(quantity, spec, facts):
            found.append(limit.unjudged(check="rules", part=sole.name, what=quantity, path=path, why=why))
    return [*found, *(told(rule, check="rules", part=sole.name, path=path) for rule in in_words(IN_WORDS, spec, facts))]
