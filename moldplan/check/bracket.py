"""The least of n . d over a face without a closed form, between two proven numbers.

In       a face, a bound that holds on any box of its parameters, and the value at a point.
Out      Incline whose tolerance is the width of the bracket.
Not here closed forms (incline.py).

Branch and bound: the box with the lowest bound is quartered until that bound is within the tolerance of the lowest
value seen; boxes that lie outside the trimming are dropped. On B-splines the bound comes from the Bernstein net of
the normal: along S = P/w the normal points along w (Pu x Pv) - wv (Pu x P) - wu (P x Pv), a polynomial, which lies in
the cone of its net.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from moldplan.errors import GeometryError
from moldplan.shape.body import Vector

if TYPE_CHECKING:
    import cadquery as cq
    import numpy as np

    from moldplan.check.incline import Incline

Boxed = tuple[float, float, float, float]
BUDGET = 4000  # boxes looked at for one face
TRIM = 200  # chords along each trimming edge


def least_over(face: cq.Face, lower: Callable[[Boxed], float], value: Callable[[float, float], float],
               point: Callable[[float, float], Vector], tolerance: float) -> Incline:
    """Bracket the least value over the trimmed face; `lower` must hold on every box it is given."""
    from moldplan.check.incline import bounds

    box = bounds(face)
    return _search([(lower(box), box, None)], lambda b, _: [(lower(each), each, None) for each in _quarters(b)],
                   lambda u, v, _: value(u, v), point, trimming(face), tolerance)


def least_on_patches(face: cq.Face, way: Vector, tolerance: float) -> Incline:
    """Bracket the least of asin(n . d) over a face of any surface, turned into rational Bezier patches."""
    import cadquery as cq
    import numpy as np
    from OCP.BRepBuilderAPI import BRepBuilderAPI_NurbsConvert

    from moldplan.check.incline import dot, normals_on

    dressed = cq.Shape.cast(BRepBuilderAPI_NurbsConvert(face.wrapped, True).Shape()).Faces()[0]
    along, there = np.array(way), normals_on(dressed)
    start = []
    for patch in _patches(dressed):
        net = patch.net if dot(*_both(dressed, patch)) > 0 else -patch.net
        start.append((_cone_bound(net, along), patch.box, net))

    def split(box: Boxed, net: np.ndarray) -> list[tuple[float, Boxed, Any]]:
        parts = zip(_quarters(box), _split(net), strict=True)
        return [(_cone_bound(part, along), each, part) for each, part in parts]

    def value(u: float, v: float, _: Any) -> float:
        normal = there(u, v)[1]
        return dot(normal, way) if any(normal) else math.inf  # a pole says nothing; the points beside it do

    return _search(start, split, value,
                   lambda u, v: there(u, v)[0], trimming(dressed), tolerance)


def _both(face: cq.Face, patch: Patch) -> tuple[Vector, Vector]:
    """The patch's own normal and the face's outward one, at the patch's middle: they agree or are opposed."""
    from moldplan.check.incline import normal_at

    u0, u1, v0, v1 = patch.box
    quarter = _split(patch.net)[0][-1, -1]
    return (float(quarter[0]), float(quarter[1]), float(quarter[2])), normal_at(face, (u0 + u1) / 2, (v0 + v1) / 2)[1]


def _search(start: list[tuple[float, Boxed, Any]], split: Callable[[Boxed, Any], list[tuple[float, Boxed, Any]]],
            value: Callable[[float, float, Any], float], point: Callable[[float, float], Vector],
            trim: Trimming, tolerance: float) -> Incline:
    from moldplan.check.incline import Incline

    best, where = min((value(u, v, None), (u, v)) for u, v in trim.inner())
    heap = [(low, number, box, held) for number, (low, box, held) in enumerate(start) if trim.touches(box)]
    heapq.heapify(heap)
    number = len(start)
    while heap and number < BUDGET and _degrees(best) - _degrees(heap[0][0]) > tolerance:
        _, _, box, held = heapq.heappop(heap)
        for low, part, kept in split(box, held):
            number += 1
            if not trim.touches(part):
                continue
            u, v = (part[0] + part[1]) / 2, (part[2] + part[3]) / 2
            if trim.holds(u, v) and (seen := value(u, v, None)) < best:
                best, where = seen, (u, v)
            heapq.heappush(heap, (low, number, part, kept))
    floor = min(best, heap[0][0]) if heap else best
    return Incline(least=_degrees(floor), tolerance=_degrees(best) - _degrees(floor), at=point(*where))


def _degrees(sine: float) -> float:
    return math.degrees(math.asin(max(-1.0, min(1.0, sine))))


def _quarters(box: Boxed) -> list[Boxed]:
    u0, u1, v0, v1 = box
    u, v = (u0 + u1) / 2, (v0 + v1) / 2
    return [(u0, u, v0, v), (u0, u, v, v1), (u, u1, v0, v), (u, u1, v, v1)]


@dataclass(frozen=True)
class Trimming:
    """The face's outline in its parameters, as a polygon that errs by `slack` at most."""

    polygon: Any
    points: tuple[tuple[float, float], ...]
    slack: float

    def touches(self, box: Boxed) -> bool:
        """Whether some of the box may be on the face; no means surely none."""
        from shapely.geometry import box as rectangle

        return self.polygon.distance(rectangle(box[0], box[2], box[1], box[3])) <= self.slack

    def holds(self, u: float, v: float) -> bool:
        from shapely.geometry import Point

        return self.polygon.contains(Point(u, v))

    def inner(self) -> Iterator[tuple[float, float]]:
        """Points of the face: its outline, and one within."""
        yield from self.points
        spot = self.polygon.representative_point()
        yield spot.x, spot.y


def trimming(face: cq.Face) -> Trimming:
    """The outline of a face in its own parameters; raises GeometryError when it does not close."""
    import shapely

    rings, points, slack = [], [], 0.0
    for wire in [face.outerWire(), *face.innerWires()]:
        ring: list[tuple[float, float]] = []
        for run in _wire_points(wire, face):
            slack = max(slack, _bulge(run))
            points += run[::2]
            ring += run[::2][:-1]
        rings.append(ring)
    polygon = shapely.Polygon(rings[0], rings[1:])
    if not polygon.is_valid:
        polygon = shapely.make_valid(polygon)
    if polygon.area <= 0:
        raise GeometryError("a face without an outline in its own parameters cannot be measured for draft")
    return Trimming(polygon, tuple(points), 2 * slack + 1e-9)


def _wire_points(wire: cq.Wire, face: cq.Face) -> Iterator[list[tuple[float, float]]]:
    """Along each edge of a wire in turn, points of its curve in the face's parameters."""
    from OCP.BRepAdaptor import BRepAdaptor_Curve2d
    from OCP.BRepTools import BRepTools_WireExplorer
    from OCP.TopAbs import TopAbs_Orientation

    walk = BRepTools_WireExplorer(wire.wrapped, face.wrapped)
    while walk.More():
        edge = walk.Current()
        curve = BRepAdaptor_Curve2d(edge, face.wrapped)
        first, last = curve.FirstParameter(), curve.LastParameter()
        spots = [curve.Value(first + (last - first) * k / (2 * TRIM)) for k in range(2 * TRIM + 1)]
        run = [(spot.X(), spot.Y()) for spot in spots]
        yield run[::-1] if edge.Orientation() == TopAbs_Orientation.TopAbs_REVERSED else run
        walk.Next()


def _bulge(run: list[tuple[float, float]]) -> float:
    """How far the points between stand off the chords of every other point."""
    return max(math.dist(run[k], ((run[k - 1][0] + run[k + 1][0]) / 2, (run[k - 1][1] + run[k + 1][1]) / 2))
               for k in range(1, len(run) - 1, 2))


@dataclass(frozen=True)
class Patch:
    """One rational Bezier patch: its box of parameters and the Bernstein net of its normal, (m, n, 3)."""

    box: Boxed
    net: Any


def _patches(face: cq.Face) -> list[Patch]:
    from OCP.BRep import BRep_Tool
    from OCP.Geom import Geom_BSplineSurface
    from OCP.GeomConvert import GeomConvert, GeomConvert_BSplineSurfaceToBezierSurface
    from OCP.TColStd import TColStd_Array1OfReal

    surface = BRep_Tool.Surface_s(face.wrapped)
    spline = surface if isinstance(surface, Geom_BSplineSurface) else GeomConvert.SurfaceToBSplineSurface_s(surface)
    parts = GeomConvert_BSplineSurfaceToBezierSurface(spline)
    rows, columns = parts.NbUPatches(), parts.NbVPatches()
    u, v = TColStd_Array1OfReal(1, rows + 1), TColStd_Array1OfReal(1, columns + 1)
    parts.UKnots(u)
    parts.VKnots(v)
    found = []
    for i in range(1, rows + 1):
        for j in range(1, columns + 1):
            box = (u.Value(i), u.Value(i + 1), v.Value(j), v.Value(j + 1))
            found.append(Patch(box, _normal_net(_homogeneous(parts.Patch(i, j)))))
    return found


def _homogeneous(patch: Any) -> np.ndarray:
    """Poles of a patch as (w x, w y, w z, w)."""
    import numpy as np

    rows, columns = patch.NbUPoles(), patch.NbVPoles()
    net = np.empty((rows, columns, 4))
    for i in range(rows):
        for j in range(columns):
            pole, weight = patch.Pole(i + 1, j + 1), patch.Weight(i + 1, j + 1)
            net[i, j] = (pole.X() * weight, pole.Y() * weight, pole.Z() * weight, weight)
    return net


def _normal_net(net: np.ndarray) -> np.ndarray:
    """Bernstein net of a vector along Su x Sv. Degrees p, q give 2p - 1, 2q - 1, or 3p - 1, 3q - 1 when rational."""
    import numpy as np

    place, weight = net[..., :3], net[..., 3:]
    pu, pv = _slope(place, 0), _slope(place, 1)
    if np.ptp(weight) < 1e-12 * abs(weight).max():
        return _cross(pu, pv)
    wu, wv = _slope(weight, 0), _slope(weight, 1)
    terms = [_times(weight, _cross(pu, pv)), _times(wv, _cross(pu, place)), _times(wu, _cross(place, pv))]
    top = tuple(max(t.shape[k] for t in terms) for k in (0, 1))
    plain, along_v, along_u = (_raised(t, top) for t in terms)
    return plain - along_v - along_u


def _slope(net: np.ndarray, axis: int) -> np.ndarray:
    """Net of the derivative along one axis; a single zero row where the degree is 0."""
    import numpy as np

    degree = net.shape[axis] - 1
    return degree * np.diff(net, axis=axis) if degree else np.zeros_like(net)


def _times(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Product of two polynomials in Bernstein form; the last axis multiplies by number."""
    import numpy as np

    (m, n), (p, q) = a.shape[:2], b.shape[:2]
    sa, sb = _weights(m, n) * a, _weights(p, q) * b
    out = np.zeros((m + p - 1, n + q - 1, max(a.shape[2], b.shape[2])))
    for i in range(m):
        for j in range(n):
            out[i:i + p, j:j + q] += sa[i, j] * sb
    return out / _weights(m + p - 1, n + q - 1)


def _weights(rows: int, columns: int) -> np.ndarray:
    import numpy as np

    u = [math.comb(rows - 1, k) for k in range(rows)]
    v = [math.comb(columns - 1, k) for k in range(columns)]
    return np.outer(u, v)[..., None].astype(float)


def _cross(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    import numpy as np

    def part(k: int) -> np.ndarray:
        i, j = (k + 1) % 3, (k + 2) % 3
        return _times(a[..., i:i + 1], b[..., j:j + 1]) - _times(a[..., j:j + 1], b[..., i:i + 1])

    return np.concatenate([part(0), part(1), part(2)], axis=2)


def _raised(net: np.ndarray, shape: tuple[int, ...]) -> np.ndarray:
    """The same polynomial at a higher degree."""
    import numpy as np

    rows, columns = shape[0] - net.shape[0] + 1, shape[1] - net.shape[1] + 1
    return _times(np.ones((rows, columns, 1)), net)


def _split(net: np.ndarray) -> list[np.ndarray]:
    """Nets of the four quarters, in the order of `_quarters`."""
    quarters = []
    for half in _halves(net, 0):
        quarters += _halves(half, 1)
    return quarters


def _halves(net: np.ndarray, axis: int) -> list[np.ndarray]:
    """De Casteljau at the middle."""
    import numpy as np

    work = np.moveaxis(net, axis, 0)
    low, high = [work[0]], [work[-1]]
    while len(work) > 1:
        work = (work[1:] + work[:-1]) / 2
        low.append(work[0])
        high.append(work[-1])
    return [np.moveaxis(np.array(low), 0, axis), np.moveaxis(np.array(high[::-1]), 0, axis)]


def _cone_bound(net: np.ndarray, way: np.ndarray) -> float:
    """A number that n . d on the patch never falls below, from the cone its net spans."""
    import numpy as np

    rods = net.reshape(-1, 3)
    sizes = np.linalg.norm(rods, axis=1)
    rods = rods[sizes > 1e-14 * max(sizes.max(), 1e-300)]
    if not len(rods):
        return -1.0
    units = rods / np.linalg.norm(rods, axis=1)[:, None]
    plain = float((units @ way).min())
    axis = units.sum(axis=0)
    size = np.linalg.norm(axis)
    bound = plain if plain >= 0 else -1.0  # sums of rods stay in a cone about the way only while it is convex
    if size > 1e-12:
        half = float(np.arccos(np.clip((units @ (axis / size)).min(), -1, 1)))
        if half < math.pi / 2:
            apart = float(np.arccos(np.clip(axis @ way / size, -1, 1)))
            bound = max(bound, math.cos(min(math.pi, apart + half)))
    return bound
