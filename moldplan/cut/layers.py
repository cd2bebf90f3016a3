"""The layers of a cut file: one operation a layer, its name says which.

In       depths.
Out      names of layers, what each is for, its colour.
Not here what is drawn on them (dxf.py).

Colours are of Okabe and Ito's colour-blind-safe set (2008) and mean nothing by themselves.
"""

from __future__ import annotations

import re

LAYERS = {
    "sheet-edge": ("the sheet's edge: not cut", 0x000000),
    "cut-piece": ("cut through; the piece is inside the line", 0xD55E00),
    "cut-opening": ("cut through; the piece is outside the line", 0xE69F00),
    "datum-mark": ("mark: the corner that all places are counted from", 0x000000),
    "mark-line": ("mark: arrows, crosses where holes are drilled", 0x0072B2),
    "mark-text": ("mark: letters as single strokes", 0x009E73),
    "far-face": ("outline of the other face: not cut; a line to dress to where the piece says so", 0xCC79A7),
}
TRUE = "true-outline"  # drawn only where a piece is cut rough
DEFECT = "sheet-defect"  # drawn only on sheets that have one
STAGED = {  # drawn only on sheets that are cut in stages
    "datum-hole": ("drilled through, for the dowels that the next stage is pinned on", 0x56B4E9),
    "datum-pin": ("dowels in the bed, under the holes of the stage before: drill the bed, not the sheet", 0x000000),
}
# What stands on a layer; a name that ends in a depth stands here without it. A new layer needs its word here.
OUTLINES = ("sheet-edge", "cut-piece", "cut-opening", "far-face", TRUE, DEFECT, "sink", "bore", "drill",
            *STAGED)  # closed
LINES = ("datum-mark", "mark-line", "mark-text", "bridge")
SUNK_COLOUR = 0x56B4E9  # recesses and bores; the set's yellow is too pale on white
BRIDGE_COLOUR = 0xF0E442  # over the cut's own line


def bridge_layer(height: float) -> str:
    """Layer of the stretches of a cut over which so much of the thickness stays [mm]."""
    return f"bridge-{height:.1f}mm"


def drill_layer(across: float, depth: float | None) -> str:
    """Layer of round holes of one size that are drilled, not routed: through, or to a depth [mm]."""
    return f"drill-{across:.1f}mm" + ("" if depth is None else f"-deep-{depth:.1f}mm")


def sink_layer(depth: float) -> str:
    """Layer of recesses of one depth [mm]."""
    return f"sink-{depth:.1f}mm"


def bore_layer(depth: float) -> str:
    """Layer of round blind holes of one depth [mm]."""
    return f"bore-{depth:.1f}mm"


def outlined(layer: str) -> bool:
    """Whether a layer of a cut file holds closed outlines, and nothing else. Raises KeyError for one unknown here."""
    family = re.sub(r"-\d+\.\dmm(-deep-\d+\.\dmm)?$", "", layer)
    if family not in (*OUTLINES, *LINES):
        raise KeyError(layer)
    return family in OUTLINES
