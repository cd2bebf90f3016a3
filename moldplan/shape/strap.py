"""Straps as geometry: a band round the cylinder to two eyes on a plane, with a core plug under each eye.

In       cylinder radius, distance from its axis to the plane the eyes sit on, the Straps of the spec.
Out      Shaped band, buckle, eyes and plugs in the strap's own axes; the length to cut.
Not here where along the cylinder a strap goes (seat.py's cradle, chock.py), whether it holds (a later room).

Own axes: origin on the cylinder's axis; x from the axis away from the plane; z along the cylinder. The band runs
straight from each eye to the cylinder and half round it, so that it pulls the cylinder square to the plane.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from moldplan.shape.body import Frame, Shaped, block, extruded, rod
from moldplan.spec.model import Straps

EYE = 3.0  # mm, thickness of an eye's flange; common practice, no source
BUCKLE = (60.0, 8.0)  # mm, length and height of a cam buckle; common practice, no source
TAIL = 150.0  # mm to grip beyond the buckle; common practice, no source
SEWN = 40.0  # mm folded and sewn at each eye; common practice, no source


@dataclass(frozen=True)
class Strap:
    """One strap in its own axes."""

    band: Shaped
    buckle: Shaped
    eyes: tuple[Shaped, Shaped]
    plugs: tuple[Shaped, Shaped]
    path: float  # mm, along the middle of the band from eye to eye
    cut_length: float  # mm, path with the sewn ends and the tail
    plug_diameter: float


def strap(spec: Straps, *, radius: float, distance: float, core: float) -> Strap:
    """A strap round a cylinder of `radius` [mm] whose axis is `distance` from the eyes' plane; `core` under it."""
    inner, outer = radius, radius + spec.thickness
    middle = radius + spec.thickness / 2
    band = _band(inner, outer, distance, spec.width)
    plug = spec.eye_flange + 2 * core  # flange and the spread of the load at 45 deg; ours
    sides = (-1.0, 1.0)
    eyes = tuple(_disc(spec.eye_flange / 2, -distance, y * middle, EYE, "eye") for y in sides)
    plugs = tuple(_disc(plug / 2, -distance - core, y * middle, core, "plug") for y in sides)
    length, height = min(BUCKLE[0], max(distance * 0.8, 10.0)), BUCKLE[1]
    buckle = block(length, height, spec.width + 6)
    at = Frame((-distance / 2 - length / 2, outer, -spec.width / 2 - 3))
    path = 2 * distance + math.pi * middle
    return Strap(band=band, buckle=buckle.renamed({"top": "upper face", "underside": "lower face"}).moved(at),
                 eyes=(eyes[0], eyes[1]), plugs=(plugs[0], plugs[1]), path=path,
                 cut_length=path + 2 * SEWN + TAIL, plug_diameter=plug)


def _disc(radius: float, x: float, y: float, thickness: float, role: str) -> Shaped:
    return rod(radius, (x, y, 0), (thickness, 0, 0), role)


def _band(inner: float, outer: float, distance: float, width: float) -> Shaped:
    """The U of the band, `width` along the cylinder."""
    import cadquery as cq

    low = -width / 2

    def at(x: float, y: float) -> cq.Vector:
        return cq.Vector(x, y, low)

    outline = [
        ("", cq.Edge.makeLine(at(-distance, -outer), at(0, -outer))),
        ("outside", cq.Edge.makeThreePointArc(at(0, -outer), at(outer, 0), at(0, outer))),
        ("", cq.Edge.makeLine(at(0, outer), at(-distance, outer))),
        ("", cq.Edge.makeLine(at(-distance, outer), at(-distance, inner))),
        ("", cq.Edge.makeLine(at(-distance, inner), at(0, inner))),
        ("inside", cq.Edge.makeThreePointArc(at(0, inner), at(inner, 0), at(0, -inner))),
        ("", cq.Edge.makeLine(at(0, -inner), at(-distance, -inner))),
        ("", cq.Edge.makeLine(at(-distance, -inner), at(-distance, -outer))),
    ]
    return extruded(outline, (0.0, 0.0, width))
