"""Tilting a cylinder out: a rigid path through the lid's opening, searched in planes and looked at again finer.

In       a Spot, its Room and Opening, the gap that is needed [mm].
Out      Way: the path found with its least gap, or why there is none; never a proof that there is none.
Not here the straight way and the proof that nothing passes (lift.py), the second look at a path (retrace.py).

The cylinder and its valve are solids of revolution, so that in a vertical plane through the axis a pose is three
numbers: along, up, tilt. It is first raised out of its seat or ribs as it stands; from there a best-first search goes
over a grid of poses, without tilt first. Poses, and three between each two of a path, are measured in space: section
with the plane of the lid against the opening, walls, the top of what held it, the other cylinders. The lid's surround
counts as thin. What is found is looked at again by other means in ten times finer steps; a step found too tight there
is closed and the search goes on.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from moldplan.check.gap import corners
from moldplan.check.outline import inside
from moldplan.check.reach import extent
from moldplan.check.retrace import Pose, Scene, Seen, look_again
from moldplan.check.spot import Spot
from moldplan.shape.assembly import Opening, Room
from moldplan.shape.body import Vector
from moldplan.shape.mesh import mesh

if TYPE_CHECKING:
    import numpy as np

BUDGET = 10000  # poses looked at, in all planes together
STEP = (10.0, 10.0, 5.0)
AROUND = 24  # points round a circle
ALLOWED = 1.0  # mm more than needed while searching, for what the finer look finds


@dataclass(frozen=True, kw_only=True)
class Way:
    """A path out (poses in its plane), its least gap [mm] as looked at again, or why there is none."""

    path: tuple[Pose, ...] = ()
    gap: float = -math.inf
    to: str = ""
    towards: str = ""
    most_tilt: float = 0.0
    looked: int = 0
    tolerance: float = 0.0
    why: str = ""


def search(spot: Spot, room: Room, opening: Opening, *, need: float) -> Way:
    """A tilted way out with at least `need` [mm] all along, or why none was found."""
    import numpy as np

    lying = abs(spot.stand.frame.z[2]) < 0.5
    if not lying and math.hypot(*spot.stand.frame.z[:2]) > 2e-3:
        return Way(why="not looked for, as the cylinder leans with the sole")
    scene, profile, spent = _scene(spot, room, opening), _profile(spot), 0
    start = _start(spot, scene, lying)
    for tilts in (False, True):
        for name, way in _planes(spot, opening, lying):
            gap = _measure(profile, spot.stand.frame.origin, way, scene)
            reach = _remaining(spot.stand.frame.origin, way, float(np.nanmax(profile[:, 0])), opening)
            grid = Grid(gap, start, need + ALLOWED, tilts)
            found = _proved(spot, way, scene, grid, reach, need, BUDGET - spent)
            spent += grid.spent
            if found:
                path, seen = found
                return Way(path=tuple(path), gap=seen.gap, to=seen.to, towards=name, looked=seen.looked, tolerance=0.1,
                           most_tilt=max(abs(p[2] - start[2]) for p in path))
    return Way(why=f"no way found in {spent} poses")


def _proved(spot: Spot, way: Vector, scene: Scene, grid: Grid, reach: Callable[[Pose], float], need: float,
            budget: int) -> tuple[list[Pose], Seen] | None:
    """A path that keeps what is needed when looked at again, with what was seen; None when there is none to be had."""
    while nodes := _way_out(grid, reach, budget):
        path = [(0.0, 0.0, grid.start[2]), *(grid.pose(node) for node in nodes)]
        seen = look_again(spot, way, path, scene)
        grid.extra += seen.looked
        if seen.gap >= need:
            return path, seen
        if seen.tightest == 0:  # already the rise out of what held it is too tight
            return None
        grid.tight.add((nodes[seen.tightest - 1], nodes[seen.tightest]))
    return None


def _scene(spot: Spot, room: Room, opening: Opening) -> Scene:
    block = spot.block
    holders = [host.solid for host in spot.hosts] + ([block.solid] if block else [])
    level = extent(holders, (0.0, 0.0, 1.0)) + spot.stand.paint
    posts = tuple(corners(solid) for other in spot.others for solid in other.solids)
    return Scene(opening, room.low, room.high, level, posts)


def _planes(spot: Spot, opening: Opening, lying: bool) -> list[tuple[str, Vector]]:
    """Vertical planes to search: through the opening's middle, forward, across; a lying cylinder has its own."""
    if lying:
        x, y, _ = spot.stand.frame.z
        size = math.hypot(x, y)
        return [("valve up", (x / size, y / size, 0.0))]
    x, y, _ = spot.stand.frame.origin
    away = (opening.centre[0] - x, opening.centre[1] - y)
    off = math.hypot(*away)
    named: list[tuple[str, Vector]] = [("fore and aft", (1.0, 0.0, 0.0)), ("athwartships", (0.0, 1.0, 0.0))]
    if off > 1.0 and min(abs(away[0]), abs(away[1])) > 1.0:
        named.insert(0, ("towards the opening", (away[0] / off, away[1] / off, 0.0)))
    return named


def _start(spot: Spot, scene: Scene, lying: bool) -> Pose:
    """Just clear of what held it: along 0, raised, tilt as it stood."""
    lowest = -extent(spot.solids, (0.0, 0.0, -1.0))
    return (0.0, max(scene.level - lowest, 0.0) + 2.0, 90.0 if lying else 0.0)


def _profile(spot: Spot) -> np.ndarray:
    """Circles of the finished cylinder and valve, (n, 2): height along the axis, radius [mm]."""
    import numpy as np

    rows = []
    origin, axis = np.array(spot.stand.frame.origin), np.array(spot.stand.frame.z)
    for solid in spot.solids:
        points = mesh(solid, tolerance=0.05, angle=10.0)[0] - origin
        along = points @ axis
        radius = np.linalg.norm(points - along[:, None] * axis, axis=1)
        heights = np.unique(np.round(along, 3))
        widest = np.array([radius[np.abs(along - h) < 2e-3].max() for h in heights])
        for (h0, r0), (h1, r1) in zip(zip(heights, widest, strict=True), zip(heights[1:], widest[1:], strict=True),
                                      strict=False):
            steps = max(int(math.ceil((h1 - h0) / 15.0)), 1)
            rows += [(h0 + (h1 - h0) * k / steps, r0 + (r1 - r0) * k / steps) for k in range(steps)]
        rows.append((heights[-1], widest[-1]))
        rows.append((math.nan, math.nan))  # no surface between two solids
    return np.array(rows)


def _measure(profile: np.ndarray, foot: Vector, way: Vector, scene: Scene) -> Callable[[Pose], float]:
    """The function pose -> least gap [mm], infinite once all of it is over the lid's plane."""
    import numpy as np

    e, k = np.array(way), np.array([0.0, 0.0, 1.0])
    w = np.cross(k, e)
    turn = np.linspace(0, 2 * math.pi, AROUND, endpoint=False)
    grown = profile[:, 1:] / math.cos(math.pi / AROUND)  # so that the chords lie outside the circles
    circle = np.stack([np.cos(turn), np.sin(turn)])
    origin = np.array(foot)

    def gap(pose: Pose) -> float:
        lean = math.radians(pose[2])
        axis = math.cos(lean) * k + math.sin(lean) * e
        side = math.cos(lean) * e - math.sin(lean) * k
        centre = origin + pose[0] * e + pose[1] * k + profile[:, :1] * axis
        points = centre[:, None] + grown[..., None] * (circle[0][:, None] * side + circle[1][:, None] * w)
        return _of_points(points, scene, max(math.cos(lean), 0.1))

    return gap


def _of_points(points: np.ndarray, scene: Scene, lean: float) -> float:
    """Least gap; one to the opening's edge counts as near as a side that leans so (its cosine) comes to it."""
    import numpy as np

    z = points[..., 2] - scene.opening.underside
    flat = points[~np.isnan(z)]
    height = flat[:, 2] - scene.opening.underside
    if height.min() > 0:
        return math.inf
    under = flat[height <= 0]
    found = [float((flat[:, 2] - scene.level).min())]
    for axis in (0, 1):
        found += [float((under[:, axis] - scene.low[axis]).min()), float((scene.high[axis] - under[:, axis]).min())]
    for low, high in scene.posts:
        apart = np.maximum(np.array(low) - flat, flat - np.array(high))
        out = np.linalg.norm(np.maximum(apart, 0.0), axis=1) + np.minimum(apart.max(axis=1), 0.0)
        found.append(float(out.min()))
    if height.max() > 0:
        crossing = [c for axis in (0, 1) if len(c := _crossings(points, z, axis))]
        if crossing:
            edge = float(inside(scene.opening, np.vstack(crossing)[:, :2]).min())
            found.append(edge * lean if edge > 0 else edge)
    return min(found)


def _crossings(points: np.ndarray, z: np.ndarray, axis: int) -> np.ndarray:
    """Where lines between neighbouring points cross the plane of the lid, (n, 3)."""
    import numpy as np

    other, there = (np.roll(points, -1, 1), np.roll(z, -1, 1)) if axis == 1 else (points[1:], z[1:])
    here, at = (points, z) if axis == 1 else (points[:-1], z[:-1])
    cross = (at <= 0) != (there <= 0)
    cross &= ~(np.isnan(at) | np.isnan(there))
    share = (at[cross] / (at[cross] - there[cross]))[:, None]
    return here[cross] + share * (other[cross] - here[cross])


Node = tuple[int, int, int]


@dataclass
class Grid:
    """Poses round a start, with what was measured of them, and the steps between them found too tight."""

    gap: Callable[[Pose], float]
    start: Pose
    need: float
    tilts: bool
    seen: dict[Node, float] = field(default_factory=dict)
    tight: set[tuple[Node, Node]] = field(default_factory=set)
    extra: int = 0

    @property
    def spent(self) -> int:
        return len(self.seen) + self.extra

    def pose(self, node: Node) -> Pose:
        return (self.start[0] + node[0] * STEP[0], self.start[1] + node[1] * STEP[1],
                self.start[2] - node[2] * STEP[2])

    def free(self, node: Node) -> float:
        if node not in self.seen:
            self.seen[node] = self.gap(self.pose(node))
        return self.seen[node]

    def asked(self, node: Node) -> float:
        """What the pose after this one must keep: what is needed, or more than here where it starts too near."""
        return min(self.need, max(self.free(node), 0.0) + 1e-9)

    def close(self, path: list[Node]) -> bool:
        """Marks steps of a path that come too near between their ends; whether there were any."""
        found = False
        for one, other in zip(path, path[1:], strict=False):
            here, there = self.pose(one), self.pose(other)
            for share in (0.25, 0.5, 0.75):
                self.extra += 1
                between = tuple(a + (b - a) * share for a, b in zip(here, there, strict=True))
                if self.gap((between[0], between[1], between[2])) < self.asked(one):
                    self.tight.add((one, other))
                    found = True
                    break
        return found


def _way_out(grid: Grid, remaining: Callable[[Pose], float], budget: int) -> list[Node]:
    """Nodes from the start to over the lid; none when the budget ran out or nothing is left to try."""
    while grid.spent < budget:
        path = _best_first(grid, remaining, budget)
        if not path or not grid.close(path):
            return path
    return []


def _best_first(grid: Grid, remaining: Callable[[Pose], float], budget: int) -> list[Node]:
    """A path over the grid whose poses, looked at singly, are free."""
    first: Node = (0, 0, 0)
    if grid.free(first) < 0:  # it may be nearer than needed, as it stands there, but it may not touch
        return []
    came: dict[Node, Node] = {}
    cost = {first: 0.0}
    heap = [(0.0, first)]
    while heap and grid.spent < budget:
        _, node = heapq.heappop(heap)
        if math.isinf(grid.free(node)):
            return _traced(came, node)
        for step in _STEPS:
            after: Node = (node[0] + step[0], node[1] + step[1], node[2] + step[2])
            if step[2] and not grid.tilts:
                continue
            if abs(grid.start[2] - after[2] * STEP[2]) > 90 or after[1] < 0 or (node, after) in grid.tight:
                continue
            far = cost[node] + sum(map(abs, step))
            if far < cost.get(after, math.inf) and grid.free(after) >= grid.asked(node):
                cost[after], came[after] = far, node
                heapq.heappush(heap, (far + 2.0 * remaining(grid.pose(after)), after))
    return []


def _remaining(foot: Vector, way: Vector, length: float, opening: Opening) -> Callable[[Pose], float]:
    """Steps a pose is still away, roughly: up to over the lid, and along until the axis goes through the opening."""
    middle = sum((c - f) * w for c, f, w in zip(opening.centre, foot[:2], way[:2], strict=True))

    def steps(pose: Pose) -> float:
        up = max(opening.underside - foot[2] - pose[1], 0.0)
        lean = math.radians(pose[2])
        along = min(length, up / max(math.cos(lean), 1e-6))
        return up / STEP[1] + abs(pose[0] + along * math.sin(lean) - middle) / STEP[0]

    return steps


_STEPS = [(i, j, k) for i in (-1, 0, 1) for j in (-1, 0, 1) for k in (-1, 0, 1) if (i, j, k) != (0, 0, 0)]


def _traced(came: dict[Node, Node], node: Node) -> list[Node]:
    path = [node]
    while path[-1] in came:
        path.append(came[path[-1]])
    return path[::-1]
