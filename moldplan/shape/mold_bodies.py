"""The bodies of a hatch's mold in boat axes: each whole piece, and the sheets it is built up of.

In       a hatch, its frame as made, where it lies, the stock the mold is cut from.
Out      bodies of kind mold and mold sheet; the order pieces leave the molding in.
Not here what a piece looks like (mold.py).
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate
from typing import Any

from moldplan.errors import Path
from moldplan.material.stock import Stock, stack
from moldplan.quantity import plain
from moldplan.shape import hatch as frames
from moldplan.shape import mold as molds
from moldplan.shape.body import Body, Frame, Shaped, levels_of
from moldplan.shape.dowels import doweled
from moldplan.shape.ring import Plane2
from moldplan.shape.seat import Build
from moldplan.shape.stack import Lift, lifts, slabs
from moldplan.spec.sole import Hatch

THINNEST = 3.0  # mm: a mold's lift thinner than that is no sheet but filler under the line its top is dressed to


def mold_bodies(
    full: str, path: Path, one: Hatch, made: frames.FrameMade, at: Frame, build: Build, stock: Stock, *, start: float
) -> tuple[list[Body], dict[str, list[Body]], dict[str, tuple[Plane2, ...]]]:
    """The mold's pieces, the sheets each is built up of, from the table's face on, and where each is screwed to it."""
    pieces = [
        *molds.strips(one, made.levels, made.runs, build, start=start),
        *molds.sump_discs(one, made.levels, made.runs, build, start=start),
        molds.centre_block(one, made.levels, build, start=start),
    ]
    if one.mold == "frame":
        pieces += molds.fences(one, start=start, build=build, thickness=stock.true_thickness)
        pieces.insert(0, molds.table(one, pieces, start=start, build=build, thickness=stock.true_thickness))
    else:
        pieces = pieces[:-1]
    bodies, sheets, screws = [], {}, {}
    for piece in pieces:
        name = f"{full} {piece.name}"
        notes = (_height_words(piece, one.gutter.root_radius, build),) if piece.heights else ()
        bodies.append(
            Body(
                name=name,
                kind="mold",
                shaped=piece.shaped.moved(at),
                part=full,
                path=path,
                frame=at,
                density=stock.density,
                notes=(*notes, *piece.notes),
            )
        )
        sheets[name] = _sheets(name, full, path, one, piece, at, stock, frames.table_level(start, build), notes)
        screws[name] = piece.screws
    return bodies, sheets, screws


def _height_words(piece: molds.MoldPiece, root: float, build: Build) -> str:
    """How a strip's top is dressed; `root`: of the gutter, finished: paint makes it smaller than what is molded."""
    spots = ", ".join(f"{height:.1f} at {place:.0f}" for place, height in piece.heights)
    edges = f", its long upper edges rounded to R {plain(root + build.paint, 1)}" if root > 0 else ""
    return f"height over the table, mm along its length: {spots}; dress its top to that line{edges}"


def _sheets(
    name: str, full: str, path: Path, one: Hatch, piece: molds.MoldPiece, at: Frame, stock: Stock, table: float,
    notes: tuple[str, ...],
) -> list[Body]:  # fmt: skip
    """Lifts of one piece. In the mold the table is below, so a lift's face up looks down in the boat.

    A sump's disc is turned from whatever scrap is that thick: it has no sheets.
    """
    if piece.role == "sump disc":
        return []
    lowest, highest = levels_of(piece.shaped.solid)
    turned = Frame((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, -1.0))
    low, high = (-highest if piece.role == "table" else table), -lowest
    flipped = piece.shaped.moved(turned)  # y turns over with z: the frame is its own inverse
    made, packers, thin = _pile(flipped, low, high, stock, block=piece.role == "centre block")
    shortest = table + min((height for _, height in piece.heights), default=high - table)
    filled = 0.0 if packers else high - made[-1].high
    over = (f"the last {filled:.1f} mm over it are built up with filler",) if filled > 0.05 else ()

    def told(k: int, top: float) -> tuple[str, ...]:
        """Which sheet it is; where the floor's line reaches into it, that line."""
        return (*(("counted from the table up",) if len(made) > 1 else ()), *(notes if top > shortest + 0.05 else ()),
                *piece.notes, *(over if k == len(made) else ()))

    def body(word: str, k: int, lift: Lift, **more: Any) -> Body:
        return Body(name=f"{name} {word} {k}", shaped=lift.shaped.moved(turned).moved(at), part=full, path=path,
                    frame=at.inside(turned).inside(Frame((0.0, 0.0, lift.low))), **more)

    pile = [body("sheet", k, lift, kind="mold sheet", stock=one.mold_stock, thickness=lift.high - lift.low,
                 density=stock.density, notes=told(k, lift.high)) for k, lift in enumerate(made, 1)]
    screws = [at.place((x, y, 0.0)) for x, y in piece.screws]
    return [
        *doweled(pile, keep_top=not packers, clear_of=screws),  # the uppermost face molds, unless packers lie on it
        *(body("packer", k, lift, kind="packer", thickness=thick,
               notes=(f"a packer {thick:g} mm thick, over {len(made)} whole sheets from the table up",))
          for k, (lift, thick) in enumerate(zip(packers, thin, strict=True), 1)),
    ]  # fmt: skip


def _pile(
    flipped: Shaped, low: float, high: float, stock: Stock, *, block: bool
) -> tuple[list[Lift], tuple[Lift, ...], tuple[float, ...]]:
    """Whole sheets of a piece, the packers over them, and how thick these are: only a block is made up with packers,
    for a strip's top follows the floor and is dressed."""
    pile = lifts(flipped, low=low, high=high, sheet=stock.true_thickness)
    thin = stack(high - low, sheet=stock.true_thickness, packers=stock.packers).packers if block else ()
    packers = _packers(pile[-1], thin) if thin else ()
    whole = pile[:-1] if packers else pile
    return [lift for lift in whole if lift.high - lift.low >= THINNEST], packers, thin


def _packers(rest: Lift, thin: Sequence[float]) -> tuple[Lift, ...]:
    """What whole sheets leave of a block, as the packers it is made up with, the thickest first."""
    return slabs(rest.shaped, [rest.low, *(rest.low + height for height in accumulate(thin[:-1])), rest.high])


def break_out(pieces: list[Body]) -> tuple[tuple[str, ...], ...]:
    """The order pieces leave the cured molding in: fences and table first, then the block, corners, sides, and last
    what lies under the strips."""

    def named(*words: str) -> tuple[str, ...]:
        return tuple(p.name for p in pieces if any(p.name.endswith(w) for w in words))

    words = ("fence", " table", "centre block", "corner", " side", "sump disc")
    groups = tuple(named(word) for word in words)
    return tuple(g for g in groups if g)
