"""Closed outlines of lines and arcs: area, length, reach, moves, what lies inside, whether they are sound.

In       Loop and Outline (piece.py) [mm].
Out      exact numbers (arcs are arcs); polygons only where asked for, with the side they err on.
Not here making outlines from solids (profile.py), reliefs (relief.py), placing (nest.py).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from itertools import pairwise

from moldplan.cut.piece import Loop, Outline, Piece, Placed, Point
from moldplan.cut.segment import FLAT, Bounds, Segment, apart, crossings, from_point

LEAST = 0.05  # nothing shorter is written [mm]
ONE_CIRCLE = 1e-4  # centres and radii nearer than this are one circle's [mm]
MERGED = 2e-5  # what is drawn as one line or arc leaves no part of it by more [mm]
NEARLY_ROUND = 1e-3  # arcs all round within that of a circle are it [mm]


def segments(loop: Loop) -> tuple[Segment, ...]:
    """The loop's lines and arcs in order; a full circle as two half circles, counter-clockwise."""
    if loop.circle is not None:
        x, y, r = loop.circle
        return (Segment((x + r, y), (x - r, y), 1.0), Segment((x - r, y), (x + r, y), 1.0))
    points = loop.vertices
    return tuple(
        Segment((x, y), points[(i + 1) % len(points)][:2], bulge) for i, (x, y, bulge) in enumerate(points)
    )


def area(loop: Loop) -> float:
    """Signed area [mm2], positive counter-clockwise; exact for lines and arcs. A full circle counts positive."""
    if loop.circle is not None:
        return math.pi * loop.circle[2] ** 2
    if not loop.vertices:
        return 0.0
    x0, y0, _ = loop.vertices[0]  # taken about a point of the loop: far from the origin digits would be lost
    total = 0.0
    for s in segments(loop):
        (ax, ay), (bx, by) = s.start, s.end
        total += ((ax - x0) * (by - y0) - (bx - x0) * (ay - y0)) / 2 + s.lune
    return total


def length(loop: Loop) -> float:
    """Length of the whole outline [mm]."""
    return 2 * math.pi * loop.circle[2] if loop.circle is not None else sum(s.length for s in segments(loop))


def bounds(loops: Loop | Iterable[Loop]) -> Bounds:
    """Least upright box: x low, y low, x high, y high [mm]."""
    boxes = [s.bounds for loop in ([loops] if isinstance(loops, Loop) else loops) for s in segments(loop)]
    lows, highs = zip(*((b[:2], b[2:]) for b in boxes), strict=True)
    return (min(p[0] for p in lows), min(p[1] for p in lows), max(p[0] for p in highs), max(p[1] for p in highs))


def reversed_loop(loop: Loop) -> Loop:
    """The same outline walked the other way round."""
    if loop.circle is not None:
        return loop
    flipped = [s.reversed() for s in reversed(segments(loop))]
    return Loop(tuple((*s.start, s.bulge) for s in flipped))


def wound(loop: Loop, *, clockwise: bool) -> Loop:
    """The same outline, walked as asked."""
    return loop if (area(loop) < 0) == clockwise else reversed_loop(loop)


def moved(loop: Loop, *, turn: float = 0.0, x: float = 0.0, y: float = 0.0, mirrored: bool = False) -> Loop:
    """Mirrored (x to -x) if asked, then turned about 0,0 [deg, counter-clockwise], then shifted [mm].

    A mirrored outline is walked backwards, so that counter-clockwise stays counter-clockwise.
    """
    go = _carrier(turn, x, y, mirrored)
    if loop.circle is not None:
        cx, cy, r = loop.circle
        return Loop(circle=(*go((cx, cy)), r))
    sign = -1.0 if mirrored else 1.0
    out = Loop(tuple((*go((px, py)), sign * bulge) for px, py, bulge in loop.vertices))
    return reversed_loop(out) if mirrored else out


def _carrier(turn: float, x: float, y: float, mirrored: bool) -> Callable[[Point], Point]:
    quarter = turn / 90
    if quarter == round(quarter):  # a quarter turn is exact: cos 90 deg must not be 6e-17
        c, s = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter) % 4]
    else:
        c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    f = -1.0 if mirrored else 1.0
    return lambda p: (c * f * p[0] - s * p[1] + x, s * f * p[0] + c * p[1] + y)


def map_outline(outline: Outline, change: Callable[[Loop], Loop]) -> Outline:
    """Every loop of an outline changed the same way."""
    return replace(
        outline,
        outer=change(outline.outer),
        holes=tuple(map(change, outline.holes)),
        far=tuple(map(change, outline.far)),
        bores=tuple((change(loop), depth) for loop, depth in outline.bores),
        sinks=tuple((change(loop), depth) for loop, depth in outline.sinks),
        under=tuple((change(loop), depth) for loop, depth in outline.under),
        true=tuple(map(change, outline.true)),
        drilled=tuple((change(loop), depth) for loop, depth in outline.drilled),
        bridges=tuple(_stretch(change, *ends) for ends in outline.bridges),
    )


def _stretch(change: Callable[[Loop], Loop], a: Point, b: Point) -> tuple[Point, Point]:
    """The two ends of a stretch, changed as a loop through them is."""
    (ax, ay, _), (bx, by, _) = change(Loop(((*a, 0.0), (*b, 0.0)))).vertices
    return ((ax, ay), (bx, by))


def moved_outline(outline: Outline, *, turn: float = 0.0, x: float = 0.0, y: float = 0.0,
                  mirrored: bool = False) -> Outline:
    """An outline with all it carries, moved as moved() moves a loop."""
    return map_outline(outline, lambda loop: moved(loop, turn=turn, x=x, y=y, mirrored=mirrored))


def on_sheet(piece: Piece, placed: Placed) -> Outline:
    """What is cut, where it lies on its sheet."""
    return moved_outline(piece.cut, turn=placed.turn, x=placed.x, y=placed.y, mirrored=placed.mirrored)


def outline_area(outline: Outline) -> float:
    """Area of the outer loop less the openings [mm2]."""
    return abs(area(outline.outer)) - sum(abs(area(hole)) for hole in outline.holes)


def sampled(loop: Loop, tolerance: float) -> list[Point]:
    """Points on the loop whose chords leave it by at most `tolerance` [mm], three at least; not closed by a repeat."""
    points: list[Point] = []
    walk = segments(loop)
    for s in walk:
        steps = max(_steps(s, tolerance), 2 if len(walk) < 3 and not s.straight else 1)
        points.extend(s.at(k / steps) for k in range(steps))
    return points


def swollen(loop: Loop, tolerance: float) -> list[Point]:
    """A polygon that holds the loop and leaves it by at most `tolerance` [mm], outward only.

    Where an arc bulges outward the corners lie where the tangents meet; elsewhere chords already err outward.
    """
    ccw = area(loop) > 0
    points: list[Point] = []
    for s in segments(loop):
        steps = _steps(s, tolerance / 2)
        if s.straight or (s.bulge > 0) != ccw:
            points.extend(s.at(k / steps) for k in range(steps))
            continue
        points.append(s.start)
        stretch = 1 / math.cos(s.sweep / steps / 2)
        cx, cy = s.centre
        for k in range(steps):
            px, py = s.at((k + 0.5) / steps)
            points.append((cx + (px - cx) * stretch, cy + (py - cy) * stretch))
    return points


def _steps(s: Segment, tolerance: float) -> int:
    if s.straight:
        return 1
    step = 2 * math.acos(max(math.cos(math.pi / 4), 1 - tolerance / s.radius))  # a quarter turn at most
    return max(1, math.ceil(abs(s.sweep) / step - 1e-9))


def holds_point(loop: Loop, point: Point) -> bool:
    """Whether a point lies inside; exact (the chord polygon, changed by each lune between chord and arc)."""
    if loop.circle is not None:  # a point on the line between its halves is on neither's side
        return math.dist(loop.circle[:2], point) < loop.circle[2]
    inside = False
    px, py = point
    for s in segments(loop):
        (ax, ay), (bx, by) = s.start, s.end
        if (ay > py) != (by > py) and px < ax + (bx - ax) * (py - ay) / (by - ay):
            inside = not inside
        if not s.straight and math.dist(s.centre, point) < s.radius:
            side = (bx - ax) * (py - ay) - (by - ay) * (px - ax)
            # the arc of a positive bulge lies on the right of its chord
            if (side < 0) == (s.bulge > 0) and side != 0:
                inside = not inside
    return inside


def loops_apart(a: Loop, b: Loop, *, up_to: float = math.inf) -> float:
    """Least distance between two outlines [mm], 0 where they meet; pairs farther than `up_to` may be left out."""
    least = up_to
    theirs = [(s, s.bounds) for s in segments(b)]
    for s in segments(a):
        low_x, low_y, high_x, high_y = s.bounds
        for other, box in theirs:
            gap_x = max(box[0] - high_x, low_x - box[2], 0.0)
            gap_y = max(box[1] - high_y, low_y - box[3], 0.0)
            if math.hypot(gap_x, gap_y) < least:
                least = min(least, apart(s, other))
    return least


def faults(loop: Loop) -> tuple[str, ...]:
    """What is wrong with a loop as a cut: empty, too short a segment, spike, self-crossing, self-touching."""
    if loop.circle is not None:
        return () if loop.circle[2] > LEAST / 2 and all(map(math.isfinite, loop.circle)) else ("a circle of no size",)
    if not all(math.isfinite(v) for vertex in loop.vertices for v in vertex):
        return ("a vertex that is no number",)
    if len(loop.vertices) < 2 or abs(area(loop)) < LEAST**2:
        return ("no area",)
    found, walk = [], segments(loop)
    for s in walk:
        if s.length < LEAST:
            found.append(f"a segment of {s.length:.3g} mm at {s.start[0]:.3f}, {s.start[1]:.3f}")
    order = sorted(range(len(walk)), key=lambda i: walk[i].bounds[0])
    for place, i in enumerate(order):
        for j in order[place + 1 :]:
            if walk[j].bounds[0] > walk[i].bounds[2] + 1e-6:
                break
            for x, y in _strays(walk, i, j):
                found.append(f"it meets itself at {x:.3f}, {y:.3f}")
    return tuple(dict.fromkeys(found))


def _strays(walk: Sequence[Segment], i: int, j: int) -> list[Point]:
    """Where two segments of a loop meet although they should not."""
    shared = []
    if (i + 1) % len(walk) == j:
        shared.append(walk[j].start)
    if (j + 1) % len(walk) == i:
        shared.append(walk[i].start)
    met = crossings(walk[i], walk[j], 1e-6)
    return [p for p in met if all(math.dist(p, ok) > 1e-4 for ok in shared)]


def tidied(loop: Loop, *, least: float = LEAST) -> Loop:
    """The same outline with the fewest vertices: segments shorter than `least` [mm] closed up, lines and arcs of one
    run merged.

    Starts at the vertex lowest in x, then y, so that equal outlines are written equal; an outline that is one circle
    becomes a circle.
    """
    if loop.circle is not None or len(loop.vertices) < 2:
        return loop
    walk = _without_short(list(segments(loop)), least)
    merged = _merged(walk)
    if isinstance(merged, Loop):
        return merged
    walk = merged
    round_one = _round(walk)
    if round_one is not None:
        return round_one
    first = min(range(len(walk)), key=lambda i: (round(walk[i].start[0], 6), round(walk[i].start[1], 6)))
    return _clean(Loop(tuple((*s.start, 0.0 if s.straight else s.bulge) for s in [*walk[first:], *walk[:first]])))


def _clean(loop: Loop) -> Loop:
    """Positions rounded to 1e-9 mm: the kernel's 1e-15 for 0 says nothing and reads badly in a file."""
    if loop.circle is not None:
        x, y, r = loop.circle
        return Loop(circle=(round(x, 9) + 0.0, round(y, 9) + 0.0, round(r, 9)))
    return Loop(tuple((round(x, 9) + 0.0, round(y, 9) + 0.0, bulge) for x, y, bulge in loop.vertices))


def _without_short(walk: list[Segment], least: float) -> list[Segment]:
    """Segments shorter than `least` closed up: their neighbours meet halfway, so that neither moves by more than half.

    Several in a row that get somewhere together are drawn longer, in lines from joint to joint.
    """
    while True:
        first = next((k for k, s in enumerate(walk) if s.length >= least), None)
        if first is None or len(walk) < 3 or all(s.length >= least for s in walk):
            return walk  # a crumb, all of it short, is left as it is, for `faults` to name
        runs: list[list[Segment]] = []
        for s in (*walk[first:], *walk[:first]):
            if s.length >= least or not runs or runs[-1][0].length >= least:
                runs.append([])
            runs[-1].append(s)
        closed = _closed_up(runs, least)
        if len(closed) < 2:
            return walk
        walk = closed


def _closed_up(runs: Sequence[Sequence[Segment]], least: float) -> list[Segment]:
    """Long segments, each a run by itself, and runs of short ones: these as one point, or as longer lines."""
    ways = [[run[0].start, run[-1].end] if run[0].length >= least else _thinned(run, least) for run in runs]
    out = []
    for k, (run, way) in enumerate(zip(runs, ways, strict=True)):
        if run[0].length >= least:
            out.append(Segment(ways[k - 1][-1], ways[(k + 1) % len(ways)][0], run[0].bulge))
        else:
            out += [Segment(a, b) for a, b in pairwise(way)]
    return out


def _thinned(run: Sequence[Segment], least: float) -> list[Point]:
    """Joints of a run of short segments that lie `least` apart; the point halfway where its ends lie nearer."""
    (ax, ay), (bx, by) = start, end = run[0].start, run[-1].end
    if math.dist(start, end) < least:
        return [((ax + bx) / 2, (ay + by) / 2)]
    way = [start]
    for s in run:
        if math.dist(s.end, way[-1]) >= least:
            way.append(s.end)
    return [*way[:-1], end]


def _merged(walk: list[Segment]) -> list[Segment] | Loop:
    """Neighbours that are one line or one arc as one, measured on every part; a full circle as that."""
    out: list[tuple[Segment, list[Segment]]] = []  # each with its parts
    for s in walk:
        out.append((s, [s]))
        while len(out) > 1 and (one := _joined(out[-2], out[-1])) is not None:
            out[-2:] = [one]
    if len(out) == 2:
        a, b = (one for one, _ in out)
        if _one_circle(a, b) and abs(abs(a.sweep + b.sweep) - 2 * math.pi) < 1e-6:
            (cx, cy), (dx, dy) = a.centre, b.centre
            return _clean(Loop(circle=((cx + dx) / 2, (cy + dy) / 2, (a.radius + b.radius) / 2)))
    while len(out) > 2 and (one := _joined(out[-1], out[0])) is not None:
        out = [one, *out[1:-1]]
    return [one for one, _ in out]


def _round(walk: Sequence[Segment]) -> Loop | None:
    """The circle that arcs go round together, where they lie on that of the longest of them: a hole bored through a
    free-form face has an edge in pieces, each a hair out of round."""
    most = max(walk, key=lambda s: abs(s.sweep))
    if any(s.straight for s in walk) or abs(abs(sum(s.sweep for s in walk)) - 2 * math.pi) > 0.01:
        return None
    if any(abs(math.dist(p, most.centre) - most.radius) > NEARLY_ROUND for s in walk for p in (s.start, s.middle)):
        return None
    return _clean(Loop(circle=(*most.centre, most.radius)))


def _one_circle(a: Segment, b: Segment) -> bool:
    if a.straight or b.straight or (a.bulge > 0) != (b.bulge > 0):
        return False
    return math.dist(a.centre, b.centre) < ONE_CIRCLE and abs(a.radius - b.radius) < ONE_CIRCLE


def _joined(
    before: tuple[Segment, list[Segment]], after: tuple[Segment, list[Segment]]
) -> tuple[Segment, list[Segment]] | None:
    """Two neighbours as one with all its parts, where they are one line or one arc of at most 300 deg."""
    (a, some), (b, more) = before, after
    if a.straight and b.straight:
        whole = Segment(a.start, b.end)
        if whole.chord <= max(a.chord, b.chord):
            return None
    elif not a.straight and not b.straight and a.bulge * b.bulge > 0 and abs(a.sweep + b.sweep) < math.radians(300):
        whole = Segment(a.start, b.end, math.tan((a.sweep + b.sweep) / 4))
    else:
        return None
    parts = [*some, *more]
    near = all(from_point(whole, p) <= MERGED for s in parts for p in (s.middle, s.end))
    return (whole, parts) if near else None


def arc_bulge(start: Point, middle: Point, end: Point) -> float:
    """Bulge of the arc from start through its middle to its end; 0 when they are in line."""
    (ax, ay), (mx, my), (bx, by) = start, middle, end
    chord = math.dist(start, end)
    if chord < 1e-12:
        return 0.0
    sag = ((bx - ax) * (my - ay) - (by - ay) * (mx - ax)) / chord
    bulge = -2 * sag / chord
    return 0.0 if abs(bulge) < FLAT else bulge
