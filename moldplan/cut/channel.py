"""The band about a curve that its arcs must keep to, as gates, and how far an arc runs through them.

In       a flat curve as a function of its parameter, the tolerance [mm].
Out      Channel: gates (a point, a direction, half a width each); where arcs cross gates, how far they pass.
Not here which arcs are taken (arcs.py).

A gate is a short line square to the curve; an arc keeps to the band when it crosses every gate between its ends. Of all
arcs that leave a point in one direction, those that cross a gate have curvatures between two bounds (of the arcs
through the gate's ends): so how far an arc can run is where the highest lower bound passes the lowest upper one.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from moldplan.cut.piece import Point

if TYPE_CHECKING:
    import numpy as np

    Numbers = np.ndarray[Any, np.dtype[np.float64]]
    Gates = np.ndarray[Any, np.dtype[np.int64]]
    Flags = np.ndarray[Any, np.dtype[np.bool_]]
else:
    Numbers = Gates = Flags = Any

Sight = Callable[[float], tuple[Point, Point]]  # a parameter -> the curve's point and its derivative there

PER_ARC = 48  # gates in the length of an arc
ARC_ERROR = 72 * math.sqrt(3)  # see `_counted`
EVEN = 0.1  # share of the gates spread evenly along the curve
STEEP = 0.17  # an arc is followed until its chord turns 80 deg from its start: 160 deg of arc
FOLDS = 0.5  # half a gate is at most this share of the curve's radius: wider ones would cross one another


@dataclass(frozen=True, eq=False)
class Channel:
    """Gates along a curve: `points` (n, 2), unit `directions` (n, 2), `halves` of their widths (n) [mm].

    `laps`: how many gates lie on one lap of a closed curve, whose channel is three laps long; 0 for an open one.
    """

    points: Numbers
    directions: Numbers
    halves: Numbers
    laps: int = 0

    @cached_property
    def normals(self) -> Numbers:
        """To the left of the direction."""
        import numpy as np

        return np.stack([-self.directions[:, 1], self.directions[:, 0]], axis=-1)

    @cached_property
    def last(self) -> int:
        return len(self.points) - 1

    @cached_property
    def back(self) -> Channel:
        """The same walked the other way; gate g is gate last - g of it."""
        return Channel(self.points[::-1], -self.directions[::-1], self.halves[::-1], self.laps)

    def bounds(self, at: Numbers, heading: Numbers, first: int, end: int) -> tuple[Numbers, Numbers, Flags]:
        """Least and greatest curvature with which arcs from `at` (m, 2) cross the gates `first` to `end` (excluded),
        and whether these lie ahead: each (m, n) [1/mm]."""
        import numpy as np

        x, y = self.points[first:end].T
        n = self.normals[first:end] * self.halves[first:end, None]
        vx, vy = x - at[:, :1], y - at[:, 1:]
        tx, ty = heading[:, :1], heading[:, 1:]
        ux, uy = vx + n[:, 0], vy + n[:, 1]
        wx, wy = vx - n[:, 0], vy - n[:, 1]
        high = 2 * (tx * uy - ty * ux) / (ux * ux + uy * uy)
        low = 2 * (tx * wy - ty * wx) / (wx * wx + wy * wy)
        return low, high, vx * tx + vy * ty > STEEP * np.sqrt(vx * vx + vy * vy)

    def reach(self, at: Numbers, heading: Numbers, gates: Gates, window: int) -> tuple[Numbers, Numbers]:
        """How far arcs from `at` (m, 2), each at or before its own of `gates` (m), can run, and with which curvature.

        The reach is a gate's number with a fraction of the next. At most `window` gates are looked at.
        """
        import numpy as np

        first = int(gates.min()) + 1
        end = min(len(self.points), int(gates.max()) + 1 + window)
        if first >= end:
            return gates.astype(float), np.zeros(len(at))
        low, high, ahead = self.bounds(at, heading, first, end)
        passed = np.arange(first, end) <= gates[:, None]
        low, high = np.where(passed, -np.inf, low), np.where(passed, np.inf, high)
        low, high = np.maximum.accumulate(low, axis=1), np.minimum.accumulate(high, axis=1)
        good = ((low <= high) & ahead) | passed
        count = np.where(good.all(axis=1), good.shape[1], np.argmin(good, axis=1))
        rows, column = np.arange(len(at)), np.maximum(count - 1, 0)
        least, most = low[rows, column], high[rows, column]
        beyond = np.minimum(count, good.shape[1] - 1)
        over = np.maximum(low[rows, beyond] - high[rows, beyond], 0.0)
        known = np.isfinite(least) & np.isfinite(most)
        room = np.where(known, most - np.where(known, least, 0.0), 0.0)
        part = np.where((over > 0) & known, room / np.where(over + room > 0, over + room, 1.0), 0.0)
        middle = np.where(known, (np.where(known, least, 0.0) + np.where(known, most, 0.0)) / 2, 0.0)
        return first - 1 + count + part, np.where((least <= 0) & (most >= 0), 0.0, middle)

    def on_arc(self, at: Point, heading: Point, curvature: float, gates: Gates) -> tuple[Numbers, Numbers]:
        """Where an arc crosses gates, and its headings there: each (m, 2)."""
        import numpy as np

        (tx, ty), n = heading, self.normals[gates]
        vx, vy = self.points[gates, 0] - at[0], self.points[gates, 1] - at[1]
        c = curvature * (vx * vx + vy * vy) - 2 * (tx * vy - ty * vx)
        b = curvature * (vx * n[:, 0] + vy * n[:, 1]) - (tx * n[:, 1] - ty * n[:, 0])
        off = c / (np.sqrt(np.maximum(b * b - curvature * c, 0.0)) - b)
        chord = np.stack([vx + off * n[:, 0], vy + off * n[:, 1]], axis=-1)
        length = np.hypot(chord[:, 0], chord[:, 1])
        unit = chord / np.where(length > 0, length, 1.0)[:, None]
        turned = 2 * (unit @ np.array(heading))[:, None] * unit - np.array(heading)
        here = length < 1e-12
        turned[here] = heading
        return np.array(at) + chord, turned

    def gate_of(self, spots: Numbers, first: int, end: int) -> Gates:
        """The last gate of `first` to `end` (excluded) that each spot (m, 2) has passed; first - 1 where none."""
        import numpy as np

        x, y = self.points[first:end].T
        d = self.directions[first:end]
        passed = (spots[:, :1] - x) * d[:, 0] + (spots[:, 1:] - y) * d[:, 1] >= 0
        near = (spots[:, :1] - x) ** 2 + (spots[:, 1:] - y) ** 2
        best = np.argmin(near, axis=1)
        rows = np.arange(len(spots))
        return first + best - np.where(passed[rows, best], 0, 1)


@dataclass(frozen=True, eq=False)
class Looks:
    """A curve looked at: parameters (n), points (n, 2) [mm], directions of travel (n, 2), of any length but 0."""

    t: Numbers
    points: Numbers
    along: Numbers


def look(sight: Sight, t: Numbers) -> Looks:
    """A curve at many parameters. Where it stands still its direction is taken from the points beside."""
    import numpy as np

    seen = np.array([sight(one) for one in t.tolist()])
    points, along = seen[:, 0], seen[:, 1]
    size = np.hypot(along[:, 0], along[:, 1])
    still = size <= 1e-9 * size.max()
    if still.any():
        beside = np.gradient(points, axis=0) if len(points) > 1 else np.ones_like(points)
        along = np.where(still[:, None], np.where(np.abs(beside).max() > 0, beside, 1.0), along)
    return Looks(t, points, along)


def channel(sight: Sight, looks: Looks, tolerance: float, *, closed: bool = False) -> tuple[Channel, Numbers]:
    """The channel of half width `tolerance` [mm] about a smooth curve, its gates as dense as `looks` ask for; and the
    gates' parameters. Of a closed curve the channel goes round three times."""
    import numpy as np

    s, count = _counted(looks.points, looks.along, tolerance)
    gates = max(PER_ARC, math.ceil(PER_ARC * (1 + EVEN) * count[-1]))
    mixed = count / max(count[-1], 1e-9) + EVEN * s / s[-1]
    t = np.interp(np.linspace(0, mixed[-1], gates + 1), mixed, looks.t)
    fine = look(sight, t)
    along = fine.along / np.hypot(fine.along[:, 0], fine.along[:, 1])[:, None]
    points, halves = fine.points, np.minimum(tolerance, FOLDS / np.maximum(_curvature(fine.points, along), 1e-12))
    if closed:
        points, along, halves = (np.concatenate([a[:-1]] * 3) for a in (points, along, halves))
    return Channel(points, along, halves, gates if closed else 0), t


def _counted(points: Numbers, along: Numbers, tolerance: float) -> tuple[Numbers, Numbers]:
    """Length from the start, and about how many arcs it takes so far: each (n).

    An arc of a smooth chain in a narrow band leaves a curve whose curvature changes by k' a mm by k' h^3 / 124.7 over
    its length h at best: the offset is a cubic that returns to the same value and direction after each arc, and
    B3(x) = x^3 - 3/2 x^2 + x/2, whose greatest value is sqrt(3)/36, is the least of these: k' h^3 / 6 * sqrt(3)/36.
    """
    import numpy as np

    steps = np.hypot(*(np.diff(points, axis=0).T))
    s = np.concatenate([[0.0], np.cumsum(steps)])
    angle = np.unwrap(np.arctan2(along[:, 1], along[:, 0]))
    k = np.diff(angle) / np.maximum(steps, 1e-12)
    change = np.abs(np.diff(k)) / np.maximum((steps[1:] + steps[:-1]) / 2, 1e-12)
    change = np.concatenate([change[:1], change, change[-1:]])
    change = np.maximum(change, np.maximum(np.roll(change, 1), np.roll(change, -1)))
    rate = np.cbrt(change / (ARC_ERROR * tolerance))
    return s, np.concatenate([[0.0], np.cumsum((rate[1:] + rate[:-1]) / 2 * steps)])


def _curvature(points: Numbers, along: Numbers) -> Numbers:
    """About the greatest curvature beside each point (n) [1/mm]."""
    import numpy as np

    steps = np.hypot(*(np.diff(points, axis=0).T))
    turn = np.abs(along[:-1, 0] * along[1:, 1] - along[:-1, 1] * along[1:, 0])
    k = turn / np.maximum(steps, 1e-12)
    return np.maximum(np.concatenate([k[:1], k]), np.concatenate([k, k[-1:]]))
