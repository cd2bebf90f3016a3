"""All bodies of one plan and what stands where, by name: the one thing that checks, cutting and reports read.

In       (filled by assemble(), which calls the shapers part by part)
Out      Assembly: bodies, stands (a cylinder in its seat or chocks), rooms (lockers), chains.
Not here any size: each shaper decides its own.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from moldplan.errors import GeometryError, Path
from moldplan.shape.body import Body, Frame, Vector
from moldplan.shape.chain import Chain
from moldplan.spec.model import Cylinder


@dataclass(frozen=True, kw_only=True)
class Opening:
    """A lid's clear opening: a rounded rectangle in a level plane (boat axes, mm)."""

    centre: tuple[float, float]
    size: tuple[float, float]
    corner_radius: float
    underside: float


@dataclass(frozen=True, kw_only=True)
class Room:
    """A locker's clear inside: finished walls as a box, boat axes [mm]; its sole as a plane; its opening."""

    name: str
    path: Path
    low: Vector
    high: Vector
    sole: Frame  # origin on the sole at the middle of the box, z = the sole's upward normal
    opening: Opening | None
    walls: tuple[str, ...]  # names of the bodies of kind "surroundings"


@dataclass(frozen=True, kw_only=True)
class Stand:
    """One cylinder where it belongs.

    `frame`: origin where the cylinder's axis meets what it stands on (its own z = 0), z along its axis towards the
    valve. `hosts`: bodies whose faces hold it (the block's part, or the ribs' parts), whose roles are led by
    `roles`: "<roles> floor", "<roles> fillet", "<roles> wall", "<roles> rim", "<roles> limber" on a seat,
    "<roles> arc", "<roles> edge" on a rib. `paint` lies on those faces, outside the solids; F = M moved by it.
    `tools`: the discs of its insert, lowest first, with the roles "molding floor", "molding fillet", "molding wall".
    """

    name: str
    path: Path
    kind: Literal["seat", "chock"]
    cylinder: Cylinder
    cylinder_name: str
    alternatives: Mapping[str, Cylinder]
    frame: Frame
    hosts: tuple[str, ...]
    roles: str
    paint: float
    liner: float
    body: str
    envelope: str | None
    tools: tuple[str, ...] = ()
    straps: tuple[str, ...] = ()
    room: str | None = None
    hand: str | None = None

    @property
    def pull(self) -> Vector:
        """The way the part leaves its mold insert: away from the mouth of the recess."""
        return (-self.frame.z[0], -self.frame.z[1], -self.frame.z[2])


@dataclass(frozen=True, kw_only=True)
class Assembly:
    """Every body of one plan by name, in the order of making."""

    bodies: Mapping[str, Body]
    stands: tuple[Stand, ...]
    rooms: Mapping[str, Room] = field(default_factory=dict)
    chains: tuple[Chain, ...] = ()
    cautions: tuple[str, ...] = ()

    def body(self, name: str) -> Body:
        if name not in self.bodies:
            raise GeometryError(f"no body is called {name!r}")
        return self.bodies[name]

    def of_kind(self, *kinds: str) -> tuple[Body, ...]:
        return tuple(body for body in self.bodies.values() if body.kind in kinds)
