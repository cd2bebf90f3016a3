"""Inside corners opened for the cutter, so that a square piece seats.

In       an Outline as designed; the cutter's radius; the style: round, edge or none; edges that must stay whole.
Out      Relieved: the outline to cut, every inside corner that is tighter than the cutter with what was done there.
Not here slots and openings the cutter cannot enter (reach.py), what seats where (seating.py), findings (judge.py).

round: a circle of the cutter's radius through the corner, its centre on the bisector, a radius out on the waste side.
edge: the same circle with its centre on the longer edge, so that the shorter edge stays whole to its end; or on the
edge that is not to stay whole, where that is said of a corner.
Where two round reliefs would meet on a short edge between them (the end of a slot), edge is used for both.
Both only take material away, and both are one arc: loops stay closed loops of lines and arcs.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from moldplan.cut.loop import LEAST, arc_bulge, faults, holds_point, outline_area, reversed_loop, segments, tidied
from moldplan.cut.piece import Corner, Loop, Outline, Point, Style
from moldplan.cut.segment import Segment, apart, crossings
from moldplan.cut.sunk import islands

Whole = Literal["before", "after"]  # of the two edges that meet in a corner, material on the left: which stays whole


@dataclass(frozen=True)
class Relieved:
    """An outline to cut. `taken`: area that the reliefs take away [mm2]."""

    outline: Outline
    corners: tuple[Corner, ...] = ()
    taken: float = 0.0


@dataclass(frozen=True)
class _Cut:
    """A relief worked out: its arc, and at which shares it leaves the segment before and joins the one after."""

    corner: Corner
    before: int
    after: int
    leaves: float
    joins: float
    arc: Segment


def tight(outline: Outline, *, radius: float) -> Iterator[tuple[Corner, Segment, Segment]]:
    """Inside corners between two edges that a cutter of `radius` [mm] does not reach, with the edges before and after,
    walked with the material on their left. Rounded ones tighter than the cutter are left out: nothing square seats."""
    deep = [reversed_loop(loop) for loop, _ in (*outline.sinks, *outline.under)]
    for loop in (outline.outer, *outline.holes, *deep):
        if loop.circle is None:
            walk = list(segments(loop))
            for index, corner in _sharpened(walk, radius):
                if corner.at == walk[index].start:
                    yield corner, walk[index - 1], walk[index]


def relieved(outline: Outline, *, radius: float, style: Style, whole: Mapping[Point, Whole] = {}) -> Relieved:
    """The outline with its inside corners opened for a cutter of `radius` [mm].

    `whole`: for corners by their place, which of their edges stays whole; the others follow `style`. A relief that
    would cross another cut of the piece, or its own loop, is left out and says so.
    """
    corners: list[Corner] = []

    def opened(loop: Loop, others: Sequence[Loop], waste_inside: bool) -> Loop:
        walk = reversed_loop(loop) if waste_inside else loop
        done, found = _open(walk, others, radius, style, whole)
        corners.extend(found)
        return reversed_loop(done) if waste_inside else done

    sunk = [loop for loop, _ in (*outline.sinks, *outline.bores)]
    outer = opened(outline.outer, [*outline.holes, *sunk], False)
    holes: list[Loop] = []
    for index, hole in enumerate(outline.holes):
        beside = [loop for loop in sunk if not holds_point(loop, segments(hole)[0].start)]
        holes.append(opened(hole, [outer, *holes, *outline.holes[index + 1 :], *beside], False))
    sinks, under = (tuple((opened(loop, [], (loop, depth) not in islands(sunk)), depth) for loop, depth in sunk)
                    for sunk in (outline.sinks, outline.under))
    result = replace(outline, outer=outer, holes=tuple(holes), sinks=sinks, under=under)
    return Relieved(result, tuple(corners), outline_area(outline) - outline_area(result))


def _open(loop: Loop, others: Sequence[Loop], radius: float, style: Style, whole: Mapping[Point, Whole]
          ) -> tuple[Loop, list[Corner]]:  # fmt: skip
    """A loop that has its material on the left, opened; and its tight corners."""
    if loop.circle is not None:
        return loop, []
    walk = list(segments(loop))
    corners = _sharpened(walk, radius)
    if style == "none" or not corners:
        return loop, [replace(c, done="none", reason="reliefs are switched off") for _, c in corners]
    cuts: list[_Cut] = []
    given_up: list[Corner] = []
    for index, corner in corners:
        cut = _worked_out(walk, index, corner, radius, style, whole.get(corner.at))
        if cut is None:
            given_up.append(replace(corner, done="none", reason="the edges beside it are too short"))
        else:
            cuts.append(cut)
    cuts = _side_by_side(walk, cuts, radius)
    while True:
        built = _built(walk, cuts)
        bad = _breaking(built, cuts, others)
        if bad is None:
            break
        cuts.remove(bad)
        given_up.append(replace(bad.corner, done="none", reason="a relief would break through"))
    done = [replace(c.corner, land=min([math.inf, *(_to_loop(c.arc, o) for o in others)])) for c in cuts]
    return (built if cuts else loop), [*done, *given_up]


def _sharpened(walk: Sequence[Segment], radius: float) -> list[tuple[int, Corner]]:
    """Each tight corner with the index of the segment after it.

    An inside arc tighter than the cutter stays in the list: its relief goes through its middle and swallows it.
    """
    found = []
    for i, s in enumerate(walk):
        before = walk[i - 1]
        (ix, iy), (ox, oy) = before.heading(1.0), s.heading(0.0)
        turn = math.atan2(ix * oy - iy * ox, ix * ox + iy * oy)
        if turn < 0:
            left = _left(math.pi + turn, radius)
            if left > LEAST:
                found.append((i, Corner(s.start, math.degrees(math.pi + turn), left, "round")))
        if s.bulge < 0 and not s.straight and s.radius < radius - 1e-6 and -s.sweep < math.radians(170):
            left = _left(math.pi + s.sweep, radius - s.radius)
            if left > LEAST:
                found.append((i, Corner(s.middle, math.degrees(math.pi + s.sweep), left, "round")))
    return found


def _left(waste: float, radius: float) -> float:
    """What a cutter of `radius` leaves in a corner of `waste` [rad]: r (1 / sin(a / 2) - 1) [mm]."""
    return radius * (1 / math.sin(waste / 2) - 1) if waste > 1e-3 else math.inf


def _worked_out(walk: list[Segment], index: int, corner: Corner, radius: float, style: Style, whole: Whole | None
                ) -> _Cut | None:  # fmt: skip
    if corner.at != walk[index].start:
        return _over_arc(walk, index, corner, radius)
    if (style == "edge" or whole) and corner.angle >= 90 - 1e-6:
        cut = _along_edge(walk, index, corner, radius, whole)
        if cut is not None:
            return cut
    return _round(walk, index, corner, radius)


def _round(walk: list[Segment], index: int, corner: Corner, radius: float) -> _Cut | None:
    before, after = (index - 1) % len(walk), index
    (ix, iy), (ox, oy) = walk[before].heading(1.0), walk[after].heading(0.0)
    reach = math.hypot(ox - ix, oy - iy)
    centre = (corner.at[0] + radius * (ox - ix) / reach, corner.at[1] + radius * (oy - iy) / reach)
    return _swung(walk, before, after, centre, radius, replace(corner, done="round"))


def _over_arc(walk: list[Segment], index: int, corner: Corner, radius: float) -> _Cut | None:
    """The relief that swallows an inside arc tighter than the cutter: it touches the arc's middle from within."""
    arc = walk[index]
    mx, my = arc.middle
    cx, cy = arc.centre
    centre = (mx + (cx - mx) * radius / arc.radius, my + (cy - my) * radius / arc.radius)
    before, after = (index - 1) % len(walk), (index + 1) % len(walk)
    return _swung(walk, before, after, centre, radius, replace(corner, done="round"))


def _swung(walk: list[Segment], before: int, after: int, centre: Point, radius: float, corner: Corner) -> _Cut | None:
    """The arc about a centre from where it meets the segment before to where it meets the one after."""
    cx, cy = centre
    halves = (Segment((cx + radius, cy), (cx - radius, cy), 1.0), Segment((cx - radius, cy), (cx + radius, cy), 1.0))
    leaves = [_share_of(walk[before], p) for half in halves for p in crossings(walk[before], half, 1e-7)]
    joins = [_share_of(walk[after], p) for half in halves for p in crossings(walk[after], half, 1e-7)]
    shy = 1e-6
    leaves = [s for s in leaves if shy < s < 1 - shy]
    joins = [s for s in joins if shy < s < 1 - shy]
    if not leaves or not joins:
        return None
    out, back = max(leaves), min(joins)
    a, b = walk[before].at(out), walk[after].at(back)
    sweep = (math.atan2(a[1] - cy, a[0] - cx) - math.atan2(b[1] - cy, b[0] - cx)) % (2 * math.pi)
    return _Cut(corner, before, after, out, back, Segment(a, b, -math.tan(sweep / 4)))


def _share_of(s: Segment, point: Point) -> float:
    if s.straight:
        return math.dist(s.start, point) / s.chord
    cx, cy = s.centre
    turned = math.atan2(point[1] - cy, point[0] - cx) - math.atan2(s.start[1] - cy, s.start[0] - cx)
    return (turned if s.sweep > 0 else -turned) % (2 * math.pi) / abs(s.sweep)


def _along_edge(walk: list[Segment], index: int, corner: Corner, radius: float, whole: Whole | None = None
                ) -> _Cut | None:  # fmt: skip
    """Half a circle into the edge that need not stay whole, else into the longer one, from the corner on."""
    before, after = (index - 1) % len(walk), index
    longer = max((before, after), key=lambda i: walk[i].length)
    longer = longer if whole is None else after if whole == "before" else before
    edge = walk[longer]
    share = 2 * radius / edge.chord
    if not edge.straight or share >= 1:
        return None
    corner = replace(corner, done="edge")
    if longer == after:
        return _Cut(corner, before, after, 1.0, share, Segment(corner.at, edge.at(share), -1.0))
    return _Cut(corner, before, after, 1 - share, 0.0, Segment(edge.at(1 - share), corner.at, -1.0))


def _side_by_side(walk: list[Segment], cuts: list[_Cut], radius: float) -> list[_Cut]:
    """Reliefs that would meet on the edge between them, laid along their other edges instead."""
    result = list(cuts)
    for a in cuts:
        for b in cuts:
            if a is b or a.after != b.before or a.joins + LEAST / walk[a.after].length < b.leaves:
                continue
            for one in (a, b):
                other = _along_edge(walk, one.after, one.corner, radius) if one.corner.angle >= 90 - 1e-6 else None
                if other is not None and one in result:
                    result[result.index(one)] = other
    return result


def _built(walk: list[Segment], cuts: Sequence[_Cut]) -> Loop:
    """The loop with the reliefs in it."""
    first = {cut.after: cut.joins for cut in cuts}
    last = {cut.before: cut.leaves for cut in cuts}
    arcs = {cut.before: cut for cut in cuts}
    gone = {(cut.before + 1) % len(walk) for cut in cuts if (cut.before + 1) % len(walk) != cut.after}
    out: list[Segment] = []
    for i, s in enumerate(walk):
        low, high = first.get(i, 0.0), last.get(i, 1.0)
        if i not in gone and high > low:
            out.append(_part(s, low, high))
        if i in arcs:
            out.append(arcs[i].arc)
    return tidied(Loop(tuple((*s.start, s.bulge) for s in out)))


def _part(s: Segment, low: float, high: float) -> Segment:
    if (low, high) == (0.0, 1.0):
        return s
    a, b = s.at(low), s.at(high)
    return Segment(a, b, 0.0 if s.straight else arc_bulge(a, s.at((low + high) / 2), b))


def _breaking(built: Loop, cuts: Sequence[_Cut], others: Sequence[Loop]) -> _Cut | None:
    """A relief that crosses another cut or spoils its own loop; None when all are sound."""
    for cut in cuts:
        if any(_to_loop(cut.arc, other) <= 0 for other in others):
            return cut
    if cuts and faults(built):
        whole = segments(built)
        return min(cuts, key=lambda cut: _to_strangers(cut.arc, whole))
    return None


def _to_loop(arc: Segment, loop: Loop) -> float:
    return min(apart(arc, s) for s in segments(loop))


def _to_strangers(arc: Segment, walk: Sequence[Segment]) -> float:
    """Least distance of an arc from segments that do not touch its ends."""
    ends = (arc.start, arc.end)
    far = [s for s in walk if all(math.dist(p, q) > 1e-6 for p in ends for q in (s.start, s.end))]
    return min([math.inf, *(apart(arc, s) for s in far)])
