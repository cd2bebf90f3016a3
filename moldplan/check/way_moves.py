"""Moves that may make a way out fall, or its outlet stand clear: points of the hose, tail, floor and outlet together.

In       a Way, what it must keep (Demand), attitudes, water.
Out      Moves, each one set of edits; the least first.
Not here judging; proving that a move holds (cure/).

A move is worked out a hair (0.05 deg) steeper than asked, so that rounding to a tenth of a millimetre, or to a whole
one at outlet and floor, costs nothing.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from moldplan.attitude import Vector, Waterline, Where
from moldplan.check.fall_level import inboard, needed_drops, relevels
from moldplan.check.outlet import Box
from moldplan.check.outlet_place import Demand, least_outlet, shifts
from moldplan.check.way import Way
from moldplan.finding import Edit, Move

STEEPER = 0.05  # deg
CLEARER = 0.2  # mm, over what is asked
DRY = 1e-9  # mm, rounding


def fall_moves(way: Way, where: Where, *, fall: float, water: Waterline | None, demand: Demand,
               openings: Sequence[Box] = ()) -> tuple[Move, ...]:
    """How every leg comes to fall: points between raised or lowered, the outlet inboard, floor and outlet together."""
    ask = fall + STEEPER
    found = []
    for relevel in relevels(way.points[way.start:], where, fall=ask):
        if all(abs(change) < DRY for _, change in relevel.moves):
            continue
        points = (*way.points[:way.start], *relevel.points)
        found += _both_ends(way, points, where, ask)
    back = inboard(way.points[-2:], where, fall=ask)
    if back:
        found += _moved(way, _inboard(way.points, math.ceil(back)), where, ask)
    if water is None:
        return _least_first(found)
    dry = [move for move in found if all(_dry(edit, water, where, demand) for edit in move.edits)]
    coupled = outlet_moves(way, where, water=water, demand=replace(demand, fall=fall), openings=openings)
    if _dry(Edit(way.outlet_path, way.points[-1]), water, where, demand):
        return _least_first([*dry, *coupled])
    return (*coupled, *_least_first(dry))  # the outlet must move anyway: what makes it stand clear first


def _dry(edit: Edit, water: Waterline, where: Where, demand: Demand) -> bool:
    """Whether an edit leaves an outlet as high as it must stand; every other edit does."""
    if edit.path[-1] != "outlet" or edit.to is None:
        return True
    x, y, z = edit.to
    return bool(z >= least_outlet((x, y), water, where, at_rest=demand.at_rest, in_box=demand.in_box) - 1e-6)


def _both_ends(way: Way, points: tuple[Vector, ...], where: Where, fall: float) -> list[Move]:
    """A move to new levels; where the hose's start rises, by a shorter tail, else with the floor."""
    up = points[way.start][2] - way.points[way.start][2]
    found = _moved(way, points, where, fall)
    if way.start and up > DRY:
        found += _moved(way, _floor_up(way, points, up), where, fall)
    return found


def _floor_up(way: Way, points: Sequence[Vector], by: float) -> tuple[Vector, ...]:
    """The same with the rim raised by a whole number of millimetres, its tail hanging from it."""
    up = math.ceil(by - DRY)
    rim, *rest = points
    lifted = [(rim[0], rim[1], way.points[0][2] + up)]
    if way.start:
        tail = way.points[1]
        lifted.append((tail[0], tail[1], tail[2] + up))
        rest = rest[1:]
    return (*lifted, *rest)


def _inboard(points: Sequence[Vector], by: float) -> tuple[Vector, ...]:
    """The outlet brought back along its last leg in plan, its level kept."""
    a, b = points[-2:]
    run = math.dist(a[:2], b[:2])
    share = min(by / run, 1.0) if run > DRY else 0.0
    return (*points[:-1], (round(b[0] + share * (a[0] - b[0]), 1), round(b[1] + share * (a[1] - b[1]), 1), b[2]))


def outlet_moves(way: Way, where: Where, *, water: Waterline, demand: Demand, openings: Sequence[Box] = ()
                 ) -> tuple[Move, ...]:
    """Outlet up and the floor with it as far as the hose asks, or the outlet inboard; points between follow."""
    points = way.points
    start = points[way.start]
    tail = points[0][2] - start[2]
    ask = replace(demand, under_floor=max(demand.under_floor - tail, 0.0), fall=demand.fall + STEEPER,
                  in_box=demand.in_box + CLEARER, apart=demand.apart + CLEARER if demand.apart else 0.0)
    found = []
    for shift in shifts(points[-1], start, water, where, ask, between=[p[:2] for p in points[way.start + 1:-1]],
                        openings=openings):
        x, y, z = shift.outlet
        level = math.ceil(z - DRY) if z > points[-1][2] + DRY else math.floor(z + DRY) if z < points[-1][2] - DRY else z
        outlet = (round(x, 1), round(y, 1), float(level))
        moved = (*points[:-1], outlet)
        short = _short(way, moved, where, ask)
        lifted = _floor_up(way, moved, short) if short > DRY else moved
        found += _moved(way, _levelled(way, lifted, where, ask.fall), where, ask.fall)
        if 0 < short <= way.tail and way.start:
            rim, end, *rest = moved
            shorter = (rim, (end[0], end[1], end[2] + short), *rest)
            found += _moved(way, _levelled(way, shorter, where, ask.fall), where, ask.fall)
    return _least_first(found)


def _short(way: Way, points: Sequence[Vector], where: Where, demand: Demand) -> float:
    """How much higher the hose must start so that all of it can fall [mm]; below 0 there is room to spare."""
    run = points[way.start:]
    need = sum(needed_drops(run, where, fall=demand.fall))
    return max(need, demand.under_floor) - (run[0][2] - run[-1][2])


def _levelled(way: Way, points: tuple[Vector, ...], where: Where, fall: float) -> tuple[Vector, ...]:
    """Points between put where every leg falls, both ends kept; as they are where that cannot be."""
    for relevel in relevels(points[way.start:], where, fall=fall):
        if relevel.way == "points between alone":
            return (*points[:way.start], *relevel.points)
    return points


def _moved(way: Way, points: Sequence[Vector], where: Where, fall: float) -> list[Move]:
    """The move to new points, rounded so that no leg falls less; none where the spec has no field for it."""
    neat = [(round(x, 1), round(y, 1), round(z, 1)) if k > way.start and math.dist((x, y, z), was) > DRY else
            (x, y, z) for k, ((x, y, z), was) in enumerate(zip(points, way.points, strict=True))]
    needs = needed_drops(neat, where, fall=fall - STEEPER / 2)
    for k in range(len(neat) - 2, way.start, -1):
        x, y, z = neat[k]
        least = neat[k + 1][2] + needs[k]
        if least - 0.1 < z < least:
            neat[k] = (x, y, round(math.ceil(least * 10 - DRY) / 10, 1))
    edits = way.put(neat)
    return [Move(_words(way, neat), edits)] if edits else []


def _words(way: Way, points: Sequence[Vector]) -> str:
    """What moves, and where to."""
    said = []
    old, last = way.points, len(points) - 1
    if math.dist(points[last], old[last]) > DRY:
        (x, y, z), was = points[last], old[last]
        y *= way.flip
        level = abs(z - was[2]) < DRY
        said.append(f"the outlet {'inboard' if level else 'up' if z > was[2] else 'down'}"
                    f"{'' if level else f' {abs(z - was[2]):g} mm'} to {x:g}, {y:g}, {z:g}")
    up = points[0][2] - old[0][2]
    if up > DRY:
        said.append(f"{way.floor_words} up {up:g} mm")
    start = way.start
    if start and abs(points[1][2] - old[1][2] - up) > DRY:
        said.append(f"a tail {abs(points[1][2] - old[1][2] - up):.1f} mm shorter")
    for k in range(start + 1, last):
        if math.dist(points[k], old[k]) > DRY and k in way.fields:
            said.append(f"hose point {int(way.fields[k][0][-1]) + 1} to height {points[k][2]:g}")
    return "; ".join(said)


def _least_first(moves: Sequence[Move]) -> tuple[Move, ...]:
    """Fewest edits first, each kind once."""
    kept: dict[str, Move] = {}
    for move in moves:
        kept.setdefault(move.text, move)
    return tuple(sorted(kept.values(), key=lambda move: len(move.edits)))
