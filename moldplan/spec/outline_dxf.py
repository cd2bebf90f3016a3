"""One closed outline of lines and arcs out of a DXF drawing.

In       the bytes of a DXF file; the layer to read; millimetres to a unit where the file names none.
Out      corners in order, each with a point its arriving edge passes where that edge is an arc.
Not here which file (outline_file.py), what the corners are for (sole.py).

Lines, arcs and polylines may be drawn in any order and either way round: they are joined at ends that meet within
JOIN. Curves of other kinds are refused, since a sole is cut along what is read here, and an approximation would have
to be answered for.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from moldplan.spec.mistakes import nearest

if TYPE_CHECKING:
    from ezdxf.document import Drawing

Point = tuple[float, float]
Corners = tuple[dict[str, list[float]], ...]

JOIN = 0.05  # mm; ends nearer than that are one corner: a tenth of what a saw leaves
LARGEST_SWEEP = math.radians(170)  # an arc through three points is sure up to half a turn
WORDS = frozenset(("TEXT", "MTEXT", "DIMENSION", "LEADER", "MULTILEADER", "POINT", "ATTDEF", "VIEWPORT"))
CURVES = {"SPLINE": "splines", "ELLIPSE": "ellipses", "HELIX": "helices"}


class Misdrawn(Exception):
    """What is wrong with an outline's file. `line` of the file, or `field` of the spec, where one is to blame."""

    def __init__(self, allowed: str, why: str, *, line: int = 0, value: object = None, field: str = ""):
        self.allowed, self.why, self.line, self.value, self.field = allowed, why, line, value, field
        super().__init__(f"allowed {allowed}, because {why}")


@dataclass(frozen=True)
class Edge:
    """A line, or an arc through a middle point [mm]."""

    start: Point
    end: Point
    middle: Point | None = None
    layer: str = ""

    def reversed(self) -> Edge:
        return Edge(self.end, self.start, self.middle, self.layer)


def corners(raw: bytes, layer: str | None, scale: float | None) -> tuple[Corners, str]:
    """The corners of the one outline in a drawing [mm], and a caution or "". Raises Misdrawn."""
    drawing = _opened(raw)
    factor, caution = _factor(drawing, scale)
    edges = [_scaled(edge, factor) for entity in _entities(drawing, layer) for edge in _edges(entity)]
    edges = [edge for edge in edges if edge.middle is not None or math.dist(edge.start, edge.end) > JOIN]
    if not edges:
        kinds = "lines and arcs that close"
        raise Misdrawn(kinds, f"layer {layer!r} holds none" if layer else "its model space holds none")
    walk = _chained(edges)
    while len(walk) < 3 and any(edge.middle for edge in walk):
        walk = [half for edge in walk for half in _halved(edge)]
    found = tuple({"at": list(edge.end), **({"through": list(edge.middle)} if edge.middle else {})} for edge in walk)
    return found, caution


def _opened(raw: bytes) -> Drawing:
    from ezdxf import recover
    from ezdxf.lldxf.const import DXFError

    try:
        drawing, _ = recover.read(io.BytesIO(raw))
    except (DXFError, ValueError, LookupError, TypeError, AttributeError) as error:
        said = " ".join(str(error).split())[:80]
        raise Misdrawn("a DXF drawing in its text form", f"it cannot be read as one ({said})") from None
    return drawing


def _factor(drawing: Drawing, scale: float | None) -> tuple[float, str]:
    """Millimetres to a unit of the drawing, and a caution where the spec's own scale goes against what it says."""
    from ezdxf import units

    code = drawing.header.get("$INSUNITS", 0)
    try:
        named = units.InsertUnits(code)
        factor = 1 / units.conversion_factor(units.InsertUnits.Millimeters, named) if code else 0.0
    except (ValueError, TypeError, IndexError, KeyError):
        factor = 0.0
    if not factor and scale is None:
        raise Misdrawn("a scale beside it: 1 for mm, 25.4 for inches",
                       "the drawing does not say its units ($INSUNITS)")
    if factor and scale is not None and abs(scale - factor) > 1e-6 * factor:
        # not refused: some programs write a unit without being asked
        return scale, (f"the drawing says that its units are {named.name.lower()} ($INSUNITS {code}), {factor:g} mm "
                       f"each; it was read with scale {scale:g} as the spec says")
    return scale if scale is not None else factor, ""


def _entities(drawing: Drawing, layer: str | None) -> Iterator[Any]:
    """What is drawn on the layer, words left out. Raises Misdrawn for a layer that is not there."""
    drawn = list(drawing.modelspace())
    if layer is not None:
        names = sorted({each.dxf.layer for each in drawn})
        if layer.lower() not in [name.lower() for name in names]:
            raise Misdrawn(nearest(layer, names), "nothing is drawn on a layer of that name", field="layer")
        drawn = [each for each in drawn if each.dxf.layer.lower() == layer.lower()]
    return (each for each in drawn if each.dxftype() not in WORDS)


def _edges(entity: Any) -> Iterator[Edge]:
    """One drawn thing as lines and arcs, in the drawing's units."""
    kind, layer = entity.dxftype(), entity.dxf.layer
    if kind in CURVES:
        raise Misdrawn("lines and arcs", f"{CURVES[kind]} are drawn on layer {layer!r}; have the drawing program turn "
                       "them into arcs, or give points in a CSV file")
    if kind not in ("LINE", "ARC", "CIRCLE", "LWPOLYLINE", "POLYLINE"):
        hint = "; resolve blocks first" if kind == "INSERT" else ""
        raise Misdrawn("lines, arcs and polylines only", f"{kind} is drawn on layer {layer!r}{hint}")
    if entity.dxf.hasattr("extrusion") and entity.dxf.extrusion.z < 1 - 1e-9 and kind != "LINE":
        raise Misdrawn("a plan drawn from above", f"{kind} on layer {layer!r} is drawn from another side")
    if kind == "LINE":
        yield Edge(_xy(entity.dxf.start), _xy(entity.dxf.end), None, layer)
    elif kind in ("ARC", "CIRCLE"):
        yield from _round(entity, layer)
    else:
        yield from _polyline(entity, layer)


def _round(entity: Any, layer: str) -> Iterator[Edge]:
    centre, radius = _xy(entity.dxf.centre if entity.dxf.hasattr("centre") else entity.dxf.center), entity.dxf.radius
    first, sweep = 0.0, 360.0
    if entity.dxftype() == "ARC":
        first = entity.dxf.start_angle
        sweep = (entity.dxf.end_angle - first) % 360 or 360.0
    count = math.ceil(math.radians(sweep) / LARGEST_SWEEP)

    def at(angle: float) -> Point:
        return (centre[0] + radius * math.cos(math.radians(angle)), centre[1] + radius * math.sin(math.radians(angle)))

    for k in range(count):
        a, b = (first + sweep * share / count for share in (k, k + 1))
        yield Edge(at(a), at(b), at((a + b) / 2), layer)


def _polyline(entity: Any, layer: str) -> Iterator[Edge]:
    if entity.dxftype() == "POLYLINE":
        if not entity.is_2d_polyline or entity.dxf.flags & 6:
            raise Misdrawn("lines and arcs in one plane", f"POLYLINE on layer {layer!r} is a curve in space, a mesh "
                           "or smoothed")
        points = [(*_xy(vertex.dxf.location), vertex.dxf.bulge) for vertex in entity.vertices]
        closed = entity.is_closed
    else:
        points, closed = [tuple(each) for each in entity.get_points("xyb")], entity.closed
    for here, after in zip(points, [*points[1:], points[0]] if closed else points[1:], strict=False):
        yield from _bulged(here[:2], after[:2], here[2], layer)


def _bulged(start: Point, end: Point, bulge: float, layer: str) -> Iterator[Edge]:
    """A polyline's segment; bulge = tan of a quarter of its sweep, counter-clockwise positive."""
    if abs(bulge) < 1e-9:
        yield Edge(start, end, None, layer)
        return
    (ax, ay), (bx, by) = start, end
    middle = ((ax + bx) / 2 + (by - ay) * bulge / 2, (ay + by) / 2 - (bx - ax) * bulge / 2)
    whole = Edge(start, end, middle, layer)
    yield from (_halved(whole) if abs(4 * math.atan(bulge)) > LARGEST_SWEEP else (whole,))


def _halved(edge: Edge) -> Iterator[Edge]:
    """An edge as two."""
    if edge.middle is None:
        half = ((edge.start[0] + edge.end[0]) / 2, (edge.start[1] + edge.end[1]) / 2)
        yield from (Edge(edge.start, half, None, edge.layer), Edge(half, edge.end, None, edge.layer))
        return
    cx, cy = _centre(edge.start, edge.middle, edge.end)
    for a, b in ((edge.start, edge.middle), (edge.middle, edge.end)):
        mx, my = (a[0] + b[0]) / 2 - cx, (a[1] + b[1]) / 2 - cy
        stretch = math.dist(a, (cx, cy)) / math.hypot(mx, my)
        yield Edge(a, b, (cx + mx * stretch, cy + my * stretch), edge.layer)


def _centre(a: Point, m: Point, b: Point) -> Point:
    """Centre of the circle through three points."""
    (ux, uy), (vx, vy) = ((p[0] - m[0], p[1] - m[1]) for p in (a, b))
    double, uu, vv = 2 * (ux * vy - uy * vx), ux * ux + uy * uy, vx * vx + vy * vy
    return m[0] + (vy * uu - uy * vv) / double, m[1] + (ux * vv - vx * uu) / double


def _xy(point: Any) -> Point:
    return (float(point[0]), float(point[1]))


def _scaled(edge: Edge, by: float) -> Edge:
    def go(point: Point) -> Point:
        return (point[0] * by, point[1] * by)

    return Edge(go(edge.start), go(edge.end), go(edge.middle) if edge.middle else None, edge.layer)


def _chained(edges: list[Edge]) -> list[Edge]:
    """All edges end to end, once round. Raises Misdrawn where they do not make one closed outline."""
    ends = _meetings(edges)
    walk, left = [edges[0]], set(range(1, len(edges)))
    here = ends[0][1]
    while here != ends[0][0]:
        onward = next((k for k in sorted(left) if here in ends[k]), None)
        if onward is None:
            raise Misdrawn("one closed outline", _open_at(walk[-1].end, [edges[k] for k in left] or [walk[0]]))
        left.discard(onward)
        forward = ends[onward][0] == here
        edge = edges[onward] if forward else edges[onward].reversed()
        walk.append(Edge(walk[-1].end, edge.end, edge.middle, edge.layer))
        here = ends[onward][1 if forward else 0]
    if left:
        layers = sorted({edge.layer for edge in edges})
        more = f"; name one of its layers: {', '.join(layers[:8])}" if len(layers) > 1 else ""
        where = edges[min(left)].start
        raise Misdrawn("one closed outline", f"more is drawn beside it, at {_spot(where)}{more}")
    closing = walk[0]
    walk[0] = Edge(walk[-1].end, closing.end, closing.middle, closing.layer)
    return walk


def _meetings(edges: list[Edge]) -> list[tuple[int, int]]:
    """For each edge the numbers of the corners at its start and its end; ends within JOIN share a number."""
    spots: list[Point] = []
    met: list[int] = []
    grid: dict[tuple[int, int], list[int]] = {}

    def number(point: Point) -> int:
        cell = (math.floor(point[0] / JOIN), math.floor(point[1] / JOIN))
        for near in ((cell[0] + i, cell[1] + j) for i in (-1, 0, 1) for j in (-1, 0, 1)):
            for index in grid.get(near, ()):
                if math.dist(spots[index], point) <= JOIN:
                    met[index] += 1
                    return index
        grid.setdefault(cell, []).append(len(spots))
        spots.append(point)
        met.append(1)
        return len(spots) - 1

    found = [(number(edge.start), number(edge.end)) for edge in edges]
    crowd = next((k for k, count in enumerate(met) if count > 2), None)
    if crowd is not None:
        raise Misdrawn("one closed outline, each edge drawn once",
                       f"{met[crowd]} ends meet at {_spot(spots[crowd])}")
    return found


def _open_at(end: Point, others: Iterable[Edge]) -> str:
    """Where an outline is open, and by how much."""
    near = min((p for edge in others for p in (edge.start, edge.end)), key=lambda p: math.dist(p, end))
    return f"it is open at {_spot(end)}; the nearest other end is {math.dist(near, end):.2f} mm away"


def _spot(point: Point) -> str:
    return f"{point[0]:.1f}, {point[1]:.1f} mm"
