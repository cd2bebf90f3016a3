"""Fields of the 1:1 paper patterns: what they are printed on, and what the printer made of the last ones.

In, Out, Not here: as model.py, which holds the rest of the spec and imports this.

Every page carries a square of 50 mm. A printer that prints it as 49 gets pages drawn 50/49 as large.
"""

from __future__ import annotations

from typing import ClassVar, Literal

from moldplan.spec.fields import Length, SpecPart, says, within

SQUARE = 50.0  # side of the check square on every page [mm]
LEAST_CORRECTION, MOST_CORRECTION = 0.9, 1.1
LEAST_MEASURED, MOST_MEASURED = 45.46, 55.55  # mm: as a ruler reads them, none beyond those corrections

PaperSize = Literal["A4", "A3", "letter", "A0 roll"]
PatternsOf = Literal["pieces", "sheets", "both"]


class Paper(SpecPart):
    """The paper the 1:1 patterns are printed on."""

    SHORTHAND: ClassVar[str] = "size"
    size: PaperSize = says("the sheets in the printer, or a roll 841 mm wide", default="A4",
                          why="patterns are laid out for those")
    of: PatternsOf = says("what is printed: each piece by itself, whole sheets with their pieces as nested, or both",
                          default="pieces", why="a piece takes the least paper; a sheet keeps what was nested in it")
    overlap: Length = within(4, 40, "how far neighbouring tiles overlap", "a joint needs room for tape and its crosses",
                             default=10)
    margin: Length = within(0, 40, "border the printer leaves white", "most leave 3 to 6.4 mm", default=7)
    measured: Length = within(
        LEAST_MEASURED, MOST_MEASURED, "what the 50 mm square measures across the printed page, and up it unless said",
        "corrections go from 0.9 to 1.1; a printer further off is set to fit the page, or to another paper",
        default=SQUARE)
    measured_up: Length | None = within(
        LEAST_MEASURED, MOST_MEASURED, "what the 50 mm square measures up the printed page, where that differs",
        "corrections go from 0.9 to 1.1; a printer further off is set to fit the page, or to another paper",
        default=None)

    @property
    def correction(self) -> tuple[float, float]:
        """How much larger than life the pages are drawn, across and up the page."""
        up = self.measured if self.measured_up is None else self.measured_up
        return (SQUARE / self.measured, SQUARE / up)
