"""Solids cut by a plane, as loops of lines and arcs in that plane; and faces cut by it, as curves.

In       a solid of the kernel, or faces of one, and a Plane in boat axes.
Out      loops [(x, y, bulge)] in the plane's own u, v [mm]; outer loops counter-clockwise, holes clockwise.
Not here drawing them (section.py).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from moldplan.report.drawing import Vertex
from moldplan.shape.body import Frame, Vector

if TYPE_CHECKING:
    import cadquery as cq

Loops = tuple[tuple[Vertex, ...], ...]


@dataclass(frozen=True)
class Plane:
    """A cutting plane: frame.x is u, frame.y is v, frame.z looks at the reader; and the window that is drawn [mm]."""

    frame: Frame
    low: tuple[float, float]
    high: tuple[float, float]

    def flat(self, point: Vector) -> tuple[float, float]:
        """A point of boat axes in u, v."""
        d = [p - o for p, o in zip(point, self.frame.origin, strict=True)]
        u, v = self.frame.x, self.frame.y
        return (sum(a * b for a, b in zip(d, u, strict=True)), sum(a * b for a, b in zip(d, v, strict=True)))

    def along(self, direction: Vector) -> tuple[float, float, float]:
        """A direction of boat axes in u, v and towards the reader."""
        axes = (self.frame.x, self.frame.y, self.frame.z)
        return tuple(sum(a * b for a, b in zip(direction, axis, strict=True)) for axis in axes)  # type: ignore[return-value]


def cut(solid: cq.Shape, plane: Plane) -> Loops:
    """Where the plane's window goes through the solid. Empty when it does not."""
    import cadquery as cq
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Common

    face = _window(plane)
    if not _touches(solid, face):
        return ()
    shared = cq.Shape.cast(BRepAlgoAPI_Common(face.wrapped, solid.wrapped).Shape())
    loops: list[tuple[Vertex, ...]] = []
    for part in shared.Faces():
        for k, wire in enumerate((part.outerWire(), *part.innerWires())):
            loop = _loop(wire, plane)
            if loop:
                loops.append(loop if (area_of(loop) > 0) == (k == 0) else reverse(loop))
    return tuple(loops)


def traces(faces: Iterable[cq.Face], plane: Plane) -> list[tuple[Vertex, ...]]:
    """Where the plane goes through faces: open chains, one for each edge of the cut."""
    import cadquery as cq
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Section

    window, found = _window(plane), []
    for face in faces:
        if _touches(face, window):
            edges = cq.Shape.cast(BRepAlgoAPI_Section(window.wrapped, face.wrapped).Shape()).Edges()
            found += [_chain(edge, plane, flip=False) for edge in edges]
    return sorted(found)


def area_of(loop: tuple[Vertex, ...]) -> float:
    """Signed area of a loop of lines and arcs, + counter-clockwise [mm2]."""
    total = 0.0
    for (x, y, bulge), (ex, ey, _) in zip(loop, (*loop[1:], loop[0]), strict=True):
        total += (x * ey - ex * y) / 2
        if bulge:
            sweep, chord = 4 * math.atan(bulge), math.hypot(ex - x, ey - y)
            radius = chord / (2 * math.sin(abs(sweep) / 2))
            total += math.copysign(radius**2 / 2 * (abs(sweep) - math.sin(abs(sweep))), bulge)
    return total


def reverse(loop: tuple[Vertex, ...]) -> tuple[Vertex, ...]:
    """The same loop walked the other way."""
    count = len(loop)
    return tuple((*loop[-i % count][:2], -loop[(-i - 1) % count][2]) for i in range(count))


def _window(plane: Plane) -> cq.Face:
    import cadquery as cq

    (a, b), (c, d) = plane.low, plane.high
    corners = [cq.Vector(*plane.frame.place((u, v, 0.0))) for u, v in ((a, b), (c, b), (c, d), (a, d))]
    return cq.Face.makeFromWires(cq.Wire.makePolygon(corners, close=True))


def _touches(one: cq.Shape, other: cq.Shape) -> bool:
    from OCP.Bnd import Bnd_Box
    from OCP.BRepBndLib import BRepBndLib

    boxes = (Bnd_Box(), Bnd_Box())
    for shape, box in zip((one, other), boxes, strict=True):
        BRepBndLib.Add_s(shape.wrapped, box, False)  # rough boxes, never too small: the wrapper's exact ones take 20 ms
    return not boxes[0].IsOut(boxes[1])


def _loop(wire: cq.Wire, plane: Plane) -> tuple[Vertex, ...]:
    import cadquery as cq
    from OCP.BRepTools import BRepTools_WireExplorer
    from OCP.TopAbs import TopAbs_Orientation

    walk, vertices = BRepTools_WireExplorer(wire.wrapped), []  # type: ignore[var-annotated]
    while walk.More():
        current = walk.Current()
        flip = current.Orientation() == TopAbs_Orientation.TopAbs_REVERSED
        vertices += _chain(cq.Edge(current), plane, flip=flip)[:-1]
        walk.Next()
    return tuple(vertices)


def _chain(edge: cq.Edge, plane: Plane, *, flip: bool) -> tuple[Vertex, ...]:
    """An edge as vertices, its end included: lines and circles exactly, other curves as chords within 0.01 mm."""
    start, end = (plane.flat(edge.positionAt(t).toTuple()) for t in (0.0, 1.0))
    kind = edge.geomType()
    if kind == "LINE":
        points: list[Vertex] = [(*start, 0.0), (*end, 0.0)]
    elif kind == "CIRCLE":
        points = _arcs(edge, plane)
    else:
        points = [(*plane.flat(p), 0.0) for p in _chords(edge)]
    return reverse_chain(points) if flip else tuple(points)


def _arcs(edge: cq.Edge, plane: Plane) -> list[Vertex]:
    """A circular edge in three pieces or fewer, each under half a turn."""
    turn = edge.Length() / edge.radius()
    count = max(1, math.ceil(turn / 2.2))
    spots = [plane.flat(edge.positionAt(k / count).toTuple()) for k in range(count + 1)]
    x, y = plane.flat(edge.positionAt(0.5 / count).toTuple())
    (ax, ay), (bx, by) = spots[0], spots[1]
    left = (bx - ax) * (y - ay) - (by - ay) * (x - ax)  # middle of the first piece left of its chord: clockwise
    bulge = math.tan(turn / count / 4) * (-1.0 if left > 0 else 1.0)
    return [(*spot, bulge if k < count else 0.0) for k, spot in enumerate(spots)]


def _chords(edge: cq.Edge) -> list[Any]:
    from OCP.BRepAdaptor import BRepAdaptor_Curve
    from OCP.GCPnts import GCPnts_QuasiUniformDeflection

    points = GCPnts_QuasiUniformDeflection(BRepAdaptor_Curve(edge.wrapped), 0.01)
    spots = [points.Value(i) for i in range(1, points.NbPoints() + 1)]
    return [(p.X(), p.Y(), p.Z()) for p in spots]


def reverse_chain(points: Iterable[Vertex]) -> tuple[Vertex, ...]:
    """An open chain walked the other way."""
    ordered = list(points)
    return tuple(
        (x, y, -ordered[k - 1][2] if k else 0.0) for k, (x, y, _) in reversed(list(enumerate(ordered)))
    )
