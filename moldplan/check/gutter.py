"""Is a gutter wide and round enough to be laid up and wiped out, and its frame wide enough to be bonded in?

In       a HatchSpot.
Out      findings "gutter width", "root radius", "bond flange".
Not here its floor and drains (floor.py).
"""

from __future__ import annotations

import math

from moldplan.check.hatch_spot import WAYS, HatchSpot
from moldplan.check.limits import bound
from moldplan.check.spot import grown
from moldplan.finding import Edit, Finding, Move
from moldplan.shape.body import Body


def gutter(spot: HatchSpot) -> list[Finding]:
    """Width, roots, flange."""
    return [width(spot), *roots(spot), flange(spot)]


def width(spot: HatchSpot) -> Finding:
    """Clear width between the painted walls at the landing's level, the narrowest side."""
    limit, level = bound("gutter-width", spot.spec), -spot.landing
    wide = {side: spot.outer[side].off(level, spot.paint) - spot.inner[side].off(level, spot.paint) for side in WAYS}
    side = min(wide, key=lambda s: wide[s])
    axis, sign = WAYS[side]
    point = [0.0, 0.0, level]
    point[axis] = sign * spot.inner[side].off(level, spot.paint)
    note = f"{wide[side]:.1f} mm clear at the landing's level for a finger and a sponge"
    return limit.finding(check="gutter", part=spot.name, what="gutter width", measured=wide[side],
                         path=(*spot.path, "gutter", "width"), at=spot.at((point[0], point[1], point[2])), note=note,
                         moves=grown("a gutter {to} mm wide", (*spot.path, "gutter", "width"),
                                     spot.place.hatch.gutter.width, limit.short(wide[side])))


def roots(spot: HatchSpot) -> list[Finding]:
    """Radius between wall and floor on the molded face, against the least cloth lies in and against the skin's."""
    limit = bound("root-radius", spot.spec)
    found = [(radius_of(face), face, tool) for tool in spot.tools
             for role in ("molding inner root", "molding outer root") for face in _roots(spot, tool, role)]
    least = min((size for size, _, _ in found), default=0.0)
    face = next((face for size, face, _ in found if size == least), None)
    skin = spot.place.skin
    note = (f"cloth goes round {least:.1f} mm in the gutter's root, on a skin of {skin:.1f} mm" if found else
            "wall and floor meet in a sharp corner: cloth bridges it")
    wanted = max(limit.value, skin)
    to = math.ceil((spot.place.hatch.gutter.root_radius + max(wanted - least, 0.0)) * 2 - 1e-9) / 2
    made = limit.finding(check="gutter", part=spot.name, what="root radius",
                         measured=least - max(skin - limit.value, 0), path=(*spot.path, "gutter", "root_radius"),
                         at=spot.at(spot.seen(face)[0]) if face is not None else {}, note=note, tolerance=1e-3,  # type: ignore[arg-type]
                         moves=(Move("a root radius of {to} mm",
                                     (Edit((*spot.path, "gutter", "root_radius"), to, 0.5),)),))
    return [made]


def _roots(spot: HatchSpot, tool: Body, role: str) -> list[object]:
    """A strip's roots on the runs, which are straight; those of the corners where there is no run."""
    which = " side" if any(other.name.endswith(" side") for other in spot.tools) else " corner"
    return list(tool.shaped.roles.get(role, ())) if tool.name.endswith(which) else []


def radius_of(face: object) -> float:
    """Least radius of curvature on a face, on its middle lines from edge to edge [mm].

    A straight run's root is an oblique cylinder, since its floor falls: tightest where it leaves the wall.
    """
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.BRepLProp import BRepLProp_SLProps

    from moldplan.check.incline import bounds

    surface = BRepAdaptor_Surface(face.wrapped, True)  # type: ignore[attr-defined]
    low_u, high_u, low_v, high_v = bounds(face)  # type: ignore[arg-type]
    radii = []
    for i, j in ((0.5, 0.5), (0.0, 0.5), (1.0, 0.5), (0.5, 0.0), (0.5, 1.0)):
        props = BRepLProp_SLProps(surface, low_u + i * (high_u - low_u), low_v + j * (high_v - low_v), 2, 1e-9)
        if props.IsCurvatureDefined():
            most = max(abs(props.MaxCurvature()), abs(props.MinCurvature()))
            radii.append(1 / most if most > 1e-12 else math.inf)
    return min(radii, default=0.0)


def flange(spot: HatchSpot) -> Finding:
    """Width of the flange from the gutter's wall, carried up to the sole's surface, to its edge.

    A flange under the sole bonds from the edge of the sole's cut-out on: what reaches further in bears no bond.
    """
    limit, level = bound("flange-width", spot.spec), -spot.place.start
    wide = spot.flange.half[0] - spot.outer["forward"].off(0.0, spot.paint)
    return limit.finding(check="gutter", part=spot.name, what="bond flange", measured=wide,
                         path=(*spot.path, "bond_flange", "width"), at=spot.at((spot.flange.half[0], 0.0, level)),
                         note=f"{wide:.1f} mm of flange outside the gutter to bond by",
                         moves=grown("a flange {to} mm wide", (*spot.path, "bond_flange", "width"),
                                     spot.place.hatch.bond_flange.width, limit.short(wide)))
