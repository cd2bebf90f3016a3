"""A curve of an edge, or of several that run on smoothly, as lines and arcs, measured afterwards.

In       a flat curve as a function of its parameter, the tolerance [mm], which of its ends are corners.
Out      Fit: segments from end to end, tangent but at the curve's own corners, and how far they leave the curve.
Not here the search for the arcs (arcs.py), which curves of a body are fitted (profile.py).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache

from moldplan.cut.arcs import arcs, loop_arcs
from moldplan.cut.channel import Looks, Numbers, Sight, channel, look
from moldplan.cut.loop import LEAST, arc_bulge
from moldplan.cut.piece import Point
from moldplan.cut.segment import Segment, from_point
from moldplan.errors import GeometryError

LOOKS, EACH = 128, 64  # looks at a curve, and at each span of it, that tell where its arcs are short
EVEN = 0.002  # how near its middle the turning of a curve lies that bends alike from both ends, as a share of it
SHARP = 1.0  # deg; a turn by more over less than CORNER is a corner of the curve
CORNER = 1e-9  # mm
TRIES = ((0.994, 1), (0.96, 2), (0.85, 8))  # share of the tolerance asked for, times LOOKS; 1e-4 mm are left to merge
ON_ARC = 24  # places on an arc from which is measured


@dataclass(frozen=True)
class Fit:
    """Segments in the direction of the curve. `off`: greatest distance of either from the other [mm]."""

    parts: tuple[Segment, ...]
    off: float


def fitted(sight: Sight, first: float, last: float, tolerance: float, *, free: tuple[bool, bool] = (False, False),
           closed: bool = False, spans: int = 1) -> Fit:
    """A flat curve as few lines and arcs within `tolerance` [mm] of it, and it of them.

    They start and end on the curve's ends exactly, and are tangent to the curve there unless an end is `free`: then
    the direction may differ by what the tolerance allows. A `closed` curve comes back to its start in the direction it
    left; its arcs start elsewhere. Corners of the curve stay. A curve shorter than LEAST is one line. `spans`: of how
    many curves of equal parameter it is made.
    Raises GeometryError when the curve cannot be fitted.
    """
    import numpy as np

    count = max(LOOKS, EACH * spans)
    looks = look(sight, np.linspace(first, last, count + 1))
    if not closed and np.hypot(*(looks.points - looks.points[0]).T).max() < LEAST:
        return _line(looks)
    corners = _corners(sight, looks)
    if not corners:
        return _smooth(_asked(sight, looks, free, closed), tolerance)
    if closed:  # from its first corner once round to it
        (low, high), span = corners[0], last - first
        return fitted(lambda t: sight(t if t <= last else t - span), high, low + span, tolerance, free=(True, True),
                      spans=spans)
    starts, ends = [first, *(high for _, high in corners)], [*(low for low, _ in corners), last]
    loose = [free[0], *[True] * len(corners)], [*[True] * len(corners), free[1]]
    fits = [_smooth(_asked(sight, look(sight, np.linspace(low, high, count + 1)), (a, b), False), tolerance)
            for low, high, a, b in zip(starts, ends, *loose, strict=True)]
    return Fit(_welded([s for fit in fits for s in fit.parts]), max(fit.off for fit in fits))


def _line(looks: Looks) -> Fit:
    (ax, ay), (bx, by) = looks.points[0].tolist(), looks.points[-1].tolist()
    line = Segment((ax, ay), (bx, by))
    return Fit((line,), max(from_point(line, (x, y)) for x, y in looks.points.tolist()))


def _welded(parts: Sequence[Segment]) -> tuple[Segment, ...]:
    """Segments whose ends differ by nothing worth, each starting where the last one ended."""
    out: list[Segment] = []
    for s in parts:
        out.append(replace(s, start=out[-1].end) if out else s)
    return tuple(out)


def _corners(sight: Sight, looks: Looks) -> list[tuple[float, float]]:
    """Parameters just before and just after each place where the curve turns at once."""
    import numpy as np

    x, y = looks.along.T
    turn = np.abs(np.arctan2(x[:-1] * y[1:] - y[:-1] * x[1:], x[:-1] * x[1:] + y[:-1] * y[1:]))
    found = []
    for k in np.flatnonzero(turn > math.radians(SHARP)).tolist():
        corner = _corner(sight, float(looks.t[k]), float(looks.t[k + 1]))
        if corner is not None:
            found.append(corner)
    return found


def _corner(sight: Sight, low: float, high: float) -> tuple[float, float] | None:
    """Just before and after where the curve turns at once; None where it turns little by little."""
    (a, u), (b, w) = sight(low), sight(high)
    while _turn(u, w) > math.radians(SHARP):
        middle = (low + high) / 2
        if math.dist(a, b) < CORNER or not low < middle < high:
            return low, high
        c, v = sight(middle)
        if _turn(u, v) > _turn(v, w):
            high, b, w = middle, c, v
        else:
            low, a, u = middle, c, v
    return None


def _turn(u: tuple[float, float], w: tuple[float, float]) -> float:
    return abs(math.atan2(u[0] * w[1] - u[1] * w[0], u[0] * w[0] + u[1] * w[1]))


@dataclass(frozen=True)
class _Asked:
    """A curve to fit, known by where it runs: the same curve asked for again is the same."""

    key: bytes
    free: tuple[bool, bool]
    closed: bool
    sight: Sight = field(compare=False)
    looks: Looks = field(compare=False)


def _asked(sight: Sight, looks: Looks, free: tuple[bool, bool], closed: bool) -> _Asked:
    return _Asked(looks.points.tobytes(), free, closed, sight, looks)


def _smooth(asked: _Asked, tolerance: float) -> Fit:
    """A curve without corners, from the same end whichever way it is walked: one curve gets one set of arcs."""
    if not _backwards(asked.looks):
        return _found(asked, tolerance)
    first, last = float(asked.looks.t[0]), float(asked.looks.t[-1])

    def sight(t: float) -> tuple[Point, Point]:
        point, (x, y) = asked.sight(first + last - t)
        return point, (-x, -y)

    looks = Looks(first + last - asked.looks.t[::-1], asked.looks.points[::-1], -asked.looks.along[::-1])
    fit = _found(_asked(sight, looks, asked.free[::-1], asked.closed), tolerance)
    return replace(fit, parts=tuple(s.reversed() for s in reversed(fit.parts)))


def _backwards(looks: Looks) -> bool:
    """Whether to walk a curve from its end: it is walked towards where it bends less; if it is even, to the left."""
    import numpy as np

    x, y = looks.along.T
    turn = np.arctan2(x[:-1] * y[1:] - y[:-1] * x[1:], x[:-1] * x[1:] + y[:-1] * y[1:])
    steps = np.hypot(*np.diff(looks.points, axis=0).T)
    middle = (np.cumsum(steps) - steps / 2) / max(float(steps.sum()), 1e-300) - 0.5
    lean = float((np.abs(turn) * middle).sum())
    return lean > 0 if abs(lean) > EVEN * float(np.abs(turn).sum()) else float(turn.sum()) < 0


@lru_cache(maxsize=256)  # a cure has the same curves fitted over and over
def _found(asked: _Asked, tolerance: float) -> Fit:
    """By few arcs, tried with less of the tolerance where they leave the curve; else by halving."""
    import numpy as np

    sight, looks = asked.sight, asked.looks
    first, last = float(looks.t[0]), float(looks.t[-1])
    for share, finer in TRIES:
        if finer > 1:
            looks = look(sight, np.linspace(first, last, finer * (len(looks.t) - 1) + 1))
        gates, t = channel(sight, looks, share * tolerance, closed=asked.closed)
        parts = loop_arcs(gates) if asked.closed else arcs(gates, free=asked.free)
        if parts and (len(parts) == 1 or min(s.length for s in parts) >= LEAST):
            between = np.concatenate([t[:1], (t[1:] + t[:-1])[::2] / 2, t[-1:]])
            off = deviation(look(sight, between), parts)
            if off <= tolerance:
                return Fit(parts, off)
    parts = _halved(sight, first, last, tolerance)
    return Fit(parts, deviation(looks, parts))


def _halved(sight: Sight, first: float, last: float, tolerance: float, depth: int = 0) -> tuple[Segment, ...]:
    """A curve that no chain of tangent arcs follows, as arcs through three points each, halved until they are near."""
    points = [sight(first + (last - first) * k / 16)[0] for k in range(17)]
    arc = Segment(points[0], points[-1], arc_bulge(points[0], points[8], points[-1]))
    if all(from_point(arc, p) <= 0.8 * tolerance for p in points):
        return (arc,)
    if all(math.dist(p, points[0]) <= 2 * LEAST for p in points):
        return (Segment(points[0], points[-1]),)  # a hook at the end of an intersection, too small to be cut
    if depth > 14:
        raise GeometryError(f"a curve could not be fitted with arcs within {tolerance:g} mm")
    middle = (first + last) / 2
    return (*_halved(sight, first, middle, tolerance, depth + 1), *_halved(sight, middle, last, tolerance, depth + 1))


def deviation(looks: Looks, parts: Sequence[Segment]) -> float:
    """Greatest distance between a curve and its arcs [mm], from places of either to the other."""
    import numpy as np

    back = np.min([from_segment(s, looks.points) for s in parts], axis=0).max()
    spots = np.array([s.at(k / ON_ARC) for s in parts for k in range(ON_ARC + 1)])
    return float(max(back, _from_curve(looks, spots).max()))


def from_segment(s: Segment, spots: Numbers) -> Numbers:
    """Distances of spots (n, 2) from a line or arc (n) [mm]."""
    import numpy as np

    ends = np.minimum(np.hypot(*(spots - s.start).T), np.hypot(*(spots - s.end).T))
    if s.straight:
        along = np.array(s.heading(0.0))
        v = spots - s.start
        share = v @ along
        return np.where((share >= 0) & (share <= s.chord), np.abs(v[:, 0] * along[1] - v[:, 1] * along[0]), ends)
    v, middle = spots - s.centre, np.array(s.middle) - s.centre
    reach = np.hypot(v[:, 0], v[:, 1])
    inside = (v @ middle) >= np.cos(s.sweep / 2) * s.radius * reach
    return np.where(inside, np.abs(reach - s.radius), ends)


def _from_curve(looks: Looks, spots: Numbers) -> Numbers:
    """Distances of spots (m, 2) from a curve (m) [mm]: from the circle that touches it at the nearest point looked at
    and passes through the next one on the spot's side."""
    import numpy as np

    near = np.argmin((spots[:, :1] - looks.points[:, 0]) ** 2 + (spots[:, 1:] - looks.points[:, 1]) ** 2, axis=1)
    here, along = looks.points[near], looks.along[near]
    along = along / np.hypot(along[:, 0], along[:, 1])[:, None]
    v = spots - here
    ahead = (v * along).sum(axis=1) >= 0
    other = looks.points[np.clip(near + np.where(ahead, 1, -1), 0, len(looks.points) - 1)] - here
    size = (other * other).sum(axis=1)
    k = 2 * (along[:, 0] * other[:, 1] - along[:, 1] * other[:, 0]) / np.where(size > 0, size, 1.0)
    side = along[:, 0] * v[:, 1] - along[:, 1] * v[:, 0]
    gap = k * (v * v).sum(axis=1) - 2 * side  # of a circle: (reach^2 - radius^2) / radius, signed
    return np.abs(gap) / (1 + np.sqrt(np.maximum(1 + k * gap, 0.0)))
