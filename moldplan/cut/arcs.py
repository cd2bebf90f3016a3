"""Curves as arcs: as few as can be found that keep to a narrow band about the curve, each tangent to the next.

In       a smooth flat curve as a function of its parameter, the tolerance [mm], whether its ends keep their direction.
Out      segments from one end of the curve to the other, or round it.
Not here the band (channel.py), corners and chains of edges (profile.py), a bound from below (arc_bound.py).

The joints lie within the band, not on the curve: that takes about 0.69 times the arcs of pairs that return to the curve
after every second one. From either end each arc leaves the one before it where it comes furthest; where the two runs
overlap, the circle that touches one arc of either joins them. The pair with the fewest arcs in all is taken.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from moldplan.cut.channel import PER_ARC, Channel, Gates, Numbers
from moldplan.cut.piece import Point
from moldplan.cut.segment import Segment

LOOKS = 10  # branches tried along an arc, and again beside the best
FAN = 41  # directions tried at an end whose direction is free
THIN = 8  # of them, and places, where two arcs are to do
SHARES = (0.05, 0.2, 0.35, 0.5, 0.65, 0.8, 0.95)  # of the room for a curvature
NEARLY = 0.9  # a line that runs this share as far is taken for an arc that hardly bends
FLATTEST = 1e5  # mm; an arc flatter than that which hardly bends is drawn as a line: ours, machines refuse such
BARELY = 1e-5  # a bulge below this is none: the line turns from the arc's ends by 0.001 deg
MOST = 2000  # arcs in one run; a curve that needs more is none to cut


@dataclass(frozen=True)
class _Arc:
    """An arc from `at`, on `gate` or past it by less than one, that may run as far as gate `reach`."""

    at: Point
    heading: Point
    curvature: float
    gate: int
    reach: float


@dataclass(frozen=True)
class _End:
    """What the arcs start from: directions (m, 2) that the first may take at the channel's first point."""

    channel: Channel
    headings: Numbers

    @cached_property
    def run(self) -> list[_Arc]:
        """Arcs that go on as far as they can, up to the channel's other end."""
        import numpy as np

        at = np.repeat(self.channel.points[:1], len(self.headings), axis=0)
        return _run(self.channel, _furthest(self.channel, at, self.headings, np.zeros(len(at), dtype=int)))


@dataclass(frozen=True)
class _Targets:
    """Arcs met backwards, one or as many as the arcs that are to touch them: as _Arc, each an array."""

    at: Numbers  # (m, 2)
    heading: Numbers  # (m, 2)
    curvature: Numbers  # (m)
    gate: Gates  # (m)
    reach: Numbers  # (m)

    @staticmethod
    def of(arc: _Arc) -> _Targets:
        import numpy as np

        return _Targets(np.array([arc.at]), np.array([arc.heading]), np.array([arc.curvature]), np.array([arc.gate]),
                        np.array([arc.reach]))

    def one(self, index: int) -> _Arc:
        (x, y), (u, v) = self.at[index].tolist(), self.heading[index].tolist()
        return _Arc((x, y), (u, v), float(self.curvature[index]), int(self.gate[index]), float(self.reach[index]))


@dataclass(frozen=True)
class _Join:
    """The arc that joins two runs: leaves the one at `at`, touches the other at `touch`."""

    at: Point
    heading: Point
    touch: Point
    touching: Point
    which: int  # of the places it might have left
    middle: float  # how near the middle of the band it keeps: 0 at its edge, 1/2 along its middle


def arcs(channel: Channel, *, free: tuple[bool, bool] = (False, False)) -> tuple[Segment, ...]:
    """The fewest tangent arcs found in an open channel, from its first point to its last; () where none are found.

    `free`: whether the direction at the start and at the end may differ from the curve's, as at a corner.
    """
    start, end = (_End(ch, _headings(ch, loose)) for ch, loose in zip((channel, channel.back), free, strict=True))
    single = _single(start, end)
    if single is not None:
        return (single,)
    for ahead, behind in _splits(start.run, end.run, channel.last):
        chain = _joined(start, end, ahead, behind)
        if chain:
            return chain
    return ()


def loop_arcs(channel: Channel) -> tuple[Segment, ...]:
    """The fewest tangent arcs found round a closed curve, whose channel is three laps long; () where none are found."""
    best: tuple[Segment, ...] = ()
    warm = _run(channel, _End(channel, channel.directions[:1]).run[0], short_of=channel.laps)
    for first in warm[2:5] or warm[-1:]:
        chain = _round(channel, first)
        if chain and (not best or len(chain) < len(best)):
            best = chain
    return best


def _round(channel: Channel, first: _Arc) -> tuple[Segment, ...]:
    """Once round from an arc back to itself."""
    lap, last = channel.laps, channel.last
    run = _run(channel, first, short_of=first.gate + 2 * lap)
    if len(run) < 3:
        return ()
    leaves = run[1]
    mirror = (-leaves.heading[0], -leaves.heading[1])
    gate = last - (leaves.gate + lap)
    bent = -first.curvature
    back = _Arc(leaves.at, mirror, bent, gate, _stays(channel.back, leaves.at, mirror, bent, gate))
    behind = _run(channel.back, back, short_of=gate + lap / 3)
    for i, j in _splits(run, behind, last):
        if i >= 2 and j >= 1:
            join = _join(channel, *_branches(channel, run[i - 1]), _Targets.of(behind[j - 1]))
            if join is not None:
                return _chain(run[1:i], join, behind[:j])
    return ()


def _stays(channel: Channel, at: Point, heading: Point, curvature: float, gate: int) -> float:
    """The last gate that an arc of a given curvature crosses."""
    import numpy as np

    low, high, ahead = channel.bounds(np.array([at]), np.array([heading]), gate + 1, len(channel.points))
    good = (low[0] <= curvature) & (curvature <= high[0]) & ahead[0]
    return float(gate + (len(good) if good.all() else int(np.argmin(good))))


def _headings(channel: Channel, free: bool) -> Numbers:
    """The directions an arc may take at the channel's first point: the curve's, and if free a fan about it."""
    import numpy as np

    own = channel.directions[:1]
    if not free:
        return own
    reach, _ = channel.reach(channel.points[:1], own, np.zeros(1, dtype=int), len(channel.points))
    far = channel.points[max(1, int(reach[0]))] - channel.points[0]
    most = min(0.5, 6 * float(channel.halves[0]) / max(float(np.hypot(*far)), 1e-9))
    turn = np.linspace(-most, most, FAN)
    c, s, (x, y) = np.cos(turn), np.sin(turn), own[0]
    return np.stack([c * x - s * y, s * x + c * y], axis=-1)


def _furthest(channel: Channel, at: Numbers, headings: Numbers, gates: Gates) -> _Arc:
    """Of the arcs from each `at` (m, 2) the one that runs furthest."""
    import numpy as np

    window = 2 * PER_ARC
    while True:
        reach, curvature = channel.reach(at, headings, gates, window)
        best = int(np.argmax(reach))
        if reach[best] < gates.min() + window or reach[best] >= channel.last:
            break
        window *= 2
    (x, y), (u, v) = at[best].tolist(), headings[best].tolist()
    arc = _Arc((x, y), (u, v), float(curvature[best]), int(gates[best]), float(reach[best]))
    return _straightened(channel, arc)


def _straightened(channel: Channel, arc: _Arc) -> _Arc:
    """A line in place of an arc that hardly bends, where it runs nearly as far or the arc is too flat to be one."""
    far = min(int(arc.reach), channel.last)
    sag = abs(arc.curvature) * math.dist(arc.at, channel.points[far].tolist()) ** 2 / 8
    if arc.curvature == 0 or sag > channel.halves[far]:
        return arc
    reach = _stays(channel, arc.at, arc.heading, 0.0, arc.gate)
    flat = abs(arc.curvature) < 1 / FLATTEST and 2 * sag < channel.halves[far]
    near = reach - arc.gate >= NEARLY * (arc.reach - arc.gate)
    return replace(arc, curvature=0.0, reach=reach) if flat or near else arc


def _onward(channel: Channel, arc: _Arc) -> _Arc:
    """The arc that leaves this one where it then comes furthest."""
    import numpy as np

    low, high = arc.gate + 1, min(int(arc.reach), channel.last)
    stride = max(1, (high - low) // LOOKS)
    gates = np.arange(high, low - 1, -stride)
    best = _furthest(channel, *channel.on_arc(arc.at, arc.heading, arc.curvature, gates), gates)
    if stride > 1:
        gates = np.arange(max(low, best.gate - stride + 1), min(high, best.gate + stride - 1) + 1)
        finer = _furthest(channel, *channel.on_arc(arc.at, arc.heading, arc.curvature, gates), gates)
        best = finer if finer.reach > best.reach else best
    return best


def _run(channel: Channel, first: _Arc, short_of: float = math.inf) -> list[_Arc]:
    """Arcs one after the other, each as far as it goes, until one reaches the end, or the gate given."""
    run = [first]
    while run[-1].reach < min(channel.last, short_of) and len(run) < MOST:
        if int(run[-1].reach) <= run[-1].gate:
            break
        following = _onward(channel, run[-1])
        if following.reach <= run[-1].reach:
            break
        run.append(following)
    return run


def _splits(run: Sequence[_Arc], back: Sequence[_Arc], last: int) -> Iterator[tuple[int, int]]:
    """How many arcs of either run to keep beside the one that joins them: the fewest in all first.

    An arc that joins goes no further than the run itself would; pairs too far apart for that are left out.
    """
    for total in range(len(run) + len(back) + 1):
        pairs = [(i, total - i) for i in range(total + 1) if i <= len(run) and total - i <= len(back)]
        for i, j in sorted(pairs, key=lambda pair: abs(pair[0] - pair[1])):
            ahead = run[i].reach if i < len(run) else math.inf
            behind = back[j].reach if j < len(back) else math.inf
            if ahead >= last - (back[j - 1].reach if j else 0) and behind >= last - (run[i - 1].reach if i else 0):
                yield i, j


def _joined(start: _End, end: _End, i: int, j: int) -> tuple[Segment, ...]:
    """The first `i` arcs from the start, the first `j` from the end, and one between; () where none fits."""
    if i == j == 0:
        return ()
    if i == 1 and j == 0 or i == 0 and j == 1:
        return _pair(start, end)
    if j == 0:
        return tuple(s.reversed() for s in reversed(_joined(end, start, j, i)))
    origin = _fan(start) if i == 0 else _branches(start.channel, start.run[i - 1])
    join = _join(start.channel, *origin, _Targets.of(end.run[j - 1]))
    return () if join is None else _chain(start.run[:i], join, end.run[:j])


def _fan(end: _End) -> tuple[Numbers, Numbers, Gates]:
    import numpy as np

    count = len(end.headings)
    return np.repeat(end.channel.points[:1], count, axis=0), end.headings, np.zeros(count, dtype=int)


def _branches(channel: Channel, arc: _Arc) -> tuple[Numbers, Numbers, Gates]:
    """Points of an arc on its gates, its headings there, and the gates."""
    import numpy as np

    gates = np.arange(arc.gate + 1, min(int(arc.reach), channel.last) + 1)
    return (*channel.on_arc(arc.at, arc.heading, arc.curvature, gates), gates)


def _touching(at: Numbers, heading: Numbers, onto: _Targets) -> tuple[Numbers, Numbers, Numbers]:
    """Curvatures of the arcs from each `at` (m, 2) that touch an arc met backwards; where, and their normals there.

    Two circles walked the same way touch when their centres lie apart by the difference of their signed radii; with
    v from one point to the other and n, m the normals there, that is k (g v.v + 2 v.m) = 2 (g v.n - (1 - n.m)).
    """
    import numpy as np

    g = -onto.curvature
    m = np.stack([onto.heading[:, 1], -onto.heading[:, 0]], axis=-1)  # left of the heading turned round
    n = np.stack([-heading[:, 1], heading[:, 0]], axis=-1)
    v = onto.at - at
    power = g * (v * v).sum(axis=1) + 2 * (v * m).sum(axis=1)
    power = np.where(np.abs(power) < 1e-15, 1e-15, power)
    k = (2 * g * (v * n).sum(axis=1) - ((n - m) ** 2).sum(axis=1)) / power
    apart = np.where(np.abs(g - k) < 1e-15, 1e-15, g - k)
    normal = (g[:, None] * n - k[:, None] * m - (g * k)[:, None] * v) / apart[:, None]
    by_own = at + (n - normal) / np.where(k == 0, 1.0, k)[:, None]
    by_other = onto.at + (m - normal) / np.where(g == 0, 1.0, g)[:, None]
    return k, np.where((np.abs(k) > np.abs(g))[:, None], by_own, by_other), normal


def _join(channel: Channel, at: Numbers, heading: Numbers, gates: Gates, onto: _Targets) -> _Join | None:
    """The arc from one of `at` (m, 2) that touches an arc met backwards, within the band, nearest to its middle."""
    import numpy as np

    k, touch, normal = _touching(at, heading, onto)
    low, high = np.ceil(channel.last - onto.reach).astype(int), channel.last - onto.gate
    met = channel.gate_of(touch, max(0, int(low.min())), int(high.max()) + 1)
    sag = np.abs(k) * ((touch - at) ** 2).sum(axis=1) / 8
    flat = (np.abs(k) < 1 / FLATTEST) & (2 * sag < channel.halves.max()) & (np.abs(k) * FLATTEST > 1e-4)
    fit = np.flatnonzero((met >= np.maximum(low, gates + 1)) & (met < high) & np.isfinite(k) & ~flat
                         & (np.abs(np.hypot(normal[:, 0], normal[:, 1]) - 1) < 1e-3))
    if not len(fit):
        return None
    first, end = int(gates[fit].min()) + 1, int(met[fit].max()) + 1
    least, most, ahead = channel.bounds(at[fit], heading[fit], first, end)
    number, bent = np.arange(first, end), k[fit, None]
    away = (number <= gates[fit, None]) | (number > met[fit, None])
    middle = np.where(ahead, np.minimum(bent - least, most - bent) / (most - least), -1.0)
    least_middle = np.where(away, 1.0, middle).min(axis=1)
    best = int(np.argmax(least_middle))
    if least_middle[best] < 0:
        return None
    (x, y), (u, v), (p, q), (a, b) = (each[fit[best]].tolist() for each in (at, heading, touch, normal))
    return _Join((x, y), (u, v), (p, q), (b, -a), int(fit[best]), float(least_middle[best]))


def _chain(run: Sequence[_Arc], join: _Join, back: Sequence[_Arc]) -> tuple[Segment, ...]:
    """Arcs of two runs and the one that joins them, as segments from the start of one to the start of the other."""
    spots = [(arc.at, arc.heading) for arc in run]
    spots += [(join.at, join.heading), (join.touch, join.touching)]
    spots += [(arc.at, (-arc.heading[0], -arc.heading[1])) for arc in reversed(back)]
    return tuple(_segment(at, heading, after[0]) for (at, heading), after in zip(spots, spots[1:], strict=False))


def _segment(at: Point, heading: Point, end: Point) -> Segment:
    """The arc that leaves a point in a direction and ends at another."""
    dx, dy = end[0] - at[0], end[1] - at[1]
    half = math.atan2(heading[0] * dy - heading[1] * dx, heading[0] * dx + heading[1] * dy)
    bulge = math.tan(half / 2)
    return Segment(at, end, 0.0 if abs(bulge) < BARELY else bulge)


def _single(start: _End, end: _End) -> Segment | None:
    """One arc from end to end, where one does that ends in a direction it may."""
    import numpy as np

    channel = start.channel
    at, headings, _ = _fan(start)
    v = channel.points[-1] - channel.points[0]
    chord = v / math.hypot(*v.tolist()) if v.any() else v
    ending = 2 * (headings @ chord)[:, None] * chord - headings
    low, high, ahead = channel.bounds(at, headings, 1, channel.last)
    k = 2 * (headings[:, 0] * v[1] - headings[:, 1] * v[0]) / max(float(v @ v), 1e-300)
    middle = np.where(ahead, np.minimum(k[:, None] - low, high - k[:, None]) / (high - low), -1.0).min(axis=1)
    if len(end.headings) == 1:
        middle[np.hypot(*(ending + end.headings[0]).T) > BARELY] = -1.0
    best = int(np.argmax(middle))
    if middle[best] < 0:
        return None
    (x, y), (u, w), (p, q) = (each.tolist() for each in (at[best], headings[best], channel.points[-1]))
    return _segment((x, y), (u, w), (p, q))


def _pair(start: _End, end: _End) -> tuple[Segment, ...]:
    """Two arcs from end to end, the first of any curvature that goes some of the way."""
    import numpy as np

    channel = start.channel
    ahead = start.headings[:: max(1, len(start.headings) // THIN)]
    low, high, _ = channel.bounds(np.repeat(channel.points[:1], len(ahead), axis=0), ahead, 1, channel.last)
    low, high = np.maximum.accumulate(low, axis=1), np.minimum.accumulate(high, axis=1)
    gates = np.unique(np.linspace(1, channel.last - 1, THIN).astype(int))
    which, gate, share = (each.ravel() for each in np.meshgrid(np.arange(len(ahead)), gates, SHARES, indexing="ij"))
    k = low[which, gate - 1] + share * (high - low)[which, gate - 1]
    fit = np.flatnonzero((high - low)[which, gate - 1] >= 0)
    behind = end.headings[:: max(1, len(end.headings) // THIN)]
    a, b = (each.ravel() for each in np.meshgrid(fit, np.arange(len(behind)), indexing="ij"))
    onto = _Targets(np.repeat(channel.points[:1], len(a), axis=0), ahead[which[a]], k[a], np.zeros(len(a), dtype=int),
                    gate[a].astype(float))
    if not len(a):
        return ()
    ends = np.repeat(end.channel.points[:1], len(a), axis=0)
    join = _join(end.channel, ends, behind[b], np.zeros(len(a), dtype=int), onto)
    if join is None:
        return ()
    return tuple(s.reversed() for s in reversed(_chain([], join, [onto.one(join.which)])))
