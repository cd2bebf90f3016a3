"""The mold of a hatch frame apart, as it stands on the bench, with the order its pieces leave in.

In       a finished plan, one of its hatches.
Out      mold(): one A4 sheet.
Not here sections (frame_section.py), the sheets pieces are cut from (sheets.py).

The mold is upside down in the boat's sense: its table lies below. Pieces that leave together are lifted by one step.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from moldplan.quantity import plain
from moldplan.report.annotate import A4, Column, Title, frame, free_area, table
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
SCREWS = 175.0  # mm between screws, common practice, no source (150 to 200)
COLUMNS = (Column("no", 10, "end"), Column("leaves", 14, "end"), Column("piece", 50),
           Column("height over the table at places along it [mm]", 78), Column("screws", 18, "end"))  # fmt: skip
FLIP = Frame((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, -1.0))


def mold(plan: Plan, place: HatchPlace) -> Drawing:
    """The sheet of one hatch's mold."""
    (left, low), (right, high) = free_area(*A4)
    pieces = [plan.assembly.body(name) for name in place.mold]
    leaves = {name: k for k, group in enumerate(place.break_out, 1) for name in group}
    apart = [_apart(body, place, leaves.get(body.name, 1), len(place.break_out)) for body in pieces]
    rows = [_row(n, leaves.get(b.name, 1), b, place) for n, b in enumerate(pieces, 1)]
    told = _told(place)
    _, tall = table((left, high), right - left, "Pieces, in the order they are set up", COLUMNS, rows)
    foot = low + len(told) * TEXT * 1.5 + 2
    under, _ = table((left, foot + tall), right - left, "Pieces, in the order they are set up", COLUMNS, rows)
    heading = "Mold apart, upside down on its table, without scale"
    marks: list[Mark] = [Text((left, high - TEXT), heading, 4.2, bold=True)]
    sharp, _ = visible(apart, WAY)
    points = [p for run in sharp for p in run]
    view = _fitted(points, (left + 14, foot + tall + 8), (right - 58, high - 12))
    marks += [polyline([view(*p) for p in run]) for run in sorted(map(list, sharp)) if len(run) > 1]
    tips = [(view(*_seen(body)), f"{n}: {_short(body, place)}") for n, body in enumerate(apart, 1)]
    marks += placed(marks, tips, column=right - 54, top=high - 14, low=foot + tall + 10)
    for k, words in enumerate(told):
        marks.append(Text((left, foot - (k + 1) * TEXT * 1.5), words))
    title = Title(title=plan.spec.title, part=place.name, drawing="Mold and break-out", revision=plan.spec.revision,
                  scale="none", hand="as drawn", units="mm")  # fmt: skip
    about = f"The pieces of the mold of {place.name} lifted apart, with the order they leave in."
    return Drawing(*A4, (*frame(*A4, title), *marks, *under), f"{place.name}: mold and break-out", about)


def _apart(body: Body, place: HatchPlace, leaves: int, groups: int) -> Body:
    """A piece in the mold's own axes, the table below, lifted: what leaves last stands highest."""
    own = Frame((0.0, 0.0, STEP * max(place.hatch.clear_opening) * (min(leaves, groups) - 1)))
    back = place.frame.location.inverse
    solid: cq.Shape = body.solid.moved(back).moved(FLIP.location).moved(own.location)
    return replace(body, shaped=Shaped(solid))


def _seen(body: Body) -> Point:
    """The middle of a piece as the picture shows it."""
    middle = body.solid.Center()
    length = math.hypot(WAY[0], WAY[1])
    right = (-WAY[1] / length, WAY[0] / length, 0.0)
    size = math.hypot(*WAY)
    eye = tuple(c / size for c in WAY)
    up = (eye[1] * right[2] - eye[2] * right[1], eye[2] * right[0] - eye[0] * right[2],
          eye[0] * right[1] - eye[1] * right[0])  # fmt: skip
    spot = middle.toTuple()
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
    box = body.solid.BoundingBox()
    long = max(box.xmax - box.xmin, box.ymax - box.ymin)
    screws = "" if name.endswith(("table", "disc")) else plain(max(math.ceil(long / SCREWS), 2), 0)
    return [plain(number, 0), plain(leaves, 0), name, heights, screws]


def _told(place: HatchPlace) -> list[str]:
    """What the drawing cannot show."""
    return ["Screws from behind, through the table; none under a face that the laminate would trap.",
            "Leaves: 1 first. Wax, seal every raw edge, and let the laminate cure before anything is broken out.",
            f"Corner radius medium in the hollow corners: about {plain(place.medium, 0)} mL."]  # fmt: skip
