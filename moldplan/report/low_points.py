"""On a sole's plan: its scuppers, and where water stays behind at each attitude that was judged.

In       a finished plan, one of its soles, the view it is drawn in.
Out      marks, and the names that leaders give them.
Not here the gutters' drains and falls (sole_view.py), the map over heel and trim (water_map.py).
"""

from __future__ import annotations

from moldplan.quantity import plain
from moldplan.report.drawing import Mark, Point, View, circle, line
from moldplan.report.subject import Plan
from moldplan.shape.assembly import SolePlace
from moldplan.shape.drain import flange_of

LEAST = 0.5  # mm of water that is worth a mark
MOST = 4  # marks on one plan, the deepest first: more hide the sole
HALF = 1.6  # paper mm of a mark


def scuppers(place: SolePlace, view: View, tips: list[tuple[Point, str]]) -> list[Mark]:
    """Each scupper's bore, and its flange dashed."""
    marks: list[Mark] = []
    for name, one in place.sole.scuppers.items():
        spot = view(*one.at)
        marks += [circle(spot, one.bore / 2 * view.scale), circle(spot, flange_of(one) / 2 * view.scale, "hidden")]
        tips.append((spot, f"{name}, scupper {plain(one.bore, 1)}"))
    return marks


def low_points(plan: Plan, place: SolePlace, view: View, tips: list[tuple[Point, str]]) -> list[Mark]:
    """A diamond where water stays deepest, named with the attitude and its depth."""
    own = {place.name, *(h.name for h in plan.assembly.hatches if h.sole == place.name)}
    found = [f for f in plan.findings if f.check == "pond" and f.part in own and f.unit == "mm"
             and f.measured is not None and f.measured >= LEAST and {"x", "y"} <= f.at.keys()]
    marks: list[Mark] = []
    for each in sorted(found, key=lambda f: -(f.measured or 0.0))[:MOST]:
        x, y = view(each.at["x"], each.at["y"])
        ends = ((x - HALF, y), (x, y - HALF), (x + HALF, y), (x, y + HALF))
        marks += [line(a, b) for a, b in zip(ends, (*ends[1:], ends[0]), strict=True)]
        tips.append(((x, y), f"{each.what}: {each.measured or 0.0:.1f} mm stay"))
    return marks
