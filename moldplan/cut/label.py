"""What is written on a piece, and where on it there is room.

In       a piece, where it lies on its sheet, its outline there.
Out      Label: strokes of text and lines of arrows, in the sheet's axes [mm]; or none where nothing fits.
Not here the letters (lettering.py), the file (dxf.py).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from moldplan.cut import lettering
from moldplan.cut.fits import least_rectangle
from moldplan.cut.loop import sampled
from moldplan.cut.piece import Outline, Piece, Placed, Point

if TYPE_CHECKING:
    from shapely import Polygon

HEIGHTS = (14.0, 10.0, 7.0, 5.0, 4.0)  # cap heights tried, largest first [mm]; ours
LEAST_NUMBER = 3.0  # below this a number burns in or breaks out [mm]; ours
CLEAR = 3.0  # kept from every cut and mark [mm]; ours
GRID = 16  # places tried along either side of the room
BATCH = 86  # of them tried at once
LEADING = 1.6  # line to line, over cap height

Path = tuple[Point, ...]


@dataclass(frozen=True)
class Label:
    """Text as strokes, arrows as lines; `whole`: all there is to say found room, not only the piece's number."""

    text: tuple[Path, ...] = ()
    lines: tuple[Path, ...] = ()
    whole: bool = True


def words(piece: Piece, copy: int) -> tuple[str, ...]:
    """What is written on a copy of a piece, line by line; of a lift its place in the stack, and how it lies there."""
    count = f" {copy}/{piece.quantity}" if piece.quantity > 1 else ""
    name = piece.bodies[copy - 1] if len(piece.bodies) >= copy else piece.body
    lines = [piece.id + count, name]
    if piece.hand:
        lines.append(piece.hand.upper())
    order = piece.orders[copy - 1] if len(piece.orders) >= copy else ""
    if order:  # what is written stands on the face that lies up on the sheet
        return (*lines, order.upper(), "THIS FACE UP" if piece.up == "face" else "THIS FACE DOWN")
    return (*lines, "FACE UP" if piece.up == "face" else "UNDERSIDE UP")


def label(piece: Piece, placed: Placed, cut: Outline) -> Label:
    """The label of one copy, upright or along the piece where more finds room so; `cut` is its outline where it lies on
    the sheet."""
    room = _room(cut)
    number, found = _written(piece, placed, room, 0.0)
    slant = (placed.turn - least_rectangle(piece.cut.outer)[2] * (-1 if placed.mirrored else 1)) % 180
    if not found.whole and min(slant % 90, 90 - slant % 90) > 1:
        along, other = _written(piece, placed, room, slant if slant < 90 else slant - 180)
        found = other if along < number else found
    return found


def _written(piece: Piece, placed: Placed, room: Polygon, slant: float) -> tuple[int, Label]:
    """What finds room in lines that slant by so much [deg]; the number of the try, the first says most."""
    from shapely import affinity

    lies = affinity.rotate(room, -slant, origin=(0, 0)) if slant else room
    spots = _middles(lies)
    full = words(piece, placed.copy)
    arrows = [(word, way - slant, double) for word, way, double in _arrows(piece, placed)]
    short = full[:1] + (full[-2:] if any(piece.orders) else full[-1:])
    low = ("  ".join(full[:1] + full[2:]), full[1])  # a strip is long and narrow
    tries: tuple[tuple[tuple[str, ...], Sequence[tuple[str, float, bool]], Sequence[float]], ...] = (
        (full, arrows, HEIGHTS),
        (low, arrows, HEIGHTS[1:]),
        (short, arrows, HEIGHTS[2:]),
        (("  ".join(short),), arrows, HEIGHTS[2:]),
        (short, (), HEIGHTS[2:]),
        (("  ".join(short),), (), HEIGHTS[2:]),
        (full[:1], (), (*HEIGHTS[3:], LEAST_NUMBER)),
    )
    for number, (lines, heads, heights) in enumerate(tries):
        for height in heights:
            for turned in (False, True):
                found = _set(lines, heads, height, turned, lies, spots)
                if found is not None:
                    text, marks = (tuple(_turned(path, slant) for path in paths) for paths in found)
                    return number, Label(text, marks, whole=lines in (full, low))
    return len(tries), Label(whole=False)


def _turned(path: Path, slant: float) -> Path:
    if not slant:
        return path
    c, s = math.cos(math.radians(slant)), math.sin(math.radians(slant))
    return tuple((c * x - s * y, s * x + c * y) for x, y in path)


def _room(cut: Outline) -> Polygon:
    """Where there is nothing to cut, sink or mark."""
    import shapely

    room = shapely.Polygon(sampled(cut.outer, 0.2), [sampled(hole, 0.2) for hole in cut.holes]).buffer(-CLEAR)
    for loop, _ in (*cut.bores, *cut.sinks, *cut.drilled):
        room = room.difference(shapely.Polygon(sampled(loop, 0.2)).buffer(CLEAR))
    for loop in (*cut.far, *cut.true, *(under for under, _ in cut.under)):
        room = room.difference(shapely.LinearRing(sampled(loop, 0.2)).buffer(CLEAR / 2))
    return room


def _arrows(piece: Piece, placed: Placed) -> tuple[tuple[str, float, bool], ...]:
    """Arrows to draw: the word, the way in the sheet's axes [deg], whether it points both ways."""
    found = []
    if piece.forward is not None:
        way = 180 - piece.forward if placed.mirrored else piece.forward
        found.append(("FWD", way + placed.turn, False))
    if piece.grain:
        found.append(("GRAIN", 0.0, True))
    return tuple(found)


def _set(
    lines: Sequence[str], arrows: Sequence[tuple[str, float, bool]], height: float, turned: bool, room: Polygon,
    spots: Spots,
) -> tuple[tuple[Path, ...], tuple[Path, ...]] | None:
    """The label set at one height, where it fits: strokes and arrow lines."""
    rows = [*lines, *(word for word, _, _ in arrows)]
    arrow = 2.5 * height
    wide = max(
        [lettering.width(row, height) for row in lines]
        + [lettering.width(word, height) + height + arrow for word, _, _ in arrows]
    )
    tall = height * (LEADING * (len(rows) - 1) + 1) + (arrow - height if arrows else 0) * len(arrows)
    across, up = (tall, wide) if turned else (wide, tall)
    at = _spot(room, spots, across, up)
    if at is None:
        return None
    x0, y0 = at

    def put(p: Point) -> Point:
        return (x0 + across - p[1], y0 + p[0]) if turned else (x0 + p[0], y0 + p[1])

    text: list[Path] = []
    marks: list[Path] = []
    foot = tall - height
    for row in lines:
        text += [tuple(put((x, y + foot)) for x, y in path) for path in lettering.strokes(row, height)]
        foot -= LEADING * height
    foot += height  # the top of the first arrow's row
    for word, way, double in arrows:
        middle = foot - arrow / 2
        text += [tuple(put((x, y + middle - height / 2)) for x, y in p) for p in lettering.strokes(word, height)]
        centre = put((lettering.width(word, height) + height + arrow / 2, middle))
        marks += _arrow(centre, way, arrow, double)
        foot -= arrow + (LEADING - 1) * height
    return tuple(text), tuple(marks)


def _arrow(centre: Point, way: float, size: float, double: bool) -> list[Path]:
    c, s = math.cos(math.radians(way)), math.sin(math.radians(way))

    def at(along: float, aside: float) -> Point:
        return (centre[0] + along * c - aside * s, centre[1] + along * s + aside * c)

    half, barb = size / 2, size / 5
    ends = (1, -1) if double else (1,)
    heads = [(at(e * (half - barb), barb / 1.5), at(e * half, 0), at(e * (half - barb), -barb / 1.5)) for e in ends]
    return [(at(-half, 0), at(half, 0)), *heads]


@dataclass(frozen=True)
class Spots:
    """Places to try in one room, the best first, and the radius of the largest circle in it [mm]."""

    middles: tuple[Point, ...]
    widest: float
    box: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)

    def batches(self) -> Iterator[tuple[Point, ...]]:
        """The middles, then a grid from the roomiest spot out, a few at a time: most labels fit at once."""
        yield self.middles
        for k in range(0, len(self.grid), BATCH):
            yield self.grid[k : k + BATCH]

    @cached_property
    def grid(self) -> tuple[Point, ...]:
        if not self.middles:
            return ()
        low_x, low_y, high_x, high_y = self.box
        eye, steps = self.middles[-1], range(GRID)
        points = [(low_x + (high_x - low_x) * (i + 0.5) / GRID, low_y + (high_y - low_y) * (j + 0.5) / GRID)
                  for i in steps for j in steps]
        return tuple(sorted(points, key=lambda p: (round(math.dist(p, eye), 6), p)))


def _spot(room: Polygon, spots: Spots, across: float, up: float) -> Point | None:
    """The lower left corner of a box that lies inside the room, near the room's middle."""
    import shapely

    low_x, low_y, high_x, high_y = spots.box
    if min(across, up) / 2 > spots.widest or across > high_x - low_x or up > high_y - low_y:
        return None
    for some in spots.batches():
        if not some:
            continue
        x, y = zip(*some, strict=True)
        half_x, half_y = across / 2, up / 2
        boxes = shapely.box([a - half_x for a in x], [b - half_y for b in y],
                            [a + half_x for a in x], [b + half_y for b in y])
        held = shapely.covers(room, boxes)
        if held.any():
            x0, y0 = some[int(held.argmax())]
            return (x0 - half_x, y0 - half_y)
    return None


def _middles(room: Polygon) -> Spots:
    """Places to try: the middle, the roomiest spot, then a grid from there out."""
    import shapely

    if room.is_empty:
        return Spots((), 0.0)
    shapely.prepare(room)
    lumps = getattr(room, "geoms", [room])
    circles = {lump: shapely.maximum_inscribed_circle(lump, tolerance=1.0) for lump in lumps}
    eye = circles[max(lumps, key=lambda lump: lump.area)].coords[0]
    widest = max(circle.length for circle in circles.values()) + 1.0  # found to within the tolerance
    return Spots(((room.centroid.x, room.centroid.y), (eye[0], eye[1])), widest, room.bounds)
