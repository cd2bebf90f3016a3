"""The outline of several outlines laid on one another, put together from their own lines and arcs.

In       a lump: the polygon of their chords united; the regions.
Out      its loops, each line and arc a part of one of theirs; None where they are not found so.
Not here uniting the chords, which of the lumps are cut (flat.py).

The polygon tells which parts of whose lines bound the whole; where two of them meet tells where one ends. Of lines that
lie on one another all but one are passed over, so that outlines which are nearly one do no harm.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from moldplan.cut.curve import from_segment
from moldplan.cut.loop import LEAST, faults, segments, tidied, wound
from moldplan.cut.piece import Loop, Point
from moldplan.cut.profile import FINE, Region, polygon
from moldplan.cut.segment import FLAT, Segment, crossings

if TYPE_CHECKING:
    from shapely import LinearRing, Polygon

NEAR = FINE + 1e-3  # a chord lies no further from the line it stands for [mm]
STEP = 2 * LEAST  # from one level to the next the outline steps; what is shorter is no edge of the body [mm]
SHALLOW = 20.0  # two lines that cross at a small angle do so no further from where the chords say [mm]


@dataclass(frozen=True)
class _Stretch:
    """Chords `first` to `last` of a ring (last may be past the ring's end), all of one line."""

    line: Segment
    first: int
    last: int


def shadow(lump: Polygon, regions: Iterable[Region]) -> tuple[Loop, tuple[Loop, ...]] | None:
    """The outer loop and the openings of a lump from its regions' own lines and arcs; None where they fail to."""
    lines = list({_key(s): s for r in regions for loop in (r.outer, *r.holes) for s in segments(loop)}.values())
    loops = []
    for number, ring in enumerate((lump.exterior, *lump.interiors)):
        loop = _loop(ring, lines)
        if loop is None:
            return None
        loops.append(wound(loop, clockwise=number > 0))
    return loops[0], tuple(sorted(loops[1:], key=lambda hole: polygon(hole).bounds))


def _key(s: Segment) -> tuple[float, ...]:
    """The same for a segment walked either way."""
    ends = sorted((tuple(round(v, 6) for v in s.start), tuple(round(v, 6) for v in s.end)))
    return (*ends[0], *ends[1], *(round(v, 6) for v in s.middle))


def _loop(ring: LinearRing, lines: Sequence[Segment]) -> Loop | None:
    """A ring of chords as a loop of parts of the lines they stand for."""
    import shapely

    corners = [(float(x), float(y)) for x, y in ring.coords[:-1]]
    stretches = _stretches(corners, lines)
    if len(stretches) < 2:
        return None
    joints = [_joint(corners, stretches[k - 1], stretches[k]) for k in range(len(stretches))]
    ends = [*joints[1:], joints[0]]
    parts = [_part(s.line, a, b, corners[s.first % len(corners)], corners[(s.first + 1) % len(corners)])
             for s, a, b in zip(stretches, joints, ends, strict=True) if math.dist(a, b) > 0]
    loop = Loop(tuple((*s.start, s.bulge) for s in parts))
    if shapely.Polygon(ring).symmetric_difference(polygon(loop)).area > NEAR * ring.length:
        return None
    loop = tidied(loop, least=STEP)
    return None if faults(loop) else loop


def _stretches(corners: Sequence[Point], lines: Sequence[Segment]) -> list[_Stretch]:
    """The ring's chords in as few stretches as will do, each along one line; [] where a chord stands for none."""
    import numpy as np

    count, spots = len(corners), np.array(corners)
    middles = (spots + np.roll(spots, -1, axis=0)) / 2
    on = []
    for line in lines:
        ends = from_segment(line, spots) <= NEAR
        on.append(ends & np.roll(ends, -1) & (from_segment(line, middles) <= NEAR))
    near = np.array(on)
    if not near.any(axis=0).all():
        return []

    def stretch(first: int) -> _Stretch:
        going, last = near[:, first % count], first
        while last - first < count and (going & near[:, (last + 1) % count]).any():
            going = going & near[:, (last + 1) % count]
            last += 1
        return _Stretch(lines[int(np.flatnonzero(going)[0])], first, last)

    start = stretch(0).last + 1
    found = [stretch(start)]
    while found[-1].last + 1 < start + count:
        found.append(stretch(found[-1].last + 1))
    last = found[-1]
    found[-1] = _Stretch(last.line, last.first, min(last.last, start + count - 1))
    return found


def _joint(corners: Sequence[Point], before: _Stretch, after: _Stretch) -> Point:
    """Where one stretch ends and the next begins: where their lines meet, or else where the chords do."""
    corner = corners[after.first % len(corners)]
    a, b = before.line, after.line
    met = [p for p in (a.start, a.end) if min(math.dist(p, b.start), math.dist(p, b.end)) < 1e-6]
    met += crossings(a, b, 1e-6)
    reach = min(SHALLOW, *(_span(corners, s) for s in (before, after)))
    return min((p for p in met if math.dist(p, corner) <= max(reach, NEAR)), key=lambda p: math.dist(p, corner),
               default=corner)


def _span(corners: Sequence[Point], stretch: _Stretch) -> float:
    """How far a stretch's ends lie apart at least [mm], less a little: a joint lies within both."""
    a, b = corners[stretch.first % len(corners)], corners[(stretch.last + 1) % len(corners)]
    return 0.9 * math.dist(a, b)


def _part(line: Segment, start: Point, end: Point, first: Point, second: Point) -> Segment:
    """The part of a line or arc between two points on it, walked as its first chord is."""
    if line.straight:
        return Segment(start, end)
    (cx, cy), (ax, ay), (bx, by) = line.centre, first, second
    ccw = (ax - cx) * (by - cy) - (ay - cy) * (bx - cx) > 0
    half = math.asin(min(1.0, math.dist(start, end) / (2 * line.radius)))
    bulge = math.tan(half / 2) * (1 if ccw else -1)
    return Segment(start, end, 0.0 if abs(bulge) < FLAT else bulge)
