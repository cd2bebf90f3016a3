"""What is cut: loops of lines and arcs, outlines, pieces, sheets.

In       nothing but plain numbers.
Out      the value types that flat.py and outline.py make, relief.py and nest.py change, dxf.py and report/ write.
Not here making them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import Literal

from moldplan.errors import Path

Point = tuple[float, float]
Face = Literal["lower", "upper"]
Style = Literal["round", "edge", "none"]  # of an inside corner: how it is opened for the cutter


@dataclass(frozen=True)
class Loop:
    """A closed outline in a sheet's plane [mm].

    `vertices`: (x, y, bulge) in order, the last joining the first; bulge = tan(sweep / 4) of the segment that leaves
    the vertex, positive counter-clockwise, 0 for a line. A full circle is `circle` = (x, y, radius) and no vertices.
    """

    vertices: tuple[tuple[float, float, float], ...] = ()
    circle: tuple[float, float, float] | None = None


@dataclass(frozen=True)
class Outline:
    """One flat shape: `outer` counter-clockwise, `holes` clockwise; `far` are loops of the other face where it differs
    (the smaller outline of a piece, the larger one of an opening), to be marked and dressed to, not cut;
    `bores` are round blind holes and `sinks` other recesses, as (loop, depth) from the face that lies up; `under` are
    recesses of either kind from the face that lies down: a second set-up. `bridges` are stretches of the outer loop,
    each by its two ends, over which the cutter leaves some of the thickness so that the piece stays in its sheet.
    `true`: of a rough outline, the outer loop that it is scribed and trimmed to. `drilled` are round holes that the
    cutter is too wide for, with their depth, None for through: marked only."""

    outer: Loop
    holes: tuple[Loop, ...] = ()
    far: tuple[Loop, ...] = ()
    bores: tuple[tuple[Loop, float], ...] = ()
    sinks: tuple[tuple[Loop, float], ...] = ()
    under: tuple[tuple[Loop, float], ...] = ()
    bridges: tuple[tuple[Point, Point], ...] = ()
    true: tuple[Loop, ...] = ()
    drilled: tuple[tuple[Loop, float | None], ...] = ()


@dataclass(frozen=True)
class Step:
    """How far the outline of one face lies inside the cut edge of a piece, or outside that of an opening or a recess:
    from `least` to `most` [mm]. `face`: the one that is not cut, as the body stands, whichever way up it lies."""

    what: Literal["outline", "opening", "recess"]
    face: Face
    least: float
    most: float


@dataclass(frozen=True)
class Corner:
    """One inside corner tighter than the cutter.

    `left`: how far short of the corner a round cutter stops [mm]. `done`: the style applied, "none" where the corner
    was left, with the reason. `land`: least material between the relief and another cut of the piece [mm].
    """

    at: Point
    angle: float  # of the waste in the corner [deg]
    left: float
    done: Style
    reason: str = ""
    land: float = math.inf


@dataclass(frozen=True, kw_only=True)
class Piece:
    """One thing to cut from sheet. `area`: of the outline as designed, net of holes, before reliefs [mm2].

    `bodies`: what each copy is, in the order of the copies; `orders`: the place of each in its stack, "2 of 3 from
    below", or empty. `up`: which face of the body lies up on the sheet.
    `forward`: where the bow is, in the outline's axes [deg, counter-clockwise from x]; None when the piece has no
    such direction or its copies differ in it. `laid`: for each copy the turn [deg] and shift [mm] that lay its body's
    own axes (seen from the side that lies up) on those of the outline. `loose`: why nothing holds a small piece in its
    sheet, empty where bridges do or the piece is heavy enough. `scribe`: how much larger than designed it is cut all
    round [mm], to be fitted to the boat. `corners`: inside corners tighter than the cutter, and how each is opened.
    """

    id: str  # short number written on the piece, "P1"
    body: str
    part: str
    path: Path
    stock: str
    thickness: float
    outline: Outline  # as designed
    cut: Outline  # with corner reliefs, or rough
    area: float
    outline_length: float
    quantity: int = 1
    hand: str | None = None
    mirrored: bool = False
    grain: bool = False
    notes: tuple[str, ...] = ()
    bodies: tuple[str, ...] = ()
    orders: tuple[str, ...] = ()
    up: Literal["face", "underside"] = "face"
    forward: float | None = None
    laid: tuple[tuple[float, float, float], ...] = ()
    loose: str = ""
    scribe: float = 0.0
    steps: tuple[Step, ...] = ()  # where a face differs from what is cut
    corners: tuple[Corner, ...] = ()

    @property
    def by_hand(self) -> Outline:
        """What a hand cuts: the outline as designed, without reliefs; the rough one with the true one in it."""
        return replace(self.outline, outer=self.cut.outer, true=self.cut.true) if self.cut.true else self.outline


@dataclass(frozen=True, kw_only=True)
class Placed:
    """A piece on a sheet: turned by `turn` [deg, counter-clockwise about the outline's 0,0], then moved by x, y [mm].

    `copy` counts from 1. A mirrored piece is mirrored (x to -x) before it is turned.
    """

    piece: str
    copy: int
    x: float
    y: float
    turn: float
    mirrored: bool = False


@dataclass(frozen=True, kw_only=True)
class Stage:
    """What is cut of a sheet while it lies in one place on the router's bed.

    `axis`: the sheet's axis along which it is shifted (0 for x, 1 for y); `low`, `high`: the stretch of it over the bed
    [mm]; `cut`: piece and copy of all that is cut. `drill`: middles of dowel holes drilled through for the next stage,
    `pins`: those of the stage before, on which the sheet is pinned down [mm, the sheet's axes].
    """

    axis: int
    low: float
    high: float
    cut: tuple[tuple[str, int], ...]
    drill: tuple[Point, ...] = ()
    pins: tuple[Point, ...] = ()
    file: str = ""


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """One sheet with what is cut from it. `used` = area of the pieces over area of the sheet.

    `edge`: its outline, where it is not the rectangle of `size`; `defects`: places no piece may come near; `rack`: its
    name among the part-used sheets, empty when it is bought. `offcuts`: rectangles that are left of it, largest first,
    each as (x, y of its lower left corner, length, width) [mm]. `stages`: where it is longer than the router's bed;
    each has a file of its own then, and `file` is the first one's.
    """

    stock: str
    number: int
    size: tuple[float, float]
    placed: tuple[Placed, ...]
    used: float
    file: str = ""
    edge: Loop | None = None
    defects: tuple[Loop, ...] = ()
    rack: str = ""
    offcuts: tuple[tuple[float, float, float, float], ...] = ()
    stages: tuple[Stage, ...] = ()

    @property
    def outline(self) -> Loop:
        """Its edge, also where it is a plain rectangle."""
        length, width = self.size
        return self.edge or Loop(((0.0, 0.0, 0.0), (length, 0.0, 0.0), (length, width, 0.0), (0.0, width, 0.0)))


@dataclass(frozen=True, kw_only=True)
class Layout:
    """All sheets, and for each stock how many were bought against a lower bound ("used", "lower_bound"), and how many
    were taken from the rack ("on_hand", where there are any).

    `cautions`: what went wrong while placing, as sentences. `near`: what would have saved a sheet, as sentences.
    """

    sheets: tuple[Sheet, ...] = ()
    fewest: dict[str, dict[str, int]] = field(default_factory=dict)
    key: str = ""
    cautions: tuple[str, ...] = ()
    near: tuple[str, ...] = ()
