"""Bridges: short stretches of a small piece's outline that the cutter leaves thin, so that it stays in its sheet.

In       pieces as cut, the finished assembly, the cutter.
Out      the pieces with Outline.bridges filled in, or `loose`: why nothing holds them; the spacing they need.
Not here what lies against a wall (touching.py), findings (judge_bridges.py), files.

A bridge lies on a straight run of the outer outline, clear of every corner and relief, where nothing is fitted to the
edge. Free edges come first; then straight edges that laminate is laid against, which are sanded flush with a long
block; then free arcs of a large radius. An arc that mates or molds must be fair, and so must a round piece: no bridge
is put there. Of the places that are left those are taken whose least distance along the outline is greatest.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from moldplan.cut.bed import in_stages
from moldplan.cut.fits import least_rectangle, turns
from moldplan.cut.loop import length, segments
from moldplan.cut.piece import Loop, Outline, Piece, Point
from moldplan.cut.segment import Segment, from_point
from moldplan.cut.touching import FREE, MATES, MOLDS, REACH, Touching
from moldplan.errors import Fault, SpecFault
from moldplan.material.sheet import Sheets
from moldplan.material.stock import Stock
from moldplan.spec.model import Cutter

SMALL, NARROW = 300.0, 100.0  # under SMALL both ways, or under NARROW one way, a piece may fly; common practice [mm]
HOLDING = 2  # fewer bridges let a piece swing into the cutter; common practice, no source
SHORTEST = 3.0  # a bridge shorter than this breaks out of board; common practice, no source [mm]
WEB = 4.0  # of waste that must stay between a bridge and the next cut, or there is nothing to hold to; ours [mm]
LARGE = 5.0  # a free arc takes a bridge from a radius of so many bridges' lengths on; ours
STEP = 6.0  # between places tried along an edge [mm]


@dataclass(frozen=True)
class _Place:
    """A place for a bridge. `at`: its middle, along the outline; `spare`: from it to the nearer end of its run [mm]."""

    at: float
    spare: float
    ends: tuple[Point, Point]
    rank: int
    straight: bool


def small(outline: Outline) -> bool:
    """Whether a piece is so small or narrow that it may lift or fly when it is cut free."""
    long, short, _ = least_rectangle(outline.outer)
    return short < NARROW or long < SMALL


def loose_words(pieces: Iterable[Piece]) -> str:
    """The small pieces that no bridges hold, and why, those of one reason together."""
    why: dict[str, list[str]] = {}
    for piece in pieces:
        if piece.loose:
            why.setdefault(piece.loose, []).append(piece.id)
    return "; ".join(f"{', '.join(ids)} ({reason})" for reason, ids in why.items())


def height(cutter: Cutter, thickness: float) -> float:
    """How thick a bridge stays in a sheet of that thickness [mm]."""
    return min(cutter.bridge_height, thickness)


def spaced(pieces: Iterable[Piece], name: str, stock: Sheets | None, cutter: Cutter) -> Cutter:
    """The cutter for the pieces of one stock: with spacing and, where all of them still fit, margin wide enough for
    waste to stay beside their bridges, if they have any, and between pieces where sheets are cut in stages: what is
    cut later must not fall out with what was cut before."""
    own = [piece for piece in pieces if piece.stock == name]
    if not any(piece.cut.bridges for piece in own) and (stock is None or not in_stages(stock, cutter)):
        return cutter
    wide = cutter.model_copy(update={"spacing": max(cutter.spacing, 2 * cutter.diameter + WEB)})
    inside = wide.model_copy(update={"edge_margin": max(cutter.edge_margin, cutter.diameter + WEB)})
    return inside if stock is None or all(turns(piece, stock, inside) for piece in own) else wide


def on_outline(outer: Loop, ends: tuple[Point, Point]) -> Segment:
    """The stretch of an outline between a bridge's two ends: a line, or the arc it is part of."""
    a, b = ends
    under = min(segments(outer), key=lambda s: from_point(s, a) + from_point(s, b))
    if under.straight:
        return Segment(a, b)
    sweep = 2 * math.asin(min(1.0, math.dist(a, b) / 2 / under.radius))
    return Segment(a, b, math.copysign(math.tan(sweep / 4), under.bulge))


def bridged(pieces: Sequence[Piece], touching: Touching, stocks: Mapping[str, Stock], cutter: Cutter
            ) -> tuple[Piece, ...]:  # fmt: skip
    """The pieces, the small ones with their bridges. Raises SpecFault when bridges as asked for are thicker than the
    sheet of one of them."""
    done = []
    for piece in pieces:
        if not small(piece.cut):
            done.append(piece)
            continue
        _refuse_thick(piece, stocks[piece.stock], cutter)
        ends, loose = _bridges(piece, touching, cutter)
        done.append(replace(piece, cut=replace(piece.cut, bridges=ends), loose=loose))
    return tuple(done)


def _refuse_thick(piece: Piece, stock: Stock, cutter: Cutter) -> None:
    """Raises SpecFault for a height that the spec states and no sheet has; the default gives way to a thin sheet."""
    asked = cutter.bridges and "bridge_height" in cutter.model_fields_set
    if asked and cutter.bridge_height > stock.true_thickness:
        raise SpecFault([Fault(("cutter", "bridge_height"), cutter.bridge_height, f"at most {stock.true_thickness:g}",
                               f"{piece.body} is cut from {piece.stock}, {stock.true_thickness:g} mm thick")])


def _bridges(piece: Piece, touching: Touching, cutter: Cutter) -> tuple[tuple[tuple[Point, Point], ...], str]:
    """The bridges of a small piece; and why they do not hold it where they do not."""
    if not cutter.bridges:
        return (), "none are asked for"
    whole = length(piece.cut.outer)
    places = _places(piece, touching, cutter)
    apart = cutter.bridge_length + 2 * cutter.diameter
    best: list[_Place] = []
    for choice in _choices(places):
        found = spread(choice, cutter.bridges, whole=whole, apart=apart)
        best = found if len(found) > len(best) else best
        if len(best) >= min(HOLDING, cutter.bridges):
            return tuple(place.ends for place in best), ""
    return tuple(place.ends for place in best), _why_not(piece.cut.outer, places, cutter)


def _choices(places: Sequence[_Place]) -> list[list[_Place]]:
    """Which places to take, the most welcome first."""
    straight = [p for p in places if p.straight and p.rank < MATES]
    free_arcs = [p for p in places if not p.straight and p.rank == FREE]
    return [[p for p in straight if p.rank == FREE], straight, sorted([*straight, *free_arcs], key=lambda p: p.at)]


def _why_not(outer: Loop, places: Sequence[_Place], cutter: Cutter) -> str:
    """Why fewer bridges than hold a piece find a place."""
    if outer.circle is not None or all(not s.straight for s in segments(outer)):
        return "round: the edge must be fair"
    ranks = {p.rank for p in places if p.straight}
    if not ranks:
        return f"no straight edge of {_run(cutter):g} mm"
    if ranks == {MATES}:
        return "their straight edges are fitted to other pieces, and arcs must be fair"
    return "room for one bridge only"


def _run(cutter: Cutter) -> float:
    """The shortest edge that takes a bridge: clear of the corners by the cutter's width at either end [mm]."""
    return cutter.bridge_length + 2 * cutter.diameter


def _places(piece: Piece, touching: Touching, cutter: Cutter) -> list[_Place]:
    """All places along the edges that are long enough, each with the worst that lies against it."""
    outer = piece.cut.outer
    if outer.circle is not None:
        return []
    half = cutter.bridge_length / 2
    runs: list[tuple[float, float, Segment]] = []  # how far along the outline it begins, the place's middle in it
    begun = 0.0
    for s in segments(outer):
        free = s.length - _run(cutter)
        if free >= 0 and (s.straight or s.radius >= LARGE * cutter.bridge_length):
            steps = max(2, 2 * math.ceil(free / 2 / STEP))  # an even number, so that the middle is tried
            runs += [(begun, _run(cutter) / 2 + free * k / steps, s) for k in range(steps + 1)]
        begun += s.length
    # so near to each other that no wall which meets the edge slips through between two
    many = math.ceil((cutter.bridge_length + 2) / (2 * REACH)) + 1
    offs = [(half + 1) * (2 * k / (many - 1) - 1) for k in range(many)]
    spots = [_spot(s, at + off) for _, at, s in runs for off in offs]
    worst = touching.worst(piece, spots) if spots and not piece.scribe else [FREE] * len(spots)  # all is trimmed off
    at_each = [max(worst[many * k : many * (k + 1)]) for k in range(len(runs))]
    molding = {s for (_, _, s), rank in zip(runs, at_each, strict=True) if rank == MOLDS}  # all of it, if any
    found = []
    for (begins, at, s), rank in zip(runs, at_each, strict=True):
        ends = (s.at((at - half) / s.length), s.at((at + half) / s.length))
        found.append(_Place(begins + at, min(at, s.length - at), ends,
                            max(rank, MOLDS) if s in molding else rank, s.straight))  # fmt: skip
    return found


def _spot(s: Segment, along: float) -> tuple[Point, Point]:
    """A place on an edge and the way out there: to the right, for the outer outline runs counter-clockwise."""
    share = along / s.length
    x, y = s.heading(share)
    return s.at(share), (y, -x)


def spread(places: Sequence[_Place], most: int, *, whole: float, apart: float) -> list[_Place]:
    """At most so many of the places, as many as lie `apart` [mm] along an outline `whole` [mm] round, and of these
    choices the one whose least distance is greatest (to a hundredth of a millimetre)."""
    for count in range(min(most, len(places)), 1, -1):
        best = _widest(places, count, whole, apart)
        if best:
            return best
    return [max(places, key=lambda p: (p.spare, -p.at))] if places and most else []


def _widest(places: Sequence[_Place], count: int, whole: float, apart: float) -> list[_Place]:
    """So many places at least `apart`, as far from each other as can be; none when they are not to be had."""
    ats = [p.at for p in places]
    low, high, best = apart, whole / count + 0.02, _taken(ats, count, apart, whole)
    if not best:
        return []
    while high - low > 0.01:
        tried = (low + high) / 2
        found = _taken(ats, count, tried, whole)
        low, high, best = (tried, high, found) if found else (low, tried, best)
    return max((_picked(places, pick) for pick in best), key=lambda those: round(sum(p.spare for p in those), 3))


def _picked(places: Sequence[_Place], pick: Sequence[int]) -> list[_Place]:
    return [places[k] for k in pick]


def _taken(ats: Sequence[float], count: int, apart: float, whole: float) -> list[list[int]]:
    """Every way to start and then take the next place that is far enough, where `count` of them fit round."""
    found = []
    for first, start in enumerate(ats):
        if start > ats[0] + whole - apart * (count - 1):
            break
        pick = [first]
        while len(pick) < count:
            after = bisect_left(ats, ats[pick[-1]] + apart - 1e-9)
            if after == len(ats):
                break
            pick.append(after)
        if len(pick) == count and start + whole - ats[pick[-1]] >= apart - 1e-9:
            found.append(pick)
    return found
