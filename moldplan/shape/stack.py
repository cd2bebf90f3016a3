"""A body as lifts of sheet: slabs between level planes of its own axes.

In       a Shaped in its own axes (z = the sheets' normal), levels to cut it at; or any Body and a sheet's thickness.
Out      one Shaped a lift, lowest first, with the roles of the body it came from, and upper face, lower face; or bodies
         lined up by dowels.
Not here which of a lift's two outlines is cut (cut/flat.py), where the dowels go (dowels.py).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from moldplan.shape.body import Body, Frame, Shaped, Vector, split_level
from moldplan.shape.dowels import doweled


@dataclass(frozen=True)
class Lift:
    """One sheet of a stack: its solid, and the levels it fills (the top one may be planed down) [mm]."""

    shaped: Shaped
    low: float
    high: float


def slabs(whole: Shaped, bounds: Sequence[float]) -> tuple[Lift, ...]:
    """What of a body lies between each two of some levels, from below [mm]; where nothing of it lies there is none."""
    cut = zip(split_level(whole, bounds[1:-1]), bounds[:-1], bounds[1:], strict=True)
    return tuple(Lift(part, bottom, top) for part, bottom, top in cut if part is not None)


def lifts(whole: Shaped, *, low: float, high: float, sheet: float) -> tuple[Lift, ...]:
    """Cut a body into lifts of `sheet` thickness from `low` up to `high`; what is left over makes a thinner last one.

    A remainder under 0.05 mm is not a lift of its own: it goes with the one below.
    """
    count = max(math.ceil((high - low - 0.05) / sheet), 1)
    return slabs(whole, [low, *(low + number * sheet for number in range(1, count)), high])


def lifted(
    whole: Body, *, stock: str, sheet: float, name: str | None = None, low: float | None = None,
    high: float | None = None, says: Callable[[int, int], str] | None = None, density: float | None = None,
    keep_top: bool = False, clear_of: Sequence[Vector] = (),
) -> list[Body]:
    """Any body as lifts of sheet, lowest first, in boat axes: cut level in its own frame, dowelled, numbered.

    `sheet`: the measured thickness of `stock` [mm]. `low`, `high`: where the stack begins and ends along the frame's
    z [mm]; those of the body unless given. `name`: of each with its number behind it, the body's own and "lift" unless
    given. `says(number, count)`: what is noted of each, "" for nothing. `keep_top`, `clear_of`: as in dowels.doweled.
    """
    own = whole.shaped.moved(_inverse(whole.frame))
    box = own.solid.BoundingBox(1e-4)
    made = lifts(own, low=box.zmin if low is None else low, high=box.zmax if high is None else high, sheet=sheet)
    bodies = []
    for number, lift in enumerate(made, 1):
        thick = lift.high - lift.low
        said = says(number, len(made)) if says else ""  # which of the stack it is stands in its order
        bodies.append(replace(
            whole, name=f"{name or f'{whole.name} lift'} {number}", kind="lift", shaped=lift.shaped.moved(whole.frame),
            frame=whole.frame.inside(Frame((0.0, 0.0, lift.low))), stock=stock, thickness=thick,
            notes=(said,) if said else (),
            density=whole.density if density is None else density,
        ))  # fmt: skip
    return doweled(bodies, keep_top=keep_top, clear_of=clear_of)


def _inverse(frame: Frame) -> Frame:
    """The frame that takes what lies in another's axes back to those it is given in."""
    x, _, z = zip(frame.x, frame.y, frame.z, strict=True)
    back = Frame((0.0, 0.0, 0.0), x, z)
    ox, oy, oz = frame.origin
    return Frame(back.turn((-ox, -oy, -oz)), back.x, back.z)
