"""The strip solver asked for one sheet, in a process of its own.

In       a Job, a bare rectangle, the copies that are to lie on it, the time.
Out      what lies there, measured to keep margin and spacing with the true arcs; or by how much the strip was too long.
Not here the process itself (strip.py), which copies go on which sheet (nest.py, swap.py).
"""

from __future__ import annotations

import json
import math
import os
import subprocess
import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from moldplan.cut.bare import Bare
from moldplan.cut.fits import size_turned
from moldplan.cut.job import Copy, Job, sheet_of, suited
from moldplan.cut.loop import swollen
from moldplan.cut.piece import Piece, Placed
from moldplan.cut.room import sheet_sound

OUTWARD = 0.25  # the solver's polygons hold the true outline and leave it by at most this [mm]
PAD = 0.01  # added to the spacing for the solver's single precision [mm]


class SolverDied(Exception):
    """The solver's process ended without a layout."""


@dataclass(frozen=True)
class Solved:
    """What the solver made of it: the copies placed, none when they did not fit, and how much too long the strip was
    [mm], negative where there was room to spare."""

    placed: tuple[Placed, ...]
    over: float = math.inf


def solved(
    job: Job, empty: Bare, copies: Sequence[Copy], seconds: float, *, seed: int = 1, shortest: bool = False
) -> Solved:
    """The copies on one bare rectangle. `shortest`: use the whole time to keep them to one end, not stop as they fit.

    Raises SolverDied.
    """
    spacing, margin = job.cutter.spacing + PAD, job.cutter.edge_margin
    low_x, low_y, high_x, high_y = empty.room
    length, width = high_x - low_x, high_y - low_y
    alike: dict[tuple[str, tuple[float, ...]], list[Copy]] = {}
    for copy in (suited(each, empty) for each in copies):
        # a frame with something in its opening may turn less freely than its fellow
        alike.setdefault((copy.piece.id, copy.turns), []).append(copy)
    groups = {str(number): group for number, group in enumerate(alike.values())}
    items = []
    for id, group in groups.items():
        ways = [t for t in group[0].turns if size_turned(group[0].piece.cut.outer, t)[1] <= width + 1e-6]
        if not ways:
            return Solved(())
        items.append({"id": id, "points": hull_points(group[0].piece), "count": len(group), "turns": ways})
    # the solver keeps its spacing along the strip's edges too: a strip larger by it leaves just the room
    answer = ask(
        {"height": width + 2 * spacing, "length": 0.0 if shortest else length + 2 * spacing, "spacing": spacing,
         "seconds": seconds, "seed": seed, "items": items}, seconds,
    )  # fmt: skip
    over = answer["width"] - length - 2 * spacing
    if over > 0:
        return Solved((), over)
    placed = []
    for put in answer["placed"]:
        copy = groups[put["id"]].pop(0)
        x, y = round(put["x"] - spacing + margin, 4), round(put["y"] - spacing + margin, 4)
        turn = min(copy.turns, key=lambda t: abs((t - put["turn"] + 180) % 360 - 180))
        placed.append(Placed(piece=copy.piece.id, copy=copy.number, turn=turn, x=x, y=y))
    sheet = sheet_of(job, empty, placed)
    return Solved(tuple(placed), over) if sheet_sound(sheet, job.pieces, job.cutter) else Solved(())


def hull_points(piece: Piece) -> list[tuple[float, float]]:
    """A valid polygon that holds the piece, for the solver."""
    import shapely

    shape = shapely.Polygon(swollen(piece.cut.outer, OUTWARD))
    if not shape.is_valid:
        shape = shape.convex_hull
    return [(float(x), float(y)) for x, y in shape.exterior.coords[:-1]]


def ask(job: Mapping[str, Any], seconds: float) -> Any:
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
