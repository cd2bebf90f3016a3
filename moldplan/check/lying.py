"""A lying cylinder in its chocks: wrap, room in the arcs, straps beside the ribs.

In       a Spot of kind chock: finished ribs with the roles arc and edge, straps, cylinder.
Out      findings "wrap", "arc", "strap".
Not here what stands round it (around.py).
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from moldplan.check.gap import least, place
from moldplan.check.limits import bound
from moldplan.check.spot import Spot, grown
from moldplan.errors import GeometryError
from moldplan.finding import Finding

if TYPE_CHECKING:
    import cadquery as cq


def lying(spot: Spot) -> list[Finding]:
    """Everything between a lying cylinder and its ribs."""
    return [wrap(spot), arc(spot), *strap(spot)]


def wrap(spot: Spot) -> Finding:
    """How far the rigid arc goes round, against the point where its mouth closes on the cylinder."""
    limit = bound("wrap", spot.spec)
    if spot.value("made") == "molded":
        limit = replace(limit, value=limit.value - 2 * (spot.value("draft") or 0.0))
    faces = spot.host_faces("arc")
    angle = max(_girth(spot, face) for face in faces)
    radius = min(_radius(spot, face) for face in faces) - spot.stand.paint - spot.stand.liner
    mouth = 2 * radius * math.sin(math.radians(angle / 2))
    note = f"the arc takes {angle:.1f} deg of the girth; between the liner's ends the mouth is {mouth:.0f} mm wide"
    if angle > 180:
        note += f", the cylinder up to {2 * (spot.stand.cylinder.radius + spot.slack):.0f} mm"
    return limit.finding(check="clearance", part=spot.stand.name, what="wrap", measured=angle,
                         path=(*spot.path, "wrap"), at=place(spot.stand.frame.origin), note=note,
                         moves=grown("wrap {to} deg", (*spot.path, "wrap"), spot.value("wrap"),
                                     -limit.short(angle), grid=5.0))


def _girth(spot: Spot, face: cq.Face) -> float:
    """Angle an arc's face takes about its axis [deg]."""
    from OCP.BRepAdaptor import BRepAdaptor_Surface

    from moldplan.check.incline import bounds

    if not str(BRepAdaptor_Surface(face.wrapped).GetType()).endswith("Cylinder"):
        raise GeometryError(f"the arc of {spot.stand.name} is no arc of a circle")
    low, high, _, _ = bounds(face)
    return math.degrees(high - low)


def _radius(spot: Spot, face: cq.Face) -> float:
    from OCP.BRepAdaptor import BRepAdaptor_Surface

    return BRepAdaptor_Surface(face.wrapped).Cylinder().Radius()


def arc(spot: Spot) -> Finding:
    """Room between the cylinder and the liner in its arcs; a bare arc must take the largest cylinder."""
    limit = bound("arc-gap", spot.spec)
    gap = least(spot.body.solid, spot.host_faces("arc"))
    nominal = gap.size - spot.stand.paint - spot.stand.liner
    if gap.size < 1e-9:
        nominal = min(_radius(spot, f) for f in spot.host_faces("arc")) - spot.stand.cylinder.radius
        nominal -= spot.stand.paint + spot.stand.liner
    soft = spot.stand.liner > 0
    measured = nominal if soft else nominal - spot.allowance
    note = f"{nominal:.1f} mm to the {'liner' if soft else 'arc'} as drawn"
    note += (f"; the liner takes up the {spot.allowance:.1f} mm that it may be tighter" if soft
             else f", {measured:.1f} mm with every tolerance against it")
    return limit.finding(check="clearance", part=spot.stand.name, what="arc", measured=measured,
                         path=(*spot.path, "clearance"), at=gap.middle, note=note, tolerance=1e-6,
                         moves=grown("clearance {to} mm", (*spot.path, "clearance"), spot.value("clearance"),
                                     limit.short(measured)))


def strap(spot: Spot) -> list[Finding]:
    """Straps clear of the ribs."""
    bands = [spot.assembly.body(name) for name in spot.stand.straps]
    bands = [body for body in bands if body.kind == "strap"]
    if not bands or not spot.hosts:
        return []
    limit = bound("strap-gap", spot.spec)
    gap = min((least(band.solid, host.solid) for band in bands for host in spot.hosts), key=lambda g: g.size)
    short = limit.short(gap.size)
    count, spacing = spot.value("count") or 2, spot.value("spacing")
    moves = grown("ribs {to} mm apart", (*spot.path, "spacing"), spacing, 2 * short + 1, grid=5.0) if count > 1 else ()
    return [limit.finding(check="clearance", part=spot.stand.name, what="strap", measured=gap.size,
                          path=(*spot.path, "straps"), at=gap.middle, moves=moves,
                          note=f"{gap.size:.1f} mm between a strap and the rib beside it")]
