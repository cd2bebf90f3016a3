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
from moldplan.shape.drain import DrainPlace, VentPlace
from moldplan.shape.hatch import Levels, Offsets, Runs
from moldplan.shape.sole import Surface
from moldplan.spec.model import Cylinder
from moldplan.spec.sole import Hatch, SolePlan


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
    `tools`: the discs of its insert, lowest first, with the roles "molding floor", "molding fillet", "molding wall"; of
    one that is built of frames the covered whole, and in `frames` what it is built of, in the order of setting up.
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
    frames: tuple[str, ...] = ()
    straps: tuple[str, ...] = ()
    room: str | None = None
    hand: str | None = None

    @property
    def pull(self) -> Vector:
        """The way the part leaves its mold insert: away from the mouth of the recess."""
        return (-self.frame.z[0], -self.frame.z[1], -self.frame.z[2])


@dataclass(frozen=True, kw_only=True)
class HatchPlace:
    """One hatch where it lies. `frame`: origin at the middle of its opening on the finished sole, x along its length,
    z the sole's normal there. `levels`, `offsets` and `runs` are the finished section sum; `start`: level of the bond
    flange. Bodies by name: `molding` (roles landing, inner wall, floor, outer wall, flange, their roots and edges, each
    also "under ...", "<drain> bore", "<drain> sump"), `lid`, `lid_core`, `gasket`, `tubes`; `mold`: the mold's pieces
    in the order they are set up (roles "molding ...", "on the table", "against ..."), each made of the `mold_sheets`
    of its name; `break_out`: the order they leave in, groups together; `screws`: where each is screwed to the table,
    in own plan. `paint` lies on the finished faces.
    """

    name: str
    path: Path
    sole: str
    hatch: Hatch
    frame: Frame
    levels: Levels
    offsets: Offsets
    runs: Runs
    start: float
    paint: float
    skin: float
    molding: str
    lid: str
    lid_core: str
    gasket: str
    tubes: tuple[str, ...]
    mold: tuple[str, ...]
    mold_sheets: Mapping[str, tuple[str, ...]]
    break_out: tuple[tuple[str, ...], ...]
    screws: Mapping[str, tuple[tuple[float, float], ...]]
    hinge: tuple[tuple[float, float], tuple[float, float]] | None
    medium: float  # corner radius medium [mL]


@dataclass(frozen=True, kw_only=True)
class SolePlace:
    """One sole where it lies. `thickness`: core and both skins, bare. `below`: bodies under it by their spec names."""

    name: str
    path: Path
    sole: SolePlan
    surface: Surface
    bounds: tuple[float, float, float, float]
    thickness: float
    paint: float
    part: str
    core: str
    below: Mapping[str, str]
    plugs: tuple[str, ...]
    hatches: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Assembly:
    """Every body of one plan by name, in the order of making."""

    bodies: Mapping[str, Body]
    stands: tuple[Stand, ...]
    rooms: Mapping[str, Room] = field(default_factory=dict)
    chains: tuple[Chain, ...] = ()
    cautions: tuple[str, ...] = ()
    soles: tuple[SolePlace, ...] = ()
    hatches: tuple[HatchPlace, ...] = ()
    drains: tuple[DrainPlace, ...] = ()
    vents: tuple[VentPlace, ...] = ()

    def drain(self, name: str) -> DrainPlace:
        """The drain of a full name; raises GeometryError when there is none."""
        for one in self.drains:
            if one.name == name:
                return one
        raise GeometryError(f"no drain is called {name!r}")

    def body(self, name: str) -> Body:
        if name not in self.bodies:
            raise GeometryError(f"no body is called {name!r}")
        return self.bodies[name]

    def of_kind(self, *kinds: str) -> tuple[Body, ...]:
        return tuple(body for body in self.bodies.values() if body.kind in kinds)
