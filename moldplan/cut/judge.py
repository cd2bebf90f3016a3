"""What must hold of the sheets before they are cut, measured on the finished outlines.

In       a layout, its pieces, the cutter.
Out      Findings: margin, spacing, every copy once, corners, land beside reliefs, places too narrow for the cutter.
Not here measuring (room.py, relief.py, reach.py), placing (nest.py).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace

from moldplan.cut.drilled import drilled
from moldplan.cut.land import least_land
from moldplan.cut.loop import LEAST, area, holds_point, segments
from moldplan.cut.piece import Corner, Layout, Piece, Point
from moldplan.cut.reach import narrow
from moldplan.cut.room import READ, Gap, defect_gap, edge_room, least_gap, misplaced
from moldplan.cut.segment import from_point
from moldplan.finding import Edit, Finding, Move, Source
from moldplan.spec.model import Cutter

BITS = (12.0, 10.0, 8.0, 6.0, 5.0, 4.0, 3.0, 2.0, 1.5, 1.0)  # cutters in use [mm]; common practice, no source
LAND = 1.0  # least material beside a relief that does not break out [mm]
OURS = Source(document="our own assumption", how_read="ours")
ONE_CUT = Source(document="geometry", clause="between two pieces the cutter must pass", how_read="maths")
BOUND = Source(document="geometry", clause="lower bound by area and size", how_read="maths")


def judged_pieces(pieces: Iterable[Piece], cutter: Cutter) -> tuple[Finding, ...]:
    """Findings on the pieces by themselves: they need no layout."""
    pieces = tuple(pieces)
    found = [_spacing_of_cutter(cutter)] if pieces else []
    for piece in pieces:
        found += _narrow(piece, cutter)
        found += _reliefs(piece, cutter)
    return tuple(found)


def _name(piece: Piece) -> str:
    """The body's name, and which part of it where its sheet falls apart."""
    parts = [note.split(" of ")[0] for note in piece.notes if note.startswith("part ")]
    return " ".join([piece.body, *parts[:1]])


def judged_layout(layout: Layout, pieces: Iterable[Piece], cutter: Cutter) -> tuple[Finding, ...]:
    """Findings on the sheets: margin, spacing, every copy once, sheets against the lower bound."""
    pieces = tuple(pieces)
    if not pieces:
        return ()
    table = {piece.id: piece for piece in pieces}
    found = [_each_once(layout, pieces, cutter)]
    found.append(_margin(layout, table, cutter))
    found.append(_gap(layout, table, cutter))
    if any(sheet.defects for sheet in layout.sheets):
        found.append(_off_defects(layout, table, cutter))
    for stock, counts in layout.fewest.items():
        if counts["used"] > counts["lower_bound"]:
            found.append(_count(stock, counts["used"], counts["lower_bound"], cutter))
    return tuple(found)


def _each_once(layout: Layout, pieces: Sequence[Piece], cutter: Cutter) -> Finding:
    wrong = misplaced(layout, pieces)
    return Finding(
        check="sheets", part="all pieces", what="pieces not on exactly one sheet as drawn", measured=float(len(wrong)),
        limit=0.0, sense="at_most", unit="pieces", path=("cutter",), note="; ".join(wrong[:5]),
        source=Source(document="geometry", clause="counted", how_read="maths"), moves=_again(cutter),
    )  # fmt: skip


def _short(what: str, field: str, needed: float, distance: float, note: str, cutter: Cutter) -> Finding:
    """By how much the least distance on the sheets misses what the cutter's field asks: pieces are laid right on it, so
    that what counts is the shortfall."""
    return Finding(
        check="sheets", part="all sheets", what=f"short of {what} by",
        measured=max(0.0, round(needed - distance, READ)), limit=0.0, sense="at_most", unit="mm",
        source=Source.spec(f"cutter.{field}"), path=("cutter", field), note=note,
        moves=_again(cutter),
    )  # fmt: skip


def _margin(layout: Layout, table: Mapping[str, Piece], cutter: Cutter) -> Finding:
    """How far the worst piece is over the edge margin."""
    found = [(edge_room(sheet, table), sheet) for sheet in layout.sheets]
    room, sheet = min(found, key=lambda pair: pair[0].distance)
    note = (f"least distance from an edge {room.distance:.2f} mm of {cutter.edge_margin:g}: "
            f"{room.first} on {sheet.stock} sheet {sheet.number}")  # fmt: skip
    return _short("the edge margin", "edge_margin", cutter.edge_margin, room.distance, note, cutter)


def _gap(layout: Layout, table: Mapping[str, Piece], cutter: Cutter) -> Finding:
    """By how much the two nearest pieces are nearer than the spacing."""
    return _spaced(layout, table, cutter, least_gap, "the spacing", ("apart", "between pieces", "and"))


def _off_defects(layout: Layout, table: Mapping[str, Piece], cutter: Cutter) -> Finding:
    """By how much the worst piece is nearer to a spoilt place than the spacing."""
    words = ("off every defect", "from a defect", "from")
    return _spaced(layout, table, cutter, defect_gap, "the spacing from a defect", words)


def _spaced(layout: Layout, table: Mapping[str, Piece], cutter: Cutter, gap_of: Callable[..., Gap], what: str,
            words: tuple[str, str, str]) -> Finding:
    """The least gap over all sheets against the spacing; `words`: when there is none near, and of the nearest."""
    found = [(gap_of(sheet, table, within=cutter.spacing + 1), sheet) for sheet in layout.sheets]
    gap, sheet = min(found, key=lambda pair: pair[0].distance)
    if math.isinf(gap.distance):
        note = f"all pieces are more than {cutter.spacing + 1:g} mm {words[0]}"
    else:
        who = f"{gap.first} {words[2]} {gap.second} on {sheet.stock} sheet {sheet.number}"
        note = f"least distance {words[1]} {gap.distance:.2f} mm of {cutter.spacing:g}: {who}"
    return _short(what, "spacing", cutter.spacing, gap.distance, note, cutter)


def _again(cutter: Cutter) -> tuple[Move, ...]:
    """Another layout: no layout of ours should fail its own measure, so that no field of the spec is to blame."""
    emptier = (Move("leave the openings of pieces empty", (Edit(("cutter", "in_openings"), False),)),)
    longer = Move("let the layout take {to} s", (Edit(("cutter", "nest_seconds"), min(2 * cutter.nest_seconds, 3600)),))
    return (*(emptier if cutter.in_openings else ()), longer)


def _count(stock: str, used: int, bound: int, cutter: Cutter) -> Finding:
    return Finding(
        check="sheets", part=stock, what="sheets used", measured=float(used), limit=float(bound), sense="at_most",
        unit="sheets", path=("cutter", "nest_seconds"), source=BOUND,
        skipped=f"no layout can do with fewer than {bound}; whether {bound} can be reached is not known, "
        f"{cutter.nest_seconds:g} s of looking found {used}",
    )  # fmt: skip


def _spacing_of_cutter(cutter: Cutter) -> Finding:
    wider = Edit(("cutter", "spacing"), float(math.ceil(cutter.diameter)), 1.0)
    return Finding(
        check="sheets", part="cutter", what="spacing takes the cutter", measured=cutter.spacing, limit=cutter.diameter,
        sense="at_least", unit="mm", source=ONE_CUT, path=("cutter", "spacing"),
        moves=(Move("keep {to} mm between pieces", (wider,)),),
    )  # fmt: skip


def finer(most: float, cutter: Cutter) -> tuple[Move, ...]:
    """Smaller cutters as cures, the largest of those in use that are small enough and the next two."""
    fitting = [bit for bit in BITS if bit <= most and bit < cutter.diameter]
    return tuple(Move("use a cutter of {to} mm", (Edit(("cutter", "diameter"), bit),)) for bit in fitting[:3])


def _by_hand_instead(cutter: Cutter) -> tuple[Move, ...]:
    """Other ways with inside corners: along the longer edge, or left round for a chisel."""
    field = ("cutter", "corner_relief")
    along = (Move("open corners along the longer {to}", (Edit(field, "edge"),)),)
    left = Move("leave corners as round as the cutter, {to} opened, and square them by hand", (Edit(field, "none"),))
    return (*(along if cutter.corner_relief in ("round", "by fit") else ()), left)


def _narrow(piece: Piece, cutter: Cutter) -> list[Finding]:
    """One finding for a piece with places narrower than the cutter: the narrowest of them; what is drilled is none."""
    found = narrow(piece.outline, diameter=cutter.diameter)
    by_drill = {loop.circle[:2] for loop, _ in piece.cut.drilled if loop.circle}
    places = [place for place in found if place.at not in by_drill and not _by_hand(piece, place.at)]
    if not places:
        return []
    least = places[0]
    more = f"; {len(places)} such places" if len(places) > 1 else ""
    return [
        Finding(
            check="cut", part=piece.part, what=f"{_name(piece)}: width of its narrowest {least.what}",
            measured=least.width, limit=cutter.diameter, sense="at_least", unit="mm",
            source=Source.spec("cutter.diameter"), path=piece.path, tolerance=0.02, moves=finer(least.width, cutter),
            note=f"at {_spot(least.at)} on piece {piece.id}{more}",
        )
    ]  # fmt: skip


def _by_hand(piece: Piece, at: Point) -> bool:
    """Whether a place lies in a groove that is marked, and so is made by hand whatever the cutter leaves there."""
    outline = piece.outline
    cut = [*outline.holes, *(loop for loop, _ in (*outline.sinks, *outline.bores, *outline.under))]
    if any(holds_point(loop, at) or min(from_point(s, at) for s in segments(loop)) < 0.1 for loop in cut):
        return False
    half = abs(area(outline.outer)) / 2
    return any(holds_point(far, at) for far in outline.far if abs(area(far)) < half)


def _reliefs(piece: Piece, cutter: Cutter) -> list[Finding]:
    cut = replace(piece.cut, outer=piece.outline.outer, true=()) if piece.scribe else piece.cut  # a rough edge has none
    land, at = least_land(drilled(piece.outline, diameter=cutter.diameter), cut)
    found = []
    if math.isfinite(land):
        found.append(
            Finding(
                check="cut", part=piece.part, what=f"{_name(piece)}: material between a relief and the next cut",
                measured=land, limit=LAND, sense="at_least", unit="mm", source=OURS, path=piece.path,
                moves=(*finer(cutter.diameter - 1, cutter), *_by_hand_instead(cutter)),
                note=f"at {_spot(at)} on piece {piece.id}",
            )
        )  # fmt: skip
    left = [c for c in piece.corners if c.done == "none" and not _by_hand(piece, c.at)]
    if left and cutter.corner_relief != "none":
        found.append(_left_round(piece, left, cutter))
    return found


def _left_round(piece: Piece, left: Sequence[Corner], cutter: Cutter) -> Finding:
    worst = max(left, key=lambda corner: corner.left)
    return Finding(
        check="cut", part=piece.part, what=f"{_name(piece)}: waste left in an inside corner", measured=worst.left,
        limit=LEAST, sense="at_most", unit="mm", source=OURS, path=piece.path,
        moves=(*finer(cutter.diameter - 1, cutter), *_by_hand_instead(cutter)),
        note=f"{worst.reason}, at {_spot(worst.at)} on piece {piece.id}; square it by hand",
    )  # fmt: skip


def _spot(at: Point) -> str:
    return f"{at[0]:.1f}, {at[1]:.1f}"
