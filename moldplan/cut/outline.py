"""Bodies cut from sheet as flat pieces, numbered, equal ones counted together.

In       the assembly, the stocks, the cutter.
Out      Pieces: outlines in the body's own axes (x along frame.x, y = z cross x; seen from the side that lies up).
Not here sections of solids (profile.py), reliefs (relief.py), placing (nest.py).

What is cut is the shadow of the body on its sheet: of a drafted wall the larger outline, of a drafted opening the
smaller one; a rounded edge does not count. It is found on both faces and on level sections between them wherever the
walls are not square: one of these nearly always holds all others; where none does they are joined. The outlines of the
faces that differ from it are kept as `far`: marked, and dressed to. The face with the smaller outline is laid up, since
only there the mark is of use; recesses come first, since they are sunk from above.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from moldplan.cut.fits import refuse_oversize
from moldplan.cut.loop import area, faults, length, moved_outline, outline_area, segments, tidied
from moldplan.cut.piece import Loop, Outline, Piece
from moldplan.cut.profile import Region, level_faces, polygon, region_of, section, united, upright
from moldplan.cut.relief import relieved
from moldplan.cut.same import same_turned
from moldplan.cut.segment import Segment, from_point
from moldplan.errors import GeometryError
from moldplan.material.stock import Stock
from moldplan.shape.assembly import Assembly
from moldplan.shape.body import Body
from moldplan.spec.model import Cutter

if TYPE_CHECKING:
    import cadquery as cq
    from shapely import Polygon

DIFFERS = 0.05  # outlines nearer than this are one [mm]
HAIR = 1e-4  # how far beside a height where the body changes a section is taken [mm]


@dataclass(frozen=True)
class Flat:
    """One flat shape of a body, before it is numbered."""

    outline: Outline
    up: Literal["face", "underside"]
    notes: tuple[str, ...] = ()


def pieces(assembly: Assembly, stocks: Mapping[str, Stock], cutter: Cutter) -> tuple[Piece, ...]:
    """Every piece to cut, in the order of the bodies, equal ones merged into a quantity.

    Pieces are equal when one can be turned onto the other (by half a turn only where the stock has a grain); a
    mirrored one is another piece. Raises GeometryError when a body cannot be flattened, SpecFault for a piece that is
    larger than every sheet of its stock.
    """
    found: list[Piece] = []
    for body in assembly.bodies.values():
        if body.stock is None:
            continue
        flats = flatten(body)
        for index, flat in enumerate(flats):
            piece = _piece(body, flat, stocks[body.stock], cutter)
            if len(flats) > 1:
                piece = replace(piece, notes=(*piece.notes, f"part {index + 1} of {len(flats)} of {body.name}"))
            _count(found, piece)
    numbered = tuple(replace(piece, id=f"P{number}") for number, piece in enumerate(found, 1))
    refuse_oversize(numbered, stocks, cutter)
    return numbered


def _piece(body: Body, flat: Flat, stock: Stock, cutter: Cutter) -> Piece:
    outline = flat.outline
    return Piece(
        id="",
        body=body.name,
        part=body.part,
        path=body.path,
        stock=body.stock or "",
        thickness=body.thickness or stock.true_thickness,
        outline=outline,
        cut=relieved(outline, radius=cutter.diameter / 2, style=cutter.corner_relief).outline,
        area=outline_area(outline),
        outline_length=sum(length(loop) for loop in (outline.outer, *outline.holes)),
        hand=body.hand,
        grain=stock.grain,
        notes=(*body.notes, *flat.notes),
        bodies=(body.name,),
        up=flat.up,
        forward=_forward(body, flat.up),
    )


def _forward(body: Body, up: str) -> float | None:
    """Where the bow is in the outline's axes [deg]; None when it is nearly square to the sheet."""
    x, y = body.frame.x[0], body.frame.y[0]
    if math.hypot(x, y) < 0.5:
        return None
    return math.degrees(math.atan2(y, -x if up == "underside" else x)) % 360


def _count(found: list[Piece], piece: Piece) -> None:
    """Adds a piece to the list, or one more to its equal there."""
    for index, other in enumerate(found):
        if (other.stock, other.up) != (piece.stock, piece.up) or abs(other.thickness - piece.thickness) > 1e-6:
            continue
        turn = same_turned(piece.outline, other.outline, turns=(0.0, 180.0) if piece.grain else None)
        if turn is None:
            continue
        bow = None if piece.forward is None else (piece.forward + turn) % 360
        agree = bow is not None and other.forward is not None and abs((bow - other.forward + 180) % 360 - 180) < 1
        found[index] = replace(
            other,
            quantity=other.quantity + 1,
            hand=other.hand if other.hand == piece.hand else None,
            bodies=(*other.bodies, *piece.bodies),
            forward=other.forward if agree else None,
            notes=tuple(dict.fromkeys((*other.notes, *piece.notes))),
        )
        return
    found.append(piece)


def flatten(body: Body) -> tuple[Flat, ...]:
    """The body's flat shapes, one for each lump that its sheet falls into; see the module's text for what is cut."""
    solid = body.solid.moved(body.frame.location.inverse)
    box = solid.BoundingBox(1e-4)
    reach = 2.5 * max(abs(v) for v in (box.xmin, box.xmax, box.ymin, box.ymax, 1.0))
    stack, ends = _stack(solid, box, reach)
    floors = _floors(solid, box, reach)
    notes = _height_notes(body, solid, box)
    joined: tuple[Region, ...] = ()
    flats = []
    for lump in _merged([region.polygon for region in stack]):
        loops = _pick(lump, stack)
        if loops is None:
            joined = joined or united(_faces(_unlike(stack)))
            loops = _pick(lump, joined)
        if loops is None:
            raise GeometryError(f"{body.name}: no outline of lines and arcs holds its shadow")
        flats.append(_flat(loops, lump, ends, floors, notes))
    if not flats:
        raise GeometryError(f"{body.name}: it has no level section; is its frame's z square to the sheet?")
    return tuple(flats)


def _stack(
    solid: cq.Shape, box: cq.BoundBox, reach: float
) -> tuple[list[Region], tuple[list[Region], list[Region]]]:
    """The regions of all heights looked at, and those of the lower and the upper face where these are level."""
    level = level_faces(solid)

    low = [region_of(face, z) for z, way, face in level if z - box.zmin < 1e-4 and way < 0]
    high = [region_of(face, z) for z, way, face in level if box.zmax - z < 1e-4 and way > 0]
    stack = [*low, *high]
    if not (upright(solid) and all(min(abs(z - box.zmin), abs(z - box.zmax)) < 1e-4 for z, _, _ in level)):
        for z in _stations(solid, box):
            stack.extend(section(solid, z, reach))
    return stack, (low, high)


def _stations(solid: cq.Shape, box: cq.BoundBox) -> list[float]:
    """Heights between the faces at which to look: beside each height where an edge ends, and midway between them."""
    heights = sorted({round(v.Z, 6) for v in solid.Vertices()} | {round(box.zmin, 6), round(box.zmax, 6)})
    stations = []
    for low, high in zip(heights, heights[1:], strict=False):
        if high - low > 4 * HAIR:
            stations += [low + HAIR, (low + high) / 2, high - HAIR]
    return stations


def _height_notes(body: Body, solid: cq.Shape, box: cq.BoundBox) -> tuple[str, ...]:
    """What to say about a body that is not of its sheet's thickness. Raises GeometryError when it is thicker."""
    height = box.zmax - box.zmin
    thickness = body.thickness or height
    if height > thickness + 0.02:
        raise GeometryError(f"{body.name}: {height:.2f} mm high, yet cut from sheet of {thickness:.2f} mm")
    notes = []
    if height < thickness - 0.05:
        notes.append(f"brought from {thickness:.1f} to {height:.1f} mm thick after cutting")
    ways = {way for z, way, _ in level_faces(solid) if z - box.zmin < 1e-4 or box.zmax - z < 1e-4}
    for way, name in ((-1, "underside"), (1, "upper face")):
        if way not in ways:
            notes.append(f"{name} is not flat and level: shaped after cutting")
    return tuple(notes)


def _merged(polygons: Iterable[Polygon]) -> list[Polygon]:
    """All sections laid on one another, as separate lumps without slivers, from left to right."""
    import shapely

    union = shapely.unary_union(list(polygons))
    lumps = [lump for lump in getattr(union, "geoms", [union]) if lump.area > DIFFERS**2]
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
        if gap.buffer(-DIFFERS / 2).is_empty:
            continue  # between two outlines that are one but for their chords
        hole = _matching(gap, [hole for r in stack for hole in r.holes], largest=False)
        hole = hole or _closed_circle(gap, stack)
        if hole is None:
            return None
        holes.append(hole)
    return outer, tuple(sorted(holes, key=lambda h: polygon(h).bounds))


def _matching(shape: Polygon, loops: Iterable[Loop], *, largest: bool) -> Loop | None:
    """The loop that is the shape but for its chords; of several the largest, or the smallest."""
    near = []
    for loop in loops:
        other = polygon(loop)
        if shape.symmetric_difference(other).area <= DIFFERS / 5 * shape.length:
            near.append(loop)
    return max(near, key=lambda loop: abs(area(loop)) * (1 if largest else -1), default=None)


def _closed_circle(gap: Polygon, stack: Sequence[Region]) -> Loop | None:
    """The circle of an opening that a groove breaks open on one level: of more than half a circle's arc, just inside.

    Nothing is cut that a section holds; what stays in the groove's mouth, a millimetre at most, is dressed away.
    """
    import shapely

    best: Loop | None = None
    for loop in (loop for region in stack for loop in (region.outer, *region.holes)):
        circle = _main_circle(loop)
        if circle is None:
            continue
        shape = polygon(circle)
        inside = gap.buffer(0.02).covers(shape) and shapely.hausdorff_distance(shape, gap) <= 1.0
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


def _unlike(stack: Sequence[Region]) -> list[Region]:
    """Regions without those that hardly differ from one kept before: faces that nearly meet confuse the kernel."""
    kept: list[Region] = []
    for region in stack:
        shape = region.polygon
        if all(shape.symmetric_difference(k.polygon).area > DIFFERS * shape.length for k in kept):
            kept.append(region)
    return kept


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
    solid: cq.Shape, box: cq.BoundBox, reach: float
) -> tuple[list[tuple[Region, float]], list[tuple[Region, float]]]:
    """Level faces between the two big ones: floors of recesses from above and from below, with their depths."""
    above, below = [], []
    for z, way, face in level_faces(solid):
        if box.zmin + DIFFERS < z < box.zmax - DIFFERS:
            region = _rounded_out(region_of(face, z), solid, z + way * HAIR, reach)
            if way > 0:
                above.append((region, box.zmax - z))
            else:
                below.append((region, z - box.zmin))
    return above, below


def _rounded_out(floor: Region, solid: cq.Shape, beside: float, reach: float) -> Region:
    """A round floor that a deeper groove bites into, as the whole circle where there is nothing to cut above it."""
    circle = None if floor.outer.circle is not None else _main_circle(floor.outer)
    if circle is None:
        return floor
    shape = polygon(circle)
    stands = sum(shape.intersection(region.polygon).area for region in section(solid, beside, reach))
    clear = stands < DIFFERS / 5 * shape.length and floor.polygon.within(shape.buffer(DIFFERS))
    return replace(floor, outer=circle) if clear else floor


def _flat(
    loops: tuple[Loop, tuple[Loop, ...]],
    lump: Polygon,
    ends: tuple[list[Region], list[Region]],
    floors: tuple[list[tuple[Region, float]], list[tuple[Region, float]]],
    notes: tuple[str, ...],
) -> Flat:
    outer, holes = loops
    above, below = ([(r.outer, depth) for r, depth in side if lump.intersects(r.polygon)] for side in floors)
    low, high = (_differing(lump, side, outer, holes) for side in ends)
    up: Literal["face", "underside"] = "face"
    if not above and (below or (any(low) and not any(high))):
        up = "underside"
        above, below = below, above
    far, by_hand = _far(low, high, holes, [loop for loop, _ in (*above, *below)])
    if by_hand:
        notes = (*notes, "has an opening that is not square through the sheet: marked, made by hand")
    outline = Outline(
        outer=outer,
        holes=holes,
        far=far,
        bores=tuple((loop, depth) for loop, depth in above if loop.circle is not None),
        sinks=tuple((loop, depth) for loop, depth in above if loop.circle is None),
        under=tuple(below),
    )
    return Flat(moved_outline(outline, mirrored=True) if up == "underside" else outline, up, notes)


def _differing(
    lump: Polygon, side: Sequence[Region], outer: Loop, holes: Sequence[Loop]
) -> tuple[list[Loop], list[Loop]]:
    """Outer loops and openings of one face, within a lump, that are not the loops that are cut."""
    cut = [outer, *holes]
    inside = [region for region in side if region.polygon.representative_point().within(lump)]
    outers = [part for region in inside if not _among(region.outer, cut) for part in _beside(region.outer, cut)]
    return (outers, [hole for region in inside for hole in region.holes if not _among(hole, cut)])


def _beside(loop: Loop, cut: Sequence[Loop]) -> list[Loop]:
    """The parts of a face's outline that lie apart from the cut, each closed straight: a line is not drawn twice."""
    lines = [s for other in cut for s in segments(other)]
    walk = segments(loop)
    apart = [min(from_point(line, s.middle) for line in lines) > DIFFERS for s in walk]
    if all(apart):
        return [loop]
    first = apart.index(False)
    runs: list[list[Segment]] = [[]]
    for index in range(first, first + len(walk)):
        if apart[index % len(walk)]:
            runs[-1].append(walk[index % len(walk)])
        elif runs[-1]:
            runs.append([])
    closed = [_closed(run) for run in runs if run]
    if any(abs(area(part)) < DIFFERS * length(part) for part in closed):
        closed = [_closed([s for run in runs for s in run])]  # the sides of a groove, each a line by itself
    return closed if not any(map(faults, closed)) else [loop]


def _closed(run: Sequence[Segment]) -> Loop:
    """Segments one after the other, joined by straight lines where they do not meet, and closed."""
    corners: list[tuple[float, float, float]] = []
    for index, s in enumerate(run):
        corners.append((*s.start, s.bulge))
        if math.dist(s.end, run[(index + 1) % len(run)].start) > 1e-6:
            corners.append((*s.end, 0.0))
    return tidied(Loop(tuple(corners)))


def _among(loop: Loop, others: Iterable[Loop], within: float = DIFFERS) -> bool:
    shape = polygon(loop)
    return any(shape.hausdorff_distance(polygon(other)) <= within for other in others)


def _far(
    low: tuple[list[Loop], list[Loop]], high: tuple[list[Loop], list[Loop]], holes: Sequence[Loop],
    sunk: Sequence[Loop],
) -> tuple[tuple[Loop, ...], bool]:
    """The loops to mark, each once, and whether one of them is an opening that no cut square to the sheet makes."""
    kept: list[Loop] = []
    by_hand = False
    inner = [polygon(loop).representative_point() for loop in (*holes, *sunk)]
    for loop in (*low[0], *high[0]):
        if not _among(loop, kept, 0.01):
            kept.append(loop)
    for loop in (*low[1], *high[1]):
        if _among(loop, [*kept, *sunk], 0.01):
            continue  # marked already, or the mouth of a recess with upright walls
        kept.append(loop)
        by_hand = by_hand or not any(polygon(loop).contains(point) for point in inner)
    return tuple(kept), by_hand
