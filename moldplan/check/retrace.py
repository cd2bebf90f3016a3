"""A path out looked at again: by other means than those it was found by, and in ten times finer steps.

In       a Spot, a vertical plane's direction, a path of poses in it, the Scene round it.
Out      Seen: the least gap [mm], what it is to, how many poses were looked at, which step is the tightest.
Not here finding a path (tilt.py).

Walls, the top of what held the cylinder and other cylinders: from triangles of the finished solids. The lid's opening:
first the triangles' section with its plane as a polygon; then, for the tightest poses so found, the exact least
distance in space between the finished solids and a sheet with the opening in it.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from moldplan.check.gap import least
from moldplan.check.spot import Spot
from moldplan.shape.assembly import Opening
from moldplan.shape.body import Frame, Vector
from moldplan.shape.mesh import mesh

if TYPE_CHECKING:
    import cadquery as cq
    import numpy as np

Pose = tuple[float, float, float]  # along [mm], up [mm], tilt from upright [deg]
FINER = 10
TIGHTEST = 8  # poses that are measured exactly
EDGE = "the edge of the lid's opening"
SHEET = 1000.0  # mm of lid and deck round the opening


@dataclass(frozen=True)
class Scene:
    """What a pose is measured against, in boat axes [mm]."""

    opening: Opening
    low: Vector
    high: Vector
    level: float  # top of what held the cylinder
    posts: tuple[tuple[Vector, Vector], ...]  # boxes of the other cylinders


@dataclass(frozen=True)
class Seen:
    """What was seen along a path."""

    gap: float
    to: str
    looked: int
    tightest: int  # the step, counted from the first pose


def look_again(spot: Spot, way: Vector, path: Sequence[Pose], scene: Scene) -> Seen:
    """The least gap on a path.

    While the cylinder is raised out of what held it, it is near that by design: there the gap to it does not count.
    """
    import numpy as np

    solids = [mesh(solid, tolerance=0.05, angle=6.0)[:2] for solid in spot.solids]
    own, opened = np.array(spot.stand.frame.origin), _polygon(scene.opening)
    best, to, looked, worst = math.inf, "", 0, 0
    edges: list[tuple[float, int, Pose]] = []
    for number, pose in _finer(path):
        turn, move = placing(spot, way, pose)
        looked += 1
        for vertices, triangles in solids:
            placed = (vertices - own) @ turn.T + move
            for gap, name in _around(placed, scene, held=number > 1):
                if gap < best:
                    best, to, worst = gap, name, number
            section = _at_edge(placed, triangles, scene.opening, opened)
            if section < math.inf:
                lean = math.cos(math.radians(pose[2]))  # a wall that leans comes nearer than its section shows
                edges.append((section * (max(lean, 0.1) if section > 0 else 1.0), number, pose))
    for gap, number, pose in heapq.nsmallest(TIGHTEST, edges):
        found = gap if gap <= 0 else exact_edge(spot, way, pose, scene.opening)
        if found < best:
            best, to, worst = found, EDGE, number
    return Seen(best, to, looked, worst)


def _finer(path: Sequence[Pose]) -> Iterator[tuple[int, Pose]]:
    """Every step of a path in finer ones, with its number; and the last pose."""
    for number, (here, there) in enumerate(zip(path, path[1:], strict=False)):
        for part in range(FINER + (number == len(path) - 2)):
            share = part / FINER
            yield number, (here[0] + (there[0] - here[0]) * share, here[1] + (there[1] - here[1]) * share,
                           here[2] + (there[2] - here[2]) * share)


def placing(spot: Spot, way: Vector, pose: Pose) -> tuple[np.ndarray, np.ndarray]:
    """Rotation about the stand's origin, and where that origin goes, for a pose."""
    import numpy as np

    base = _turned(np.array(way), 90.0 if abs(spot.stand.frame.z[2]) < 0.5 else 0.0)
    turn = _turned(np.array(way), pose[2]) @ base.T
    move = np.array(spot.stand.frame.origin) + pose[0] * np.array(way) + np.array([0.0, 0.0, pose[1]])
    return turn, move


def _turned(way: np.ndarray, tilt: float) -> np.ndarray:
    """Rotation that tilts upright towards `way` by `tilt` [deg]."""
    import numpy as np

    lean, up = math.radians(tilt), np.array([0.0, 0.0, 1.0])
    side = np.cross(up, way)
    axis = math.cos(lean) * up + math.sin(lean) * way
    ahead = math.cos(lean) * way - math.sin(lean) * up
    return np.column_stack([ahead, side, axis]) @ np.column_stack([way, side, up]).T


def _around(placed: np.ndarray, scene: Scene, *, held: bool) -> Iterator[tuple[float, str]]:
    """Gaps of triangles' corners to the walls under the lid, to what held the cylinder, to other cylinders."""
    import numpy as np

    under = placed[placed[:, 2] <= scene.opening.underside]
    if len(under):
        for axis, names in enumerate((("the aft wall", "the forward wall"), ("the starboard wall", "the port wall"))):
            yield float((under[:, axis] - scene.low[axis]).min()), names[0]
            yield float((scene.high[axis] - under[:, axis]).min()), names[1]
    if held:
        yield float(placed[:, 2].min()) - scene.level, "what held it"
    for low, high in scene.posts:
        apart = np.maximum(np.maximum(np.array(low) - placed, placed - np.array(high)), 0.0)
        yield float(np.linalg.norm(apart, axis=1).min()), "another cylinder"


def _polygon(opening: Opening) -> Any:
    import shapely

    (x, y), (length, width), radius = opening.centre, opening.size, opening.corner_radius
    core = shapely.box(x - length / 2 + radius, y - width / 2 + radius, x + length / 2 - radius, y + width / 2 - radius)
    return core.buffer(radius, quad_segs=64) if radius else core


def _at_edge(placed: np.ndarray, triangles: np.ndarray, opening: Opening, opened: Any) -> float:
    """From the section with the lid's plane to the opening's outline; negative across it, infinite without section."""
    import numpy as np
    import shapely

    z = placed[:, 2] - opening.underside
    edges = np.vstack([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]])
    edges = edges[(z[edges[:, 0]] <= 0) != (z[edges[:, 1]] <= 0)]
    if not len(edges):
        return math.inf
    a, b = placed[edges[:, 0]], placed[edges[:, 1]]
    share = (z[edges[:, 0]] / (z[edges[:, 0]] - z[edges[:, 1]]))[:, None]
    section = shapely.MultiPoint((a + share * (b - a))[:, :2]).convex_hull
    if opened.contains(section):
        return float(opened.exterior.distance(section))
    return -float(section.hausdorff_distance(section.intersection(opened))) if section.intersects(opened) else -SHEET


def exact_edge(spot: Spot, way: Vector, pose: Pose, opening: Opening) -> float:
    """Exact least distance in space between the solids at a pose and a thin sheet with the opening in it [mm]."""
    turn, move = placing(spot, way, pose)
    old = spot.stand.frame
    x, z = (tuple(float(v) for v in turn @ _array(part)) for part in (old.x, old.z))
    new = Frame((float(move[0]), float(move[1]), float(move[2])), (x[0], x[1], x[2]), (z[0], z[1], z[2]))
    shift = new.location * old.location.inverse
    lid = sheet(opening)
    return min(least(solid.moved(shift), lid).size for solid in spot.solids)


def _array(vector: Vector) -> np.ndarray:
    import numpy as np

    return np.array(vector)


def sheet(opening: Opening) -> cq.Face:
    """Lid and deck round an opening as a plane face with a hole."""
    import cadquery as cq

    (x, y), (length, width), radius = opening.centre, opening.size, opening.corner_radius

    def rectangle(grown: float) -> cq.Wire:
        half, wide = length / 2 + grown, width / 2 + grown
        spots = [(x - half, y - wide), (x + half, y - wide), (x + half, y + wide), (x - half, y + wide)]
        return cq.Wire.makePolygon([cq.Vector(*spot, opening.underside) for spot in spots], close=True)

    hole = rectangle(0.0)
    if radius:
        hole = hole.fillet2D(min(radius, min(length, width) / 2 - 1e-6), hole.Vertices())
    return cq.Face.makeFromWires(rectangle(SHEET), [hole])
