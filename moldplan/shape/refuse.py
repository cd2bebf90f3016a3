"""What cannot be built, said before any solid is made: parts of a cradle that do not go together.

In       the Brief of a resolved cradle.
Out      Faults, each with its field, what is allowed and why.
Not here what can be built but is not good enough: that is judged in check/, on the finished solids.
"""

from __future__ import annotations

import math
from itertools import combinations

from moldplan.errors import Fault, Path
from moldplan.shape import chock as chocks
from moldplan.shape import cylinder as bottle
from moldplan.shape import locker
from moldplan.shape import seat as seats
from moldplan.shape.cradle import Brief, centre, frame_of, limber_run
from moldplan.shape.seat import Recess
from moldplan.spec.model import Chock, Cylinder, Seat, Spec

RIGID = 180.0  # deg: a rigid arc that wraps further has a mouth narrower than what must go through it


def cradle_faults(brief: Brief, spec: Spec) -> list[Fault]:
    """Every fault of one cradle."""
    found: list[Fault] = []
    made: dict[str, Recess] = {}
    for name, one in brief.cradle.seats.items():
        path: Path = (*brief.path, "seats", name)
        _, cylinder = brief.cylinder_of(name, one.cylinder)
        made[name] = seats.recess(one, cylinder, brief.build, block_height=brief.cradle.block[2], bed=brief.cradle.bed)
        found += _seat_faults(brief, path, one, made[name])
    found += _meeting(brief, made)
    for name, ribs in brief.cradle.chocks.items():
        _, cylinder = brief.cylinder_of(name, ribs.cylinder)
        found += _chock_faults(brief, (*brief.path, "chocks", name), ribs, cylinder)
    found += _in_locker(brief, spec)
    if brief.cradle.hand == "both":
        found += _across_centreline(brief)
    return found


def _seat_faults(brief: Brief, path: Path, one: Seat, made: Recess) -> list[Fault]:
    """A seat against its block: depth, side, fillet, limber."""
    found = []
    length, width, height = brief.cradle.block
    if made.cut.floor <= 0:
        deepest = one.depth + made.cut.floor
        found.append(Fault((*path, "depth"), one.depth, f"less than {deepest:.1f}",
                           f"the core cut-out would come through the block, {height:g} mm high"))
    mouth = made.cut.wall(made.core_top)
    x, y = centre(brief.cradle, one.at)
    short = mouth - min(x, length - x, y, width - y)
    if short > 0:
        found.append(Fault((*path, "at"), [x, y], _allowed_middle(mouth, length, width),
                           f"the core cut-out, {2 * mouth:.1f} mm across at the rim, would leave its block by "
                           f"{short:.1f} mm"))
    flat = made.molded.flat
    tall = made.finished.fillet * (1 - math.sin(math.radians(one.draft)))
    if flat <= 1.0 or tall >= one.depth:
        found.append(Fault((*path, "floor_fillet"), one.floor_fillet,
                           f"less than {min(one.depth, made.finished.radius):.0f}",
                           "the fillet would take the whole floor or reach the rim"))
    if one.rim_radius > one.depth - tall:
        found.append(Fault((*path, "rim_radius"), one.rim_radius, f"0 to {max(one.depth - tall, 0):.1f}",
                           "rim and floor fillet would meet in the wall"))
    return found + _limber_faults(brief, path, one, made)


def _allowed_middle(mouth: float, length: float, width: float) -> str:
    if 2 * mouth > min(length, width):
        return f"a block of at least {2 * mouth:.0f} by {2 * mouth:.0f}"
    return f"{mouth:.0f} to {length - mouth:.0f}, {mouth:.0f} to {width - mouth:.0f}"


def _limber_faults(brief: Brief, path: Path, one: Seat, made: Recess) -> list[Fault]:
    """A limber must leave through the wall, under the rim and above the block's underside."""
    run = limber_run(brief.cradle, one, made)
    if run is None or one.limber is None:
        return []
    most = one.depth - one.rim_radius
    if one.limber.bore > most:
        return [Fault((*path, "limber", "bore"), one.limber.bore, f"6 to {most:g}",
                      "a larger bore would cut through the rim")]
    outside = one.limber.bore / 2 + one.limber.wall
    lowest = run.start[2] + run.along[2] - outside
    if lowest <= 0:
        return [Fault((*path, "limber", "fall"), one.limber.fall,
                      f"so flat that the tube stays {-lowest:.1f} mm higher",
                      "the tube would come out through the block's underside")]
    return []


def _meeting(brief: Brief, made: dict[str, Recess]) -> list[Fault]:
    """Two seats that cut into each other."""
    found = []
    for (a, one), (b, two) in combinations(brief.cradle.seats.items(), 2):
        apart = math.dist(centre(brief.cradle, one.at), centre(brief.cradle, two.at))
        need = made[a].cut.wall(made[a].core_top) + made[b].cut.wall(made[b].core_top)
        if apart < need:
            found.append(Fault((*brief.path, "seats", b, "at"), list(centre(brief.cradle, two.at)),
                               f"at least {need:.1f} mm from the middle of {a}",
                               f"the two core cut-outs cut into each other by {need - apart:.1f} mm"))
    return found


def _chock_faults(brief: Brief, path: Path, one: Chock, cylinder: Cylinder) -> list[Fault]:
    """Wrap, ribs on the straight of the cylinder and on the base, limber and edges within the rib."""
    found = []
    most = RIGID - (2 * one.draft if one.made == "molded" else 0.0)
    if one.wrap > most:
        found.append(Fault((*path, "wrap"), one.wrap, f"20 to {most:g}",
                           "past that a rigid chock closes over the cylinder" +
                           (", or does not leave its mold" if one.made == "molded" else "")))
        return found
    low, high = bottle.straight(cylinder)
    sheet = brief.stocks[one.stock].true_thickness * one.layers
    ribs = chocks.rib_positions(one, cylinder)
    if ribs[0] - sheet / 2 < low or ribs[-1] + sheet / 2 > high:
        room = max(high - low - sheet, 0.0)
        found.append(Fault((*path, "spacing"), one.spacing, f"up to {room / max(one.count - 1, 1):.0f}",
                           f"the ribs must stay on the straight part, {high - low:.0f} mm long"))
    cut = chocks.section(one, cylinder)
    if one.limber >= one.rise - 1 or one.limber >= cut.half_width:
        found.append(Fault((*path, "limber"), one.limber, f"less than {min(one.rise - 1, cut.half_width):g}",
                           "the notch would cut into the arc"))
    if 2 * one.edge_radius >= sheet:
        found.append(Fault((*path, "edge_radius"), one.edge_radius, f"less than {sheet / 2:g}",
                           "the arc's two roundings would meet in the middle of the rib"))
    return found + _rib_on_base(brief, path, one, cylinder)


def _rib_on_base(brief: Brief, path: Path, one: Chock, cylinder: Cylinder) -> list[Fault]:
    """Each rib's foot within the base."""
    cut, (cx, cy) = chocks.section(one, cylinder), centre(brief.cradle, one.at)
    length, width, _ = brief.cradle.block
    turn, (low, high) = math.radians(one.turn), bottle.straight(cylinder)
    sheet = brief.stocks[one.stock].true_thickness * one.layers
    worst = 0.0
    for middle in chocks.rib_positions(one, cylinder):
        for u in (-cut.half_width, cut.half_width):
            for s in (-sheet / 2, sheet / 2):
                along = middle - (low + high) / 2 + s
                x = cx + along * math.cos(turn) - u * math.sin(turn)
                y = cy + along * math.sin(turn) + u * math.cos(turn)
                worst = max(worst, -x, x - length, -y, y - width)
    if worst <= 0:
        return []
    return [Fault((*path, "at"), [cx, cy], f"a place, or a base, {worst:.0f} mm further in",
                  f"the ribs, {2 * cut.half_width:.0f} mm wide, would stand {worst:.0f} mm over the base's edge")]


def _in_locker(brief: Brief, spec: Spec) -> list[Fault]:
    """The block within its locker's walls."""
    if brief.cradle.locker is None:
        return []
    box = spec.lockers[brief.cradle.locker]
    room = locker.space(brief.cradle.locker, box)
    low, high = locker.corners(box)
    frame, (length, width, height) = frame_of(brief.cradle, room), brief.cradle.block
    spots = [frame.place((i * length, j * width, k * height)) for i in (0, 1) for j in (0, 1) for k in (0, 1)]
    skin = brief.build.skin
    over = max(max(low[a] - s[a], s[a] - high[a]) + skin for s in spots for a in (0, 1))
    if over > 0:
        return [Fault((*brief.path, "at" if brief.cradle.at else "block"),
                      list(brief.cradle.at or brief.cradle.block), f"a place or a block {over:.1f} mm further in",
                      f"the block with its skin would stand through the wall of {brief.cradle.locker}")]
    above = max(s[2] for s in spots) + skin - high[2]
    if above > 0:
        return [Fault((*brief.path, "block"), list(brief.cradle.block), f"a block {above:.1f} mm lower",
                      f"the block would be taller than {brief.cradle.locker}")]
    return []


def _across_centreline(brief: Brief) -> list[Fault]:
    """A mirrored twin needs its own side of the boat."""
    frame, (length, width, _) = frame_of(brief.cradle, brief.room), brief.cradle.block
    sides = [frame.place((i * length, j * width, 0.0))[1] for i in (0, 1) for j in (0, 1)]
    skin = brief.build.skin
    if min(sides) - skin < 0 < max(sides) + skin:
        return [Fault((*brief.path, "hand"), "both", "port, starboard, or a place wholly on one side of y = 0",
                      "the block lies across the centreline, so it would meet its own twin")]
    return []
