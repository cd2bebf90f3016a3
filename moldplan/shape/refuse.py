"""What cannot be built, said before any solid is made: parts of a cradle that do not go together.

In       the Brief of a resolved cradle.
Out      Faults, each with its field, what is allowed and why.
Not here what can be built but is not good enough: that is judged in check/, on the finished solids.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import combinations

from moldplan.errors import Fault, Path
from moldplan.quantity import at_least, at_most
from moldplan.shape import chock as chocks
from moldplan.shape import cylinder as bottle
from moldplan.shape import locker
from moldplan.shape import seat as seats
from moldplan.shape.body import Frame
from moldplan.shape.chock import Section
from moldplan.shape.cradle import Brief, LimberRun, centre, frame_of, limber_runs
from moldplan.shape.framed import framed_faults
from moldplan.shape.seat import Build, Recess
from moldplan.spec.model import Chock, Cylinder, Seat, Spec

LEAST_BORE = 6.0  # mm, of a limber; the spec's own least
LEAST_WEB = 1.0  # mm of material that must stay between two openings for them to be two; ours
MOST_SHEETS = 60  # of one stack; ours: more is a sheet too thin to build of, and takes minutes to shape
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
        found += _too_many(brief, (*path, "insert", "stock"), one.insert.stock, len(brief.layers[name]), "insert")
    sheet = brief.stocks[brief.cradle.stock].true_thickness
    count = math.ceil(brief.cradle.block[2] / sheet - 1e-9)
    found += _too_many(brief, (*brief.path, "stock"), brief.cradle.stock, count, "block")
    found += _meeting(brief, made) or _through_others(brief, made)
    for name, ribs in brief.cradle.chocks.items():
        _, cylinder = brief.cylinder_of(name, ribs.cylinder)
        found += _chock_faults(brief, name, ribs, cylinder)
    found += _in_locker(brief, spec)
    if brief.cradle.hand == "both":
        found += _across_centreline(brief)
    return found


def _too_many(brief: Brief, path: Path, stock: str, sheets: int, what: str) -> list[Fault]:
    """A stack of sheets that nobody builds."""
    if sheets <= MOST_SHEETS:
        return []
    thick = brief.stocks[stock].true_thickness
    return [Fault(path, stock, f"a sheet of {at_least(sheets * thick / MOST_SHEETS)} mm or thicker",
                  f"the {what} would be a stack of {sheets} sheets of {thick:g} mm, and {MOST_SHEETS} are many")]


def _seat_faults(brief: Brief, path: Path, one: Seat, made: Recess) -> list[Fault]:
    """A seat against its block: depth, side, fillet, limber."""
    found = []
    length, width, height = brief.cradle.block
    if made.cut.floor <= 0:
        deepest = one.depth + made.cut.floor
        found.append(Fault((*path, "depth"), one.depth, f"less than {at_most(deepest)}",
                           f"the core cut-out would come through the block, {height:g} mm high"))
    mouth = made.cut.wall(made.core_top)
    x, y = centre(brief.cradle, one.at)
    short = mouth - min(x, length - x, y, width - y)
    if short > 0:
        found.append(Fault((*path, "at"), [x, y], _allowed_middle(mouth, length, width),
                           f"the core cut-out, {2 * mouth:.1f} mm across at the rim, would leave its block by "
                           f"{short:.1f} mm"))
    found += _fillet_faults(path, one, made)
    if one.insert.built == "frames":
        found += framed_faults(path, one, made, brief.stocks[one.insert.stock].true_thickness)
    return found + _limber_faults(brief, path, one, made)


def _fillet_faults(path: Path, one: Seat, made: Recess) -> list[Fault]:
    """Floor fillet and rim, on the surface that is molded: its fillet is the finished one and the paint over it."""
    slant, paint = math.radians(one.draft), made.build.paint
    tall = made.molded.fillet * (1 - math.sin(slant))
    room = one.depth - tall
    if made.molded.flat > 1.0 and room >= 1.0:
        if one.rim_radius <= room:
            return []
        return [Fault((*path, "rim_radius"), one.rim_radius, f"0 to {at_most(room)}",
                      "rim and floor fillet would meet in the wall")]
    most = min((one.depth - 1.0) / (1 - math.sin(slant)), (made.molded.radius - 1.0) / math.tan(
        math.radians(45 - one.draft / 2))) - paint
    if most < 0:
        return [Fault((*path, "depth"), one.depth, f"at least {at_least(1 + paint * (1 - math.sin(slant)))}",
                      f"{paint:g} mm of paint rounds the corner at the floor up to the rim")]
    return [Fault((*path, "floor_fillet"), one.floor_fillet, f"0 to {math.floor(most * 10) / 10:g}",
                  "the fillet would take the whole floor or reach the rim")]


def _allowed_middle(mouth: float, length: float, width: float) -> str:
    if 2 * mouth > min(length, width):
        return f"a block of at least {at_least(2 * mouth, 0)} by {at_least(2 * mouth, 0)}"
    return f"{at_least(mouth)} to {at_most(length - mouth)}, {at_least(mouth)} to {at_most(width - mouth)}"


def _limber_faults(brief: Brief, path: Path, one: Seat, made: Recess) -> list[Fault]:
    """A limber must leave through the wall, under the rim and above the block's underside."""
    runs = limber_runs(brief.cradle, one, made)
    if not runs or one.limber is None:
        return []
    most = one.depth - one.rim_radius
    if most < LEAST_BORE <= one.depth - 3.0:
        return [Fault((*path, "rim_radius"), one.rim_radius, f"0 to {one.depth - LEAST_BORE:g}",
                      f"between floor and rim there is no room for a limber's least bore, {LEAST_BORE:g} mm")]
    if most < LEAST_BORE:
        return [Fault((*path, "depth"), one.depth, f"at least {LEAST_BORE + one.rim_radius:g}",
                      f"between floor and rim there is no room for a limber's least bore, {LEAST_BORE:g} mm")]
    if one.limber.bore > most:
        return [Fault((*path, "limber", "bore"), one.limber.bore, f"6 to {most:g}",
                      "a larger bore would cut through the rim")]
    outside = one.limber.bore / 2 + one.limber.wall
    lowest = min(run.start[2] + run.along[2] for run in runs) - outside
    if lowest <= 0:
        return [Fault((*path, "limber", "fall"), one.limber.fall,
                      f"so flat that the tube stays {at_least(-lowest)} mm higher",
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
                               f"at least {at_least(need)} mm from the middle of {a}",
                               f"the two core cut-outs cut into each other by {need - apart:.1f} mm"))
    return found


def _through_others(brief: Brief, made: dict[str, Recess]) -> list[Fault]:
    """A limber that would run through another seat."""
    found = []
    for name, one in brief.cradle.seats.items():
        if one.limber is None:
            continue
        sides = dict.fromkeys((one.limber.towards, *one.limber.also))
        for side, run in zip(sides, limber_runs(brief.cradle, one, made[name]), strict=True):
            for other, two in brief.cradle.seats.items():
                reach = made[other].cut.wall(made[other].core_top) + one.limber.bore / 2 + one.limber.wall
                if other != name and _from_line(run, centre(brief.cradle, two.at)) < reach:
                    field = "towards" if side == one.limber.towards else "also"
                    found.append(Fault((*brief.path, "seats", name, "limber", field), side,
                                       f"a side that is not beyond {other}", f"the limber would run through {other}"))
    return found


def _from_line(run: LimberRun, spot: tuple[float, float]) -> float:
    """Distance in plan of a point from a limber's axis [mm]."""
    (x, y, _), (dx, dy, _) = run.start, run.along
    share = max(0.0, min(1.0, ((spot[0] - x) * dx + (spot[1] - y) * dy) / (dx * dx + dy * dy)))
    return math.dist(spot, (x + share * dx, y + share * dy))


def _chock_faults(brief: Brief, name: str, one: Chock, cylinder: Cylinder) -> list[Fault]:
    """Wrap, ribs on the straight of the cylinder and on the base, limber and edges within the rib."""
    found = []
    path: Path = (*brief.path, "chocks", name)
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
        found.append(Fault((*path, "spacing"), one.spacing, f"up to {at_most(room / max(one.count - 1, 1), 0)}",
                           f"the ribs must stay on the straight part, {high - low:.0f} mm long"))
    if 2 * one.edge_radius >= sheet:
        found.append(Fault((*path, "edge_radius"), one.edge_radius, f"less than {sheet / 2:g}",
                           "the arc's two roundings would meet in the middle of the rib"))
    found += _rib_section(brief.rib_builds[name], path, one, chocks.section(one, cylinder))
    return found + _rib_on_base(brief, path, one, cylinder) + _eyes_on_base(brief, name, one, cylinder)


def _rib_section(build: Build, path: Path, one: Chock, cut: Section) -> list[Fault]:
    """What is left of a rib's core inside its skin and paint: under the arc, beside it, over the limber."""
    inset, web = build.skin + build.paint, max(LEAST_WEB, 1.2 * one.edge_radius)  # the rounding takes of both faces
    inside = f"inside {inset:.1f} mm of {'skin and paint' if build.skin else 'paint'}"
    if one.rise - inset < web:
        return [Fault((*path, "rise"), one.rise, f"at least {at_least(inset + web)}",
                      f"{inside} nothing would be left of the rib under the arc")]
    found = []
    lip = math.sqrt(max((cut.radius + inset) ** 2 - (cut.top - cut.axis - inset) ** 2, 0.0))  # half the core's mouth
    short = web - (cut.half_width - inset - lip)
    if short > 0:
        found.append(Fault((*path, "shoulder"), one.shoulder, f"at least {at_least(one.shoulder + short)}",
                           f"{inside} too little would be left of the rib beside the arc"))
    most = min(one.rise - 2 * inset - web, cut.half_width - 2 * inset - LEAST_WEB)
    if one.limber > max(most, 0.0):
        found.append(Fault((*path, "limber"), one.limber, f"0 to {at_most(max(most, 0.0))}",
                           "the notch would cut into the arc"))
    return found


def _eyes_on_base(brief: Brief, name: str, one: Chock, cylinder: Cylinder) -> list[Fault]:
    """The eyes of a chock's straps are screwed to the base: their middles lie on it."""
    length, width, _ = brief.cradle.block
    sheet = brief.stocks[one.stock].true_thickness * one.layers + 2 * brief.rib_builds[name].skin
    (low, high), out = bottle.straight(cylinder), cylinder.radius + one.straps.thickness / 2
    spots = [(middle - (low + high) / 2, side * out) for middle in chocks.strap_positions(one, cylinder, sheet)
             for side in (-1, 1)]
    over = _over_edge(centre(brief.cradle, one.at), one.turn, spots, length, width)
    if over <= 0:
        return []
    return [Fault((*brief.path, "chocks", name, "straps"), one.straps.count,
                  f"0, or a base or a place {at_least(over, 0)} mm further in",
                  f"an eye of its straps would lie {over:.0f} mm off the base")]


def _over_edge(middle: tuple[float, float], turn: float, spots: Iterable[tuple[float, float]], length: float,
               width: float) -> float:
    """How far the worst of some spots, given along and across a chock's axis, lies over a base's edge [mm]."""
    ahead, aside = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    worst = -math.inf
    for along, across in spots:
        x, y = middle[0] + along * ahead - across * aside, middle[1] + along * aside + across * ahead
        worst = max(worst, -x, x - length, -y, y - width)
    return worst


def _rib_on_base(brief: Brief, path: Path, one: Chock, cylinder: Cylinder) -> list[Fault]:
    """Each rib's foot within the base."""
    cut, (cx, cy) = chocks.section(one, cylinder), centre(brief.cradle, one.at)
    length, width, _ = brief.cradle.block
    low, high = bottle.straight(cylinder)
    sheet = brief.stocks[one.stock].true_thickness * one.layers
    spots = [(rib - (low + high) / 2 + end * sheet / 2, side * cut.half_width)
             for rib in chocks.rib_positions(one, cylinder) for end in (-1, 1) for side in (-1, 1)]
    worst = _over_edge((cx, cy), one.turn, spots, length, width)
    if worst <= 0:
        return []
    return [Fault((*path, "at"), [cx, cy], f"a place, or a base, {at_least(worst, 0)} mm further in",
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
                      list(brief.cradle.at or brief.cradle.block), f"a place or a block {at_least(over)} mm further in",
                      f"the block with its skin would stand through the wall of {brief.cradle.locker}")]
    above = max(s[2] for s in spots) + skin - high[2]
    if above > 0:
        return [Fault((*brief.path, "block"), list(brief.cradle.block), f"a block {at_least(above)} mm lower",
                      f"the block would be taller than {brief.cradle.locker}")]
    return [] if brief.leans else _sole_through(brief, room.sole, frame)


def _sole_through(brief: Brief, sole: Frame, frame: Frame) -> list[Fault]:
    """A level block stands in a sloping sole up to its highest corner: the sole must not come through its top, nor
    through the floor of a seat."""
    length, width, height = brief.cradle.block
    path: Path = (*brief.path, "sits")
    instead = "with the sole, or a flatter sole"
    spots = [frame.place((i * length, j * width, height)) for i in (0, 1) for j in (0, 1)]
    through = max(locker.sole_height(sole, x, y) - z for x, y, z in spots)
    if through > -LEAST_WEB:
        return [Fault(path, brief.cradle.sits, f"{instead}, or a block {at_least(through + LEAST_WEB)} mm higher",
                      f"level, {height:g} mm high, it would lie under the sole at one end")]
    found = []
    steep = math.hypot(sole.z[0], sole.z[1]) / sole.z[2]
    for name, one in brief.cradle.seats.items():
        _, cylinder = brief.cylinder_of(name, one.cylinder)
        cut = seats.recess(one, cylinder, brief.build, block_height=height, bed=brief.cradle.bed).cut
        x, y, floor = frame.place((*centre(brief.cradle, one.at), cut.floor))
        through = locker.sole_height(sole, x, y) + steep * cut.radius - floor
        if through > 0:
            found.append(Fault(path, brief.cradle.sits, f"{instead}, or a block {at_least(through)} mm higher",
                               f"the sole would come through the floor of {name}"))
    return found


def _across_centreline(brief: Brief) -> list[Fault]:
    """A mirrored twin needs its own side of the boat."""
    frame, (length, width, _) = frame_of(brief.cradle, brief.room), brief.cradle.block
    sides = [frame.place((i * length, j * width, 0.0))[1] for i in (0, 1) for j in (0, 1)]
    skin = brief.build.skin
    if min(sides) - skin < 0 < max(sides) + skin:
        return [Fault((*brief.path, "hand"), "both", "port, starboard, or a place wholly on one side of y = 0",
                      "the block lies across the centreline, so it would meet its own twin")]
    return []
