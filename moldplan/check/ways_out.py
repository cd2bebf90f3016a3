"""Every question about water and heavy gas on their way out: what is missing first, then each way, then each locker.

In       Assembly, Spec.
Out      findings; cautions on rules that differ.
Not here measuring: each question has its own file. What stays behind, spaces without a drain (ponds) and how fast it
         leaves (capacity) neither.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from moldplan.check import ruled
from moldplan.check.afloat import box_of, waterline_of
from moldplan.check.cockpit_rules import cockpit_rules
from moldplan.check.gas_space import gas_space
from moldplan.check.hose import hose
from moldplan.check.limits import bound
from moldplan.check.open_fall import open_fall
from moldplan.check.overboard import demand_of, overboard, shut_of
from moldplan.check.way import GAS, Way, gas_facts, ways
from moldplan.finding import Finding
from moldplan.shape.assembly import Assembly
from moldplan.spec.model import Spec


def ways_out(assembly: Assembly, spec: Spec) -> tuple[Finding, ...]:
    """All findings of drains, their ways and outlets, and of the lockers that hold gas."""
    every = ways(assembly, spec)
    known = [way for way in every if way.known]
    found = [*_unknown(spec, every), *_water(spec, known), *open_fall(assembly, spec)]
    for way in known:
        found += [*hose(way, demand_of(way), shut_of(way)), *overboard(way, every)]
    return (*found, *gas_space(assembly, spec), *cockpit_rules(assembly, spec))


def cautions(assembly: Assembly, spec: Spec) -> tuple[str, ...]:
    """Where documents differ on what this plan asks of them."""
    gas = [s for s in assembly.stands if s.cylinder.contents == GAS and s.room]
    topics = (["gas "] if gas else []) + (["cockpit", "drain", "sill", "emptying"] if spec.rules and _cockpits(spec)
                                          else [])
    return ruled.cautions(spec, topics, gas_facts(spec, gas))


def _cockpits(spec: Spec) -> bool:
    return any(sole.scuppers for sole in spec.soles.values())


def _unknown(spec: Spec, every: Iterable[Way]) -> list[Finding]:
    """Drains of which no more is known than where they lie: one finding a space."""
    limit = bound("hose-fall", spec)
    by_space: dict[str, list[Way]] = {}
    for way in every:
        if not way.known:
            by_space.setdefault(way.drain.space, []).append(way)
    found = []
    for space, these in by_space.items():
        names = ", ".join(str(way.path[-1]) for way in these)
        found.append(limit.unjudged(
            check="way out", part=space, what="outlets", path=(*these[0].path, "outlet"),
            why=f"of {names} neither `outlet` nor `joins` is given: where it leads to is not known" if len(these) == 1
            else f"of the drains {names} neither `outlet` nor `joins` is given: where they lead to is not known"))
    return found


def _water(spec: Spec, known: Sequence[Way]) -> list[Finding]:
    """What about the boat is missing for outlets to be judged by."""
    if not known:
        return []
    found = []
    if waterline_of(spec) is None:
        found.append(bound("outlet-height", spec).unjudged(
            check="way out", part="boat", what="waterline", path=("boat", "waterline"),
            why="boat.waterline is not given: how outlets stand to the water is not known"))
    if box_of(spec) is None:
        found.append(bound("hose-fall", spec).unjudged(
            check="way out", part="boat", what="heel and trim", path=("boat", "box"),
            why="boat.box is not given: hoses and outlets are judged at rest only"))
    return found
