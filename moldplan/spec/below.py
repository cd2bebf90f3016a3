"""Things under a sole that a hatch must not touch: a box, a round bar, what an arm sweeps, a body from a file.

In, Out, Not here: as model.py. Reading the file is envelope_file.py's, making solids shape/below.py's.
"""

from __future__ import annotations

from pydantic import Field, PrivateAttr, model_validator

from moldplan.spec.fields import Angle, Coordinate, Length, Point2, Point3, Rule, SpecPart, says, within

KINDS = {
    "box": ("from", "to"),
    "cylinder": ("base", "top", "diameter"),
    "swept sector": ("sweep",),
    "body": ("step",),
}
ALLOWED = ("a box {from, to}, a cylinder {base, top, diameter}, a swept sector {sweep}, or a body from a STEP file "
           "{step, at, turn}")


class Sweep(SpecPart):
    """What an arm, a quadrant or a lever sweeps as it turns about an upright axis: a sector of a disc."""

    pivot: Point2 = says("the upright axis it turns about, boat axes")
    radius: Length = within(5, 5000, "from the axis to its far end", "levers under a sole")
    inner_radius: Length = within(0, 5000, "from the axis to its near end; 0: it begins at the axis",
                                  "less than its far end's", default=0)
    from_: Angle = Field(alias="from", ge=-360, le=360,
                         description="where the sweep begins: 0 forward, 90 port, 180 aft",
                         json_schema_extra={"why": "a full turn is 360"})
    to: Angle = within(-360, 720, "where the sweep ends, further on from forward towards port",
                       "at most a full turn after it begins")
    low: Coordinate = says("height of its underside")
    high: Coordinate = says("height of its top")

    @model_validator(mode="after")
    def _takes_room(self) -> Sweep:
        if self.inner_radius >= self.radius:
            raise Rule("inner_radius", f"less than {self.radius:g}, its radius", "it ends before it begins")
        if self.to <= self.from_:
            more = f", such as {self.to + 360:g}" if self.from_ - 360 < self.to < self.from_ else ""
            raise Rule("to", f"more than {self.from_:g}, where it begins{more}",
                       "what does not turn sweeps nothing" if self.to == self.from_ else
                       "a sweep goes from forward towards port")
        if self.to > self.from_ + 360:
            raise Rule("to", f"up to {self.from_ + 360:g}", "more than a full turn is a full turn")
        if self.low >= self.high:
            raise Rule("high", f"more than {self.low:g}, its underside", "a sweep without height takes no room")
        return self


class Below(SpecPart):
    """Something under the sole that a hatch must not touch: a box, a cylinder, a swept sector or a body from a file."""

    from_: Point3 | None = Field(default=None, alias="from", description="one corner of a box, boat axes")
    to: Point3 | None = says("the opposite corner of the box", default=None)
    base: Point3 | None = says("foot of a cylinder's axis", default=None)
    top: Point3 | None = says("head of a cylinder's axis", default=None)
    diameter: Length | None = within(1, 5000, "diameter of the cylinder", "things under a sole", default=None)
    sweep: Sweep | None = says("what a tiller arm, a quadrant or a lever sweeps", default=None)
    step: str | None = says("STEP file (.step or .stp) with a solid body, relative to the spec", default=None)
    at: Point3 | None = says("where the datum of the STEP file comes to lie, boat axes; on the boat's when absent",
                             default=None)
    turn: Angle | None = within(-360, 360, "turn of the file's body about the vertical through its datum, forward "
                                "towards port", "a full turn", default=None)
    _content: bytes | None = PrivateAttr(default=None)

    @model_validator(mode="after")
    def _one_kind(self) -> Below:
        stands = {"from": self.from_, "to": self.to, "base": self.base, "top": self.top, "diameter": self.diameter,
                  "sweep": self.sweep, "step": self.step}
        given = {name for name, value in stands.items() if value is not None}
        kinds = [kind for kind, parts in KINDS.items() if given & set(parts)]
        if len(kinds) != 1 or (missing := set(KINDS[kinds[0]]) - given):
            raise Rule("", ALLOWED, f"it is a part of each: {' and '.join(kinds)}" if len(kinds) > 1 else
                       f"{' and '.join(sorted(missing))} is missing" if kinds else "it is none of them")
        if self.step is None and (self.at is not None or self.turn is not None):
            raise Rule("at" if self.at is not None else "turn", "this beside `step`",
                       "only a body from a file is placed by it")
        if self.base is not None and self.base == self.top:
            raise Rule("top", "another point than its base", "a cylinder without length takes no room")
        if self.from_ and any(a == b for a, b in zip(self.from_, self.to or (), strict=True)):
            raise Rule("to", "the opposite corner, off in all three directions", "a box without size takes no room")
        return self

    @property
    def content(self) -> bytes | None:
        """What stands in its STEP file; None for other kinds, and for a spec that was not loaded from a file."""
        return self._content

    def holding(self, content: bytes) -> Below:
        """The same with what stands in its STEP file."""
        made = self.model_copy()
        made._content = content
        return made
