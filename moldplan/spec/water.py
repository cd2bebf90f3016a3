"""Fields of water and gas on their way out: how the boat lies, drains and their hoses, vents, what must not be reached.

In, Out, Not here: as model.py, which holds the rest of the spec and imports this.

Heel is positive to starboard side down, trim positive bow up (attitude.py). A way out runs from the rim of its drain
down the tail, along the points of its hose, to the outlet: all are middles of the bore, boat axes.
"""

from __future__ import annotations

from datetime import date
from typing import Annotated, ClassVar, Literal

from pydantic import Field, model_validator

from moldplan.spec.fields import (
    Angle,
    Coordinate,
    Length,
    OrWord,
    Point2,
    Point3,
    Rule,
    SpecPart,
    says,
    within,
)

MOST_TILT = 60.0  # deg; further over a boat floods by other ways than its drains
MOST_POINTS = 200

Tilt = Annotated[Angle, Field(ge=-MOST_TILT, le=MOST_TILT)]
Demand = Literal["fall", "no pond", "report"]
Route = Literal["exposed", "partially protected", "protected"]
Lowest = Annotated[Point2 | Literal["lowest"], OrWord(("lowest",), "a point such as [400, -120]")]


class Waterline(SpecPart):
    """The loaded waterline at rest."""

    height: Coordinate = says("height of the water at `at_x`, fully loaded, boat axes")
    at_x: Coordinate = says("where along the boat that was measured: heel and trim turn about this point")


class Afloat(SpecPart):
    """The heel and trim within which water must leave, afloat."""

    heel: tuple[Tilt, Tilt] = says("least and greatest heel, starboard side down positive",
                                   why="a boat rolls both ways")
    trim: tuple[Tilt, Tilt] = says("least and greatest trim, bow up positive", why="it trims by load and by speed")

    @model_validator(mode="after")
    def _some(self) -> Afloat:
        for name, (low, high) in (("heel", self.heel), ("trim", self.trim)):
            if low > high:
                raise Rule(name, "the lesser value first", f"from {low:g} to {high:g} deg there is no attitude")
        return self


class Lie(SpecPart):
    """One way the boat lies, by name: on the hard, at the mooring."""

    heel: Tilt = within(-MOST_TILT, MOST_TILT, "heel, starboard side down positive", "further over it floods",
                       default=0)
    trim: Tilt = within(-MOST_TILT, MOST_TILT, "trim, bow up positive", "further down by the head it floods",
                       default=0)
    demand: Demand = says("fall: every open run falls to its drain; no pond: nothing stays behind; report: only told",
                          default="no pond")


class HullOpening(SpecPart):
    """An opening into the boat that gas must not reach: a window, a vent, a hatch; as a box."""

    from_: Point3 = Field(alias="from", description="one corner, boat axes")
    to: Point3 = says("the opposite corner; a flat opening shares a coordinate with the first")


class Boat(SpecPart):
    """How the boat lies in the water, and what about it drains and gas must keep clear of."""

    waterline: Waterline | None = says("the loaded waterline", default=None)
    box: Afloat | None = says("heel and trim afloat within which water must leave", default=None)
    attitudes: dict[str, Lie] = says("other ways it lies, by name", default_factory=dict)
    openings: dict[str, HullOpening] = says("openings into the boat, by name", default_factory=dict)
    ignition: dict[str, Point3] = says("what may light gas, by name: engine vent, heater flue", default_factory=dict)
    outline: tuple[Point2, ...] | None = Field(
        default=None, min_length=3, max_length=MOST_POINTS,
        description="corners of the hull's outside in plan at the outlets' height; an outlet inside it is refused")
    route: Route | None = says("the waters it works on, where a rule asks for it", default=None)
    category: Literal["A", "B", "C", "D"] | None = says("design category, where a rule asks for it", default=None)
    craft: Literal["monohull sail", "other"] | None = says("what it is, where a rule asks for it", default=None)
    built: str | None = says("when it was built, as 2001-05-04, where a rule asks for it", default=None)
    length: Length | None = within(1000, 100_000, "length on deck, where a rule asks for it", "boats in use",
                                   default=None)
    rain: float = Field(default=75.0, ge=0, le=400, description="rain the soles must shed [mm/h]")

    @model_validator(mode="after")
    def _a_day(self) -> Boat:
        try:
            ok = self.built is None or date.fromisoformat(self.built).isoformat() == self.built
        except ValueError:
            ok = False
        if not ok:
            raise Rule("built", "a day such as 2001-05-04", "year, month and day, in that order")
        return self


class WayOut(SpecPart):
    """What follows a drain: its hose and outlet."""

    hose: tuple[Point3, ...] | None = Field(
        default=None, min_length=2, max_length=MOST_POINTS,
        description="points of the hose's middle in order, from the tail on; straight to the outlet when absent")
    outlet: Point3 | None = says("middle of the outlet on the hull's outside; absent: nothing is known of the way out",
                                 default=None)
    hose_bore: Length | None = within(5, 200, "clear bore of the hose; the drain's when absent", "hoses in use",
                                      default=None)
    narrowest: Length | None = within(
        3, 200, "narrowest bore on the way, when tails, valves or skin fittings are narrower", "a narrower one clogs",
        default=None)
    joins: str | None = says("the drain whose hose it runs into, as holder.part; absent: a line of its own",
                             default=None)

    @model_validator(mode="after")
    def _ends_somewhere(self) -> WayOut:
        if self.hose and self.outlet is None and self.joins is None:
            raise Rule("outlet", "a point such as [0, 560, -300]", "a hose leads somewhere: outlet, or joins")
        if self.outlet is not None and self.joins is not None:
            raise Rule("joins", "one of outlet, joins", "`outlet` is given too")
        return self


class SoleDrain(WayOut):
    """What all drains through a sole have, a cockpit's or a locker's."""

    bore: Length = within(5, 200, "clear bore", "under 19 mm it clogs", default=38)
    flange: Length | None = within(5, 400, "across the fitting's flange; bore and 20 mm when absent",
                                   "measure the fitting", default=None)
    proud: Length = within(0, 30, "how far the flange's rim stands above the sole; 0 when let in flush",
                           "what stands proud holds back water and gas", default=0)
    tail: Length = within(0, 300, "length of the tail below the sole", "fittings in use", default=40)


class Scupper(SoleDrain):
    """A drain through a sole."""

    at: Point2 = says("its middle on the sole, boat axes")
    tail: Length = within(0, 300, "length of the tail below the sole", "fittings in use", default=50)


class LockerDrain(SoleDrain):
    """The drain in a locker's sole."""

    SHORTHAND: ClassVar[str] = "at"
    at: Lowest = says("where on the sole: a point in boat axes, or its lowest corner", default="lowest")
    bore: Length = within(5, 120, "clear bore", "19 mm and more for gas", default=20)


class Vent(SpecPart):
    """A way in for air, high up."""

    at: Point3 = says("middle of its opening in the locker, boat axes")
    bore: Length = within(5, 200, "clear bore", "smaller passes no air", default=25)
    outlet: Point3 | None = says("where it opens outside", default=None)


class Passage(SpecPart):
    """A hose or cable through a locker's wall."""

    at: Point3 = says("where it passes the wall, boat axes")
    sealed: bool | None = says("sealed gas-tight; not judged when absent", default=None)
