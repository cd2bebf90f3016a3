"""How high a body lies on its sheet, and which of its faces holds the shadow of all of it.

In       a solid in its sheet's own axes (z the sheet's normal).
Out      its lowest and highest level; whether nothing hangs out over one of its two faces.
Not here the outlines themselves (profile.py), which of them is cut (flat.py).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal

from moldplan.cut.profile import way_of

if TYPE_CHECKING:
    import cadquery as cq

LEAN = 1e-7  # a normal that leans less than that is square to the sheet
GRID = (0.0, 0.25, 0.5, 0.75, 1.0)


def levels(solid: cq.Shape) -> tuple[float, float]:
    """Lowest and highest level of a solid [mm].

    The kernel's own box of a trimmed free-form face is that of its untrimmed poles (1.5 mm too low on a strip 1.5 mm
    high), so such a face is measured on its edges: those of a strip are ruled between them.
    """
    low, high = [], []
    for face in solid.Faces():
        if face.geomType() == "BSPLINE":
            heights = [p.z for edge in face.Edges() for p in edge.positions([k / 16 for k in range(17)])]
            low.append(min(heights))
            high.append(max(heights))
        else:
            box = face.BoundingBox(1e-4)
            low.append(box.zmin)
            high.append(box.zmax)
    return min(low), max(high)


def holding(solid: cq.Shape, low: float, high: float) -> Literal["low", "high"] | None:
    """Which level face holds the shadow of the whole solid; None when it takes more than one.

    From every point of a solid one comes down to its surface where that looks down: when nothing looks down but the
    lowest faces, these hold the shadow, and the same upward. Free-form faces are looked at on a grid of 25 places.
    """
    downward = upward = True
    for face in solid.Faces():
        way, z = way_of(face)
        if way:
            downward = downward and (way > 0 or z - low < 1e-4)
            upward = upward and (way < 0 or high - z < 1e-4)
            continue
        for lean in leans(face):
            downward = downward and lean >= -LEAN
            upward = upward and lean <= LEAN
        if not downward and not upward:
            return None
    return "low" if downward else "high" if upward else None


def leans(face: cq.Face) -> list[float]:
    """How far up a face looks, on a grid of places: the z of its unit normals."""
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.gp import gp_Pnt, gp_Vec
    from OCP.TopAbs import TopAbs_REVERSED

    surface: Any = BRepAdaptor_Surface(face.wrapped)
    u0, u1 = surface.FirstUParameter(), surface.LastUParameter()
    v0, v1 = surface.FirstVParameter(), surface.LastVParameter()
    sign = -1.0 if face.wrapped.Orientation() == TopAbs_REVERSED else 1.0
    found = []
    for u in GRID:
        for v in GRID:
            spot, along, across = gp_Pnt(), gp_Vec(), gp_Vec()
            surface.D1(u0 + (u1 - u0) * u, v0 + (v1 - v0) * v, spot, along, across)
            normal = along.Crossed(across)
            if normal.Magnitude() > 1e-9:
                found.append(sign * normal.Z() / normal.Magnitude())
    return found
