"""Does the part let go of its tools? Draft of every molding face, undercut, and the best way out.

In       the finished tools of an Assembly (roles "molding ..."), and the way each part leaves them.
Out      per insert: one Finding on draft (its worst face), one on undercut.
Not here shaping the tools (shape/insert.py), the measuring itself (incline.py, undercut.py, pull.py).

n is the outward normal of the tool's molding face, d the way the part leaves the tool; draft = asin(n . d). A press
insert leaves upward out of the part, so the part leaves the insert downward: the same d.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from moldplan.check.incline import Incline, dot, incline
from moldplan.check.limits import Bound, bound, value_at
from moldplan.finding import Edit, Finding, Move
from moldplan.shape.assembly import Assembly, Stand
from moldplan.shape.body import Body, Vector
from moldplan.spec.model import Spec

if TYPE_CHECKING:
    import cadquery as cq

ROLES = ("molding wall", "molding fillet", "molding floor")
STEP = 0.5  # deg, the rounding of a draft in a shop


def draft(assembly: Assembly, spec: Spec) -> tuple[Finding, ...]:
    """Draft and undercut of the insert of every stand that has one. The twin of `hand: both` is judged too."""
    found: list[Finding] = []
    for stand in assembly.stands:
        if stand.tools:
            tools = [assembly.body(name) for name in stand.tools]
            found += [_steepness(stand, tools, spec), _undercut(stand, tools, assembly, spec)]
    return tuple(found)


def molding_faces(tool: Body) -> tuple[tuple[str, cq.Face], ...]:
    """The faces of a tool that touch the part, with their roles."""
    return tuple((role, face) for role in ROLES for face in tool.shaped.roles.get(role, ()))


def worst(tools: Sequence[Body], way: Vector) -> tuple[Incline, Body, str]:
    """The molding face that looks least along the way out."""
    found = [(incline(face, way), tool, role) for tool in tools for role, face in molding_faces(tool)]
    return min(found, key=lambda each: each[0].least)


def _steepness(stand: Stand, tools: Sequence[Body], spec: Spec) -> Finding:
    limit = bound("draft", spec)
    if not any(molding_faces(tool) for tool in tools):
        return limit.unjudged(check="draft", part=stand.name, what="insert", path=(*stand.path, "draft"),
                              why="the insert has no molding face")
    least, tool, role = worst(tools, stand.pull)
    depth = _depth(tools, stand.pull)
    wider = depth * (math.tan(math.radians(limit.value)) - math.tan(math.radians(min(least.least, limit.value))))
    note = f"the {role.removeprefix('molding ')} of {tool.name} has {least.least:.2f} deg of draft"
    if least.least < limit.value:
        note += f"; at {limit.value:g} deg the mouth is {wider:.1f} mm wider per side over {depth:.0f} mm of depth"
    if least.least <= 0:
        note += "; " + _way_out(tools)
    return limit.finding(check="draft", part=stand.name, what="insert", measured=least.least,
                         path=(*stand.path, "draft"), at=_at(least.at), tolerance=least.tolerance, note=note,
                         moves=_more_draft(stand, spec, limit, least.least, wider))


def _more_draft(stand: Stand, spec: Spec, limit: Bound, measured: float, wider: float) -> tuple[Move, ...]:
    """Widen the mouth: draft up to the limit, in half degrees."""
    now = value_at(spec, (*stand.path, "draft"))
    if now is None:
        return ()
    goal = math.ceil((now + limit.short(measured)) / STEP - 1e-9) * STEP
    text = f"widen the mouth by {wider:.1f} mm per side: draft {{to}} deg"
    return (Move(text, (Edit((*stand.path, "draft"), goal, STEP),)),)


def _way_out(tools: Sequence[Body]) -> str:
    """Whether any other way would do, in words."""
    from moldplan.check.pull import best_pull, normals_of

    pull = best_pull(*normals_of([face for tool in tools for _, face in molding_faces(tool)]))
    way = ", ".join(f"{part:.2f}" for part in pull.way)
    if pull.exists and pull.draft > 0.01:
        return f"pulled along ({way}) instead it would have {pull.draft:.1f} deg"
    text = f"no way out leaves every face (the least bad, along ({way}), has {pull.draft:.1f} deg)"
    if pull.parting and pull.parting[1] > 0.5:
        parted = ", ".join(f"{part:.2f}" for part in pull.parting[0])
        text += f"; parted in two along ({parted}) it would let go with {pull.parting[1]:.1f} deg"
    return text


def _depth(tools: Sequence[Body], way: Vector) -> float:
    """How far the molding faces reach along the way out [mm]."""
    ends = [dot(vertex.toTuple(), way) for tool in tools for _, face in molding_faces(tool)
            for vertex in face.Vertices()]
    return max(ends) - min(ends)


def _undercut(stand: Stand, tools: Sequence[Body], assembly: Assembly, spec: Spec) -> Finding:
    from moldplan.check.undercut import locked

    limit = bound("undercut", spec)
    faces = [face for tool in tools for _, face in molding_faces(tool)]
    standing = [assembly.body(name) for other in assembly.stands
                if other is stand or set(other.hosts) & set(stand.hosts) for name in other.tools]
    lock = locked(faces, stand.pull, [body.solid for body in standing])
    note = f"looked from {lock.points} points, {lock.spacing:.0f} mm apart"
    if lock.at:
        note = f"about {lock.area:.0f} mm2 of the tool lock the part on it; {note}"
    return limit.finding(check="draft", part=stand.name, what="undercut", measured=lock.area,
                         path=(*stand.path, "draft"), at=_at(lock.at) if lock.at else {}, note=note)


def _at(point: Vector) -> dict[str, float]:
    return dict(zip(("x", "y", "z"), (round(p, 3) for p in point), strict=True))
