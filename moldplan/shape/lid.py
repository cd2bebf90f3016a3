"""The lid of a hatch: its cured body, its core cut back from the edge, its gasket, and how its free edge swings.

In       a resolved Hatch, its levels and offsets, the skin and coats of its lid.
Out      LidMade: solids in the hatch's own axes, closed; the hinge's axis.
Not here the frame (hatch.py), closing force and mass (check/).

Bare faces lie inside the finished ones by the paint. The edge is drafted: smaller at its underside.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from moldplan.shape.body import Shaped
from moldplan.shape.hatch import Levels, Offsets, flat
from moldplan.shape.ring import Plane2
from moldplan.shape.seat import Build
from moldplan.spec.sole import Hatch

if TYPE_CHECKING:
    import cadquery as cq


@dataclass(frozen=True, kw_only=True)
class LidMade:
    """A closed lid's solids in the hatch's own axes."""

    part: Shaped
    core: Shaped
    gasket: Shaped
    hinge: tuple[Plane2, Plane2] | None  # a point on the axis in plan and its height below; the way of the axis in plan


def rounded_plate(length: float, width: float, radius: float, levels: tuple[float, float], grow: float = 0.0) -> Shaped:
    """A rounded rectangle between two levels (low, high); at the high one it is `grow` larger all round. Roles top,
    underside, side."""
    import cadquery as cq

    low, high = levels

    def outline(extra: float, z: float) -> cq.Wire:
        return rounded_wire(length + 2 * extra, width + 2 * extra, radius + extra, z)

    solid = cq.Solid.makeLoft([outline(0.0, low), outline(grow, high)], True)
    flat = {
        "top": max(solid.Faces(), key=lambda f: f.Center().z),
        "underside": min(solid.Faces(), key=lambda f: f.Center().z),
    }
    side = tuple(f for f in solid.Faces() if f not in flat.values())
    return Shaped(solid, {"top": (flat["top"],), "underside": (flat["underside"],), "side": side})


def rounded_wire(length: float, width: float, radius: float, z: float) -> cq.Wire:
    """A rounded rectangle about the origin at a level, counter-clockwise from the aft end of its starboard side."""
    import cadquery as cq

    x, y, r = length / 2, width / 2, max(radius, 1e-3)
    k = r * (1 - math.sqrt(0.5))

    def at(u: float, v: float) -> cq.Vector:
        return cq.Vector(u, v, z)

    def corner(a: cq.Vector, m: cq.Vector, b: cq.Vector) -> cq.Edge:
        return cq.Edge.makeThreePointArc(a, m, b)

    def side(a: cq.Vector, b: cq.Vector) -> list[cq.Edge]:
        return [cq.Edge.makeLine(a, b)] if (b - a).Length > 1e-6 else []  # none where two corners meet

    edges = [
        *side(at(-x + r, -y), at(x - r, -y)),
        corner(at(x - r, -y), at(x - k, -y + k), at(x, -y + r)),
        *side(at(x, -y + r), at(x, y - r)),
        corner(at(x, y - r), at(x - k, y - k), at(x - r, y)),
        *side(at(x - r, y), at(-x + r, y)),
        corner(at(-x + r, y), at(-x + k, y - k), at(-x, y - r)),
        *side(at(-x, y - r), at(-x, -y + r)),
        corner(at(-x, -y + r), at(-x + k, -y + k), at(-x + r, -y)),
    ]
    return cq.Wire.assembleEdges(edges)


def lid(hatch: Hatch, levels: Levels, offsets: Offsets, build: Build) -> LidMade:
    """The lid where it lies closed. Pure."""
    (length, width), spec = hatch.clear_opening, hatch.lid
    slant = math.tan(math.radians(spec.edge_draft))
    edge, radius = offsets.lid, hatch.corner_radius + offsets.lid
    thick = levels.lid - 2 * build.paint
    coat = build.paint / math.cos(math.radians(spec.edge_draft))  # square to the edge, as it measures level
    bare = edge - coat - slant * (levels.lid - build.paint)  # at the bare underside
    part = rounded_plate(
        length + 2 * bare,
        width + 2 * bare,
        radius - edge + bare,
        (-levels.lid + build.paint, -build.paint),
        grow=slant * thick,
    )
    if spec.drip_lip:
        part = part.fuse(_lip(hatch, levels, bare, radius - edge + bare, spec.drip_lip, build))
    back = bare - spec.close_out
    core_thick = thick - 2 * build.skin
    taper = core_thick / math.tan(math.radians(spec.taper))
    low = -levels.lid + build.paint + build.skin
    core = rounded_plate(
        length + 2 * back,
        width + 2 * back,
        max(radius - edge + back, 5.0),
        (low, low + core_thick),
        grow=-min(taper, min(length, width) / 4),
    )
    return LidMade(part=part, core=core, gasket=_gasket(hatch, levels, offsets), hinge=_hinge(hatch, offsets))


def _gasket(hatch: Hatch, levels: Levels, offsets: Offsets) -> Shaped:
    """The squeezed gasket as far out on the landing's flat as it goes: least water stays outside of it. One that is
    wider than the flat hangs over the rounding outward, over the gutter and not over the opening."""
    (length, width), wide = hatch.clear_opening, hatch.lid.gasket.width
    low, high = flat(hatch, offsets)
    out = max(high, low + wide)
    seat = out - wide
    outer = rounded_plate(
        length + 2 * out, width + 2 * out, hatch.corner_radius + out, (-levels.landing, -levels.lid)
    )
    inner = rounded_plate(
        length + 2 * seat,
        width + 2 * seat,
        max(hatch.corner_radius + seat, 1.0),
        (-levels.landing - 1, -levels.lid + 1),
    )
    return outer.cut(inner)


def _lip(hatch: Hatch, levels: Levels, bare: float, radius: float, drop: float, build: Build) -> Shaped:
    """A down-turned edge, two skins thick, hanging into the gutter."""
    (length, width), thick = hatch.clear_opening, 2 * build.skin
    under = -levels.lid + build.paint
    outer = rounded_plate(length + 2 * bare, width + 2 * bare, radius, (under - drop, under + 0.5))
    inner = rounded_plate(
        length + 2 * (bare - thick), width + 2 * (bare - thick), max(radius - thick, 1.0), (under - drop - 1, under + 1)
    )
    return outer.cut(inner)


def _hinge(hatch: Hatch, offsets: Offsets) -> tuple[Plane2, Plane2] | None:
    """The hinge's axis: over the edge of the rebate on its side, at the knuckle's height."""
    if hatch.lid.hinge == "none":
        return None
    length, width = hatch.clear_opening
    ways = {
        "forward": (1.0, 0.0, length),
        "aft": (-1.0, 0.0, length),
        "port": (0.0, 1.0, width),
        "starboard": (0.0, -1.0, width),
    }
    dx, dy, size = ways[hatch.lid.hinge]
    reach = size / 2 + offsets.gutter
    return (dx * reach, dy * reach), (-dy, dx)
