"""What the walls of a piece come to lie against in the finished plan.

In       the finished assembly; a piece with the bodies its copies become; spots on its outer outline, in its own axes.
Out      for each spot the worst of all copies: FREE, MOLDS (laminate is laid against it) or MATES (it is fitted to it).
Not here where bridges go (bridges.py), judging them (judge_bridges.py).

It is measured on the finished bodies: each body near is meshed and cut by levels of the sheet, and a wall that comes
within REACH of a spot there lies against it. A body that holds the piece (the part whose core it is, the laminate round
a rib) covers all of it and says nothing; its edges are trimmed before they are covered.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from moldplan.cut.piece import Piece, Point
from moldplan.shape.assembly import Assembly
from moldplan.shape.body import Body, loose_box
from moldplan.shape.mesh import mesh

if TYPE_CHECKING:
    import numpy as np

FREE, MOLDS, MATES = 0, 1, 2
REACH = 0.6  # a wall nearer than this is fitted or bonded to: a bond line's thickness; common practice, no source [mm]
CHORD, FACET = 0.2, 60.0  # of the meshes [mm, deg]
BELOW = 1.0  # from the sheet's faces, so that what lies on them is not taken for what lies against the wall [mm]
WITHIN = 2.0  # how far inside the wall it is asked whether a body holds the piece [mm]
SOLID = ("part", "lift", "insert", "insert frame", "mold sheet", "packer", "rib", "core plug", "liner", "tube",
         "strap", "eye")  # fmt: skip
# what laminate is laid on; a mold stands where the boat will be, never with it
TOOLS = ("insert", "insert frame", "mold sheet")

Box = tuple[float, float, float, float, float, float]
Spots = Sequence[tuple[Point, Point]]  # a place on the outline, and the unit way out of the piece there


class Touching:
    """The bodies of an assembly, each meshed once and only when something lies beside it."""

    def __init__(self, assembly: Assembly) -> None:
        self._bodies = {b.name: b for b in assembly.of_kind(*SOLID)}
        self._boxes: dict[str, Box] = {name: loose_box(b.solid) for name, b in self._bodies.items()}
        self._meshes: dict[str, tuple[np.ndarray, np.ndarray]] = {}

    def beside(self, body: Body) -> list[Body]:
        """Bodies whose boxes come within REACH of the body's."""
        own = self._boxes[body.name]
        return [self._bodies[name] for name, box in self._boxes.items()
                if name != body.name and all(box[k] < own[k + 3] + REACH and own[k] < box[k + 3] + REACH
                                             for k in range(3))]  # fmt: skip

    def worst(self, piece: Piece, spots: Spots) -> list[int]:
        """The worst that any copy of the piece meets at each spot."""
        import numpy as np

        found = np.zeros(len(spots), int)
        for name, laid in zip(piece.bodies, piece.laid, strict=True):
            body = self._bodies[name]
            own = own_axes(spots, laid, mirrored=piece.up == "underside")
            for other in self.beside(body):
                rank = meeting(body, other)
                if rank != FREE:
                    found = np.maximum(found, rank * self._against(body, other, own))
        return [int(rank) for rank in found]

    def _against(self, body: Body, other: Body, spots: Spots) -> np.ndarray:
        """Whether a wall of another body lies against each spot on some level; never of one that holds the body."""
        import numpy as np
        import shapely

        points = np.array([at for at, _ in spots])
        outward = np.array([way for _, way in spots])
        walls = shapely.points(points)
        net = self._local(body, other)
        met = np.zeros(len(spots), bool)
        for level in levels(self._span(body)):
            cuts = _cut(*net, level)
            if not len(cuts):
                continue
            close = (cuts.min(axis=1) < points.max(axis=0) + REACH) & (cuts.max(axis=1) > points.min(axis=0) - REACH)
            if not close.all(axis=1).any():
                continue
            if other.kind == "tube":  # it lies across the wall, which has no edge in its mouth, and holds no piece
                met |= shapely.dwithin(walls, shapely.MultiPoint(cuts.reshape(-1, 2)).convex_hull, REACH)
                continue
            line = shapely.multilinestrings(list(shapely.linestrings(cuts[close.all(axis=1)])))
            shapely.prepare(line)
            near = shapely.dwithin(walls, line, REACH)
            if near.any():
                near[near] = ~_held(points[near] - WITHIN * outward[near], cuts)
            met |= near
        return met

    def _span(self, body: Body) -> tuple[float, float]:
        """Lowest and highest of the body along its sheet's normal [mm]."""
        import numpy as np

        heights = self._local(body, body)[0][:, 2]
        return float(np.min(heights)), float(np.max(heights))

    def _local(self, body: Body, other: Body) -> tuple[np.ndarray, np.ndarray]:
        """Another body's mesh in the axes of this one."""
        import numpy as np

        if other.name not in self._meshes:
            vertices, triangles, _ = mesh(other.solid, tolerance=CHORD, angle=FACET)
            self._meshes[other.name] = (vertices, triangles)
        vertices, triangles = self._meshes[other.name]
        frame = body.frame
        return (vertices - np.array(frame.origin)) @ np.array([frame.x, frame.y, frame.z]).T, triangles


def meeting(body: Body, other: Body) -> int:
    """What it means that two bodies lie against each other. Tools meet their like and what is molded on them: the rest
    of the boat only comes when they are gone."""
    if body.kind in TOOLS:
        molded = other.kind == "part" and (body.kind == "insert" or other.part == body.part)
        return MATES if other.kind in TOOLS else MOLDS if molded else FREE
    return FREE if other.kind == "mold sheet" else MATES


def own_axes(spots: Spots, laid: tuple[float, float, float], *, mirrored: bool) -> Spots:
    """Spots of a piece in the axes of the body that one of its copies becomes."""
    turn, x, y = laid
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    f = -1.0 if mirrored else 1.0

    def back(dx: float, dy: float) -> Point:
        return (f * (c * dx + s * dy), -s * dx + c * dy)

    return [(back(px - x, py - y), back(*way)) for (px, py), way in spots]


def levels(span: tuple[float, float]) -> tuple[float, float, float]:
    """Three heights of a sheet to look at: near either face, and midway."""
    low, high = span
    off = min(BELOW, (high - low) / 4)
    return (low + off, (low + high) / 2, high - off)


def _cut(vertices: np.ndarray, triangles: np.ndarray, level: float) -> np.ndarray:
    """Where a level cuts a mesh: straight strokes (n, 2, 2)."""
    import numpy as np

    above = vertices[:, 2] > level
    count = above[triangles].sum(axis=1)
    corners = vertices[triangles[(count == 1) | (count == 2)]]
    strokes = []
    for tri in _alone_first(corners, level):
        share = (level - tri[:, :1, 2]) / (tri[:, 1:, 2] - tri[:, :1, 2])
        strokes.append(tri[:, :1, :2] + share[..., None] * (tri[:, 1:, :2] - tri[:, :1, :2]))
    return np.concatenate(strokes) if strokes else np.zeros((0, 2, 2))


def _alone_first(corners: np.ndarray, level: float) -> Iterator[np.ndarray]:
    """Triangles that a level cuts, turned so that the corner which is alone on its side of it comes first."""
    above = corners[:, :, 2] > level
    for k in range(3):
        alone = (above[:, k] != above[:, k - 1]) & (above[:, k] != above[:, k - 2])
        if alone.any():
            yield corners[alone][:, [k, (k + 1) % 3, (k + 2) % 3]]


def _held(points: np.ndarray, cuts: np.ndarray) -> np.ndarray:
    """Whether each point lies inside what the strokes enclose."""
    import numpy as np

    askew = np.array([[0.8, 0.6], [-0.6, 0.8]])  # a ray along an edge of the body would meet or miss it by chance
    (ax, ay), (bx, by) = (cuts[:, 0] @ askew).T, (cuts[:, 1] @ askew).T
    px, py = (points @ askew)[:, :1], (points @ askew)[:, 1:]
    crossing = (ay > py) != (by > py)
    with np.errstate(divide="ignore", invalid="ignore"):
        right = px < ax + (bx - ax) * (py - ay) / (by - ay)
    return np.asarray((crossing & right).sum(axis=1) % 2 == 1)
