"""Does everything fit? Every gap of every stand.

In       Assembly, Spec (with nothing left open).
Out      Findings.
Not here each single measure: seated.py, lying.py, around.py, lift.py, land.py, secured.py; alternatives (fits.py).
"""

from __future__ import annotations

from moldplan.check.around import around
from moldplan.check.land import land
from moldplan.check.lift import lift_out
from moldplan.check.lying import lying
from moldplan.check.seated import seated
from moldplan.check.secured import secured
from moldplan.check.spot import Spot
from moldplan.finding import Finding
from moldplan.shape.assembly import Assembly
from moldplan.spec.model import Spec


def clearance(assembly: Assembly, spec: Spec) -> tuple[Finding, ...]:
    """Every gap of every stand, the core left round it, and what holds it."""
    found: list[Finding] = []
    for stand in assembly.stands:
        spot = Spot(assembly, stand, spec)
        found += [*gaps(spot), *secured(spot)]
        if stand.kind == "seat":
            found += land(spot)
    return tuple(found)


def gaps(spot: Spot) -> list[Finding]:
    """The gaps that change with the cylinder: what an alternative is judged on too."""
    own = seated(spot) if spot.stand.kind == "seat" else lying(spot)
    return [*own, *around(spot), *lift_out(spot)]
