"""Does the covering of an insert built of frames fit between them and the molding surface? Measured on the solids.

In       Assembly (a stand with frames), the covering asked for.
Out      two findings: where it is short, each molding face asked by itself; where it lies hollow.
Not here how the frames stand in each other (frames_fit.py), shaping them (shape/framed.py).

Asked at points along the edges that carry the covering: those of both sides of a frame's sheet which lie neither on the
mouth nor in a slit. Hollow is what the nearer side leaves: a frame's edges are square, so that where the surface leans
across it only one of them carries.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from moldplan.check.limits import bound
from moldplan.finding import Finding, Source
from moldplan.shape.assembly import Assembly, Stand
from moldplan.shape.body import Body, Vector
from moldplan.spec.frames import Framing
from moldplan.spec.model import Spec

if TYPE_CHECKING:
    import cadquery as cq
    from OCP.BRepClass3d import BRepClass3d_SolidClassifier

ROLES = ("molding floor", "molding fillet", "molding wall")
READ = 4  # decimals of a covering [mm]
ALONG = tuple(k / 8 for k in range(9))  # shares of an edge at which it is asked; of a straight one every fourth
ASIDE = 2.0  # mm that a slit may lie beside the frame it is for and still be taken for its slit
LEVEL = 1e-3  # mm, an edge as near to the mouth's level lies on it


@dataclass(frozen=True)
class Read:
    """What lies between a place of a frame's edge and one molding face [mm]; negative outside the covered insert."""

    over: float
    role: str
    body: str
    at: Vector


def covered(assembly: Assembly, spec: Spec, stand: Stand, frames: Sequence[Body], framing: Framing
            ) -> Iterator[Finding]:  # fmt: skip
    """Both findings of one stand; the covering that the spec asks for is normal to the molding surface."""
    asked, path = framing.covering, (*stand.path, "insert", "frames")
    places = list(_places(assembly.body(stand.tools[0]), frames, stand, framing.clearance))
    least = {role: min((one for place in places for side in place for one in side if one.role == role),
                       key=lambda one: one.over) for role in {one.role: 0 for one in places[0][0]}}  # fmt: skip
    worst = min(least.values(), key=lambda one: one.over)
    each = ", ".join(f"{role.removeprefix('molding ')} {one.over:.2f}" for role, one in least.items())
    yield Finding(
        check="frames", part=stand.name, what="short of the covering by", unit="mm", limit=0.0, sense="at_most",
        measured=max(0.0, round(asked - worst.over, READ)), source=Source.spec("insert.frames.covering"), path=path,
        at=dict(zip("xyz", worst.at, strict=True)),
        note=f"covering {asked:g} mm, normal to the surface; least at {each} mm; worst on {worst.body}")
    carried = [min((min(side, key=lambda one: one.over) for side in place), key=lambda one: one.over)
               for place in places]  # fmt: skip
    hollow = max(carried, key=lambda one: one.over)
    yield bound("frame-hollow", spec).finding(
        check="frames", part=stand.name, what="hollow under the covering", path=path,
        measured=max(0.0, round(hollow.over - asked, READ)), at=dict(zip("xyz", hollow.at, strict=True)),
        note=f"most {hollow.over:.2f} mm of {asked:g} from {hollow.body} to the {hollow.role}")


def _places(whole: Body, frames: Sequence[Body], stand: Stand, play: float) -> Iterator[tuple[tuple[Read, ...], ...]]:
    """For each place along an edge that carries: for both sides of the sheet what lies over it to each molding face."""
    import cadquery as cq
    from OCP.BRepClass3d import BRepClass3d_SolidClassifier

    up = cq.Vector(*stand.frame.z)
    mouth = max(cq.Vector(*vertex.toTuple()).dot(up) for vertex in whole.solid.Vertices())
    faces = [(role, face) for role in ROLES if role in whole.shaped.roles for face in whole.faces(role)]
    holds = BRepClass3d_SolidClassifier(whole.solid.wrapped)
    for body in frames:
        others = [each for each in frames if abs(_dot(each.frame.z, body.frame.z)) < 0.5]
        through = cq.Vector(*body.frame.z) * (body.thickness or 0.0)
        for edge in _edges(body):
            points = [edge.positionAt(share) for share in ALONG[:: 4 if edge.geomType() == "LINE" else 1]]
            if all(mouth - point.dot(up) < LEVEL for point in points) or _in_slit(points, others, play):
                continue
            for point in points:
                yield tuple(_reads(side, body.name, faces, holds) for side in (point, point + through))


def _reads(point: cq.Vector, name: str, faces: Sequence[tuple[str, cq.Face]], holds: BRepClass3d_SolidClassifier
           ) -> tuple[Read, ...]:  # fmt: skip
    """How far a point of a frame is from each molding face; outside, that far beyond the nearest of them."""
    import cadquery as cq
    from OCP.TopAbs import TopAbs_OUT

    spot = cq.Vertex.makeVertex(*point.toTuple())
    holds.Perform(point.toPnt(), LEVEL)
    apart = [spot.distance(face) for _, face in faces]
    beyond = apart.index(min(apart)) if holds.State() == TopAbs_OUT else None
    return tuple(Read(-far if k == beyond else far, role, name, point.toTuple())
                 for k, (far, (role, _)) in enumerate(zip(apart, faces, strict=True)))  # fmt: skip


def _edges(body: Body) -> list[cq.Edge]:
    """The edges of a frame's lower face: its outline."""
    import cadquery as cq

    way, low = cq.Vector(*body.frame.z), cq.Vector(*body.frame.origin)
    return [edge for edge in body.solid.Edges()
            if all(abs((edge.positionAt(share) - low).dot(way)) < LEVEL for share in (0.0, 0.5, 1.0))]


def _in_slit(points: Sequence[cq.Vector], others: Sequence[Body], play: float) -> bool:
    """Whether an edge is one of a slit: all of it lies about the breadth of the frame that goes in there."""
    import cadquery as cq

    for other in others:
        half = (other.thickness or 0.0) / 2
        middle = cq.Vector(*other.frame.origin) + cq.Vector(*other.frame.z) * half
        if all(abs((point - middle).dot(cq.Vector(*other.frame.z))) < half + play + ASIDE for point in points):
            return True
    return False


def _dot(a: Vector, b: Vector) -> float:
    return sum(p * q for p, q in zip(a, b, strict=True))
