"""A closed level wire of a body as lines and arcs.

In       a wire of the kernel's in its sheet's own axes, the tolerance for curves [mm].
Out      Runs: exact for lines and circles, few tangent arcs within the tolerance for other curves.
Not here the search for those arcs (arcs.py, curve.py), faces and sections (profile.py).

Lines and circles are taken over as they are. A curve of another kind that is a line or a circle in fact (booleans
leave such) is recognised. All others are fitted; those that run on smoothly into one another are fitted as one, since
a joint between them would cost an arc. Where a curve meets its neighbour at a corner its direction there is free.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from moldplan.cut.channel import Sight
from moldplan.cut.curve import SHARP, fitted
from moldplan.cut.loop import arc_bulge
from moldplan.cut.piece import Point
from moldplan.cut.segment import Segment, from_point
from moldplan.errors import GeometryError

if TYPE_CHECKING:
    import cadquery as cq

IN_FACT = 1e-6  # a curve this near a line or circle is one [mm]
NEARLY = 1e-3  # and so is a smooth loft through circles, which swings about them [mm]
GAP = 1e-3  # ends of neighbouring edges lie no further apart [mm]


@dataclass(frozen=True)
class Run:
    """An edge of a wire, or several that one curve was fitted to; `fitted`: it is neither a line nor one circle."""

    parts: tuple[Segment, ...]
    fitted: bool = False


@dataclass(frozen=True)
class _Edge:
    """An edge in the direction of its wire: `sight` over 0 to 1; what it is in lines and arcs, () for another curve."""

    sight: Sight
    exact: tuple[Segment, ...]

    def heading(self, t: float) -> Point:
        """Which way it runs at its start (0) or its end (1): of any length."""
        if self.exact:
            return self.exact[-1].heading(1.0) if t else self.exact[0].heading(0.0)
        (x, y), along = self.sight(t)
        if math.hypot(*along) > 1e-9:
            return along
        (p, q), _ = self.sight(abs(t - 1e-4))  # it stands still at its end
        return (x - p, y - q) if t else (p - x, q - y)


def runs_of(wire: cq.Wire, tolerance: float) -> list[Run]:
    """A closed level wire run by run. Raises GeometryError when it does not close, or a curve cannot be fitted."""
    edges = _edges(wire)
    count = len(edges)
    smooth = [_smoothly(edges[k - 1], edges[k]) for k in range(count)]  # at the start of each edge
    joined = [smooth[k] and not edges[k].exact and not edges[k - 1].exact for k in range(count)]
    if all(joined):
        fit = fitted(_sight(edges), 0.0, float(count), tolerance, closed=True, spans=count)
        return [Run(fit.parts, fitted=True)]
    first = joined.index(False)
    order = [(first + k) % count for k in range(count)]
    runs: list[Run] = []
    while order:
        many = next((k for k in range(1, len(order)) if not joined[order[k]]), len(order))
        group, order = order[:many], order[many:]
        if edges[group[0]].exact:
            runs.append(Run(edges[group[0]].exact))
            continue
        free = (not smooth[group[0]], not smooth[(group[-1] + 1) % count])
        fit = fitted(_sight([edges[k] for k in group]), 0.0, float(many), tolerance, free=free, spans=many)
        runs.append(Run(fit.parts, fitted=True))
    return runs


def _smoothly(before: _Edge, after: _Edge) -> bool:
    """Whether an edge goes on in the direction of the one before it."""
    (a, b), (c, d) = before.heading(1.0), after.heading(0.0)
    return abs(math.atan2(a * d - b * c, a * c + b * d)) <= math.radians(SHARP)


def _sight(edges: Sequence[_Edge]) -> Sight:
    """Edges one after the other as one curve, each over 1 of its parameter."""

    def sight(t: float) -> tuple[Point, Point]:
        k = min(int(t), len(edges) - 1)
        return edges[k].sight(t - k)

    return edges[0].sight if len(edges) == 1 else sight


def _edges(wire: cq.Wire) -> list[_Edge]:
    """The edges of a wire in order. Raises GeometryError when they do not close."""
    from OCP.BRepAdaptor import BRepAdaptor_Curve
    from OCP.BRepTools import BRepTools_WireExplorer
    from OCP.TopAbs import TopAbs_REVERSED

    found = []
    explorer = BRepTools_WireExplorer(wire.wrapped)
    while explorer.More():
        edge = explorer.Current()
        curve = BRepAdaptor_Curve(edge)
        sight = _sight_of(curve, edge.Orientation() == TopAbs_REVERSED)
        found.append(_Edge(sight, _exact(curve.GetType(), sight)))
        explorer.Next()
    for before, after in zip(found, [*found[1:], *found[:1]], strict=True):
        (x, y), (p, q) = before.sight(1.0)[0], after.sight(0.0)[0]
        if math.hypot(p - x, q - y) > GAP:
            raise GeometryError(f"an outline does not close: a gap of {math.hypot(p - x, q - y):.3g} mm at "
                                f"{x:.2f}, {y:.2f}")
    return found


def _sight_of(curve: Any, backwards: bool) -> Sight:
    """A kernel's curve over 0 to 1, walked backwards if asked."""
    from OCP.gp import gp_Pnt, gp_Vec

    first, last = curve.FirstParameter(), curve.LastParameter()
    start, span = (last, first - last) if backwards else (first, last - first)
    point, along = gp_Pnt(), gp_Vec()

    def sight(t: float) -> tuple[Point, Point]:
        curve.D1(start + span * t, point, along)
        return (point.X(), point.Y()), (along.X() * span, along.Y() * span)

    return sight


def _exact(kind: Any, sight: Sight) -> tuple[Segment, ...]:
    """An edge as a line, or as an arc in two halves, where it is that; else ()."""
    from OCP.GeomAbs import GeomAbs_Circle, GeomAbs_Line

    def at(t: float) -> Point:
        return sight(t)[0]

    if kind == GeomAbs_Line:
        return (Segment(at(0.0), at(1.0)),)
    if kind == GeomAbs_Circle:
        return _arc(at)
    shares = [at(k / 40) for k in range(41)]
    line, arc = (Segment(shares[0], shares[-1]),), _arc(at)
    for tolerance in (IN_FACT, NEARLY):
        for parts in (line, arc):
            if _fits(parts, shares, tolerance):
                return parts
    return ()


def _arc(at: Callable[[float], Point]) -> tuple[Segment, ...]:
    """The circle through a curve's ends and middle, in two halves: a bulge is exact for half a turn at most."""
    points = [at(k / 4) for k in range(5)]
    halves = (points[:3], points[2:])
    return tuple(Segment(a, b, arc_bulge(a, m, b)) for a, m, b in halves if math.dist(a, b) > 0)


def _fits(parts: Sequence[Segment], points: Iterable[Point], tolerance: float) -> bool:
    """Whether every point lies on the parts within the tolerance."""
    return bool(parts) and all(min(from_point(s, p) for s in parts) <= tolerance for p in points)
