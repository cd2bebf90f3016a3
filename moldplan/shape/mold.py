"""The mold of a hatch frame, upside down on a table: strips that make the gutter, a centre block, a fence, a table.

In       a resolved Hatch, the levels and runs of its frame, the sheets it is cut from.
Out      MoldPieces in the hatch's own axes (the boat's way up: the table is on top), with the roles "molding ...".
Not here the molding itself (hatch.py), how it lets go (check/).

Every molding face is M. The table's face is M of the flange and of the sole's surface, so its level is `start` + paint.
A strip's height follows the gutter's floor: it is tapered along its length. The hollow corners between strip and table
(the rim) and between strip and centre block (the landing's edge) are made with corner radius medium.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from moldplan.shape import screws
from moldplan.shape.body import Frame as Axes
from moldplan.shape.body import Shaped, block, levels_of
from moldplan.shape.face_line import moved
from moldplan.shape.hatch import (
    Levels,
    Runs,
    channel,
    finished_line,
    gutter_round,
    offsets,
    sump_cup,
    table_level,
)
from moldplan.shape.lid import rounded_plate
from moldplan.shape.ring import Plane2, Ring, Section, sweep
from moldplan.shape.seat import Build
from moldplan.spec.sole import Hatch

MARGIN = 40.0  # mm the table and the laminate go beyond the trim line; common practice 20 to 50

SIDES = (
    "forward side",
    "forward port corner",
    "port side",
    "aft port corner",
    "aft side",
    "aft starboard corner",
    "starboard side",
    "forward starboard corner",
)


@dataclass(frozen=True, kw_only=True)
class MoldPiece:
    """One piece of a mold, in the hatch's own axes. `heights`: of a strip over the table at its two ends, and where its
    floor turns between, along its length [(place, height)]. `screws`: where it is screwed to the table, in plan."""

    name: str
    role: str  # table, fence, centre block, strip
    shaped: Shaped
    heights: tuple[tuple[float, float], ...] = ()
    screws: tuple[Plane2, ...] = ()
    notes: tuple[str, ...] = ()


def strips(hatch: Hatch, made: Levels, way: Runs, build: Build, *, start: float) -> list[MoldPiece]:
    """The gutter's strips: one a side and one a corner, in the order of the way; a side that is all corner has none."""
    ring, found = way.ring, []
    marks = ring.bounds

    def at(s: float) -> Section:
        return channel(hatch, made, build, way.level(s), start=start, by=build.paint)

    middle = sum(line.start[0] + line.end[0] for line in at(0.0) if line.role == "on the table") / 2
    spans = [(marks[-2], marks[-1] + marks[1]), *zip(marks[1:-2], marks[2:-1], strict=True)]
    for name, (low, high) in zip(SIDES, spans, strict=True):
        if high - low < 1e-6:
            continue
        kinks = [k + n * ring.whole for k in way.kinks for n in (0, 1) if low < k + n * ring.whole < high]
        heights = tuple((place - low, way.level(place) - start) for place in (low, *sorted(kinks), high))
        # a corner is shorter or longer under its strip's middle than on the way
        scale = (ring.radius + middle) / (ring.radius + ring.off) if "corner" in name else 1.0
        spots = tuple(ring.place(low + s / scale, (middle, 0.0))[:2] for s in screws.along((high - low) * scale))
        shaped = sweep(ring, at, breaks=way.kinks, span=(low, high))
        found.append(MoldPiece(name=name, role="strip", heights=heights, shaped=shaped, screws=spots))
    return found


def sump_discs(hatch: Hatch, made: Levels, way: Runs, build: Build, *, start: float) -> list[MoldPiece]:
    """A disc under the strip for each sump, its rim feathered out on the strip's roundings."""
    found = []
    for name, drain in hatch.drains.items():
        if drain.sump:
            disc = sump_cup(hatch, made, way, drain, by=build.paint, role="molding sump")
            own = ("molding sump", "molding sump root")
            disc = disc.renamed({"molding sump floor": "molding floor", **{role: role for role in own}})
            strip = gutter_round(hatch, made, way, build, drain, start=start, by=build.paint)
            made_disc = disc.cut(strip.renamed({}))  # the faces it touches the strip by mold nothing
            found.append(MoldPiece(name=f"{name} sump disc", role="sump disc", shaped=made_disc))
    return found


def centre_block(hatch: Hatch, made: Levels, build: Build, *, start: float) -> MoldPiece:
    """The block that makes the landing, between the strips; with an upstand it is a ring, which the laminate turns
    down inside of."""
    length, width = hatch.clear_opening
    line, radii = finished_line(hatch, made, made.high, start=start, trim=build.paint, build=build)
    face, bent = moved(line, radii, build.paint)
    edge = face[2 if hatch.upstand else 1]
    out, level = edge[0], edge[1]
    body = rounded_plate(
        length + 2 * out, width + 2 * out, hatch.corner_radius + out, (level, -table_level(start, build))
    )
    body = body.renamed({"underside": "molding landing", "top": "on the table", "side": "against the strips"})
    spots = screws.grid(length + 2 * out, width + 2 * out, hatch.corner_radius + out)
    if hatch.upstand:
        inner = face[1][0]
        hollow = rounded_plate(
            length + 2 * inner,
            width + 2 * inner,
            hatch.corner_radius + inner,
            (level, 60.0),
            grow=-(60.0 - level) * math.tan(math.radians(hatch.gutter.draft)),
        )
        body = body.cut(hollow.renamed({"side": "molding upstand"}))
        upstand = set(body.faces("molding upstand"))
        edges = [e for f in body.faces("molding landing") for e in f.Edges()
                 if any(e.isSame(g) for u in upstand for g in u.Edges())]
        body = body.rounded(edges, bent[1], "molding upstand root")
        lean = (-table_level(start, build) - level) * math.tan(math.radians(hatch.gutter.draft))
        middle = (out + inner - lean) / 2
        way = Ring(length=length, width=width, radius=hatch.corner_radius, off=middle)
        spots = screws.round_about(way.whole, lambda s: way.place(s, (middle, 0.0))[:2])
    return MoldPiece(name="centre block", role="centre block", shaped=body, screws=spots)


def table(hatch: Hatch, pieces: Sequence[MoldPiece], *, start: float, build: Build, thickness: float) -> MoldPiece:
    """The board everything stands on, as a rectangle, bored from its back for the screws of what stands on it."""
    length, width = (size + 2 * (offsets(hatch).flange + MARGIN + thickness) for size in hatch.clear_opening)
    low = -table_level(start, build)
    face = block(length, width, thickness).renamed({"underside": "molding flange", "top": "back"})
    face = face.moved(Axes((-length / 2, -width / 2, low)))
    places = [spot for piece in pieces for spot in piece.screws]
    least = min(low - levels_of(piece.shaped.solid)[0] for piece in pieces if piece.screws)
    return MoldPiece(
        name="table",
        role="table",
        shaped=screws.bored(face, places, back=low + thickness, thickness=thickness),
        notes=(screws.said(len(places), thickness=thickness, least=least),),
    )


def fences(hatch: Hatch, *, start: float, build: Build, thickness: float) -> list[MoldPiece]:
    """Four battens on the table outside the trim line, as a dam."""
    out = offsets(hatch).flange + MARGIN
    length, width = (size + 2 * out for size in hatch.clear_opening)
    low = -table_level(start, build) - thickness
    found = []
    for name, size, at in (
        ("forward fence", (thickness, width + 2 * thickness), (length / 2, -width / 2 - thickness)),
        ("aft fence", (thickness, width + 2 * thickness), (-length / 2 - thickness, -width / 2 - thickness)),
        ("port fence", (length, thickness), (-length / 2, width / 2)),
        ("starboard fence", (length, thickness), (-length / 2, -width / 2 - thickness)),
    ):
        long = 0 if size[0] > size[1] else 1
        middle = (at[0] + size[0] / 2, at[1] + size[1] / 2)
        spots = tuple((at[0] + s, middle[1]) if long == 0 else (middle[0], at[1] + s) for s in screws.along(size[long]))
        shaped = block(size[0], size[1], thickness).moved(Axes((at[0], at[1], low)))
        found.append(MoldPiece(name=name, role="fence", shaped=shaped, screws=spots))
    return found


def medium_volume(hatch: Hatch, made: Levels, build: Build, *, start: float) -> float:
    """Corner radius medium for the rim and the landing's edge [mL], molded, all round.

    Between a circle of radius r and a corner of angle w that it touches lie r2 (1 / tan(w/2) - (pi - w) / 2).
    """
    line, radii = finished_line(hatch, made, made.high, start=start, trim=build.paint, build=build)
    face, bent = moved(line, radii, build.paint)
    first = 2 if hatch.upstand else 1  # the landing's outer edge; the rim is three on
    half = math.radians(90 + hatch.gutter.draft) / 2
    whole = 0.0
    for k in (first, first + 3):
        area = bent[k] ** 2 * (1 / math.tan(half) - math.pi / 2 + half)
        length, width = (size + 2 * face[k][0] for size in hatch.clear_opening)
        whole += area * (2 * (length + width) - (8 - 2 * math.pi) * (hatch.corner_radius + face[k][0]))
    return whole / 1000
