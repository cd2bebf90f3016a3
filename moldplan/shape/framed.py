"""An insert that is built of crossing frames under a covering, instead of a stack of discs.

In       a seat with its Recess; the stock the frames are cut from.
Out      the covered insert as one body (kind insert, cut from no sheet), then a body a frame; where frames stand.
Not here frames of any solid (frames.py), discs (insert.py), whether they fit and hold (check/frames_fit.py).

The frames' upper edges lie in one level with the recess's mouth. It is set up and laid over the other way up, standing
on these edges on a flat board: so the frames that are slit from the seat's floor side stand first, and those slit from
its mouth slide down over them. Their numbers are even both ways, so that the axis stays free for the air hole.
"""

from __future__ import annotations

import math

from moldplan.errors import Fault, Path
from moldplan.material.stock import Stock
from moldplan.quantity import at_most
from moldplan.shape.body import Body, Frame, rod
from moldplan.shape.frames import frames
from moldplan.shape.insert import AIR_HOLE, surface
from moldplan.shape.seat import Recess, Surface
from moldplan.spec.frames import Framing
from moldplan.spec.model import Seat

WAYS = {"along": "fore and aft", "across": "athwart"}  # in the block's own axes
RAW = "edges stay raw: paint in a slit would take its play"
TOOTH = 15.0  # mm left of a frame beyond its last slit, less in an insert under 150 mm across; ours
ROUNDED = 0.85  # share of the wall's radius within which a round floor is taken as flat; ours
MOLDING = {"floor": "molding floor", "fillet": "molding fillet", "wall": "molding wall", "lid": "upper face"}


def inside(seat: Seat, made: Recess) -> Surface:
    """The surface under the covering [mm]."""
    face = surface(seat, made)
    thin = seat.insert.frames.covering
    return face.out(-thin, fillet=max(face.fillet - thin, 0.0))


def places(seat: Seat, made: Recess, sheet: float) -> tuple[float, ...]:
    """Where the frames of one set stand, from the axis [mm]: an even number of them, no further apart than asked for.

    The outermost of both sets still cross where the floor is flat, so that every crossing is of full height; only where
    a round floor leaves too little flat do they cross on its rounding. They stand so far in that beyond the last slit
    a tooth is left, TOOTH wide at the floor: with b to the outer side of the slit, sqrt(r^2 - b^2) = b + TOOTH.
    """
    low = inside(seat, made)
    flat = max(low.flat, ROUNDED * low.radius)
    tooth = min(TOOTH, flat / 5)
    side = (math.sqrt(2 * flat**2 - tooth**2) - tooth) / 2
    reach = side - (sheet + seat.insert.frames.clearance) / 2
    number = 2 * max(1, math.ceil((2 * reach / seat.insert.frames.spacing + 1) / 2))
    return tuple(reach * (2 * k / (number - 1) - 1) for k in range(number))


def framed(full: str, path: Path, own: Frame, seat: Seat, made: Recess, stock: Stock) -> tuple[Body, ...]:
    """The covered insert, then its frames in the order of setting up; `own`: the seat's own frame in the boat."""
    face, top, framing = surface(seat, made), made.bare_top, seat.insert.frames
    hole = rod(AIR_HOLE / 2, (0, 0, face.floor - 1), (0, 0, top - face.floor + 2), "air hole")
    low, sheet = inside(seat, made), stock.true_thickness
    stands = places(seat, made, sheet)
    whole = Body(name=f"{full} insert", kind="insert", shaped=face.void(top).renamed(MOLDING).cut(hole).moved(own),
                 part=full, path=path, frame=own.inside(Frame((0.0, 0.0, face.floor))),
                 notes=_how_built(framing, widest_span(low.wall(top), stands, sheet)))
    cut = frames(low.void(top), along=stands, across=stands, sheet_along=sheet, sheet_across=sheet,
                 clearance=framing.clearance, convex=True)  # fmt: skip
    bodies = [whole]
    for one in sorted(cut, key=lambda piece: piece.set == "along"):
        way = WAYS[one.set]
        told = ("stands first, mouth edge down, slits up" if one.set == "across"
                else f"pushed down over the {WAYS['across']} frames, slits down")
        bodies.append(Body(
            name=f"{full} frame {way} {stands.index(one.at) + 1}", kind="insert frame", shaped=one.shaped.moved(own),
            part=full, path=path, frame=own.inside(one.frame), stock=seat.insert.stock, thickness=sheet,
            density=stock.density, notes=(told, RAW)))
    return tuple(bodies)


def _how_built(framing: Framing, span: float) -> tuple[str, ...]:
    """How frames become an insert, a sentence a step."""
    return (
        f"set it up mouth down on a flat board: stand the {WAYS['across']} frames on their mouth edges with the slits "
        f"up, push the {WAYS['along']} frames down over them until both sets stand on the board; check the diagonals, "
        "glue the crossings, screw the frames down",
        f"cover the frames {framing.covering:g} mm thick, normal to the surface, floor and wall (thin board bent "
        "round, strips, or filler); the frames' edges stay square, so that the covering lies on the outer arris of "
        f"each: fill the wedge behind it with paste. It spans {span:.0f} mm at most along the mouth between two "
        "frames: press there; where it gives, closer frames or a thicker covering",
        f"drill an air hole of {AIR_HOLE:g} mm through the covering on the axis, taped while laying up",
    )


def widest_span(radius: float, stands: tuple[float, ...], sheet: float) -> float:
    """The longest way that a covering goes from frame to frame along a level circle that both sets end in [mm]."""
    first = [math.asin(min((abs(at) + sheet / 2) / radius, 1.0)) for at in stands]  # of a quarter, from the x axis
    quarter = sorted({*first, *(math.pi / 2 - turn for turn in first)})
    around = [turn + k * math.pi / 2 for k in range(2) for turn in quarter]
    return radius * max(b - a for a, b in zip(around, around[1:], strict=False))


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
        return [Fault((*own, "frames", "covering"), framing.covering, f"at most {at_most(most)}",
                      f"frames under it would be a stub of an insert {2 * face.radius:.0f} mm across and "
                      f"{height:.0f} mm deep")]
    stands = places(seat, made, sheet)
    step, least = stands[1] - stands[0], 2 * sheet + framing.clearance
    if step < least:
        why = f"the frames would stand {step:.1f} mm apart, less than two sheets of {sheet:g} mm and their play"
        fits = 2 * math.floor((2 * stands[-1] / least + 1) / 2)  # the most of a set, an even number, that has room
        if fits < 2:
            return [Fault((*own, "built"), "frames", "discs", f"the insert is too narrow: {why}")]
        wide = math.ceil(20 * stands[-1] / (fits - 1)) / 10
        return [Fault((*own, "frames", "spacing"), framing.spacing, f"{wide:.1f} or more, or discs", why)]
    return []
