"""Near misses: a sheet that was bought for the want of a few millimetres.

In       a Job and how many sheets are bought.
Out      sentences: by how much a larger sheet, less spacing or less margin would have saved one.
Not here the layout itself (nest.py).

What is said was found, not guessed: with the change the boxes do lie on fewer sheets. That no smaller change would do
is not claimed; the change is the least that the same placing needs, to a tenth of a millimetre.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from moldplan.cut.bare import Bare
from moldplan.cut.job import Copy, Job
from moldplan.cut.place import NoRoom, placings
from moldplan.cut.rectangles import Rectangle
from moldplan.cut.rough import boxes_of

NEAR = 5.0  # mm, ours: what a stock's edge, a saw or a shop may give
STEP = 0.1  # mm
MANY = 150  # copies beyond which it is not looked for

Rooms = tuple[list[Rectangle], float]  # the room on each size, and the spacing


def near_misses(job: Job, copies: Sequence[Copy], used: int) -> tuple[str, ...]:
    """What would have saved one of the `used` sheets that are bought for these copies."""
    if used < 1 or len(copies) > MANY or len(job.sold) > 1:
        return ()
    (sold,) = job.sold
    boxes, _ = boxes_of(copies)
    margin, spacing, cutter = job.cutter.edge_margin, job.cutter.spacing, job.cutter.diameter

    def fewer(change: Callable[[float], Rooms], by: float) -> bool:
        rooms, apart = change(by)
        try:
            return any(len(made) < used for made in placings(boxes, (), [[r] for r in rooms], apart, shuffles=4))
        except NoRoom:
            return False

    ways = (
        (NEAR, lambda d: ([_larger(sold, d, 0)], spacing), "with sheets {by:.1f} mm longer"),
        (NEAR, lambda d: ([_larger(sold, 0, d)], spacing), "with sheets {by:.1f} mm wider"),
        (min(NEAR, spacing - cutter), lambda d: ([sold.room], spacing - d), "with {spacing:.1f} mm between pieces"),
        (min(NEAR, margin), lambda d: ([_within(sold, d)], spacing), "with {margin:.1f} mm kept free along the edge"),
    )  # fmt: skip
    said = []
    for most, change, words in ways:
        by = _least(lambda d, change=change: fewer(change, d), most)  # type: ignore[misc]
        if by is not None:
            said.append(words.format(by=by, spacing=spacing - by, margin=margin - by))
    if not said:
        return ()
    now, then = (f"{n} {'sheet' if n == 1 else 'sheets'}" for n in (used, used - 1))
    return (f"{job.name}: {now} bought, and {then} would do " + ", or ".join(said),)


def _least(saves: Callable[[float], bool], most: float) -> float | None:
    """The least change in steps that saves a sheet; None when even the most does not."""
    low, high = 0, int(most / STEP + 1e-9)
    if high < 1 or not saves(high * STEP):
        return None
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if saves(middle * STEP) else (middle, high)
    return high * STEP


def _larger(sold: Bare, length: float, width: float) -> Rectangle:
    x0, y0, x1, y1 = sold.room
    return (x0, y0, x1 + length, y1 + width)


def _within(sold: Bare, less: float) -> Rectangle:
    x0, y0, x1, y1 = sold.room
    return (x0 - less, y0 - less, x1 + less, y1 + less)
