"""Where a mold's pieces are screwed to their table: from its back, at a stated spacing, clear of a piece's edges.

In       the size of a piece's foot [mm].
Out      places in plan, in the hatch's own axes; the table's bores for their heads.
Not here the pieces (mold.py).

The heads lie under the table's back, where no laminate covers them and no piece stands: all come out before anything
is broken out. The shanks are drilled through by hand in the middle of the bores, into pieces laid on their lines.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from moldplan.shape.body import Shaped, rod
from moldplan.shape.ring import Plane2

SPACING = 175.0  # mm at most; common practice 150 to 200, no source
EDGE = 25.0  # mm from a piece's end or outline, where it is wide enough; ours
HEAD, SUNK = 10.0, 4.0  # mm, bore for a screw's head: across and deep; ours
SHANK = 5.0  # mm; ours
TIP = 5.0  # mm that a screw's tip stays under a molding face; ours


def along(length: float) -> list[float]:
    """Places along a run, from its start: one in the middle of a short one, else from end to end [mm]."""
    inner = length - 2 * EDGE
    if inner < EDGE:
        return [length / 2]
    count = math.ceil(inner / SPACING - 1e-9)
    return [EDGE + inner * k / count for k in range(count + 1)]


def grid(length: float, width: float, radius: float) -> tuple[Plane2, ...]:
    """Places over a rounded rectangle about 0, 0: rows both ways, as far in as its rounded corners ask for."""
    inset = max(EDGE, radius - (radius - EDGE) / math.sqrt(2))
    half = [max(size / 2 - inset, 0.0) for size in (length, width)]
    steps = [max(math.ceil(2 * h / SPACING - 1e-9), 1) for h in half]
    rows = [sorted({h * (2 * k / n - 1) for k in range(n + 1)}) for h, n in zip(half, steps, strict=True)]
    return tuple((x, y) for x in rows[0] for y in rows[1])


def round_about(length: float, place: Callable[[float], Plane2]) -> tuple[Plane2, ...]:
    """Places along a closed way of a given length; `place` says where a length along it lies."""
    count = max(math.ceil(length / SPACING), 4)
    return tuple(place(length * (k + 0.5) / count) for k in range(count))


def bored(table: Shaped, places: Sequence[Plane2], *, back: float, thickness: float) -> Shaped:
    """The table with a bore from its back, which lies at the level `back`, for the head of each screw."""
    deep = min(SUNK, thickness / 3)
    return table.cut(*(rod(HEAD / 2, (x, y, back - deep), (0, 0, deep + 1), "screw head") for x, y in places))


def said(count: int, *, thickness: float, least: float) -> str:
    """What the shop must know of them; `least`: height of the lowest piece over the table."""
    longest = thickness - min(SUNK, thickness / 3) + max(least - TIP, 0.0)
    return (f"{count} screws from this face: drill {SHANK:g} mm through in the middle of each bore, and screw into the "
            f"piece set up behind it; at most {longest:.0f} mm long under the head")
