"""Does a closed run, a hose or pipe of several legs, fall to its outlet at every attitude, and what does it hold back?

In       the middles of its bore in order, drain first, outlet last [mm, boat axes]; attitudes; its bore [mm].
Out      the least fall of each leg over a box and where, its profile at an attitude, its dips with the water they hold,
         the deepest pocket over the box, how far still water comes up it.
Not here what the fall is held against, levels that would cure it (fall_level.py).

Two ways. Outward: what comes from the drain must find every leg falling. Inward: water that came up the outlet in a
seaway must run out the way it came, so that no place may lie lower than one that stands between it and the outlet.
Legs that all fall at an attitude hold nothing back there, either way; where one does not, the pocket says how deep.
The deepest pocket is the most, over pairs of points (low, later crest) and over the box, of u . (crest - low): exact.
Still water outside is what is compared: a wave's run-up comes on top.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from moldplan.attitude import (
    REST,
    Attitude,
    AttitudeError,
    Extreme,
    Vector,
    Waterline,
    Where,
    dot,
    least_fall,
    least_height,
    most_along_up,
    up,
)

SAME = 1e-6  # mm, points nearer than that are one
SLICES = 64  # per leg, for the volume of a dip (Simpson)


@dataclass(frozen=True, kw_only=True)
class Leg:
    """One straight stretch towards the outlet: from point `index` to the next, and its least fall [deg] over a box."""

    index: int
    start: Vector
    end: Vector
    length: float
    least: Extreme


class Station(NamedTuple):
    """One point of a profile: how far along the hose from the drain, and how high [mm]."""

    along: float
    height: float


@dataclass(frozen=True, kw_only=True)
class Dip:
    """A low place with a crest between it and the outlet, at one attitude.

    `depth` [mm] of the water left over the lowest place, full to the crest; `litres` in the bore. `sealed`: the water
    stands over the whole bore, so that no gas passes. `over_drain` [mm]: how high the crest stands over the drain; when
    above 0 the space itself is under that much before anything runs out.
    """

    index: int
    at: Vector
    crest: int
    depth: float
    sealed: bool
    litres: float
    over_drain: float


@dataclass(frozen=True, kw_only=True)
class Pocket:
    """The deepest that a box makes of any dip: low point, the later crest that holds it, depth [mm] and where."""

    low: int
    crest: int
    depth: Extreme


@dataclass(frozen=True, kw_only=True)
class Backflow:
    """How far still water comes up a hose within a box.

    `length` [mm] from the outlet to the last wet place (0: the outlet stays clear, or touches); `outlet` and `drain`:
    their least heights above the water [mm]. `enters`: the water stands over the drain too, and comes into the space.
    """

    length: float
    outlet: Extreme
    drain: Extreme
    enters: bool


def joined(*pieces: Sequence[Vector]) -> tuple[Vector, ...]:
    """Pieces of one run end to end; points that repeat the one before are dropped."""
    found: list[Vector] = []
    for point in (p for piece in pieces for p in piece):
        if not found or math.dist(found[-1], point) > SAME:
            found.append(point)
    return tuple(found)


def leg_falls(points: Sequence[Vector], where: Where) -> tuple[Leg, ...]:
    """Every leg with its least fall over a box, exactly. AttitudeError for fewer than two points or a leg of none."""
    _refuse(points)
    return tuple(
        Leg(index=k, start=a, end=b, length=math.dist(a, b), least=least_fall(_way(a, b), where))
        for k, (a, b) in enumerate(zip(points, points[1:], strict=False)))


def worst_leg(points: Sequence[Vector], where: Where) -> Leg:
    """The leg that falls least over a box; the one nearest the drain of equals."""
    return min(leg_falls(points, where), key=lambda leg: leg.least.value)


def profile(points: Sequence[Vector], attitude: Attitude = REST, waterline: Waterline | None = None
            ) -> tuple[Station, ...]:
    """Height against length along the hose, at an attitude: above the water, or above the outlet without one."""
    _refuse(points)
    u, end = up(attitude), points[-1]
    along, found = 0.0, []
    for k, point in enumerate(points):
        along += math.dist(points[k - 1], point) if k else 0.0
        height = dot(u, _way(end, point)) if waterline is None else waterline.height_above(point, attitude)
        found.append(Station(along, height))
    return tuple(found)


def dips(points: Sequence[Vector], attitude: Attitude = REST, *, bore: float) -> tuple[Dip, ...]:
    """The low places that hold water (and seal off gas) at an attitude, from the drain on.

    The water's own level is the highest bore floor still to come; between two dips it is one pool where it covers the
    rise that parts them, and then only the deeper place is named. AttitudeError for a bore that is not above 0.
    """
    _refuse(points)
    if not 0 < bore < math.inf:
        raise AttitudeError(f"a bore of {bore:g} mm")
    heights = [station.height for station in profile(points, attitude)]
    crests = [max(range(k, len(points)), key=lambda j: (heights[j], -j)) for k in range(len(points))]
    found, k = [], 0
    while k < len(points) - 1:
        crest = crests[k]
        if heights[crest] - heights[k] <= SAME:
            k += 1
            continue
        low = min(range(k, crest), key=lambda j: heights[j])
        depth = heights[crest] - heights[low]
        found.append(Dip(index=low, at=points[low], crest=crest, depth=depth, sealed=depth >= bore,
                         litres=_held(points, heights, (max(k - 1, 0), crest), heights[crest], bore / 2) / 1e6,
                         over_drain=heights[crest] - heights[0]))
        k = crest
    return tuple(found)


def deepest_pocket(points: Sequence[Vector], where: Where) -> Pocket:
    """The most that any later point rises over an earlier one, over a box [mm]; below 0 there is no pocket at all."""
    _refuse(points)
    every = ((low, crest, most_along_up(_way(points[low], points[crest]), where))
             for low in range(len(points)) for crest in range(low + 1, len(points)))
    low, crest, depth = max(every, key=lambda found: found[2].value)
    return Pocket(low=low, crest=crest, depth=depth)


def backflow(points: Sequence[Vector], waterline: Waterline, where: Where) -> Backflow:
    """How far up from its outlet a hose is ever under still water, within a box.

    The least height over a box is a concave function of place, so that a leg from a wet to a dry point is crossed
    once: found by halving, to a micron.
    """
    _refuse(points)
    heights = [least_height(p, waterline, where) for p in points]
    length = 0.0
    for k in range(len(points) - 1, 0, -1):
        if heights[k].value >= 0:
            break
        leg = math.dist(points[k], points[k - 1])
        if heights[k - 1].value >= 0:
            length += leg * _wet_share(points[k], points[k - 1], waterline, where)
            break
        length += leg
    return Backflow(length=length, outlet=heights[-1], drain=heights[0], enters=heights[0].value < 0)


def _wet_share(wet: Vector, dry: Vector, waterline: Waterline, where: Where) -> float:
    """The share of a leg, from its wet end, that is ever under water."""
    low, high, size = 0.0, 1.0, math.dist(wet, dry)
    while (high - low) * size > 1e-3:
        half = (low + high) / 2
        place = tuple(a + half * (b - a) for a, b in zip(wet, dry, strict=True))
        low, high = (half, high) if least_height(place, waterline, where).value < 0 else (low, half)  # type: ignore[arg-type]
    return low


def _held(points: Sequence[Vector], heights: Sequence[float], span: tuple[int, int], crest: float, radius: float
          ) -> float:
    """Water [mm3] in a round bore over the points of `span`, up to the floor of the bore at the crest.

    At a crest a bent hose lies level, so its floor is one radius below its middle. Sections square to each leg.
    """
    total = 0.0
    for k in range(*span):
        size = math.dist(points[k], points[k + 1])
        level = math.sqrt(max(size**2 - (heights[k + 1] - heights[k]) ** 2, 0.0)) / size  # cosine of the leg's fall
        areas = []
        for i in range(SLICES + 1):
            middle = heights[k] + (heights[k + 1] - heights[k]) * i / SLICES
            areas.append(_wet_area(crest - radius - middle, level, radius))
        total += size / SLICES / 3 * (areas[0] + areas[-1] + 4 * sum(areas[1:-1:2]) + 2 * sum(areas[2:-1:2]))
    return total


def _wet_area(over: float, level: float, radius: float) -> float:
    """Area [mm2] of a round section below a water level that stands `over` above its middle."""
    share = over / (radius * level) if level > 1e-9 else math.copysign(2.0, over)
    if share <= -1:
        return 0.0
    if share >= 1:
        return math.pi * radius**2
    return radius**2 * (math.acos(-share) + share * math.sqrt(1 - share**2))


def _way(a: Vector, b: Vector) -> Vector:
    return b[0] - a[0], b[1] - a[1], b[2] - a[2]


def _refuse(points: Sequence[Vector]) -> None:
    if len(points) < 2:
        raise AttitudeError(f"a hose of {len(points)} points, at least 2: where it starts and where it ends")
    for k, (a, b) in enumerate(zip(points, points[1:], strict=False)):
        if not SAME < math.dist(a, b) < math.inf:
            raise AttitudeError(f"points {k + 1} and {k + 2} of a hose are the same, {a}")
