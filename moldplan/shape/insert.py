"""The discs that shape a recess while it is laid up: as a mold (the skin goes over it), or as a press.

In       a Recess, the Insert of its seat, the layers of the stack (thickness and stock, lowest first).
Out      one Shaped a disc, in the seat's own axes, with the roles molding floor, molding fillet, molding wall.
Not here how many sheets make the depth (material/stock.py), draft (check/draft.py).

A mold insert has the shape of M. A press insert has M moved off the skin by peel ply and film; it must land on the
floor, so its wall is eased by the skin's tolerance plus one lap, and it stands proud as its own grip.
Every disc above the lowest has the dowel holes through it; they are blind in the lowest, whose face molds, and none are
in one too thin for them. They lie so far in that they miss a large floor fillet, unlike from the middle and not in line
with it, so that no disc goes in face down (dowels.py: the nearest flip misses).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate

from moldplan.shape.body import Shaped, rod
from moldplan.shape.dowels import BLIND, COVER, DOWEL, HOLE_WALL, NARROW_WALL, SHALLOW
from moldplan.shape.seat import Recess, Surface
from moldplan.shape.stack import slabs
from moldplan.spec.model import Seat

AIR_HOLE = 6.0  # mm, common practice, no source
JACK = 8.0  # mm, for a screw or a hook; common practice, no source
GRIP = 15.0  # mm that a press insert stands proud at least; ours
DOWELS_AT = ((0.0, 1.0), (0.4, -0.55))  # from the middle, over the holes' spread; ours


@dataclass(frozen=True)
class Layer:
    """One sheet of a stack."""

    thickness: float
    stock: str | None  # None: a packer


@dataclass(frozen=True)
class Disc:
    """One disc: its solid in the seat's own axes, and where it lies."""

    shaped: Shaped
    layer: Layer
    low: float
    high: float


def surface(seat: Seat, made: Recess) -> Surface:
    """The surface the insert must have [mm]."""
    if seat.insert.use == "mold":
        return made.molded
    lifted = made.molded.out(-seat.insert.peel_ply, fillet=max(made.molded.fillet - seat.insert.peel_ply, 0.0))
    ease = made.build.skin_tolerance + made.build.lap
    return Surface(floor=lifted.floor, radius=lifted.radius - ease / math.cos(math.radians(seat.draft)),
                   fillet=lifted.fillet, draft=lifted.draft)


def least_height(seat: Seat, made: Recess) -> float:
    """How tall the stack must be: the molded depth, and for a press insert its grip besides [mm]."""
    depth = made.bare_top - surface(seat, made).floor
    return depth if seat.insert.use == "mold" else depth + GRIP


def discs(seat: Seat, made: Recess, layers: Sequence[Layer]) -> tuple[Disc, ...]:
    """All discs of an insert, lowest first. Raises GeometryError when a disc does not come out valid."""
    face = surface(seat, made)
    top = face.floor + sum(layer.thickness for layer in layers)
    whole = face.void(top).renamed(
        {"floor": "molding floor", "fillet": "molding fillet", "wall": "molding wall", "lid": "upper face"})
    cut = slabs(whole, [face.floor + height for height in accumulate((0.0, *(layer.thickness for layer in layers)))])
    spread = _spread(face, layers[0].thickness)
    made_discs = []
    for number, (one, layer) in enumerate(zip(cut, layers, strict=True)):
        holes = _holes(spread, low=one.low, high=one.high, first=number == 0, last=number == len(layers) - 1)
        made_discs.append(Disc(one.shaped.cut(*holes), layer, one.low, one.high))
    return tuple(made_discs)


def _spread(face: Surface, lowest: float) -> float:
    """How far from the axis holes are drilled in the discs, the lowest of which is so thick: inside the fillet [mm].

    A disc is nowhere hollow, so what is clear where the holes begin is clear all the way up.
    """
    clear = face.within(face.floor + max(lowest - _deep(lowest) - COVER, 0.0)) - NARROW_WALL - DOWEL / 2
    return min(face.radius - HOLE_WALL, 0.7 * face.radius, clear)


def _deep(thick: float) -> float:
    """How deep a blind hole goes into a disc that is so thick [mm]."""
    return max(min(BLIND, thick / 2), min(SHALLOW, thick - COVER))


def _holes(spread: float, *, low: float, high: float, first: bool, last: bool) -> list[Shaped]:
    """Air hole through all; dowel holes through all but the lowest; two jacking holes in the top disc."""
    found = [rod(AIR_HOLE / 2, (0, 0, low - 1), (0, 0, high - low + 2), "air hole")]
    deep = _deep(high - low)
    if spread < 2 * DOWEL or (first and deep < SHALLOW):
        return found
    start = high - deep if first else low - 1
    if not (first and last):
        found += [rod(DOWEL / 2, (x * spread, y * spread, start), (0, 0, high + 1 - start), "dowel hole")
                  for x, y in DOWELS_AT]
    if last:
        found += [rod(JACK / 2, (side * spread, 0, start), (0, 0, high + 1 - start), "jacking hole")
                  for side in (-1, 1)]
    return found


def hole_words(one: Disc) -> list[str]:
    """What the holes of a disc other than those of its dowels are for."""
    words = [f"air hole of {AIR_HOLE:g} mm in the middle, taped while laying up"]
    if "jacking hole" in one.shaped.roles:
        words.append(f"2 holes of {JACK:g} mm for screws or hooks to draw the insert out with")
    return words


@dataclass(frozen=True)
class Sticks:
    """The dowels through the discs of an insert: which discs they line up, counted from 1, and their lengths [mm]."""

    first: int
    last: int
    lengths: tuple[float, ...]


def dowels(made: Sequence[Disc]) -> Sticks | None:
    """None where there is no room for them, or but one disc to drill."""
    drilled = [k for k, disc in enumerate(made) if "dowel hole" in disc.shaped.roles]
    if len(drilled) < 2:
        return None
    low, high = made[drilled[0]].low, made[drilled[0]].high
    blind = drilled[0] == 0
    long = made[-1].high - (high - _deep(high - low) + 1 if blind else low)
    return Sticks(drilled[0] + 1, len(made), (float(math.floor(long + 1e-6)),) * len(DOWELS_AT))


def press_weight(face: Surface, pressure_kpa: float) -> float:
    """Mass that presses a press insert down with a pressure on its floor [kg]: p x area / g."""
    return pressure_kpa * 1e-3 * math.pi * face.radius**2 / 9.80665
