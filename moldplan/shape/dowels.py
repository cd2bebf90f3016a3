"""Dowel holes that line a stack of lifts up, and the order its lifts go in.

In       the bodies of one stack, lowest first, each with its frame (z = up the stack, origin at its underside).
Out      the same bodies with dowel holes (role "dowel hole"), notes on them, and each one's place in the stack.
Not here how a body falls into lifts (stack.py), the discs of an insert (insert.py).

Two holes hold a sheet. They go where a straight line up the stack meets nothing but joints, a wall's width off all
else, as far apart as can be; and so that no turn and no flip about a lift's middle lays them on each other again. Where
no place goes through the whole stack it is dowelled in runs that share a lift. The holes go through the outermost lifts
too, unless their outer face molds or is not level there: then they are blind, drilled from the joint.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import reduce
from typing import TYPE_CHECKING, Any

from moldplan.shape.body import Body, Frame, Shaped, Vector, rod
from moldplan.shape.mesh import mesh

if TYPE_CHECKING:
    import numpy as np
    from shapely import STRtree
    from shapely.geometry.base import BaseGeometry

DOWEL = 8.0  # mm across; common practice, no source
BLIND = 10.0  # mm deep where a hole does not go through; common practice, no source
HOLE_WALL = 20.0  # mm of material round a hole; ours
NARROW_WALL = 12.0  # mm round a hole in a strip that has no room for more; ours
COVER = 3.0  # mm left over a blind hole at least; ours
SHALLOW = 6.0  # mm: a shallower blind hole holds no dowel; ours
APART = 4 * DOWEL  # mm between two holes of a pair at least; ours
WIDE = 0.6  # a run is ended where one lift more would bring its dowels this much nearer; ours
TOLERANCE = 0.3  # mm that triangles may leave a curved wall
SPARE = 0.5  # mm by which walls are kept wider, for triangles, chords and places to a tenth
LEVEL = 0.01  # mm: what lies nearer to a joint is in it
GRID = 22  # places tried along and across

Plane2 = tuple[float, float]


@dataclass(frozen=True, eq=False)
class _Slab:
    """A lift in its stack's axes: its levels, its triangles (m, 3, 3), and the middle of its hull in plan."""

    low: float
    high: float
    net: np.ndarray
    owner: np.ndarray  # which face each triangle lies on
    middle: Plane2
    whole: bool  # one solid, so that one pair of dowels holds it
    known: dict[tuple[str, float, float], Any] = field(default_factory=dict)

    def face(self, level: float, way: int) -> BaseGeometry:
        """Its level face at a joint, as it lies in plan; `way` 1 looks up, -1 down."""
        if ("face", level, way) not in self.known:
            self.known["face", level, way] = _face(self.net, level, way)
        face: BaseGeometry = self.known["face", level, way]
        return face

    def seams(self, level: float) -> BaseGeometry:
        """The edges of all level faces at a level."""
        import numpy as np
        import shapely

        if ("seams", level, 0.0) not in self.known:
            flat = (np.abs(self.net[:, :, 2] - level) < LEVEL).all(axis=1)
            faces = [shapely.union_all(shapely.polygons(self.net[flat & (self.owner == one)][:, :, :2]))
                     for one in np.unique(self.owner[flat])]
            self.known["seams", level, 0.0] = shapely.union_all([face.boundary for face in faces])
        seams: BaseGeometry = self.known["seams", level, 0.0]
        return seams

    def shadow(self, low: float, high: float) -> STRtree:
        """The shadow in plan of all its surface between two levels."""
        if ("shadow", low, high) not in self.known:
            self.known["shadow", low, high] = _shadow(self.net, low, high)
        shadow: STRtree = self.known["shadow", low, high]
        return shadow


@dataclass(frozen=True)
class _Run:
    """Lifts that one set of dowels goes through: the first and last of them, the holes' ends, where they are."""

    first: int
    last: int
    low: float
    high: float
    spots: tuple[Plane2, ...]
    told_apart: bool  # whether the holes show which face is up
    blind: tuple[tuple[int, float], ...]  # lifts in which the holes are blind, and how deep they are there


def doweled(stack: Sequence[Body], *, keep_top: bool = False, clear_of: Sequence[Vector] = ()) -> list[Body]:
    """The bodies of a stack with their dowel holes and their order; a single one as it is.

    `keep_top`: the upper face of the last one molds, and is not drilled. `clear_of`: points in boat axes that something
    else is drilled at along the stack, kept clear of by the wall's width.
    """
    if len(stack) < 2:
        return list(stack)
    at = stack[0].frame
    slabs = [_slab(body, at) for body in stack]
    screws = [_within(at, point)[:2] for point in clear_of]
    runs, bare = _runs(slabs, keep_top, screws)
    made = []
    for k, body in enumerate(stack):
        own = [run for run in runs if run.first <= k <= run.last]
        rods = [_bore(run, slabs[k], spot).moved(at) for run in own for spot in run.spots]
        notes = [_words(run) for run in own]
        notes += ["no room for a dowel to the next one up: line it up by its edges"] if k in bare else []
        standing = tuple(_long(run) for run in own if run.first == k for _ in run.spots)
        made.append(replace(body, shaped=body.shaped.cut(*rods), notes=(*body.notes, *notes), dowels=standing,
                            order=f"{k + 1} of {len(stack)} from below"))
    return made


def _long(run: _Run) -> float:
    """What its dowels are cut to: whole millimetres, a little short of blind holes [mm]."""
    return float(math.floor(run.high - run.low - (1.0 if run.blind else 0.0) + 1e-6))


def _words(run: _Run) -> str:
    """What a lift says of its dowels."""
    said = f"{len(run.spots)} dowels of {DOWEL:g} mm, {_long(run):g} mm long, line up {run.first + 1} to {run.last + 1}"
    said += "".join(f"; their holes are {round(deep, 5):.1f} mm deep in {lift + 1}" for lift, deep in run.blind)
    return said if run.told_apart else f"{said}; they would go in either face up: go by the label"


def _bore(run: _Run, slab: _Slab, spot: Plane2) -> Shaped:
    """The hole of a run in one of its lifts, as a tool."""
    low = run.low if run.low > slab.low + LEVEL else slab.low - 1
    high = run.high if run.high < slab.high - LEVEL else slab.high + 1
    return rod(DOWEL / 2, (*spot, low), (0.0, 0.0, high - low), "dowel hole")


def _within(at: Frame, point: Sequence[float]) -> Vector:
    """A point of boat axes in a frame's own."""
    away = [p - o for p, o in zip(point, at.origin, strict=True)]
    return tuple(sum(a * b for a, b in zip(away, axis, strict=True)) for axis in (at.x, at.y, at.z))  # type: ignore[return-value]


def _slab(body: Body, at: Frame) -> _Slab:
    import numpy as np
    import shapely

    points, triangles, owner = mesh(body.solid, tolerance=TOLERANCE, angle=30.0)
    own = (points - np.array(at.origin)) @ np.array([at.x, at.y, at.z]).T
    low = _within(at, body.frame.origin)[2]
    middle = shapely.MultiPoint(own[:, :2]).convex_hull.centroid  # goes with every turn and flip of the outline
    high = low + body.thickness if body.thickness else float(own[:, 2].max())
    whole = len(body.solid.Solids()) == 1
    return _Slab(low, high, own[triangles], owner, (middle.x, middle.y), whole)


def _runs(slabs: Sequence[_Slab], keep_top: bool, screws: Sequence[Plane2]) -> tuple[list[_Run], set[int]]:
    """The dowels of a stack, from below, and the lifts that none holds to the next."""
    runs: list[_Run] = []
    bare: set[int] = set()
    first = 0
    while first < len(slabs) - 1:
        taken = [*screws, *(spot for run in runs if run.last == first for spot in run.spots)]
        best = None
        for last in range(len(slabs) - 1, first, -1):
            found = _run(slabs, first, last, keep_top, taken)
            if found and (best is None or _spread(best) < WIDE * _spread(found)):
                best = found
        if best is None:
            bare.add(first)
        else:
            runs.append(best)
        first = best.last if best else first + 1
    return runs, bare


def _spread(run: _Run) -> float:
    return math.dist(run.spots[0], run.spots[1])


def _run(slabs: Sequence[_Slab], first: int, last: int, keep_top: bool, taken: Sequence[Plane2]) -> _Run | None:
    """Dowels through the lifts from `first` to `last`; through their outer faces if that can be, else blind."""
    ends = {"low": [slabs[first].low], "high": [slabs[last].high]}
    if first == 0:
        ends["low"].append(slabs[0].high - _deep(slabs[0]))
    if last == len(slabs) - 1:
        blind = slabs[-1].low + _deep(slabs[-1])
        ends["high"] = [blind] if keep_top else [*ends["high"], blind]
    for wall in (HOLE_WALL, NARROW_WALL):
        for low in ends["low"]:
            for high in ends["high"]:
                if low > slabs[first].high - SHALLOW or high < slabs[last].low + SHALLOW:
                    continue
                pairs = [_pair(spots, [s.middle for s in slabs[first : last + 1]])
                         for spots in _spots(slabs[first : last + 1], low, high, wall, taken)]
                if pairs and all(pairs):
                    spots = tuple(spot for pair in pairs if pair for spot in pair[0])
                    held = [(first, slabs[first].high - low)] if low != slabs[first].low else []
                    held += [(last, high - slabs[last].low)] if high != slabs[last].high else []
                    return _Run(first, last, low, high, spots, all(p[1] for p in pairs if p), tuple(held))
    return None


def _deep(slab: _Slab) -> float:
    return min(BLIND, (slab.high - slab.low) / 2)


def _spots(
    slabs: Sequence[_Slab], low: float, high: float, wall: float, taken: Sequence[Plane2]
) -> list[np.ndarray]:
    """Where a hole from `low` to `high` may have its middle, (n, 2) for each lump that the lifts share; where none of
    them falls in two, for all lumps together."""
    import numpy as np
    import shapely

    need = wall + DOWEL / 2 + SPARE
    faces = [face for a, b in zip(slabs, slabs[1:], strict=False) for face in (a.face(a.high, 1), b.face(b.low, -1))]
    shared = reduce(lambda a, b: a.intersection(b), faces)
    lumps = [lump for lump in getattr(shared, "geoms", [shared]) if lump.area > 1.0]
    rooms = [lump.buffer(-need - 0.1) for lump in lumps]
    whole = all(slab.whole for slab in slabs)
    if all(room.is_empty for room in rooms) or (not whole and any(room.is_empty for room in rooms)):
        return []
    in_the_way = [shapely.STRtree(shapely.points(taken))] if taken else []
    for slab in slabs:
        foot = max(slab.low + LEVEL, low - COVER if low > slab.low + LEVEL else -math.inf)
        head = min(slab.high - LEVEL, high + COVER if high < slab.high - LEVEL else math.inf)
        in_the_way.append(slab.shadow(foot, head))
    ends = [slab.seams(level) for slab in slabs for level in (slab.low, slab.high) if low <= level <= high]
    found = []
    for room, lump in zip(rooms, lumps, strict=True):
        if room.is_empty:
            continue
        spots = _places(room, *_own_axes(lump))
        for seams in ends:  # a hole across a seam comes out of the kernel in pieces, a little out of round
            spots = spots[~shapely.dwithin(seams, shapely.points(spots), DOWEL / 2 + 1.0)]
        for things in in_the_way:
            near = things.query(shapely.points(spots), predicate="dwithin", distance=need)[0]
            spots = np.delete(spots, np.unique(near), axis=0)
        found.append(spots)
    return [np.concatenate(found)] if whole else found


def _face(net: np.ndarray, level: float, way: int) -> BaseGeometry:
    """The level face of a lift at a joint, as it lies in plan."""
    import numpy as np
    import shapely

    flat = (np.abs(net[:, :, 2] - level) < LEVEL).all(axis=1) & (way * _turning(net) > 1e-9)
    # grown by a hair, to close the seams between faces
    return shapely.union_all(shapely.polygons(net[flat][:, :, :2])).buffer(1e-3, join_style="mitre")


def _turning(net: np.ndarray) -> np.ndarray:
    """Twice the area of each triangle in plan [mm2], positive where it looks up."""
    a, b = net[:, 1, :2] - net[:, 0, :2], net[:, 2, :2] - net[:, 0, :2]
    return a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]


def _shadow(net: np.ndarray, low: float, high: float) -> STRtree:
    """The shadow in plan of all surface between two levels: walls as lines, what slopes or lies level as areas."""
    import numpy as np
    import shapely

    near = net[(net[:, :, 2].min(axis=1) < high) & (net[:, :, 2].max(axis=1) > low)]
    upright = abs(_turning(near)) < 1e-6
    inside = (near[:, :, 2].min(axis=1) >= low) & (near[:, :, 2].max(axis=1) <= high)
    lines = shapely.linestrings(near[upright][:, [0, 1, 2, 0], :2])  # a part of a wall has its whole line
    areas = shapely.polygons(near[~upright & inside][:, :, :2])
    clipped = [_clipped(_clipped(list(map(tuple, t)), low, 1.0), high, -1.0)
               for t in near[~upright & ~inside].tolist()]
    parts = [shapely.Polygon([p[:2] for p in ring]) for ring in clipped if len(ring) > 2]
    return shapely.STRtree(np.concatenate([lines, areas, np.array(parts, object)]))


def _clipped(ring: list[tuple[float, ...]], level: float, way: float) -> list[tuple[float, ...]]:
    """What of a flat ring lies over a level (`way` 1), or under it (-1)."""
    kept: list[tuple[float, ...]] = []
    for a, b in zip(ring, [*ring[1:], *ring[:1]], strict=True):
        ha, hb = way * (a[2] - level), way * (b[2] - level)
        if ha >= 0:
            kept.append(a)
        if ha * hb < 0:
            kept.append(tuple(p + (q - p) * ha / (ha - hb) for p, q in zip(a, b, strict=True)))
    return kept


def _pair(spots: np.ndarray, middles: Sequence[Plane2]) -> tuple[tuple[Plane2, Plane2], bool] | None:
    """The two places that lie furthest apart and are told from each other; whether they also show a flip."""
    import numpy as np

    if len(spots) < 2:
        return None
    apart = np.hypot(*(spots[:, None] - spots[None]).transpose(2, 0, 1))
    turned, flipped = np.full(apart.shape, math.inf), np.full(apart.shape, math.inf)
    for middle in {(round(x, 1), round(y, 1)) for x, y in middles}:
        turn, flip = _misses(spots - np.array(middle))
        turned, flipped = np.minimum(turned, turn), np.minimum(flipped, flip)
    for fits, shows in (((turned >= DOWEL) & (flipped >= DOWEL), True), (turned >= DOWEL, False)):
        worth = np.round(np.where(fits & (apart >= APART), apart, 0.0), 3)  # of several alike the first
        if worth.any():
            i, j = divmod(int(worth.argmax()), len(spots))
            return (tuple(map(float, spots[i])), tuple(map(float, spots[j]))), shows  # type: ignore[return-value]
    return None


def _misses(spots: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Of each two places about a middle: by how much the nearest turn, and the nearest flip, misses that does not leave
    them where they are [mm].

    A turn or flip that brings A to B misses by the difference of their distances from the middle. A flip that leaves
    each where it is runs between the two and misses both alike at 2 |A x B| / |A + B|, or with -B for B.
    """
    import numpy as np

    far = np.hypot(spots[:, 0], spots[:, 1])
    swapped = np.abs(far[:, None] - far[None])
    cross = np.abs(spots[:, None, 0] * spots[None, :, 1] - spots[:, None, 1] * spots[None, :, 0])
    sums = np.maximum(*(np.hypot(*(spots[:, None] + way * spots[None]).transpose(2, 0, 1)) for way in (1, -1)))
    return swapped, np.minimum(swapped, 2 * cross / np.maximum(sums, 1e-9))


def _places(room: BaseGeometry, middle: np.ndarray, axes: np.ndarray) -> np.ndarray:
    """Places worth trying in a room, in order along a shape's own axes and to a tenth there: its corners and a grid."""
    import numpy as np
    import shapely

    own = shapely.transform(room, lambda points: (points - middle) @ axes.T)
    x0, y0, x1, y1 = own.bounds
    x, y = np.meshgrid(np.linspace(x0, x1, GRID + 1), np.linspace(y0, y1, GRID + 1))
    grid = np.column_stack([x.ravel(), y.ravel()])
    shapely.prepare(own)
    inside = grid[shapely.intersects_xy(own, grid[:, 0], grid[:, 1])]
    corners = shapely.get_coordinates(own.simplify(0.05))[:200]
    places: np.ndarray = np.unique(np.round(np.vstack([corners, inside]), 1), axis=0) @ axes + middle
    return places


def _own_axes(lump: BaseGeometry) -> tuple[np.ndarray, np.ndarray]:
    """A shape's middle and the axes it is long and short along, the fuller end behind: equal pieces, however they lie,
    are drilled alike. A shape as long as wide has the stack's axes.

    Moments of area by triangles from the middle to each edge, signed: x2 = A (a2 + a b + b2) / 6, and so on.
    """
    import numpy as np
    import shapely

    middle = np.array([lump.centroid.x, lump.centroid.y])
    rings = [np.asarray(ring.coords) - middle for one in [shapely.orient_polygons(lump)]
             for ring in (one.exterior, *one.interiors)]
    a, b = np.vstack([ring[:-1] for ring in rings]), np.vstack([ring[1:] for ring in rings])
    area = (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]) / 2
    xx, yy = (area[:, None] * (a * a + a * b + b * b)).sum(axis=0) / 6
    xy = (area * (2 * a[:, 0] * a[:, 1] + a[:, 0] * b[:, 1] + b[:, 0] * a[:, 1] + 2 * b[:, 0] * b[:, 1])).sum() / 12
    if math.hypot(2 * xy, xx - yy) < 1e-3 * (xx + yy):
        return middle, np.eye(2)
    turn = math.atan2(2 * xy, xx - yy) / 2
    axes = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    p, q = a @ axes.T, b @ axes.T
    leans = (area[:, None] * (p**3 + p * p * q + p * q * q + q**3)).sum(axis=0) / 10  # the third moments
    return middle, axes if leans[int(abs(leans).argmax())] >= 0 else -axes
