"""A way out drawn out straight: its height against its length, at rest and where its worst leg falls least.

In       a finished plan, one HoseProfile of it.
Out      profile(): one A4 sheet.
Not here judging it (check/ways_out.py), where it lies in the boat.
"""

from __future__ import annotations

from moldplan.attitude import REST, fall_along
from moldplan.check.seen_water import HoseProfile
from moldplan.quantity import plain
from moldplan.report.drawing import Drawing, Mark, circle, line, polyline
from moldplan.report.graph import Axes, area, clear_words, sheet
from moldplan.report.subject import Plan


def profile(plan: Plan, hose: HoseProfile) -> Drawing:
    """The sheet of one way out."""
    heights = [s.height for run in (hose.rest, hose.worst) for s in run]
    heights.append(0.0)
    spread = max(heights) - min(heights) or 1.0
    low, high = area()
    axes = Axes(across=(0.0, hose.rest[-1].along), low=low, high=high,
                upward=(min(heights) - 0.12 * spread, max(heights) + 0.12 * spread))  # fmt: skip
    over = "the waterline" if hose.over_water else "the outlet"
    marks: list[Mark] = axes.marks("along the way out from the drain's rim [mm]", f"height over {over} [mm]")
    if hose.over_water:
        marks.append(line(axes(0.0, 0.0), axes(axes.across[1], 0.0), "axis"))
    lines = [polyline([axes(*s) for s in run], pen) for run, pen in ((hose.rest, "wide"), (hose.worst, "hidden"))]  # type: ignore[arg-type]
    marks += lines
    marks += [circle(axes(*s), 0.9, fill="black") for s in hose.rest]
    for number, (a, b) in enumerate(zip(hose.rest, hose.rest[1:], strict=False), 1):
        marks += clear_words(marks, axes((a.along + b.along) / 2, (a.height + b.height) / 2), str(number), bold=True)
    if hose.over_water:
        marks += clear_words(marks, axes(axes.across[1] * 0.15, 0.0), "waterline")
    where = f"heel {plain(hose.attitude.heel, 1)}, trim {plain(hose.attitude.trim, 1)} deg"
    keys = [("wide", "at rest"), ("hidden", f"{where}, where a leg falls least")]
    if hose.over_water:
        keys.append(("axis", "the water outside"))
    about = f"Height of the way out of {hose.drain.name} over {over} along its length, at rest and at {where}."
    said = [*_legs(hose), _margin(hose, over), "Heights and lengths have scales of their own; sinkage is not counted."]
    name = "Way out, drawn out straight"
    return sheet(plan, marks, part=hose.drain.name, name=name, said=said, about=about, keys=keys)


def _legs(hose: HoseProfile) -> list[str]:
    """Each leg's fall at rest and at the other attitude."""
    found = []
    for number, (p, q) in enumerate(zip(hose.drain.line, hose.drain.line[1:], strict=False), 1):
        x, y, z = (b - a for a, b in zip(p, q, strict=True))
        rest, worst = fall_along((x, y, z), REST), fall_along((x, y, z), hose.attitude)
        found.append(f"Leg {number} falls {plain(rest, 1)} deg at rest, {plain(worst, 1)} deg dashed")
    return found


def _margin(hose: HoseProfile, over: str) -> str:
    """What is left, in words."""
    runs = "runs back" if hose.least < 0 else "lies level" if hose.least == 0 else "still falls"
    words = f"At its least a leg {runs}: {plain(hose.least, 1)} deg."
    if not hose.over_water:
        return f"{words} No waterline is given: heights are over the outlet."
    rest, worst = hose.rest[-1].height, hose.worst[-1].height
    return f"{words} The outlet lies {plain(rest, 0)} mm over {over} at rest, {plain(worst, 0)} mm dashed."
