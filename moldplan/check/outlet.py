"""An outlet on the hull: how high over the water, when it goes under, what it is near to, and its least bore.

In       the middle of an outlet, the drain it serves, boxes and points to keep clear of [mm, boat axes]; attitudes.
Out      heights [mm] at rest and least through a box, immersion angles [deg], distances, how far below its floor, the
         narrowest place of a path, which drains share a line.
Not here the limits (handbook/), where an outlet could go instead (outlet_place.py).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from moldplan.attitude import (
    AttitudeError,
    Extreme,
    Vector,
    Waterline,
    Where,
    as_box,
    immersion_angle,
    least_along_up,
    least_height,
)

Box = tuple[Vector, Vector]
Kind = Literal["opening", "ignition"]


@dataclass(frozen=True, kw_only=True)
class Stands:
    """How an outlet stands to the water; `rim` below its middle is counted in, so that its lowest edge is meant.

    `rest` and `least` heights [mm] above still water; `port` and `starboard`: heel [deg] at which it first goes under
    to that side, at the worst trim of the box, None for not before 90; `under`: it goes under within the box.
    """

    rest: float
    least: Extreme
    port: float | None
    starboard: float | None
    under: bool

    @property
    def first(self) -> float | None:
        """The lesser of both immersion angles [deg]."""
        return min((angle for angle in (self.port, self.starboard) if angle is not None), default=None)


@dataclass(frozen=True, kw_only=True)
class Near:
    """What an outlet is near to, and how far it is [mm], from its rim."""

    name: str
    kind: Kind
    distance: float


def stands(outlet: Vector, waterline: Waterline, where: Where, *, rim: float = 0.0) -> Stands:
    """Heights and immersion of an outlet whose lowest edge lies `rim` [mm] under its middle."""
    box, low = as_box(where), (outlet[0], outlet[1], outlet[2] - rim)
    least = least_height(low, waterline, box)
    return Stands(rest=waterline.height_above(low), least=least, under=least.value < 0,
                  port=immersion_angle(low, waterline, "port", trim=box.trim),
                  starboard=immersion_angle(low, waterline, "starboard", trim=box.trim))


def distance_to_box(p: Vector, box: Box) -> float:
    """From a point to the nearest of a box with edges along the axes [mm], exact; 0 inside. Corners in any order."""
    return math.hypot(*(max(min(a, b) - c, c - max(a, b), 0.0) for c, a, b in zip(p, *box, strict=True)))


def nearby(outlet: Vector, openings: Mapping[str, Box], ignition: Mapping[str, Vector], *, rim: float = 0.0
           ) -> tuple[Near, ...]:
    """Every named opening and ignition point, nearest first.

    `rim` [mm], half the outlet's bore, is taken off: the rim may turn any way, so that the distance is never overrated.
    """
    found = [Near(name=name, kind="opening", distance=max(distance_to_box(outlet, box) - rim, 0.0))
             for name, box in openings.items()]
    found += [Near(name=name, kind="ignition", distance=max(math.dist(outlet, at) - rim, 0.0))
              for name, at in ignition.items()]
    return tuple(sorted(found, key=lambda near: (near.distance, near.name)))


def below_floor(floor: Vector, outlet: Vector, where: Where) -> Extreme:
    """How far an outlet lies below the floor it drains [mm], least over a box, exactly; negative: above it."""
    return least_along_up((floor[0] - outlet[0], floor[1] - outlet[1], floor[2] - outlet[2]), where)


def narrowest(path: Sequence[tuple[str, float]]) -> tuple[str, float]:
    """The first of the narrowest places of a path given as (what it is, clear bore [mm]), tails and valves included.

    AttitudeError for an empty path, or a bore that is not above 0 (NaN too).
    """
    if not path:
        raise AttitudeError("a path of no pieces has no bore")
    for what, bore in path:
        if not 0 < bore < math.inf:
            raise AttitudeError(f"{what}: a bore of {bore:g} mm")
    return min(path, key=lambda piece: piece[1])


def round_bore(area: float) -> float:
    """The bore [mm] of a round opening of the same area [mm2]: how an opening that is not round is held to a bore."""
    if not 0 <= area < math.inf:
        raise AttitudeError(f"an opening of {area:g} mm2")
    return math.sqrt(4 * area / math.pi)


def sharing(joins: Mapping[str, str | None]) -> dict[str, tuple[str, ...]]:
    """For each drain the others whose water runs through the same outlet, in their order; () means a line of its own.

    `joins`: drain to the drain whose hose it runs into, None for an own outlet. AttitudeError for a drain that joins
    none there is, or itself by a round.
    """
    ends: dict[str, str] = {}
    for name in joins:
        here, seen = name, {name}
        while (onward := joins[here]) is not None:
            if onward not in joins or onward in seen:
                raise AttitudeError(f"{here} joins {onward}, which {'comes back' if onward in seen else 'is no drain'}")
            here = onward
            seen.add(here)
        ends[name] = here
    return {name: tuple(other for other in joins if other != name and ends[other] == ends[name]) for name in joins}
