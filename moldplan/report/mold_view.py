"""The mold of a hatch frame apart, as it stands on the bench, with the order its pieces leave in.

In       a finished plan, one of its hatches.
Out      mold(): one A4 sheet.
Not here sections (frame_section.py), the sheets pieces are cut from (sheets.py).

The mold is upside down in the boat's sense: its table lies below. Pieces that leave together are lifted by one step,
those that leave last highest, next to the molding they come out of; fences stand off the table they are screwed to.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from moldplan.quantity import plain
from moldplan.report.annotate import A4, Column, Title, frame, free_area, table, view_arrow
from moldplan.report.drawing import TEXT, Drawing, Mark, Point, Text, View, polyline
from moldplan.report.picture import visible
from moldplan.report.place import placed
from moldplan.report.subject import Plan
from moldplan.shape.assembly import HatchPlace
from moldplan.shape.body import Body, Frame, Shaped, Vector

if TYPE_CHECKING:
    import cadquery as cq

WAY: Vector = (-0.55, -0.62, 0.56)  # towards the eye, in the mold's own axes
STEP = 0.32  # of the mold's length, by which each group is lifted above the one below
COLUMNS = (Column("no", 10, "end"), Column("out", 11, "end"), Column("piece", 48), Column("leaves", 27),
           Column("height over the table at [mm]", 66), Column("screws", 18, "end"))  # fmt: skip
HEADING = "Pieces, in the order they are set up; out: the order they leave in"
ASIDE = 0.1  # of the mold's length, by which fences stand off the table
OUTWARD = {"forward fence": (1, 0), "aft fence": (-1, 0), "port fence": (0, 1), "starboard fence": (0, -1)}
FLIP = Frame((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, -1.0))


def mold(plan: Plan, place: HatchPlace) -> Drawing:
    """The sheet of one hatch's mold."""
    (left, low), (right, high) = free_area(*A4)
    pieces = [plan.assembly.body(name) for name in place.mold]
    leaves = {name: k for k, group in enumerate(place.break_out, 1) for name in group}
    apart = [_apart(body, place, leaves) for body in pieces]
    rows = [_row(n, leaves.get(b.name, 1), b, place) for n, b in enumerate(pieces, 1)]
    told = _told(place)
    _, tall = table((left, high), right - left, HEADING, COLUMNS, rows)
    foot = low + len(told) * TEXT * 1.5 + 2
    under, _ = table((left, foot + tall), right - left, HEADING, COLUMNS, rows)
    heading = "Mold apart, upside down on its table, without scale"
    marks: list[Mark] = [Text((left, high - TEXT), heading, 4.2, bold=True)]
    sharp, _ = visible(apart, WAY)
    points = [p for run in sharp for p in run]
    view = _fitted(points, (left + 14, foot + tall + 8), (right - 66, high - 12))
    marks += [polyline([view(*p) for p in run]) for run in sorted(map(list, sharp)) if len(run) > 1]
    tips = [(view(*_seen(body)), f"{n} {_short(body, place)}, out {leaves.get(body.name, 1)}")
            for n, body in enumerate(apart, 1)]  # fmt: skip
    marks += _arrows(place, (left + 14, high - 24))
    marks += placed(marks, tips, column=right - 62, top=high - 14, low=foot + tall + 10)
    for k, words in enumerate(told):
        marks.append(Text((left, foot - (k + 1) * TEXT * 1.5), words))
    title = Title(title=plan.spec.title, part=place.name, drawing="Mold and break-out", revision=plan.spec.revision,
                  scale="none", hand="as drawn", units="mm")  # fmt: skip
    about = f"The pieces of the mold of {place.name} lifted apart, with the order they leave in."
    return Drawing(*A4, (*frame(*A4, title), *marks, *under), f"{place.name}: mold and break-out", about)


def _apart(body: Body, place: HatchPlace, leaves: Mapping[str, int]) -> Body:
    """A piece in the mold's own axes, the table below, lifted: what leaves last stands highest."""
    long, table = max(place.hatch.clear_opening), leaves.get(f"{place.name} table", 1)
    name = _short(body, place)
    x, y = OUTWARD.get(name, (0, 0))
    up = STEP * max(leaves.get(body.name, 1) - table, 0) + (ASIDE if name in OUTWARD else 0.0)
    move = Frame((ASIDE * long * x, -ASIDE * long * y, long * up))  # upside down, port lies where starboard was
    solid: cq.Shape = body.solid.moved(place.frame.location.inverse).moved(FLIP.location).moved(move.location)
    return replace(body, shaped=Shaped(solid))


def _arrows(place: HatchPlace, at: Point) -> list[Mark]:
    """Forward and up in the boat, as they lie in the picture."""
    marks: list[Mark] = []
    for words, way in (("UP in the boat", (0.0, 0.0, 1.0)), ("FWD", (1.0, 0.0, 0.0))):
        own = [sum(a * b for a, b in zip(way, axis, strict=True))
               for axis in (place.frame.x, place.frame.y, place.frame.z)]  # fmt: skip
        x, y = _flat(FLIP.turn((own[0], own[1], own[2])))
        marks += view_arrow(at, words, math.degrees(math.atan2(y, x)))
    return marks


def _seen(body: Body) -> Point:
    """The middle of a piece as the picture shows it."""
    return _flat(body.solid.Center().toTuple())


def _flat(spot: Vector) -> Point:
    """A point or a direction of the mold's axes in the picture's plane."""
    length = math.hypot(WAY[0], WAY[1])
    right = (-WAY[1] / length, WAY[0] / length, 0.0)
    size = math.hypot(*WAY)
    eye = tuple(c / size for c in WAY)
    up = (eye[1] * right[2] - eye[2] * right[1], eye[2] * right[0] - eye[0] * right[2],
          eye[0] * right[1] - eye[1] * right[0])  # fmt: skip
    return sum(a * b for a, b in zip(spot, right, strict=True)), sum(a * b for a, b in zip(spot, up, strict=True))


def _fitted(points: list[Point], low: Point, high: Point) -> View:
    x0, x1 = min(p[0] for p in points), max(p[0] for p in points)
    y0, y1 = min(p[1] for p in points), max(p[1] for p in points)
    scale = min((high[0] - low[0]) / (x1 - x0), (high[1] - low[1]) / (y1 - y0))
    at = (low[0] + (high[0] - low[0] - (x1 - x0) * scale) / 2, low[1] + (high[1] - low[1] - (y1 - y0) * scale) / 2)
    return View(scale, at, (x0, y0))


def _short(body: Body, place: HatchPlace) -> str:
    return body.name.removeprefix(f"{place.name} ")


def _row(number: int, leaves: int, body: Body, place: HatchPlace) -> list[str]:
    words = next((note for note in body.notes if note.startswith("height over")), "")
    heights = words.partition(": ")[2].partition(";")[0]
    name = _short(body, place)
    count = len(place.screws.get(body.name, ()))
    screws = plain(count, 0) if count else ""
    how = "sideways" if name in OUTWARD else "straight off" if name == "table" else "straight out"
    return [plain(number, 0), plain(leaves, 0), name, how, heights, screws]


def _told(place: HatchPlace) -> list[str]:
    """What the drawing cannot show."""
    behind = ("through the bores in the table's back" if any(n.endswith(" table") for n in place.mold) else
              "through the sole's core")  # fmt: skip
    return [f"Screws from behind, {behind}: no head lies where laminate covers it.",
            "Out 1 leaves first. Wax, seal every raw edge, and let the laminate cure before anything is broken out.",
            f"Corner radius medium in the hollow corners: about {plain(place.medium, 0)} mL."]  # fmt: skip
