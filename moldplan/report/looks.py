"""How each kind of body looks in three dimensions: its colour, how far it is see-through, what group it is shown with.

In       a body's kind.
Out      Look: red, green, blue, alpha (0 to 1), group and its default.
Not here hatches on paper (hatch.py).

Matt and quiet: foam pale, board warm, skin dark, cylinder light metal. The few signal colours are from the
colour-blind-safe set of Okabe and Ito (2008).
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Look:
    """Colour 0 to 255, alpha 0 to 1, and the group it is switched on and off with."""

    colour: tuple[int, int, int]
    alpha: float
    group: str


GROUPS: dict[str, tuple[str, bool]] = {  # group: (what the switch says, shown at first)
    "cylinders": ("Cylinders", True),
    "fittings": ("Straps, tubes, liners", True),
    "skins": ("Skins", True),
    "cores": ("Cores and ribs", True),
    "lids": ("Lids of hatches", True),
    "tools": ("Inserts", False),
    "molds": ("Molds", False),
    "room": ("Room of valves", False),
    "surroundings": ("Lockers, what lies below", True),
}

LID = (176, 181, 185)  # a lid's skin, a little paler than the sole it lies in

LOOKS: dict[str, Look] = {
    "part": Look((150, 156, 160), 1.0, "skins"),
    "skin": Look((92, 98, 104), 1.0, "skins"),
    "core": Look((238, 228, 196), 1.0, "cores"),
    "lift": Look((238, 228, 196), 1.0, "cores"),
    "rib": Look((205, 168, 112), 1.0, "cores"),
    "insert": Look((196, 150, 92), 1.0, "tools"),
    "mold": Look((205, 168, 112), 1.0, "molds"),
    "mold sheet": Look((196, 150, 92), 1.0, "molds"),
    "insert frame": Look((214, 184, 136), 1.0, "tools"),
    "packer": Look((214, 184, 136), 1.0, "tools"),
    "core plug": Look((230, 159, 0), 1.0, "fittings"),
    "liner": Look((70, 70, 74), 1.0, "fittings"),
    "tube": Look((0, 114, 178), 1.0, "fittings"),
    "strap": Look((0, 114, 178), 1.0, "fittings"),
    "eye": Look((120, 124, 128), 1.0, "fittings"),
    "cylinder": Look((196, 202, 208), 1.0, "cylinders"),
    "envelope": Look((86, 180, 233), 0.25, "room"),
    "surroundings": Look((170, 174, 178), 0.08, "surroundings"),
}


def look_of(kind: str) -> Look:
    """The look of a kind; a kind not known here is grey and shown."""
    return LOOKS.get(kind, Look((180, 180, 180), 1.0, "fittings"))
