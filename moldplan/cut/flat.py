"""One body cut from sheet as flat outlines.

In       a Body whose frame's z is its sheet's normal.
Out      Flats: the outline to cut, what is sunk into it, what is marked on it, which face lies up.
Not here sections of solids (profile.py), the other face's outlines (far.py), numbering (outline.py).

What is cut is the shadow of the body on its sheet: of a drafted wall the larger outline, of a drafted opening the
smaller one; a rounded edge does not count. It is found on both faces and on level sections between them wherever the
walls are not square: one of these nearly always holds all others; where none does they are joined. The outlines of the
faces that differ from it are kept as `far`: marked, and dressed to. The face with the smaller outline is laid up, since
only there the mark is of use; recesses come first, since they are sunk from above, unless they are holes to be drilled.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from moldplan.cut.extent import holding, levels
from moldplan.cut.far import DIFFERS, among, differing, is_mouth, marked
from moldplan.cut.loop import area, faults, moved_outline, segments, tidied, wound
from moldplan.cut.piece import Loop, Outline, Step
from moldplan.cut.profile import ARC_TOLERANCE, Region, level_faces, polygon, real, region_of, section, united, upright
from moldplan.cut.shadow import STEP, shadow
from moldplan.cut.step import steps_of
from moldplan.cut.sunk import islands
from moldplan.cut.wedge import bevel_note, squared, wedge_note
from moldplan.cut.wire import runs_of
from moldplan.errors import GeometryError
from moldplan.shape.body import Body, loose_box

if TYPE_CHECKING:
    import cadquery as cq
    from shapely import LinearRing, Polygon

ROUND = 0.97  # a circle that fills so much of an opening is meant to be it; the rest is a groove's mouth
Span = tuple[float, float]  # lowest and highest level [mm]
STROKE = 0.01  # an outline that cannot be had in lines and arcs is drawn in strokes so near it [mm]
HAIR = 1e-4  # how far beside a height where the body changes a section is taken [mm]


@dataclass(frozen=True)
class Flat:
    """One flat shape of a body, before it is numbered."""

    outline: Outline
    up: Literal["face", "underside"]
    notes: tuple[str, ...] = ()
    steps: tuple[Step, ...] = ()


def flatten(body: Body, tolerance: float = ARC_TOLERANCE) -> tuple[Flat, ...]:
    """The body's flat shapes, one for each lump that its sheet falls into; see the module's text for what is cut.

    Curves come as arcs within `tolerance` [mm] of them.
    """
    solid = body.solid.moved(body.frame.location.inverse)
    low, high = levels(solid)
    box = loose_box(solid)
    reach = 2.5 * max(*(abs(v) for k, v in enumerate(box) if k % 3 < 2), 1.0)
    stack, ends = _stack(solid, (low, high), reach, tolerance)
    floors = _floors(solid, (low, high), reach, tolerance)
    notes = _height_notes(body, solid, (low, high))
    flats = []
    for lump in _merged([region.polygon for region in stack]):
        (outer, holes), said = _loops(body, lump, stack)
        flat = _flat((outer, _openings(outer, holes, ends)), lump, ends, floors, (*notes, *said))
        bevel = bevel_note(solid, turned=flat.up == "underside")
        flats.append(replace(flat, notes=(*flat.notes, bevel)) if bevel else flat)
    if not flats:
        raise GeometryError(f"{body.name}: it has no level section; is its frame's z square to the sheet?")
    return tuple(flats)


def _loops(
    body: Body, lump: Polygon, stack: Sequence[Region]
) -> tuple[tuple[Loop, tuple[Loop, ...]], tuple[str, ...]]:
    """A lump's outer loop and openings, and what is to be said of them."""
    loops = _pick(lump, stack)
    if loops is not None:
        return loops, ()
    loops = shadow(lump, stack)
    if loops is not None:
        return loops, (f"its outline is put together from that of several levels, within {STEP / 2:g} mm",)
    return _traced(body, lump), (f"its outline is in straight strokes, within {STROKE:g} mm of the true one",)


def _stack(
    solid: cq.Shape, span: Span, reach: float, tolerance: float
) -> tuple[list[Region], tuple[list[Region], list[Region]]]:
    """The regions of all heights looked at, and those of the lower and the upper face where these are level."""
    level, (bottom, top) = level_faces(solid), span
    lower = [(face, z) for z, way, face in level if z - bottom < 1e-4 and way < 0]
    upper = [(face, z) for z, way, face in level if top - z < 1e-4 and way > 0]
    tapered = not lower or not upper
    low, high = (_touching(real(_region(face, z, tapered, tolerance) for face, z in side)) for side in (lower, upper))
    held = {"low": low, "high": high, None: []}[holding(solid, bottom, top)]
    if held:
        return held, (low, high)
    stack = [*low, *high]
    if not (upright(solid) and all(min(abs(z - bottom), abs(z - top)) < 1e-4 for z, _, _ in level)):
        for z in _stations(solid, span):
            stack.extend(section(solid, z, reach, tolerance))
    return stack, (low, high)


def _region(face: cq.Face, z: float, tapered: bool, tolerance: float) -> Region:
    """A level face; of a sheet that is dressed to a taper, with its free curves squared off."""
    region = region_of(face, z, tolerance)
    loop = squared(runs_of(face.outerWire(), tolerance)) if tapered and len(region.outer.vertices) > 4 else None
    return region if loop is None else replace(region, outer=wound(loop, clockwise=False))


def _touching(regions: Iterable[Region]) -> list[Region]:
    """Regions of one level that share an edge, as one: a loft in two pieces has its face in two."""
    regions = list(regions)
    if len(regions) < 2:
        return regions
    joined = list(united(_faces(regions)))
    before, after = (sum(_net(r) for r in each) for each in (regions, joined))
    return joined if abs(after - before) < 1e-6 * before + DIFFERS**2 else regions


def _net(region: Region) -> float:
    """Area of a region [mm2]."""
    return abs(area(region.outer)) - sum(abs(area(hole)) for hole in region.holes)


def _stations(solid: cq.Shape, span: Span) -> list[float]:
    """Heights between the faces at which to look: beside each height where an edge ends, and midway between them."""
    heights = sorted({round(v.Z, 6) for v in solid.Vertices()} | {round(z, 6) for z in span})
    stations = []
    for low, high in zip(heights, heights[1:], strict=False):
        if high - low > 4 * HAIR:
            stations += [low + HAIR, (low + high) / 2, high - HAIR]
    return stations


def _height_notes(body: Body, solid: cq.Shape, span: Span) -> tuple[str, ...]:
    """What to say about a body that is not of its sheet's thickness. Raises GeometryError when it is thicker."""
    height = span[1] - span[0]
    thickness = body.thickness or height
    if height > thickness + 0.02:
        raise GeometryError(f"{body.name}: {height:.2f} mm high, yet cut from sheet of {thickness:.2f} mm")
    notes = []
    if height < thickness - 0.05:
        notes.append(f"brought from {thickness:.1f} to {height:.1f} mm thick after cutting")
    ways = {way for z, way, _ in level_faces(solid) if z - span[0] < 1e-4 or span[1] - z < 1e-4}
    for way, name in ((-1, "underside"), (1, "upper face")):
        if way not in ways:
            wedge = wedge_note(body, solid, span) if way > 0 else ""
            notes.append(f"{name} is not flat and level: shaped after cutting" + (f" ({wedge})" if wedge else ""))
    return tuple(notes)


def _merged(polygons: Iterable[Polygon]) -> list[Polygon]:
    """All sections laid on one another, as separate lumps without slivers, from left to right."""
    import shapely

    union = shapely.unary_union(list(polygons))
    lumps = [shapely.Polygon(lump.exterior, [ring for ring in lump.interiors if not _is_sliver(ring)])
             for lump in getattr(union, "geoms", [union]) if lump.area > DIFFERS**2]
    return sorted(lumps, key=lambda lump: (round(lump.bounds[0], 3), round(lump.bounds[1], 3)))


def _pick(lump: Polygon, stack: Sequence[Region]) -> tuple[Loop, tuple[Loop, ...]] | None:
    """The exact loops that bound a lump, taken from the regions; None when one of them is missing."""
    import shapely

    outer = _matching(shapely.Polygon(lump.exterior), [r.outer for r in stack], largest=True)
    if outer is None:
        return None
    holes = []
    for ring in lump.interiors:
        gap = shapely.Polygon(ring)
        hole = _matching(gap, [hole for r in stack for hole in r.holes], largest=False)
        hole = hole or _closed_circle(gap, stack)
        if hole is None:
            return None
        holes.append(hole)
    return outer, tuple(sorted(holes, key=lambda h: polygon(h).bounds))


def _traced(body: Body, lump: Polygon) -> tuple[Loop, tuple[Loop, ...]]:
    """The last resort: the lump's own corners. Raises GeometryError where even these are no sound outline."""

    plain = lump.simplify(STROKE / 2)
    loops = [wound(tidied(Loop(tuple((x, y, 0.0) for x, y in ring.coords[:-1]))), clockwise=number > 0)
             for number, ring in enumerate((plain.exterior, *plain.interiors))]
    for fault in (fault for loop in loops for fault in faults(loop)):
        raise GeometryError(f"{body.name}: no outline of lines and arcs holds its shadow ({fault})")
    return loops[0], tuple(loops[1:])


def _is_sliver(ring: LinearRing) -> bool:
    """A gap between two outlines that are one but for their chords."""
    import shapely

    return bool(shapely.Polygon(ring).buffer(-DIFFERS / 2).is_empty)


def _matching(shape: Polygon, loops: Iterable[Loop], *, largest: bool) -> Loop | None:
    """The loop that is the shape but for its chords; of several the largest, or the smallest."""
    near = []
    for loop in loops:
        other = polygon(loop)
        if shape.symmetric_difference(other).area <= DIFFERS / 5 * shape.length:
            near.append(loop)
    return max(near, key=lambda loop: abs(area(loop)) * (1 if largest else -1), default=None)


def _openings(
    outer: Loop, holes: Sequence[Loop], ends: tuple[Sequence[Region], Sequence[Region]]
) -> tuple[Loop, ...]:
    """The openings worth cutting: without those that slanting grooves leave by chance, and without grooves' mouths.

    Where grooves of both faces cross there is a gap too; it is small beside the waste it belongs to on either face,
    and is made with the grooves. A round opening that a groove widens on some levels is cut round.
    """
    whole = polygon(outer)
    kept = []
    for hole in holes:
        waste = [_waste_at(polygon(hole), whole, side) for side in ends if side]
        if waste and abs(area(hole)) < min(waste) / 2:
            continue
        circle = None if hole.circle is not None else _main_circle(hole)
        square = all(among(hole, [h for region in side for h in region.holes]) for side in ends)
        if circle is not None and not square and abs(area(circle)) >= ROUND * abs(area(hole)):
            hole = circle
        kept.append(hole)
    return tuple(kept)


def _waste_at(gap: Polygon, whole: Polygon, face: Sequence[Region]) -> float:
    """Area of the waste on one face that an opening belongs to [mm2]."""
    import shapely

    waste = whole.difference(shapely.unary_union([region.polygon for region in face]))
    parts = getattr(waste, "geoms", [waste])
    return float(sum(part.area for part in parts if part.intersects(gap.representative_point())))


def _closed_circle(gap: Polygon, stack: Sequence[Region]) -> Loop | None:
    """The circle of an opening that a groove breaks open on one level: of more than half a circle's arc, just inside.

    Nothing is cut that a section holds; what stays in the groove's mouth is dressed away with the groove.
    """
    best: Loop | None = None
    for loop in (loop for region in stack for loop in (region.outer, *region.holes)):
        circle = _main_circle(loop)
        if circle is None:
            continue
        shape = polygon(circle)
        inside = gap.buffer(0.02).covers(shape) and shape.area >= ROUND * gap.area
        if inside and (best is None or abs(area(circle)) > abs(area(best))):
            best = circle
    return best


def _main_circle(loop: Loop) -> Loop | None:
    """The circle that a loop runs along for more than half a turn, if there is one."""
    arcs = [s for s in segments(loop) if not s.straight]
    for s in arcs:
        same = [o for o in arcs if math.dist(o.centre, s.centre) < 1e-3 and abs(o.radius - s.radius) < 1e-3]
        if abs(sum(o.sweep for o in same)) > math.pi:
            return Loop(circle=(round(s.centre[0], 9), round(s.centre[1], 9), round(s.radius, 9)))
    return None


def _faces(stack: Sequence[Region]) -> list[cq.Face]:
    """Regions as flat faces again, to be joined by the kernel."""
    import cadquery as cq

    def wire(loop: Loop) -> cq.Wire:
        if loop.circle is not None:
            x, y, r = loop.circle
            return cq.Wire.makeCircle(r, cq.Vector(x, y, 0), cq.Vector(0, 0, 1))
        edges = []
        for s in segments(loop):
            a, m, b = (cq.Vector(*p, 0) for p in (s.start, s.middle, s.end))
            edges.append(cq.Edge.makeLine(a, b) if s.straight else cq.Edge.makeThreePointArc(a, m, b))
        return cq.Wire.assembleEdges(edges)

    return [cq.Face.makeFromWires(wire(r.outer), [wire(hole) for hole in r.holes]) for r in stack]


def _floors(
    solid: cq.Shape, span: Span, reach: float, tolerance: float
) -> tuple[list[tuple[Region, float]], list[tuple[Region, float]]]:
    """Level faces between the two big ones: floors of recesses from above and from below, with their depths."""
    above: list[tuple[Region, float]] = []
    below: list[tuple[Region, float]] = []
    for z, way, face in level_faces(solid):
        if span[0] + DIFFERS < z < span[1] - DIFFERS:
            region = _rounded_out(region_of(face, z, tolerance), solid, z + way * HAIR, reach)
            side, depth = (above, span[1] - z) if way > 0 else (below, z - span[0])
            side.append((region, round(depth, 5)))
    return (_ringed(above, solid, lambda depth: span[1] - depth + HAIR, reach),
            _ringed(below, solid, lambda depth: span[0] + depth - HAIR, reach))


def _ringed(
    side: Sequence[tuple[Region, float]], solid: cq.Shape, beside: Callable[[float], float], reach: float
) -> list[tuple[Region, float]]:
    """Floors with the islands in them, and without parts of a floor that another, rounded out, holds."""
    found: list[tuple[Region, float]] = []
    for floor, depth in side:
        others = [other for other, deep in side if deep == depth and _net(other) > _net(floor)]
        if not any(other.polygon.buffer(DIFFERS).covers(floor.polygon) for other in others):
            found += [(one, depth) for one in (floor, *_standing(floor, solid, beside(depth), reach))]
    return found


def _standing(floor: Region, solid: cq.Shape, beside: float, reach: float) -> list[Region]:
    """What stands up from within a floor, and is not sunk with it."""
    if not floor.holes:
        return []
    within = polygon(floor.outer).buffer(-DIFFERS)
    return [one for one in section(solid, beside, reach) if within.covers(one.polygon)]


def _rounded_out(floor: Region, solid: cq.Shape, beside: float, reach: float) -> Region:
    """A round floor that a deeper groove bites into, as the whole circle where there is nothing to cut above it."""
    circle = None if floor.outer.circle is not None else _main_circle(floor.outer)
    if circle is None:
        return floor
    shape = polygon(circle)
    stands = sum(shape.intersection(region.polygon).area for region in section(solid, beside, reach))
    beyond = floor.polygon.difference(shape).area  # the groove's own floor, where it lies as high
    clear = stands < DIFFERS / 5 * shape.length and beyond < (1 - ROUND) * shape.area
    return replace(floor, outer=circle) if clear else floor


def _drafted(side: tuple[list[Loop], list[Loop]], sunk: Sequence[tuple[Loop, float]]) -> bool:
    """Whether a face has an outline to dress to, besides the mouths of what is sunk in it."""
    return bool(side[0]) or not all(is_mouth(hole, [loop for loop, _ in sunk]) for hole in side[1])


def _flat(
    loops: tuple[Loop, tuple[Loop, ...]],
    lump: Polygon,
    ends: tuple[list[Region], list[Region]],
    floors: tuple[list[tuple[Region, float]], list[tuple[Region, float]]],
    notes: tuple[str, ...],
) -> Flat:
    outer, holes = loops
    above, below = ([(r.outer, depth) for r, depth in side if lump.intersects(r.polygon)] for side in floors)
    low, high = (differing(lump, side, outer, holes) for side in ends)
    steps = steps_of(outer, holes, ends, ([loop for loop, _ in below], [loop for loop, _ in above]))
    lower, upper = _drafted(low, below), _drafted(high, above)
    up: Literal["face", "underside"] = "face"
    # holes from below are drilled by hand as well as not: the face with the mark, or the shaped one, lies up
    drilled = not lower and (upper or not ends[1]) and all(loop.circle is not None for loop, _ in below)
    if not above and ((below and not drilled) or (lower and not upper)):
        up = "underside"
        above, below = below, above
    elif above and lower and not upper:
        notes = (*notes, "the line to dress to is that of the face that lies down")
    far, by_hand = marked(low, high, holes, [loop for loop, _ in (*above, *below)])
    if by_hand:
        notes = (*notes, "has an opening that is not square through the sheet: marked, made by hand")
    ringed = [one for island in islands(above) for one in above if one[1] == island[1]]  # these are no plain bores
    outline = Outline(
        outer=outer,
        holes=holes,
        far=far,
        bores=tuple(bore for bore in above if bore[0].circle is not None and bore not in ringed),
        sinks=tuple(sink for sink in above if sink[0].circle is None or sink in ringed),
        under=tuple(below),
    )
    return Flat(moved_outline(outline, mirrored=True) if up == "underside" else outline, up, notes, steps)
