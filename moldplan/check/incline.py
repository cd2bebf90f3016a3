"""How steeply a face looks along a direction: the least of asin(n . d) over the trimmed face.

In       a face of a solid (its outward normal n), a unit direction d.
Out      Incline: the least angle [deg], where it is, and how sure it is.
Not here what the angle is held against (draft.py).

On planes, cylinders, cones, spheres and tori the normal has one closed form,
    n(u, v) = cos v (cos u X + sin u Y) + sin v Z,
with v fixed on a cylinder (0) and on a cone (minus its half angle), so that the least over a range of u and v is
exact. A plane, and a cylinder or cone seen along its axis, is exact too when it hides in a B-spline. Everything else
is bracketed (bracket.py) and says so.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from moldplan.shape.body import Vector

if TYPE_CHECKING:
    import cadquery as cq

POLE = 1e-9  # mm2, where the parameter lines' cross product is smaller they have run together
SAME = 1e-7  # mm, how near a B-spline must lie to a plane or cone to be one; the kernel's own confusion


@dataclass(frozen=True, kw_only=True)
class Incline:
    """Least angle between a face and a direction [deg]; `tolerance` 0 means a closed form."""

    least: float
    tolerance: float
    at: Vector


@dataclass(frozen=True)
class Round:
    """n . d on a face of revolution: sign (cos v (a cos u + b sin u) + c sin v) over a box of u and v [rad]."""

    a: float
    b: float
    c: float
    sign: float
    u: tuple[float, float]
    v: tuple[float, float]

    def value(self, u: float, v: float) -> float:
        return self.sign * (math.cos(v) * (self.a * math.cos(u) + self.b * math.sin(u)) + self.c * math.sin(v))

    def least(self) -> tuple[float, float, float]:
        """The least value, and the u and v where it is; exact: ends and stationary points."""
        found = []
        turn = math.atan2(self.b, self.a)
        for u in (*self.u, *_within(turn, self.u)):
            lean = math.atan2(self.c, self.a * math.cos(u) + self.b * math.sin(u))
            for v in (*self.v, *_within(lean, self.v)):
                found.append((self.value(u, v), u, v))
        return min(found)


def _within(angle: float, span: tuple[float, float]) -> list[float]:
    """The values angle + k pi that lie in a range."""
    first = math.ceil((span[0] - angle) / math.pi)
    last = math.floor((span[1] - angle) / math.pi)
    return [angle + k * math.pi for k in range(first, last + 1)]


def incline(face: cq.Face, way: Vector, *, tolerance: float = 0.01) -> Incline:
    """The least of asin(n . d) over the face [deg].

    Closed forms give tolerance 0; other faces are bracketed to `tolerance` [deg] or as far as the budget goes, and the
    lower end is reported, so that a face is never called steeper than it is.
    """
    from OCP.BRepAdaptor import BRepAdaptor_Surface

    surface = BRepAdaptor_Surface(face.wrapped, True)
    kind = str(surface.GetType()).rsplit("_", 1)[-1]
    if kind == "Plane":
        return _constant(face, way)
    if kind in ("Cylinder", "Cone", "Sphere", "Torus"):
        whole = _round(face, surface, kind, way)
        if kind in ("Cylinder", "Cone") or _iso_trimmed(face):
            value, u, v = whole.least()
            return _exact(value, _point(surface, u, whole_v(surface, kind, v)))
        return _bracketed_round(face, surface, whole, tolerance)
    if _hidden(face, way):
        return _constant(face, way)
    from moldplan.check.bracket import least_on_patches

    return least_on_patches(face, way, tolerance)


def whole_v(surface: Any, kind: str, v: float) -> float:
    """The surface's own v where n's v is an angle; its middle where n does not depend on it."""
    if kind in ("Cylinder", "Cone"):
        return 0.5 * (surface.FirstVParameter() + surface.LastVParameter())
    return v


def _exact(value: float, at: Vector) -> Incline:
    return Incline(least=math.degrees(math.asin(max(-1.0, min(1.0, value)))), tolerance=0.0, at=at)


def _point(surface: Any, u: float, v: float) -> Vector:
    point = surface.Value(u, v)
    return (point.X(), point.Y(), point.Z())


def normal_at(face: cq.Face, u: float, v: float) -> tuple[Vector, Vector]:
    """Point [mm] and unit outward normal at a parameter pair; a zero normal at a pole, where there is none."""
    return normals_on(face)(u, v)


def normals_on(face: cq.Face) -> Callable[[float, float], tuple[Vector, Vector]]:
    """The same for many pairs on one face: getting a face ready takes longer than asking it."""
    from OCP.BRepGProp import BRepGProp_Face
    from OCP.gp import gp_Pnt, gp_Vec

    point, normal, ready = gp_Pnt(), gp_Vec(), BRepGProp_Face(face.wrapped)

    def there(u: float, v: float) -> tuple[Vector, Vector]:
        ready.Normal(u, v, point, normal)
        x, y, z = normal.X(), normal.Y(), normal.Z()
        size = normal.Magnitude()
        if size < POLE:
            return (point.X(), point.Y(), point.Z()), (0.0, 0.0, 0.0)
        return (point.X(), point.Y(), point.Z()), (x / size, y / size, z / size)

    return there


def dot(a: Vector, b: Vector) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def middle(face: cq.Face) -> tuple[float, float]:
    """The middle of the face's parameter box."""
    low_u, high_u, low_v, high_v = bounds(face)
    return (low_u + high_u) / 2, (low_v + high_v) / 2


def bounds(face: cq.Face) -> tuple[float, float, float, float]:
    """The trimmed parameter range: u from, u to, v from, v to."""
    from OCP.BRepTools import BRepTools

    return BRepTools.UVBounds_s(face.wrapped)


def _constant(face: cq.Face, way: Vector) -> Incline:
    """A face whose n . d is one number."""
    point, normal = normal_at(face, *middle(face))
    return _exact(dot(normal, way), point)


def _round(face: cq.Face, surface: Any, kind: str, way: Vector) -> Round:
    part = getattr(surface, kind)()
    axes = part.Position()
    x, y, z = (_direction(each) for each in (axes.XDirection(), axes.YDirection(), axes.Direction()))
    low_u, high_u, low_v, high_v = bounds(face)
    if kind == "Cylinder":
        span = (0.0, 0.0)
    elif kind == "Cone":
        span = (-part.SemiAngle(), -part.SemiAngle())
    else:
        span = (low_v, high_v)
    plain = Round(dot(x, way), dot(y, way), dot(z, way), 1.0, (low_u, high_u), span)
    u, v = middle(face)
    _, normal = normal_at(face, u, v)
    lean = span[0] if kind in ("Cylinder", "Cone") else v
    ours = tuple(math.cos(lean) * (math.cos(u) * a + math.sin(u) * b) + math.sin(lean) * c
                 for a, b, c in zip(x, y, z, strict=True))
    sign = 1.0 if dot((ours[0], ours[1], ours[2]), normal) > 0 else -1.0
    return Round(plain.a, plain.b, plain.c, sign, plain.u, plain.v)


def _direction(way: Any) -> Vector:
    return (way.X(), way.Y(), way.Z())


def _iso_trimmed(face: cq.Face) -> bool:
    """Whether the face fills its whole parameter box: every edge lies along u or along v, at an end of the box."""
    from OCP.BRepAdaptor import BRepAdaptor_Curve2d

    low_u, high_u, low_v, high_v = bounds(face)
    for edge in face.Edges():
        curve = BRepAdaptor_Curve2d(edge.wrapped, face.wrapped)
        first, last = curve.FirstParameter(), curve.LastParameter()
        points = [curve.Value(first + share * (last - first)) for share in (0.0, 0.37, 1.0)]
        for get, ends in (("X", (low_u, high_u)), ("Y", (low_v, high_v))):
            values = [getattr(point, get)() for point in points]
            if max(values) - min(values) < 1e-9 and min(abs(values[0] - end) for end in ends) < 1e-9:
                break
        else:
            return False
    return True


def _hidden(face: cq.Face, way: Vector) -> bool:
    """Whether n . d is constant: a plane, or a cylinder or cone along whose axis d points, in whatever dress."""
    from OCP.gp import gp_Cone, gp_Cylinder, gp_Pln
    from OCP.ShapeAnalysis import ShapeAnalysis_CanonicalRecognition

    seen = ShapeAnalysis_CanonicalRecognition(face.wrapped)
    if seen.IsPlane(SAME, gp_Pln()):
        return True
    for ask, form in ((seen.IsCylinder, gp_Cylinder()), (seen.IsCone, gp_Cone())):
        if ask(SAME, form):
            return abs(abs(dot(_direction(form.Axis().Direction()), way)) - 1.0) < 1e-12
    return False


def _bracketed_round(face: cq.Face, surface: Any, whole: Round, tolerance: float) -> Incline:
    """A sphere or torus cut obliquely: exact on every box of u and v, boxes outside the trimming dropped."""
    from moldplan.check.bracket import Boxed, least_over

    def lower(box: Boxed) -> float:
        u0, u1, v0, v1 = box
        return Round(whole.a, whole.b, whole.c, whole.sign, (u0, u1), (v0, v1)).least()[0]

    return least_over(face, lower, whole.value, lambda u, v: _point(surface, u, v), tolerance)
