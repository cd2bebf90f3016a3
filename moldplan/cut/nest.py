"""Pieces onto sheets: few sheets first, then one large offcut.

In       pieces, stocks, the cutter, an earlier layout if there is one.
Out      Layout; for each stock the sheets used beside a lower bound.
Not here the solver's own process (strip.py), findings (judge.py), files (dxf.py, saved.py).

Boxes are placed first (place.py): that takes milliseconds and is often as few sheets as can be. Only where the lower
bound is lower is the strip solver asked, in a process of its own and within the spec's time, and only a layout that
is measured to keep margin and spacing with the true arcs is taken. No piece is mirrored here, or put into another's
opening.
"""

from __future__ import annotations

import json
import math
import os
import subprocess
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from moldplan.cut.fits import refuse_oversize, size_turned, turns, usable
from moldplan.cut.loop import bounds, moved, sampled, swollen
from moldplan.cut.piece import Layout, Piece, Placed, Sheet
from moldplan.cut.place import extent, placed_boxes
from moldplan.cut.room import sheet_sound, sound
from moldplan.cut.saved import layout_key
from moldplan.material.stock import Stock
from moldplan.spec.model import Cutter

OUTWARD = 0.25  # the solver's polygons hold the true outline and leave it by at most this [mm]
PAD = 0.01  # added to the spacing for the solver's single precision [mm]
SHARES = (0.92, 0.86, 0.8, 0.74, 0.68, 0.6)  # of a sheet's room that is tried, in falling order
ENOUGH = 300  # copies beyond which the solver is not asked for a sheet at a time; it would not end in time

Say = Callable[[str], None]


@dataclass(frozen=True)
class _Copy:
    piece: Piece
    number: int
    turns: tuple[float, ...]


@dataclass(frozen=True)
class _Bench:
    """What placing the copies of one stock needs."""

    name: str
    stock: Stock
    cutter: Cutter
    pieces: Mapping[str, Piece]
    copies: tuple[_Copy, ...]


def layout(
    pieces: Sequence[Piece], stocks: Mapping[str, Stock], cutter: Cutter, *, saved: Layout | None, say: Say
) -> Layout:
    """All pieces on sheets. `saved` is used again when it was made from the same inputs and still measures sound.

    Raises SpecFault for a piece larger than every sheet of its stock.
    """
    refuse_oversize(pieces, stocks, cutter)
    key = layout_key(pieces, stocks, cutter)
    if saved is not None and saved.key == key and sound(saved, pieces, stocks, cutter):
        say("the saved layout is used again")
        return saved
    sheets: list[Sheet] = []
    fewest: dict[str, dict[str, int]] = {}
    cautions: list[str] = []
    for name in dict.fromkeys(piece.stock for piece in pieces):
        bench = _bench(name, pieces, stocks[name], cutter)
        bound = lower_bound([c.piece for c in bench.copies], stocks[name], cutter)
        done, trouble = _placed(bench, bound, say)
        sheets += done
        cautions += trouble
        fewest[name] = {"used": len(done), "lower_bound": bound}
    return Layout(sheets=tuple(sheets), fewest=fewest, key=key, cautions=tuple(dict.fromkeys(cautions)))


def _bench(name: str, pieces: Sequence[Piece], stock: Stock, cutter: Cutter) -> _Bench:
    own = [piece for piece in pieces if piece.stock == name]
    copies = [_Copy(p, n, way) for p in own for way in [turns(p, stock, cutter)] for n in range(1, p.quantity + 1)]
    return _Bench(name, stock, cutter, {p.id: p for p in own}, tuple(copies))


def lower_bound(copies: Sequence[Piece], stock: Stock, cutter: Cutter) -> int:
    """A number of sheets that no layout can beat, one entry in `copies` for each copy.

    By area: each piece with half the spacing round it must lie in the room with half the spacing round that. By size:
    of pieces so large that the circles inside any two cannot lie on one sheet, each needs its own.
    """
    import shapely

    length, width = usable(stock, cutter)
    room = (length + cutter.spacing) * (width + cutter.spacing)
    claims: dict[str, tuple[float, float]] = {}
    for piece in copies:
        if piece.id not in claims:
            shape = shapely.Polygon(sampled(piece.cut.outer, 0.05), [sampled(h, 0.05) for h in piece.cut.holes])
            inner = shapely.maximum_inscribed_circle(shape, tolerance=0.1).length - 0.05
            claims[piece.id] = (shape.buffer(0.995 * cutter.spacing / 2, quad_segs=8).area, inner)
    by_area = math.ceil(sum(claims[p.id][0] for p in copies) / room * (1 - 1e-4))
    radii = sorted((claims[p.id][1] for p in copies), reverse=True)
    alone = 0
    for count, r in enumerate(radii, 1):
        # of the first `count`, the smallest two are the likeliest to share a sheet
        reach = math.hypot(max(0.0, length - 2 * r), max(0.0, width - 2 * r))
        if count == 1 or reach < 2 * r + cutter.spacing:
            alone = count
        else:
            break
    return max(1 if copies else 0, by_area, alone)


def _placed(bench: _Bench, bound: int, say: Say) -> tuple[list[Sheet], list[str]]:
    plain = _by_boxes(bench, bench.copies)
    if len(plain) <= bound or len(bench.copies) > ENOUGH:
        return _numbered(plain), []
    say(f"{bench.name}: {len(plain)} sheets by boxes, {bound} at the least; looking for better")
    tight, trouble = _by_solver(bench, bound, len(plain))
    return _numbered(tight if tight is not None else plain), trouble


def _numbered(sheets: Sequence[Sheet]) -> list[Sheet]:
    return [replace(sheet, number=n) for n, sheet in enumerate(sheets, 1)]


def _by_boxes(bench: _Bench, copies: Sequence[_Copy]) -> list[Sheet]:
    sizes: dict[str, list[tuple[float, float]]] = {}
    ways: dict[str, list[float]] = {}
    for copy in copies:
        if copy.piece.id not in sizes:
            # half a turn takes the same box: one of each is enough
            kept = {tuple(round(v, 6) for v in size_turned(copy.piece.cut.outer, t)): t for t in reversed(copy.turns)}
            ways[copy.piece.id] = list(reversed(kept.values()))
            sizes[copy.piece.id] = [size_turned(copy.piece.cut.outer, t) for t in ways[copy.piece.id]]
    room = usable(bench.stock, bench.cutter)
    boxes = [sizes[c.piece.id] for c in copies]
    found = placed_boxes(boxes, room, bench.cutter.spacing)
    sheets = []
    for spots in sorted(found, key=lambda s: -extent(s, boxes)):
        placed = []
        for spot in sorted(spots, key=lambda s: s.copy):
            copy = copies[spot.copy]
            placed.append(_at(bench, copy, ways[copy.piece.id][spot.turn], spot.x, spot.y))
        sheets.append(_sheet(bench, placed))
    return sheets


def _at(bench: _Bench, copy: _Copy, turn: float, x: float, y: float) -> Placed:
    """A copy whose turned box has its lower left corner at x, y inside the edge margin."""
    low_x, low_y, _, _ = bounds(moved(copy.piece.cut.outer, turn=turn))
    margin = bench.cutter.edge_margin
    return Placed(
        piece=copy.piece.id, copy=copy.number, turn=turn, x=round(margin + x - low_x, 9), y=round(margin + y - low_y, 9)
    )


def _sheet(bench: _Bench, placed: Sequence[Placed]) -> Sheet:
    length, width = bench.stock.size
    area = sum(bench.pieces[p.piece].area for p in placed)
    return Sheet(
        stock=bench.name, number=1, size=(length, width), placed=tuple(placed), used=area / (length * width)
    )


def _by_solver(bench: _Bench, bound: int, to_beat: int) -> tuple[list[Sheet] | None, list[str]]:
    """Fewer sheets than `to_beat` by the strip solver, or None; and what went wrong."""
    until = time.monotonic() + bench.cutter.nest_seconds
    left = sorted(bench.copies, key=lambda c: (-c.piece.area, c.piece.id, c.number))
    sheets: list[Sheet] = []
    while left and len(sheets) < to_beat - 1:
        last = len(sheets) + 1 == bound
        filled, trouble = _one_sheet(bench, left, until, last_hope=last)
        if filled is None:
            return None, trouble
        sheets.append(filled)
        gone = {(p.piece, p.copy) for p in filled.placed}
        left = [c for c in left if (c.piece.id, c.number) not in gone]
        rest = _by_boxes(bench, left) if left else []
        if len(sheets) + len(rest) < to_beat:
            return [*sheets, *rest], []
    return None, []


def _one_sheet(
    bench: _Bench, left: Sequence[_Copy], until: float, *, last_hope: bool
) -> tuple[Sheet | None, list[str]]:
    """One sheet as full as the solver gets it in its share of the time."""
    length, width = usable(bench.stock, bench.cutter)
    whole = sum(c.piece.area for c in left)
    shares = [s for s in SHARES if s * length * width < whole] or [1.0]
    if whole <= length * width and (last_hope or whole <= SHARES[0] * length * width):
        shares = [1.0, *shares] if shares != [1.0] else shares
    for share in shares:
        seconds = min(until - time.monotonic(), max(1.0, (until - time.monotonic()) / 2))
        if seconds < 0.3:
            return None, []
        chosen = _largest_first(left, share * length * width)
        try:
            sheet = _solved(bench, chosen, seconds)
        except SolverDied as trouble:
            return None, [f"{bench.name}: the layout was made by boxes only, for the solver stopped ({trouble})"]
        if sheet is not None:
            return sheet, []
    return None, []


def _largest_first(left: Sequence[_Copy], most: float) -> list[_Copy]:
    chosen: list[_Copy] = []
    area = 0.0
    for copy in left:
        if area + copy.piece.area <= most:
            chosen.append(copy)
            area += copy.piece.area
    return chosen


class SolverDied(Exception):
    """The solver's process ended without a layout."""


def _solved(bench: _Bench, copies: Sequence[_Copy], seconds: float) -> Sheet | None:
    """The copies on one sheet by the solver; None when they do not fit or do not measure sound."""
    spacing = bench.cutter.spacing + PAD
    length, width = usable(bench.stock, bench.cutter)
    groups: dict[str, list[_Copy]] = {}
    for copy in copies:
        groups.setdefault(copy.piece.id, []).append(copy)
    items = [
        {"id": id, "points": _hull_points(group[0].piece), "count": len(group), "turns": list(group[0].turns)}
        for id, group in groups.items()
    ]
    # the solver keeps its spacing along the strip's edges too: a strip larger by it leaves just the room
    job = {
        "height": width + 2 * spacing, "length": length + 2 * spacing, "spacing": spacing, "seconds": seconds,
        "seed": 1, "items": items,
    }  # fmt: skip
    answer = _ask(job, seconds)
    if answer["width"] > length + 2 * spacing:
        return None
    margin = bench.cutter.edge_margin
    placed = []
    for put in answer["placed"]:
        copy = groups[put["id"]].pop(0)
        x, y = round(put["x"] - spacing + margin, 4), round(put["y"] - spacing + margin, 4)
        turn = min(copy.turns, key=lambda t: abs((t - put["turn"] + 180) % 360 - 180))
        placed.append(Placed(piece=copy.piece.id, copy=copy.number, turn=turn, x=x, y=y))
    sheet = _sheet(bench, sorted(placed, key=lambda p: (int(p.piece[1:] or 0), p.copy)))
    return sheet if sheet_sound(sheet, bench.pieces, bench.cutter) else None


def _hull_points(piece: Piece) -> list[tuple[float, float]]:
    """A valid polygon that holds the piece, for the solver."""
    import shapely

    shape = shapely.Polygon(swollen(piece.cut.outer, OUTWARD))
    if not shape.is_valid:
        shape = shape.convex_hull
    return [(float(x), float(y)) for x, y in shape.exterior.coords[:-1]]


def _ask(job: Mapping[str, Any], seconds: float) -> Any:
    """The answer of the solver's process. Raises SolverDied."""
    home = str(Path(__file__).resolve().parents[2])
    paths = [home, *filter(None, [os.environ.get("PYTHONPATH")])]
    try:
        run = subprocess.run(
            [sys.executable, "-m", "moldplan.cut.strip"],
            input=json.dumps(job), capture_output=True, text=True, timeout=seconds + 10,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(paths)}, check=False,
        )  # fmt: skip
    except (OSError, subprocess.TimeoutExpired) as trouble:
        raise SolverDied(type(trouble).__name__) from trouble
    if run.returncode != 0:
        raise SolverDied(f"exit {run.returncode}")
    try:
        return json.loads(run.stdout)
    except json.JSONDecodeError as trouble:
        raise SolverDied("no answer") from trouble
