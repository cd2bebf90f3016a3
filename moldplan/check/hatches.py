"""Every question about the hatches of a plan, in the order of the section sum.

In       Assembly, Spec.
Out      findings of all hatches and soles.
Not here measuring: each question has its own file.

A search for cures judges a plan dozens of times and changes one hatch of several. What was found of a hatch is kept as
long as its place and its bodies are the very same objects, and so are the words of the spec that its questions ask.
"""

from __future__ import annotations

from functools import partial

from moldplan.check.edge_gap import edge_gaps
from moldplan.check.floor import floor
from moldplan.check.gutter import gutter
from moldplan.check.hatch_spot import HatchSpot, spots
from moldplan.check.lid_weight import lid_weight
from moldplan.check.mold_release import mold_release
from moldplan.check.section import section
from moldplan.finding import Finding
from moldplan.shape.assembly import Assembly
from moldplan.shape.body import Body
from moldplan.shape.kept import Beside
from moldplan.spec.model import Spec

JUDGED: Beside[tuple[tuple[Finding, ...], tuple[Body, ...]]] = Beside()


def hatches(assembly: Assembly, spec: Spec) -> tuple[Finding, ...]:
    """All findings of hatches, hatch by hatch."""
    found: list[Finding] = []
    own: dict[str, list[Body]] = {}
    for body in assembly.bodies.values():
        own.setdefault(body.part, []).append(body)
    asked = spec.model_dump_json(exclude={"soles", "cradles", "lockers"}, warnings=False)
    for spot in spots(assembly, spec):
        bodies = tuple(own[spot.name])
        if spot.place.hatch.bond_flange.lies == "under":  # its lid faces the sole's edge
            bodies = (*bodies, assembly.body(spot.sole.part))
        # the bodies are held with the findings, so that their numbers stay theirs
        words = f"{asked} {spot.path} {[id(body) for body in bodies]}"
        found += JUDGED.of(spot.place, partial(_of_one, spot, bodies), words)[0]
    return tuple(found)


def _of_one(spot: HatchSpot, bodies: tuple[Body, ...]) -> tuple[tuple[Finding, ...], tuple[Body, ...]]:
    asks = (section, edge_gaps, gutter, floor, lid_weight, mold_release)
    return tuple(finding for ask in asks for finding in ask(spot)), bodies
