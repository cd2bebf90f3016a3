"""Sizes of the shims, blocks and sticks that a builder cuts from scrap to try a hatch with.

In       Assembly.
Out      rows: hatch, name, size [mm], use.
Not here whether the sizes are good ones (section.py, edge_gap.py).

Each is measured on the finished bodies. A shim that must slide is cut no thicker than its gap: sizes are as measured,
and rounding them down is the bench's.
"""

from __future__ import annotations

from typing import Any

from moldplan.check.edge_gap import gap_at
from moldplan.check.hatch_spot import MadeHatch
from moldplan.shape.assembly import Assembly


def gauges(assembly: Assembly) -> tuple[dict[str, Any], ...]:
    """Rows {hatch, name, size, use} of every hatch, in the order they are used. Raises GeometryError for a body that
    lacks a face to be measured."""
    rows = []
    for place in assembly.hatches:
        spot = MadeHatch(assembly, place)
        rows += [{"hatch": spot.name, "name": name, "size": round(size, 2), "use": use}
                 for name, size, use in _of_one(spot)]
    return tuple(rows)


def floor_depth(spot: MadeHatch) -> tuple[float, float]:
    """Depth of the finished floor below the finished landing, at its highest and at its lowest [mm]."""
    levels = [spot.own(v.toTuple())[2] for tool in spot.tools for face in tool.shaped.roles.get("molding floor", ())
              for v in face.Vertices()]
    return -max(levels) - spot.paint - spot.landing, -min(levels) - spot.paint - spot.landing


def _of_one(spot: MadeHatch) -> list[tuple[str, float, str]]:
    bare, _ = gap_at(spot, spot.lid_top - spot.paint, painted=False)
    painted, _ = gap_at(spot, spot.lid_top, painted=True)
    under, _ = gap_at(spot, spot.lid_under, painted=True)
    high, low = floor_depth(spot)
    opening = spot.opening
    rows = [
        ("edge shim, bare", bare, "slides all round between lid and frame before paint"),
        ("edge shim, painted", painted, "slides all round between lid and frame after paint"),
        ("edge shim, underside", under, "the gap at the lid's underside after paint"),
        ("gasket block", spot.landing + spot.lid_under,
         "lies on the landing under the closed lid: the gasket as squeezed"),
        ("landing stick", spot.landing, "from a straightedge across the sole down to the landing, painted"),
        ("gutter stick, high point", high, "from the landing down to the gutter's floor where it is highest"),
        ("gutter stick, drain", low, "from the landing down to the gutter's floor at its drain"),
        ("length lath", 2 * opening.half[0], "the clear opening along its length"),
        ("width lath", 2 * opening.half[1], "the clear opening across"),
    ]
    if any(opening.inner):  # a round one has no corners
        rows.append(("diagonal lath", opening.diagonal, "corner to corner of the clear opening, both ways alike"))
    stop = spot.place.hatch.lid.gasket.stop
    return rows if stop is None else [*rows, ("stop block", stop, "the hard stop's height over the landing")]
