"""Do the frames of an insert slide together, stand, and carry their covering? Measured on the finished solids.

In       Assembly (stands with frames), the spec's limits.
Out      for each such stand: play in the slits, height and width beside the slits, height over all; then covered.py's.
Not here shaping them (shape/framed.py), the molding surface itself (draft.py), the covering (covered.py).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
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
    first = bodies[0].frame.z
    along = [b for b in bodies if abs(_dot(b.frame.z, first)) > 0.5]
    across = [b for b in bodies if b not in along]
    field = (*stand.path, "insert", "frames")
    discs = Move("build the insert of discs", (Edit((*stand.path, "insert", "built"), "discs"),))
    gaps = {(a.name, b.name): _gap(a, b) for a, b in product(along, across)}
    pair, gap = min(gaps.items(), key=lambda each: each[1])
    yield bound("frame-play", spec).finding(
        check="frames", part=stand.name, what="play in the slits", measured=round(2 * gap, READ),
        path=(*field, "clearance"), note=f"least between {pair[0]} and {pair[1]}",
        moves=(Move("a clearance of {to} mm in the slits", (Edit((*field, "clearance"), 0.3, 0.1),)), discs),
    )  # fmt: skip
    laps = {body.name: _lap(body, others, stand.frame.z)
            for own, others in ((along, across), (across, along)) for body in own}  # fmt: skip
    weakest = min(laps, key=lambda name: laps[name])
    yield bound("frame-lap", spec).finding(
        check="frames", part=stand.name, what="height left beside a slit", measured=laps[weakest], path=field,
        note=f"least on {weakest}; thinner snaps when the frames are pushed together", moves=(discs,),
    )  # fmt: skip
    teeth = {body.name: _tooth(body) for body in bodies}
    weakest = min(teeth, key=lambda name: teeth[name])
    yield bound("frame-tooth", spec).finding(
        check="frames", part=stand.name, what="width left beside a slit", measured=teeth[weakest], path=field,
        note=f"least on {weakest}, half way down its slits", moves=(discs,),
    )  # fmt: skip
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
    """The least height of a frame where another crosses it [mm]; as high as it is where none does."""
    return min((_left(body, other, up) for other in others), default=math.inf)


def _left(body: Body, other: Body, up: Vector) -> float:
    """How much of a plumb line through the middle of a crossing lies in the frame [mm]."""
    import cadquery as cq

    a, b = (_middle(each) for each in (body, other))
    nb = cq.Vector(*other.frame.z)
    # the plumb line that lies in both middle planes
    at = a + nb * (b - a).dot(nb)
    low, high = at - cq.Vector(*up) * 2000, at + cq.Vector(*up) * 2000
    inside = cq.Edge.makeLine(low, high).intersect(body.solid)
    long = sum(edge.Length() for edge in inside.Edges())
    return long if long > 0 else math.inf


def _tooth(body: Body) -> float:
    """The least of what a frame's slits leave of it lengthwise, half way down them [mm]; 0 where they leave nothing."""
    import cadquery as cq

    solid = body.solid.moved(body.frame.location.inverse)
    x0, y0, _, x1, y1, _ = loose_box(solid)
    found = [0.0]
    for share in (0.25, 0.75):  # one of them goes through the slits
        level, z = y0 + share * (y1 - y0), (body.thickness or 0.0) / 2
        line = cq.Edge.makeLine(cq.Vector(x0 - 1, level, z), cq.Vector(x1 + 1, level, z))
        parts = sorted(edge.Length() for edge in line.intersect(solid).Edges())
        found = parts if len(parts) > len(found) else found
    return min(found)


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
