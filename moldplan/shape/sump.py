"""The sump round a drain: a drafted cup in the floor of a gutter, as wide at its foot as the drain's flange.

In       the flange, how deep the sump is, the draft of the gutter's walls, levels [mm].
Out      the cup as a solid about its own axis, on any face of the laminate; how wide a flange a gutter takes.
Not here the gutter it lies in (hatch.py), the disc that makes it on the mold (mold.py).

A sump is made by a disc that stays in the part until the strip above it is out. So it is drafted as the gutter is, and
lies wholly between the gutter's walls: one that reached under them could never leave. It gains the flat that the
gutter's roots take.
"""

from __future__ import annotations

import math

from moldplan.shape.body import Shaped, revolved
from moldplan.shape.face_line import rounded
from moldplan.shape.ring import Line, Plane2

FOOT = 3.0  # mm, finished radius between a sump's wall and its floor; common practice for light cloth, no source
CLEAR = 0.5  # mm from a sump's rim to each wall of the gutter; ours


def cup(*, flange: float, rim: float, top: float, draft: float, by: float, role: str) -> Shaped:
    """Everything inside a sump's face moved by `by` into the part, about the z axis, up to the level `top`.

    `rim`: level of its finished floor; `flange`: flat across there; levels are z. Roles: `role`, and with " root" and
    " floor" the rounding and the flat.
    """
    import cadquery as cq

    slant, share = math.tan(math.radians(draft)), math.tan(math.radians(45 - draft / 2))
    low, radius = rim - by, FOOT + by
    corner = flange / 2 + radius * share
    line: list[Plane2] = [(0.0, low), (corner, low), (corner + (top - low) * slant, top), (0.0, top)]
    edges = rounded(line, [0.0, radius, 0.0, 0.0], (f"{role} floor", role, ""), ("", f"{role} root", "", ""))

    def at(point: Plane2) -> cq.Vector:
        return cq.Vector(point[0], 0, point[1])

    return revolved([
        (e.role, cq.Edge.makeLine(at(e.start), at(e.end)) if isinstance(e, Line) else
         cq.Edge.makeThreePointArc(at(e.start), at(e.middle), at(e.end)))
        for e in edges
    ])  # fmt: skip


def reach(*, flange: float, deep: float, draft: float) -> float:
    """Finished radius of a sump where it opens into the gutter's floor [mm]."""
    return flange / 2 + FOOT * math.tan(math.radians(45 - draft / 2)) + deep * math.tan(math.radians(draft))


def widest(*, floor: float, deep: float, draft: float) -> float:
    """The widest flange whose sump lies between walls that are `floor` apart where it opens [mm]."""
    return floor - 2 * (CLEAR + reach(flange=0.0, deep=deep, draft=draft))
