"""How far a piece's other outlines lie from the one that is cut: the step to dress off, on which side and by how much.

In       what is cut of a lump, the regions of its two faces, what is sunk into them.
Out      Steps; words for the bench.
Not here which outline is cut (flat.py), which lines are marked (far.py).

Cut is the larger outline of a piece and the smaller of an opening: a step errs on the side of material that stays. It
is measured square to the line that is cut, from each place on it to the outline of the face that differs. A groove or a
notch is no step: what it takes lies along the cut for less of its outline than what a leaning wall takes.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Literal

from moldplan.cut.far import DIFFERS
from moldplan.cut.piece import Face, Loop, Step
from moldplan.cut.profile import Region, polygon

if TYPE_CHECKING:
    import numpy as np
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

ALONG = 0.4  # of the outline of what is dressed off lies on the cut at least; ours
ON = 0.02  # what lies so near the cut lies on it [mm]
SLIVER = 0.01  # half the width of what two chords of one curve leave between them [mm]
EVERY = 2.0  # the cut is looked at so often [mm]
OPENED = 0.45  # of the largest circle in a floor: what is narrower than twice that is a groove that runs into it; ours
FINELY = 64  # chords in a quarter of a circle
LEAN = 0.06  # a step that changes by less is told as one number [mm]


def steps_of(
    outer: Loop, holes: Sequence[Loop], ends: tuple[Sequence[Region], Sequence[Region]],
    floors: tuple[Sequence[Loop], Sequence[Loop]],
) -> tuple[Step, ...]:
    """The steps of one lump; `ends` and `floors` (what is sunk): those of the lower face, then those of the upper."""
    import shapely

    cut = polygon(outer, tuple(holes))
    found: list[Step] = []
    faces: tuple[Face, Face] = ("lower", "upper")
    for face, regions, sunk in zip(faces, ends, floors, strict=True):
        inside = [r.polygon for r in regions if r.polygon.representative_point().within(polygon(outer))]
        if not inside:
            continue
        there = shapely.union_all(inside)
        taken = _dressed(cut, shapely.union_all([there, *(polygon(loop).buffer(ON) for loop in sunk)]))
        found += [*_step("outline", face, cut, there, taken), *_step("opening", face, cut, there, taken)]
        found += _recess(face, sunk, polygon(outer).difference(there), there.boundary)
    return tuple(found)


def _dressed(cut: Polygon, kept: BaseGeometry) -> list[BaseGeometry]:
    """What leaning walls take off the cut on one face, `kept` is what they and recesses leave; grooves and notches are
    left out."""
    waste = cut.difference(kept).buffer(-SLIVER, join_style="mitre").buffer(SLIVER, join_style="mitre")
    rim = cut.boundary.buffer(ON)
    return [part for part in getattr(waste, "geoms", [waste])
            if part.area > DIFFERS**2 and part.boundary.intersection(rim).length >= ALONG * part.boundary.length]


def _step(
    what: Literal["outline", "opening"], face: Face, cut: Polygon, there: BaseGeometry, taken: Sequence[BaseGeometry]
) -> Iterator[Step]:
    """How far a face lies from the rings of the cut, beside what is dressed off it.

    From each place on the face's outline to the nearest on the cut, and from there back to the nearest of the face: one
    way alone goes askew at corners, outside or inside.
    """
    import shapely

    rings = {"outline": [cut.exterior], "opening": list(cut.interiors)}
    beside = [part for part in taken if any(part.distance(ring) < ON for ring in rings[what])]
    if not beside:
        return
    own = shapely.MultiLineString([r for r in rings[what] if any(part.distance(r) < ON for part in beside)])
    others = shapely.MultiLineString([r for which in rings if which != what for r in rings[which]])
    edge, dressed = there.boundary, shapely.union_all(beside).buffer(ON)
    spots = shapely.points(shapely.get_coordinates(edge.intersection(dressed).segmentize(EVERY)))
    spots = spots[shapely.distance(own, spots) <= (math.inf if others.is_empty else shapely.distance(others, spots))]
    reaches = _there_and_back(edge, own, spots)
    if own.difference(dressed).length > EVERY:
        reaches.append(0.0)  # elsewhere both faces have one edge
    if reaches and max(reaches) > DIFFERS:
        yield Step(what, face, min(reaches), max(reaches))


def _recess(face: Face, sunk: Sequence[Loop], waste: BaseGeometry, edge: BaseGeometry) -> Iterator[Step]:
    """How far the mouths of recesses lie outside their floors. A groove that runs into a mouth is no part of it."""
    import shapely

    floors = [polygon(loop) for loop in sunk]
    for floor in floors:
        spot = floor.representative_point()
        whole = next((part for part in getattr(waste, "geoms", [waste]) if part.contains(spot)), None)
        if whole is None or whole.area - floor.area < DIFFERS / 5 * floor.length:
            continue  # its walls are upright
        reach = OPENED * shapely.maximum_inscribed_circle(floor, tolerance=0.1).length
        opened = whole.buffer(-reach, quad_segs=FINELY).buffer(reach, quad_segs=FINELY)
        mouth = next((part for part in getattr(opened, "geoms", [opened]) if part.contains(spot)), None)
        if mouth is None or not mouth.buffer(ON).covers(floor):
            continue
        if any(mouth.intersects(other) and other.area > floor.area for other in floors):
            continue  # a deeper place within a recess, what stands in it, or a groove that runs into it
        spots = shapely.points(shapely.get_coordinates(floor.exterior.segmentize(EVERY)))
        feet = shapely.get_point(shapely.shortest_line(mouth.exterior, spots), 0)
        reaches = shapely.distance(floor.exterior, feet[shapely.distance(edge, feet) < ON])
        if len(reaches) and reaches.max() > DIFFERS:
            yield Step("recess", face, float(reaches.min()), float(reaches.max()))


def _there_and_back(line: BaseGeometry, other: BaseGeometry, spots: np.ndarray) -> list[float]:
    """From each place on a line to the nearest on the other, and from there the distance back to the line [mm]."""
    import shapely

    feet = shapely.get_point(shapely.shortest_line(other, spots), 0)
    return [float(reach) for reach in shapely.distance(line, feet)]


def step_words(steps: Sequence[Step]) -> tuple[str, ...]:
    """What a builder is told: by how much, and which side is larger as the piece stands."""
    said = []
    for step in steps:
        other = "lower" if step.face == "upper" else "upper"
        both = any(s.what == step.what and s.face == other for s in steps)
        if step.what == "outline":
            where = f"{step.face} outline smaller than the cut" if both else f"{other} outline larger"
        elif step.what == "opening":
            where = f"its opening wider at the {step.face} face" + (" than the cut" if both else "")
        else:
            where = f"its recess wider at the {step.face} face than at its floor"
        said.append(f"step {_reach(step)}, {where}")
    return tuple(dict.fromkeys(said))


def short_words(steps: Sequence[Step]) -> str:
    """The outline's step for a small place, "step 1.4 mm, lower larger"; empty where it has none."""
    own = [step for step in steps if step.what == "outline"]
    if not own:
        return ""
    if len(own) > 1:
        return f"step up to {max(step.most for step in own):.1f} mm, both faces smaller"
    return f"step {_reach(own[0])}, {'lower' if own[0].face == 'upper' else 'upper'} larger"


def _reach(step: Step) -> str:
    if step.most - step.least < LEAN:
        return f"{step.most:.1f} mm"
    return f"up to {step.most:.1f} mm" if step.least < DIFFERS else f"{step.least:.1f} to {step.most:.1f} mm"
