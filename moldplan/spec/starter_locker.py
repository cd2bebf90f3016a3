"""`moldplan new locker`: a first locker with one cylinder, its drain, vent and outlet; it builds as it stands.

In       checked answers (every name of LOCKER).
Out      the text of a spec.
Not here asking and writing (starter.py), the seat itself (starter.py's), building it (plan.py).
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from moldplan import quantity
from moldplan.quantity import plain
from moldplan.spec.starter import CRADLE, Question, cradle, lined

SIDES = ("port", "starboard")
ROUND = 80.0  # mm from the block to the walls: a strap, a hand, and a drain beside it; ours
INBOARD = 150.0  # mm from the centreline to the locker's inner wall; ours
VALVE, ABOVE = 90.0, 110.0  # mm, the valve's envelope, and room for a hand over it; ours
BORE, FLANGE = 20.0, 25.0  # mm; 19 mm and more for gas, a flange let in flush
INSET = 13.0  # mm from the aft wall to the drain's middle: as near as its flange lets it
WATER, OUTLET = 200.0, 60.0  # mm under the locker's sole: the loaded waterline, and the outlet

LOCKER: tuple[Question, ...] = (
    *(q for q in CRADLE if q.name not in ("posture",)),
    Question("side", "Which side of the boat is it on", "port", SIDES),
)


def locker(given: Mapping[str, str]) -> str:
    """The text of a first locker spec."""
    import yaml

    seat = cradle({**given, "posture": "upright"}).replace("`moldplan new cradle`", "`moldplan new locker`").replace(
        "# A first cradle", "# A first locker").replace("title: Cradle for", "title: Locker for").replace(
        "    # valve: {diameter: 120, height: 90}", f"    valve: {{diameter: 110, height: {VALVE:g}}}    ").replace(
        "  seat block:\n", "  seat block:\n    locker: locker\n")
    block = yaml.safe_load(seat)["cradles"]["seat block"]["block"]
    tall = quantity.toleranced(given["height"]).value
    size = math.ceil((max(block[:2]) + 2 * ROUND) / 10) * 10
    high = math.ceil((block[2] + tall + VALVE + ABOVE) / 10) * 10
    sign = 1 if given["side"] == "port" else -1
    inner, outer, middle = (sign * v for v in (INBOARD, INBOARD + size, INBOARD + size / 2))
    return seat + lined(
        ("", ""),
        ("boat:", ""),
        (f"  waterline: {{height: {plain(-WATER)}, at_x: 3000}}", "loaded, at rest; measure yours"),
        ("  # box: {heel: [-5, 5], trim: [-1, 2]}", "afloat; a locker then wants a drain in each low corner"),
        ("  # openings: {window: {from: [900, 0, 300], to: [1200, 0, 500]}}", "gas must not find these"),
        ("", ""),
        ("lockers:", ""),
        ("  locker:", ""),
        (f"    box: {{from: [0, {plain(inner)}, 0], to: [{size}, {plain(outer)}, {high}]}}",
         "the clear inside, boat axes"),
        ("    sole: {fall: 1:40, towards: aft}", ""),
        (f"    lid: {{clear_opening: [{size - 60}, {size - 60}], corner_radius: 40, opens: top, gasket: true, "
         "latch: true}", ""),
        (f"    drain: {{at: [{plain(INSET)}, {plain(middle)}], bore: {plain(BORE)}, flange: {plain(FLANGE)}, tail: 40, "
         f"outlet: [-40, {plain(middle)}, {plain(-OUTLET)}]}}", ""),
        ("    # drains: {outboard: {at: [30, 400]}}", "further drains, by name"),
        (f"    vent: {{at: [0, {plain(middle)}, {high - 20}], bore: 25, outlet: [-40, {plain(middle)}, {high + 10}]}}",
         ""),
        (f"    gas_tight_to: {high - 20}", "over the valve"),
    )
