"""Is a gas cylinder held, upright, and known by its mass? And which gases must not share a space.

In       a Spot; the Assembly for what stands together.
Out      findings "straps", "upright", "full mass"; cautions in plain words.
Not here whether a strap is strong enough (a later room).
"""

from __future__ import annotations

import math
from dataclasses import replace

from moldplan.check.gap import place
from moldplan.check.limits import bound
from moldplan.check.spot import Spot
from moldplan.finding import Edit, Finding, Move
from moldplan.shape.assembly import Assembly
from moldplan.spec.model import Spec

GASES = ("lp gas", "breathing air", "oxygen-enriched gas", "inert gas")
BURNS = "lp gas"
FEEDS_FIRE = ("breathing air", "oxygen-enriched gas")


def secured(spot: Spot) -> list[Finding]:
    """Straps, mass and attitude of one gas cylinder; nothing for what is no gas."""
    if spot.stand.cylinder.contents not in GASES:
        return []
    return [straps(spot), *mass(spot), *upright(spot)]


def straps(spot: Spot) -> Finding:
    """At least one strap."""
    limit = bound("strap-count", spot.spec)
    bands = [n for n in spot.stand.straps if "inside" in spot.assembly.body(n).shaped.roles]
    path = (*spot.path, "straps", "count")
    found = limit.finding(check="secured", part=spot.stand.name, what="straps", measured=float(len(bands)), path=path,
                         at=place(spot.stand.frame.origin),
                         note=f"{len(bands) or 'no'} strap{'' if len(bands) == 1 else 's'} on a cylinder of "
                              f"{spot.stand.cylinder.contents}",
                         moves=(Move("straps: {to}", (Edit(path, math.ceil(limit.value), 1.0),)),))
    return replace(found, counted=True)


def mass(spot: Spot) -> list[Finding]:
    """A gap in what is known: without the full mass nobody can size the straps."""
    if spot.stand.cylinder.full_mass is not None:
        return []
    limit = bound("strap-count", spot.spec)
    return [limit.unjudged(check="secured", part=spot.stand.name, what="full mass",
                           path=("cylinders", spot.stand.cylinder_name, "full_mass"),
                           why="its full mass is not given, so what straps and lifting must bear is not known")]


def upright(spot: Spot) -> list[Finding]:
    """LP gas stands with its valve uppermost: the lean of its axis [deg]."""
    if spot.stand.cylinder.contents != BURNS:
        return []
    limit = bound("upright", spot.spec)
    x, y, z = spot.stand.frame.z
    lean = math.degrees(math.atan2(math.hypot(x, y), z))
    note = f"its axis leans {lean:.1f} deg from upright"
    if lean > 45:
        note = "LP gas lies here; it must stand with its valve uppermost: give it a seat"
    moves = (Move("the block {to}", (Edit((*spot.cradle_path, "sits"), "level"),)),) if lean <= 45 else ()
    return [limit.finding(check="secured", part=spot.stand.name, what="upright", measured=lean, path=spot.path,
                          at=place(spot.stand.frame.origin), note=note, moves=moves)]


def cautions(assembly: Assembly, spec: Spec) -> tuple[str, ...]:
    """LP gas never shares a locker, or a cradle, with breathing or oxygen-enriched gas."""
    said = []
    groups: dict[str, list[tuple[str, str]]] = {}
    for stand in assembly.stands:
        where = f"the locker {stand.room}" if stand.room else f"the cradle {stand.path[1]}"
        groups.setdefault(where, []).append((stand.cylinder.contents, stand.name))
    for where, held in groups.items():
        burns = [name for contents, name in held if contents == BURNS]
        feeds = [f"{name} ({contents})" for contents, name in held if contents in FEEDS_FIRE]
        if burns and feeds:
            said.append(f"LP gas ({', '.join(burns)}) must not share {where} with {', '.join(feeds)}: "
                        "keep them in separate spaces, each with its own drain")
    return tuple(said)
