"""Fields of the sheets of a stock: other sizes it is sold in, and part-used sheets that lie in the rack.

In, Out, Not here: as model.py, which holds the rest of the spec and imports this.

A part-used sheet is drawn in its own axes: x along the grain, where there is one, from any corner one likes.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from typing import Any, ClassVar

from pydantic import Field, model_validator

from moldplan.quantity import QuantityError
from moldplan.spec.fields import Length, Point2, Rule, Size2, SpecPart, says, within

MOST_CORNERS = 200  # of a part-used sheet
LEAST_AREA = 1.0  # mm2, of an outline


class SheetSize(SpecPart):
    """Another size that a stock is sold in."""

    LISTED: ClassVar[dict[str, Any]] = {
        "type": "array",
        "items": {"anyOf": [{"type": "number"}, {"type": "string"}]},
        "minItems": 2,
        "maxItems": 2,
    }
    size: Size2 = says("length and width of a whole sheet", why="nothing is cut from a sheet of no size",
                       usual_least=200)
    price: float | None = within(0, 1e6, "price of such a sheet, in your money", "a price is nothing or more",
                                 default=None)

    @model_validator(mode="before")
    @classmethod
    def _from_list(cls, value: Any) -> Any:
        """A size as builders write it: [length, width]."""
        if isinstance(value, (list, tuple)) and len(value) == 2:
            return {"size": list(value)}
        if not isinstance(value, (dict, SheetSize)):
            stands = f"{len(value)} stand there" if isinstance(value, (list, tuple)) else "that is no size"
            raise QuantityError("[length, width], or a map with size, price", stands)
        return value


class Defect(SpecPart):
    """A place on a part-used sheet that no piece may come near: a knot, a dent, a hole."""

    at: Point2 | None = says("middle of a round one, in the sheet's own axes", default=None)
    diameter: Length | None = within(0.5, 20_000, "diameter of a round one", "it lies on the sheet", default=None)
    from_: Point2 | None = Field(default=None, alias="from", description="one corner of a rectangle, in the sheet's "
                                 "own axes")
    to: Point2 | None = says("the opposite corner of the rectangle", default=None)

    @model_validator(mode="after")
    def _one_kind(self) -> Defect:
        round_ = (self.at is not None) + (self.diameter is not None)
        square = (self.from_ is not None) + (self.to is not None)
        if (round_, square) not in ((2, 0), (0, 2)):
            raise Rule("", "a circle {at, diameter} or a rectangle {from, to}", "it is no whole one of either")
        if self.from_ and self.to and any(a == b for a, b in zip(self.from_, self.to, strict=True)):
            raise Rule("to", "the opposite corner, off in both directions", "a rectangle without size spoils nothing")
        return self

    @property
    def box(self) -> tuple[float, float, float, float]:
        """x low, y low, x high, y high [mm]."""
        if self.at is not None and self.diameter is not None:
            (x, y), r = self.at, self.diameter / 2
            return (x - r, y - r, x + r, y + r)
        (ax, ay), (bx, by) = self.from_ or (0.0, 0.0), self.to or (0.0, 0.0)
        return (min(ax, bx), min(ay, by), max(ax, bx), max(ay, by))


class OnHand(SpecPart):
    """A part-used sheet, or several alike; used before any is bought."""

    size: Size2 | None = says("length and width, where it is a rectangle", usual_least=100, default=None)
    outline: tuple[Point2, ...] | None = says("its corners in order, where it is none; the last joins the first",
                                              default=None)
    defects: tuple[Defect, ...] = says("places on it that no piece may come near", default=())
    count: int = within(1, 200, "how many such sheets there are", "one that is not there is left out of the list",
                        default=1)

    @property
    def corners(self) -> tuple[tuple[float, float], ...]:
        """The corners in order, in the sheet's own axes [mm]."""
        if self.outline is not None:
            return self.outline
        length, width = self.size or (0.0, 0.0)
        return ((0.0, 0.0), (length, 0.0), (length, width), (0.0, width))

    @model_validator(mode="after")
    def _a_sheet(self) -> OnHand:
        if (self.size is None) == (self.outline is None):
            raise Rule("", "either `size` or `outline`", "both stand there" if self.size else "neither stands there")
        if self.outline is not None:
            _refuse_outline(self.outline)
        xs, ys = zip(*self.corners, strict=True)
        for place, defect in enumerate(self.defects):
            low_x, low_y, high_x, high_y = defect.box
            if low_x >= max(xs) or low_y >= max(ys) or high_x <= min(xs) or high_y <= min(ys):
                raise Rule("defects", f"places between {min(xs):g}, {min(ys):g} and {max(xs):g}, {max(ys):g}",
                           f"number {place + 1} does not lie on the sheet")
            if self.outline is not None and not _touches(self.outline, defect):
                raise Rule("defects", "places inside the outline", f"number {place + 1} lies beside the sheet")
        return self


def _touches(corners: Sequence[tuple[float, float]], defect: Defect) -> bool:
    """Whether some of a defect lies on the sheet of these corners."""
    import shapely

    box = defect.box
    spot = shapely.box(*box) if defect.at is None else shapely.Point(defect.at).buffer((box[2] - box[0]) / 2)
    return bool(shapely.Polygon(corners).intersection(spot).area > 0)


def _refuse_outline(corners: Sequence[tuple[float, float]]) -> None:
    """Raises Rule for an outline that encloses nothing, or that meets itself."""
    if not 3 <= len(corners) <= MOST_CORNERS:
        raise Rule("outline", f"3 to {MOST_CORNERS} corners", f"{len(corners)} stand there")
    if len(set(corners)) < len(corners):
        raise Rule("outline", "each corner once; the last joins the first by itself", "a corner stands there twice")
    edges = list(zip(corners, (*corners[1:], corners[0]), strict=True))
    for (i, (a, b)), (j, (c, d)) in combinations(enumerate(edges), 2):
        if j == i + 1 or (i == 0 and j == len(edges) - 1):
            near, mid, far = (a, b, d) if j == i + 1 else (c, a, b)
            if _side(near, mid, far) == 0 and _dot(mid, near, far) > 0:
                raise Rule("outline", "an outline that does not meet itself", f"it doubles back at corner {j + 1}")
        elif _meet(a, b, c, d):
            raise Rule("outline", "an outline that does not cross itself",
                       f"the edge from corner {i + 1} meets that from corner {j + 1}")
    if abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in edges)) / 2 < LEAST_AREA:
        raise Rule("outline", "an outline round something", "it encloses nothing")


def _side(a: Sequence[float], b: Sequence[float], p: Sequence[float]) -> float:
    return (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])


def _dot(at: Sequence[float], p: Sequence[float], q: Sequence[float]) -> float:
    return (p[0] - at[0]) * (q[0] - at[0]) + (p[1] - at[1]) * (q[1] - at[1])


def _meet(a: Sequence[float], b: Sequence[float], c: Sequence[float], d: Sequence[float]) -> bool:
    """Whether two edges share a point, ends included."""
    abc, abd, cda, cdb = _side(a, b, c), _side(a, b, d), _side(c, d, a), _side(c, d, b)
    if ((abc > 0) != (abd > 0)) and ((cda > 0) != (cdb > 0)) and abc and abd and cda and cdb:
        return True
    on = ((abc, a, b, c), (abd, a, b, d), (cda, c, d, a), (cdb, c, d, b))
    return any(side == 0 and _dot(p, s, e) <= 0 for side, s, e, p in on)
