"""A sheet before anything lies on it: its edge, what is spoilt on it, where pieces may go.

In       a blank of the stock, the cutter's margin and spacing.
Out      Bare: the edge and the defects as loops; the free shape inside the margin and off the defects.
Not here laying anything on it (place.py, fill.py, solver.py).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from moldplan.cut.loop import area, sampled
from moldplan.cut.piece import Loop
from moldplan.cut.rectangles import Rectangle, rectangles
from moldplan.material.sheet import Blank, Spoilt

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

ROUND = 0.05  # a round defect is taken larger by at most this [mm]
STRIPS = 40  # into which an odd sheet is cut to place boxes


def spoilt_loop(spoilt: Spoilt) -> Loop:
    """A spoilt place as a loop."""
    x0, y0, x1, y1 = spoilt.box
    if spoilt.round:
        return Loop(circle=((x0 + x1) / 2, (y0 + y1) / 2, (x1 - x0) / 2))
    return Loop(((x0, y0, 0.0), (x1, y0, 0.0), (x1, y1, 0.0), (x0, y1, 0.0)))


@dataclass(frozen=True)
class Bare:
    """A bare sheet. `edge`: its outline where it is no rectangle; `margin` kept along it, `spacing` off `defects`."""

    size: tuple[float, float]
    edge: Loop | None
    defects: tuple[Loop, ...]
    margin: float
    spacing: float
    price: float | None = None
    rack: str = ""  # its name in the rack; empty for one that is bought
    stage: tuple[float, float] | None = None  # the largest box that is cut in one stage, where it is cut in several

    def takes(self, size: tuple[float, float]) -> bool:
        """Whether a box lies inside the margin, and within one stage."""
        x0, y0, x1, y1 = self.room
        return self.stages(size) and size[0] <= x1 - x0 + 1e-6 and size[1] <= y1 - y0 + 1e-6

    def stages(self, size: tuple[float, float]) -> bool:
        """Whether a box is cut in one stage."""
        return self.stage is None or (size[0] <= self.stage[0] + 1e-6 and size[1] <= self.stage[1] + 1e-6)

    @property
    def plain(self) -> bool:
        """Whether it is a rectangle without defects."""
        return self.edge is None and not self.defects

    @property
    def room(self) -> Rectangle:
        """The box inside the margin."""
        return (self.margin, self.margin, self.size[0] - self.margin, self.size[1] - self.margin)

    @property
    def area(self) -> float:
        """Of the sheet, defects counted in [mm2]."""
        return self.size[0] * self.size[1] if self.edge is None else abs(area(self.edge))

    @cached_property
    def open(self) -> BaseGeometry:
        """Where a piece may lie."""
        import shapely

        if self.edge is not None:
            shape: BaseGeometry = within(self.edge, self.margin)
        elif min(self.room[2] - self.room[0], self.room[3] - self.room[1]) > 0:
            shape = shapely.box(*self.room)
        else:
            return shapely.Polygon()
        for loop in self.defects:
            shape = shape.difference(grown(loop, self.spacing))
        return shape

    @cached_property
    def free(self) -> tuple[Rectangle, ...]:
        """The largest upright rectangles in which boxes may lie."""
        if self.plain:
            return (self.room,) if not self.open.is_empty else ()
        return tuple(rectangles(self.open, strips=STRIPS))


def within(loop: Loop, by: float) -> BaseGeometry:
    """The inside of a loop that keeps `by` from it, never larger."""
    import shapely

    curved = loop.circle is not None or any(bulge for _, _, bulge in loop.vertices)
    # chords of an arc that bulges inward lie outside by as much as they may leave it
    return shapely.Polygon(sampled(loop, ROUND)).buffer(-(by + (ROUND if curved else 0.0)), quad_segs=16)


def grown(loop: Loop, by: float) -> BaseGeometry:
    """The loop's inside and all within `by` of it, never smaller; corners of a loop of lines stay sharp."""
    import shapely

    if loop.circle is not None:
        x, y, r = loop.circle
        return shapely.Point(x, y).buffer((r + by) * 1.0025, quad_segs=24)  # 1 / cos(pi / 4 / 24) = 1.0005
    return shapely.Polygon(sampled(loop, ROUND)).buffer(by, join_style="mitre", mitre_limit=5)


def bare(blank: Blank, *, margin: float, spacing: float, stage: tuple[float, float] | None = None) -> Bare:
    """The blank as it is laid on the router."""
    edge = Loop(tuple((x, y, 0.0) for x, y in blank.outline)) if blank.outline else None
    return Bare(blank.size, edge, tuple(spoilt_loop(s) for s in blank.spoilt), margin, spacing, blank.price,
                blank.name, stage)  # fmt: skip
