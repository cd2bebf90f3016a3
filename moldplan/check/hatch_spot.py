"""One hatch as the checks see it: its bodies, and the levels and offsets that its finished faces really have.

In       Assembly, HatchPlace, Spec.
Out      MadeHatch: levels of faces, walls as planes, the opening and rims as rounded rectangles, all in own axes [mm].
         HatchSpot: the same with its spec.
Not here the sums that the shapers made them by (shape/hatch.py), judging.

Own axes: origin at the middle of the opening on the finished sole, x along its length, z up. F lies `paint` outside
the molded and bare faces. Everything here is read off faces of the solids: a slip of the shaper shows.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from moldplan.check.incline import dot, middle, normal_at
from moldplan.check.limits import value_at
from moldplan.errors import GeometryError, Path
from moldplan.shape.assembly import Assembly, HatchPlace, SolePlace
from moldplan.shape.body import Body, Vector
from moldplan.spec.model import Spec

if TYPE_CHECKING:
    import cadquery as cq

WAYS: dict[str, tuple[int, float]] = {"forward": (0, 1.0), "aft": (0, -1.0), "port": (1, 1.0), "starboard": (1, -1.0)}
SEAM = 1e-4  # mm off the middle of a side, for an edge that lies across it


@dataclass(frozen=True)
class Wall:
    """The straight face of one side, as a plane in own axes: a point on it and its normal out of the solid; on a side
    that is all corner, the plane that touches it in its middle."""

    axis: int
    sign: float
    point: Vector
    normal: Vector

    def off(self, level: float, paint: float = 0.0) -> float:
        """How far from the hatch's middle it lies at a level (z, negative below the sole), under a coat [mm]."""
        reach = paint - self.normal[2] * (level - self.point[2])
        return self.sign * (self.point[self.axis] + reach / self.normal[self.axis])

    @property
    def draft(self) -> float:
        """Angle to the hatch's own vertical [deg], whichever way it leans."""
        return math.degrees(math.asin(min(1.0, abs(self.normal[2]))))


@dataclass(frozen=True)
class Rounded:
    """A rounded rectangle about the hatch's middle: half its sizes, and its corner radius [mm]."""

    half: tuple[float, float]
    radius: float

    @property
    def inner(self) -> tuple[float, float]:
        """Half sizes of the rectangle its corners' middles make."""
        return self.half[0] - self.radius, self.half[1] - self.radius

    @property
    def diagonal(self) -> float:
        """From corner to corner, between the middles of their roundings."""
        return 2 * (math.hypot(*self.inner) + self.radius)

    def point(self, share: float) -> tuple[float, float]:
        """A point at a share of the way round, forward first, towards port; corners count like sides do."""
        turn = 2 * math.pi * share
        (a, b), r = self.inner, self.radius
        x, y = math.cos(turn), math.sin(turn)
        return math.copysign(a, x) * (abs(x) > 1e-9) + r * x, math.copysign(b, y) * (abs(y) > 1e-9) + r * y


@dataclass(frozen=True)
class MadeHatch:
    """A hatch with its bodies, and what is measured on them."""

    assembly: Assembly
    place: HatchPlace

    @property
    def name(self) -> str:
        return self.place.name

    @property
    def path(self) -> Path:
        return self.place.path

    @property
    def paint(self) -> float:
        return self.place.paint

    @property
    def sole(self) -> SolePlace:
        return next(s for s in self.assembly.soles if s.name == self.place.sole)

    @property
    def molding(self) -> Body:
        return self.assembly.body(self.place.molding)

    @property
    def lid(self) -> Body:
        return self.assembly.body(self.place.lid)

    @property
    def tools(self) -> tuple[Body, ...]:
        return tuple(self.assembly.body(name) for name in self.place.mold)

    @property
    def release(self) -> Vector:
        """The way the part leaves its mold: down, away from the table it was made upside down on."""
        x, y, z = self.place.frame.z
        return (-x, -y, -z)

    def own(self, point: Vector) -> Vector:
        """A point in boat axes, in the hatch's own."""
        frame = self.place.frame
        away = tuple(p - o for p, o in zip(point, frame.origin, strict=True))
        return tuple(sum(a * b for a, b in zip(away, axis, strict=True))
                     for axis in (frame.x, frame.y, frame.z))  # type: ignore[return-value]

    def own_way(self, way: Vector) -> Vector:
        """A direction in boat axes, in the hatch's own."""
        frame = self.place.frame
        return dot(way, frame.x), dot(way, frame.y), dot(way, frame.z)

    def seen(self, face: cq.Face) -> tuple[Vector, Vector]:
        """Middle of a face and its normal out of the solid, own axes."""
        point, normal = normal_at(face, *middle(face))
        return self.own(point), self.own_way(normal)

    def level(self, body: Body, role: str) -> float:
        """z of the highest level face of a role, own axes [mm]; raises GeometryError when none lies level."""
        found = [point[2] for point, normal in map(self.seen, body.faces(role)) if abs(normal[2]) > 1 - 1e-6]
        if not found:
            raise GeometryError(f"{body.name}: no face with the role {role!r} lies level")
        return max(found)

    def walls(self, body: Body, role: str, *, outward: bool) -> dict[str, Wall]:
        """The straight faces of a role, one a side; `outward`: those that look away from the hatch's middle.

        On a side that is all corner, as of a round hatch, the plane that touches the faces where its corners meet.
        """
        found: dict[str, tuple[float, Wall]] = {}
        for face in body.faces(role):
            point, normal = self.seen(face)
            flat = math.hypot(normal[0], normal[1])
            for side, (axis, sign) in WAYS.items():
                if flat < 1e-9 or normal[axis] * sign * (1 if outward else -1) < (1 - 1e-7) * flat:
                    continue
                if point[axis] * sign > 0 and face.Area() > found.get(side, (0.0,))[0]:
                    found[side] = (face.Area(), Wall(axis, sign, point, normal))
        for side in WAYS:
            if side not in found:
                found[side] = (0.0, self._touching(body, role, side, outward=outward))
        return {side: found[side][1] for side in WAYS}

    def _touching(self, body: Body, role: str, side: str, *, outward: bool) -> Wall:
        """The plane that touches a role's faces where two corners meet in the middle of a side."""
        import cadquery as cq

        axis, sign = WAYS[side]
        along = cq.Vector(float(axis), float(1 - axis), 0.0)
        seams = [(edge.Length(), face, edge) for face in body.faces(role)
                 for edge in self.seams([face], axis, sign)]
        for _, face, edge in sorted(seams, key=lambda each: -each[0]):
            point, seen = edge.positionAt(0.5), self.own_way(face.normalAt(edge.positionAt(0.5)).toTuple())
            ends = [cq.Vector(*self.own(edge.positionAt(k).toTuple())) for k in (0, 1)]
            normal = (ends[1] - ends[0]).cross(along).normalized()
            normal = normal if dot(normal.toTuple(), seen) > 0 else -normal
            if normal.toTuple()[axis] * sign * (1 if outward else -1) > 0:
                return Wall(axis, sign, self.own(point.toTuple()), normal.toTuple())
        raise GeometryError(f"{body.name}: {role} has no straight face on the {side} side, and no corners meet there")

    def seams(self, faces: Iterable[cq.Face], axis: int, sign: float) -> list[cq.Edge]:
        """Edges of faces that lie across the middle of a side, where two corners meet."""
        found = []
        for face in faces:
            for edge in face.Edges():
                ends = [self.own(edge.positionAt(k).toTuple()) for k in (0.0, 0.5, 1.0)]
                if all(abs(p[1 - axis]) < SEAM and p[axis] * sign > 0 for p in ends):
                    found.append(edge)
        return found

    @cached_property
    def landing(self) -> float:
        """Depth of the finished landing below the sole's surface [mm]."""
        return -self.level(self.molding, "landing") - self.paint

    @cached_property
    def lid_top(self) -> float:
        """z of the closed lid's finished top where it is drawn [mm]."""
        return self.level(self.lid, "top") + self.paint

    @cached_property
    def lid_under(self) -> float:
        """z of the closed lid's finished underside where it is drawn [mm]."""
        return self.level(self.lid, "underside") - self.paint

    @property
    def thick(self) -> float:
        """Finished thickness of the lid [mm]."""
        return self.lid_top - self.lid_under

    @cached_property
    def rests(self) -> float:
        """What the closed lid rests on: the gasket as squeezed by plan, or the stop where that stands higher [mm]."""
        gasket = self.place.hatch.lid.gasket
        return max(gasket.free * (1 - gasket.squeeze), gasket.stop or 0.0)

    @cached_property
    def outer(self) -> dict[str, Wall]:
        """Outer walls of the gutter, molded."""
        return self.walls(self.molding, "outer wall", outward=False)

    @cached_property
    def inner(self) -> dict[str, Wall]:
        """Inner walls of the gutter, molded."""
        return self.walls(self.molding, "inner wall", outward=True)

    @cached_property
    def lid_edge(self) -> dict[str, Wall]:
        """Edges of the lid, bare."""
        return self.walls(self.lid, "side", outward=True)

    @cached_property
    def opening(self) -> Rounded:
        """The finished clear opening, from the molding's innermost faces."""
        wall = "under upstand" if self.molding.shaped.roles.get("under upstand") else "opening edge"
        found = self._rounded(self.molding, wall)
        return Rounded((found.half[0] - self.paint, found.half[1] - self.paint), found.radius - self.paint)

    @cached_property
    def flange(self) -> Rounded:
        """The outer edge of the bond flange."""
        return self._rounded(self.molding, "flange edge")

    @cached_property
    def rebate(self) -> Rounded:
        """The finished outer wall of the gutter, carried up to the sole's surface."""
        low, high = self.outer["aft"], self.outer["forward"]
        half = ((high.off(0.0, self.paint) + low.off(0.0, self.paint)) / 2,
                (self.outer["port"].off(0.0, self.paint) + self.outer["starboard"].off(0.0, self.paint)) / 2)
        return Rounded(half, half[0] - self.flange.inner[0])

    def _rounded(self, body: Body, role: str) -> Rounded:
        """Where a role's straight faces come nearest to the middle, and where they end in their corners."""
        half, ends = [math.inf, math.inf], [0.0, 0.0]
        for face in body.faces(role):
            _, normal = self.seen(face)
            for k in (0, 1):
                if abs(normal[k]) < (1 - 1e-7) * math.hypot(normal[0], normal[1]):
                    continue
                points = [self.own(v.toTuple()) for v in face.Vertices()]
                half[k] = min(half[k], *(abs(p[k]) for p in points))
                ends[1 - k] = max(ends[1 - k], *(abs(p[1 - k]) for p in points))
        for k in (0, 1):
            if half[k] == math.inf:  # all corner
                ends_of = [edge.positionAt(end) for sign in (1.0, -1.0)
                           for edge in self.seams(body.faces(role), k, sign) for end in (0, 1)]
                half[k] = min((abs(self.own(p.toTuple())[k]) for p in ends_of), default=math.inf)
        if math.inf in half:
            raise GeometryError(f"{body.name}: {role} has no straight face on every side")
        return Rounded((half[0], half[1]), half[0] - ends[0])

    def at(self, point: Vector) -> dict[str, float]:
        """A point in own axes as a finding's `at`."""
        spot = self.place.frame.place(point)
        return {axis: round(value, 3) for axis, value in zip("xyz", spot, strict=True)}


@dataclass(frozen=True)
class HatchSpot(MadeHatch):
    """A hatch as the checks judge it, with the spec's own limits and words."""

    spec: Spec

    def value(self, *steps: str | int) -> Any:
        """What the spec says at a field of this hatch."""
        return value_at(self.spec, (*self.path, *steps))


def spots(assembly: Assembly, spec: Spec) -> tuple[HatchSpot, ...]:
    """Every hatch of a plan, in its order."""
    return tuple(HatchSpot(assembly, place, spec) for place in assembly.hatches)
