"""Boxes on sheets, lengthwise low first: the plain placing that needs no solver.

In       for every copy the boxes it may take (one for each turn) [mm], the room on a sheet, the spacing.
Out      for every sheet the copies on it: which, which turn, lower left corner of its box, in the room's own axes.
Not here true outlines (nest.py, strip.py).

Free room is kept as the list of largest empty rectangles. A box goes where its far end lies least far along the sheet:
what stays free is one rectangle at the sheet's end, the offcut worth keeping.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

Box = tuple[float, float]
Rectangle = tuple[float, float, float, float]  # x low, y low, x high, y high
SLACK = 1e-9


@dataclass(frozen=True)
class Spot:
    """One copy on a sheet: its index, the index of the turn taken, its lower left corner [mm]."""

    copy: int
    turn: int
    x: float
    y: float


def placed_boxes(boxes: Sequence[Sequence[Box]], room: Box, spacing: float) -> list[list[Spot]]:
    """All copies on as few sheets as this finds, the last one as short as this finds.

    Every copy must fit a bare sheet in at least one of its turns. Several orders are tried; few copies: all of them.
    """
    orders = [
        lambda i: -max(w * h for w, h in boxes[i]),
        lambda i: -max(max(b) for b in boxes[i]),
        lambda i: -max(min(b) for b in boxes[i]),
        lambda i: -max(w + h for w, h in boxes[i]),
    ]
    found: list[list[list[Spot]]] = []
    for order in orders[: 4 if len(boxes) <= 150 else 1]:
        queue = sorted(range(len(boxes)), key=lambda i: (order(i), i))
        found.append(_filled(queue, boxes, room, spacing))
    return min(found, key=lambda sheets: (len(sheets), extent(sheets[-1], boxes) if sheets else 0.0))


def extent(sheet: Sequence[Spot], boxes: Sequence[Sequence[Box]]) -> float:
    """How far along the room its boxes reach [mm]."""
    return max((spot.x + boxes[spot.copy][spot.turn][0] for spot in sheet), default=0.0)


def _filled(queue: Sequence[int], boxes: Sequence[Sequence[Box]], room: Box, spacing: float) -> list[list[Spot]]:
    sheets: list[list[Spot]] = []
    frees: list[list[Rectangle]] = []
    for copy in queue:
        number, spot = 0, None
        while spot is None:
            if number == len(sheets):
                sheets.append([])
                frees.append([(0.0, 0.0, room[0] + spacing, room[1] + spacing)])
            free = frees[number]
            spot = _best(copy, boxes[copy], free, spacing)
            if spot is None and not sheets[number]:
                raise ValueError(f"box {copy} does not fit a bare sheet")
            number += 1
        sheets[number - 1].append(spot)
        w, h = boxes[copy][spot.turn]
        free[:] = _less(free, (spot.x, spot.y, spot.x + w + spacing, spot.y + h + spacing))
    return sheets


def _best(copy: int, turned: Sequence[Box], free: Sequence[Rectangle], spacing: float) -> Spot | None:
    best, rank = None, (float("inf"), 0.0, 0.0)
    for turn, (w, h) in enumerate(turned):
        for x0, y0, x1, y1 in free:
            if w + spacing <= x1 - x0 + 1e-6 and h + spacing <= y1 - y0 + 1e-6:
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
