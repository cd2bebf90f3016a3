"""What stands below a sole as solids, and as seen from above.

In       Below, one thing under a sole.
Out      its solid in boat axes, its outline in plan; Faults of a body from a file that cannot be had.
Not here the distance to it (check/sole_below.py), reading STEP (envelope.py).
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from moldplan.errors import Fault, GeometryError, Path
from moldplan.shape.body import Frame, Shaped, block, extruded, loose_box, rod
from moldplan.shape.envelope import Unread, envelope
from moldplan.spec.below import Below, Sweep

if TYPE_CHECKING:
    import cadquery as cq

FARTHEST = 20_000.0  # mm from the datum; no boat of this program is longer
CHORD = 5.0  # deg, between the points that an arc in plan is drawn through
FINE = 1.0  # mm, by which the outline of a body may be off in plan


def below_solid(item: Below) -> Shaped:
    """A thing under the sole as a solid. Raises GeometryError for a STEP body that faults() would have refused."""
    if item.base is not None and item.top is not None and item.diameter is not None:
        along = tuple(t - b for b, t in zip(item.base, item.top, strict=True))
        return rod(item.diameter / 2, item.base, along, "side")  # type: ignore[arg-type]
    if item.sweep is not None:
        return _sector(item.sweep)
    if item.step is not None:
        return _body(item)
    assert item.from_ is not None and item.to is not None
    low = tuple(min(p) for p in zip(item.from_, item.to, strict=True))
    size = tuple(abs(a - b) for a, b in zip(item.from_, item.to, strict=True))
    return block(*size).moved(Frame(low))  # type: ignore[arg-type]


def _sector(one: Sweep) -> Shaped:
    """A sector of a disc, or of a ring; roles rim, hub, start side, end side."""
    import cadquery as cq

    tall = one.high - one.low
    if one.to - one.from_ >= 360:
        ring = rod(one.radius, (*one.pivot, one.low), (0.0, 0.0, tall), "rim")
        if one.inner_radius:
            ring = ring.cut(rod(one.inner_radius, (*one.pivot, one.low - 1), (0.0, 0.0, tall + 2), "hub"))
        return ring

    def at(radius: float, angle: float) -> cq.Vector:
        turn = math.radians(angle)
        return cq.Vector(one.pivot[0] + radius * math.cos(turn), one.pivot[1] + radius * math.sin(turn), one.low)

    middle = (one.from_ + one.to) / 2
    far = [at(one.radius, angle) for angle in (one.from_, middle, one.to)]
    near = [at(one.inner_radius, angle) for angle in (one.to, middle, one.from_)]
    edges = [("start side", cq.Edge.makeLine(near[2], far[0])), ("rim", cq.Edge.makeThreePointArc(*far)),
             ("end side", cq.Edge.makeLine(far[2], near[0]))]
    if one.inner_radius:
        edges.append(("hub", cq.Edge.makeThreePointArc(*near)))
    return extruded(edges, (0.0, 0.0, tall))


def _body(item: Below) -> Shaped:
    if item.content is None:
        raise GeometryError(f"{item.step} was not read")
    try:
        shape = envelope(item.content)
    except Unread as trouble:
        raise GeometryError(f"{item.step}: {trouble}") from trouble
    turn = math.radians(item.turn or 0.0)
    place = Frame(item.at or (0.0, 0.0, 0.0), (math.cos(turn), math.sin(turn), 0.0))
    return Shaped(shape).moved(place)


def faults(item: Below, path: Path) -> list[Fault]:
    """Why there is no body in its STEP file, or why it cannot be in this boat; none for other kinds."""
    if item.step is None or item.content is None:
        return []
    try:
        envelope(item.content)
    except Unread as trouble:
        return [Fault((*path, "step"), item.step, trouble.allowed, trouble.why)]
    far = max(loose_box(_body(item).solid), key=abs)
    if not abs(far) <= FARTHEST:
        return [Fault((*path, "step"), item.step, f"a body within {FARTHEST:g} mm of the datum",
                      f"it reaches {abs(far):.0f} mm away; mind the file's unit and `at`")]
    return []


def plan_of(item: Below, solid: cq.Shape) -> list[tuple[float, float]]:
    """Its outline from above, at most 1 mm off; the hull of what is hollow from the side, save a sector's own form."""
    one = item.sweep
    if one is None:
        return _hull(solid)
    if one.to - one.from_ >= 360:
        return _arc(one, one.radius, one.from_, one.to)[:-1]
    near = _arc(one, one.inner_radius, one.to, one.from_) if one.inner_radius else [one.pivot]
    return [*_arc(one, one.radius, one.from_, one.to), *near]


def _arc(one: Sweep, radius: float, start: float, stop: float) -> list[tuple[float, float]]:
    count = max(math.ceil(abs(stop - start) / CHORD), 1)
    turns = (math.radians(start + (stop - start) * k / count) for k in range(count + 1))
    return [(one.pivot[0] + radius * math.cos(t), one.pivot[1] + radius * math.sin(t)) for t in turns]


def _hull(solid: cq.Shape) -> list[tuple[float, float]]:
    from shapely.geometry import MultiPoint

    from moldplan.shape.mesh import mesh

    vertices: Any = mesh(solid, tolerance=FINE)[0]
    hull = MultiPoint(vertices[:, :2]).convex_hull
    return [(float(x), float(y)) for x, y in hull.exterior.coords[:-1]]
