"""An insert that is built of crossing frames under a covering, instead of a stack of discs.

In       a seat with its Recess; the stock the frames are cut from.
Out      the covered insert as one body (kind insert, cut from no sheet), then a body a frame; how many frames.
Not here frames of any solid (frames.py), discs (insert.py), whether they fit and hold (check/frames_fit.py).

The frames' upper edges lie in one level with the recess's mouth: the insert stands on them on the mold's board. Their
numbers are even both ways, so that the axis stays free for the air hole through the covering.
"""

from __future__ import annotations

import math

from moldplan.errors import Fault, Path
from moldplan.material.stock import Stock
from moldplan.shape.body import Body, Frame, rod
from moldplan.shape.frames import frames
from moldplan.shape.insert import AIR_HOLE, surface
from moldplan.shape.seat import Recess, Surface
from moldplan.spec.model import Seat

MOLDING = {"floor": "molding floor", "fillet": "molding fillet", "wall": "molding wall", "lid": "upper face"}


def inside(seat: Seat, made: Recess) -> Surface:
    """The surface under the covering [mm]."""
    face = surface(seat, made)
    thin = seat.insert.frames.covering
    return face.out(-thin, fillet=max(face.fillet - thin, 0.0))


def places(seat: Seat, made: Recess, sheet: float) -> tuple[float, ...]:
    """Where the frames of one set stand, from the axis [mm]: an even number of them, no further apart than asked for.

    The outermost of both sets still cross where the floor is flat, so that every crossing is of full height; only where
    a round floor leaves too little flat do they cross on its rounding.
    """
    low = inside(seat, made)
    reach = max((low.flat - 0.75 * sheet) / math.sqrt(2), 0.55 * low.radius)
    number = 2 * max(1, math.ceil((2 * reach / seat.insert.frames.spacing + 1) / 2))
    return tuple(reach * (2 * k / (number - 1) - 1) for k in range(number))


def framed(full: str, path: Path, own: Frame, seat: Seat, made: Recess, stock: Stock) -> tuple[Body, ...]:
    """The covered insert, then its frames, along before across; `own`: the seat's own frame in the boat."""
    face, top, framing = surface(seat, made), made.bare_top, seat.insert.frames
    hole = rod(AIR_HOLE / 2, (0, 0, face.floor - 1), (0, 0, top - face.floor + 2), "air hole")
    note = (f"built of frames under a covering {framing.covering:g} mm thick; a hole of {AIR_HOLE:g} mm through it on "
            "the axis, taped while laying up")
    whole = Body(name=f"{full} insert", kind="insert", shaped=face.void(top).renamed(MOLDING).cut(hole).moved(own),
                 part=full, path=path, frame=own.inside(Frame((0.0, 0.0, face.floor))), notes=(note,))
    low = inside(seat, made)
    sheet = stock.true_thickness
    stands = places(seat, made, sheet)
    cut = frames(low.void(top), along=stands, across=stands, sheet_along=sheet, sheet_across=sheet,
                 clearance=framing.clearance)  # fmt: skip
    bodies = [whole]
    for number, one in enumerate(cut):
        way = "fore and aft" if one.set == "along" else "athwart"
        nth = number % len(stands) + 1
        told = ("stands first, slits up" if one.set == "along" else "slides down over the others, slits down")
        bodies.append(Body(
            name=f"{full} frame {way} {nth}", kind="insert frame", shaped=one.shaped.moved(own), part=full, path=path,
            frame=own.inside(one.frame), stock=seat.insert.stock, thickness=sheet, density=stock.density,
            notes=(f"frame {nth} of {len(stands)} {way}; {told}; dress its edges to the bevel of the wall",)))
    return tuple(bodies)


def sheet_areas(seat: Seat, made: Recess, layers: int, sheet: float) -> tuple[float, float]:
    """Sheet that discs and that frames take, each as the boxes round its pieces [m2]."""
    top = made.bare_top
    face, low = surface(seat, made), inside(seat, made)
    wide = 2 * face.wall(top)
    chords = [2 * math.sqrt(max(low.wall(top) ** 2 - at**2, 0.0)) for at in places(seat, made, sheet)]
    return layers * wide**2 / 1e6, 2 * sum(chords) * (top - low.floor) / 1e6



def framed_faults(path: Path, seat: Seat, made: Recess, sheet: float) -> list[Fault]:
    """What no frames can be built from; `path` of the seat."""
    own, framing = (*path, "insert"), seat.insert.frames
    if seat.insert.use == "press":
        return [Fault((*own, "built"), "frames", "discs for a press insert",
                      "its weight would stand on a covering that only the frames hold")]
    face, height = surface(seat, made), made.bare_top - surface(seat, made).floor
    most = min(face.radius / 4, height / 4)
    if framing.covering > most:
        return [Fault((*own, "frames", "covering"), framing.covering, f"at most {most:.1f}",
                      f"frames under it would be a stub of an insert {2 * face.radius:.0f} mm across and "
                      f"{height:.0f} mm deep")]
    stands = places(seat, made, sheet)
    step, least = stands[1] - stands[0], 2 * sheet + framing.clearance
    if step < least:
        why = f"the frames would stand {step:.1f} mm apart, less than two sheets of {sheet:g} mm and their play"
        if len(stands) == 2:
            return [Fault((*own, "built"), "frames", "discs", f"the insert is too narrow: {why}")]
        return [Fault((*own, "frames", "spacing"), framing.spacing, f"{least:.1f} or more, or discs", why)]
    return []
