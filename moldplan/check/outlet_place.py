"""Where an outlet could go, and how low a floor may lie: worked back uphill from the water, or down from the floor.

In       a floor's drain, the plan of its hose, the hull in plan [mm, boat axes]; water, box, fall, where not to be.
Out      the least height of an outlet, the least floor, Bands of heights at which an outlet works, along a hull too;
         Shifts of outlet and floor that make one work.
Not here judging the outlet there is (outlet.py), the levels of points between (fall_level.py).

An outlet at one plan place works between two heights: not under what the water asks (so far above it at rest, so far
through the box), and not over what the hose's falls leave of the floor's height; the balls round openings are cut out.
At up u a point stands `clear` over the water from z = height + (clear - u_x (x - at_x) - u_y y) / u_z on; over a box
it is the greatest of these, found as least_drop finds its drop.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from moldplan.attitude import AttitudeError, Vector, Waterline, Where, as_box, least_height, up
from moldplan.check.fall_box import Plan, least_drop
from moldplan.check.outlet import Box

ROUNDS = 100
STEPS = 64  # places tried on the way inboard, before the first that works is closed in on
CLOSE = 0.01  # mm, how closely
ENOUGH = 1e-9  # mm


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What an outlet must keep: heights [mm] over still water at rest and through the box, the hose's fall [deg], the
    outlet's height under the floor besides [mm], and how far it stays from openings and ignition points [mm]."""

    at_rest: float = 0.0
    in_box: float = 0.0
    fall: float = 0.0
    under_floor: float = 0.0
    apart: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Band:
    """Heights [mm] at which an outlet at one plan place works, ends included."""

    at: Plan
    low: float
    high: float

    @property
    def room(self) -> float:
        return self.high - self.low


@dataclass(frozen=True, kw_only=True)
class Shift:
    """An outlet and a floor [mm, boat axes] that work together, and how far each was moved to get there [mm]."""

    way: Literal["outlet and floor up", "outlet inboard"]
    outlet: Vector
    floor: Vector
    outlet_moved: float
    floor_moved: float


def least_outlet(at: Plan, waterline: Waterline, where: Where, *, at_rest: float = 0.0, in_box: float = 0.0) -> float:
    """The least height [mm, boat axes] of an outlet at a plan place: so far over still water at rest and in the box.

    AttitudeError where a box heels or trims to 90 deg: there no height helps.
    """
    box = as_box(where)
    steep = max(abs(angle) for angle in (*box.heel, *box.trim))
    if not steep < 90:
        raise AttitudeError(f"at {steep:g} deg no height keeps an outlet above the water")
    level = max(_level(at, waterline, up(corner), in_box) for corner in box.corners)
    for _ in range(ROUNDS):
        worst = least_height((*at, level), waterline, box)
        if worst.value >= in_box - ENOUGH:
            break
        level = max(level, _level(at, waterline, up(worst.at), in_box))
    return max(level, waterline.height + at_rest)


def _level(at: Plan, waterline: Waterline, u: Vector, clear: float) -> float:
    return waterline.height + (clear - u[0] * (at[0] - waterline.at_x) - u[1] * at[1]) / u[2]


def least_floor(outlet: Vector, hose: Sequence[Plan], where: Where, *, fall: float = 0.0, under_floor: float = 0.0
                ) -> float:
    """The least height [mm] of a drain so that every leg down to an outlet falls all over a box.

    `hose`: plan of the way, drain first; it ends over the outlet (added when it does not). Worked uphill: each leg adds
    the drop it needs; a leg that would rise in the boat and still fall at one attitude is taken as it is.
    """
    return max(outlet[2] + _needed(hose, outlet[:2], where, fall), outlet[2] + under_floor)


def _needed(hose: Sequence[Plan], end: Plan, where: Where, fall: float) -> float:
    """The sum of the drops that the legs of a plan need, down to its end."""
    if not hose:
        raise AttitudeError("a hose of no points: it starts at the drain")
    plan = [*hose] if math.dist(hose[-1], end) < ENOUGH else [*hose, end]
    return sum(least_drop((b[0] - a[0], b[1] - a[1]), where, fall=fall)
               for a, b in zip(plan, plan[1:], strict=False))


def bands_at(at: Plan, floor: Vector, waterline: Waterline, where: Where, demand: Demand, *,
             between: Sequence[Plan] = (), openings: Iterable[Box] = ()) -> tuple[Band, ...]:
    """The heights at which an outlet at one plan place works for a floor's drain, lowest first; () for none.

    `between`: plan of the hose after the drain and before the outlet; without, straight. `openings`: boxes; a point is
    a box of no size.
    """
    low = least_outlet(at, waterline, where, at_rest=demand.at_rest, in_box=demand.in_box)
    high = floor[2] - max(_needed([floor[:2], *between], at, where, demand.fall), demand.under_floor)
    free = [(low, high)] if low <= high else []
    for box in openings:
        free = [piece for span in free for piece in _without(span, _shut(at, box, demand.apart))]
    return tuple(Band(at=at, low=a, high=b) for a, b in free)


def _shut(at: Plan, box: Box, apart: float) -> tuple[float, float] | None:
    """The open range of heights nearer to a box than `apart`, at a plan place."""
    off = math.hypot(*(max(min(a, b) - c, c - max(a, b), 0.0) for c, a, b in zip(at, box[0][:2], box[1][:2],
                                                                                 strict=True)))
    if off >= apart:
        return None
    reach = math.sqrt(apart**2 - off**2)
    return min(box[0][2], box[1][2]) - reach, max(box[0][2], box[1][2]) + reach


def _without(span: tuple[float, float], shut: tuple[float, float] | None) -> list[tuple[float, float]]:
    """What is left of a range when an open one is cut out."""
    if shut is None or shut[1] <= span[0] or shut[0] >= span[1]:
        return [span]
    return [piece for piece in ((span[0], shut[0]), (shut[1], span[1])) if piece[0] <= piece[1]]


def outlets_that_work(hull: Sequence[Plan], floor: Vector, waterline: Waterline, where: Where, demand: Demand, *,
                      openings: Mapping[str, Box] | None = None, step: float = 100.0) -> tuple[Band, ...]:
    """Bands along a hull's outside in plan, a place at most every `step` [mm], in order; straight hoses.

    The hull is closed from its last corner to its first. Places where nothing works are left out. AttitudeError for a
    step that is not above 0 or a hull of fewer than two corners.
    """
    if not 0 < step < math.inf or len(hull) < 2:
        raise AttitudeError(f"a hull of {len(hull)} corners walked by {step:g} mm")
    found: list[Band] = []
    for a, b in zip(hull, (*hull[1:], hull[0]), strict=True):
        n = max(math.ceil(math.dist(a, b) / step), 1)
        for k in range(n):
            at = a[0] + (b[0] - a[0]) * k / n, a[1] + (b[1] - a[1]) * k / n
            found += bands_at(at, floor, waterline, where, demand, openings=(openings or {}).values())
    return tuple(found)


def shifts(outlet: Vector, floor: Vector, waterline: Waterline, where: Where, demand: Demand, *,
           between: Sequence[Plan] = (), openings: Sequence[Box] = ()) -> tuple[Shift, ...]:
    """How an outlet that does not work comes to: the moves belong together. () when it works as it is.

    Up where it stands, out of the water and of what is round openings, and the floor with it as far as the hose asks;
    or inboard along its last leg, the floor kept, to the first place that works, at the height nearest its own.
    """
    at = outlet[:2]
    if any(b.low <= outlet[2] <= b.high for b in bands_at(at, floor, waterline, where, demand, between=between,
                                                           openings=openings)):
        return ()
    dry = max(outlet[2], least_outlet(at, waterline, where, at_rest=demand.at_rest, in_box=demand.in_box))
    free = [(dry, math.inf)]
    for box in openings:
        free = [piece for span in free for piece in _without(span, _shut(at, box, demand.apart))]
    raised = (*at, free[0][0])
    level = max(floor[2], least_floor(raised, [floor[:2], *between], where, fall=demand.fall,
                                      under_floor=demand.under_floor))
    found = [Shift(way="outlet and floor up", outlet=raised, floor=(*floor[:2], level),
                   outlet_moved=raised[2] - outlet[2], floor_moved=level - floor[2])]

    towards = between[-1] if between else floor[:2]

    def band(share: float) -> Band | None:
        place = at[0] + share * (towards[0] - at[0]), at[1] + share * (towards[1] - at[1])
        every = bands_at(place, floor, waterline, where, demand, between=between, openings=openings)
        return min(every, key=lambda b: max(b.low - outlet[2], outlet[2] - b.high, 0.0), default=None)

    inboard = _first(band, CLOSE / max(math.dist(at, towards), CLOSE))
    if inboard is not None:
        moved = (*inboard.at, min(max(outlet[2], inboard.low), inboard.high))
        found.append(Shift(way="outlet inboard", outlet=moved, floor=floor, outlet_moved=math.dist(outlet, moved),
                           floor_moved=0.0))
    return tuple(found)


def _first(band: Callable[[float], Band | None], close: float) -> Band | None:
    """The first band over shares from 0 to 1, closed in on to a share of `close`; None when no step has one."""
    there = next((k for k in range(STEPS + 1) if band(k / STEPS) is not None), None)
    if there is None:
        return None
    low, high = max(there - 1, 0) / STEPS, there / STEPS
    while high - low > close:
        half = (low + high) / 2
        low, high = (half, high) if band(half) is None else (low, half)
    return band(high)
