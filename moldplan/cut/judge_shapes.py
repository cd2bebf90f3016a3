"""Whether the outlines to cut are those of the solids, and whether a mirrored set is whole; measured on the solids.

In       the assembly and its pieces.
Out      Findings.
Not here how an outline is found (flat.py), what must hold of it by itself (judge.py).

A body's shadow on its sheet is as large as the sum of its faces that look up, each as it is seen from above, as long as
no plumb line enters the body twice; where one does, the shadow is put together from the triangles one by one.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from moldplan.cut.loop import LEAST
from moldplan.cut.piece import Piece
from moldplan.finding import Edit, Finding, Move, Source
from moldplan.shape.assembly import Assembly
from moldplan.shape.body import Body
from moldplan.spec.model import Cutter

if TYPE_CHECKING:
    import numpy as np

NEAREST = 0.002  # mm, the least arc_tolerance of a cutter
FINE = 0.02  # mm, of the triangles: their area is off by under two thirds of it along the outline
OURS = Source(document="our own assumption", how_read="ours")


def judged_shapes(assembly: Assembly, pieces: Iterable[Piece], cutter: Cutter) -> tuple[Finding, ...]:
    """Findings on all pieces together; none where there are none."""
    pieces = tuple(pieces)
    if not pieces:
        return ()
    return (_areas(assembly, pieces, cutter), *_sets(assembly, pieces))


def _areas(assembly: Assembly, pieces: Sequence[Piece], cutter: Cutter) -> Finding:
    """By how much the worst outline is off its solid's shadow, as the difference of their areas over its length."""
    off, who, count = 0.0, "", 0
    for body, own in _bodies(assembly, pieces):
        count += 1
        cut = sum(piece.area * piece.bodies.count(body.name) for piece in own)
        along = sum(piece.outline_length * piece.bodies.count(body.name) for piece in own)
        far = _off(body, cut, along)
        if far >= off:
            off, who = far, f"{own[0].id}, {body.name}"
    left = sum(any("shaped after cutting" in note for note in piece.notes) for piece in pieces)
    by_hand = f"; {left} that are shaped by hand after cutting are not among them" if left else ""
    return Finding(
        check="cut", part="all pieces", what="outline off the shadow of its solid, on average", measured=round(off, 4),
        limit=LEAST, sense="at_most", unit="mm", source=OURS, path=("cutter",),
        note=f"most on {who} of {count} looked at{by_hand}" if count else f"none looked at{by_hand}",
        moves=_nearer(cutter),
    )  # fmt: skip


def _nearer(cutter: Cutter) -> tuple[Move, ...]:
    """Arcs that keep nearer to the curves, as near as the spec may ask for."""
    if cutter.arc_tolerance <= NEAREST:
        return ()
    return (Move("let arcs keep within {to} mm of their curves", (Edit(("cutter", "arc_tolerance"), NEAREST),)),)


def _bodies(assembly: Assembly, pieces: Sequence[Piece]) -> Iterator[tuple[Body, list[Piece]]]:
    """One body of each kind of piece, with all pieces that it falls into."""
    seen: set[str] = set()
    for piece in pieces:
        if piece.id in seen or any("shaped after cutting" in note for note in piece.notes):
            continue
        body = assembly.bodies[piece.bodies[0]]
        own = [each for each in pieces if body.name in each.bodies]
        seen |= {each.id for each in own}
        yield body, own


def _off(body: Body, cut: float, along: float) -> float:
    """The difference of an area to the body's shadow, over a length [mm]."""
    from moldplan.shape.mesh import mesh

    vertices, triangles, _ = mesh(body.solid.moved(body.frame.location.inverse), tolerance=FINE)
    corners = vertices[triangles][:, :, :2]
    a, b = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    seen = (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]) / 2
    off = abs(cut - float(seen[seen > 0].sum())) / along
    return off if off <= LEAST else abs(cut - _united(corners[seen > 1e-6])) / along


def _united(corners: np.ndarray) -> float:
    import shapely

    return float(shapely.union_all(shapely.polygons(corners), grid_size=1e-5).area)


def _sets(assembly: Assembly, pieces: Sequence[Piece]) -> Iterator[Finding]:
    """Of sets made for both hands: bodies to cut whose fellow is not cut, or is not as large."""
    cut = {body.name: 0.0 for body in assembly.bodies.values() if body.stock is not None}
    for piece in pieces:
        for name in piece.bodies:
            cut[name] += piece.area
    twins = {name: name.removesuffix(f" ({hand})") + f" ({other})" for name in cut
             for hand, other in (("port", "starboard"), ("starboard", "port")) if name.endswith(f" ({hand})")}
    if not twins:
        return
    odd = [name for name, twin in twins.items()
           if not cut[name] or abs(cut[name] - cut.get(twin, 0.0)) > 1e-6 * cut[name]]
    yield Finding(
        check="cut", part="all pieces", what="missing of a mirrored set", measured=float(len(odd)), limit=0.0,
        sense="at_most", unit="pieces", source=Source(document="geometry", clause="counted", how_read="maths"),
        path=("cutter",), note=", ".join(odd[:5]) or f"{len(twins) // 2} pairs",
    )  # fmt: skip
