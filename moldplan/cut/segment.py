"""One line or arc of an outline: its length, reach, distance from another, and where two of them meet.

In       start, end and bulge (tan of a quarter of the sweep, counter-clockwise positive, 0 for a line) [mm].
Out      plain numbers; points as (x, y) [mm].
Not here closed loops (loop.py). Angles in radians stay inside this file and loop.py.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

from moldplan.cut.piece import Point

Bounds = tuple[float, float, float, float]  # x low, y low, x high, y high
FLAT = 1e-10  # a bulge below this sags less than 1e-6 mm over 20 m: a line
NEAR = 1e-9  # points nearer than this are one point [mm]


@dataclass(frozen=True)
class Segment:
    """A line or an arc from start to end."""

    start: Point
    end: Point
    bulge: float = 0.0

    @property
    def straight(self) -> bool:
        return abs(self.bulge) < FLAT

    @cached_property
    def chord(self) -> float:
        return math.dist(self.start, self.end)

    @property
    def sweep(self) -> float:
        """Signed angle of the arc [rad], 0 for a line."""
        return 0.0 if self.straight else 4 * math.atan(self.bulge)

    @cached_property
    def centre(self) -> Point:
        (ax, ay), (bx, by) = self.start, self.end
        reach = (1 - self.bulge**2) / (4 * self.bulge)
        return ((ax + bx) / 2 - (by - ay) * reach, (ay + by) / 2 + (bx - ax) * reach)

    @cached_property
    def radius(self) -> float:
        return self.chord * (1 + self.bulge**2) / (4 * abs(self.bulge))

    @property
    def length(self) -> float:
        return self.chord if self.straight else self.radius * abs(self.sweep)

    @cached_property
    def middle(self) -> Point:
        (ax, ay), (bx, by) = self.start, self.end
        return ((ax + bx) / 2 + (by - ay) * self.bulge / 2, (ay + by) / 2 - (bx - ax) * self.bulge / 2)

    @property
    def lune(self) -> float:
        """Signed area between chord and arc [mm2]."""
        return 0.0 if self.straight else self.radius**2 / 2 * (self.sweep - math.sin(self.sweep))

    def heading(self, share: float) -> Point:
        """Unit direction of travel at a share (0 start, 1 end) of the segment."""
        (ax, ay), (bx, by) = self.start, self.end
        along = math.atan2(by - ay, bx - ax) + self.sweep * (share - 0.5)
        return (math.cos(along), math.sin(along))

    def at(self, share: float) -> Point:
        """Point at a share of the length."""
        (ax, ay), (bx, by) = self.start, self.end
        if self.straight:
            return (ax + (bx - ax) * share, ay + (by - ay) * share)
        cx, cy = self.centre
        angle = math.atan2(ay - cy, ax - cx) + self.sweep * share
        return (cx + self.radius * math.cos(angle), cy + self.radius * math.sin(angle))

    def faces(self, point: Point) -> bool:
        """Whether the ray from the arc's centre through the point meets the arc."""
        cx, cy = self.centre
        return self._swept(math.atan2(point[1] - cy, point[0] - cx), 1e-12)

    def _swept(self, angle: float, slack: float) -> bool:
        cx, cy = self.centre
        first = math.atan2(self.start[1] - cy, self.start[0] - cx)
        turned = (angle - first) if self.sweep > 0 else (first - angle)
        turned %= 2 * math.pi
        return turned <= abs(self.sweep) + slack or turned >= 2 * math.pi - slack

    @cached_property
    def bounds(self) -> Bounds:
        xs, ys = [self.start[0], self.end[0]], [self.start[1], self.end[1]]
        if not self.straight:
            (cx, cy), r = self.centre, self.radius
            for dx, dy in ((1, 0), (0, 1), (-1, 0), (0, -1)):
                if self._swept(math.atan2(dy, dx), 0.0):
                    xs.append(cx + r * dx)
                    ys.append(cy + r * dy)
        return (min(xs), min(ys), max(xs), max(ys))

    def reversed(self) -> Segment:
        return Segment(self.end, self.start, -self.bulge)


def from_point(segment: Segment, point: Point) -> float:
    """Least distance from a point to a line or arc [mm]."""
    return math.dist(point, nearest(segment, point))


def nearest(segment: Segment, point: Point) -> Point:
    """The point of the segment nearest to a point."""
    if segment.straight:
        return segment.at(min(1.0, max(0.0, _share(segment, point))))
    if math.dist(segment.centre, point) > NEAR and segment.faces(point):
        return _on_circle(segment, point)
    return min(segment.start, segment.end, key=lambda p: math.dist(p, point))


def _share(line: Segment, point: Point) -> float:
    (ax, ay), (bx, by) = line.start, line.end
    span = line.chord**2
    return ((point[0] - ax) * (bx - ax) + (point[1] - ay) * (by - ay)) / span if span else 0.0


def _on_circle(arc: Segment, towards: Point) -> Point:
    (cx, cy), reach = arc.centre, math.dist(arc.centre, towards)
    return (cx + (towards[0] - cx) * arc.radius / reach, cy + (towards[1] - cy) * arc.radius / reach)


def apart(a: Segment, b: Segment) -> float:
    """Least distance of two segments [mm], 0 where they meet; exact: every place where it can be least is tried."""
    if crossings(a, b):
        return 0.0
    least = min(from_point(b, a.start), from_point(b, a.end), from_point(a, b.start), from_point(a, b.end))
    if a.straight and b.straight:
        return least
    if a.straight or b.straight:
        line, arc = (a, b) if a.straight else (b, a)
        share = _share(line, arc.centre)
        if not 0 <= share <= 1:
            return least
        foot = line.at(share)
        reach = math.dist(foot, arc.centre)
        if reach > NEAR:
            for far in _both(arc, foot):
                least = min(least, math.dist(far, foot))
        return least
    if math.dist(a.centre, b.centre) > NEAR:
        for one in _both(a, b.centre):
            least = min([least, *(math.dist(one, other) for other in _both(b, a.centre))])
    elif any(b.faces(p) for p in (a.start, a.end, a.middle)) or any(a.faces(p) for p in (b.start, b.end)):
        least = min(least, abs(a.radius - b.radius))
    return least


def _both(arc: Segment, towards: Point) -> list[Point]:
    """Where the line through the arc's centre and a point meets the arc."""
    near = _on_circle(arc, towards)
    far = (2 * arc.centre[0] - near[0], 2 * arc.centre[1] - near[1])
    return [p for p in (near, far) if arc.faces(p)]


def crossings(a: Segment, b: Segment, slack: float = 1e-9) -> list[Point]:
    """Points that two segments share [mm], ends included; of two that overlap, the ends of the overlap."""
    al, ab, ah, at = a.bounds
    bl, bb, bh, bt = b.bounds
    if al > bh + slack or bl > ah + slack or ab > bt + slack or bb > at + slack:
        return []
    if a.straight and b.straight:
        met = _line_line(a, b)
    elif a.straight:
        met = _line_circle(a, b.centre, b.radius)
    elif b.straight:
        met = _line_circle(b, a.centre, a.radius)
    else:
        met = _circle_circle(a, b)
    return [p for p in met if from_point(a, p) <= slack and from_point(b, p) <= slack]


def _line_line(a: Segment, b: Segment) -> list[Point]:
    (ux, uy), (vx, vy) = (_span(a), _span(b))
    turn = ux * vy - uy * vx
    wx, wy = b.start[0] - a.start[0], b.start[1] - a.start[1]
    if abs(turn) <= 1e-12 * max(a.chord * b.chord, 1e-300):
        return [a.start, a.end, b.start, b.end]
    return [a.at((wx * vy - wy * vx) / turn)]


def _span(line: Segment) -> Point:
    return (line.end[0] - line.start[0], line.end[1] - line.start[1])


def _line_circle(line: Segment, centre: Point, radius: float) -> list[Point]:
    if not line.chord:
        return [line.start]
    share = _share(line, centre)
    foot = line.at(share)
    off = math.dist(foot, centre)
    if off > radius:
        return [foot] if off <= radius + NEAR else []
    half = math.sqrt(radius**2 - off**2) / line.chord
    return [line.at(share - half), line.at(share + half)]


def _circle_circle(a: Segment, b: Segment) -> list[Point]:
    (ax, ay), (bx, by) = a.centre, b.centre
    gap = math.dist(a.centre, b.centre)
    if gap < NEAR:
        return [a.start, a.end, b.start, b.end] if abs(a.radius - b.radius) < NEAR else []
    along = (gap**2 + a.radius**2 - b.radius**2) / (2 * gap)
    square = a.radius**2 - along**2
    ux, uy = (bx - ax) / gap, (by - ay) / gap
    half = math.sqrt(max(0.0, square))
    if square < -2 * NEAR * a.radius:
        return []
    x, y = ax + ux * along, ay + uy * along
    return [(x - uy * half, y + ux * half), (x + uy * half, y - ux * half)]
