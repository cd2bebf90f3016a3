"""What a sheet is dressed to by hand after it is cut: bevelled edges, a top that falls along its length.

In       a body, its solid in its sheet's own axes.
Out      notes in words; a level outline with the runs of free curves squared off.
Not here which outline is cut (flat.py).

Where a falling top with rounded edges is cut level, the outline narrows in a long curve to where the top runs out. A
builder cuts the strip at full width, glues it up, and planes and rounds it after: so that curve is not cut.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from moldplan.cut.extent import leans
from moldplan.cut.far import DIFFERS
from moldplan.cut.loop import LEAST, arc_bulge, area, faults, sampled, tidied
from moldplan.cut.piece import Loop, Point
from moldplan.cut.profile import polygon, way_of
from moldplan.cut.segment import Segment, crossings
from moldplan.cut.wire import Run
from moldplan.shape.body import Body

if TYPE_CHECKING:
    import cadquery as cq

EVEN = 0.1  # deg; a face whose lean changes by less is one bevel
FLAT_TOP = 70.0  # deg; a face that leans more is a top that falls, and no edge
MOST_ADDED = 0.5  # an outline that is squared off grows by no more than this share


def squared(runs: Sequence[Run]) -> Loop | None:
    """A loop, given run by run, without its free curves: the edges beside each go on until they meet.

    A free curve is a run that is neither a line nor one circle. None where there is none, or where squaring it off
    fails.
    """
    kept = [list(run.parts) for run in runs]
    free = [run.fitted or (len(run.parts) > 1 and not _one_arc(run.parts)) for run in runs]
    whole = tidied(Loop(tuple((*s.start, s.bulge) for edge in kept for s in edge)))
    if not any(free):
        return None
    if len(kept) - sum(free) < 3:  # no wall is left of it, all is rounded: as long and as wide as it is
        lines = [s for edge, curved in zip(kept, free, strict=True) if not curved for s in edge if s.straight]
        return _boxed(whole, max(lines, key=lambda s: s.chord)) if lines else None
    first = next(k for k in range(len(kept)) if not free[k])
    order = [(first + k) % len(kept) for k in range(len(kept))]
    walk: list[Segment] = []
    pending = False
    for index in order:
        if free[index]:
            pending = True
            continue
        edge = kept[index]
        if pending and walk:
            met = _meeting(walk[-1], edge[0])
            if met is None:
                return None
            walk[-1], edge[0] = _ending(walk[-1], met), _starting(edge[0], met)
        pending = False
        walk += edge
    if pending:
        met = _meeting(walk[-1], walk[0])
        if met is None:
            return None
        walk[-1], walk[0] = _ending(walk[-1], met), _starting(walk[0], met)
    loop = tidied(Loop(tuple((*s.start, s.bulge) for s in walk)))
    return loop if _holds(loop, whole) else None


def _boxed(whole: Loop, along: Segment) -> Loop | None:
    """The least rectangle with a side along a line that holds a loop; None where it is much larger."""
    dx, dy = along.heading(0.0)
    spots = [(x * dx + y * dy, y * dx - x * dy) for x, y in sampled(whole, DIFFERS / 5)]
    (a, b), (c, d) = ((min(each), max(each)) for each in zip(*spots, strict=True))
    loop = tidied(Loop(tuple((u * dx - v * dy, u * dy + v * dx, 0.0) for u, v in ((a, c), (b, c), (b, d), (a, d)))))
    return loop if _holds(loop, whole) else None


def _one_arc(parts: Sequence[Segment]) -> bool:
    """Whether the parts of a run are one circle's: an arc is handed over in two halves."""
    return all(
        not s.straight and math.dist(s.centre, parts[0].centre) < 1e-2 and abs(s.radius - parts[0].radius) < 1e-2
        for s in parts
    )


def _holds(loop: Loop, whole: Loop) -> bool:
    """Whether a squared loop is sound, and holds what it stands for without being much larger."""
    if faults(loop) or abs(area(loop)) > (1 + MOST_ADDED) * abs(area(whole)):
        return False
    return bool(polygon(loop).buffer(DIFFERS).covers(polygon(whole)))


def _meeting(before: Segment, after: Segment) -> Point | None:
    """Where one segment going on meets another coming from before its start; the place nearest to both."""
    gap = math.dist(before.end, after.start)
    if gap < LEAST:
        return before.end
    met = crossings(_longer(before, gap), _longer(after.reversed(), gap), 1e-6)
    return min(met, key=lambda p: math.dist(p, before.end) + math.dist(p, after.start), default=None)


def _longer(s: Segment, gap: float) -> Segment:
    """A segment that goes on past its end for three times a gap, an arc for a third of a turn at most."""
    if s.straight:
        (x, y), (dx, dy) = s.end, s.heading(1.0)
        return Segment(s.start, (x + 3 * gap * dx, y + 3 * gap * dy))
    (cx, cy), sign = s.centre, math.copysign(1.0, s.sweep)
    more = sign * min(3 * gap / s.radius, 2 * math.pi / 3, 2 * math.pi - abs(s.sweep) - 0.1)
    first = math.atan2(s.start[1] - cy, s.start[0] - cx)
    last = first + s.sweep + more
    end = (cx + s.radius * math.cos(last), cy + s.radius * math.sin(last))
    return Segment(s.start, end, math.tan((s.sweep + more) / 4))


def _ending(s: Segment, at: Point) -> Segment:
    return Segment(s.start, at) if s.straight else _arc_between(s, s.start, at)


def _starting(s: Segment, at: Point) -> Segment:
    return Segment(at, s.end) if s.straight else _arc_between(s, at, s.end)


def _arc_between(s: Segment, start: Point, end: Point) -> Segment:
    """The arc of a segment's own circle and sense between two points."""
    cx, cy = s.centre
    a, b = (math.atan2(p[1] - cy, p[0] - cx) for p in (start, end))
    sweep = (b - a) % (2 * math.pi) if s.sweep > 0 else -((a - b) % (2 * math.pi))
    middle = (cx + s.radius * math.cos(a + sweep / 2), cy + s.radius * math.sin(a + sweep / 2))
    return Segment(start, end, arc_bulge(start, middle, end))


def bevel_note(solid: cq.Shape, *, turned: bool) -> str:
    """The bevel of a sheet's edges in words, "" where they are square or of many slants. `turned`: underside up."""
    slants: dict[float, int] = {}
    square = 0
    for face in solid.Faces():
        if way_of(face)[0]:
            continue
        angles = [math.degrees(math.asin(max(-1.0, min(1.0, lean)))) for lean in leans(face)]
        if max(angles) - min(angles) > EVEN:
            continue
        angle = round(sum(angles) / len(angles), 1)
        if abs(angle) > FLAT_TOP:
            continue
        if abs(angle) < EVEN:
            square += 1
        else:
            slants[angle] = slants.get(angle, 0) + 1
    if len(slants) != 1:
        return ""
    ((angle, _),) = slants.items()
    larger = "down" if (angle > 0) != turned else "up"
    where = "edges" if not square else "slanting edges"
    return f"bevel {abs(angle):g} deg on its {where}, larger face {larger}"


def wedge_note(body: Body, solid: cq.Shape, span: tuple[float, float]) -> str:
    """Heights at both ends of a sheet whose upper face falls, in words; "" where its ends do not show."""
    ends = []
    for face in solid.Faces():
        if face.geomType() == "PLANE" and abs(face.normalAt(None).z) < 1e-6:
            spots = face.Vertices()
            ends.append((max(v.Z for v in spots) - span[0], face.Center()))
    if not ends:
        return ""
    boat = body.frame.turn
    middle = solid.Center()

    def end_word(x: float, y: float) -> str:
        dx, dy, _ = boat((x - middle.x, y - middle.y, 0.0))
        return ("forward" if dx > 0 else "aft") if abs(dx) >= abs(dy) else ("port" if dy > 0 else "starboard")

    ends = sorted(ends, key=lambda e: -e[0])
    said = [f"{height:.1f} mm high at its {end_word(c.x, c.y)} end" for height, c in ends[:2]]
    if len(said) == 1:
        said.append("runs out to nothing at the other")
    between = [z for z in _top_heights(solid, span) if not ends[-1][0] - 0.05 < z < ends[0][0] + 0.05 and z > 0.05]
    if between and len(ends) > 1:
        said.append(f"{max(between, key=lambda z: abs(z - ends[0][0])):.1f} mm between")
    return "wedge: " + ", ".join(said)


def _top_heights(solid: cq.Shape, span: tuple[float, float]) -> list[float]:
    """Heights of the corners of a falling top over the sheet's underside [mm]."""
    found = []
    for face in solid.Faces():
        if not way_of(face)[0] and min(leans(face), default=0.0) > math.sin(math.radians(FLAT_TOP)):
            found += [vertex.Z - span[0] for vertex in face.Vertices()]
    return found
