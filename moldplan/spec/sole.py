"""Fields of soles and hatches: the outline, what stands below, the frame round an opening, its gutter, lid and drains.

In, Out, Not here: as model.py, which holds the rest of the spec and imports this.

Plan sizes of a hatch are as seen from above, finished: the outer wall of the gutter at the sole's surface, its inner
wall at the level of the landing. Levels are measured down from the sole's surface.
"""

from __future__ import annotations

from typing import Annotated, Any, ClassVar, Literal, get_args

from pydantic import Field, model_validator

from moldplan.quantity import QuantityError
from moldplan.spec.below import Below
from moldplan.spec.fields import (
    Angle,
    Coordinate,
    Length,
    Mass,
    OrWord,
    Point2,
    Point3,
    Rule,
    Size2,
    Slope,
    SpecPart,
    says,
    within,
)
from moldplan.spec.water import Scupper, WayOut

Side = Literal["forward", "aft", "port", "starboard"]
Spot = Literal["forward", "aft", "port", "starboard", "forward port", "forward starboard", "aft port", "aft starboard"]
SpotOrPoint = Annotated[Point2 | Spot, OrWord(get_args(Spot), "a point such as [400, -120]")]
MOST_CORNERS = 2000


class Vertex(SpecPart):
    """A corner of an outline, and the edge that arrives at it."""

    LISTED: ClassVar[dict[str, Any]] = {
        "type": "array",
        "items": {"anyOf": [{"type": "number"}, {"type": "string"}]},
        "minItems": 2,
        "maxItems": 3,
    }
    at: Point2 = says("the corner, boat axes")
    radius: Length = within(
        0, 5000, "radius the corner is rounded to", "at most what both edges leave room for", default=0
    )
    through: Point2 | None = says(
        "a point the arriving edge passes: it is then an arc; straight when absent", default=None
    )

    @model_validator(mode="before")
    @classmethod
    def _from_list(cls, value: Any) -> Any:
        """A corner as builders write it: [x, y], or [x, y, radius]."""
        if isinstance(value, (list, tuple)) and len(value) in (2, 3):
            return {"at": list(value[:2]), **({"radius": value[2]} if len(value) == 3 else {})}
        if not isinstance(value, (dict, Vertex)):
            stands = f"{len(value)} stand there" if isinstance(value, (list, tuple)) else "that is no corner"
            raise QuantityError("[x, y], [x, y, radius], or a map with at, radius, through", stands)
        return value


class OutlineFile(SpecPart):
    """An outline from a file of the builder's own, beside the spec."""

    SHORTHAND: ClassVar[str] = "file"
    file: str = says("DXF (one closed outline of lines and arcs) or CSV (x, y a line), relative to the spec")
    layer: str | None = says("the layer of the DXF to read; all when absent", default=None)
    scale: float | None = Field(
        default=None,
        gt=0,
        le=1000,
        description="millimetres to one unit, for a file that does not name its unit; 1 for a CSV file when absent",
    )


class Gutter(SpecPart):
    """The channel round a hatch, outside the landing."""

    width: Length = within(
        8,
        150,
        "plan width: inner wall at landing level to outer wall at the sole's surface",
        "narrower takes no cloth, wider is a step",
    )
    depth: Length = within(3, 200, "from the landing down to its floor, at its high point", "shallower is no gutter")
    fall: Slope = within(0.0, 0.2, "drop over run along the floor", "steeper than 1:5 is a chute", default=0.02)
    draft: Angle = within(0, 30, "draft of both walls", "more than 30 deg is a dish", default=4)
    root_radius: Length = within(
        0, 60, "radius between wall and floor", "cloth will not lie in a sharp corner", default=6
    )


class Gasket(SpecPart):
    """The seal between lid and landing."""

    free: Length = within(0.5, 80, "height when free", "gaskets in use", default=10)
    squeeze: float = Field(default=0.4, ge=0, le=0.9, description="share of its free height it is pressed down by")
    width: Length = within(2, 100, "width", "gaskets in use", default=15)
    stop: Length | None = within(
        0.2,
        80,
        "height of the hard stop that limits the squeeze; absent: no stop",
        "between squeezed and free height",
        default=None,
    )
    stiffness: float = Field(
        default=1.0,
        gt=0,
        le=50,
        description="force to squeeze it so far, for a metre of its length [N/mm]: that many kN/m",
    )


class HatchLid(SpecPart):
    """The moving part of a hatch."""

    thickness: Length = within(4, 150, "finished thickness", "lids in use")
    finished: bool = says("false: `thickness` is bare, and its two coats are added", default=True)
    gap: Length = within(0.5, 30, "finished gap all round, at the top", "less binds, more takes a toe", default=3)
    edge_draft: Angle = within(0, 30, "draft of the lid's edge", "it eases the swing", default=4)
    core: str = says("stock of its core", default="foam")
    skin: str | None = says("laminate on both faces; chosen when absent", default=None)
    close_out: Length = within(
        0, 300, "how far the core is cut back from the edge", "25 to 50 mm is common", default=30
    )
    taper: Angle = within(10, 90, "angle of the core's tapered edge to the face", "30 to 45 deg is common", default=45)
    drip_lip: Length = within(
        0, 60, "how far its edge hangs down into the gutter; 0 for none", "it must clear the floor", default=0
    )
    hinge: Side | Literal["none"] = says("the side it turns about; none: it lifts off", default="none")
    knuckle: Length = within(0, 60, "height of the hinge's axis above the sole", "hinges in use", default=0)
    gasket: Gasket = says("the seal", default_factory=Gasket)
    latches: int = Field(default=0, ge=0, le=12, description="how many latches")
    latch_force: float = Field(default=0.0, ge=0, le=10000, description="force of one latch [N]")


class HatchDrain(WayOut):
    """A drain in the floor of a gutter."""

    SHORTHAND: ClassVar[str] = "at"
    at: SpotOrPoint = says("where along the gutter: the middle of a side, a corner, or a point in boat axes")
    bore: Length = within(5, 120, "clear bore", "12 mm clogs, 19 to 25 mm is common practice", default=25)
    sump: Length = within(
        0, 80, "how much deeper the floor is round the drain's rim", "it takes the fitting's flange", default=0
    )
    flange: Length = within(5, 200, "across the fitting's flange", "measure the fitting", default=45)
    spigot: Length = within(0, 300, "length of the tail below", "fittings in use", default=40)


class BondFlange(SpecPart):
    """The border of the molded frame that is glued to the sole."""

    width: Length = within(5, 300, "width outside the gutter's outer wall", "50 mm is common", default=50)
    lies: Literal["rebated", "under"] = says(
        "rebated into the sole's core, level with its surface; or under the sole, a sole thickness lower",
        default="rebated",
    )
    bed: Length = within(0, 10, "paste between it and the sole", "1 to 3 mm is common", default=1.5)


class Hatch(SpecPart):
    """An opening in a sole with its molded frame and lid."""

    centre: Point2 = says("middle of the opening, boat axes")
    turn: Angle = within(-360, 360, "turn about the vertical, forward towards port", "a full turn", default=0)
    clear_opening: Size2 = says(
        "finished clear opening: length (along its own x) and width", why="a hatch of no size is none", usual_least=100
    )
    corner_radius: Length = within(
        5,
        1000,
        "radius of the clear opening's corners; all others follow outward from it",
        "at most half the shorter side",
        default=30,
    )
    landing_depth: Length | None = within(
        1,
        300,
        "depth of the landing under the sole's surface; lid and squeezed gasket when absent",
        "the lid must lie in it",
        default=None,
    )
    landing: Length = within(5, 200, "width of the ledge the gasket sits on", "20 to 30 mm is common", default=25)
    upstand: Length = within(
        0,
        150,
        "height of a wall along the clear opening, inside the gasket; 0 for none",
        "lower than the lid's underside",
        default=0,
    )
    gutter: Gutter = says("the channel outside the landing")
    lid: HatchLid = says("the moving part")
    bond_flange: BondFlange = says("how the frame is bonded in", default_factory=BondFlange)
    drains: dict[str, HatchDrain] = says("drains by name; two at the lowest corners when absent", default_factory=dict)
    skin: str | None = says("laminate of the frame; chosen when absent", default=None)
    mold: Literal["frame", "strips"] = says(
        "frame: a one-piece frame on a mold table; strips: loose insert strips on the sole's core", default="frame"
    )
    mold_stock: str = says("stock the mold is cut from", default="board")


class Target(SpecPart):
    """What a hand must reach through some hatch: a valve, a hose clip."""

    at: Point3 = says("where it is, boat axes")
    arm: Length = within(
        50, 1500, "how far an arm reaches from the opening's rim", "600 to 700 mm is common", default=600
    )


class Fitting(SpecPart):
    """Something bolted to the sole that wants a plug in the core."""

    at: Point2 = says("its middle, boat axes")
    flange: Length = within(5, 1000, "across its flange", "measure the fitting")
    bolts: int = Field(default=0, ge=0, le=24, description="bolts on a circle; 0 for none")
    bolt_circle: Length | None = within(3, 1000, "diameter of the bolt circle", "within the flange", default=None)
    bolt: Length = within(2, 40, "bolt diameter", "bolts in use", default=8)
    load: Mass | None = within(0, 5000, "what it carries, as mass", "for the record", default=None)


class SolePlan(SpecPart):
    """A sole one stands on, with its hatches."""

    outline: tuple[Vertex, ...] | None = Field(
        default=None,
        min_length=3,
        max_length=MOST_CORNERS,
        description="corners in order: [x, y], [x, y, radius], or {at, radius, through}",
    )
    outline_from: OutlineFile | None = says("an outline from a DXF or CSV file instead", default=None)
    surface: Coordinate = says("height of the finished surface at the outline's middle", default=0.0)
    crown: Length = within(
        0, 300, "how much higher the middle is than the edges, across the boat", "a deck's camber", default=0
    )
    fall: Slope = within(0, 0.2, "drop over run of the whole sole", "steeper than 1:5 is a ramp", default=0.0)
    towards: Side = says("the side it falls to", default="aft")
    core: str = says("stock of the core", default="foam")
    skin: str | None = says("laminate on both faces; chosen when absent", default=None)
    scribe: Length = within(0, 100, "how much larger its sheet is cut all round, to be scribed to the boat by hand",
                            "more is cut off by eye", default=0)
    depth_below: Length | None = within(
        1, 5000, "free depth under the surface; absent: not known", "room for drains", default=None, usual_least=40
    )
    hatches: dict[str, Hatch] = says("hatches by name", default_factory=dict)
    scuppers: dict[str, Scupper] = says("drains through the sole, by name", default_factory=dict)
    overboard: tuple[Side, ...] = says("sides whose edge is open: water runs off over it", default=())
    sill: Coordinate | None = says(
        "height to which a boarding sea fills the space over the sole before it spills away; absent: not judged",
        default=None,
    )
    fittings: dict[str, Fitting] = says("what is bolted to it, by name", default_factory=dict)
    below: dict[str, Below] = says("what is under it, by name", default_factory=dict)
    targets: dict[str, Target] = says("what a hand must reach, by name", default_factory=dict)

    @model_validator(mode="after")
    def _one_outline(self) -> SolePlan:
        if self.outline is None and self.outline_from is None:
            raise Rule("outline", "corners such as [0, -600], or `outline_from` with a file", "a sole has an outline")
        if self.outline is not None and self.outline_from is not None:
            raise Rule("outline_from", "one of outline, outline_from", "`outline` is given too")
        return self
