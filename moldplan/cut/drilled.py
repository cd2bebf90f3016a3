"""Round holes that the cutter is too wide for: they are drilled, and only marked for it.

In       an outline to cut, the cutter's diameter.
Out      the outline with such holes and bores as `drilled`; words for the bench.
Not here other places that the cutter cannot enter (reach.py): a finer cutter is wanted for these.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import replace

from moldplan.cut.piece import Loop, Outline, Point

MOST = 13.0  # a larger hole is not drilled by hand [mm]: what an ordinary chuck takes; common practice, no source
ARM = 2.0  # half length of the cross in the middle of a hole to drill [mm]


def drilled(outline: Outline, *, diameter: float) -> Outline:
    """The outline with what is round and narrower than the cutter's `diameter` [mm] taken off what it cuts."""
    holes = [loop for loop in outline.holes if _drills(loop, diameter=diameter)]
    bores = [(loop, depth) for loop, depth in outline.bores if _drills(loop, diameter=diameter)]
    if not holes and not bores:
        return outline
    return replace(
        outline, holes=tuple(loop for loop in outline.holes if loop not in holes),
        bores=tuple(bore for bore in outline.bores if bore not in bores),
        drilled=(*outline.drilled, *((loop, None) for loop in holes), *bores),
    )  # fmt: skip


def _drills(loop: Loop, *, diameter: float) -> bool:
    """Whether a loop is a round hole that a cutter of that diameter [mm] does not enter, yet a drill by hand does."""
    return loop.circle is not None and 2 * loop.circle[2] < min(diameter - 1e-9, MOST + 1e-9)


def crosses(outline: Outline) -> Iterable[tuple[Point, Point]]:
    """Two short lines through the middle of each hole to drill."""
    for loop, _ in outline.drilled:
        if loop.circle is not None:
            x, y, _ = loop.circle
            yield ((x - ARM, y), (x + ARM, y))
            yield ((x, y - ARM), (x, y + ARM))


def drill_words(outline: Outline) -> tuple[str, ...]:
    """What a builder drills: "drill 2 holes of 8.0 mm through", "drill 1 hole of 8.0 mm, 10.0 mm deep"."""
    counts = Counter((round(2 * loop.circle[2], 2), depth) for loop, depth in outline.drilled if loop.circle)
    return tuple(
        f"drill {count} hole{'s' if count > 1 else ''} of {across:.1f} mm"
        + (" through" if depth is None else f", {depth:.1f} mm deep")
        for (across, depth), count in sorted(counts.items(), key=lambda item: (item[0][0], item[0][1] or 0.0))
    )
