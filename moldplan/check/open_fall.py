"""Do open runs fall to their drains: soles and lockers' soles, limbers, gutters?

In       Assembly, Spec: finished faces, drains; the attitudes the builder named, the box of heel and trim.
Out      findings "fall": at rest for soles and lockers' soles, for all of them at attitudes that demand a fall; over
         the box told, not judged.
Not here limbers and gutters at rest (seated.py, floor.py), hoses (hose.py), what stays behind (ponds).

A sole's run goes straight from its far corner, the one furthest from the nearest drain, to the drain towards which it
falls most; of corners as far the least counts. What stays in the others is a pond. No ring of gutter, and no plane
bottom, falls one way at every heel: over the box open runs are told, and ponds decide. A seat's limbers are one way out
together: the one that falls most counts.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from moldplan.attitude import REST, Attitude, Extreme, Vector, Where, fall_along, least_fall
from moldplan.check.afloat import Lying, box_of, lyings
from moldplan.check.floor import gutter_runs
from moldplan.check.hatch_spot import HatchSpot, spots
from moldplan.check.hose import at
from moldplan.check.limits import Bound, bound
from moldplan.errors import Path
from moldplan.finding import Edit, Finding, Move
from moldplan.shape.assembly import Assembly, Room, SolePlace, Stand
from moldplan.shape.body import DIRECTIONS, Body
from moldplan.shape.drain import DrainPlace
from moldplan.spec.model import Spec

Run = tuple[Vector, Vector]  # from where, to its drain
STEEPER = 0.005  # drop over run, a step
SAME_FAR = 1.0  # mm, corners as far as that are equally far


def open_fall(assembly: Assembly, spec: Spec) -> list[Finding]:
    """Every open run."""
    asked = [lie for lie in lyings(spec)[1:] if lie.demand == "fall"]
    found: list[Finding] = []
    for sole in assembly.soles:
        found += _floor(spec, sole.name, ("soles", sole.name), sole_corners(assembly, sole), asked)
    for room in assembly.rooms.values():
        found += _floor(spec, room.name, room.path, locker_corners(assembly, room), asked)
    for spot in spots(assembly, spec):
        found += _gutter(spot, asked)
    for stand in assembly.stands:
        found += _limbers(assembly, spec, stand, asked)
    return found


def steepness(way: Vector, attitude: Attitude) -> float:
    """Drop over run of a way at an attitude [mm/mm]; a plumb one is cut off at 1000."""
    return min(max(math.tan(math.radians(fall_along(way, attitude))), -1000.0), 1000.0)


def sole_corners(assembly: Assembly, sole: SolePlace) -> list[list[Run]]:
    """For each far corner of a sole the runs to its scuppers and open edges."""
    points = [(x, y, z + sole.paint) for x, y, z in _outer(assembly.body(sole.part))]  # as finished
    drains = [_foot(d) for d in assembly.drains if d.space == sole.name]
    edges = [DIRECTIONS[side] for side in sole.sole.overboard]
    ends = {p: [*drains, *(_edge(points, p, way) for way in edges)] for p in points}
    return _far(points, ends)


def locker_corners(assembly: Assembly, room: Room) -> list[list[Run]]:
    """For each far corner of a locker's sole the run to its drain."""
    drains = [_foot(d) for d in assembly.drains if d.space == room.name]
    points = sorted({v.toTuple() for face in assembly.body(room.walls[0]).faces("sole") for v in face.Vertices()})
    return _far(points, dict.fromkeys(points, drains))


def _outer(part: Body) -> list[Vector]:
    """Corners of a sole's top on its outer border."""
    return sorted({v.toTuple() for face in part.faces("top") for v in face.outerWire().Vertices()})


def _foot(drain: DrainPlace) -> Vector:
    """The floor under a drain's rim."""
    x, y, z = (r - drain.proud * n for r, n in zip(drain.rim, drain.normal, strict=True))
    return x, y, z


def _edge(points: Sequence[Vector], p: Vector, way: Vector) -> Vector:
    """The place of an open edge abreast of a corner: the height of the corners furthest that way."""
    reach = max(q[0] * way[0] + q[1] * way[1] for q in points)
    last = [q for q in points if q[0] * way[0] + q[1] * way[1] > reach - 1.0]
    ahead = reach - p[0] * way[0] - p[1] * way[1]
    nearest = min(last, key=lambda q: math.dist(q[:2], p[:2]))
    return p[0] + ahead * way[0], p[1] + ahead * way[1], nearest[2]


def _far(points: Sequence[Vector], ends: dict[Vector, list[Vector]]) -> list[list[Run]]:
    """Runs of the corner that lies furthest from its nearest drain, and of those as far."""
    if not points or not all(ends.values()):
        return []
    off = {p: min(math.dist(p[:2], e[:2]) for e in ends[p]) for p in points}
    return [[(p, e) for e in ends[p]] for p in points if off[p] > max(off.values()) - SAME_FAR]


def _way(run: Run) -> Vector:
    (ax, ay, az), (bx, by, bz) = run
    return bx - ax, by - ay, bz - az


def _least(corners: Sequence[Sequence[Run]], attitude: Attitude) -> tuple[float, Run]:
    """The corner whose best run falls least: drop over run, and the run."""
    best = [max(((steepness(_way(run), attitude), run) for run in runs), key=lambda f: f[0]) for runs in corners]
    return min(best, key=lambda f: f[0])


def _floor(spec: Spec, part: str, path: Path, corners: Sequence[Sequence[Run]], asked: Sequence[Lying]
           ) -> list[Finding]:
    """A sole or a locker's sole at rest, at attitudes that demand a fall, and over the box."""
    if not corners:
        return []
    limit = bound("sole-fall", spec)
    found = []
    for lie in (Lying("at rest", REST, "fall"), *asked):
        fall, run = _least(corners, lie.attitude)
        what = "sole" if lie.name == "at rest" else f"sole, {lie.name}"
        found.append(limit.finding(
            check="fall", part=part, what=what, measured=fall, path=path, at=at(run[0], lie.attitude),
            moves=_steeper(spec, path, _way(run), limit, fall) if limit.short(fall) else (),
            note=f"from its far corner it {_drops(fall)} towards its drain, {lie.name}"))
    return [*found, *_over_the_box(spec, limit, part, path, "sole",
                                   [max(runs, key=lambda run: steepness(_way(run), REST)) for runs in corners])]


def _drops(fall: float) -> str:
    if abs(fall) <= 1e-6:
        return "lies level"
    return f"falls 1 in {1 / fall:.0f}" if fall > 0 else f"rises, by {-fall:.4f} mm/mm"


def _steeper(spec: Spec, path: Path, way: Vector, limit: Bound, fall: float) -> tuple[Move, ...]:
    """More fall the way it falls, or towards the side its drain lies on."""
    own = spec.soles[str(path[1])] if path[0] == "soles" else spec.lockers[str(path[1])].sole
    where = path if path[0] == "soles" else (*path, "sole")
    to = round(math.ceil((own.fall + limit.short(fall)) * 1.05 * 200) / 200, 4)
    moves = [Move("a fall of {to} (drop over run)", (Edit((*where, "fall"), to, STEEPER),))]
    for side in sorted(DIRECTIONS, key=lambda s: -(DIRECTIONS[s][0] * way[0] + DIRECTIONS[s][1] * way[1])):
        if side in ("forward", "aft", "port", "starboard") and side != own.towards:
            steep = max(own.fall, round(math.ceil(limit.value * 1.3 * 200) / 200, 4))
            moves.append(Move(f"a fall of {{to}} towards {side}",
                              (Edit((*where, "fall"), steep, STEEPER), Edit((*where, "towards"), side))))
    return tuple(moves[:3])


def _over_the_box(spec: Spec, limit: Bound, part: str, path: Path, what: str, runs: Sequence[Run]) -> list[Finding]:
    """The least fall of some runs over the box, told."""
    box = box_of(spec)
    if box is None or not runs:
        return []
    least, run = min(((_extreme(run, box), run) for run in runs), key=lambda found: found[0].value)
    slope = math.tan(math.radians(min(max(least.value, -89.9), 89.9)))
    return [Finding(check="fall", part=part, what=f"{what}, in the box", measured=round(slope, 6), limit=limit.value,
                    sense=limit.sense, unit=limit.unit, source=limit.source, path=path, at=at(run[0], least.at),
                    note=f"at its worst it {_drops(slope)} towards its drain",
                    skipped="told, not judged: no open run falls one way at every heel; what stays behind decides")]


def _extreme(run: Run, where: Where) -> Extreme:
    return least_fall(_way(run), where)


def _gutter(spot: HatchSpot, asked: Sequence[Lying]) -> list[Finding]:
    """A gutter's floor from place to place along its runs."""
    if not asked and box_of(spot.spec) is None:
        return []
    limit, path = bound("gutter-fall", spot.spec), (*spot.path, "gutter", "fall")
    runs = [pair for points in gutter_runs(spot) for pair in itertools.pairwise(points)]
    found = []
    for lie in asked:
        fall, run = min(((steepness(_way(run), lie.attitude), run) for run in runs), key=lambda f: f[0])
        more = spot.place.hatch.gutter.fall + limit.short(fall)
        moves = (Move("a gutter that falls by {to}", (Edit(path, round(math.ceil(more * 200) / 200, 4), STEEPER),)),)
        found.append(limit.finding(check="fall", part=spot.name, what=f"gutter, {lie.name}", measured=fall, path=path,
                                   at=at(run[1], lie.attitude), moves=moves,
                                   note=f"at its flattest it {_drops(fall)} towards its drain, {lie.name}"))
    return [*found, *_over_the_box(spot.spec, limit, spot.name, path, "gutter", runs)]


def _limbers(assembly: Assembly, spec: Spec, stand: Stand, asked: Sequence[Lying]) -> list[Finding]:
    """A seat's limbers together: the one that falls most."""
    limit, path = bound("limber-fall", spec), (*stand.path, "limber")
    runs = [(d.line[0], d.line[1]) for d in assembly.drains if d.space == stand.name and d.kind == "limber"]
    if not runs:
        return []
    found = []
    for lie in asked:
        fall, run = _least([runs], lie.attitude)
        found.append(limit.finding(
            check="fall", part=stand.name, what=f"limber, {lie.name}", measured=fall, path=path,
            at=at(run[0], lie.attitude), moves=_more_limbers(spec, stand, limit, fall) if limit.short(fall) else (),
            note=f"of its limbers the one that falls most {_drops(fall)}, {lie.name}"))
    if (box := box_of(spec)) is not None:
        best = max(runs, key=lambda run: _extreme(run, box).value)
        found += _over_the_box(spec, limit, stand.name, path, "limber", [best])
    return found


def _more_limbers(spec: Spec, stand: Stand, limit: Bound, fall: float) -> tuple[Move, ...]:
    """One more limber, to any side that has none; or a steeper one."""
    own = spec.cradles[str(stand.path[1])].seats[str(stand.path[3])].limber
    if own is None:
        return ()
    path = (*stand.path, "limber")
    keep = Edit((*path, "towards"), own.towards)
    free = [side for side in ("forward", "aft", "port", "starboard") if side not in (own.towards, *own.also)]
    moves = [Move(f"one more limber, towards {side}", (Edit((*path, "also"), [*own.also, side]), keep))
             for side in free]
    steep = round(math.ceil((own.fall + limit.short(fall)) * 200) / 200, 4)
    return (*moves, Move("limber's fall {to} (drop over run)", (Edit((*path, "fall"), steep, STEEPER), keep)))
