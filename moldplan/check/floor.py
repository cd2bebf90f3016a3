"""Does a gutter's floor run to its drains, and do the drains sit well on it? At rest, as the sole lies.

In       a HatchSpot.
Out      findings "drain bore", "drain flat" (one a drain) and "fall" (one a run).
Not here attitudes (a later room), how much water it carries.

The floor is read off the mold's strips, which make it: every drain's bore is a hole in the molding's own.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

from moldplan.check.hatch_spot import HatchSpot
from moldplan.check.limits import bound
from moldplan.errors import GeometryError
from moldplan.finding import Edit, Finding, Move
from moldplan.shape.body import Vector
from moldplan.shape.hatch import drain_place
from moldplan.shape.ring import Ring

if TYPE_CHECKING:
    import cadquery as cq

BORES = (19.0, 25.0, 32.0, 38.0)  # mm, tails as sold; common practice, no source
STEP = 40.0  # mm at most between neighbouring places looked at along a run
DEEP = 400.0  # mm, a line down through any gutter
NEAR = 0.5  # mm beside a drain, off the edge that two strips share
WIDER = 2.0  # mm, what a gutter is widened by in one go


def floor(spot: HatchSpot) -> list[Finding]:
    """Every drain and every run."""
    found = [f for name in spot.place.hatch.drains for f in (bore(spot, name), flat(spot, name))]
    return [*found, *falls(spot)]


def _floors(spot: HatchSpot) -> tuple[cq.Face, ...]:
    """The molding floors of all strips; a sump is level by itself."""
    return tuple(f for tool in spot.tools if not tool.name.endswith(" sump disc")
                 for f in tool.shaped.roles.get("molding floor", ()))


def _gutter(spot: HatchSpot, s: float, off: float) -> tuple[float, float]:
    """A place along the way, `off` outside the opening, in own plan."""
    station = spot.place.runs.ring.station(s)
    return station.at[0] + off * station.out[0], station.at[1] + off * station.out[1]


def bore(spot: HatchSpot, name: str) -> Finding:
    """The bore as it is in the molding."""
    limit, drain = bound("drain-bore", spot.spec), spot.place.hatch.drains[name]
    wide = 2 * min(math.dist(v.toTuple(), c) for face in spot.molding.faces(f"{name} bore")
                   for c in [_axis_point(face, v.toTuple()) for v in face.Vertices()]
                   for v in face.Vertices()[:1])
    path = (*spot.path, "drains")
    larger = next((b for b in BORES if b >= limit.value), limit.value)
    moves = (Move(f"{name}: a bore of {larger:g} mm", (Edit(path, _all(spot, name, bore=larger)),)),)
    return limit.finding(check="drain", part=spot.name, what=f"{name} bore", measured=wide, path=path,
                         at=spot.at(_spot(spot, name)), moves=moves,
                         note=f"{wide:.1f} mm clear; {drain.bore:g} mm asked for")


def _axis_point(face: cq.Face, point: Vector) -> Vector:
    """The foot of a point on a round face's axis."""
    from OCP.BRepAdaptor import BRepAdaptor_Surface

    axis = BRepAdaptor_Surface(face.wrapped).Cylinder().Axis()
    origin, way = axis.Location(), axis.Direction()
    share = sum((p - o) * d for p, o, d in zip(point, (origin.X(), origin.Y(), origin.Z()),
                                               (way.X(), way.Y(), way.Z()), strict=True))
    return (origin.X() + share * way.X(), origin.Y() + share * way.Y(), origin.Z() + share * way.Z())


def _all(spot: HatchSpot, name: str, **changes: float) -> dict[str, object]:
    """All drains written out, one of them changed: they may have been left to the program."""
    drains: dict[str, object] = {}
    for key, drain in spot.place.hatch.drains.items():
        plain = drain.model_dump(warnings=False)
        if key == name:
            plain |= changes
            plain["flange"] = max(plain["flange"], plain["bore"] + 10)
        drains[key] = plain
    return drains


def _spot(spot: HatchSpot, name: str) -> Vector:
    ring = spot.place.runs.ring
    x, y = _gutter(spot, drain_place(ring, spot.place.hatch, spot.place.hatch.drains[name]), ring.off)
    return x, y, -spot.place.levels.drain


def flat(spot: HatchSpot, name: str) -> Finding:
    """How much of the flat between the roots is left beside a drain's bore; in a sump, its floor counts."""
    limit, drain = bound("drain-flat", spot.spec), spot.place.hatch.drains[name]
    place, ring = drain_place(spot.place.runs.ring, spot.place.hatch, drain), spot.place.runs.ring
    if drain.sump:
        discs = [tool for tool in spot.tools if tool.name.endswith(f"{name} sump disc")]
        across = min((2 * math.sqrt(f.Area() / math.pi) for disc in discs
                      for f in disc.shaped.roles.get("molding floor", ())), default=0.0)
    else:
        across = min(_across(spot, place + aside) for aside in (-NEAR, NEAR))
    left = across - drain.bore
    width = spot.place.hatch.gutter.width
    more = math.ceil(width + limit.short(left))
    path = (*spot.path, "gutter", "width")
    moves = (Move("a gutter {to} mm wide", (Edit(path, more, WIDER),)),
             Move(f"{name} in a sump 6 mm deep",
                  (Edit((*spot.path, "drains"), _all(spot, name, sump=6.0)),)))
    return limit.finding(check="drain", part=spot.name, what=f"{name} flat", measured=left, path=path,
                         at=spot.at((*_gutter(spot, place, ring.off), -spot.place.levels.drain)),
                         note=f"the floor is flat for {across:.1f} mm where the bore of {drain.bore:g} mm stands",
                         moves=moves)


def _across(spot: HatchSpot, s: float) -> float:
    """Width of the flat floor at a place along the way, found from its middle outward to 1e-4 mm on each side."""
    middle = spot.place.runs.ring.off
    if _on_floor(spot, s, middle) is None:
        return 0.0
    reach = [0.0, 0.0]
    for k, sign in enumerate((-1.0, 1.0)):
        low, high = 0.0, spot.place.hatch.gutter.width
        while high - low > 1e-4:
            half = (low + high) / 2
            low, high = (half, high) if _on_floor(spot, s, middle + sign * half) is not None else (low, half)
        reach[k] = low
    return sum(reach)


def falls(spot: HatchSpot) -> list[Finding]:
    """The flattest place of each run from a high point to a drain, in the boat's own vertical."""
    limit, runs = bound("gutter-fall", spot.spec), spot.place.runs
    names = {drain_place(runs.ring, spot.place.hatch, d): n for n, d in spot.place.hatch.drains.items()}
    order = [names[s] for s in runs.drains]
    ends = (*runs.drains, runs.drains[0] + runs.ring.whole)
    found = []
    for k, high in enumerate(runs.highs):
        for way, drain in ((order[k], ends[k]), (order[(k + 1) % len(order)], ends[k + 1])):
            least, at = _flattest(spot, high, drain)
            side = "clockwise" if drain < high else "counter-clockwise"
            slope = spot.place.hatch.gutter.fall + limit.short(least)
            moves = (Move("a gutter that falls by {to}",
                          (Edit((*spot.path, "gutter", "fall"), round(math.ceil(slope * 200) / 200, 4), 0.005),)),)
            found.append(limit.finding(
                check="drain", part=spot.name, what=f"fall to {way}, {side}", measured=least,
                path=(*spot.path, "gutter", "fall"), at=at, moves=moves,
                note=f"at its flattest the floor drops 1 in {1 / least:.0f} towards {way} at rest" if least > 1e-6 else
                     f"the floor rises towards {way} at rest, by {-least:.4f} mm/mm"))
    return found


def gutter_runs(spot: HatchSpot) -> list[list[Vector]]:
    """The floor along every run, boat axes: places from its high point down to its drain."""
    runs = spot.place.runs
    ends = (*runs.drains, runs.drains[0] + runs.ring.whole)
    return [[point for _, point in _seen(spot, high, drain)]
            for k, high in enumerate(runs.highs) for drain in (ends[k], ends[k + 1])]


def _seen(spot: HatchSpot, high: float, drain: float) -> list[tuple[float, Vector]]:
    """Places of a run with the floor under them; GeometryError where it has none."""
    ring = spot.place.runs.ring
    found = [(s, _on_floor(spot, s, ring.off)) for s in _places(ring, high, drain)]
    seen = [(s, point) for s, point in found if point is not None]  # a line just between two strips may meet neither
    if len(seen) < 2:
        raise GeometryError(f"{spot.name}: no strip makes the gutter's floor {drain:.0f} mm along its way")
    return seen


def _flattest(spot: HatchSpot, high: float, drain: float) -> tuple[float, dict[str, float]]:
    """Least drop over level run between neighbouring places of a run [mm/mm], and where.

    Straights and corners are looked at apart: a sole's own fall bears on a side and on the next one differently.
    Raises GeometryError where a run has no floor under it.
    """
    seen = _seen(spot, high, drain)
    worst, where = math.inf, seen[0][1]
    for (s, a), (t, b) in itertools.pairwise(seen):
        level = math.dist(a[:2], b[:2]) / math.dist(spot.own(a)[:2], spot.own(b)[:2])  # under 1 on a leaning sole
        slope = (a[2] - b[2]) / (abs(t - s) * level)
        if slope < worst:
            worst, where = slope, b
    return worst, {axis: round(c, 1) for axis, c in zip("xyz", where, strict=True)}


def _places(ring: Ring, high: float, drain: float) -> list[float]:
    """Places from a high point to a drain, at most STEP apart: both ends, and where straights and corners meet."""
    low, top = sorted((high, drain))
    meet = [m + k * ring.whole for k in (-1, 0, 1) for m in ring.bounds[1:-1]]
    marks = [low, *sorted(m for m in meet if low + 1 < m < top - 1), top]
    found = [low]
    for a, b in itertools.pairwise(marks):
        if b - a < 1e-6:
            continue  # a side that is all corner
        count = max(math.ceil((b - a) / STEP), 1)
        found += [a + (b - a) * k / count for k in range(1, count + 1)]
    return found if high == low else found[::-1]


def _on_floor(spot: HatchSpot, s: float, off: float) -> Vector | None:
    """Where the strips' floor lies under a place along the way, boat axes; None where there is none."""
    x, y = _gutter(spot, s, off)
    top, low = (spot.place.frame.place((x, y, w)) for w in (0.0, -DEEP))
    return _hit(top, low, _floors(spot))


def _hit(top: Vector, low: Vector, faces: Sequence[cq.Face]) -> Vector | None:
    from OCP.gp import gp_Dir, gp_Lin, gp_Pnt

    meet = _meeting(tuple(faces))
    way = [b - a for a, b in zip(top, low, strict=True)]
    meet.Perform(gp_Lin(gp_Pnt(*top), gp_Dir(*way)), 0.0, DEEP)  # type: ignore[attr-defined]
    if not meet.NbPnt():  # type: ignore[attr-defined]
        return None
    point = meet.Pnt(1)  # type: ignore[attr-defined]
    return point.X(), point.Y(), point.Z()


@lru_cache(maxsize=8)
def _meeting(faces: tuple[cq.Face, ...]) -> object:
    """A line finder on some faces; loading one is slow, asking it is not."""
    import cadquery as cq
    from OCP.IntCurvesFace import IntCurvesFace_ShapeIntersector

    finder = IntCurvesFace_ShapeIntersector()
    finder.Load(cq.Compound.makeCompound(list(faces)).wrapped, 1e-7)
    return finder
