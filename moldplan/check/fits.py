"""What fits: each alternative cylinder put where the planned one stands, and judged on the same gaps.

In       Assembly, Spec; the alternatives of each stand.
Out      rows {stand, cylinder, fits, tightest, where} and one finding for each alternative.
Not here the gaps themselves (clearance.py).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from moldplan.check.gap import place
from moldplan.check.limits import bound
from moldplan.check.spot import Spot
from moldplan.finding import Finding, Move
from moldplan.shape import cylinder as bottle
from moldplan.shape.assembly import Assembly, Stand
from moldplan.shape.body import Body
from moldplan.spec.model import Cylinder, Spec

Row = dict[str, Any]
OWN = ("bore", "fall", "lip", "wrap", "strap")  # what has nothing to do with which cylinder stands there


def fits(assembly: Assembly, spec: Spec) -> tuple[tuple[Row, ...], tuple[Finding, ...]]:
    """Rows for the planned cylinders of stands with alternatives and for every alternative; findings for the latter."""
    from moldplan.check.clearance import gaps

    rows: list[Row] = []
    found: list[Finding] = []
    for stand in assembly.stands:
        if not stand.alternatives:
            continue
        judged = [f for f in gaps(Spot(assembly, stand, spec)) if f.what not in OWN]
        rows.append(_row(stand, stand.cylinder_name, judged))
        for name, cylinder in stand.alternatives.items():
            changed, other = swapped(assembly, stand, name, cylinder)
            judged = [f for f in gaps(Spot(changed, other, spec)) if f.what not in OWN]
            rows.append(_row(stand, name, judged))
            found.append(_finding(stand, name, judged, spec))
    return tuple(rows), tuple(found)


def swapped(assembly: Assembly, stand: Stand, name: str, cylinder: Cylinder) -> tuple[Assembly, Stand]:
    """The assembly with another cylinder where a stand's own one stood."""
    bodies = dict(assembly.bodies)
    old = bodies[stand.body]
    bodies[stand.body] = replace(old, shaped=bottle.solid(cylinder).moved(stand.frame))
    room = bottle.envelope(cylinder)
    envelope = None
    if room is not None:
        envelope = stand.envelope or f"{stand.name} valve room"
        bodies[envelope] = Body(name=envelope, kind="envelope", shaped=room.moved(stand.frame), part=old.part,
                                path=old.path, frame=stand.frame)
    other = replace(stand, cylinder=cylinder, cylinder_name=name, alternatives={}, envelope=envelope)
    stands = tuple(other if each is stand else each for each in assembly.stands)
    return replace(assembly, bodies=bodies, stands=stands), other


def tightest(judged: Sequence[Finding]) -> Finding | None:
    """The finding in mm with the least margin."""
    measured = [f for f in judged if f.margin is not None and f.unit == "mm"]
    return min(measured, key=lambda f: f.margin or 0.0) if measured else None


def _row(stand: Stand, name: str, judged: Sequence[Finding]) -> Row:
    least = tightest(judged)
    return {"stand": stand.name, "cylinder": name, "fits": all(f.verdict != "fails" for f in judged),
            "tightest": None if least is None else least.margin, "where": None if least is None else least.what}


def _finding(stand: Stand, name: str, judged: Sequence[Finding], spec: Spec) -> Finding:
    """The alternative's tightest margin against none; its moves are those of whatever fails."""
    failing = [f for f in judged if f.verdict == "fails"]
    least = tightest(failing or judged)
    limit = bound("fits", spec)
    path = ("cylinders", stand.cylinder_name, "or")
    if least is None or least.margin is None:
        return limit.unjudged(check="fits", part=stand.name, what=name, path=path, why="no gap could be measured")
    worst = "; ".join(f"{f.what}: {f.note}" for f in failing)
    note = f"{name} does not fit: {worst}" if failing else f"{name} fits; tightest at the {least.what}: {least.note}"
    moves: list[Move] = []
    for each in failing:
        moves += [move for move in each.moves if move not in moves]
    return limit.finding(check="fits", part=stand.name, what=name, measured=least.margin, path=path,
                         at=least.at or place(stand.frame.origin), note=note, moves=tuple(moves))
