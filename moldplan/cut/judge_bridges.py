"""What must hold of the bridges that keep small pieces in their sheets, measured on the finished plan.

In       pieces with their bridges, the assembly; sheets.
Out      Findings: none where none may be, as many as hold a piece, waste beside each.
Not here where they go (bridges.py). Nothing of its reasoning is used: outlines are sampled, and what a wall lies
against is asked of the kernel's solids.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from moldplan.cut.bridges import HOLDING, LARGE, SHORTEST, WEB, loose_words, on_outline, small
from moldplan.cut.judge import finer
from moldplan.cut.loop import loops_apart, moved, on_sheet, segments
from moldplan.cut.piece import Layout, Loop, Piece, Point, Sheet
from moldplan.cut.segment import from_point
from moldplan.cut.touching import FREE, MOLDS, REACH, SOLID, WITHIN, Box, levels, meeting
from moldplan.finding import Edit, Finding, Move, Source
from moldplan.shape.assembly import Assembly
from moldplan.shape.body import Body, Vector, levels_of, loose_box
from moldplan.spec.model import Cutter

if TYPE_CHECKING:
    from OCP.BRepClass3d import BRepClass3d_SolidClassifier

PROBE = 0.9 * REACH  # how far outside the wall it is looked: nothing that a piece is fitted to is thinner [mm]
ON = 0.01  # a bridge lies on the cut when it leaves it by no more [mm]
PRACTICE = Source(document="common practice", clause="bridges of small pieces", how_read="practice")


def judged_bridges(pieces: Iterable[Piece], assembly: Assembly, cutter: Cutter) -> tuple[Finding, ...]:
    """For each part with small pieces: bridges where none may be, and pieces that too few of them hold."""
    parts: dict[str, list[Piece]] = {}
    for piece in pieces:
        if cutter.bridges and small(piece.cut):
            parts.setdefault(piece.part, []).append(piece)
    beside = _Beside(assembly)
    found = []
    for part, own in parts.items():
        if any(piece.cut.bridges for piece in own):
            found.append(_misplaced(part, own, beside, cutter))
        found.append(_held(part, own, cutter))
    return tuple(found)


def _misplaced(part: str, pieces: Sequence[Piece], beside: _Beside, cutter: Cutter) -> Finding:
    wrong = [f"{piece.id}: one {why}" for piece in pieces for ends in piece.cut.bridges
             if (why := _fault(piece, ends, beside, cutter))]  # fmt: skip
    return Finding(
        check="cut", part=part, what="bridges on a mating edge, a corner or an arc that must be fair",
        measured=float(len(wrong)), limit=0.0, sense="at_most", unit="bridges", counted=True, source=PRACTICE,
        path=("cutter", "bridges"), note="; ".join(wrong[:5]), moves=(*_shorter(cutter), *_without(cutter)),
    )  # fmt: skip


def _held(part: str, pieces: Sequence[Piece], cutter: Cutter) -> Finding:
    """Pieces that fewer than two bridges hold; those that have no place for two are named, and held down by hand."""
    few = [p for p in pieces if len(p.cut.bridges) < HOLDING]
    lost = [p for p in few if not p.loose or _room(p, cutter)]
    bare = loose_words(p for p in few if p not in lost)
    more = (Move("ask for {to} bridges", (Edit(("cutter", "bridges"), max(4, HOLDING)),)),)
    return Finding(
        check="cut", part=part, what="small pieces that bridges do not hold", measured=float(len(lost)), limit=0.0,
        sense="at_most", unit="pieces", counted=True, source=PRACTICE, path=("cutter", "bridges"),
        moves=(*(more if cutter.bridges < HOLDING else ()), *_shorter(cutter)),
        note="; ".join([*(f"{p.id} has {len(p.cut.bridges)}" for p in lost), *([f"hold down {bare}"] if bare else [])]),
        skipped=None if lost or len(few) < len(pieces) else f"hold down {bare}",
    )  # fmt: skip


def _room(piece: Piece, cutter: Cutter) -> bool:
    """Whether a shorter bridge would find an edge that the one asked for does not."""
    shorter = SHORTEST + 2 * cutter.diameter
    return piece.loose.startswith("no straight edge") and any(
        s.straight and s.length >= shorter for s in segments(piece.cut.outer))  # fmt: skip


def _shorter(cutter: Cutter) -> tuple[Move, ...]:
    """Half as long, a quarter as long, and so on."""
    lengths = dict.fromkeys(max(SHORTEST, round(cutter.bridge_length / 2**k, 1)) for k in range(1, 6))
    return tuple(Move("make the bridges {to} mm long", (Edit(("cutter", "bridge_length"), to),))
                 for to in lengths if to < cutter.bridge_length)


def _without(cutter: Cutter) -> tuple[Move, ...]:
    return (Move("leave the bridges out, and hold small pieces down", (Edit(("cutter", "bridges"), 0),)),)


def _fault(piece: Piece, ends: tuple[Point, Point], beside: _Beside, cutter: Cutter) -> str:
    """What is wrong with one bridge, or nothing."""
    outer = piece.cut.outer
    stretch = on_outline(outer, ends)
    walk = segments(outer)
    spots = [stretch.at(k / 8) for k in range(9)]
    if max(min(from_point(s, p) for s in walk) for p in spots) > ON:
        return "lies off the outline"
    corners = [] if outer.circle is not None else [s.start for s in walk]
    if min([math.inf, *(math.dist(corner, p) for corner in corners for p in spots)]) < cutter.diameter / 2:
        return "lies on a corner"
    curved = outer.circle is not None or not stretch.straight
    if curved and (outer.circle is not None or stretch.radius < (LARGE - 0.01) * cutter.bridge_length):
        return "lies on an arc that must be fair"
    met = "" if piece.scribe else beside.met(piece, ends, tools=curved)  # a rough edge is trimmed off
    if met:
        return f"lies on {'an arc' if curved else 'an edge'} that meets {met}"
    return ""


class _Beside:
    """What lies against a stretch of a piece's wall: points just outside it, asked of the kernel's solids."""

    def __init__(self, assembly: Assembly) -> None:
        self._bodies = {body.name: body for body in assembly.of_kind(*SOLID)}
        self._boxes = {name: loose_box(body.solid) for name, body in self._bodies.items()}
        self._spans: dict[str, tuple[float, float]] = {}
        self._askers: dict[str, list[BRepClass3d_SolidClassifier]] = {}

    def met(self, piece: Piece, ends: tuple[Point, Point], *, tools: bool) -> str:
        """The first body that the wall of any copy lies against there; laminate on a tool only where asked for."""
        for name, laid in zip(piece.bodies, piece.laid, strict=True):
            body = self._bodies[name]
            probes = _probes(body, self._span(body), ends, laid, mirrored=piece.up == "underside")
            walls = [(outside, behind) for outside, behind in probes if self._holds(body, behind)]
            for other in self._bodies.values():
                means = meeting(body, other)
                if other is body or means == FREE or (means == MOLDS and not tools):
                    continue
                for outside, behind in walls:
                    near = _in_box(outside, self._boxes[other.name])
                    if any(self._holds(other, p) for p in near) and not self._holds(other, behind):
                        return other.name
        return ""

    def _span(self, body: Body) -> tuple[float, float]:
        """Lowest and highest corner of a body along its sheet's normal [mm]."""
        if body.name not in self._spans:
            self._spans[body.name] = levels_of(body.solid.moved(body.frame.location.inverse))
        return self._spans[body.name]

    def _holds(self, body: Body, point: Vector) -> bool:
        """Whether a point lies inside a body."""
        from OCP.BRepClass3d import BRepClass3d_SolidClassifier
        from OCP.gp import gp_Pnt
        from OCP.TopAbs import TopAbs_State

        if body.name not in self._askers:
            self._askers[body.name] = [BRepClass3d_SolidClassifier(solid.wrapped) for solid in body.solid.Solids()]
        for asker in self._askers[body.name]:
            asker.Perform(gp_Pnt(*point), 1e-6)
            if asker.State() == TopAbs_State.TopAbs_IN:
                return True
        return False


def _in_box(points: Iterable[Vector], box: Box) -> list[Vector]:
    return [p for p in points if all(box[k] <= p[k] <= box[k + 3] for k in range(3))]


def _probes(body: Body, span: tuple[float, float], ends: tuple[Point, Point], laid: tuple[float, float, float], *,
            mirrored: bool) -> list[tuple[list[Vector], Vector]]:  # fmt: skip
    """For each level points just outside a body's wall over a bridge, and one behind it in the body, if it is there at
    all: a wedge has no wall on every level. In boat axes."""
    (ax, ay), (bx, by) = ends
    turn, x, y = laid
    back = Loop(((ax - x, ay - y, 0.0), (bx - x, by - y, 0.0), (ax - x + by - ay, ay - y + ax - bx, 0.0)))
    corners = [(-px if mirrored else px, py) for px, py, _ in moved(back, turn=-turn).vertices]
    (ax, ay), (bx, by), (ox, oy) = corners  # the third lies straight out from the first
    long = math.dist(*ends)
    ux, uy = (ox - ax) / long, (oy - ay) / long

    def at(share: float, out: float, z: float) -> Vector:
        return body.frame.place((ax + (bx - ax) * share + ux * out, ay + (by - ay) * share + uy * out, z))

    return [([at(share, PROBE, z) for share in (0.0, 0.5, 1.0)], at(0.5, -WITHIN, z)) for z in levels(span)]


def judged_waste(layout: Layout, pieces: Iterable[Piece], cutter: Cutter) -> tuple[Finding, ...]:
    """The least waste that stays between a bridge and the next cut, or the sheet's edge: what holds the piece."""
    table = {piece.id: piece for piece in pieces}
    found = [each for sheet in layout.sheets for each in _wastes(sheet, table, cutter)]
    if not found:
        return ()
    least, note = min(found)
    wider = (Edit(("cutter", "spacing"), 2 * cutter.diameter + WEB),
             Edit(("cutter", "edge_margin"), max(cutter.edge_margin, cutter.diameter + WEB)))  # fmt: skip
    return (
        Finding(
            check="sheets", part="all sheets", what="short of the waste that bridges need by",
            measured=max(0.0, WEB - least), limit=0.0, sense="at_most", unit="mm", path=("cutter", "spacing"),
            note=f"least waste {least:.2f} mm of {WEB:g} {note}",
            source=Source(document="our own assumption", how_read="ours"),
            moves=(Move("keep {to} mm between pieces", wider), *finer(cutter.diameter - (WEB - least), cutter),
                   *_without(cutter)),
        ),
    )  # fmt: skip


def _wastes(sheet: Sheet, table: Mapping[str, Piece], cutter: Cutter) -> list[tuple[float, str]]:
    """For each bridge of a sheet the waste beside it [mm], and where it is; what is far off counts as far."""
    cut = [(placed, on_sheet(table[placed.piece], placed)) for placed in sheet.placed]
    found = []
    for placed, outline in cut:
        for a, b in outline.bridges:
            stretch = Loop(((*a, 0.0), (*b, 0.0)))
            others = [loop for other, shape in cut if other is not placed for loop in (shape.outer, *shape.holes)]
            reach = 3 * cutter.diameter + 2 * WEB
            gap = min([reach, *(loops_apart(stretch, loop, up_to=reach) for loop in others)]) - 2 * cutter.diameter
            room = loops_apart(stretch, sheet.outline, up_to=reach) - cutter.diameter
            least = round(min(gap, room), 6)
            found.append((least, f"beside {placed.piece} {placed.copy} on {sheet.stock} sheet {sheet.number}"))
    return found
