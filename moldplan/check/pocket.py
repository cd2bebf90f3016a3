"""Pockets that hold a gas heavier than air: it lies and runs as water does, and no pocket of it is called small enough.

In       Assembly, Spec, its basins.
Out      findings "gas" for each locker and seat where such a gas may leak.
Not here water (ponds.py), vents, tightness and outlets.

Litres are of the recess below its own spill level; the mass is what brings that volume to the lower explosive limit.
Gas layers, it does not mix evenly: less than that mass can burn.
"""

from __future__ import annotations

from moldplan.check.afloat import Lying, box_of, lyings
from moldplan.check.basin import Basin, Worst, at, over_box
from moldplan.check.limits import bound
from moldplan.check.pond_moves import moves
from moldplan.check.ponds import NO_BOX
from moldplan.finding import Finding, Source
from moldplan.material.gas import least_explosive_mass
from moldplan.shape.assembly import Assembly
from moldplan.spec.model import Spec

HEAVY = ("lp gas",)
NET = 0.005  # L; what chords of curved faces make or hide in a recess the size of a cylinder


def pockets(assembly: Assembly, spec: Spec, ground: tuple[Basin, ...]) -> list[Finding]:
    """All findings of trapped gas."""
    spaces = gassy(assembly)
    found = []
    for basin in ground:
        if basin.space.name not in spaces or not basin.open:
            continue
        for lying in lyings(spec):
            found += [_finding(assembly, spec, basin, w, lying) for w in at(basin, lying.attitude)]
        box = box_of(spec)
        found += [_finding(assembly, spec, basin, w, None) for w in over_box(basin, box)] if box else [
            bound("gas-pocket", spec).unjudged(check="gas", part=basin.space.name, what="pocket over heel and trim",
                                               path=basin.space.path, why=NO_BOX)]
    return found


def gassy(assembly: Assembly) -> frozenset[str]:
    """Names of the seats that hold a cylinder of heavy gas, and of the lockers these stand in."""
    heavy = [s for s in assembly.stands if s.cylinder.contents in HEAVY or any(
        c.contents in HEAVY for c in s.alternatives.values())]
    return frozenset(name for s in heavy for name in (s.name, s.room) if name)


def _finding(assembly: Assembly, spec: Spec, basin: Basin, worst: Worst, lying: Lying | None) -> Finding:
    limit, part = bound("gas-pocket", spec), basin.space.name
    what = "pocket over heel and trim" if lying is None else f"pocket {lying.name}"
    where = {"heel": worst.attitude.heel, "trim": worst.attitude.trim,
             **dict(zip("xyz", (round(c, 3) for c in worst.at), strict=True))}
    litres = 0.0 if worst.litres < NET else worst.litres
    note = "gas runs out of it as water does" if not litres else (
        f"{litres:.2f} L of gas lie in it, {worst.depth:.0f} mm deep; {least_explosive_mass(litres):.2g} g of LP gas "
        "bring so much air to where it burns; gas layers, it does not mix evenly")
    if lying is not None and lying.demand != "report":
        return limit.finding(check="gas", part=part, what=what, measured=litres, path=basin.space.path, at=where,
                             note=note, moves=moves(assembly, spec, basin, part) if litres else ())
    why = "told only: while she lies so, no pocket is called small enough" if litres else "told only"
    return Finding(check="gas", part=part, what=what, measured=round(litres, 6), limit=None, sense="at_most", unit="L",
                   source=Source(document="told, not judged", how_read="ours"), path=basin.space.path, at=where,
                   note=note, skipped=f"{why}: {note}")
