"""Does an arm reach what it must through some hatch?

In       Assembly, Spec.
Out      a finding "reach" for every target of a sole.
Not here what stands in the way in closed form (in_the_way.py), distances between bodies (sole_below.py).

A way begins in an opening, at the level of its landing and half an arm's width inside its edge, and leads to the
target: straight where nothing is in between, else by way of points beside the things below, under the frames of the
hatches and in the opening below its frame. What stands in the way are the things below, the frames of all hatches and
the tails of their drains, and the sole. It is the arm's middle line that is measured, and it may touch what it passes;
the way round is the shortest over the points tried, so it may be a little long. A thing that holds the target is left
by the shortest way out of it, or up to half an arm's width more: not through it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import product
from typing import TYPE_CHECKING, Any

from moldplan.check.hatch_spot import HatchSpot, Rounded, spots
from moldplan.check.in_the_way import Bar, Block, Thing, thing
from moldplan.finding import Edit, Finding, Move, Source
from moldplan.shape.assembly import Assembly, SolePlace
from moldplan.shape.body import Frame, Vector
from moldplan.spec.model import Spec
from moldplan.spec.sole import Target

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]

ARM = 45.0  # mm, half an arm's width: the opening is entered that far inside its edge, things passed that far off; ours
SPREAD = tuple(n / 3 for n in range(-3, 4))  # places across an opening, each way
NO_WAY = 9999.0  # mm, told where no way was found at all
OUT, STEP = 300.0, 5.0  # mm, how far a way out of what holds the target is looked for, and how finely
FAR = 3000.0  # mm, the most that a hatch is moved in thought


@dataclass(frozen=True)
class Way:
    """One hatch as an arm goes through it: where it lies, its opening and frame, own axes [mm]."""

    name: str
    frame: Frame
    opening: Rounded
    flange: Rounded
    landing: float
    deep: float
    tails: tuple[Bar, ...]

    def moved(self, x: float, y: float) -> Way:
        """The same elsewhere in plan."""

        def put(point: Vector) -> Vector:
            return point[0] + x, point[1] + y, point[2]

        tails = tuple(replace(t, foot=put(t.foot), head=put(t.head)) for t in self.tails)
        return replace(self, frame=replace(self.frame, origin=put(self.frame.origin)), tails=tails)

    def across(self, level: float, inside: float, share: Sequence[float]) -> list[Vector]:
        """Places in the opening at a depth, out to some distance inside its edge, boat axes."""
        half = [max(h - inside, 0.0) for h in self.opening.half]
        return [self.frame.place((half[0] * i, half[1] * j, -level)) for i, j in product(share, repeat=2)]

    @property
    def entries(self) -> list[Vector]:
        """Places in the opening at its landing, half an arm's width inside its edge."""
        return self.across(self.landing, ARM, SPREAD)

    def away(self, point: Vector) -> float:
        """From a point straight to the nearest of its entries [mm]."""
        return min(math.dist(entry, point) for entry in self.entries)

    @property
    def under(self) -> list[Vector]:
        """Places level with its frame's underside and below it: in the opening, along its edge and the flange's."""
        edge = [p for k in (-1.0, 1.0) for s in SPREAD for p in ((k, s), (s, k))]
        (a, b), (c, d) = self.opening.half, self.flange.half
        low = [self.frame.place((u * x, v * y, -self.deep - z)) for u, v in edge
               for x, y, z in ((a, b, 0.0), (c, d, 0.0), (c, d, ARM))]
        return [*low, *self.across(self.deep, ARM, (-1.0, 0.0, 1.0))]

    @property
    def things(self) -> tuple[Thing, ...]:
        """Frame and tails: what an arm must pass. The frame as four bars round the opening, as deep as its lowest."""
        (a, b), (c, d) = self.opening.half, self.flange.half
        sides = (((a, -d), (c, d)), ((-c, -d), (-a, d)), ((-a, b), (a, d)), ((-a, -d), (a, -b)))
        return (*(Block((*low, -self.deep), (*high, 0.0), self.frame) for low, high in sides), *self.tails)


def way_of(spot: HatchSpot) -> Way:
    """A hatch as an arm goes through it, measured on its bodies."""
    deep = -min(spot.own(v.toTuple())[2] for v in spot.molding.solid.Vertices())
    tails = []
    for name in spot.place.tubes:
        solid = spot.assembly.body(name).solid
        points = [spot.own(v.toTuple()) for v in solid.Vertices()]
        low, high = (pick(p[2] for p in points) for pick in (min, max))
        middle, area = spot.own(solid.Center().toTuple()), solid.Volume() / max(high - low, 1e-6)
        wide = max(math.hypot(p[0] - middle[0], p[1] - middle[1]) for p in points)
        if area > 0:
            foot, head = (spot.place.frame.place((middle[0], middle[1], z)) for z in (low, high))
            tails.append(Bar(foot, head, wide))
    return Way(str(spot.path[-1]), spot.place.frame, spot.opening, spot.flange, spot.landing, deep, tuple(tails))


@dataclass(frozen=True)
class Space:
    """The room under one sole: what stands in it, and points by way of which an arm may go."""

    sole: SolePlace
    below: tuple[Thing, ...]
    ways: tuple[Way, ...]

    @cached_property
    def things(self) -> tuple[Thing, ...]:
        return (*self.below, *(t for way in self.ways for t in way.things))

    @cached_property
    def nodes(self) -> Array:
        """Free points under the sole, (n, 3)."""
        import numpy as np

        low = [p for t in self.below for p in _beside(t) if p[2] < self.underside(p)]
        points = np.array([*low, *(p for way in self.ways for p in way.under)], float).reshape(-1, 3)
        return points[self.free(points, points)] if len(points) else points

    def underside(self, point: Vector) -> float:
        """Height under which an arm is clear of the sole itself."""
        return self.sole.surface.z(point[0], point[1]) - max(self.sole.thickness + self.sole.paint, ARM)

    def free(self, a: Array, b: Array) -> Array:
        """Whether lines pass clear of all that stands here."""
        import numpy as np

        open_ = np.ones(len(a), bool)
        for one in self.things:
            left = np.flatnonzero(open_)
            open_[left] = one.free(a[left], b[left])
        return open_

    def seen(self, a: Array, b: Array) -> Array:
        """Lengths of the straight lines from every a to every b, infinite where something is in between, (n, m)."""
        import numpy as np

        p, q = np.repeat(a, len(b), axis=0), np.tile(b, (len(a), 1))
        lengths = np.where(self.free(p, q), np.linalg.norm(q - p, axis=1), np.inf)
        return np.asarray(lengths.reshape(len(a), len(b)))

    @cached_property
    def between(self) -> Array:
        """Lengths between the nodes, (n, n)."""
        import numpy as np

        count = len(self.nodes)
        one, two = np.triu_indices(count, 1)  # a line is as free backwards
        a, b = self.nodes[one], self.nodes[two]
        lengths = np.zeros((count, count))
        lengths[one, two] = lengths[two, one] = np.where(self.free(a, b), np.linalg.norm(b - a, axis=1), np.inf)
        return lengths

    def goals(self, target: Vector) -> tuple[Array, Array]:
        """Where a hand may come to a target from, (n, 3), and how far it is from there, (n,)."""
        import numpy as np

        point = np.array([target], float)
        if self.free(point, point).all():
            return point, np.zeros(1)
        holders = [t for t in self.below if not t.free(point, point).all()]
        if not holders:
            return point[:0], np.zeros(0)  # it lies in a hatch's own frame
        ways = np.array([d for d in product((-1, 0, 1), repeat=3) if any(d)], float)
        ways /= np.linalg.norm(ways, axis=1)[:, None]
        steps = np.arange(STEP, OUT + STEP / 2, STEP)
        spots = (point + ways[:, None] * steps[None, :, None]).reshape(-1, 3)
        out = np.all([t.free(spots, spots) for t in holders], axis=0).reshape(len(ways), len(steps))
        first = np.where(out.any(axis=1), steps[out.argmax(axis=1)], np.inf)
        good = first <= first.min() + ARM
        if not np.isfinite(first.min()):
            good = np.zeros(len(ways), bool)
        return point + ways[good] * first[good, None], first[good]

    def lengths(self, target: Vector) -> list[float]:
        """Length of the shortest way found through each hatch to a target [mm]; NO_WAY where there is none."""
        goals, spare = self.goals(target)
        return [self._length(way, goals, spare) for way in self.ways]

    def near(self, target: Target) -> bool:
        """Whether some opening is no further from a target than an arm is long, whatever is in between."""
        return any(way.away(target.at) <= target.arm for way in self.ways)

    def within(self, target: Target, k: int | None = None) -> bool:
        """Whether an arm reaches a target through some hatch, or through the k-th; the nearest are looked at first."""
        ways = self.ways if k is None else self.ways[k : k + 1]
        close = sorted((way for way in ways if way.away(target.at) <= target.arm), key=lambda way: way.away(target.at))
        if not close:
            return False
        goals, spare = self.goals(target.at)
        return any(self._length(way, goals, spare, enough=target.arm) <= target.arm for way in close)

    def _length(self, way: Way, goals: Array, spare: Array, enough: float = 0.0) -> float:
        """Length through one hatch; the straight one where that is short enough."""
        import numpy as np

        if not len(goals):
            return NO_WAY
        starts = np.array(way.entries, float)
        starts = starts[self.free(starts, starts)]
        best = float(np.min(self.seen(starts, goals) + spare, initial=np.inf))
        if best > enough and len(self.nodes):
            far = np.min(self.seen(self.nodes, goals) + spare, axis=1, initial=np.inf)
            round_ = self.seen(starts, self.nodes) + _shortest(self.between, far)
            best = min(best, float(np.min(round_, initial=np.inf)))
        return best if math.isfinite(best) else NO_WAY


def _shortest(between: Array, far: Array) -> Array:
    """Lengths from every node to the goal, from the straight ones: the nearest node settles first."""
    import numpy as np

    far, open_ = far.copy(), np.ones(len(far), bool)
    while open_.any():
        here = int(np.argmin(np.where(open_, far, np.inf)))
        if not (open_[here] and math.isfinite(far[here])):
            break
        open_[here] = False
        far = np.minimum(far, far[here] + between[here])
    return far


def _beside(one: Thing) -> Iterable[Vector]:
    """Points beside a thing, half an arm's width off: corners, middles of edges and faces of its box."""
    low, high = one.box
    ends = [(a - ARM, (a + b) / 2, b + ARM) for a, b in zip(low, high, strict=True)]
    for i, j, k in product(range(3), repeat=3):
        if (i, j, k) != (1, 1, 1):
            yield ends[0][i], ends[1][j], ends[2][k]


def space_of(assembly: Assembly, sole: SolePlace, own: Sequence[HatchSpot]) -> Space:
    """The room under a sole with its hatches."""
    things = tuple(thing(item, assembly.body(sole.below[n]).solid) for n, item in sole.sole.below.items())
    return Space(sole, things, tuple(way_of(spot) for spot in own))


def reach(assembly: Assembly, spec: Spec, sole: SolePlace) -> list[Finding]:
    """A finding for every target of a sole."""
    if not sole.sole.targets:
        return []
    own = [spot for spot in spots(assembly, spec) if spot.place.sole == sole.name]
    space = space_of(assembly, sole, own)
    return [_reached(space, own, name, target) for name, target in sole.sole.targets.items()]


def _reached(space: Space, own: Sequence[HatchSpot], name: str, target: Target) -> Finding:
    """The hatch through which an arm reaches a target with the most to spare."""
    sole = space.sole
    what: dict[str, Any] = {
        "check": "below", "part": sole.name, "what": f"reach to {name}", "limit": target.arm, "sense": "at_most",
        "unit": "mm", "source": Source.spec(f"soles.{sole.name}.targets.{name}.arm"),
        "path": ("soles", sole.name, "targets", name)}  # fmt: skip
    if not own:
        return Finding(measured=None, skipped="the sole has no hatch", **what)
    ranked = sorted(zip(space.lengths(target.at), range(len(own)), strict=True))
    length, nearest = ranked[0]
    note = (f"{name} is {length:.0f} mm from the opening of {space.ways[nearest].name}, an arm reaches {target.arm:g}"
            if length < NO_WAY else f"no way to {name} was found through any hatch")
    moves: tuple[Move, ...] = ()
    if length > target.arm:
        moves = _nearer(space, own, [k for _, k in ranked], name, target)
        if not moves:
            note += "; no place for any one hatch brings it within reach"
    return Finding(measured=round(length, 3), at=dict(zip("xyz", target.at, strict=True)), note=note, moves=moves,
                   **what)


def _nearer(space: Space, own: Sequence[HatchSpot], order: Sequence[int], name: str,
            target: Target) -> tuple[Move, ...]:
    """Each hatch moved towards the target in plan by the least that brings it within reach, in whole millimetres."""
    found = []
    for k in order:
        (x, y), (tx, ty, _) = own[k].place.hatch.centre, target.at
        away = min(math.hypot(tx - x, ty - y), FAR)
        if away < 1.0:
            continue
        way = ((tx - x) / math.hypot(tx - x, ty - y), (ty - y) / math.hypot(tx - x, ty - y))
        step = _least(space, k, way, math.floor(away), target)
        if step is None:
            continue
        to = (round(x + step * way[0], 1), round(y + step * way[1], 1))
        hatch = space.ways[k].name
        found.append(Move(f"move {hatch} {step} mm towards {name}, to {{to}}", placed(own[k], to)))
    return tuple(found)


def _least(space: Space, k: int, way: tuple[float, float], most: int, target: Target) -> int | None:
    """The least whole millimetres that bring a hatch within reach; None where the whole way does not."""

    nearly = target.model_copy(update={"arm": target.arm - HAIR})

    def holds(step: int) -> bool:
        ways = list(space.ways)
        ways[k] = ways[k].moved(step * way[0], step * way[1])
        return replace(space, ways=tuple(ways)).within(nearly, k)

    step = next((s for s in sorted({*(most * n // 8 for n in range(1, 8)), most}) if s and holds(s)), None)
    if step is None:
        return None
    fails, good = max(step - math.ceil(most / 8) - 1, 0), step
    while good - fails > 1:
        middle = (fails + good) // 2
        if holds(middle):
            good = middle
        else:
            fails = middle
    return good


HAIR = 0.5  # mm kept in hand: a hatch that moves on a crown or a fall leans and rises by a hair


def placed(spot: HatchSpot, centre: tuple[float, float]) -> tuple[Edit, ...]:
    """The edits that put a hatch elsewhere: its middle, and the drains whose places are points."""
    (x, y), drains = spot.place.hatch.centre, spot.place.hatch.drains
    move = (centre[0] - x, centre[1] - y)
    points = {name: drain.at for name, drain in drains.items() if not isinstance(drain.at, str)}
    return (Edit((*spot.path, "centre"), centre),
            *(Edit((*spot.path, "drains", name, "at"), (round(at[0] + move[0], 1), round(at[1] + move[1], 1)))
              for name, at in points.items()))
