"""Tilting a cylinder out: a rigid path through the lid's opening, searched in planes and looked at again finer.

In       a Spot, its Room and Opening, the gap that is needed [mm].
Out      Way: the path found with its least gap, or why there is none; never a proof that there is none.
Not here the straight way and the proof that nothing passes (lift.py).

The cylinder and its valve are solids of revolution, so that in a vertical plane through the axis a pose is three
numbers: along, up, tilt. It is first raised out of its seat or ribs as it stands; from there a best-first search goes
over a grid of poses. Every pose is measured in space: section with the plane of the lid against the opening, walls, the
top of what held it, the other cylinders. The lid's surround counts as thin. What is found is looked at again by other
means (triangles of the finished solids, polygons) in ten times finer steps.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from moldplan.check.gap import corners, extent
from moldplan.check.outline import inside
from moldplan.check.spot import Spot
from moldplan.shape.assembly import Opening, Room
from moldplan.shape.body import Vector
from moldplan.shape.mesh import mesh

if TYPE_CHECKING:
    import numpy as np

Pose = tuple[float, float, float]  # along [mm], up [mm], tilt from upright [deg]
BUDGET = 6000  # poses looked at, in all planes together
STEP = (10.0, 10.0, 5.0)
AROUND = 24  # points round a circle
FINER = 10
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


@dataclass(frozen=True)
class Scene:
    """What a pose is measured against, in boat axes [mm]."""

    opening: Opening
    low: Vector
    high: Vector
    level: float  # top of what held the cylinder
    posts: tuple[tuple[Vector, Vector], ...]  # boxes of the other cylinders


def search(spot: Spot, room: Room, opening: Opening, *, need: float) -> Way:
    """A tilted way out with at least `need` [mm] all along, or why none was found."""
    lying = abs(spot.stand.frame.z[2]) < 0.5
    if not lying and math.hypot(*spot.stand.frame.z[:2]) > 2e-3:
        return Way(why="not looked for, as the cylinder leans with the sole")
    scene = _scene(spot, room, opening)
    profile = _profile(spot)
    spent = 0
    for name, way in _planes(spot, opening, lying):
        start = _start(spot, scene, lying)
        gap = _measure(profile, spot.stand.frame.origin, way, scene)
        path, used = _best_first(gap, start, scene, need + ALLOWED, BUDGET - spent)
        spent += used
        if path:
            path = [(0.0, 0.0, start[2]), *path]
            seen, to, looked = look_again(spot, way, path, scene)
            if seen >= need:
                return Way(path=tuple(path), gap=seen, to=to, towards=name, looked=looked, tolerance=0.1,
                           most_tilt=max(abs(p[2] - start[2]) for p in path))
        if spent >= BUDGET:
            break
    return Way(why=f"no way found in {spent} poses")


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
    named = [("forward", (1.0, 0.0, 0.0)), ("to port", (0.0, 1.0, 0.0))]
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
        return _of_points(points, scene)

    return gap


def _of_points(points: np.ndarray, scene: Scene) -> float:
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
            found.append(float(inside(scene.opening, np.vstack(crossing)[:, :2]).min()))
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


def _best_first(gap: Callable[[Pose], float], start: Pose, scene: Scene, need: float,
                budget: int) -> tuple[list[Pose], int]:
    """Poses from the start to over the lid, and how many were looked at; no poses when the budget ran out."""
    Node = tuple[int, int, int]
    first: Node = (0, 0, 0)
    seen: dict[Node, float] = {}

    def pose(node: Node) -> Pose:
        return (start[0] + node[0] * STEP[0], start[1] + node[1] * STEP[1], start[2] - node[2] * STEP[2])

    def free(node: Node) -> float:
        if node not in seen:
            seen[node] = gap(pose(node))
        return seen[node]

    if budget <= 0 or free(first) < 0:  # where it starts it may be nearer than needed: it stands there
        return [], len(seen)
    goal = scene.opening.underside - start[1]
    came: dict[Node, Node] = {}
    cost = {first: 0.0}
    heap = [(goal / STEP[1], first)]
    while heap and len(seen) < budget:
        _, node = heapq.heappop(heap)
        if math.isinf(free(node)):
            return _traced(came, node, pose), len(seen)
        for step in _STEPS:
            after: Node = (node[0] + step[0], node[1] + step[1], node[2] + step[2])
            if abs(start[2] - after[2] * STEP[2]) > 90 or after[1] < 0:
                continue
            far = cost[node] + sum(map(abs, step))
            if far < cost.get(after, math.inf) and free(after) >= min(need, max(free(node), 0.0) + 1e-9):
                cost[after], came[after] = far, node
                heapq.heappush(heap, (far + 2.0 * max(goal - after[1] * STEP[1], 0.0) / STEP[1], after))
    return [], len(seen)


_STEPS = [(i, j, k) for i in (-1, 0, 1) for j in (-1, 0, 1) for k in (-1, 0, 1) if (i, j, k) != (0, 0, 0)]


def _traced(came: dict[tuple[int, int, int], tuple[int, int, int]], node: tuple[int, int, int],
            pose: Callable[[tuple[int, int, int]], Pose]) -> list[Pose]:
    path = [node]
    while path[-1] in came:
        path.append(came[path[-1]])
    return [pose(each) for each in reversed(path)]


def look_again(spot: Spot, way: Vector, path: list[Pose], scene: Scene) -> tuple[float, str, int]:
    """The least gap on a path in ten times finer steps, what it is to, and the number of poses.

    By other means than the search: triangles of the finished solids, their section with the lid's plane as a polygon.
    While it is raised out of what held it, it is near that by design: there the gap to it does not count.
    """
    import numpy as np

    best, to, looked = math.inf, "", 0
    solids = [mesh(solid, tolerance=0.05, angle=6.0)[:2] for solid in spot.solids]
    own, opened = np.array(spot.stand.frame.origin), _polygon(scene.opening)
    base = _turned(np.array(way), 90.0 if abs(spot.stand.frame.z[2]) < 0.5 else 0.0)
    for number, (here, there) in enumerate(zip(path, path[1:], strict=False)):
        for part in range(FINER):
            share = part / FINER
            pose = tuple(a + (b - a) * share for a, b in zip(here, there, strict=True))
            turn = _turned(np.array(way), pose[2]) @ base.T
            move = own + pose[0] * np.array(way) + np.array([0.0, 0.0, pose[1]])
            looked += 1
            for vertices, triangles in solids:
                placed = (vertices - own) @ turn.T + move
                for gap, name in _gaps(placed, triangles, scene, opened, held=number > 1):
                    if gap < best:
                        best, to = gap, name
    return best, to, looked


def _turned(way: np.ndarray, tilt: float) -> np.ndarray:
    """Rotation that tilts upright towards `way` by `tilt` [deg]."""
    import numpy as np

    lean, up = math.radians(tilt), np.array([0.0, 0.0, 1.0])
    side = np.cross(up, way)
    axis = math.cos(lean) * up + math.sin(lean) * way
    ahead = math.cos(lean) * way - math.sin(lean) * up
    return np.column_stack([ahead, side, axis]) @ np.column_stack([way, side, up]).T


def _polygon(opening: Opening) -> object:
    import shapely

    (x, y), (length, width), radius = opening.centre, opening.size, opening.corner_radius
    core = shapely.box(x - length / 2 + radius, y - width / 2 + radius, x + length / 2 - radius, y + width / 2 - radius)
    return core.buffer(radius, quad_segs=64) if radius else core


def _gaps(placed: np.ndarray, triangles: np.ndarray, scene: Scene, opened: object,
          *, held: bool) -> list[tuple[float, str]]:
    import numpy as np
    import shapely

    found = []
    under = placed[placed[:, 2] <= scene.opening.underside]
    if len(under):
        sides = [(under[:, 0] - scene.low[0], "the aft wall"), (scene.high[0] - under[:, 0], "the forward wall"),
                 (under[:, 1] - scene.low[1], "the starboard wall"), (scene.high[1] - under[:, 1], "the port wall")]
        found += [(float(gaps.min()), name) for gaps, name in sides]
    if held:
        found.append((float(placed[:, 2].min()) - scene.level, "what held it"))
    for low, high in scene.posts:
        apart = np.maximum(np.maximum(np.array(low) - placed, placed - np.array(high)), 0.0)
        found.append((float(np.linalg.norm(apart, axis=1).min()), "another cylinder"))
    z = placed[:, 2] - scene.opening.underside
    edges = np.vstack([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]])
    edges = edges[(z[edges[:, 0]] <= 0) != (z[edges[:, 1]] <= 0)]
    if len(edges):
        a, b = placed[edges[:, 0]], placed[edges[:, 1]]
        share = (z[edges[:, 0]] / (z[edges[:, 0]] - z[edges[:, 1]]))[:, None]
        section = shapely.MultiPoint((a + share * (b - a))[:, :2]).convex_hull
        edge = opened.exterior.distance(section)  # type: ignore[attr-defined]
        found.append((edge if opened.contains(section) else -edge, "the edge of the lid's opening"))  # type: ignore[attr-defined]
    return found
