"""A body as two sets of flat frames that cross at right angles, each slit to half its height at every crossing.

In       a Shaped in its own axes (z up, the way the second set slides down); where the frames stand, how thick each
         set's sheet is as measured, the play in the slits; how thick the covering over them is.
Out      within(): the body less its covering. frames(): one Piece a frame, in the body's own axes.
Not here what the covering is made of, flattening (cut/flat.py), whether too little height is left (check/).

The covering's thickness is normal to the surface, so it is taken off the solid: an outline moved inward in its own
plane would be wrong wherever the surface leans towards that plane. A frame's outline is what all sections through its
thickness share, so that nothing stands proud of a surface that leans across the frame.
The frames along stand first, slit from above; those across slide down, slit from below.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import TYPE_CHECKING, Literal

from moldplan.errors import GeometryError
from moldplan.shape.body import Frame, Shaped, Vector, block

if TYPE_CHECKING:
    import cadquery as cq

BEYOND = 10.0  # mm that a cutting tool reaches past the body
LEAST = 1e-3  # mm, a crossing lower than that is none: the kernel's noise
OFF = 0.005  # mm that a body's distance from its covering's outside may be off
ACROSS = 4  # places each way at which a covered face is asked
SHAVING = 0.5  # mm3, what may stand proud of the body: a hair's breadth of the kernel's along an edge
STROKE = 0.01  # mm that a stroke may leave an outline by where the height of a crossing is read
ROUNDS = 8  # times that a level is sought at which the body narrows within a sheet


@dataclass(frozen=True)
class Piece:
    """One frame in the body's own axes; `frame`: its x along the sheet, its z square to it, on the lower face."""

    shaped: Shaped
    frame: Frame
    set: Literal["along", "across"]
    at: float  # where its middle stands: y of a frame along, x of one across [mm]
    crossings: tuple[float, ...]  # where frames of the other set cross it [mm]


def within(whole: Shaped, covering: float, *, bare: Sequence[str] = ()) -> Shaped:
    """The body less a covering [mm], normal to its surface; faces with the roles `bare` carry none.

    Each covered face is asked by itself what lies over it. Raises GeometryError when the covering is negative, when it
    is so thick that nothing sound is left, or when the kernel leaves too little or too much over a face: it says where.
    """
    if not covering >= 0:
        raise GeometryError(f"a covering of {covering:g} mm: 0 or more")
    if covering == 0:
        return Shaped(whole.solid)
    skipped = [face for role in bare for face in whole.faces(role)]
    covered = [face for face in whole.solid.Faces() if face not in skipped]
    worst = ""
    for way in (_hollowed if skipped else _shrunk, _peeled):
        try:
            made = way(whole.solid, skipped, covering)
            if made.isValid() and made.Volume() > 0 and len(made.Solids()) == 1:
                wrong = _wrong(whole.solid, made, covered, covering)
                if not wrong and made.cut(whole.solid).Volume() < LEAST:
                    return Shaped(made.Solids()[0])
                worst = f" ({wrong})" if wrong else worst
        except Exception:  # the kernel's own exception types are not public; what one way cannot do another may
            continue
    raise GeometryError(f"a covering of {covering:g} mm: nothing sound is left under it{worst}; a thinner one, or a "
                        "body without hollow edges")


def _wrong(whole: cq.Shape, left: cq.Shape, covered: Sequence[cq.Face], thick: float) -> str:
    """Where a covering is not as thick as it should be, worst place first; empty where it is right all over.

    No place of a covered face may have less over it. A place moved inward by the covering must lie on what is left,
    unless it is out of the body by then, or nearer to another covered face: there the edges of two coverings meet.
    """
    import cadquery as cq

    off: list[tuple[float, str]] = []
    for face in covered:
        near = left.distance(face)
        if near < thick - OFF:
            off.append((thick - near, f"{near:.2f} mm over the face about {_spot(face.Center())}"))
        for point, outward in _places(face):
            inner = point - outward * thick
            if not any(solid.isInside(inner, OFF) for solid in whole.Solids()):
                continue
            here = cq.Vertex.makeVertex(*inner.toTuple())
            gap = left.distance(here)
            if gap > OFF and min(here.distance(other) for other in covered) > thick - OFF:
                off.append((gap, f"{thick + gap:.2f} mm at {_spot(point)}"))
    return max(off)[1] if off else ""


def _spot(at: cq.Vector) -> str:
    return f"{at.x:.0f}, {at.y:.0f}, {at.z:.0f}"


def _places(face: cq.Face) -> Iterator[tuple[cq.Vector, cq.Vector]]:
    """Points spread over a face, with the way out of its solid there."""
    import cadquery as cq
    from OCP.BRepClass import BRepClass_FaceClassifier
    from OCP.gp import gp_Pnt2d
    from OCP.TopAbs import TopAbs_IN

    u0, u1, v0, v1 = face._uvBounds()
    surface = face._geomAdaptor()
    for i, j in product(range(ACROSS), repeat=2):
        u, v = (low + (high - low) * (k + 0.5) / ACROSS for low, high, k in ((u0, u1, i), (v0, v1, j)))
        if BRepClass_FaceClassifier(face.wrapped, gp_Pnt2d(u, v), 1e-6).State() == TopAbs_IN:
            point = cq.Vector(surface.Value(u, v))
            yield point, face.normalAt(point)


def _shrunk(solid: cq.Shape, _: Sequence[cq.Face], by: float) -> cq.Shape:
    """A solid with all its faces moved inward."""
    import cadquery as cq
    from OCP.BRepOffset import BRepOffset_Mode
    from OCP.BRepOffsetAPI import BRepOffsetAPI_MakeOffsetShape
    from OCP.GeomAbs import GeomAbs_JoinType

    builder = BRepOffsetAPI_MakeOffsetShape()
    builder.PerformByJoin(solid.wrapped, -by, 1e-5, BRepOffset_Mode.BRepOffset_Skin, False, False,
                          GeomAbs_JoinType.GeomAbs_Intersection)
    shape = cq.Shape.cast(builder.Shape())
    return shape if isinstance(shape, cq.Solid) else cq.Solid.makeSolid(shape.Shells()[0])


def _hollowed(solid: cq.Shape, bare: Sequence[cq.Face], by: float) -> cq.Shape:
    """A solid less the wall that the kernel lays inside all its faces but the bare ones."""
    import cadquery as cq
    from OCP.BRepOffset import BRepOffset_Mode
    from OCP.BRepOffsetAPI import BRepOffsetAPI_MakeThickSolid
    from OCP.GeomAbs import GeomAbs_JoinType
    from OCP.TopTools import TopTools_ListOfShape

    closing = TopTools_ListOfShape()
    for face in bare:
        closing.Append(face.wrapped)
    builder = BRepOffsetAPI_MakeThickSolid()
    builder.MakeThickSolidByJoin(solid.wrapped, closing, -by, 1e-5, BRepOffset_Mode.BRepOffset_Skin, False, False,
                                 GeomAbs_JoinType.GeomAbs_Intersection)
    return solid.cut(cq.Shape.cast(builder.Shape()))


def _peeled(solid: cq.Shape, bare: Sequence[cq.Face], by: float) -> cq.Shape:
    """A solid less each covered face made thick by itself: for surfaces whose offsets the kernel cannot join.

    Exact at edges that stand out; at a hollow edge something thinner than `by` stays, which within() then finds.
    """
    made = solid
    for face in solid.Faces():
        if face not in bare:
            made = made.cut(face.thicken(-by))
    return made


def frames(whole: Shaped, *, along: Sequence[float], across: Sequence[float], sheet_along: float, sheet_across: float,
           clearance: float, convex: bool = False) -> tuple[Piece, ...]:
    """Frames along x at the places `along` (y of their middles), then across at `across` (x of their middles) [mm].

    `sheet_along`, `sheet_across`: what each set's sheet measures. `clearance`: how much wider a slit is than the sheet
    that goes into it, and how far two slits' ends stay apart [mm]. `convex`: the body is known to be, which saves
    looking whether a frame stands proud of it. Raises GeometryError for a clearance below 0, for
    frames of a set that would stand in each other, for a place that misses the body, and for one where the body falls
    into several lumps, as beside a hole: a frame is one piece of sheet.
    """
    if not clearance >= 0:
        raise GeometryError(f"a clearance of {clearance:g} mm in the slits: 0 or more")
    sets = (("along", tuple(along), sheet_along), ("across", tuple(across), sheet_across))
    for name, places, sheet in sets:
        if not sheet > 0 or not places:
            raise GeometryError(f"{len(places)} frames {name} of {sheet:g} mm sheet: at least one, of some thickness")
        steps = [b - a for a, b in zip(sorted(places), sorted(places)[1:], strict=False)]
        if steps and min(steps) <= sheet + clearance:
            raise GeometryError(f"frames {name} {min(steps):g} mm apart: more than {sheet + clearance:g} mm, their "
                                "sheet and its play")
    made = {name: [_slab(whole, place, sheet, name, convex) for place in places] for name, places, sheet in sets}
    return _slit(made["along"], made["across"], sheet_along, sheet_across, clearance)


def _axes(name: str, at: float, sheet: float) -> Frame:
    """A frame's own axes: x along the sheet, y up, z square to it, its origin on the face that looks to less."""
    if name == "along":
        return Frame((0.0, at + sheet / 2, 0.0), (1.0, 0.0, 0.0), (0.0, -1.0, 0.0))
    return Frame((at - sheet / 2, 0.0, 0.0), (0.0, 1.0, 0.0), (1.0, 0.0, 0.0))


def _slab(whole: Shaped, at: float, sheet: float, name: str, convex: bool) -> Piece:
    """A frame before it is slit: the outline that the sections through its thickness share, as thick as the sheet.

    Of a convex body the sections at the sheet's two faces are enough: what both hold, all between hold. Where the body
    is narrower between them (a waist, a groove) the frame stands proud there, and that level's section is taken too.
    """
    import cadquery as cq

    axes = _axes(name, at, sheet)
    way = cq.Vector(*axes.z)
    face = _face(whole, axes, (0.0, sheet) if convex else (0.0, sheet / 2, sheet), None, f"{name} at {at:g} mm")
    for _ in range(ROUNDS):
        solid = cq.Solid.extrudeLinear(face.outerWire(), face.innerWires(), way * sheet)
        if solid.Volume() <= 0 or not solid.isValid():
            raise GeometryError(f"the frame {name} at {at:g} mm came out as no sound solid")
        lumps = () if convex else solid.cut(whole.solid).Solids()
        proud = [lump for lump in lumps if lump.Volume() > SHAVING]
        if not proud:
            return Piece(Shaped(solid), axes, "along" if name == "along" else "across", at, ())
        levels = {round((lump.Center() - cq.Vector(*axes.origin)).dot(way), 3) for lump in proud}
        face = _face(whole, axes, sorted(levels), face, f"{name} at {at:g} mm")
    raise GeometryError(f"the frame {name} at {at:g} mm stands proud of the body, which narrows within the sheet's "
                        "thickness: move it")


def _face(whole: Shaped, axes: Frame, levels: Sequence[float], held: cq.Face | None, called: str) -> cq.Face:
    """What the body's sections at some levels through a sheet, and a face that is held already, share."""
    import cadquery as cq

    box = whole.solid.BoundingBox()
    reach = 2 * max(abs(v) for v in (box.xmin, box.xmax, box.ymin, box.ymax, box.zmin, box.zmax)) + BEYOND
    way = cq.Vector(*axes.z)
    shared: cq.Shape | None = held
    for level in levels:
        plane = cq.Face.makePlane(2 * reach, 2 * reach, cq.Vector(*axes.origin) + way * level, way)
        section = _shared(plane, whole.solid)
        if section is not None:
            section = section.moved(cq.Location(way * -level))
            section = section if shared is None else _shared(shared, section)
        shared = section
        if shared is None:
            break
    found = [face for face in (shared.Faces() if shared else ()) if face.Area() > LEAST]
    if len(found) != 1:
        trouble = "misses the body" if not found else f"would be in {len(found)} lumps, as a hole parts it: move it"
        raise GeometryError(f"the frame {called} {trouble}")
    return found[0]


def _slit(along: Sequence[Piece], across: Sequence[Piece], sheet_along: float, sheet_across: float,
          clearance: float) -> tuple[Piece, ...]:
    """Both sets with their slits."""
    boxes = [each.shaped.solid.BoundingBox() for each in (*along, *across)]
    low, high = min(box.zmin for box in boxes) - BEYOND, max(box.zmax for box in boxes) + BEYOND
    down: list[list[Shaped]] = [[] for _ in boxes]
    met: list[list[float]] = [[] for _ in boxes]
    spots: list[list[tuple[Vector, Vector]]] = [[] for _ in boxes]
    for i, one in enumerate(along):
        for j, other in enumerate(across, len(along)):
            span = _span(one, other, sheet_along, sheet_across)
            if span is None:
                continue
            middle = sum(span) / 2
            wide, thick = sheet_across + clearance, sheet_along + clearance
            # the tool is deeper than the frame by half of the play each way: its own sides cut nothing
            top = block(wide, sheet_along + 2, high - middle + clearance / 2)
            down[i].append(top.moved(Frame((other.at - wide / 2, one.at - sheet_along / 2 - 1,
                                              middle - clearance / 2))))
            bottom = block(sheet_across + 2, thick, middle + clearance / 2 - low)
            down[j].append(bottom.moved(Frame((other.at - sheet_across / 2 - 1, one.at - thick / 2, low))))
            met[i].append(other.at)
            met[j].append(one.at)
            upper, lower = ((other.at, one.at, (middle + end) / 2) for end in reversed(span))
            spots[i].append((upper, lower))
            spots[j].append((lower, upper))
    return tuple(_whole(replace(each, shaped=each.shaped.cut(*tools), crossings=tuple(places)), own)
                 for each, tools, places, own in zip((*along, *across), down, met, spots, strict=True))


def _span(one: Piece, other: Piece, sheet_one: float, sheet_other: float) -> tuple[float, float] | None:
    """The levels between which two crossing frames share their height; None where they do not meet.

    Read from their outlines: where these run through a pole or a seam of the body the kernel is known to find that two
    frames share nothing.
    """
    spans = (_levels(one, other.at, sheet_other), _levels(other, one.at, sheet_one))
    low, high = max(span[0] for span in spans), min(span[1] for span in spans)
    return (low, high) if high - low > LEAST else None


def _levels(piece: Piece, at: float, wide: float) -> tuple[float, float]:
    """Lowest and highest level of a frame over a breadth about a place along it; the wrong way round beside it [mm]."""
    from OCP.BRepAdaptor import BRepAdaptor_Curve
    from OCP.GCPnts import GCPnts_QuasiUniformDeflection

    found: list[float] = []
    for edge in piece.shaped.solid.Edges():
        strokes = GCPnts_QuasiUniformDeflection(BRepAdaptor_Curve(edge.wrapped), STROKE)
        points = [strokes.Value(k) for k in range(1, strokes.NbPoints() + 1)]
        flat = [(p.X() if piece.set == "along" else p.Y(), p.Z()) for p in points]
        found += [z for a, b in zip(flat, flat[1:], strict=False) for z in _clipped(a, b, at - wide / 2, at + wide / 2)]
    return min(found, default=math.inf), max(found, default=-math.inf)


def _clipped(a: tuple[float, float], b: tuple[float, float], low: float, high: float) -> tuple[float, ...]:
    """Levels of the ends of what of a stroke lies between two places; none where nothing does."""
    run = b[0] - a[0]
    if abs(run) < LEAST**2:
        return (a[1], b[1]) if low <= a[0] <= high else ()
    first, last = sorted(((low - a[0]) / run, (high - a[0]) / run))
    first, last = max(first, 0.0), min(last, 1.0)
    return tuple(a[1] + share * (b[1] - a[1]) for share in (first, last)) if first <= last else ()


def _shared(one: cq.Shape, other: cq.Shape) -> cq.Shape | None:
    """What two shapes share; None where that is nothing."""
    import cadquery as cq
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Common

    made = BRepAlgoAPI_Common(one.wrapped, other.wrapped).Shape()
    return None if made.IsNull() else cq.Shape.cast(made)


def _whole(piece: Piece, crossings: Sequence[tuple[Vector, Vector]]) -> Piece:
    """A slit frame; refused where its slits part it, and where the kernel did not cut them: at each crossing there is a
    place that must be gone, and one that must be left."""
    from OCP.BRepClass3d import BRepClass3d_SolidClassifier
    from OCP.gp import gp_Pnt
    from OCP.TopAbs import TopAbs_IN, TopAbs_OUT

    solids = piece.shaped.solid.Solids()
    if len(solids) != 1:
        raise GeometryError(f"the slits of the frame {piece.set} at {piece.at:g} mm part it in {len(solids)}: frames "
                            "further from the body's ends and holes, or fewer")
    holds = BRepClass3d_SolidClassifier(solids[0].wrapped)
    for crossing in crossings:
        for spot, state in zip(crossing, (TopAbs_OUT, TopAbs_IN), strict=True):
            holds.Perform(gp_Pnt(*spot), LEAST)
            if holds.State() != state:
                raise GeometryError(f"the frame {piece.set} at {piece.at:g} mm came out with no sound slit at "
                                    f"{spot[0]:g}, {spot[1]:g} mm: move it a little")
    return piece
