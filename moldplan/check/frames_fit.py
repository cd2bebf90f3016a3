"""Do the frames of an insert slide together, stand, and carry their covering? Measured on the finished solids.

In       Assembly (stands with frames), the spec's limits.
Out      for each such stand: play in the slits, height that a half lap leaves, covering left over the frames.
Not here shaping them (shape/framed.py), the molding surface itself (draft.py).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import product
from typing import TYPE_CHECKING

from moldplan.check.limits import bound
from moldplan.finding import Edit, Finding, Move, Source
from moldplan.shape.assembly import Assembly, Stand
from moldplan.shape.body import Body, Vector
from moldplan.spec.model import Seat, Spec

if TYPE_CHECKING:
    import cadquery as cq

READ = 4  # decimals of a gap [mm]


def frames_fit(assembly: Assembly, spec: Spec) -> tuple[Finding, ...]:
    """Three findings for every insert that is built of frames."""
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
    gaps = {(a.name, b.name): a.solid.distance(b.solid) for a, b in product(along, across)}
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
    proud = seat.insert.frames.covering - _covering(assembly, stand, bodies)
    yield Finding(
        check="frames", part=stand.name, what="short of the covering by", measured=max(0.0, round(proud, 2)), limit=0.0,
        sense="at_most", unit="mm", source=Source.spec("insert.frames.covering"), path=(*field, "covering"),
        note=f"covering {seat.insert.frames.covering:g} mm, normal to the surface",
    )  # fmt: skip


def _lap(body: Body, others: list[Body], up: Vector) -> float:
    """The least height of a frame where another crosses it [mm]; as high as it is where none does."""
    return min((_height(body, other, up) for other in others), default=math.inf)


def _height(body: Body, other: Body, up: Vector) -> float:
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


def _middle(body: Body) -> cq.Vector:
    """A point in a frame's middle plane."""
    import cadquery as cq

    return cq.Vector(*body.frame.origin) + cq.Vector(*body.frame.z) * ((body.thickness or 0.0) / 2)


def _covering(assembly: Assembly, stand: Stand, frames: list[Body]) -> float:
    """The least distance from a frame to the molding surface [mm]; negative where one stands proud of it."""
    whole = assembly.body(stand.tools[0])
    faces = [face for role in ("molding floor", "molding fillet", "molding wall") if role in whole.shaped.roles
             for face in whole.faces(role)]  # fmt: skip
    least = min(body.solid.distance(face) for body in frames for face in faces)
    inside = all(body.solid.cut(whole.solid).Volume() < 1.0 for body in frames)
    return least if inside else -least


def _dot(a: Vector, b: Vector) -> float:
    return sum(p * q for p, q in zip(a, b, strict=True))
