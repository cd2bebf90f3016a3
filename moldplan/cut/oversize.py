"""A rough outline round the true one, for a piece that is scribed by hand to the boat.

In       an outline, by how much it is to be larger.
Out      the outline with its outer loop moved outwards all round, corners rounded; the true loop carried beside it.
Not here which pieces are scribed (the spec's `scribe`), files. Openings stay true: they are not scribed.
"""

from __future__ import annotations

from dataclasses import replace

from moldplan.cut.loop import area, faults, sampled, segments, tidied, wound
from moldplan.cut.piece import Loop, Outline

STROKE = 0.01  # where the kernel gives no sound line and arc outline, strokes lie this near the true one [mm]


def rough(outline: Outline, by: float) -> Outline:
    """The outline `by` larger all round [mm], with the true outer loop as `true`; unchanged by 0."""
    return replace(outline, outer=grown(outline.outer, by), true=(outline.outer,)) if by > 0 else outline


def grown(loop: Loop, by: float) -> Loop:
    """A counter-clockwise loop moved outwards: lines stay lines and arcs arcs, a corner becomes an arc about it.

    What a notch narrower than twice `by` encloses is left out: the loop closes over it.
    """
    if loop.circle is not None:
        x, y, r = loop.circle
        return Loop(circle=(x, y, r + by))
    found = _by_kernel(loop, by)
    return found if found is not None else _by_strokes(loop, by)


def _by_kernel(loop: Loop, by: float) -> Loop | None:
    """The kernel's offset of lines and arcs; None where it gives none that is sound and of the size it must have."""
    import cadquery as cq

    from moldplan.cut.profile import loop_of, polygon

    edges = []
    for s in segments(loop):
        a, m, b = (cq.Vector(*p, 0) for p in (s.start, s.middle, s.end))
        edges.append(cq.Edge.makeLine(a, b) if s.straight else cq.Edge.makeThreePointArc(a, m, b))
    try:
        wires = cq.Wire.assembleEdges(edges).offset2D(by, "arc")
    except Exception:  # the kernel's own, of many kinds: it has no answer, the strokes have
        return None
    loops = [wound(loop_of(wire), clockwise=False) for wire in wires]
    largest = max(loops, key=lambda each: abs(area(each)), default=None)
    if largest is None or faults(largest):
        return None
    wanted = polygon(_by_strokes(loop, by))
    off = polygon(largest).symmetric_difference(wanted)
    return largest if off.area <= 2 * STROKE * wanted.length else None


def _by_strokes(loop: Loop, by: float) -> Loop:
    """The same in straight strokes."""
    import shapely

    quarter = max(8, round((by / STROKE) ** 0.5 * 1.2))
    shape = shapely.Polygon(sampled(loop, STROKE / 2)).buffer(by, quad_segs=quarter)
    ring = shapely.Polygon(shape.exterior).simplify(STROKE / 2).exterior
    return wound(tidied(Loop(tuple((x, y, 0.0) for x, y in ring.coords[:-1]))), clockwise=False)
