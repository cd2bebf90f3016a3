"""Which way is up when the boat heels and trims, and the least and most of what depends on it.

In       heel and trim [deg] or a box of both, vectors and points in boat axes [mm].
Out      the upward unit vector, heights above the water, falls of runs and planes [deg]; the exact least and most of
         them over a box, with the attitude where it is; the heels where something holds.
Not here what a fall or a height is held against (check/).

Boat axes: x forward, y to port, z up. Heel is positive starboard side down, trim positive bow up. The order is heel
first, about the boat's own x axis, then trim about the level transverse axis; seen from the boat, up is then
    u = (sin trim, cos trim sin heel, cos trim cos heel).
The other order differs by the product of the two angles. Sinkage is ignored: the boat turns about the point where the
resting water meets the centreline at `at_x`.

For a vector v fixed in the boat, with v_y, v_z = r (sin lean, cos lean),
    u . v = v_x sin trim + r cos trim cos(heel - lean),
so the least over a box of heel and trim is among few attitudes: on each end of heel and at heel = lean (+ 180), both
ends of trim and where the derivative by trim vanishes. That is exact: corners, edges and inside.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, NamedTuple

from moldplan.errors import MoldplanError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike

Vector = tuple[float, float, float]
Span = tuple[float, float]
Side = Literal["port", "starboard"]

MOST_HEEL, MOST_TRIM = 180.0, 90.0  # deg; beyond, another pair of angles means the same
ON_END = 1e-9  # deg, how near the end of a span a stationary angle may lie and still be tried
BY_ROUNDING = 1e-14  # share of a vector's length; a value must be lower by more than that to count as lower


class AttitudeError(MoldplanError):
    """An angle outside its range, an empty box, a run without length."""


def _in_range(name: str, angle: float, most: float) -> None:
    if not -most <= angle <= most:
        raise AttitudeError(f"{name} {angle:g} deg, allowed {-most:g} to {most:g}")


@dataclass(frozen=True)
class Attitude:
    """Heel and trim [deg]; heel within +-180, trim within +-90, else AttitudeError (NaN too)."""

    heel: float
    trim: float

    def __post_init__(self) -> None:
        _in_range("heel", self.heel, MOST_HEEL)
        _in_range("trim", self.trim, MOST_TRIM)


REST = Attitude(0.0, 0.0)


class Extreme(NamedTuple):
    """The least (or most) of something over a box, and the attitude where it is."""

    value: float
    at: Attitude


@dataclass(frozen=True, kw_only=True)
class AttitudeBox:
    """All attitudes of a range of heel and a range of trim [deg], ends included; AttitudeError when one is empty."""

    heel: Span
    trim: Span

    def __post_init__(self) -> None:
        for name, (low, high), most in (("heel", self.heel, MOST_HEEL), ("trim", self.trim, MOST_TRIM)):
            _in_range(name, low, most)
            _in_range(name, high, most)
            if low > high:
                raise AttitudeError(f"{name} from {low:g} to {high:g} deg: an empty box, the lower end comes first")

    @staticmethod
    def only(attitude: Attitude) -> AttitudeBox:
        """The box that holds one attitude."""
        return AttitudeBox(heel=(attitude.heel, attitude.heel), trim=(attitude.trim, attitude.trim))

    @property
    def corners(self) -> tuple[Attitude, ...]:
        """The corners, each once: four, two of a flat box, one of a single attitude."""
        return tuple(dict.fromkeys(Attitude(heel, trim) for heel in self.heel for trim in self.trim))

    def holds(self, attitude: Attitude) -> bool:
        """Whether an attitude lies in the box, its edges included."""
        return (self.heel[0] <= attitude.heel <= self.heel[1]) and (self.trim[0] <= attitude.trim <= self.trim[1])

    def grid(self, n: int, m: int) -> tuple[np.ndarray, np.ndarray]:
        """Heels and trims [deg] of n by m evenly spaced attitudes, both of shape (n * m,), trim running fastest.

        `.reshape(n, m)` of anything computed from them is by heel, then trim. One step across a range that has a width
        is refused with AttitudeError.
        """
        import numpy as np

        for name, (low, high), steps in (("heel", self.heel, n), ("trim", self.trim, m)):
            if steps < (1 if low == high else 2):
                raise AttitudeError(f"{name}: {steps} places do not span {low:g} to {high:g} deg")
        heels, trims = np.meshgrid(np.linspace(*self.heel, n), np.linspace(*self.trim, m), indexing="ij")
        return heels.ravel(), trims.ravel()


Where = Attitude | AttitudeBox


@dataclass(frozen=True, kw_only=True)
class Waterline:
    """The water at rest: its height [mm] on the centreline at `at_x` [mm], boat axes."""

    height: float
    at_x: float

    def arm(self, p: Vector) -> Vector:
        """From the point the boat turns about to p [mm]."""
        return p[0] - self.at_x, p[1], p[2] - self.height

    def height_above(self, p: Vector, attitude: Attitude = REST) -> float:
        """How far a point stands above the water [mm]; negative under it."""
        return dot(up(attitude), self.arm(p))


def dot(a: Sequence[float], b: Sequence[float]) -> float:
    """The inner product of two vectors of three."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def up(attitude: Attitude) -> Vector:
    """The upward unit vector in boat axes."""
    heel, trim = math.radians(attitude.heel), math.radians(attitude.trim)
    return math.sin(trim), math.cos(trim) * math.sin(heel), math.cos(trim) * math.cos(heel)


def ups(heels: ArrayLike, trims: ArrayLike) -> np.ndarray:
    """Upward unit vectors, shape (n, 3), of n heels and n trims [deg]; either may be a single number."""
    import numpy as np

    heel, trim = np.broadcast_arrays(np.atleast_1d(np.radians(heels)), np.atleast_1d(np.radians(trims)))
    return np.stack([np.sin(trim), np.cos(trim) * np.sin(heel), np.cos(trim) * np.cos(heel)], axis=-1)


def attitude_of(upward: Vector) -> Attitude:
    """The attitude at which `upward` (any length, boat axes) points up; AttitudeError for no direction.

    Straight up or down along x the heel is undetermined and given as 0.
    """
    x, y, z = upward
    if not 0 < math.hypot(x, y, z) < math.inf:
        raise AttitudeError(f"{upward} points nowhere")
    return Attitude(math.degrees(math.atan2(y, z)), math.degrees(math.atan2(x, math.hypot(y, z))))


def as_box(where: Where) -> AttitudeBox:
    """A box as it is, a single attitude as the box that holds it alone."""
    return where if isinstance(where, AttitudeBox) else AttitudeBox.only(where)


def least_along_up(v: Vector, where: Where) -> Extreme:
    """The least of u . v over a box, exactly, in the unit of v. Ties go to the first corner that has it."""
    box = as_box(where)
    lean = math.degrees(math.atan2(v[1], v[2]))
    places = list(box.corners)
    for heel in (*box.heel, *_half_turns_in(lean, box.heel)):
        rise = v[1] * math.sin(math.radians(heel)) + v[2] * math.cos(math.radians(heel))
        turn = math.degrees(math.atan2(v[0], rise))
        places += [Attitude(heel, trim) for trim in (*box.trim, *_half_turns_in(turn, box.trim))]
    best = Extreme(dot(up(places[0]), v), places[0])
    slack = BY_ROUNDING * math.hypot(*v)
    for place in places[1:]:
        value = dot(up(place), v)
        if value < best.value - slack:
            best = Extreme(value, place)
    return best


def most_along_up(v: Vector, where: Where) -> Extreme:
    """The most of u . v over a box, exactly, as least_along_up the least."""
    least = least_along_up((-v[0], -v[1], -v[2]), where)
    return Extreme(-least.value, least.at)


def fall_along(d: Vector, attitude: Attitude = REST) -> float:
    """How steeply a run along d (towards its drain, any length) falls [deg]: asin(-u . d / |d|).

    Positive runs out, negative runs back. By the two-argument arc tangent, which is as exact on a hose that hangs
    straight down as on a level one. AttitudeError for a run without length.
    """
    u = up(attitude)
    x, y, z = _direction(d)
    across = math.hypot(u[1] * z - u[2] * y, u[2] * x - u[0] * z, u[0] * y - u[1] * x)
    return math.degrees(math.atan2(-dot(u, (x, y, z)), across))


def least_fall(d: Vector, where: Where) -> Extreme:
    """The least fall of a run along d over a box [deg], exactly, and where. AttitudeError without length."""
    x, y, z = _direction(d)
    at = least_along_up((-x, -y, -z), where).at
    return Extreme(fall_along(d, at), at)


def least_height(p: Vector, waterline: Waterline, where: Where) -> Extreme:
    """The least height of a point above the water over a box [mm], exactly, and where."""
    return least_along_up(waterline.arm(p), where)


def plane_fall(normal: Vector, attitude: Attitude = REST) -> tuple[float, float]:
    """How steeply a plane falls [deg], and which way downhill lies in the boat's plan.

    `normal`: upward normal in boat axes, any length. The bearing is from forward towards port (aft 180, port 90), of
    the steepest way down in the plane; 0 where the plane lies level.
    """
    n, u = _direction(normal), up(attitude)
    rise = dot(n, u)
    down = tuple(rise * a - b for a, b in zip(n, u, strict=True))
    steep = math.degrees(math.atan2(math.hypot(*down), rise))
    return steep, math.degrees(math.atan2(down[1], down[0])) if math.hypot(*down) > ON_END else 0.0


def heels_where(v: Vector, least: float, trim: float, *, span: Span = (-90.0, 90.0)) -> tuple[Span, ...]:
    """The ranges of heel [deg] within `span` at which u . v >= least, in order; empty where there is none."""
    theta = math.radians(trim)
    reach = math.cos(theta) * math.hypot(v[1], v[2])
    rest = least - v[0] * math.sin(theta)
    if reach <= abs(rest):  # no heel crosses it: all of them, or none (one, at most, where it touches)
        return (span,) if rest <= 0 else ()
    lean, half = math.degrees(math.atan2(v[1], v[2])), math.degrees(math.acos(rest / reach))
    pieces = ((lean + turn - half, lean + turn + half) for turn in (-360.0, 0.0, 360.0))
    return tuple((max(low, span[0]), min(high, span[1])) for low, high in pieces if low <= span[1] and high >= span[0])


def heels_where_falls(d: Vector, trim: float, *, fall: float = 0.0, span: Span = (-90.0, 90.0)) -> tuple[Span, ...]:
    """The ranges of heel [deg] at which a run along d falls by `fall` [deg] or more at one trim [deg]."""
    x, y, z = _direction(d)
    return heels_where((-x, -y, -z), math.sin(math.radians(fall)), trim, span=span)


def immersion_angle(p: Vector, waterline: Waterline, side: Side, *, trim: float | Span = 0.0) -> float | None:
    """The heel to `side` [deg, from 0 up] at which a point first meets the water; sinkage ignored.

    0 when it is in the water upright, None when it meets none up to 90 deg. Over a range of trim, the least: it lies
    at an end, for what the trim adds, x tan(trim), grows with it, and the ranges of heel clear of water are nested.
    """
    if isinstance(trim, tuple):
        both = [angle for end in trim if (angle := immersion_angle(p, waterline, side, trim=end)) is not None]
        return min(both, default=None)
    arm = waterline.arm(p)
    if waterline.height_above(p, Attitude(0.0, trim)) <= 0:
        return 0.0
    clear = heels_where(arm, 0.0, trim, span=(-180.0, 180.0))
    around = next((span for span in clear if span[0] <= 0.0 <= span[1]), (0.0, 0.0))
    angle = around[1] if side == "starboard" else -around[0]
    return min(angle, 90.0) if angle <= 90.0 + ON_END else None


def _half_turns_in(angle: float, span: Span) -> list[float]:
    """The angles angle + k 180 deg that lie in a range, those on its ends by rounding included."""
    first = math.ceil((span[0] - ON_END - angle) / 180.0)
    last = math.floor((span[1] + ON_END - angle) / 180.0)
    return [min(max(angle + k * 180.0, span[0]), span[1]) for k in range(first, last + 1)]


def _direction(d: Vector) -> Vector:
    """d as a unit vector; AttitudeError for one without length, infinite or NaN."""
    size = math.hypot(*d)
    if not 0 < size < math.inf:
        raise AttitudeError(f"a run along {tuple(d)} has no direction")
    return d[0] / size, d[1] / size, d[2] / size
