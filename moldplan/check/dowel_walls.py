"""Is there material round every dowel hole? Measured on the finished lifts and discs.

In       Assembly (bodies with dowel or jacking holes), the spec's limits.
Out      one Finding a part: the least between such a hole and any other face of its body.
Not here placing them (shape/dowels.py, shape/insert.py), holes for the layout's stages (cut/judge_stages.py).

A level face at its end, which a hole opens through, is no wall of it. Where it breaks through another it has none.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from moldplan.check.limits import bound
from moldplan.errors import Path
from moldplan.finding import Edit, Finding, Move
from moldplan.shape.assembly import Assembly
from moldplan.shape.body import Body, Vector, loose_box
from moldplan.spec.model import Spec

if TYPE_CHECKING:
    import cadquery as cq

ROLES = ("dowel hole", "jacking hole")
LEVEL = 0.01  # mm, a face so near to the level of a hole's end lies in it
BEYOND = 12.0  # mm: what is further off is not looked for

Box = tuple[float, float, float, float, float, float]


@dataclass(frozen=True)
class _Wall:
    """The least beside the holes of one body [mm], and where its hole has its middle (boat axes)."""

    size: float
    body: Body
    at: Vector


def dowel_walls(assembly: Assembly, spec: Spec) -> tuple[Finding, ...]:
    """The finding of every part whose sheets are lined up by dowels."""
    least: dict[tuple[str, Path], _Wall] = {}
    for body in assembly.bodies.values():
        for wall in _walls(body):
            key = (body.part, body.path)
            if key not in least or wall.size < least[key].size:
                least[key] = wall
    return tuple(_judged(spec, part, path, wall) for (part, path), wall in least.items())


def _judged(spec: Spec, part: str, path: Path, wall: _Wall) -> Finding:
    moves: tuple[Move, ...] = ()
    if wall.body.kind in ("insert", "packer"):
        built = Edit((*path, "insert", "built"), "frames")
        moves = (Move("build the insert of frames, which need no dowels", (built,)),)
    size = f"{BEYOND:g} mm or more" if wall.size >= BEYOND else f"{wall.size:.1f} mm"
    return bound("dowel-wall", spec).finding(
        check="dowels", part=part, what="material round a dowel hole", measured=wall.size, path=path, moves=moves,
        at=dict(zip("xyz", wall.at, strict=True)), note=f"{size} left, least in {wall.body.name}")


def _walls(body: Body) -> Iterator[_Wall]:
    """What is left beside each hole of a body."""
    found = [face for role in ROLES for face in body.shaped.roles.get(role, ())]
    if not found:
        return
    back = body.frame.location.inverse
    holes = [face.moved(back) for face in found]
    own = [loose_box(face) for face in holes]
    faces = [(face, loose_box(face)) for face in body.solid.moved(back).Faces()]
    for hole, box in zip(holes, own, strict=True):
        if hole.geomType() == "CYLINDER":
            caps = [cap for cap, there in zip(holes, own, strict=True)
                    if cap.geomType() == "PLANE" and _apart(there, box) < LEVEL]
            middle = tuple((box[k] + box[k + 3]) / 2 for k in range(3))
            others = [one for one in faces if not any(one[0].isSame(each) for each in (hole, *caps))]
            size = _least(hole, caps, box, others)
            yield _Wall(size, body, body.frame.place(middle))  # type: ignore[arg-type]


def _least(hole: cq.Face, caps: list[cq.Face], box: Box, others: list[tuple[cq.Face, Box]]) -> float:
    """The least between the wall and end of a hole and the faces it does not open through [mm].

    From its axis first, which is quicker and never too far: a rod lies within its radius of its axis.
    """
    import cadquery as cq

    cylinder = hole._geomAdaptor().Cylinder()
    at, radius = cylinder.Axis().Location(), cylinder.Radius()
    axis = cq.Edge.makeLine(cq.Vector(at.X(), at.Y(), box[2]), cq.Vector(at.X(), at.Y(), box[5]))
    rod = cq.Compound.makeCompound([hole, *caps])
    near = BEYOND
    for face, there in sorted(others, key=lambda one: _apart(one[1], box)):
        if _apart(there, box) >= near:
            break
        if not _opens(there, box) and axis.distance(face) - radius < near:
            near = min(near, rod.distance(face))
    return near


def _opens(face: Box, hole: Box) -> bool:
    """Whether a face is a level one at an end of a hole."""
    return face[5] - face[2] < LEVEL and min(abs(face[2] - hole[2]), abs(face[2] - hole[5])) < LEVEL


def _apart(a: Box, b: Box) -> float:
    """How far two boxes are from each other [mm]."""
    return math.hypot(*(max(a[k] - b[k + 3], b[k] - a[k + 3], 0.0) for k in range(3)))
