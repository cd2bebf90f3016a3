"""Where the hatches of a sole could lie instead: each alone, or several together, turned or not.

In       what a hatch takes in plan (Plot), what stays (Ground).
Out      arrangements: a middle for each hatch and whether it is turned, the nearest first.
Not here judging (check/sole_layout.py), the edits of a move (check/rearrange.py).

A rounded rectangle is a rectangle grown by its corner radius. The middles at which it lies clear of something are
what is left of the sole once that thing, swept by the rectangle and grown by the radius and the gap, is taken away:
exact for straight edges, within 0.15 mm at corners. Hatches are put down one after the other; each is tried where it
is, at the nearest place that is free, and at the ends of the free places: their corners, and where they end straight
along or across the boat from its own middle and from the others'. Each as it is and turned by 90 deg.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import permutations
from typing import Any

Plan2 = tuple[float, float]
SLACK = 1.0  # mm in hand for middles rounded to whole millimetres and corners drawn in chords
TURNING = 200.0  # mm, a turned hatch counts as moved by so much more
CORNERS = 8  # corners of the free places that are tried for each hatch
LOOKS = 1500  # hatches put down in one search
MOST = 6  # hatches of one sole that are all put down anew
RECESS = 2.0  # mm, by which the recesses of two flanges come nearer to each other than the flanges
KINDS = ("side by side", "in line", "staggered")
TRIED = "side by side, in line and staggered were tried, each hatch as it is and turned by 90 deg"
FEW = 3  # hatches of which every order is tried


@dataclass(frozen=True)
class Tail:
    """A drain's tail as seen from above: from the hatch's middle, own axes, with its radius [mm]."""

    at: Plan2
    radius: float


@dataclass(frozen=True)
class Plot:
    """What one hatch takes in plan: half sizes of the rectangle its corners' middles make, and radii about it [mm]."""

    half: Plan2
    opening: float  # negative where the opening's corners are sharper than that rectangle asks
    rebate: float
    flange: float
    centre: Plan2
    turn: float
    tails: tuple[Tail, ...] = ()

    def core(self, turned: bool) -> list[Plan2]:
        """Corners of the rectangle about the middle, boat axes."""
        a, b = self.half
        return [_turned((i * a, j * b), self.turn + 90 * turned) for i, j in ((1, 1), (-1, 1), (-1, -1), (1, -1))]

    def tail(self, one: Tail, turned: bool) -> Plan2:
        """Where a tail lies from the middle, boat axes. Sides of a turned hatch change their lengths, not places."""
        (u, v), longer = one.at, self.half[1] - self.half[0]
        if turned:
            u += math.copysign(1.0, u) * longer if abs(u) > self.half[0] / 2 else 0.0
            v -= math.copysign(1.0, v) * longer if abs(v) > self.half[1] / 2 else 0.0
        return _turned((u, v), self.turn)


@dataclass(frozen=True)
class Standing:
    """What stays: a patch of plan, and how far the frames and the tails of hatches must keep from it [mm]."""

    patch: tuple[Plan2, ...]
    gap: float
    frames: bool = True
    tails: bool = False
    spans: bool = False  # it may lie under an opening


@dataclass(frozen=True)
class Ground:
    """A sole's outline as a polygon, what stays in it, and the gaps that are asked for [mm]."""

    outline: Any
    standing: tuple[Standing, ...]
    land: float
    flanges: float


@dataclass(frozen=True)
class Put:
    """A hatch put down."""

    centre: Plan2
    turned: bool = False


Arrangement = Mapping[str, Put]


@dataclass
class Search:
    """All ways in which some hatches of a sole can be put down while the others stay."""

    ground: Ground
    plots: Mapping[str, Plot]
    movable: Sequence[str]
    lures: Sequence[Plan2] = ()  # places that some hatch should come near to
    left: int = LOOKS
    _free: dict[tuple[str, bool], Any] = field(default_factory=dict)

    def found(self) -> list[Arrangement]:
        """Arrangements, the one with the least moving first; each differs in some place."""
        made: dict[tuple[Any, ...], tuple[float, Arrangement]] = {}
        names = sorted(self.movable, key=lambda n: -self.plots[n].half[0] * self.plots[n].half[1])
        for order in permutations(names) if len(names) <= FEW else [tuple(names)]:
            for one in self._put(order, {}):
                cost = sum(self.cost(name, put) for name, put in one.items())
                made.setdefault(tuple(sorted((n, p.centre, p.turned) for n, p in one.items())), (cost, one))
        return [one for _, one in sorted(made.values(), key=lambda m: m[0])]

    def cost(self, name: str, put: Put) -> float:
        """How far a hatch is moved [mm], a turn counted in."""
        return math.dist(put.centre, self.plots[name].centre) + TURNING * put.turned

    def _put(self, names: Sequence[str], down: dict[str, Put]) -> Iterator[dict[str, Put]]:
        if not names:
            yield dict(down)
            return
        for put in self._places(names[0], down):
            if self.left <= 0:
                return
            self.left -= 1
            yield from self._put(names[1:], {**down, names[0]: put})

    def _places(self, name: str, down: Mapping[str, Put]) -> list[Put]:
        """Where a hatch may go once others are down, the nearest first; as it stands where that will do."""
        from shapely import get_coordinates
        from shapely.geometry import Point
        from shapely.ops import nearest_points

        plot, found = self.plots[name], []
        for turned in (False, True) if abs(plot.half[0] - plot.half[1]) > 1e-6 else (False,):
            free = self._free_of(name, turned)
            for other, put in down.items():
                free = free.difference(self._round(other, put, name, turned))
            if free.is_empty:
                continue
            here = Point(*plot.centre)
            near, _ = nearest_points(free, here)
            guides = _guides(free, [plot.centre, *(p.centre for p in down.values())])
            level = [free.intersection(line) for line in guides]
            spots = sorted({(x, y) for shape in (free, *level) for x, y in get_coordinates(shape).tolist()},
                           key=lambda s: (math.dist(s, plot.centre), s))
            stays = not turned and free.distance(here) < SLACK
            places = [plot.centre] if stays else [(float(near.x), float(near.y))]
            lured = (nearest_points(free, Point(*lure))[0] for lure in self.lures)
            places += [(float(spot.x), float(spot.y)) for spot in lured]
            for x, y in (*places, *_apart(spots)):
                at = (x, y) if (x, y) == plot.centre else (float(round(x)), float(round(y)))
                if Put(at, turned) not in found:
                    found.append(Put(at, turned))
        return sorted(found, key=lambda put: self.cost(name, put))

    def _free_of(self, name: str, turned: bool) -> Any:
        """The middles at which a hatch lies clear of all that stays."""
        if (name, turned) not in self._free:
            plot, ground = self.plots[name], self.ground
            core = plot.core(turned)
            need = max(plot.rebate + ground.land, plot.flange + ground.flanges)
            free = _within(ground.outline, core, need + SLACK)
            taken = [_barred(plot, core, turned, one) for one in ground.standing]
            taken += [self._round(other, Put(p.centre), name, turned)
                      for other, p in self.plots.items() if other not in self.movable]
            self._free[name, turned] = free.difference(_union(taken)) if taken else free
        return self._free[name, turned]

    def _round(self, other: str, put: Put, name: str, turned: bool) -> Any:
        """The middles at which a hatch would lie too near to another that is down."""
        one, two = self.plots[other], self.plots[name]
        there = [(x + put.centre[0], y + put.centre[1]) for x, y in one.core(put.turned)]
        need = max(one.rebate + two.rebate + self.ground.land, one.flange + two.flange + self.ground.flanges)
        return _swept(there, two.core(turned)).buffer(need + SLACK, 32)


def kind(plots: Mapping[str, Plot], one: Arrangement) -> str:
    """How hatches lie to each other: beside each other across the boat, one behind the other, or neither."""
    spans = []
    for name, put in one.items():
        core = plots[name].core(put.turned)
        half = [max(p[k] for p in core) + plots[name].rebate for k in (0, 1)]
        spans.append([(put.centre[k] - half[k], put.centre[k] + half[k]) for k in (0, 1)])
    share = [max(s[k][0] for s in spans) < min(s[k][1] for s in spans) for k in (0, 1)]
    return KINDS[0] if share[0] else KINDS[1] if share[1] else KINDS[2]


def parted(a: Any, b: Any) -> tuple[float, Plan2]:
    """Signed gap between two convex shapes in plan [mm], and the direction in which b goes away from a.

    Less than 0 where they overlap, by the shortest way that takes them apart.
    """
    from shapely import get_coordinates
    from shapely.geometry import MultiPoint, Point
    from shapely.ops import nearest_points

    # all that b's corners less a's corners can be: nought lies in it where the two overlap
    swept = MultiPoint([(x - u, y - v) for x, y in get_coordinates(b) for u, v in get_coordinates(a)]).convex_hull
    nought = Point(0.0, 0.0)
    edge, _ = nearest_points(swept.exterior if swept.geom_type == "Polygon" else swept, nought)
    far = math.hypot(edge.x, edge.y)
    sign = -1.0 if swept.contains(nought) else 1.0
    if far > 1e-9:
        return sign * far, (sign * edge.x / far, sign * edge.y / far)
    x, y = b.centroid.x - a.centroid.x, b.centroid.y - a.centroid.y
    far = math.hypot(x, y)
    return 0.0, (x / far, y / far) if far > 1e-9 else (1.0, 0.0)


def _guides(free: Any, centres: Sequence[Plan2]) -> list[Any]:
    """Lines along and across the boat through some middles: a hatch moved straight, or in line with one, is neat."""
    from shapely.geometry import LineString

    x0, y0, x1, y1 = free.bounds
    return [LineString(ends) for x, y in centres for ends in (((x0, y), (x1, y)), ((x, y0), (x, y1)))]


def _turned(point: Plan2, angle: float) -> Plan2:
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    return c * point[0] - s * point[1], s * point[0] + c * point[1]


def _union(shapes: Sequence[Any]) -> Any:
    from shapely.ops import unary_union

    return unary_union(list(shapes))


def _swept(points: Sequence[Plan2], core: Sequence[Plan2]) -> Any:
    """The hull of points, swept by a rectangle about its middle."""
    from shapely.geometry import MultiPoint

    return MultiPoint([(x + u, y + v) for x, y in points for u, v in core]).convex_hull


def _within(outline: Any, core: Sequence[Plan2], need: float) -> Any:
    """The middles at which a rectangle lies in an outline, so far from its edge."""
    from shapely.geometry import Polygon

    inner = outline.buffer(-need, 32)
    if inner.is_empty:
        return Polygon()
    parts = list(inner.geoms) if hasattr(inner, "geoms") else [inner]
    edges = [list(ring.coords) for part in parts for ring in (part.exterior, *part.interiors)]
    bands = [_swept(pair, core) for ring in edges for pair in zip(ring, ring[1:], strict=False)]
    return inner.difference(_union(bands))


def _barred(plot: Plot, core: Sequence[Plan2], turned: bool, one: Standing) -> Any:
    """The middles at which a hatch would lie on something that stays."""
    from shapely.affinity import translate
    from shapely.geometry import MultiPoint, Polygon

    barred = []
    if one.frames:
        outside = _swept(one.patch, core).buffer(plot.flange + one.gap + SLACK, 32)
        radius = plot.opening - one.gap - SLACK
        if one.spans:
            opening = MultiPoint(core).convex_hull.buffer(radius, 32)
            over = [translate(opening, x, y) for x, y in MultiPoint(one.patch).convex_hull.exterior.coords]
            inside = over[0]
            for each in over[1:]:
                inside = inside.intersection(each)
            outside = outside.difference(inside)
        barred.append(outside)
    if one.tails:
        hull = MultiPoint(one.patch).convex_hull
        for tail in plot.tails:
            x, y = plot.tail(tail, turned)
            barred.append(translate(hull.buffer(tail.radius + one.gap + SLACK, 32), -x, -y))
    return _union(barred) if barred else Polygon()


def _apart(spots: Sequence[Plan2]) -> list[Plan2]:
    """The first of some points, those left out that lie within a centimetre of one before."""
    kept: list[Plan2] = []
    for spot in spots:
        if all(math.dist(spot, other) > 10.0 for other in kept):
            kept.append(spot)
        if len(kept) == CORNERS:
            break
    return kept
