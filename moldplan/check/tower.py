"""Does the stack of sheets make the height it should? Measured on the finished bodies, disc by disc.

In       Assembly (inserts, cured parts), the spec's limits.
Out      one Finding a mold insert: how far its stack stands over, or under, the molded depth of its seat.
Not here how many sheets were chosen (material/stock.py); press inserts, which stand proud as their own grip.
"""

from __future__ import annotations

from moldplan.check.limits import bound
from moldplan.check.packer import packer
from moldplan.finding import Edit, Finding, Move
from moldplan.shape.assembly import Assembly, Stand
from moldplan.shape.body import Vector
from moldplan.spec.model import Seat, Spec


def stacks(assembly: Assembly, spec: Spec) -> tuple[Finding, ...]:
    """One finding for every mold insert; its cure is the depth that its sheets make."""
    found = []
    for stand in assembly.stands:
        if stand.kind != "seat" or not stand.tools:
            continue
        seat = spec.cradles[str(stand.path[1])].seats[str(stand.path[3])]
        if seat.insert.use == "mold" and seat.insert.built == "discs":  # frames are cut to any height
            found.append(_judged(assembly, spec, stand, seat))
    return tuple(found)


def _judged(assembly: Assembly, spec: Spec, stand: Stand, seat: Seat) -> Finding:
    up, limit = stand.frame.z, bound("stack-error", spec)
    part = assembly.body(stand.hosts[0])
    floor, rim = (_level(part.faces(role)[0].Center().toTuple(), up) for role in (f"{stand.roles} floor", "top"))
    ends = [_extent(assembly, tool, up) for tool in stand.tools]
    height, depth = max(high for _, high in ends) - min(low for low, _ in ends), rim - floor
    over = height - depth
    said = "level" if abs(over) < 0.005 else f"{abs(over):.1f} mm {'over' if over > 0 else 'under'}"
    sheets = f"{len(stand.tools)} layers make {height:.1f} mm for a molded depth of {depth:.1f} mm"
    moves = [Move("make the seat {to} mm deep, which whole sheets make",
                  (Edit((*stand.path, "depth"), round(seat.depth + over, 2)),))]
    thin = packer(spec, seat.insert.stock, depth)
    if thin is not None:
        moves.append(thin.move)
        said += f"; at the same depth: {thin.words}" if abs(over) > limit.value else ""
    return limit.finding(
        check="stack", part=stand.name, what="height of the insert", measured=abs(over),
        path=(*stand.path, "depth"), at=dict(zip("xyz", stand.frame.origin, strict=True)), tolerance=1e-6,
        note=f"{sheets}: {said}",
        moves=tuple(moves))


def _level(point: Vector, up: Vector) -> float:
    return sum(p * u for p, u in zip(point, up, strict=True))


def _extent(assembly: Assembly, name: str, up: Vector) -> tuple[float, float]:
    """Lowest and highest level of a disc along the seat's axis, from its vertices and flat faces."""
    levels = [_level(v.Center().toTuple(), up) for v in assembly.body(name).solid.Vertices()]
    levels += [_level(f.Center().toTuple(), up) for f in assembly.body(name).solid.Faces() if f.geomType() == "PLANE"]
    return min(levels), max(levels)
