"""Inside corners opened by what seats in them.

In       pieces as flattened, the assembly, the cutter.
Out      the pieces with their reliefs: along the edge that nothing lies against where the other seats something.
Not here the reliefs themselves (relief.py), what lies against a wall (touching.py).

What seats against one edge of a corner bears on it to the very end: that edge stays whole, and the cutter goes into the
other. Against both edges, or against neither, the corner is opened between them, so that a square one goes in.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from moldplan.cut.drilled import drilled
from moldplan.cut.oversize import rough
from moldplan.cut.piece import Outline, Piece, Point
from moldplan.cut.relief import Relieved, Whole, relieved, tight
from moldplan.cut.segment import Segment
from moldplan.cut.touching import FREE, Touching
from moldplan.spec.model import Cutter

AT = (0.5, 1.0, 2.0)  # where an edge is looked at, in cutters from its corner; no farther than MOST of its length
MOST = 0.75


def opened(pieces: Sequence[Piece], touching: Touching, cutter: Cutter) -> tuple[Piece, ...]:
    """The pieces as they are cut: inside corners opened as the cutter's field says, scribed ones cut rough, round holes
    that the cutter is too wide for left to a drill."""
    return tuple(_opened(piece, touching, cutter) for piece in pieces)


def _opened(piece: Piece, touching: Touching, cutter: Cutter) -> Piece:
    style = "round" if cutter.corner_relief == "by fit" else cutter.corner_relief
    whole = _whole(piece, touching, cutter) if cutter.corner_relief == "by fit" else {}
    made = relieved(piece.outline, radius=cutter.diameter / 2, style=style, whole=whole)
    return replace(piece, cut=drilled(_cut(piece, made), diameter=cutter.diameter), corners=made.corners)


def _cut(piece: Piece, made: Relieved) -> Outline:
    """Of a piece that is scribed to the boat the openings only are relieved: its outer outline is cut rough and has
    none left to seat in."""
    return rough(replace(made.outline, outer=piece.outline.outer), piece.scribe) if piece.scribe else made.outline


def _whole(piece: Piece, touching: Touching, cutter: Cutter) -> dict[Point, Whole]:
    """The corners that something seats in against one edge only, and which edge that is."""
    corners = list(tight(piece.outline, radius=cutter.diameter / 2))
    spots = [spot for _, before, after in corners for spot in (*_spots(before, cutter, end=True),
                                                               *_spots(after, cutter, end=False))]  # fmt: skip
    ranks = iter(touching.worst(piece, spots) if spots else [])
    whole: dict[Point, Whole] = {}
    for corner, _, _ in corners:
        before, after = (max(next(ranks) for _ in AT) != FREE for _ in range(2))
        if before != after:
            whole[corner.at] = "before" if before else "after"
    return whole


def _spots(edge: Segment, cutter: Cutter, *, end: bool) -> list[tuple[Point, Point]]:
    """Places on an edge near its corner, and the ways out of the material there; the corner is at its end or start."""
    spots = []
    for cutters in AT:
        share = min(cutters * cutter.diameter / edge.length, MOST)
        share = 1 - share if end else share
        x, y = edge.heading(share)
        spots.append((edge.at(share), (y, -x)))
    return spots
