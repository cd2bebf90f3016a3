"""What is under the sole: does a hatch touch it, and is it deep enough there?

In       Assembly, Spec.
Out      findings "below" (least distance of frame and drains to each thing), "depth", and those of sole_reach.py.
Not here the layout in plan (sole_layout.py), whether an arm reaches what it must (sole_reach.py).
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from moldplan.check.hatch_spot import HatchSpot, spots
from moldplan.check.limits import bound
from moldplan.check.rearrange import Layout, rectangle
from moldplan.check.sole_reach import placed, reach
from moldplan.finding import Edit, Finding, Move, Source
from moldplan.shape.assembly import Assembly
from moldplan.spec.model import Spec

if TYPE_CHECKING:
    import cadquery as cq

MANY = 8  # moves that are proposed before others are asked to make room


def below(assembly: Assembly, spec: Spec) -> list[Finding]:
    """Everything about what lies under each sole."""
    found: list[Finding] = []
    for sole in assembly.soles:
        own = [spot for spot in spots(assembly, spec) if spot.place.sole == sole.name]
        whole = Layout(tuple(own))
        for spot in own:
            found += [_clear(spot, name, body, whole) for name, body in sole.below.items()]
            found += _depth(spot)
        for one in reach(assembly, spec, sole):
            more = whole.reaching(str(one.path[-1])) if one.verdict == "fails" else ()
            found.append(replace(one, moves=(*one.moves, *more)))
    return found


def _clear(spot: HatchSpot, name: str, body: str, whole: Layout) -> Finding:
    """Least distance of a hatch's frame and drains to one thing below; how deep it cuts in where it does."""
    from moldplan.check.gap import nearest, place

    limit = bound("below-gap", spot.spec)
    thing = spot.assembly.body(body).solid
    parts = {p.name: p.solid for p in (spot.molding, *(spot.assembly.body(t) for t in spot.place.tubes))}
    near, part = nearest(thing, parts)
    deep = max(_depth_of_cut(part, thing) for part in parts.values()) if near.size < 1e-6 else 0.0
    measured = -deep if deep else near.size
    short = limit.short(measured)
    moves: tuple[Move, ...] = ()
    if short:
        tails = _shorter_tails(spot, short) if part in spot.place.tubes else ()
        moves = (*tails, *_aside(spot, name, thing, short), *whole.alone(spot))
        moves = (*moves, *(whole.together((spot,)) if len(moves) < MANY else ()))
    return limit.finding(check="below", part=spot.name, what=f"clear of {name}", measured=measured,
                         path=(*spot.path, "centre"), at=place(near.end), moves=moves,
                         note=f"it cuts {deep:.1f} mm into {name}" if deep else
                              f"{near.size:.1f} mm from frame and drains to {name}")


def _depth_of_cut(part: cq.Shape, thing: cq.Shape) -> float:
    """The least of length, width and height of what two bodies share [mm]; 0 where they only touch."""
    shared = part.intersect(thing)
    if not shared.Solids() or shared.Volume() < 1.0:
        return 0.0
    box = shared.BoundingBox()
    return float(min(box.xlen, box.ylen, box.zlen))


def _aside(spot: HatchSpot, name: str, thing: cq.Shape, by: float) -> tuple[Move, ...]:
    """The gutter made less deep by what is missing; the hatch moved clear in plan, the shortest way first."""
    limit, flange = bound("below-gap", spot.spec), spot.flange
    x0, y0, x1, y1 = rectangle(spot, flange).buffer(flange.radius).bounds
    box = thing.BoundingBox()
    free = limit.value + 1.0
    ways = [(box.xmax + free - x0, (1, 0)), (x1 + free - box.xmin, (-1, 0)), (box.ymax + free - y0, (0, 1)),
            (y1 + free - box.ymin, (0, -1))]
    x, y = spot.place.hatch.centre
    moves = []
    for exact, (dx, dy) in sorted(ways):
        far = math.ceil(exact)
        to = (round(x + far * dx, 1), round(y + far * dy, 1))
        moves.append(Move(f"move it {far} mm clear of {name}, to {{to}}", placed(spot, to)))
    depth = spot.place.hatch.gutter.depth - math.ceil(by + 1e-9)
    if depth >= 10:
        moves.insert(0, Move("a gutter {to} mm deep", (Edit((*spot.path, "gutter", "depth"), depth),)))
    return tuple(moves)


def _depth(spot: HatchSpot) -> list[Finding]:
    """The lowest point of frame and drains against the depth there is below the sole."""
    room = spot.sole.sole.depth_below
    if room is None:
        return []
    bodies = [spot.molding, *(spot.assembly.body(t) for t in spot.place.tubes)]
    deepest = -min(spot.own(v.toTuple())[2] for b in bodies for v in b.solid.Vertices())
    path = ("soles", spot.sole.name, "depth_below")
    found = Finding(
        check="below", part=spot.name, what="depth", measured=round(deepest, 6), limit=room, sense="at_most", unit="mm",
        source=Source.spec(f"soles.{spot.sole.name}.depth_below"), path=path,
        at=spot.at((0.0, 0.0, -deepest)),
        note=f"its frame or a drain's tail reaches {deepest:.1f} mm below the sole, {room:g} mm are there",
        moves=_shorter_tails(spot, deepest - room))
    return [found]


def _shorter_tails(spot: HatchSpot, by: float) -> tuple[Move, ...]:
    """All drains written out with tails shorter by what is missing: they may have been left to the program."""
    if by <= 0:
        return ()
    drains = {name: drain.model_dump(warnings=False) | {"spigot": max(math.floor(drain.spigot - by), 0)}
              for name, drain in spot.place.hatch.drains.items()}
    tail = min(drain["spigot"] for drain in drains.values())
    return (Move(f"drains with tails {tail:g} mm long", (Edit((*spot.path, "drains"), drains),)),)
