"""Fields of the router, or the blade, that cuts the sheets.

In, Out, Not here: as model.py, which holds the rest of the spec and imports this.
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from moldplan.spec.fields import Length, Size2, SpecPart, says, within


class Cutter(SpecPart):
    """The router, or the blade, that cuts the sheets."""

    diameter: Length = within(0.5, 50, "cutter diameter", "router bits come in these sizes", default=6)
    spacing: Length = within(0, 200, "least distance between pieces", "a strip must stay", default=12)
    bed: Size2 | None = says("length and width that the router reaches; a sheet longer than that hangs over its ends "
                             "and is cut in stages",
                             why="a router reaches something, and none in use reaches 20 m",
                             usual_least=100, default=None)
    depth: Length | None = within(1, 500, "deepest that the bit cuts", "bits in use are no longer", default=None)
    edge_margin: Length = within(0, 300, "kept free along the sheet's edge", "edges are damaged", default=15)
    corner_relief: Literal["by fit", "round", "edge", "none"] = says(
        "how inside corners tighter than the cutter are opened: round past the corner, along the longer edge, or not; "
        "by fit: along the edge that nothing lies against, round where both edges seat something or neither does",
        default="by fit")
    bridges: int = within(0, 12, "bridges that keep a small piece in its sheet, each; 0 for none",
                          "a piece under 300 x 300 mm, or narrower than 100 mm, lifts or flies", default=4)
    bridge_length: Length = within(1, 100, "length of a bridge along the outline", "it is trimmed by hand", default=8)
    bridge_height: Length = within(0.2, 50, "how thick a bridge stays, at most the sheet",
                                   "it must hold, and be trimmed", default=2)
    arc_tolerance: Length = within(
        0.002, 0.025, "how far the arcs of a cut line may leave its true curve",
        "finer only makes more arcs; faces of a piece that differ by 0.05 mm must still be told apart", default=0.02)
    in_openings: bool = says("true when pieces may be cut out of the openings of others", default=True)
    nest_seconds: float = Field(default=5.0, gt=0, le=3600, description="time the layout may take, a stock [s]",
                                json_schema_extra={"why": "in no time nothing is found, and nobody waits an hour"})
