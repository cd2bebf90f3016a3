"""A body as two sets of flat frames that cross at right angles, each slit to half its height at every crossing.

In       a Shaped in its own axes (z up, the way the second set slides down); where the frames stand, how thick each
         set's sheet is as measured, the play in the slits; how thick the covering over them is.
Out      within(): the body less its covering. frames(): one Piece a frame, in the body's own axes.
Not here what the covering is made of, flattening (cut/flat.py), whether too little height is left (check/).

The covering's thickness is normal to the surface, so it is taken off the solid: an outline moved inward in its own
plane would be wrong wherever the surface leans towards that plane. A frame's outline is what the sections of both its
faces and of its middle share, so that nothing stands proud of a surface that leans across the frame.
The frames along stand first, slit from above; those across slide down, slit from below.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from moldplan.errors import GeometryError
from moldplan.shape.body import Frame, Shaped, block

if TYPE_CHECKING:
    import cadquery as cq

BEYOND = 10.0  # mm that a cutting tool reaches past the body
LEAST = 1e-3  # mm, a crossing lower than that is none: the kernel's noise
OFF = 0.005  # mm that a body's distance from its covering's outside may be off


@dataclass(frozen=True)
class Piece:
    """One frame in the body's own axes; `frame`: its x along the sheet, its z square to it, on the lower face."""

    shaped: Shaped
    frame: Frame
    set: Literal["along", "across"]
    at: float  # where its middle stands: y of a frame along, x of one across [mm]
    crossings: tuple[float, ...]  # where frames of the other set cross it [mm]


def evenly(low: float, high: float, count: int) -> tuple[float, ...]:
    """Middles of `count` frames over a width, as far from each other as twice the outer ones are from its ends [mm].

    Raises GeometryError for fewer than two: one frame stands by no other.
    """
    if count < 2 or not high > low:
        raise GeometryError(f"{count} frames over {high - low:g} mm: at least two each way hold each other upright")
    step = (high - low) / count
    return tuple(low + (number + 0.5) * step for number in range(count))


def within(whole: Shaped, covering: float, *, bare: Sequence[str] = ()) -> Shaped:
    """The body less a covering [mm], normal to its surface; faces with the roles `bare` carry none.

    Raises GeometryError when the covering is negative, or so thick that nothing sound is left.
    """

    if not covering >= 0:
        raise GeometryError(f"a covering of {covering:g} mm: 0 or more")
    if covering == 0:
        return Shaped(whole.solid)
    skipped = [face for role in bare for face in whole.faces(role)]
    covered = [face for face in whole.solid.Faces() if face not in skipped]
    for way in (_hollowed if skipped else _shrunk, _peeled):
        try:
            made = way(whole.solid, skipped, covering)
            if made.isValid() and made.Volume() > 0 and len(made.Solids()) == 1:
                apart = min(made.distance(face) for face in covered)
                if abs(apart - covering) < OFF and made.cut(whole.solid).Volume() < LEAST:
                    return Shaped(made.Solids()[0])
        except Exception:  # the kernel's own exception types are not public; what one way cannot do another may
            continue
    raise GeometryError(f"a covering of {covering:g} mm: nothing sound is left under it; a thinner one, or a body "
                        "without hollow edges")


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
           clearance: float) -> tuple[Piece, ...]:
    """Frames along x at the places `along` (y of their middles), then across at `across` (x of their middles) [mm].

    `sheet_along`, `sheet_across`: what each set's sheet measures. `clearance`: how much wider a slit is than the sheet
    that goes into it, and how far two slits' ends stay apart [mm]. Raises GeometryError for a clearance below 0, for
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
    made = {name: [_slab(whole, place, sheet, name) for place in places] for name, places, sheet in sets}
    return _slit(made["along"], made["across"], sheet_along, sheet_across, clearance)


def _axes(name: str, at: float, sheet: float) -> Frame:
    """A frame's own axes: x along the sheet, y up, z square to it, its origin on the face that looks to less."""
    if name == "along":
        return Frame((0.0, at + sheet / 2, 0.0), (1.0, 0.0, 0.0), (0.0, -1.0, 0.0))
    return Frame((at - sheet / 2, 0.0, 0.0), (0.0, 1.0, 0.0), (1.0, 0.0, 0.0))


def _slab(whole: Shaped, at: float, sheet: float, name: Literal["along", "across"] | str) -> Piece:
    """A frame before it is slit: the outline that the sections through its thickness share, as thick as the sheet."""
    import cadquery as cq

    axes = _axes(name, at, sheet)
    box = whole.solid.BoundingBox()
    reach = 2 * max(abs(v) for v in (box.xmin, box.xmax, box.ymin, box.ymax, box.zmin, box.zmax)) + BEYOND
    shared: cq.Shape | None = None
    for share in (0.0, 0.5, 1.0):
        way = cq.Vector(*axes.z)
        plane = cq.Face.makePlane(2 * reach, 2 * reach, cq.Vector(*axes.origin) + way * (share * sheet), way)
        section = _shared(plane, whole.solid)
        if section is not None:
            section = section.moved(cq.Location(way * (-share * sheet)))
            shared = section if shared is None else _shared(shared, section)
        if section is None or shared is None:
            shared = None
            break
    found = [face for face in (shared.Faces() if shared else ()) if face.Area() > LEAST]
    if len(found) != 1:
        trouble = "misses the body" if not found else f"would be in {len(found)} lumps, as a hole parts it: move it"
        raise GeometryError(f"the frame {name} at {at:g} mm {trouble}")
    way = cq.Vector(*axes.z) * sheet
    face = found[0]
    solid = cq.Solid.extrudeLinear(face.outerWire(), face.innerWires(), way)
    if solid.Volume() <= 0 or not solid.isValid():
        raise GeometryError(f"the frame {name} at {at:g} mm came out as no sound solid")
    return Piece(Shaped(solid), axes, "along" if name == "along" else "across", at, ())


def _slit(along: Sequence[Piece], across: Sequence[Piece], sheet_along: float, sheet_across: float,
          clearance: float) -> tuple[Piece, ...]:
    """Both sets with their slits."""
    boxes = [each.shaped.solid.BoundingBox() for each in (*along, *across)]
    low, high = min(box.zmin for box in boxes) - BEYOND, max(box.zmax for box in boxes) + BEYOND
    down: list[list[Shaped]] = [[] for _ in boxes]
    met: list[list[float]] = [[] for _ in boxes]
    for i, one in enumerate(along):
        for j, other in enumerate(across, len(along)):
            middle = _half(one, other)
            if middle is None:
                continue
            wide, thick = sheet_across + clearance, sheet_along + clearance
            # the tool is deeper than the frame by half of the play each way: its own sides cut nothing
            top = block(wide, sheet_along + 2, high - middle + clearance / 2)
            down[i].append(top.moved(Frame((other.at - wide / 2, one.at - sheet_along / 2 - 1,
                                              middle - clearance / 2))))
            bottom = block(sheet_across + 2, thick, middle + clearance / 2 - low)
            down[j].append(bottom.moved(Frame((other.at - sheet_across / 2 - 1, one.at - thick / 2, low))))
            met[i].append(other.at)
            met[j].append(one.at)
    return tuple(_whole(replace(each, shaped=each.shaped.cut(*tools), crossings=tuple(places)))
                 for each, tools, places in zip((*along, *across), down, met, strict=True))


def _half(one: Piece, other: Piece) -> float | None:
    """The level at which two crossing frames share their height; None where they do not meet."""
    shared = _shared(one.shaped.solid, other.shaped.solid)
    if shared is None or shared.Volume() <= LEAST:
        return None
    box = shared.BoundingBox()
    return (box.zmin + box.zmax) / 2 if box.zmax - box.zmin > LEAST else None


def _shared(one: cq.Shape, other: cq.Shape) -> cq.Shape | None:
    """What two shapes share; None where that is nothing."""
    import cadquery as cq
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Common

    made = BRepAlgoAPI_Common(one.wrapped, other.wrapped).Shape()
    return None if made.IsNull() else cq.Shape.cast(made)


def _whole(piece: Piece) -> Piece:
    """A slit frame; refused where its slits part it."""
    lumps = len(piece.shaped.solid.Solids())
    if lumps != 1:
        raise GeometryError(f"the slits of the frame {piece.set} at {piece.at:g} mm part it in {lumps}: frames "
                            "further from the body's ends and holes, or fewer")
    return piece
