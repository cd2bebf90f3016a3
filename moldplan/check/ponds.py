"""What water stays behind: at rest, at the attitudes the builder named, and over the box of heel and trim.

In       Assembly, Spec, its basins.
Out      findings "pond" for each sole, gutter, locker and seat; what one blocked drain leaves is told.
Not here heavy gas (pocket.py), the falls of runs and hoses, the flood itself (pond.py).

Depth is judged, along up at that attitude: geometry's last millimetres are a film that no fall removes. A space with
no way out at all has no level to fill to: that is its own finding.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from moldplan.attitude import Attitude
from moldplan.check.afloat import Lying, box_of, lyings
from moldplan.check.basin import OVER, Basin, Worst, at, over_box
from moldplan.check.limits import bound
from moldplan.check.net import CHORD
from moldplan.check.pond_moves import moves
from moldplan.errors import Path
from moldplan.finding import Finding, Source
from moldplan.shape.assembly import Assembly
from moldplan.spec.model import Spec

TOLD = Source(document="told, not judged", how_read="ours")
NO_BOX = "boat.box gives no heel and trim"


def ponds(assembly: Assembly, spec: Spec, ground: tuple[Basin, ...]) -> list[Finding]:
    """All findings of standing water, space by space."""
    return [finding for basin in ground for finding in _space(assembly, spec, basin)]


def part_path(assembly: Assembly, basin: Basin, part: str) -> Path:
    """Where the spec holds a part of a space."""
    return next((h.path for h in assembly.hatches if h.name == part), basin.space.path)


def _space(assembly: Assembly, spec: Spec, basin: Basin) -> Iterator[Finding]:
    if not basin.open:
        yield _no_way_out(assembly, spec, basin)
        return
    for lying in lyings(spec):
        for part, worst in zip(basin.space.parts, at(basin, lying.attitude), strict=True):
            yield _judged(assembly, spec, basin, part, worst, lying)
    box = box_of(spec)
    if box is None:
        yield bound("pond", spec).unjudged(check="pond", part=basin.space.name, what="over heel and trim",
                                           path=basin.space.path, why=NO_BOX)
    else:
        for part, worst in zip(basin.space.parts, over_box(basin, box), strict=True):
            yield _judged(assembly, spec, basin, part, worst, None)
    yield from _blocked(basin)


def _no_way_out(assembly: Assembly, spec: Spec, basin: Basin) -> Finding:
    """A space without drain or open edge. Where gas or a cylinder stands in it, outlets are judged beside this."""
    space = basin.space
    return Finding(check="pond", part=space.name, what="way out", measured=0.0, limit=1.0, sense="at_least",
                   unit="drains", source=Source(document="geometry", clause="what comes in must go out",
                                                how_read="maths"), path=space.path, counted=True,
                   note="water that comes in has no way out: no drain, no open edge",
                   moves=moves(assembly, spec, basin, space.name))


def _judged(assembly: Assembly, spec: Spec, basin: Basin, part: str, worst: Worst, lying: Lying | None) -> Finding:
    """What stands in one part, at one attitude or at the worst of the box."""
    limit, name = bound("pond", spec), "over heel and trim" if lying is None else lying.name
    place = dict(zip("xyz", (round(c, 3) for c in worst.at), strict=True))
    where = {"heel": worst.attitude.heel, "trim": worst.attitude.trim, **place}
    film = "it runs dry" if worst.depth < 1e-6 else f"{worst.litres:.2f} L stay, {worst.depth:.1f} mm deep"
    note = f"{film}{_lie(worst.attitude)}"
    if lying is not None and lying.demand == "report":
        return Finding(check="pond", part=part, what=name, measured=round(worst.depth, 6), limit=None, sense="at_most",
                       unit="mm", source=TOLD, path=part_path(assembly, basin, part), at=where, note=note,
                       skipped=f"told only, as boat.attitudes.{name} asks")
    fails = limit.short(worst.depth) > 0
    return limit.finding(check="pond", part=part, what=name, measured=worst.depth,
                         path=part_path(assembly, basin, part), note=note, at=where, tolerance=CHORD,
                         moves=moves(assembly, spec, basin, part) if fails else ())


def _lie(attitude: Attitude) -> str:
    """An attitude in words."""
    said = [f"heeled {abs(attitude.heel):.1f} deg to {'starboard' if attitude.heel > 0 else 'port'}"] \
        if attitude.heel else []
    said += [f"{abs(attitude.trim):.1f} deg bow {'up' if attitude.trim > 0 else 'down'}"] if attitude.trim else []
    return f" {' and '.join(said)}" if said else " on an even keel"


def _blocked(basin: Basin) -> Iterator[Finding]:
    """What each drain leaves when it alone is blocked, at rest."""
    space = basin.space
    for name in basin.surface.blockable:
        left = at(basin, Attitude(0.0, 0.0), (name,))
        litres, deepest = sum(w.litres for w in left), max(left, key=lambda w: w.depth)
        whole = math.isfinite(litres)
        note = (f"{litres:.2f} L stay, {deepest.depth:.0f} mm deep, before it runs to "
                f"{_others(basin, name)}" if whole else "nothing else drains it: it fills until it runs over")
        yield Finding(check="pond", part=space.name, what=f"{name.removeprefix(space.name + '.')} blocked",
                      measured=round(litres, 6) if whole else None, limit=None, sense="at_most", unit="L", source=TOLD,
                      path=space.path, at=dict(zip("xyz", (round(c, 3) for c in deepest.at), strict=True)), note=note,
                      skipped=f"at rest, {note}")


def _others(basin: Basin, name: str) -> str:
    others = [n for n in basin.surface.outlets if n != name]
    return others[0] if len(others) == 1 else "another drain" if OVER not in others else "another way out"
