"""What is under the sole: does a hatch touch it, and does an arm reach what it must through some hatch?

In       Assembly, Spec.
Out      findings "below" (least distance of frame and drains to each thing), "reach" (one a target), "depth".
Not here the layout in plan (sole_layout.py).

Reach: the shortest way from the opening's plane to the target, straight where nothing is in between, else round the
things below by way of points beside them. Things below are boxes and round bars, so what is in between is told in
closed form; the way round is the shortest over the points tried, so it may be a little long, never short.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from heapq import heappop, heappush
from itertools import product

from moldplan.check.hatch_spot import HatchSpot, spots
from moldplan.check.limits import bound
from moldplan.finding import Edit, Finding, Move, Source
from moldplan.shape.assembly import Assembly, SolePlace
from moldplan.shape.body import Vector
from moldplan.spec.model import Spec
from moldplan.spec.sole import Below, Target

ARM = 45.0  # mm, half an arm's width: the opening is entered that far inside its edge, things passed that far off; ours
SPREAD = 7  # places across an opening, each way
NO_WAY = 9999.0  # mm, told where no way was found at all


def below(assembly: Assembly, spec: Spec) -> list[Finding]:
    """Everything about what lies under each sole."""
    found: list[Finding] = []
    for sole in assembly.soles:
        own = [spot for spot in spots(assembly, spec) if spot.place.sole == sole.name]
        for spot in own:
            found += [_clear(spot, name, body) for name, body in sole.below.items()]
            found += _depth(spot)
        found += [_reached(sole, own, name, target, spec) for name, target in sole.sole.targets.items()]
    return found


def _clear(spot: HatchSpot, name: str, body: str) -> Finding:
    """Least distance of a hatch's frame and drains to one thing below."""
    from moldplan.check.gap import least, place

    limit = bound("below-gap", spot.spec)
    thing = spot.assembly.body(body).solid
    parts = [spot.molding, *(spot.assembly.body(t) for t in spot.place.tubes)]
    near = min((least(p.solid, thing) for p in parts), key=lambda g: g.size)
    inside = any(p.solid.intersect(thing).Volume() > 1.0 for p in parts) if near.size < 1e-6 else False
    measured = -1.0 if inside else near.size
    return limit.finding(check="below", part=spot.name, what=f"clear of {name}", measured=measured,
                         path=(*spot.path, "centre"), at=place(near.start),
                         moves=_aside(spot, name, limit.short(measured)),
                         note=f"it cuts into {name}" if inside else
                              f"{near.size:.1f} mm from frame and drains to {name}")


def _aside(spot: HatchSpot, name: str, by: float) -> tuple[Move, ...]:
    """The gutter made less deep by what is missing; the hatch moved clear in plan, the shortest way first."""
    if by <= 0:
        return ()
    from moldplan.check.sole_layout import rectangle

    limit, flange = bound("below-gap", spot.spec), spot.flange
    x0, y0, x1, y1 = rectangle(spot, flange).buffer(flange.radius).bounds
    low, high = _box(_block(spot.sole.sole.below[name]))
    free = limit.value + 1.0
    ways = [(high[0] + free - x0, (1, 0)), (x1 + free - low[0], (-1, 0)), (high[1] + free - y0, (0, 1)),
            (y1 + free - low[1], (0, -1))]
    x, y = spot.place.hatch.centre
    moves = []
    for exact, (dx, dy) in sorted(ways):
        far = math.ceil(exact)
        to = (round(x + far * dx, 1), round(y + far * dy, 1))
        moves.append(Move(f"move it {far} mm clear of {name}, to {{to}}", (Edit((*spot.path, "centre"), to),)))
    depth = spot.place.hatch.gutter.depth - math.ceil(by + 1e-9)
    if depth >= 10:
        moves.insert(0, Move("a gutter {to} mm deep", (Edit((*spot.path, "gutter", "depth"), depth),)))
    return tuple(moves)


def _depth(spot: HatchSpot) -> list[Finding]:
    """The lowest point of frame and drains against the depth there is below the sole."""
    room = spot.sole.sole.depth_below
    if room is None:
        return []
    bodies = [spot.molding, *(spot.assembly.body(t) for t in spot.place.tubes)]
    deepest = -min(spot.own(v.toTuple())[2] for b in bodies for v in b.solid.Vertices())
    path = ("soles", spot.sole.name, "depth_below")
    found = Finding(
        check="below", part=spot.name, what="depth", measured=round(deepest, 6), limit=room, sense="at_most", unit="mm",
        source=Source.spec(f"soles.{spot.sole.name}.depth_below"), path=path,
        at=spot.at((0.0, 0.0, -deepest)),
        note=f"its frame or a drain's tail reaches {deepest:.1f} mm below the sole, {room:g} mm are there",
        moves=_shorter_tails(spot, deepest - room))
    return [found]


def _shorter_tails(spot: HatchSpot, by: float) -> tuple[Move, ...]:
    """All drains written out with tails shorter by what is missing: they may have been left to the program."""
    if by <= 0:
        return ()
    drains = {name: drain.model_dump(warnings=False) | {"spigot": max(math.floor(drain.spigot - by), 0)}
              for name, drain in spot.place.hatch.drains.items()}
    tail = min(drain["spigot"] for drain in drains.values())
    return (Move(f"drains with tails {tail:g} mm long", (Edit((*spot.path, "drains"), drains),)),)


def _reached(sole: SolePlace, own: list[HatchSpot], name: str, target: Target, spec: Spec) -> Finding:
    """The hatch through which an arm reaches a target with the most to spare."""
    blocks = [_block(item) for item in sole.sole.below.values() if not _holds(item, target.at)]
    ways = sorted(((_reach(spot, target.at, blocks), spot) for spot in own), key=lambda w: w[0])
    path = ("soles", sole.name, "targets", name)
    source = Source.spec(f"soles.{sole.name}.targets.{name}.arm")
    if not ways:
        return Finding(check="below", part=sole.name, what=f"reach to {name}", measured=None, limit=target.arm,
                       sense="at_most", unit="mm", source=source, path=path, skipped="the sole has no hatch")
    length, spot = ways[0]
    note = (f"{name} is {length:.0f} mm from the opening of {spot.path[-1]}, an arm reaches {target.arm:g}"
            if length < NO_WAY else f"no way to {name} was found through any hatch")
    return Finding(check="below", part=sole.name, what=f"reach to {name}", measured=round(length, 3), limit=target.arm,
                   sense="at_most", unit="mm", source=source, path=path,
                   at=dict(zip("xyz", target.at, strict=True)), note=note,
                   moves=_nearer(ways, target, length - target.arm))


def _nearer(ways: list[tuple[float, HatchSpot]], target: Target, by: float) -> tuple[Move, ...]:
    """A hatch moved towards the target in plan, by what is missing and then by more."""
    if by <= 0:
        return ()
    found = []
    for _, spot in ways:
        (x, y), (tx, ty, _) = spot.place.hatch.centre, target.at
        away = math.hypot(tx - x, ty - y)
        for share in (1.0, 1.5, 2.5, 4.0):
            step = min(math.ceil(min(by, away) * share), away)
            if away > 1e-6:
                to = (round(x + (tx - x) * step / away, 1), round(y + (ty - y) * step / away, 1))
                found.append(Move(f"move {spot.path[-1]} towards it, to {{to}}", (Edit((*spot.path, "centre"), to),)))
    return tuple(found)


Box = tuple[Vector, Vector]
Bar = tuple[Vector, Vector, float]


def _block(item: Below) -> Box | Bar:
    """A thing below as a box (low, high) or a round bar (foot, head, radius)."""
    if item.base is not None and item.top is not None and item.diameter is not None:
        return item.base, item.top, item.diameter / 2
    assert item.from_ is not None and item.to is not None
    pairs = list(zip(item.from_, item.to, strict=True))
    low, high = tuple(map(min, pairs)), tuple(map(max, pairs))
    return (low[0], low[1], low[2]), (high[0], high[1], high[2])


def _box(block: Box | Bar) -> Box:
    """The level box round a thing."""
    if len(block) == 2:
        return block
    foot, head, radius = block
    pairs = list(zip(foot, head, strict=True))
    low, high = [min(p) - radius for p in pairs], [max(p) + radius for p in pairs]
    return (low[0], low[1], low[2]), (high[0], high[1], high[2])


def _holds(item: Below, point: Vector) -> bool:
    """Whether a target lies in or on a thing below: that thing does not stand in its own way."""
    return not _free(point, point, _block(item), margin=5.0)


def _reach(spot: HatchSpot, goal: Vector, blocks: list[Box | Bar]) -> float:
    """Length of the shortest way found from an opening's plane to a point [mm]; NO_WAY where there is none."""
    starts = [s for s in _entries(spot) if all(_free(s, s, b, margin=0.0) for b in blocks)]
    nodes: list[Vector] = [goal, *(p for b in blocks for p in _beside(b) if p[2] < spot.place.frame.origin[2] - ARM)]
    best: dict[int, float] = {}
    heap = [(0.0, 0)]
    while heap:
        far, node = heappop(heap)
        if node in best:
            continue
        best[node] = far
        for other in range(len(nodes)):
            if other not in best and all(_free(nodes[node], nodes[other], b, margin=0.0) for b in blocks):
                heappush(heap, (far + math.dist(nodes[node], nodes[other]), other))
    return min((far + math.dist(nodes[n], s) for n, far in best.items() for s in starts
                if all(_free(nodes[n], s, b, margin=0.0) for b in blocks)), default=NO_WAY)


def _entries(spot: HatchSpot) -> Iterator[Vector]:
    """Places in the opening, at the landing's level, an arm's half width inside its edge."""
    half = [max(h - ARM, 0.0) for h in spot.opening.half]
    for i, j in product(range(SPREAD), repeat=2):
        u, v = (half[k] * (2 * n / (SPREAD - 1) - 1) for k, n in ((0, i), (1, j)))
        yield spot.place.frame.place((u, v, -spot.landing))


def _beside(block: Box | Bar) -> Iterator[Vector]:
    """Points beside a thing, an arm's half width off: corners, middles of edges and faces of its box."""
    low, high = _box(block)
    ends = [(a - ARM, (a + b) / 2, b + ARM) for a, b in zip(low, high, strict=True)]
    for i, j, k in product(range(3), repeat=3):
        if (i, j, k) != (1, 1, 1):
            yield ends[0][i], ends[1][j], ends[2][k]


def _free(a: Vector, b: Vector, block: Box | Bar, *, margin: float) -> bool:
    """Whether the straight line from a to b stays outside a thing, by a margin [mm]; in closed form."""
    if len(block) == 3:
        foot, head, radius = block
        return _between_lines(a, b, foot, head) >= radius + margin
    low, high = block
    enter, leave = 0.0, 1.0
    for p, q, near, far in zip(a, b, low, high, strict=True):
        near, far, run = near - margin, far + margin, q - p
        if abs(run) < 1e-12:
            if not near < p < far:
                return True
            continue
        first, last = sorted(((near - p) / run, (far - p) / run))
        enter, leave = max(enter, first), min(leave, last)
    return enter >= leave - 1e-12


def _between_lines(a: Vector, b: Vector, c: Vector, d: Vector) -> float:
    """Least distance between two straight lines of finite length [mm] (either may be a point)."""
    u, v, w = (tuple(q - p for p, q in zip(m, n, strict=True)) for m, n in ((a, b), (c, d), (c, a)))
    uu, uv, vv, uw, vw = (sum(p * q for p, q in zip(m, n, strict=True))
                          for m, n in ((u, u), (u, v), (v, v), (u, w), (v, w)))
    spots = [(0.0, 0.0)]
    det = uu * vv - uv * uv
    if det > 1e-12:
        spots.append(((uv * vw - vv * uw) / det, (uu * vw - uv * uw) / det))
    spots += [(s, (vw + s * uv) / vv if vv > 1e-12 else 0.0) for s in (0.0, 1.0)]
    spots += [((t * uv - uw) / uu if uu > 1e-12 else 0.0, t) for t in (0.0, 1.0)]
    best = math.inf
    for s, t in spots:
        s, t = min(max(s, 0.0), 1.0), min(max(t, 0.0), 1.0)
        best = min(best, math.dist([p + s * q for p, q in zip(a, u, strict=True)],
                                   [p + t * q for p, q in zip(c, v, strict=True)]))
    return best
