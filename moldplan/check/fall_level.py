"""Levels at which every leg of a hose falls: the least changes that cure one that does not.

In       the middles of its bore in order, drain first [mm, boat axes]; a box of attitudes; the fall to keep [deg].
Out      Relevel: new heights and what moves; each leg's needed drop; how far inboard an outlet must come.
Not here measuring what there is (fall_leg.py), proving a cure through the whole plan (cure/).

A leg over plan h needs a drop of at least n(h), least_drop of fall_box.py: with c the needs summed up from the drain,
z + c must never rise along the hose. Raising only, or lowering only, the least change is point by point a running
highest or lowest. With both ends kept, the least sum of changes is the L1 isotonic fit, by pooling neighbours at their
median and holding the result between the ends.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, get_args

from moldplan.attitude import AttitudeError, Vector, Where
from moldplan.check.fall_box import least_drop

Way = Literal["points between alone", "raised towards the drain", "lowered towards the outlet"]
WAYS: tuple[Way, ...] = get_args(Way)  # of equals, the one that leaves both ends alone comes first

SLACK = 1e-9  # mm, rounding in sums of drops


@dataclass(frozen=True, kw_only=True)
class Relevel:
    """New heights for a hose's points, in order; `moves`: (point, change of height [mm]), those that change at all."""

    way: Way
    points: tuple[Vector, ...]
    moves: tuple[tuple[int, float], ...]

    @property
    def total(self) -> float:
        """How much is moved in all [mm]."""
        return sum(abs(change) for _, change in self.moves)


def needed_drops(points: Sequence[Vector], where: Where, *, fall: float = 0.0) -> tuple[float, ...]:
    """The least drop [mm] of each leg. AttitudeError for fewer than two points."""
    if len(points) < 2:
        raise AttitudeError(f"a hose of {len(points)} points, at least 2: where it starts and where it ends")
    return tuple(least_drop((b[0] - a[0], b[1] - a[1]), where, fall=fall)
                 for a, b in zip(points, points[1:], strict=False))


def shortfall(points: Sequence[Vector], where: Where, *, fall: float = 0.0) -> float:
    """How much drop [mm] is missing between drain and outlet over this plan; below 0 it is to spare."""
    return sum(needed_drops(points, where, fall=fall)) - (points[0][2] - points[-1][2])


def relevels(points: Sequence[Vector], where: Where, *, fall: float = 0.0) -> tuple[Relevel, ...]:
    """The ways to make every leg fall by `fall` [deg] all over a box, least sum of moves first; () when all do.

    Points between alone, both ends kept, when the drop from end to end is enough; raising the drain's side; lowering
    the outlet's side. The last two move the end itself where the drop is short.
    """
    needs = needed_drops(points, where, fall=fall)
    z = [p[2] for p in points]
    if all(a - b >= need - SLACK for a, b, need in zip(z, z[1:], needs, strict=False)):
        return ()
    raised, lowered = list(z), list(z)
    for k in range(len(needs) - 1, -1, -1):
        raised[k] = max(z[k], raised[k + 1] + needs[k])
    for k, need in enumerate(needs):
        lowered[k + 1] = min(z[k + 1], lowered[k] - need)
    found = [_made("raised towards the drain", points, raised), _made("lowered towards the outlet", points, lowered)]
    if len(points) > 2 and z[0] - z[-1] >= sum(needs) - SLACK:
        found.append(_made("points between alone", points, _between(z, needs)))
    return tuple(sorted(found, key=lambda way: (round(way.total, 6), WAYS.index(way.way))))


def _between(z: Sequence[float], needs: Sequence[float]) -> list[float]:
    """Heights with both ends kept and the least sum of moves."""
    spent = [sum(needs[:k]) for k in range(len(z))]
    free = [height + s for height, s in zip(z, spent, strict=True)]
    pools: list[list[float]] = []
    for value in free[1:-1]:
        pools.append([value])
        while len(pools) > 1 and _median(pools[-2]) < _median(pools[-1]):
            last = pools.pop()
            pools[-1] = sorted(pools[-1] + last)
    fitted = [_median(pool) for pool in pools for _ in pool]
    kept = [min(max(value, free[-1]), free[0]) for value in fitted]
    return [z[0], *(value - s for value, s in zip(kept, spent[1:-1], strict=True)), z[-1]]


def _median(values: Sequence[float]) -> float:
    return sorted(values)[(len(values) - 1) // 2]


def _made(way: Way, points: Sequence[Vector], heights: Sequence[float]) -> Relevel:
    moved = tuple((p[0], p[1], z) for p, z in zip(points, heights, strict=True))
    moves = tuple((k, z - p[2]) for k, (p, z) in enumerate(zip(points, heights, strict=True)) if abs(z - p[2]) > SLACK)
    return Relevel(way=way, points=moved, moves=moves)


def inboard(points: Sequence[Vector], where: Where, *, fall: float = 0.0) -> float | None:
    """How far [mm in plan] the outlet must come back along its last leg, its level kept, so that this leg falls.

    0 when it does; None when the leg's start is no higher than what even a plumb last leg would need.
    """
    (a, b), need = points[-2:], needed_drops(points[-2:], where, fall=fall)[0]
    drop, run = a[2] - b[2], math.hypot(b[0] - a[0], b[1] - a[1])
    if drop >= need - SLACK:
        return 0.0
    return run * (1 - drop / need) if drop > 0 else None
