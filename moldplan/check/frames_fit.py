"""Do the frames of an insert slide together, stand, and carry their covering? Measured on the finished solids.

In       Assembly (stands with frames), the spec's limits.
Out      for each such stand: play in the slits, height and width beside the slits, height over all; then covered.py's.
Not here shaping them (shape/framed.py), the molding surface itself (draft.py), the covering (covered.py).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from itertools import product
from typing import TYPE_CHECKING

from moldplan.check.covered import covered
from moldplan.check.limits import bound
from moldplan.finding import Edit, Finding, Move
from moldplan.shape.assembly import Assembly, Stand
from moldplan.shape.body import Body, Vector, loose_box
from moldplan.spec.model import Seat, Spec

if TYPE_CHECKING:
    import cadquery as cq

READ = 4  # decimals of a gap [mm]
HAIR, FAR = 1e-6, 1e5  # mm
BESIDE = 6.0  # mm, more than half of the widest play a spec may ask for


def frames_fit(assembly: Assembly, spec: Spec) -> tuple[Finding, ...]:
    """The findings of every insert that is built of frames."""
    found: list[Finding] = []
    for stand in assembly.stands:
        if stand.frames:
            seat = spec.cradles[str(stand.path[1])].seats[str(stand.path[3])]
            found += _judged(assembly, spec, stand, seat)
    return tuple(found)


def _judged(assembly: Assembly, spec: Spec, stand: Stand, seat: Seat) -> Iterator[Finding]:
    bodies = [assembly.body(name) for name in stand.frames]
    along = [body for body in bodies if abs(_dot(body.frame.z, bodies[0].frame.z)) > 0.5]
    across = [body for body in bodies if body not in along]
    field = (*stand.path, "insert", "frames")
    discs = Move("build the insert of discs", (Edit((*stand.path, "insert", "built"), "discs"),))
    wider = Move("a clearance of {to} mm in the slits", (Edit((*field, "clearance"), 0.3, 0.1),))
    gap, pair = min((_gap(a, b), f"{a.name} and {b.name}") for a, b in product(along, across))
    yield bound("frame-play", spec).finding(
        check="frames", part=stand.name, what="play in the slits", measured=round(2 * gap, READ),
        path=(*field, "clearance"), note=f"least between {pair}", moves=(wider, discs))
    lap, name = min((_lap(body, others, stand.frame.z), body.name)
                    for own, others in ((along, across), (across, along)) for body in own)  # fmt: skip
    yield bound("frame-lap", spec).finding(
        check="frames", part=stand.name, what="height left beside a slit", measured=lap, path=field,
        note=f"least on {name}; less snaps when the frames are pushed together", moves=(discs,))
    tooth, name = min((_tooth(body), body.name) for body in bodies)
    yield bound("frame-tooth", spec).finding(
        check="frames", part=stand.name, what="width left beside a slit", measured=tooth, path=field,
        note=f"least on {name}, half way down its slits", moves=(discs,))
    yield _height_over_all(assembly, spec, stand, bodies)
    yield from covered(assembly, spec, stand, bodies, seat.insert.frames)


def _gap(one: Body, other: Body) -> float:
    """How far two crossing frames are from each other where they cross [mm]; 0 where one is in the other."""
    import cadquery as cq

    near = [[face for face in body.solid.Faces() if _close(face, beside)]
            for body, beside in ((one, other), (other, one))]  # fmt: skip
    if not all(near):
        return math.inf
    a, b = (cq.Compound.makeCompound(faces) for faces in near)
    return a.distance(b)


def _close(face: cq.Face, body: Body) -> bool:
    """Whether a face reaches into the breadth of a frame and a little beyond: the others cannot be the nearest."""
    box, way = loose_box(face), body.frame.z
    low = sum(min(box[k] * way[k], box[k + 3] * way[k]) for k in range(3)) - _dot(body.frame.origin, way)
    high = sum(max(box[k] * way[k], box[k + 3] * way[k]) for k in range(3)) - _dot(body.frame.origin, way)
    return high > -BESIDE and low < (body.thickness or 0.0) + BESIDE


def _lap(body: Body, others: list[Body], up: Vector) -> float:
    """The least of a frame's height in the middle of a crossing [mm]; without end where none crosses it."""
    import cadquery as cq

    ask, own, found = _asker(body.solid), _middle(body), [math.inf]
    for other in others:
        way = cq.Vector(*other.frame.z)
        spot = own + way * (_middle(other) - own).dot(way)  # in both middle planes; the plumb line there lies in both
        found.append(sum(ask(spot, cq.Vector(*up))) or math.inf)
    return min(found)


def _tooth(body: Body) -> float:
    """The least of what a frame's slits leave of it lengthwise, half way down them [mm]; 0 where they leave nothing."""
    import cadquery as cq

    solid = body.solid.moved(body.frame.location.inverse)
    _, low, _, _, high, _ = loose_box(solid)
    ask, half = _asker(solid), (body.thickness or 0.0) / 2
    # one of both levels goes through the slits
    parts = [ask(cq.Vector(0, low + share * (high - low), half), cq.Vector(1, 0, 0)) for share in (0.25, 0.75)]
    most: list[float] = max(parts, key=len)
    return min(most, default=0.0)


def _asker(solid: cq.Shape) -> Callable[[cq.Vector, cq.Vector], list[float]]:
    """A function: how long each stretch is that a line, by a point of it and its way, runs inside the solid [mm]."""
    from OCP.BRepClass3d import BRepClass3d_SolidClassifier
    from OCP.gp import gp_Dir, gp_Lin
    from OCP.IntCurvesFace import IntCurvesFace_ShapeIntersector
    from OCP.TopAbs import TopAbs_IN

    meets, holds = IntCurvesFace_ShapeIntersector(), BRepClass3d_SolidClassifier(solid.wrapped)
    meets.Load(solid.wrapped, HAIR)

    def ask(at: cq.Vector, way: cq.Vector) -> list[float]:
        meets.Perform(gp_Lin(at.toPnt(), gp_Dir(*way.toTuple())), -FAR, FAR)
        spots = sorted(meets.WParameter(k) for k in range(1, meets.NbPnt() + 1))
        found: list[float] = []
        ended = -math.inf
        for low, high in zip(spots, spots[1:], strict=False):
            holds.Perform((at + way * ((low + high) / 2)).toPnt(), HAIR)
            if high - low > HAIR and holds.State() == TopAbs_IN:
                if low - ended <= HAIR:  # the line touched something on its way: still the same stretch
                    found[-1] += high - low
                else:
                    found.append(high - low)
                ended = high
        return found

    return ask


def _middle(body: Body) -> cq.Vector:
    """A point in a frame's middle plane."""
    import cadquery as cq

    return cq.Vector(*body.frame.origin) + cq.Vector(*body.frame.z) * ((body.thickness or 0.0) / 2)


def _height_over_all(assembly: Assembly, spec: Spec, stand: Stand, bodies: list[Body]) -> Finding:
    """How far the upper edge of any frame is from the level of the recess's mouth: on these edges the insert stands."""
    up = stand.frame.z
    mouth = _top(assembly.body(stand.tools[0]), up)
    off = {body.name: _top(body, up) - mouth for body in bodies}
    worst = max(off, key=lambda name: abs(off[name]))
    return bound("stack-error", spec).finding(
        check="frames", part=stand.name, what="height of the frames", measured=abs(off[worst]),
        path=(*stand.path, "insert", "frames"), note=f"most on {worst}, against the mouth it stands on", tolerance=1e-6)


def _top(body: Body, up: Vector) -> float:
    """Highest level of a body whose top is flat [mm]."""
    return max(_dot(vertex.toTuple(), up) for vertex in body.solid.Vertices())


def _dot(a: Vector, b: Vector) -> float:
    return sum(p * q for p, q in zip(a, b, strict=True))
