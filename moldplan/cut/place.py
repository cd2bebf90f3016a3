"""Boxes on sheets, lengthwise low first: the plain placing that needs no solver.

In       for every copy the boxes it may take (one for each turn) [mm]; where boxes may lie on each sheet; the spacing.
Out      for every sheet the copies on it: which, which turn, lower left corner of its box, in the sheet's own axes.
Not here true outlines (fill.py, solver.py).

Free room is kept as the list of largest empty rectangles. A box goes where its far end lies least far along the sheet:
what stays free is one rectangle at the sheet's end, the offcut worth keeping.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field

from moldplan.cut.rectangles import Rectangle

Box = tuple[float, float]
SLACK = 1e-9
MANY = 150  # boxes beyond which only as many orders are tried as lie in ORDERS


@dataclass(frozen=True)
class Spot:
    """One copy on a sheet: its index, the index of the turn taken, its lower left corner [mm]."""

    copy: int
    turn: int
    x: float
    y: float


@dataclass
class Filled:
    """A sheet with its boxes: the `number` of its kind among those given, and whether it is one that is bought."""

    number: int
    bought: bool
    spots: list[Spot] = field(default_factory=list)


class NoRoom(ValueError):
    """A box that no sheet takes; `copy` is its index."""

    def __init__(self, copy: int):
        self.copy = copy
        super().__init__(f"box {copy} does not fit a bare sheet")


def placings(
    boxes: Sequence[Sequence[Box]], rack: Sequence[Sequence[Rectangle]], sold: Sequence[Sequence[Rectangle]],
    spacing: float, *, shuffles: int = 0,
) -> Iterator[list[Filled]]:
    """All copies on sheets, once for each of several orders. Raises NoRoom.

    `rack`: the free rectangles of each sheet that is there once; they are filled first. `sold`: those of each size
    that may be bought; of these the first that takes a box is opened.
    """
    keys: list[Callable[[int], float]] = [
        lambda i: -max(w * h for w, h in boxes[i]),
        lambda i: -max(max(b) for b in boxes[i]),
        lambda i: -max(min(b) for b in boxes[i]),
        lambda i: -max(w + h for w, h in boxes[i]),
    ]
    for key in keys:
        yield _placed(sorted(range(len(boxes)), key=lambda i: (key(i), i)), boxes, rack, sold, spacing)
    for seed in range(shuffles if len(boxes) <= MANY else 0):
        draw = random.Random(seed)
        stir = [draw.uniform(0.7, 1.3) for _ in boxes]
        key = keys[seed % len(keys)]
        yield _placed(sorted(range(len(boxes)), key=lambda i: (key(i) * stir[i], i)), boxes, rack, sold, spacing)


def extent(spots: Sequence[Spot], boxes: Sequence[Sequence[Box]]) -> float:
    """How far along the sheet its boxes reach [mm]."""
    return max((spot.x + boxes[spot.copy][spot.turn][0] for spot in spots), default=0.0)


def _placed(
    queue: Sequence[int], boxes: Sequence[Sequence[Box]], rack: Sequence[Sequence[Rectangle]],
    sold: Sequence[Sequence[Rectangle]], spacing: float,
) -> list[Filled]:
    """The copies in one order, each on the first sheet that takes it."""
    sheets = [Filled(n, bought=False) for n in range(len(rack))]
    frees = [_widened(free, spacing) for free in rack]
    for copy in queue:
        number, spot = 0, None
        while spot is None:
            if number == len(sheets):
                opened = _opened(copy, boxes[copy], sold, spacing)
                sheets.append(Filled(opened, bought=True))
                frees.append(_widened(sold[opened], spacing))
            spot = _best(copy, boxes[copy], frees[number], spacing)
            number += 1
        sheets[number - 1].spots.append(spot)
        w, h = boxes[copy][spot.turn]
        taken = (spot.x, spot.y, spot.x + w + spacing, spot.y + h + spacing)
        frees[number - 1] = _less(frees[number - 1], taken)
    return [sheet for sheet in sheets if sheet.spots]


def _widened(free: Sequence[Rectangle], spacing: float) -> list[Rectangle]:
    """Room for boxes that carry their spacing along their far sides."""
    return [(x0, y0, x1 + spacing, y1 + spacing) for x0, y0, x1, y1 in free]


def _opened(copy: int, turned: Sequence[Box], sold: Sequence[Sequence[Rectangle]], spacing: float) -> int:
    for number, free in enumerate(sold):
        if _best(copy, turned, _widened(free, spacing), spacing) is not None:
            return number
    raise NoRoom(copy)


def _best(copy: int, turned: Sequence[Box], free: Sequence[Rectangle], spacing: float) -> Spot | None:
    best, rank = None, (float("inf"), 0.0, 0.0)
    for turn, (w, h) in enumerate(turned):
        wide, high = w + spacing - 1e-6, h + spacing - 1e-6
        for x0, y0, x1, y1 in free:
            if wide <= x1 - x0 and high <= y1 - y0 and x0 + w <= rank[0] + 1e-6:
                ranked = (round(x0 + w, 6), y0 + h, x0)
                if ranked < rank:
                    best, rank = Spot(copy, turn, x0, y0), ranked
    return best


def _less(free: Sequence[Rectangle], taken: Rectangle) -> list[Rectangle]:
    """The largest empty rectangles after one was taken."""
    tx0, ty0, tx1, ty1 = taken
    whole: list[Rectangle] = []
    split: list[Rectangle] = []
    for r in free:
        x0, y0, x1, y1 = r
        if tx0 >= x1 - SLACK or tx1 <= x0 + SLACK or ty0 >= y1 - SLACK or ty1 <= y0 + SLACK:
            whole.append(r)
            continue
        if tx0 > x0 + SLACK:
            split.append((x0, y0, tx0, y1))
        if tx1 < x1 - SLACK:
            split.append((tx1, y0, x1, y1))
        if ty0 > y0 + SLACK:
            split.append((x0, y0, x1, ty0))
        if ty1 < y1 - SLACK:
            split.append((x0, ty1, x1, y1))
    kept = list(whole)
    for i, r in enumerate(split):
        if not any(_in(r, other) for other in whole) and not any(
            _in(r, other) and (r != other or j < i) for j, other in enumerate(split) if j != i
        ):
            kept.append(r)
    return kept


def _in(inner: Rectangle, outer: Rectangle) -> bool:
    return (
        inner[0] >= outer[0] - SLACK
        and inner[1] >= outer[1] - SLACK
        and inner[2] <= outer[2] + SLACK
        and inner[3] <= outer[3] + SLACK
    )

