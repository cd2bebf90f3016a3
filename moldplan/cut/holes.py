"""Pieces laid into the openings of others: what is cut out of a frame is sheet too.

In       a Job.
Out      the Job with fewer copies: those that found room in an opening go with the piece round them.
Not here the sheets (nest.py); proof with true arcs (room.py).

Small pieces are filled before large ones, so that a filled piece may lie in an opening again. From an opening's edge
and from each other pieces keep the spacing. Where one that must keep the grain lies inside, the piece round it is
turned by none or half a turn only.
"""

from __future__ import annotations

import time
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from moldplan.cut.bare import Bare
from moldplan.cut.fill import Filling, Shapes, by_area, cells_of
from moldplan.cut.fits import size_turned
from moldplan.cut.grid import Cell
from moldplan.cut.job import Copy, Job, Key, outer_area
from moldplan.cut.loop import area, bounds, holds_point, loops_apart, moved, segments, wound
from moldplan.cut.piece import Loop, Placed

MOSTLY = 0.5  # of an opening's area; a piece larger than that is tried in its middle first


def with_openings(job: Job, until: float) -> Job:
    """The job with openings filled, as far as the time goes."""
    outside = {copy.key: copy for copy in job.copies}
    inside: dict[Key, tuple[Placed, ...]] = dict(job.inside)
    shapes = Shapes(job, Cell(1.0, 1.0))
    tried: dict[str, bool] = {}
    for key in [copy.key for copy in sorted(job.copies, key=lambda c: (outer_area(c), c.piece.id, c.number))]:
        host = outside.get(key)
        if host is None or time.monotonic() > until or tried.get(host.piece.id) is False:
            continue
        for hole in host.piece.cut.holes:
            guests = _guests(host, hole, outside.values(), job.cutter.spacing)
            found = _into(host, hole, guests, job, shapes, inside)
            tried.setdefault(host.piece.id, False)
            if found:
                tried[host.piece.id] = True
                inside[key] = (*inside.get(key, ()), *found)
                if any(_grained(job, (p.piece, p.copy), inside) for p in found):
                    host = replace(host, turns=tuple(t for t in host.turns if t % 180 == 0))
                    outside[key] = host
                for placed in found:
                    del outside[(placed.piece, placed.copy)]
    return replace(job, copies=tuple(outside.values()), inside=inside)


def _grained(job: Job, key: Key, inside: Mapping[Key, Sequence[Placed]]) -> bool:
    """Whether a copy, or one inside it, must keep the grain."""
    within = (_grained(job, (p.piece, p.copy), inside) for p in inside.get(key, ()))
    return job.pieces[key[0]].grain or any(within)


def _guests(host: Copy, hole: Loop, copies: Iterable[Copy], spacing: float) -> list[Copy]:
    """The copies that may fit an opening, largest first."""
    low_x, low_y, high_x, high_y = bounds(hole)
    wide, high = high_x - low_x - 2 * spacing, high_y - low_y - 2 * spacing
    fitting = []
    known: dict[str, bool] = {}
    for copy in copies:
        if copy.piece.id not in known:
            sizes = [size_turned(copy.piece.cut.outer, t) for t in copy.turns]
            known[copy.piece.id] = outer_area(copy) < abs(area(hole)) and any(
                w <= wide + 1e-6 and h <= high + 1e-6 for w, h in sizes
            )
        if known[copy.piece.id] and copy.key != host.key:
            fitting.append(copy)
    return by_area(fitting)


def _into(
    host: Copy, hole: Loop, guests: Sequence[Copy], job: Job, shapes: Shapes, inside: Mapping[Key, Sequence[Placed]]
) -> list[Placed]:
    """What of the guests lies in the opening, in the host's own axes."""
    level = any(t % 180 == 0 for t in host.turns)
    usable = [g for g in guests if level or not _grained(job, g.key, inside)]
    if not usable:
        return []
    middle = _in_the_middle(hole, usable, job.cutter.spacing)
    if middle is not None:
        return [middle]
    spacing = job.cutter.spacing
    cells = cells_of(Bare((0.0, 0.0), wound(hole, clockwise=False), (), spacing, spacing), shapes.cell)
    if cells is None:
        return []
    filling = Filling(shapes, cells)
    refused: set[str] = set()
    for guest in usable:
        if guest.piece.id in refused:
            continue
        if not filling.add(guest):
            refused.add(guest.piece.id)
        elif not _clear(hole, guest, filling.placed[-1], spacing):
            filling.placed.pop()
    return filling.placed


def _in_the_middle(hole: Loop, guests: Sequence[Copy], spacing: float) -> Placed | None:
    """The largest guest that just fits the opening: its box's middle on the opening's."""
    low_x, low_y, high_x, high_y = bounds(hole)
    seen: set[str] = set()
    for guest in guests:
        if guest.piece.id in seen or outer_area(guest) < MOSTLY * abs(area(hole)):
            continue
        seen.add(guest.piece.id)
        for turn in guest.turns:
            ax, ay, bx, by = bounds(moved(guest.piece.cut.outer, turn=turn))
            x, y = round((low_x + high_x - ax - bx) / 2, 9), round((low_y + high_y - ay - by) / 2, 9)
            placed = Placed(piece=guest.piece.id, copy=guest.number, turn=turn, x=x, y=y)
            if _clear(hole, guest, placed, spacing):
                return placed
    return None


def _clear(hole: Loop, guest: Copy, placed: Placed, spacing: float) -> bool:
    """Whether a guest lies in an opening and keeps its spacing from the edge, with true arcs."""
    loop = moved(guest.piece.cut.outer, turn=placed.turn, x=placed.x, y=placed.y)
    if not holds_point(hole, segments(loop)[0].start):
        return False
    return round(loops_apart(loop, hole, up_to=spacing + 1), 6) >= spacing
