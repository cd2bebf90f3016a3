"""Things that may stand in the way of an arm: does a straight line pass clear of them?

In       many lines at once, as (n, 3) arrays of their two ends [mm]; a line may be a point.
Out      for each line whether it stays outside a thing (touching it counts as outside).
Not here which lines are asked about (sole_reach.py), distances between bodies (gap.py).

Boxes, round bars and swept sectors in closed form. A body from a file by its triangles, at most 2 mm off it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any, Protocol

from moldplan.shape.body import Frame, Vector
from moldplan.spec.below import Below, Sweep

if TYPE_CHECKING:
    import cadquery as cq
    import numpy as np

    Array = np.ndarray[Any, Any]

FINE, BEND = 2.0, 45.0  # mm off a body's faces, deg between two, that its triangles may be
HAIR = 1e-9  # mm, by which a line may graze what it only touches
FEW = 48  # triangles that are judged together
TINY = 1e-30  # mm, for a line that does not run along an axis at all
ASKEW = (0.8147, 0.4213, 0.3981)  # a direction in which no drawn edge lies


class Thing(Protocol):
    """Something solid."""

    def free(self, a: Array, b: Array) -> Array:
        """Whether each line from a to b stays outside, (n,) of bool."""

    @property
    def box(self) -> tuple[Vector, Vector]:
        """The level box round it: low corner, high corner [mm]."""


@dataclass(frozen=True)
class Block:
    """A box in a frame of its own."""

    low: Vector
    high: Vector
    frame: Frame = Frame()

    def free(self, a: Array, b: Array) -> Array:
        import numpy as np

        axes = np.array([self.frame.x, self.frame.y, self.frame.z])
        p, q = ((end - np.array(self.frame.origin)) @ axes.T for end in (a, b))
        enter, leave = np.zeros(len(p)), np.ones(len(p))
        for k in range(3):
            first, last = _slab(p[:, k], q[:, k] - p[:, k], self.low[k], self.high[k])
            enter, leave = np.maximum(enter, first), np.minimum(leave, last)
        return _empty(enter, leave, p, q)

    @property
    def box(self) -> tuple[Vector, Vector]:
        ends = (self.low, self.high)
        spots = [self.frame.place((ends[i][0], ends[j][1], ends[k][2]))
                 for i in (0, 1) for j in (0, 1) for k in (0, 1)]
        low, high = ([pick(p[k] for p in spots) for k in range(3)] for pick in (min, max))
        return (low[0], low[1], low[2]), (high[0], high[1], high[2])


@dataclass(frozen=True)
class Bar:
    """A round bar with flat ends."""

    foot: Vector
    head: Vector
    radius: float

    def free(self, a: Array, b: Array) -> Array:
        import numpy as np

        foot, along = np.array(self.foot), np.subtract(self.head, self.foot)
        long = float(np.linalg.norm(along))
        way = along / long
        p, run = a - foot, b - a
        enter, leave = _slab(p @ way, run @ way, 0.0, long)
        beside, drift = p - np.outer(p @ way, way), run - np.outer(run @ way, way)
        first, last = _round(beside, drift, self.radius)
        return _empty(np.maximum(np.maximum(enter, first), 0.0), np.minimum(np.minimum(leave, last), 1.0), a, b)

    @property
    def box(self) -> tuple[Vector, Vector]:
        long = math.dist(self.foot, self.head)
        wide = [self.radius * math.sqrt(max(1 - ((h - f) / long) ** 2, 0.0))
                for f, h in zip(self.foot, self.head, strict=True)]
        pairs = list(zip(self.foot, self.head, wide, strict=True))
        low, high = [min(f, h) - w for f, h, w in pairs], [max(f, h) + w for f, h, w in pairs]
        return (low[0], low[1], low[2]), (high[0], high[1], high[2])


@dataclass(frozen=True)
class Sector:
    """What an arm sweeps."""

    sweep: Sweep

    def free(self, a: Array, b: Array) -> Array:
        """By pieces: a line is cut where it meets rim, hub and both sides, and each piece lies wholly in or out."""
        import numpy as np

        one = self.sweep
        run = b - a
        p, flat = a[:, :2] - np.array(one.pivot), run[:, :2]
        enter, leave = _slab(a[:, 2], run[:, 2], one.low, one.high)
        enter, leave = np.clip(enter, 0.0, 2.0), np.clip(leave, -1.0, 1.0)
        cuts = [enter, leave, *_round(p, flat, one.radius)]
        if one.inner_radius:
            cuts += _round(p, flat, one.inner_radius)
        for angle in () if one.to - one.from_ >= 360 else (one.from_, one.to):
            side = (-math.sin(math.radians(angle)), math.cos(math.radians(angle)))
            with np.errstate(divide="ignore", invalid="ignore"):
                cuts.append(-(p @ side) / (flat @ side))
        ends = np.sort(np.clip(np.nan_to_num(np.array(cuts), nan=0.0), enter, np.maximum(leave, enter)), axis=0)
        middles = (ends[:-1] + ends[1:]) / 2
        inside = self._holds(p[None] + middles[..., None] * flat[None])
        long = np.linalg.norm(run, axis=1)
        point = long < HAIR
        within = (a[:, 2] > one.low + HAIR) & (a[:, 2] < one.high - HAIR)
        passes = np.any(inside & ((ends[1:] - ends[:-1]) * long > HAIR), axis=0)
        return np.asarray(~np.where(point, within & self._holds(p), passes & (leave > enter)))

    def _holds(self, p: Array) -> Array:
        """Whether points in plan, from the pivot, lie inside."""
        import numpy as np

        far = np.hypot(p[..., 0], p[..., 1])
        turn = np.degrees(np.arctan2(p[..., 1], p[..., 0]))
        wide = self.sweep.to - self.sweep.from_
        slack = np.degrees(HAIR / np.maximum(far, HAIR))
        past = (turn - self.sweep.from_) % 360
        swept = (past > slack) & (past < wide - slack) if wide < 360 else np.ones_like(past, bool)
        return np.asarray((far < self.sweep.radius - HAIR) & (far > self.sweep.inner_radius + HAIR) & swept)

    @property
    def box(self) -> tuple[Vector, Vector]:
        one = self.sweep
        turns = [one.from_, one.to, *(90.0 * k for k in range(-4, 9) if one.from_ < 90.0 * k < one.to)]
        spots = [(one.pivot[0] + r * math.cos(math.radians(t)), one.pivot[1] + r * math.sin(math.radians(t)))
                 for t in turns for r in (one.inner_radius, one.radius)]
        xs, ys = [s[0] for s in spots], [s[1] for s in spots]
        return (min(xs), min(ys), one.low), (max(xs), max(ys), one.high)


@dataclass(frozen=True)
class Net:
    """A body by its triangles."""

    solid: cq.Shape

    @cached_property
    def corners(self) -> Array:
        """Corners of the triangles, (m, 3, 3)."""
        import numpy as np

        from moldplan.shape.mesh import mesh

        vertices, triangles, _ = mesh(self.solid, tolerance=FINE, angle=BEND)
        return np.asarray(vertices[triangles])

    @cached_property
    def box(self) -> tuple[Vector, Vector]:
        low, high = self.corners.min(axis=(0, 1)).tolist(), self.corners.max(axis=(0, 1)).tolist()
        return (low[0], low[1], low[2]), (high[0], high[1], high[2])

    def free(self, a: Array, b: Array) -> Array:
        import numpy as np

        open_ = np.asarray(Block(*self.box).free(a, b))
        near = np.flatnonzero(~open_)
        if len(near):
            # the box holds every line that meets the body; an end inside tells of lines that meet no face of it
            far = 2 * float(np.linalg.norm(np.subtract(self.box[1], self.box[0]))) * np.array(ASKEW)
            inside = self._met(a[near], a[near] + far) % 2 == 1
            near = near[~inside]
            open_[near] = self._met(a[near], b[near], once=True) == 0
        return open_

    @cached_property
    def heap(self) -> _Heap:
        return _heap(self.corners)

    def _met(self, a: Array, b: Array, *, once: bool = False) -> Array:
        """How many triangles each line goes through; `once`: whether it goes through any."""
        import numpy as np

        run = b - a
        over = 1.0 / np.where(np.abs(run) < TINY, TINY, run)
        found, left = np.zeros(len(a), int), [(self.heap, np.arange(len(a)))]
        while left:
            heap, lines = left.pop()
            lines = lines[found[lines] == 0] if once else lines
            one, two = (heap.low - a[lines]) * over[lines], (heap.high - a[lines]) * over[lines]
            enter, leave = np.minimum(one, two).max(axis=1), np.maximum(one, two).min(axis=1)
            lines = lines[(leave >= np.maximum(enter, 0.0)) & (enter <= 1.0)]
            if not len(lines):
                continue
            if heap.corners is not None:
                found[lines] += _through(a[lines], b[lines], heap.corners)
            left += [(part, lines) for part in heap.parts]
        return found


@dataclass(frozen=True, eq=False)
class _Heap:
    """Triangles that lie near each other, in a box a little too large: a few of them, or smaller heaps."""

    low: Array
    high: Array
    corners: Array | None
    parts: tuple[_Heap, ...] = ()


def _heap(corners: Array) -> _Heap:
    """Triangles (m, 3, 3) halved and halved again along the longest side of their box."""
    import numpy as np

    low, high = corners.min(axis=(0, 1)), corners.max(axis=(0, 1))
    if len(corners) <= FEW:
        return _Heap(low - FINE, high + FINE, corners)
    order = np.argsort(corners.mean(axis=1)[:, int(np.argmax(high - low))])
    half = len(corners) // 2
    return _Heap(low - FINE, high + FINE, None, (_heap(corners[order[:half]]), _heap(corners[order[half:]])))


def _slab(start: Array, run: Array, low: float, high: float) -> tuple[Array, Array]:
    """Shares of the way at which lines enter and leave the room between two planes; (1, 0) where they never do."""
    import numpy as np

    still = np.abs(run) < HAIR
    with np.errstate(divide="ignore", invalid="ignore"):
        one, two = (low - start) / run, (high - start) / run
    between = (start > low + HAIR) & (start < high - HAIR)
    enter = np.where(still, np.where(between, -np.inf, np.inf), np.minimum(one, two))
    leave = np.where(still, np.where(between, np.inf, -np.inf), np.maximum(one, two))
    return enter, leave


def _round(start: Array, run: Array, radius: float) -> tuple[Array, Array]:
    """Shares of the way at which lines enter and leave a round of a radius about the origin."""
    import numpy as np

    square = np.sum(run**2, axis=1)
    half, rest = np.sum(start * run, axis=1), np.sum(start**2, axis=1) - radius**2
    still = square < HAIR**2
    root = half**2 - square * rest
    with np.errstate(divide="ignore", invalid="ignore"):
        wide = np.sqrt(np.maximum(root, 0.0))
        one, two = (-half - wide) / square, (-half + wide) / square
    misses = np.where(still, np.sqrt(rest + radius**2) >= radius - HAIR, root <= 0)
    enter = np.where(misses, np.inf, np.where(still, -np.inf, one))
    leave = np.where(misses, -np.inf, np.where(still, np.inf, two))
    return enter, leave


def _empty(enter: Array, leave: Array, a: Array, b: Array) -> Array:
    """Whether nothing is left between entering and leaving."""
    import numpy as np

    long = np.linalg.norm(b - a, axis=1)
    with np.errstate(invalid="ignore"):
        return np.asarray((leave - enter) * np.maximum(long, 1.0) <= HAIR)


def _through(a: Array, b: Array, corners: Array) -> Array:
    """How many of the triangles (m, 3, 3) each line goes through, by the signs of volumes."""
    import numpy as np

    u, v = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    normal = np.cross(u, v)
    run = (b - a)[:, None]
    away = a[:, None] - corners[None, :, 0]
    det = -np.einsum("ijk,jk->ij", run, normal)
    with np.errstate(divide="ignore", invalid="ignore"):
        far = np.einsum("ijk,jk->ij", away, normal) / det
        cross = np.cross(away, run)
        s, t = np.einsum("ijk,jk->ij", cross, v) / det, -np.einsum("ijk,jk->ij", cross, u) / det
        hit = (far > 0) & (far < 1) & (s >= 0) & (t >= 0) & (s + t <= 1)
    return np.asarray(hit.sum(axis=1))


def thing(item: Below, solid: cq.Shape) -> Thing:
    """What stands below a sole, as something in the way; `solid` is its body."""
    if item.base is not None and item.top is not None and item.diameter is not None:
        return Bar(item.base, item.top, item.diameter / 2)
    if item.sweep is not None:
        return Sector(item.sweep)
    if item.from_ is not None and item.to is not None:
        pairs = list(zip(item.from_, item.to, strict=True))
        low, high = tuple(map(min, pairs)), tuple(map(max, pairs))
        return Block((low[0], low[1], low[2]), (high[0], high[1], high[2]))
    return Net(solid)
