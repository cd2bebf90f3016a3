"""Fields of an insert that is built of crossing frames instead of a stack of discs.

In, Out, Not here: as model.py, which holds the rest of the spec and imports this.
"""

from __future__ import annotations

from moldplan.spec.fields import Length, SpecPart, within


class Framing(SpecPart):
    """How an insert of frames is built: two sets that cross, slit to half their height, and a covering over them."""

    spacing: Length = within(20, 1000, "between the middles of neighbouring frames, at most",
                             "closer they are a solid block, further the covering bends", default=80)
    covering: Length = within(0.5, 40, "thickness of the covering over the frames, normal to the surface",
                              "thin board, strips or filler", default=3)
    clearance: Length = within(0, 5, "how much wider a slit is than the sheet that goes into it",
                               "more and the frames rattle", default=0.3)
