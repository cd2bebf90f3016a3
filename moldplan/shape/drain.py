"""Where drains, limbers and vents lie, and the line each way out takes.

In       the parts of a resolved spec that hold drains, and where they were placed.
Out      DrainPlace and VentPlace, boat axes [mm].
Not here bores and plugs as solids (hatch.py, cockpit.py, locker.py, cradle.py), falls and ponds (check/).

A line is the middle of the bore, from the rim on the finished floor down the tail, along the hose, to the outlet. A
drain of which no more is known has the rim and its tail alone.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from moldplan.errors import Path
from moldplan.shape.body import Frame, Vector
from moldplan.shape.hatch import Levels, Runs, drain_place, middle_of
from moldplan.spec.sole import Hatch
from moldplan.spec.water import Scupper, SoleDrain, WayOut

SAME = 1.0  # mm; a hose's first point so near the tail's end is that end
FLANGE_OVER = 20.0  # mm, a fitting's flange is that much wider than its bore when not given; ours
BESIDE = 10.0  # mm that a drain's flange keeps from a locker's wall; ours


@dataclass(frozen=True, kw_only=True)
class DrainPlace:
    """One way out. `space`: the hatch, sole, locker or seat it empties, by its full name.

    `rim`: middle of its rim on the finished floor, a flange proud of it included; `normal`: up from that floor;
    `flange`: across it; `line`: middles of the bore from the rim on; `narrowest`: least bore along it, as the spec
    says; `joins`: the drain, by its full name, that the line runs into.
    """

    name: str
    path: Path
    space: str
    kind: Literal["gutter drain", "scupper", "locker drain", "limber"]
    rim: Vector
    normal: Vector
    bore: float
    flange: float
    proud: float
    line: tuple[Vector, ...]
    outlet: Vector | None
    narrowest: float
    joins: str | None = None

    def handed(self, hand: str) -> DrainPlace:
        """The same under the names of one hand's bodies."""
        joins = f"{self.joins} ({hand})" if self.joins else None
        return replace(self, name=f"{self.name} ({hand})", space=f"{self.space} ({hand})", joins=joins)

    def mirrored(self, hand: str) -> DrainPlace:
        """Its mirror image about the centreline plane, under the names of that hand."""
        return replace(self.handed(hand), rim=_mirror(self.rim), normal=_mirror(self.normal),
                       line=tuple(map(_mirror, self.line)), outlet=self.outlet and _mirror(self.outlet))

    @property
    def known(self) -> bool:
        """Whether the line reaches an outlet or another drain."""
        return self.outlet is not None or self.joins is not None or self.kind == "limber"


@dataclass(frozen=True, kw_only=True)
class VentPlace:
    """A way in for air."""

    name: str
    path: Path
    space: str
    at: Vector
    bore: float
    outlet: Vector | None

    def mirrored(self, hand: str) -> VentPlace:
        """Its mirror image about the centreline plane, under the names of that hand."""
        return replace(self, name=f"{self.name} ({hand})", space=f"{self.space} ({hand})", at=_mirror(self.at),
                       outlet=self.outlet and _mirror(self.outlet))


def _mirror(point: Vector) -> Vector:
    return point[0], -point[1], point[2]


def _line(rim: Vector, tail: Vector, way: WayOut) -> tuple[Vector, ...]:
    """Rim, tail's end, hose, outlet; points that coincide stand once."""
    points = [rim, tail, *(way.hose or ()), *((way.outlet,) if way.outlet else ())]
    kept = points[:1]
    for point in points[1:]:
        if math.dist(point, kept[-1]) > SAME:
            kept.append(point)
    return tuple(kept)


def _narrowest(bore: float, way: WayOut) -> float:
    return min(b for b in (bore, way.hose_bore, way.narrowest) if b is not None)


def _down(point: Vector, normal: Vector, by: float) -> Vector:
    return (point[0] - by * normal[0], point[1] - by * normal[1], point[2] - by * normal[2])


def flange_of(drain: SoleDrain) -> float:
    """Across a fitting's flange [mm]."""
    return drain.bore + FLANGE_OVER if drain.flange is None else drain.flange


def of_hatch(full: str, path: Path, hatch: Hatch, frame: Frame, levels: Levels, runs: Runs, *,
             under: float) -> list[DrainPlace]:
    """Drains in one gutter; `under`: from the finished floor down to the molding's underside, where tails begin."""
    found = []
    for name, one in hatch.drains.items():
        x, y = middle_of(runs, drain_place(runs.ring, hatch, one))
        rim = frame.place((x, y, -levels.drain - one.sump))
        found.append(DrainPlace(
            name=f"{full}.{name}", path=(*path, "drains", name), space=full, kind="gutter drain", rim=rim,
            normal=frame.z, bore=one.bore, flange=one.flange, proud=0.0,
            line=_line(rim, _down(rim, frame.z, under + one.spigot), one), outlet=one.outlet,
            narrowest=_narrowest(one.bore, one), joins=one.joins))
    return found


def of_floor(name: str, path: Path, one: SoleDrain, *, space: str, at: Frame, thickness: float = 0.0) -> DrainPlace:
    """A drain through a cockpit's or a locker's sole; `at`: that sole's frame at its middle, `thickness`: of what its
    tail passes before it is to be seen."""
    rim = _down(at.origin, at.z, -one.proud)
    return DrainPlace(
        name=name, path=path, space=space, kind="scupper" if isinstance(one, Scupper) else "locker drain", rim=rim,
        normal=at.z, bore=one.bore, flange=flange_of(one), proud=one.proud,
        line=_line(rim, _down(at.origin, at.z, thickness + one.tail), one), outlet=one.outlet,
        narrowest=_narrowest(one.bore, one), joins=one.joins)


def limber(full: str, path: Path, ends: Sequence[Vector], *, bore: float, number: int, up: Vector) -> DrainPlace:
    """A seat's limber, from its mouth in the floor to the block's side; `ends`: middles of its bore."""
    return DrainPlace(
        name=f"{full}.limber" if number == 1 else f"{full}.limber {number}", path=(*path, "limber"), space=full,
        kind="limber", rim=_down(ends[0], up, bore / 2), normal=up, bore=bore, flange=bore, proud=0.0,
        line=tuple(ends), outlet=None, narrowest=bore)
