"""The spec: every field a builder can write, with its unit, range, meaning and the reason for the range.

In       plain data from load.py.
Out      a frozen Spec; once you hold one, each field by itself is good. What only shows when parts meet
         (a seat outside its block) is judged in shape/choose.py and raised as SpecFault.
Not here reading files, finding lines (load.py); deciding what is left open (shape/choose.py).

Bare numbers are mm, deg, kg. Boat axes: x forward, y to port, z up, from the builder's datum.
"""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field, model_validator

from moldplan.quantity import Toleranced as Quantity
from moldplan.spec.cutter import Cutter
from moldplan.spec.fields import (
    Angle,
    ArealWeight,
    Between,
    Coordinate,
    Density,
    Length,
    Mass,
    Point2,
    Point3,
    Rule,
    Side,
    Size2,
    Size3,
    Slope,
    SpecPart,
    Toleranced,
    says,
    within,
)
from moldplan.spec.frames import Framing
from moldplan.spec.paper import Paper
from moldplan.spec.sheets import OnHand, SheetSize
from moldplan.spec.sole import SolePlan
from moldplan.spec.water import Boat, LockerDrain, Passage, Vent

Towards = Literal["forward", "aft", "port", "starboard"]
Contents = Literal["lp gas", "breathing air", "oxygen-enriched gas", "inert gas", "other"]
StockKind = Literal[
    "melamine-faced board", "plywood", "hardboard", "pvc foam", "pet foam", "high-density foam", "glass board"
]


class Foot(SpecPart):
    """The ring or disc a cylinder stands on."""

    diameter: Length = within(10, 1000, "outside diameter of the foot ring", "a foot is no wider than its cylinder")
    height: Length = within(1, 300, "from the floor to where the body begins", "a foot higher than that is a stand")
    edge_radius: Length = within(0, 50, "radius of the foot's lower edge", "a sharp edge rides the fillet", default=0)


class Valve(SpecPart):
    """What stands above the body: valve, regulator, elbow and the swing of a spanner, as one envelope."""

    diameter: Length = within(5, 1000, "diameter of the envelope", "valve, regulator and spanner swing fit in that")
    height: Length = within(1, 1000, "height of the envelope above the body", "no valve stands higher")


class Cylinder(SpecPart):
    """A cylinder as measured, over paint, net and boot."""

    diameter: Annotated[Toleranced, Between(10, 2000)] = says(
        "body diameter; write 267 ± 2 to say how far it may be off, on the diameter",
        why="boats carry bottles and cylinders of that size", usual_least=60)
    tolerance: Length | None = within(0, 50, "how far the diameter may be off, plus or minus", "worse decides nothing",
                                      default=None)
    height: Length = within(10, 3000, "from what it stands on to the top of the body, without the valve",
                            "boats carry bottles and cylinders of that size", usual_least=100)
    bottom: Literal["flat", "foot ring", "round"] | None = says(
        "what it stands on; a foot ring when `foot` is given, else flat", default=None)
    foot: Foot | None = says("the foot ring, where there is one", default=None)
    knuckle_radius: Length = within(0, 500, "radius between bottom and body", "0 is a sharp edge", default=0)
    shoulder_radius: Length | None = within(0, 500, "radius between body and top", "it is at most half the diameter",
                                            default=None)
    valve: Valve | None = says("envelope of valve and regulator above the body", default=None)
    full_mass: Mass | None = within(0.01, 500, "mass when full", "straps and lifting are judged by it", default=None)
    gas: Mass | None = within(0.01, 200, "mass of what it holds when full, where a rule asks for it",
                              "cylinders in use", default=None)
    contents: Contents = says("what is in it; decides which cautions apply", default="other")
    alternatives: tuple[str, ...] = Field(default=(), alias="or",
                                          description="names of other cylinders that must fit the same seat")

    @model_validator(mode="after")
    def _agrees(self) -> Cylinder:
        if self.foot is not None and self.bottom in ("flat", "round"):
            raise Rule("bottom", "foot ring, or nothing", "`foot` says that it stands on a foot ring")
        if self.foot is None and self.bottom == "foot ring":
            raise Rule("bottom", "flat or round, or `foot` given besides", "a foot ring has a diameter and a height")
        if self.tolerance is not None and self.diameter.tolerance:
            raise Rule("tolerance", "nothing", "`diameter` says with its ± how far it may be off")
        return self

    @property
    def across(self) -> Quantity:
        """Body diameter with its tolerance [mm]."""
        return Quantity(self.diameter.value, self.diameter.tolerance if self.tolerance is None else self.tolerance)

    @property
    def radius(self) -> float:
        return self.diameter.value / 2


class Stock(SpecPart):
    """Sheet as bought, at the thickness that was measured."""

    kind: StockKind = says("what it is; faced board is never planed to a thickness")
    thickness: Length = within(0.3, 200, "thickness by name", "sheets are sold in that range", usual_least=2)
    measured: Length | None = within(0.3, 200, "thickness as measured on the sheet at hand",
                                     "sheets are seldom exactly nominal", default=None)
    size: Size2 = says("length and width of a whole sheet", why="nothing is cut from a sheet of no size",
                       usual_least=200)
    density: Density | None = within(10, 9000, "density", "sheets in use lie between", default=None)
    price: float | None = within(0, 1e6, "price of a sheet, in your money", "a price is nothing or more", default=None)
    grain: bool = says("true when pieces must keep the sheet's long direction", default=False)
    packers: tuple[Side, ...] = says("thin packers at hand to make up a stack", default=())
    sizes: tuple[SheetSize, ...] = says("other sizes it is sold in, each [length, width] or a map with size, price",
                                        default=())
    on_hand: tuple[OnHand, ...] = says("part-used sheets in the rack, used before any is bought", default=())

    @model_validator(mode="after")
    def _one_price(self) -> Stock:
        known = {tuple(self.size): self.price}
        for other in self.sizes:
            before = known.setdefault(tuple(other.size), other.price)
            if before != other.price and None not in (before, other.price):
                raise Rule("sizes", "each size at one price",
                           f"{other.size[0]:g} x {other.size[1]:g} stands there at {before:g} and at {other.price:g}")
        return self

    @property
    def true_thickness(self) -> float:
        return self.thickness if self.measured is None else self.measured


class Fabric(SpecPart):
    """One cloth."""

    fibre: Literal["e-glass", "carbon", "aramid"] = says("what it is made of", default="e-glass")
    kind: Literal["mat", "woven", "stitched", "unidirectional"] = says(
        "how it is made; with the process it decides the fibre fraction", default="stitched")
    areal_weight: ArealWeight = within(0.02, 3, "mass of dry cloth for its area", "cloths in use lie between")


class Resin(SpecPart):
    """One resin."""

    density: Density = within(900, 1500, "density when cured", "cured resins lie between", default=1200)


class Laminate(SpecPart):
    """A skin as plies; its thickness is computed, never typed."""

    process: Literal["by hand", "bagged"] = says("how it is laid up", default="by hand")
    fibre_fraction: float | None = Field(default=None, ge=0.1, le=0.8,
                                         description="fibre mass over laminate mass; from the handbook when absent")
    resin: str | None = says("name of the resin", default=None)
    plies: tuple[str, ...] = Field(min_length=1, max_length=40, description="names of the fabrics, tool side first")


class Coats(SpecPart):
    """Coats outside the skins."""

    paint: Length = within(0, 5, "paint on a finished face", "0.2 to 0.4 mm is common", default=0.3)
    in_mold: Length = within(0, 5, "surface coat laid in the mold", "0.4 to 0.6 mm is common where used", default=0)


class Insert(SpecPart):
    """What shapes a recess while it is laid up: discs of sheet, or frames."""

    SHORTHAND: ClassVar[str] = "stock"
    stock: str = says("stock the discs, or the frames, are cut from", default="board")
    built: Literal["discs", "frames"] = says(
        "discs: a stack of whole sheets; frames: crossing frames under a covering, where discs waste sheet",
        default="discs")
    frames: Framing = says("how an insert of frames is built", default_factory=Framing)
    use: Literal["mold", "press"] = says(
        "mold: the skin is laid over it; press: it is pressed into the wet skin from the finished side", default="mold")
    pressure: float = Field(default=3.0, ge=0, le=50, description="pressure of a press insert [kPa]")
    peel_ply: Length = within(0, 2, "peel ply and film under a press insert", "0.1 to 0.3 mm is common", default=0.2)


class Limber(SpecPart):
    """The way out of a seat for water and gas: a sealed tube from the seat's floor to the block's side."""

    SHORTHAND: ClassVar[str] = "towards"
    towards: Towards = says("which side of the block it comes out of (in the block's own axes)")
    also: tuple[Towards, ...] = says("further sides the seat has the same limber to, for a boat that heels", default=())
    bore: Length = within(6, 80, "clear bore", "under 6 mm it clogs", default=20)
    wall: Length = within(0.5, 10, "wall of the tube that seals it", "tubes come with such walls", default=1.5)
    fall: Slope = within(0.005, 0.2, "drop over plan run, outward", "flatter than 1:200 it ponds", default=0.02)


class Straps(SpecPart):
    """Straps that hold the cylinder, each with two eyes."""

    SHORTHAND: ClassVar[str] = "count"
    count: int = Field(default=1, ge=0, le=6, description="how many straps")
    width: Length = within(10, 100, "width of the webbing", "25 mm is common", default=25)
    thickness: Length = within(0.5, 10, "thickness of the webbing", "webbing comes in that range", default=2)
    eye_flange: Length = within(10, 150, "across the flange of a strap eye", "eyes come so", default=40)
    to: Towards = says("the wall that an upright cylinder is strapped to", default="aft")


class Seat(SpecPart):
    """The recess that an upright cylinder stands in."""

    cylinder: str | None = says("which cylinder; the seat's own name when absent", default=None)
    at: Point2 | None = says(
        "centre from the block's aft starboard corner, forward and to port; the middle of the block when absent",
        default=None)
    turn: Angle = within(-360, 360, "turn of limber and straps about the vertical, forward towards port",
                         "a full turn is 360",
                         default=0)
    depth: Length = within(3, 1000, "finished depth, rim to floor", "shallower does not hold", usual_least=8)
    locate: Literal["foot", "body"] = says("what the wall locates", default="body")
    clearance_per_side: Length = within(0, 100, "finished gap all round, at the floor", "larger and it is no seat")
    liner: Length = within(0, 50, "soft liner on the wall", "rubber or felt is no thicker", default=0)
    draft: Angle = within(0, 30, "wall draft, opening upward", "more than 30 deg is a dish", default=4)
    floor_fillet: Length | None = within(0, 100, "finished radius between floor and wall; chosen when absent",
                                         "cloth will not lie in a sharp corner", default=None)
    rim_radius: Length = within(0, 50, "finished radius of the rim", "cloth will not turn a sharp edge", default=3)
    insert: Insert = says("the discs that shape it", default_factory=Insert)
    limber: Limber | None = says("the way out for water and gas; chosen when absent", default=None)
    straps: Straps = says("straps; a bare number is the count", default_factory=Straps)


class Chock(SpecPart):
    """Shaped ribs that a lying cylinder rests in."""

    cylinder: str | None = says("which cylinder; the chock's own name when absent", default=None)
    at: Point2 | None = says(
        "middle of the cylinder's straight part, and of its ribs, from the block's aft starboard corner; "
        "the middle of the block when absent",
        default=None)
    turn: Angle = within(-360, 360, "which way the valve points, from forward towards port", "a full turn is 360",
                         default=0)
    count: int = Field(default=2, ge=1, le=12, description="how many ribs")
    spacing: Length | None = within(20, 3000, "between the middles of neighbouring ribs; chosen when absent",
                                    "ribs stay under the straight part", default=None)
    stock: str = says("stock the ribs are cut from", default="board")
    layers: int = Field(default=1, ge=1, le=10, description="sheets glued up for one rib")
    made: Literal["cut", "molded"] = says("cut: sawn and skinned; molded: laid up on a mold", default="cut")
    wrap: Angle = within(20, 360, "angle of the cylinder's girth that rests in the rib",
                         "less than 20 deg does not hold", default=120)
    rise: Length = within(2, 500, "from the base up to the lowest point of the arc", "water and the limber need room",
                          default=25)
    shoulder: Length = within(3, 300, "flat on top of the rib beside the arc", "thinner breaks off", default=25)
    liner: Length = within(0, 50, "soft liner in the arc", "rubber or felt is no thicker", default=3)
    clearance: Length = within(0, 50, "between liner and cylinder", "strapped down it is taken up", default=1)
    draft: Angle = within(0, 30, "draft when molded", "more than 30 deg is a dish", default=3)
    edge_radius: Length = within(0, 30, "rounding of the arc's edges, for the liner to turn over",
                                 "a sharp edge cuts it", default=3)
    limber: Length = within(0, 100, "radius of the notch under the rib; 0 for none", "water must pass", default=12)
    skin: str | None = says("laminate over the rib; bare when absent", default=None)
    straps: Straps = says("straps; a bare number is the count", default_factory=lambda: Straps(count=2))


class Cradle(SpecPart):
    """Anything that holds cylinders: a block with seats, or a base with chocks."""

    block: Size3 = says("length (x), width (y) and height of the block, or of the base that chocks stand on",
                        why="it is a block of sheet, smaller than a boat", usual_least=10)
    stock: str = says("stock the block is built of", default="foam")
    at: Point2 | None = says(
        "aft starboard corner of the block in plan, boat axes; the middle of its locker, or 0, when absent",
        default=None)
    base: Coordinate | None = says("height of the block's underside; on its locker's sole, or 0, when absent",
                                   default=None)
    turn: Angle = within(-360, 360, "turn about the vertical through that corner, forward towards port",
                         "a full turn is 360",
                         default=0)
    locker: str | None = says("the locker it stands in", default=None)
    stowage: Literal["locker", "cockpit", "deck"] | None = says(
        "where it is: in a locker, in a self-draining cockpit, on an open deck; in its locker when absent",
        default=None)
    sits: Literal["level", "with the sole"] = says(
        "on a sloping sole: level, wedged underneath; or with the sole, leaning", default="level")
    hand: Literal["port", "starboard", "both"] | None = says("both: a mirrored twin on the other side", default=None)
    skin: str | None = says("laminate over the block, seats included; chosen when absent", default=None)
    scribe: Length = within(0, 100, "how much larger its lifts are cut all round, to be scribed to the boat by hand",
                            "more is cut off by eye", default=0)
    bed: Length = within(0, 20, "paste bed when a cured molding is bonded in; 0 when laid up in place",
                         "1 to 3 mm is common", default=0)
    seats: dict[str, Seat] = says("seats for upright cylinders, by name", default_factory=dict)
    chocks: dict[str, Chock] = says("chocks for lying cylinders, by name", default_factory=dict)

    @model_validator(mode="after")
    def _one_kind(self) -> Cradle:
        if bool(self.seats) == bool(self.chocks):
            raise ValueError("a cradle has seats, or chocks: one of the two, and at least one")
        return self


class Box(SpecPart):
    """The clear inside of a locker."""

    from_: Point3 = Field(alias="from", description="one corner of the finished inside, boat axes")
    to: Point3 = says("the opposite corner")


class Sole(SpecPart):
    """How a locker's sole lies."""

    fall: Slope = within(0, 0.2, "drop over plan run", "steeper than 1:5 is a ramp", default=0.0)
    towards: Towards = says("the side it falls to", default="aft")


class Lid(SpecPart):
    """The opening on top of a locker."""

    clear_opening: Size2 = says("finished clear opening, x and y", why="an opening has two sides", usual_least=100)
    centre: Point2 | None = says("its middle in boat axes; the middle of the locker when absent", default=None)
    corner_radius: Length = within(0, 1000, "corner radius of the clear opening", "it is at most half the shorter side",
                                   default=0)
    underside: Coordinate | None = says("height of the closed lid's underside; the top of the box when absent",
                                        default=None)
    opens: Literal["top", "side", "inside"] | None = says(
        "where it opens: on top, at a side, into the boat; not judged when absent", default=None)
    gasket: bool | None = says("it shuts on a gasket; not judged when absent", default=None)
    latch: bool | None = says("a latch holds it shut and opens without tools; not judged when absent", default=None)


class Locker(SpecPart):
    """A lidded space: its finished inside as a box, its sole and its lid."""

    box: Box = says("the clear inside; its lower z is the sole at the box's lowest corner")
    sole: Sole = says("fall of the sole", default_factory=Sole)
    lid: Lid | None = says("the opening on top", default=None)
    core: str = says("stock of the walls' core, for plugs under strap eyes", default="foam")
    drain: LockerDrain | None = says("the drain in its sole", default=None)
    drains: dict[str, LockerDrain] = says("further drains in its sole, by name: a boat that heels has two low corners",
                                          default_factory=dict)
    vent: Vent | None = says("the way in for air", default=None)
    passages: dict[str, Passage] = says("hoses and cables through its walls, by name", default_factory=dict)
    gas_tight_to: Coordinate | None = says("height to which its walls are gas-tight; not judged when absent",
                                           default=None)

    @model_validator(mode="after")
    def _drains_apart(self) -> Locker:
        if "drain" in self.drains:
            raise Rule("drains", "other names than drain", "`drain` of the locker goes by it")
        return self


class Limit(SpecPart):
    """A limit the builder sets himself."""

    least: float | None = Field(default=None, description="the new least value, in the limit's own unit")
    most: float | None = Field(default=None, description="the new greatest value, in the limit's own unit")
    reason: str | None = says("why a looser limit is right here", default=None)


class Spec(SpecPart):
    """A whole plan as the builder wrote it."""

    moldplan: Literal[1] = says("version of this spec language")
    title: str = Field(min_length=1, max_length=120, description="what is being built")
    revision: str = Field(default="A", max_length=12, description="printed on every sheet")
    units: Literal["mm", "inch"] = says("inch: sizes are printed in mm with inches beside them", default="mm")
    include: tuple[str, ...] = says("files with tables (stock, fabrics, resins, cylinders) to take in", default=())
    cylinders: dict[str, Cylinder] = says("what must be held", default_factory=dict)
    stock: dict[str, Stock] = says("sheets at hand; `foam` and `board` are known when not given", default_factory=dict)
    cutter: Cutter = says("the router or blade", default_factory=Cutter)
    paper: Paper = says("what the 1:1 patterns are printed on", default_factory=Paper)
    fabrics: dict[str, Fabric] = says("cloths", default_factory=dict)
    resins: dict[str, Resin] = says("resins", default_factory=dict)
    laminates: dict[str, Laminate] = says("skins as plies", default_factory=dict)
    coats: Coats = says("paint and in-mold coat", default_factory=Coats)
    boat: Boat | None = says("how the boat lies, and what drains keep clear of", default=None)
    rules: tuple[str, ...] = says("published sets of limits that apply, by name; ours when none", default=())
    lockers: dict[str, Locker] = says("spaces the cradles stand in", default_factory=dict)
    cradles: dict[str, Cradle] = says("what holds the cylinders", default_factory=dict)
    soles: dict[str, SolePlan] = says("soles one stands on, with their hatches", default_factory=dict)
    limits: dict[str, Limit] = says("limits of your own; looser than ours only with a reason", default_factory=dict)

    @model_validator(mode="after")
    def _something(self) -> Spec:
        if not self.cradles and not self.soles and not self.lockers:
            raise ValueError("a plan has at least one of cradles, soles, lockers")
        return self
