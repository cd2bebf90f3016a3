"""A cylinder as measured: its profile, its solid, and the envelope of its valve.

In       spec.model.Cylinder; own axes: origin where the axis meets what it stands on, z towards the valve [mm].
Out      Shaped solids with the roles standing, foot, knuckle, body, shoulder, top; radii of the profile by height.
Not here where it stands (seat.py, chock.py).
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from moldplan.errors import Fault, Path
from moldplan.shape.body import Shaped, revolved
from moldplan.spec.model import Cylinder

if TYPE_CHECKING:
    import cadquery as cq


def faults(cylinder: Cylinder, path: Path) -> list[Fault]:
    """What cannot be in one cylinder's measures, by field."""
    radius, found = cylinder.radius, []
    shoulder = shoulder_radius(cylinder)
    if cylinder.knuckle_radius > radius:
        found.append(Fault((*path, "knuckle_radius"), cylinder.knuckle_radius, f"0 to {radius:g}",
                           "a knuckle cannot be rounder than half the diameter"))
    if cylinder.shoulder_radius is not None and cylinder.shoulder_radius > radius:
        found.append(Fault((*path, "shoulder_radius"), cylinder.shoulder_radius, f"0 to {radius:g}",
                           "a shoulder cannot be rounder than half the diameter"))
    if cylinder.foot and cylinder.foot.diameter > cylinder.diameter.value:
        found.append(Fault((*path, "foot", "diameter"), cylinder.foot.diameter, f"up to {cylinder.diameter.value:g}",
                           "the body's diameter is measured at its widest"))
    if cylinder.foot and cylinder.foot.edge_radius > min(cylinder.foot.height, cylinder.foot.diameter / 2):
        found.append(Fault((*path, "foot", "edge_radius"), cylinder.foot.edge_radius,
                           f"up to {min(cylinder.foot.height, cylinder.foot.diameter / 2):g}",
                           "the edge's radius must fit on the foot"))
    least = _bottom_height(cylinder) + bottom_radius(cylinder) + shoulder
    if cylinder.height < least:
        found.append(Fault((*path, "height"), cylinder.height, f"at least {least:g}",
                           "foot, knuckle and shoulder already take that much"))
    if cylinder.across.tolerance >= radius:
        found.append(Fault((*path, "tolerance"), cylinder.across.tolerance, f"less than {radius:g}",
                           "a tolerance as large as the radius measures nothing"))
    return found


def shoulder_radius(cylinder: Cylinder) -> float:
    """The shoulder as given, or none when it was left out [mm]."""
    return 0.0 if cylinder.shoulder_radius is None else cylinder.shoulder_radius


def bottom_radius(cylinder: Cylinder) -> float:
    """Radius between bottom and body: half the diameter for a round bottom [mm]."""
    return cylinder.radius if cylinder.bottom == "round" else cylinder.knuckle_radius


def _bottom_height(cylinder: Cylinder) -> float:
    return cylinder.foot.height if cylinder.foot else 0.0


def standing_radius(cylinder: Cylinder) -> float:
    """Radius of the flat it stands on; 0 for a round bottom [mm]."""
    if cylinder.foot:
        return cylinder.foot.diameter / 2 - cylinder.foot.edge_radius
    return cylinder.radius - bottom_radius(cylinder)


def widest_below(cylinder: Cylinder, level: float, *, locate: str) -> float:
    """Largest radius from what it stands on up to `level` [mm]; of the foot alone when the seat locates the foot."""
    foot = cylinder.foot
    if foot and (locate == "foot" or level <= foot.height):
        return foot.diameter / 2
    return max(foot.diameter / 2 if foot else 0.0, _body_radius(cylinder, level))


def _body_radius(cylinder: Cylinder, level: float) -> float:
    """Radius of the body at a height, going up, so that it is also the widest so far [mm]."""
    knuckle, up = bottom_radius(cylinder), max(level - _bottom_height(cylinder), 0.0)
    if up >= knuckle:
        return cylinder.radius
    return cylinder.radius - knuckle + math.sqrt(knuckle**2 - (knuckle - up) ** 2)


def straight(cylinder: Cylinder) -> tuple[float, float]:
    """Where the straight part of the body begins and ends, along the axis [mm]."""
    return _bottom_height(cylinder) + bottom_radius(cylinder), cylinder.height - shoulder_radius(cylinder)


def solid(cylinder: Cylinder) -> Shaped:
    """The whole cylinder without its valve, at nominal size.

    Raises GeometryError when the measures give no solid; call `faults` first.
    """
    return revolved(_profile(cylinder))


def envelope(cylinder: Cylinder) -> Shaped | None:
    """The room its valve takes, standing on the body's top; None when no valve was given."""
    import cadquery as cq

    if not cylinder.valve:
        return None
    base, radius, high = cylinder.height, cylinder.valve.diameter / 2, cylinder.height + cylinder.valve.height
    corners = [(0.0, base), (radius, base), (radius, high), (0.0, high)]
    points = [cq.Vector(x, 0, z) for x, z in corners]
    names = ("underside", "side", "top")
    return revolved([(n, cq.Edge.makeLine(a, b)) for n, a, b in zip(names, points, points[1:], strict=False)])


def _profile(cylinder: Cylinder) -> list[tuple[str, cq.Edge]]:
    """Named edges from the axis at the bottom round to the axis at the top."""
    pen = Pen()
    radius, knuckle, shoulder = cylinder.radius, bottom_radius(cylinder), shoulder_radius(cylinder)
    base, top = _bottom_height(cylinder), cylinder.height
    if cylinder.foot:
        foot, edge = cylinder.foot.diameter / 2, cylinder.foot.edge_radius
        pen.line("standing", foot - edge, 0)
        pen.corner("foot", centre=(foot - edge, edge), radius=edge, start=-90, end=0)
        meets = base if foot <= radius - knuckle else base + knuckle - math.sqrt(
            max(knuckle**2 - (foot - radius + knuckle) ** 2, 0.0))
        pen.line("foot", foot, meets)
        if foot < radius - knuckle:
            pen.line("knuckle", radius - knuckle, base)
    else:
        pen.line("standing", radius - knuckle, 0)
    if knuckle:
        centre = (radius - knuckle, base + knuckle)
        start = math.degrees(math.atan2(pen.z - centre[1], pen.x - centre[0]))
        pen.corner("knuckle", centre=centre, radius=knuckle, start=start, end=0)
    pen.line("body", radius, top - shoulder)
    pen.corner("shoulder", centre=(radius - shoulder, top - shoulder), radius=shoulder, start=0, end=90)
    pen.line("top", 0, top)
    return pen.edges


class Pen:
    """Draws a profile in the x-z plane edge by edge, leaving out what has no length."""

    def __init__(self, x: float = 0.0, z: float = 0.0) -> None:
        self.x, self.z = x, z
        self.edges: list[tuple[str, cq.Edge]] = []

    def line(self, name: str, x: float, z: float) -> None:
        """A straight edge from where the pen stands."""
        import cadquery as cq

        if math.hypot(x - self.x, z - self.z) > 1e-6:
            edge = cq.Edge.makeLine(cq.Vector(self.x, 0, self.z), cq.Vector(x, 0, z))
            self.edges.append((name, edge))
            self.x, self.z = x, z

    def corner(self, name: str, *, centre: tuple[float, float], radius: float, start: float, end: float) -> None:
        """An arc about a centre, from one direction to another [deg from x towards z]."""
        import cadquery as cq

        if radius <= 1e-6 or abs(end - start) < 1e-9:
            return
        spots = [
            cq.Vector(centre[0] + radius * math.cos(math.radians(a)), 0, centre[1] + radius * math.sin(math.radians(a)))
            for a in (start, (start + end) / 2, end)
        ]
        self.edges.append((name, cq.Edge.makeThreePointArc(*spots)))
        self.x, self.z = spots[2].x, spots[2].z
