"""What drop a run needs so that it falls at every attitude of a box, and how far a drop carries.

In       a run's plan [mm, boat axes], a box of attitudes, the fall it must keep [deg].
Out      the least drop [mm], the least built-in slope, the longest plan run, the depth of what a reversed run holds.
Not here hoses of several legs (fall_leg.py), what stands on a whole surface (ponds).

At one attitude with up u a run d = (h, -drop) falls by `fall` where u_z drop - u . h = sin(fall) |d|, a quadratic in
the drop. The set of drops that hold there is all those above its upper root, and over a box the intersection of these:
the drop is raised to the root at the worst attitude (which attitude.py gives exactly) until no attitude is worse. Each
step is a bound from below, so that the last one, at which the box holds, is the least.
"""

from __future__ import annotations

import math

from moldplan.attitude import AttitudeBox, AttitudeError, Vector, Where, as_box, least_fall, up

Plan = tuple[float, float]

ROUNDS = 100  # the steps converge like Newton's, in four or five
ENOUGH = 1e-12  # deg, and share of the plan run: rounding


def least_drop(plan: Plan, where: Where, *, fall: float = 0.0) -> float:
    """The least drop [mm] over a run with this plan [mm, towards its drain] that falls by `fall` [deg] all over a box.

    Negative where the box itself lends more than enough. It grows in proportion to the run. AttitudeError when the
    fall is negative, or when at some attitude not even a plumb run would fall by it.
    """
    box = as_box(where)
    _refuse(box, fall)
    run = math.hypot(*plan)
    if not run < math.inf:
        raise AttitudeError(f"a run over {plan} mm in plan has no length")
    if run == 0:
        return 0.0
    drop = max(_root(plan, up(corner), fall) for corner in box.corners)
    for _ in range(ROUNDS):
        worst = least_fall((plan[0], plan[1], -drop), box)
        if worst.value >= fall - ENOUGH:
            break
        more = _root(plan, up(worst.at), fall)
        if more <= drop + ENOUGH * run:
            break
        drop = more
    return drop


def _root(plan: Plan, u: Vector, fall: float) -> float:
    """The drop at which a run falls by exactly `fall` at one attitude."""
    s, along = math.sin(math.radians(fall)), u[0] * plan[0] + u[1] * plan[1]
    steep = u[2] ** 2 - s**2
    return (u[2] * along + s * math.sqrt(along**2 + steep * (plan[0] ** 2 + plan[1] ** 2))) / steep


def _refuse(box: AttitudeBox, fall: float) -> None:
    if not 0 <= fall < 90:
        raise AttitudeError(f"a fall of {fall:g} deg, allowed 0 up to under 90")
    most = max(abs(angle) for angle in box.heel), max(abs(angle) for angle in box.trim)
    plumb = math.degrees(math.asin(math.cos(math.radians(most[0])) * math.cos(math.radians(most[1]))))
    if plumb <= fall or max(most) >= 90:
        raise AttitudeError(f"at heel {most[0]:g} and trim {most[1]:g} deg a plumb pipe falls by {plumb:.3g} deg: "
                            f"no drop gives {fall:g}")


def least_built_in_slope(bearing: float, where: Where, *, fall: float = 0.0) -> float:
    """The least drop over plan run that falls by `fall` [deg] all over a box; `bearing` of the downhill end [deg].

    From forward towards port: aft 180, port 90, starboard -90.
    """
    way = math.radians(bearing)
    return least_drop((math.cos(way), math.sin(way)), where, fall=fall)


def longest_run(drop: float, bearing: float, where: Where, *, fall: float = 0.0) -> float:
    """How far [mm in plan] a drop [mm] carries a straight run at a bearing [deg] that falls by `fall` [deg] in a box.

    0 for no drop where one is needed; infinite where the box lends enough of itself.
    """
    slope = least_built_in_slope(bearing, where, fall=fall)
    if slope <= 0:
        return math.inf if drop >= 0 or slope == 0 else 0.0
    return max(drop, 0.0) / slope


def pond_of_reversed_run(length: float, fall: float) -> float:
    """How deep [mm] a channel of this plan length stands at its blind end when it falls the wrong way [deg].

    It is full to the rim of its drain; 0 when it falls the right way. AttitudeError for a length below 0.
    """
    if not 0 <= length < math.inf or not -90 < fall <= 90:
        raise AttitudeError(f"a run of {length:g} mm that falls by {fall:g} deg")
    return length * math.tan(math.radians(-fall)) if fall < 0 else 0.0
