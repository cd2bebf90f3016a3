"""Which way round a piece may lie on a sheet, and whether any sheet is large enough.

In       pieces, stocks with all their sheets, the cutter's edge margin.
Out      the turns worth trying; least rectangles; SpecFault for a piece larger than every sheet of its stock.
Not here placing pieces beside each other (nest.py).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import lru_cache

from moldplan.cut.bed import on_bed, reached, refuse_unreached
from moldplan.cut.loop import bounds, moved, sampled
from moldplan.cut.piece import Loop, Piece
from moldplan.errors import Fault, SpecFault
from moldplan.material.sheet import Sheets, bought, on_hand
from moldplan.material.stock import Stock
from moldplan.spec.model import Cutter

CHORD = 0.02  # by which chords may leave an outline whose hull is looked for [mm]
SAME = 1e-6  # sizes nearer than this are one size [mm]


def size_turned(loop: Loop, turn: float) -> tuple[float, float]:
    """Length and width of the upright box round a loop turned by `turn` [deg]; exact."""
    low_x, low_y, high_x, high_y = bounds(moved(loop, turn=turn))
    return (high_x - low_x, high_y - low_y)


@lru_cache(maxsize=4096)
def least_rectangle(loop: Loop) -> tuple[float, float, float]:
    """The least rectangle round a loop, turned as it may be: long side, short side [mm] and the turn that lays its
    long side along x [deg]. One of its sides runs along the loop's hull: all directions of the hull are tried."""
    import numpy
    import shapely

    if loop.circle is not None:
        return (2 * loop.circle[2], 2 * loop.circle[2], 0.0)
    hull = shapely.get_coordinates(shapely.MultiPoint(sampled(loop, CHORD)).convex_hull)
    along = numpy.diff(hull, axis=0)
    slants = numpy.append(0.0, numpy.round(-numpy.degrees(numpy.arctan2(along[:, 1], along[:, 0])) % 180, 9))
    angles = numpy.radians(slants)
    across = hull @ numpy.array([-numpy.sin(-angles), numpy.cos(-angles)])
    ahead = hull @ numpy.array([numpy.cos(-angles), numpy.sin(-angles)])
    sides = numpy.ptp(ahead, axis=0), numpy.ptp(across, axis=0)
    # the chords' rectangle is smaller than the true one by at most a chord's height on each side: none is missed
    near = sides[0] * sides[1] <= (sides[0] * sides[1]).min() + 4 * CHORD * (sides[0] + sides[1]).max()
    turns = {float(t) for t in slants[near]}
    best = min(sorted(turns), key=lambda t: (round(math.prod(size_turned(loop, t)), 6), t))
    long, short = size_turned(loop, best)
    return (long, short, best) if long >= short else (short, long, (best + 90) % 180)


def usable(stock: Sheets, cutter: Cutter) -> list[tuple[float, float]]:
    """Length and width inside the edge margin of every size that is sold, the stock's own first, and of the boxes of
    those in the rack [mm]."""
    sizes = dict.fromkeys(blank.size for blank in (*bought(stock), *on_hand(stock)))
    return [(length - 2 * cutter.edge_margin, width - 2 * cutter.edge_margin) for length, width in sizes]


def turns(piece: Piece, stock: Sheets, cutter: Cutter) -> tuple[float, ...]:
    """Turns in which the piece fits a bare sheet [deg], upright ones first; none when it fits in no way."""
    if piece.grain:
        tried = [0.0, 180.0]
    else:
        _, _, slant = least_rectangle(piece.cut.outer)
        tried = list(dict.fromkeys([0.0, 90.0, 180.0, 270.0, *((slant + quarter) % 360 for quarter in (0, 90))]))
    rooms = _reached(stock, cutter)
    fitting = tuple(t for t in tried if _within(size_turned(piece.cut.outer, t), rooms))
    if fitting or piece.grain:
        return fitting
    askew = (float(t) for t in range(1, 180))  # a long thin piece may still lie along the sheet's diagonal
    return tuple(t for t in askew if _within(size_turned(piece.cut.outer, t), rooms))[:1]


def _reached(stock: Sheets, cutter: Cutter) -> list[tuple[float, float]]:
    """As usable(), of which one stage on the router's bed reaches so much."""
    sizes = dict.fromkeys(blank.size for blank in (*bought(stock), *on_hand(stock)))
    stages = [reached(size, cutter) for size in sizes]
    return [(min(a, c), min(b, d)) for (a, b), (c, d) in zip(usable(stock, cutter), stages, strict=True)]


def _reach_needed(piece: Piece, stock: Sheets, cutter: Cutter) -> float | None:
    """Whole millimetres of a bed's length that would do for a piece; None where it fits no sheet on any bed."""
    free = cutter.model_copy(update={"bed": None})
    lies = on_bed(stock.size, cutter)
    sides = [size_turned(piece.cut.outer, turn) for turn in turns(piece, stock, free)]
    if lies is None or not sides:
        return None
    return math.ceil(min(side[lies.axis] for side in sides) + 2 * cutter.diameter)


def _within(size: tuple[float, float], rooms: Iterable[tuple[float, float]]) -> bool:
    return any(size[0] <= length + SAME and size[1] <= width + SAME for length, width in rooms)


def _scribed(piece: Piece, stock: Sheets, cutter: Cutter) -> str:
    """That a piece is too large only for being cut rough, where that is so."""
    if not piece.scribe:
        return ""
    true = replace(piece, cut=replace(piece.cut, outer=piece.cut.true[0], true=()), scribe=0.0)
    if not turns(true, stock, cutter):
        return ""
    return f", only for the {piece.scribe:g} mm it is cut larger all round: `scribe` less, or 0"


def refuse_oversize(pieces: Iterable[Piece], stocks: Mapping[str, Stock], cutter: Cutter) -> None:
    """Raises SpecFault naming each piece that fits no sheet of its stock: its least rectangle, by how much it is too
    large, and which other stock at hand would do; before that, sheets that the bed or the bit cannot cut."""
    pieces = tuple(pieces)
    refuse_unreached(pieces, stocks, cutter)
    faults = []
    for piece in pieces:
        stock = stocks[piece.stock]
        if turns(piece, stock, cutter):
            continue
        outer = piece.cut.outer
        long, short = size_turned(outer, 0.0) if piece.grain else least_rectangle(outer)[:2]
        rooms = _reached(stock, cutter)
        room = max(rooms, key=lambda r: (min(r) > 0, r[0] * r[1]))
        over = [f"{long - room[0]:.1f} mm too long"] if long > room[0] + SAME else []
        over += [f"{short - room[1]:.1f} mm too wide"] if short > room[1] + SAME else []
        on_it = " and one stage on the bed" if rooms != usable(stock, cutter) else ""
        sheet = "a sheet" if len(rooms) == 1 else "the largest sheet"
        reach = _reach_needed(piece, stock, cutter) if on_it else None
        others = [name for name, other in stocks.items() if name != piece.stock and turns(piece, other, cutter)]
        if reach is not None:
            instead = f"its sheet is large enough: a bed {reach:.0f} mm long would do"
        elif others:
            instead = "large enough: " + ", ".join(f"{name} ({stocks[name].true_thickness:g} mm)" for name in others)
        else:
            instead = "no stock at hand is large enough; make it in parts"
        faults.append(
            Fault(
                piece.path,
                f"{piece.body}, {long:.1f} x {short:.1f} mm",
                (f"at most {room[0]:g} x {room[1]:g} mm, {sheet} of {piece.stock} inside its edge margin{on_it}"
                 if min(room) > 0 else f"a bed of over {2 * cutter.diameter:g} mm, the cutter's width at either end"
                 if on_it else f"a sheet of {piece.stock} that its edge margin leaves something of")
                + (", grain lengthwise" if piece.grain else ""),
                f"it is {' and '.join(over) or 'larger askew'}{_scribed(piece, stock, cutter)}; {instead}",
            )
        )
    if faults:
        raise SpecFault(faults)
