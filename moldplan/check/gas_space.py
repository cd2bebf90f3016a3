"""A locker in which gas heavier than air may leak: is it shut to the boat, open on top, and does air come in?

In       Assembly, Spec: lockers with their vents, passages, lids; the cylinders that stand in them.
Out      findings "high vent", "gas-tight height", "passages sealed", "lid opens on top", "lid gasket", "lid latch",
         "clear of ..." (the vent's outlet), "... is far" (cylinders on an open deck), and what nobody here can judge
         (fire, demands in words).
Not here its way out (hose.py, overboard.py), gas that stays in hollows (ponds), straps (secured.py).

Only where contents say so. What the spec leaves unsaid is not judged, and the finding names the field.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from moldplan.attitude import Vector
from moldplan.check.hose import at
from moldplan.check.limits import value_at
from moldplan.check.outlet import Box, nearby
from moldplan.check.overboard import ignition_of, openings_of
from moldplan.check.ruled import Facts, asked, in_words, told
from moldplan.check.way import GAS, gas_facts, gas_rooms
from moldplan.errors import Path
from moldplan.finding import Edit, Finding, Move, Source
from moldplan.handbook.rules import quantities
from moldplan.shape.assembly import Assembly, Room, Stand
from moldplan.spec.model import Lid, Locker, Spec

if TYPE_CHECKING:
    import cadquery as cq

VENT_DOWN = 30.0  # mm under the top of a locker that a vent is proposed; ours


def gas_space(assembly: Assembly, spec: Spec) -> list[Finding]:
    """Every locker that holds such gas, then every such cylinder in none."""
    found: list[Finding] = []
    for name in assembly.rooms:
        if name in gas_rooms(assembly):
            found += _locker(assembly, spec, assembly.rooms[name])
    loose = [s for s in assembly.stands if s.room is None and s.cylinder.contents == GAS]
    for stand in loose:
        found += _loose(assembly, spec, stand)
    return found


def _locker(assembly: Assembly, spec: Spec, room: Room) -> list[Finding]:
    """One locker."""
    inside = [s for s in assembly.stands if s.room == room.name and s.cylinder.contents == GAS]
    facts, one = gas_facts(spec, inside), spec.lockers[str(room.path[1])]
    top = max(_top(assembly, s) for s in inside)
    found = [*_vent(assembly, spec, room, one, top, facts), *_vent_outlet(assembly, spec, room, facts),
             *_tight(spec, room, one, top, facts), *_passages(spec, room, one, facts),
             *_lid(spec, room, one.lid, facts), *_clear(assembly, spec, inside, facts), _fire(room.name, room.path)]
    words = in_words([q for q in quantities(spec.rules or None) if q.startswith("gas ")], spec, facts)
    return [*found, *(told(rule, check="gas", part=room.name, path=room.path) for rule in words)]


def _top(assembly: Assembly, stand: Stand) -> float:
    """The highest point of a cylinder with its valve's envelope [mm]."""
    return float(assembly.body(stand.envelope or stand.body).solid.BoundingBox().zmax)


def _vent(assembly: Assembly, spec: Spec, room: Room, one: Locker, top: float, facts: Facts) -> list[Finding]:
    """A way in for air over the cylinders: without it nothing runs out below."""
    limit = asked("gas high vent", spec, facts)
    if limit is None:
        return []
    vents = [v for v in assembly.vents if v.space == room.name]
    high = [v for v in vents if v.at[2] >= top]
    x, y, z = room.low[0], (room.low[1] + room.high[1]) / 2, max(room.high[2] - VENT_DOWN, math.ceil(top))
    flip = 1.0 if room.name in spec.lockers else -1.0
    move = Move("a vent at {to}", (Edit((*room.path, "vent", "at"), (round(x, 1), round(y * flip, 1), round(z, 1))),))
    note = (f"its vent lies {high[0].at[2] - top:.0f} mm over the cylinders' valves" if high else
            f"its vent lies {top - vents[0].at[2]:.0f} mm under the top of the valves" if vents else
            "it has no vent: no air comes in, and no gas runs out")
    return [limit.finding(check="gas", part=room.name, what="high vent", measured=float(bool(high)),
                          path=(*room.path, "vent"), at=at(vents[0].at) if vents else {}, note=note, moves=(move,))]


def _vent_outlet(assembly: Assembly, spec: Spec, room: Room, facts: Facts) -> list[Finding]:
    """Gas may come out of the vent too: its outlet keeps as clear of openings as the drain's."""
    limit, found = asked("gas outlet to openings", spec, facts), list[Finding]()
    for vent in (v for v in assembly.vents if v.space == room.name and limit is not None):
        assert limit is not None
        path = (*vent.path, "outlet")
        if vent.outlet is None:
            found.append(limit.unjudged(check="gas", part=vent.name, what="clear of openings", path=path,
                                        why="vent.outlet is not given: where it opens outside is not known"))
            continue
        shut = {**openings_of(spec), **{n: (p, p) for n, p in ignition_of(spec).items()}}
        flip = 1.0 if room.name in spec.lockers else -1.0
        for one in nearby(vent.outlet, openings_of(spec), ignition_of(spec), rim=vent.bore / 2):
            x, y, z = _off(vent.outlet, shut[one.name], limit.bound.short(one.distance) if limit.bound else 0.0)
            found.append(limit.finding(check="gas", part=vent.name, what=f"clear of {one.name}", measured=one.distance,
                                       path=path, at=at(vent.outlet),
                                       moves=(Move("the vent's outlet at {to}", (Edit(path, (x, y * flip, z)),)),),
                                       note=f"{one.distance:.0f} mm from the vent's rim to {one.name}"))
    return found


def _off(p: Vector, box: Box, by: float) -> Vector:
    """A point carried straight away from a box by so much and a hair [mm]; where it is when it lies inside."""
    low, high = ([pick(c) for c in zip(*box, strict=True)] for pick in (min, max))
    away = [q - min(max(q, a), b) for q, a, b in zip(p, low, high, strict=True)]
    size = math.hypot(*away)
    x, y, z = (round(q + (d / size * (by + 1.0) if size else 0.0), 1) for q, d in zip(p, away, strict=True))
    return x, y, z


def _tight(spec: Spec, room: Room, one: Locker, top: float, facts: Facts) -> list[Finding]:
    """Walls gas-tight up to the top of valve and regulator."""
    limit, path = asked("gas tight", spec, facts), (*room.path, "gas_tight_to")
    if limit is None:
        return []
    if one.gas_tight_to is None:
        return [limit.unjudged(check="gas", part=room.name, what="gas-tight height", path=path,
                               why=f"gas_tight_to is not given: to which height its walls are tight; the valves' top "
                                   f"lies at {top:.0f}")]
    over = one.gas_tight_to - top
    return [limit.finding(check="gas", part=room.name, what="gas-tight height", measured=float(over >= 0), path=path,
                          moves=(Move("gas-tight up to {to}", (Edit(path, float(math.ceil(top))),)),),
                          note=f"tight to {abs(over):.0f} mm {'over' if over >= 0 else 'under'} the top of the valves")]


def _passages(spec: Spec, room: Room, one: Locker, facts: Facts) -> list[Finding]:
    """Hoses and cables sealed where they pass its walls."""
    limit, path = asked("gas passages sealed", spec, facts), (*room.path, "passages")
    if limit is None:
        return []
    unsaid = [name for name, passage in one.passages.items() if passage.sealed is None]
    open_ = [name for name, passage in one.passages.items() if passage.sealed is False]
    if not open_ and (unsaid or not one.passages):
        why = (f"sealed is not given of {', '.join(unsaid)}" if unsaid else
               "passages names none, and a gas pipe leaves somewhere")
        return [limit.unjudged(check="gas", part=room.name, what="passages sealed", path=path, why=why)]
    seal = tuple(Edit((*path, name, "sealed"), True) for name in open_)
    return [limit.finding(check="gas", part=room.name, what="passages sealed", measured=float(not open_), path=path,
                          moves=(Move(f"seal {', '.join(open_)}", seal),) if open_ else (),
                          note=f"not sealed: {', '.join(open_)}" if open_ else "all sealed")]


def _lid(spec: Spec, room: Room, lid: Lid | None, facts: Facts) -> list[Finding]:
    """The lid opens on top, shuts on a gasket, is latched."""
    path: Path = (*room.path, "lid")
    told_ = lid or Lid.model_construct(opens=None, gasket=None, latch=None)
    asks = (("gas opens on top", "lid opens on top", "opens", None if told_.opens is None else told_.opens == "top",
             "top"),
            ("gas lid gasket", "lid gasket", "gasket", told_.gasket, True),
            ("gas lid latch", "lid latch", "latch", told_.latch, True))
    found = []
    for quantity, what, name, held, right in asks:
        limit = asked(quantity, spec, facts)
        if limit is None:
            continue
        if held is None:
            why = f"lid.{name} is not given" if lid else "no lid is given"
            found.append(limit.unjudged(check="gas lid", part=room.name, what=what, path=(*path, name), why=why))
            continue
        shown = "top" if right == "top" else "true"
        found.append(limit.finding(check="gas lid", part=room.name, what=what, measured=float(held),
                                   path=(*path, name), note=limit.rule.meaning,
                                   moves=(Move(f"lid.{name}: {shown}", (Edit((*path, name), right),)),)))
    return found


def _clear(assembly: Assembly, spec: Spec, stands: Sequence[Stand], facts: Facts) -> list[Finding]:
    """Cylinders on an open deck keep clear of openings and of what may light gas: distance of the solids."""
    limit = asked("gas cylinders to openings", spec, facts) if facts.get("stowage") == "deck" else None
    if limit is None:
        return []
    found = []
    for stand in stands:
        solids = [assembly.body(n).solid for n in (stand.body, stand.envelope) if n]
        for name, (low, high) in {**openings_of(spec), **{n: (p, p) for n, p in ignition_of(spec).items()}}.items():
            thing = _thing(low, high)
            near = min(float(solid.distance(thing)) for solid in solids)
            missing = limit.bound.short(near) if limit.bound else 0.0
            found.append(limit.finding(check="gas", part=stand.name, what=f"{name} is far", measured=near,
                                       path=stand.path, at=at(stand.frame.origin), note=f"{near:.0f} mm to {name}",
                                       moves=_away(spec, stand, low, high, missing) if missing else ()))
    return found


def _away(spec: Spec, stand: Stand, low: Sequence[float], high: Sequence[float], missing: float) -> tuple[Move, ...]:
    """The cylinder's cradle moved in plan straight away from a box, and further."""
    here = stand.frame.origin[:2]
    nearest = [min(max(a, lo), hi) for a, lo, hi in zip(here, low, high, strict=False)]
    off = [a - n for a, n in zip(here, nearest, strict=True)]
    long = math.hypot(*off)
    path = (*stand.path[:2], "at")
    now = value_at(spec, path) or (0.0, 0.0)
    moves = []
    for by in (missing, 1.5 * missing) if long > 1 else ():
        to = tuple(round(a + math.copysign(math.ceil(abs(o / long * by)), o), 1) for a, o in zip(now, off, strict=True))
        moves.append(Move(f"move {stand.path[1]} to {{to}}", (Edit(path, to),)))
    return tuple(moves)


def _thing(low: Sequence[float], high: Sequence[float]) -> cq.Solid:
    """A box as a solid, or a point; one that is flat gets a hundredth of a millimetre, so that it is a solid."""
    import cadquery as cq

    a = [min(p, q) for p, q in zip(low, high, strict=True)]
    x, y, z = (max(abs(p - q), 0.01) for p, q in zip(low, high, strict=True))
    return cq.Solid.makeBox(x, y, z, cq.Vector(*a))


def _loose(assembly: Assembly, spec: Spec, stand: Stand) -> list[Finding]:
    """A cylinder of such gas that stands in no locker of the plan."""
    facts = gas_facts(spec, [stand])
    if facts.get("stowage") == "deck":
        return _clear(assembly, spec, [stand], facts)
    limit = asked("gas tight", spec, facts)
    if limit is None:
        return []
    return [limit.unjudged(check="gas", part=stand.name, what="locker", path=(*stand.path[:2], "locker"),
                           why="it stands in no locker of this plan, so where leaking gas runs to is not known: give "
                               "`locker`, or stowage: deck")]


def _fire(part: str, path: Path) -> Finding:
    """What no geometry tells."""
    source = Source(document="UK Boat Safety Scheme", clause="checklist 7.4, to BS 476-20", how_read="seen")
    return Finding(check="gas", part=part, what="fire resistance", measured=None, limit=None, sense="at_least",
                   unit="min", source=source, path=path,
                   skipped="how long a foam-cored locker withstands a fire is not judged here; ask what your rules "
                           "demand")
