"""Where the cutter cannot go: openings and slots narrower than it.

In       an outline as cut, the cutter's diameter.
Out      each such place and its width [mm].
Not here inside corners (relief.py): what a round cutter leaves in a corner is left out here.

What a cutter of radius r can clear is the waste shrunk by r and grown again; what the piece gains the other way, grown
by r and shrunk again, it cannot. Round openings are measured exactly.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from moldplan.cut.loop import area, reversed_loop, sampled, segments
from moldplan.cut.piece import Loop, Outline, Point
from moldplan.cut.sunk import islands, pools

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

CHORD = 0.02  # of the polygons; finer ones make the buffer err [mm]
READ = 0.02  # how near a width is told [mm]


@dataclass(frozen=True)
class Narrow:
    """A place the cutter cannot enter: what it is, where on the outline, how wide [mm]."""

    what: str
    at: Point
    width: float


def narrow(outline: Outline, *, diameter: float) -> tuple[Narrow, ...]:
    """Every opening, recess or slot narrower than the cutter's `diameter` [mm], widest last."""
    import shapely

    found: list[Narrow] = []
    inner = [("opening", loop) for loop in outline.holes]
    inner += [("recess", loop) for loop, _ in pools((*outline.sinks, *outline.under))]
    inner += [("bore", loop) for loop, _ in outline.bores]
    for what, loop in inner:
        if loop.circle is not None:
            if 2 * loop.circle[2] < diameter - 1e-9:
                found.append(Narrow(what, loop.circle[:2], 2 * loop.circle[2]))
            continue
        found += _pinched(what, _waste(loop), _corners([_material_left(loop)], diameter), diameter)
    found += _beside_islands(outline, diameter)
    shape = _waste(outline.outer)
    beside = shape.envelope.buffer(2 * diameter, join_style="mitre").difference(shape)
    hull = shape.convex_hull  # a slot lies inside it
    slots = _pinched("slot", beside, _corners([outline.outer], diameter), diameter)
    found += [slot for slot in slots if hull.covers(shapely.Point(slot.at))]
    return tuple(sorted(found, key=lambda n: (n.width, n.at)))


def _beside_islands(outline: Outline, diameter: float) -> list[Narrow]:
    """Places too narrow between the edge of a recess and what stands in it."""
    found: list[Narrow] = []
    for sunk in (outline.sinks, outline.under):
        stand = islands(sunk)
        for depth in {depth for _, depth in stand}:
            level = [one for one in sunk if one[1] == depth]
            loops = [loop if (loop, depth) in stand else _material_left(loop) for loop, _ in level]
            waste = _waste_between(loop for loop, _ in level)
            found += _pinched("recess beside an island", waste, _corners(loops, diameter), diameter)
    return found


def _waste_between(loops: Iterable[Loop]) -> BaseGeometry:
    from functools import reduce

    return reduce(lambda a, b: a.symmetric_difference(b), map(_waste, loops))


def _waste(loop: Loop) -> Polygon:
    import shapely

    return shapely.Polygon(sampled(loop, CHORD)).simplify(CHORD / 2)


def _material_left(loop: Loop) -> Loop:
    return reversed_loop(loop) if area(loop) > 0 else loop


def _corners(loops: Iterable[Loop], diameter: float) -> list[tuple[Point, float]]:
    """Inside corners, each with how far from it a round cutter leaves waste: r / tan(a / 2) [mm]."""
    found = []
    for loop in loops:
        walk = segments(loop)
        for before, after in zip((walk[-1], *walk[:-1]), walk, strict=True):
            (ix, iy), (ox, oy) = before.heading(1.0), after.heading(0.0)
            turn = math.atan2(ix * oy - iy * ox, ix * ox + iy * oy)
            if turn < -1e-3:
                found.append((after.start, diameter / 2 * math.tan(min(-turn, 3.0) / 2)))
            if after.bulge < 0 and not after.straight and after.radius < diameter / 2 and -after.sweep < 3.0:
                found.append((after.middle, diameter / 2 * math.tan(-after.sweep / 2)))
    return found


def _pinched(
    what: str, waste: BaseGeometry, corners: list[tuple[Point, float]], diameter: float
) -> list[Narrow]:
    """The places of a waste that a cutter cannot reach, corners aside."""
    import shapely

    spare = shapely.unary_union([shapely.Point(p).buffer(reach + 4 * CHORD) for p, reach in corners])

    def missed(width: float) -> list[Polygon]:
        opened = waste.buffer(-width / 2).buffer(width / 2 + CHORD)
        left = waste.difference(opened).difference(spare)
        return [g for g in getattr(left, "geoms", [left]) if g.area > CHORD * max(1.0, width)]

    found = []
    for place in missed(diameter - READ):
        low, high = 0.0, diameter
        while high - low > READ / 2:
            middle = (low + high) / 2
            low, high = (low, middle) if any(g.intersects(place) for g in missed(middle)) else (middle, high)
        spot = place.representative_point()
        found.append(Narrow(what, (round(spot.x, 2), round(spot.y, 2)), round(low, 2)))
    return found
