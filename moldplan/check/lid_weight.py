"""What a lid weighs, where its centre lies, and how its core ends before its edge.

In       a HatchSpot: the lid's part and core as solids, its skins and stock from the spec.
Out      LidMass; findings "one hand", "close-out".
Not here whether the lid bears a foot (a later room).

Skins lie on every face of the part, drip lip included; between core and edge lies what fills the close-out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from moldplan.check.hatch_spot import WAYS, HatchSpot
from moldplan.check.limits import bound
from moldplan.finding import Edit, Finding, Move
from moldplan.material.laminate import skin as skin_of

FILL = 700.0  # kg/m3, resin with light filler where the core stops; ours
KG = 1e-9  # of mm3 x kg/m3


@dataclass(frozen=True, kw_only=True)
class LidMass:
    """Mass of a lid's parts [kg], and its centre in own axes [mm]."""

    core: float
    skins: float
    fill: float
    centre: tuple[float, float, float]

    @property
    def whole(self) -> float:
        return self.core + self.skins + self.fill


def lid_mass(spot: HatchSpot) -> LidMass:
    """Core from its volume, skins from the part's faces, and the fill between core and edge."""
    part, core = spot.lid.solid, spot.assembly.body(spot.place.lid_core)
    lid = spot.place.hatch.lid
    laid = skin_of(spot.spec, lid.skin, path=(*spot.path, "lid", "skin"))
    skins = part.Area() * laid.thickness
    fill = max(part.Volume() - core.solid.Volume() - skins, 0.0)
    masses = (core.solid.Volume() * (core.density or 0.0) * KG, skins * (laid.density or 0.0) * KG, fill * FILL * KG)
    middles = (core.solid.Center().toTuple(), _middle_of_faces(part), part.Center().toTuple())
    whole = sum(masses)
    centre = tuple(sum(m * c[k] for m, c in zip(masses, middles, strict=True)) / whole for k in range(3))
    return LidMass(core=masses[0], skins=masses[1], fill=masses[2], centre=spot.own((centre[0], centre[1], centre[2])))


def _middle_of_faces(part: object) -> tuple[float, float, float]:
    """Centre of a solid's surface."""
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps

    seen = GProp_GProps()
    BRepGProp.SurfaceProperties_s(part.wrapped, seen)  # type: ignore[attr-defined]
    point = seen.CentreOfMass()
    return point.X(), point.Y(), point.Z()


def lid_weight(spot: HatchSpot) -> list[Finding]:
    """One hand, and the close-out."""
    return [one_hand(spot), close_out(spot)]


def one_hand(spot: HatchSpot) -> Finding:
    """The lid's mass against what one hand lifts."""
    limit, made = bound("lid-mass", spot.spec), lid_mass(spot)
    x, y, z = made.centre
    note = (f"{made.whole:.1f} kg: core {made.core:.1f}, skins {made.skins:.1f}, filled edge {made.fill:.1f}; centre "
            f"{abs(x):.0f} mm {'forward' if x >= 0 else 'aft'} and {abs(y):.0f} mm "
            f"{'to port' if y >= 0 else 'to starboard'} of its middle, {-z:.0f} mm below the surface")
    lid, path = spot.place.hatch.lid, (*spot.path, "lid")
    narrower = max(math.floor((lid.close_out - 5) / 5) * 5, 0)
    length, width = spot.place.hatch.clear_opening
    share = math.sqrt(limit.value / made.whole)
    smaller = tuple(math.floor(size * share / 10) * 10.0 for size in (length, width))
    moves = (*((Move("core up to {to} mm from the edge", (Edit((*path, "close_out"), narrower, -5.0),)),)
               if lid.close_out > 30 else ()),
             Move("an opening {to} mm, split in two with a gutter under the split",
                  (Edit((*spot.path, "clear_opening"), smaller),)))
    return limit.finding(check="lid", part=spot.name, what="one hand", measured=made.whole, path=path,
                         at=spot.at(made.centre), note=note, moves=moves)


def close_out(spot: HatchSpot) -> Finding:
    """How far the core stays back from the lid's edge, at its widest."""
    limit = bound("close-out", spot.spec)
    core = spot.assembly.body(spot.place.lid_core)
    edge = spot.walls(core, "side", outward=True)
    top, low = (spot.level(core, role) for role in ("top", "underside"))
    backs = {}
    for side in WAYS:
        ends = [(edge[side].off(z), spot.lid_edge[side].off(z)) for z in (top, low)]
        backs[side] = min(outer - inner for inner, outer in ends)
    side = min(backs, key=lambda s: backs[s])
    run = abs(edge[side].off(top) - edge[side].off(low))
    note = (f"the core ends {backs[side]:.1f} mm from the lid's edge and tapers over {run:.1f} mm "
            f"at {math.degrees(math.atan2(top - low, run)):.0f} deg")
    now = spot.place.hatch.lid.close_out
    to = math.ceil((now + limit.short(backs[side])) * 2) / 2
    return limit.finding(check="lid", part=spot.name, what="close-out", measured=backs[side],
                         path=(*spot.path, "lid", "close_out"), note=note,
                         at=spot.at((spot.lid_edge["forward"].off(top), 0.0, top)),
                         moves=(Move("core {to} mm back from the edge",
                                     (Edit((*spot.path, "lid", "close_out"), to, 0.5),)),))
