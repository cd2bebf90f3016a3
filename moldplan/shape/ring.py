"""The way round an opening: a rounded rectangle walked station by station, and solids lofted along it.

In       a clear opening (length, width, corner radius), closed sections given as functions of the place along the way.
Out      Ring: stations, named spots, pieces; `sweep`: a closed solid with the roles of its sections' edges.
Not here what a section looks like (hatch.py, mold.py).

Own axes of a hatch: origin at the middle of the opening on the sole's surface, x along its length, z up. The way runs
counter-clockwise as seen from above from the middle of the forward side. Its length s is measured on the middle of the
gutter, `off` outside the opening's edge: there a fall of 1:n falls 1 in n. A section lies in the plane square to the
edge: u outward from the opening's edge, z up.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from moldplan.errors import GeometryError
from moldplan.shape.body import Shaped

if TYPE_CHECKING:
    import cadquery as cq

Plane2 = tuple[float, float]
SECTIONS = 9  # sections of a smooth loft round a corner; tried: the volume is then right to 1e-8


@dataclass(frozen=True)
class Line:
    """A straight edge of a section, (u, z) to (u, z) [mm]."""

    role: str
    start: Plane2
    end: Plane2


@dataclass(frozen=True)
class Arc:
    """A circular edge of a section through three points [mm]."""

    role: str
    start: Plane2
    middle: Plane2
    end: Plane2


Section = Sequence[Line | Arc]
SPOTS = ("forward", "forward port", "port", "aft port", "aft", "aft starboard", "starboard", "forward starboard")


@dataclass(frozen=True)
class Station:
    """A place on the opening's edge and the way outward there, both in plan."""

    at: Plane2
    out: Plane2

    def place(self, point: Plane2) -> tuple[float, float, float]:
        """A point (u, z) of the section here, in the hatch's own axes."""
        return self.at[0] + point[0] * self.out[0], self.at[1] + point[0] * self.out[1], point[1]


@dataclass(frozen=True, kw_only=True)
class Ring:
    """The way round one opening [mm]."""

    length: float
    width: float
    radius: float
    off: float

    @property
    def corner(self) -> float:
        """Length of the way round one corner."""
        return (self.radius + self.off) * math.pi / 2

    @property
    def sides(self) -> tuple[float, float]:
        """Straight length of a forward or aft side, and of a port or starboard side."""
        return self.width - 2 * self.radius, self.length - 2 * self.radius

    @cached_property
    def bounds(self) -> tuple[float, ...]:
        """Where straights and corners meet, from 0 to the whole way: half side, corner, side, ... half side."""
        across, along = self.sides
        marks = [0.0]
        for step in (across / 2, self.corner, along, self.corner, across, self.corner, along, self.corner, across / 2):
            marks.append(marks[-1] + step)
        return tuple(marks)

    @property
    def whole(self) -> float:
        """Length of the whole way."""
        return self.bounds[-1]

    def spot(self, name: str) -> float:
        """Where a named spot lies: middles of sides and of corners."""
        marks, index = self.bounds, SPOTS.index(name)
        return 0.0 if index == 0 else (marks[index] + marks[index + 1]) / 2

    def nearest(self, x: float, y: float) -> tuple[float, float]:
        """The place whose station is nearest to a point in plan, and how far outside the opening's edge that lies."""
        half_x, half_y, r = self.length / 2, self.width / 2, self.radius
        marks, cx, cy = self.bounds, half_x - r, half_y - r
        if abs(x) > cx and abs(y) > cy:
            quarter = {(True, True): 0, (False, True): 1, (False, False): 2, (True, False): 3}[x > 0, y > 0]
            turned = math.degrees(math.atan2(y - math.copysign(cy, y), x - math.copysign(cx, x))) - 90 * quarter
            past = (turned % 360) / 90 * self.corner
            return marks[2 * quarter + 1] + past, math.hypot(abs(x) - cx, abs(y) - cy) - r
        if abs(x) - half_x > abs(y) - half_y:
            off = abs(x) - half_x
            s = y if x > 0 else marks[4] + (cy - y)
            return s % self.whole, off
        off = abs(y) - half_y
        return (marks[2] + (cx - x) if y > 0 else marks[6] + (x + cx)) % self.whole, off

    def is_corner(self, s: float) -> bool:
        """Whether a place strictly inside a piece is in a corner."""
        return (bisect_right(self.bounds, s) - 1) % 2 == 1

    def station(self, s: float) -> Station:
        """The station at `s`, which is taken round and round."""
        marks = self.bounds
        s = s % self.whole
        index = min(bisect_right(marks, s) - 1, 8)
        quarter, past = index // 2, s - marks[index]
        half_x, half_y, r = self.length / 2, self.width / 2, self.radius
        if index % 2 == 1:
            turned = math.radians(90 * quarter) + past / self.corner * math.pi / 2
            centre = (
                (half_x - r, half_y - r),
                (r - half_x, half_y - r),
                (r - half_x, r - half_y),
                (half_x - r, r - half_y),
            )[quarter]
            out = (math.cos(turned), math.sin(turned))
            return Station((centre[0] + r * out[0], centre[1] + r * out[1]), out)
        starts = (
            (half_x, 0.0),
            (half_x - r, half_y),
            (-half_x, half_y - r),
            (r - half_x, -half_y),
            (half_x, r - half_y),
        )
        ways = ((0.0, 1.0), (-1.0, 0.0), (0.0, -1.0), (1.0, 0.0), (0.0, 1.0))
        (x, y), (dx, dy) = starts[quarter], ways[quarter]
        return Station((x + past * dx, y + past * dy), (dy, -dx))

    def pieces(self, breaks: Sequence[float] = ()) -> list[tuple[float, float]]:
        """The way cut at every change from straight to corner and at `breaks`; each piece is one or the other."""
        marks = sorted({round(m, 9) for m in (*self.bounds, *(b % self.whole for b in breaks))})
        return [(a, b) for a, b in zip(marks, marks[1:], strict=False) if b - a > 1e-6]

    def place(self, s: float, point: Plane2) -> tuple[float, float, float]:
        """A point (u, z) of the section at `s`, in the hatch's own axes."""
        return self.station(s).place(point)


def wire(ring: Ring, s: float, section: Section) -> cq.Wire:
    """A closed section as a wire, standing at `s`."""
    import cadquery as cq

    station = ring.station(s)

    def at(point: Plane2) -> cq.Vector:
        return cq.Vector(*station.place(point))

    return cq.Wire.assembleEdges(
        [
            cq.Edge.makeLine(at(e.start), at(e.end))
            if isinstance(e, Line)
            else cq.Edge.makeThreePointArc(at(e.start), at(e.middle), at(e.end))
            for e in section
        ]
    )


def sweep(
    ring: Ring,
    section: Callable[[float], Section],
    *,
    breaks: Sequence[float] = (),
    span: tuple[float, float] | None = None,
) -> Shaped:
    """A closed solid whose section at `s` is `section(s)`; all sections have the same edges in the same order.

    Along straights the loft is ruled, round corners it is smooth through 9 sections. `breaks`: where the section's
    change along the way has a kink. `span`: only that stretch, its ends closed with the roles start and end. Raises
    GeometryError when the faces do not close.
    """
    pieces = ring.pieces(breaks) if span is None else _within(ring.pieces((*breaks, *span)), span, ring.whole)
    lofted: list[tuple[str, Any]] = []
    for low, high in pieces:
        lofted += _loft(ring, section, low, high)
    if span is not None:
        lofted += [("start", _cap(ring, pieces[0][0], section)), ("end", _cap(ring, pieces[-1][1], section))]
    return _sewn(lofted)


def _within(
    pieces: Sequence[tuple[float, float]], span: tuple[float, float], whole: float
) -> list[tuple[float, float]]:
    """Pieces from span's start to its end, going on over the whole way's end where the span does."""
    low, high = span
    shifted = [(a + k * whole, b + k * whole) for k in (0, 1) for a, b in pieces]
    return [(a, b) for a, b in shifted if a >= low - 1e-6 and b <= high + 1e-6]


def _loft(ring: Ring, section: Callable[[float], Section], low: float, high: float) -> list[tuple[str, Any]]:
    """The side faces of one piece, each with its edge's role."""
    from OCP.BRepOffsetAPI import BRepOffsetAPI_ThruSections

    corner = ring.is_corner(((low + high) / 2) % ring.whole)
    count = SECTIONS if corner else 2
    builder = BRepOffsetAPI_ThruSections(False, not corner, 1e-6)
    builder.CheckCompatibility(False)  # all sections are built alike; matching them anew would twist the loft
    first = None
    for k in range(count):
        s = low + (high - low) * k / (count - 1)
        one = wire(ring, s if s < ring.whole else s, section(s))
        first = first or one
        builder.AddWire(one.wrapped)
    builder.Build()
    if not builder.IsDone() or first is None:
        raise GeometryError("the kernel refused a loft round a hatch")
    names = [edge.role for edge in section(low)]
    import cadquery as cq

    edges = [cq.Edge(e.wrapped) for e in _ordered(first, ring, low, section(low))]
    return [(name, builder.GeneratedFace(edge.wrapped)) for name, edge in zip(names, edges, strict=True)]


def _ordered(made: cq.Wire, ring: Ring, s: float, section: Section) -> list[cq.Edge]:
    """The wire's own edges in the section's order, found by their middles."""
    import cadquery as cq

    station, found = ring.station(s), []
    own = [(edge, edge.positionAt(0.5)) for edge in made.Edges()]
    for edge in section:
        if isinstance(edge, Arc):
            middle = edge.middle
        else:
            middle = ((edge.start[0] + edge.end[0]) / 2, (edge.start[1] + edge.end[1]) / 2)
        spot = cq.Vector(*station.place(middle))
        found.append(min(own, key=lambda each: (each[1] - spot).Length)[0])  # noqa: B023
    return found


def _cap(ring: Ring, s: float, section: Callable[[float], Section]) -> Any:
    import cadquery as cq

    return cq.Face.makeFromWires(wire(ring, s, section(s))).wrapped


def _sewn(lofted: Sequence[tuple[str, Any]]) -> Shaped:
    """Faces sewn into a solid; roles follow."""
    import cadquery as cq
    from OCP.BRepBuilderAPI import BRepBuilderAPI_Sewing

    sewing = BRepBuilderAPI_Sewing(1e-5)
    for _, face in lofted:
        sewing.Add(face)
    sewing.Perform()
    shells = cq.Shape.cast(sewing.SewedShape()).Shells()
    if len(shells) != 1 or sewing.NbFreeEdges():
        raise GeometryError(f"a loft round a hatch did not close: {sewing.NbFreeEdges()} free edges")
    solid = cq.Solid.makeSolid(shells[0])  # which turns the shell outward
    own: dict[cq.Shape, cq.Face] = {face: face for face in solid.Faces()}
    roles: dict[str, tuple[cq.Face, ...]] = {}
    for name, face in lofted:
        key = cq.Shape(sewing.ModifiedSubShape(face))
        if name and key in own:
            roles[name] = (*roles.get(name, ()), own[key])
    return Shaped(solid, roles)
