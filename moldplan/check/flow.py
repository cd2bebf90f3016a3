"""Water in a gutter, uniform: wetted section, Manning's speed, what it carries brim-full, how deep a flow stands.

In       a gutter's cross-section [mm], its slope (drop over plan run), its roughness n, flows [L/s].
Out      Wet (area, perimeter, top), Uniform (flow, speed, Froude, Reynolds), depths [mm]; FlowError outside the range.
Not here flow gathered along a run (flow_gather), inlets (flow_drain), pipes (flow_pipe), limits.

Manning in gutters a few tens of mm deep is good to +-20 %; below about 5 mm of water surface tension rules, and no
formula here knows of that.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from moldplan.errors import MoldplanError

G = 9.80665  # m/s2, standard fall
VISCOSITY = 1.139e-6  # m2/s, water at 15 deg C
MANNING_SHARE = 0.20  # how far Manning may be off in a gutter so small, as a share
THIN = 5.0  # mm of water; below it surface tension rules
STEEP = 0.1  # drop over run; on a steeper floor waves roll and the water no longer presses with its whole depth
SMOOTHEST, ROUGHEST = 0.008, 0.03  # s/m^(1/3): smooth acrylic, to the roughest channel the tests hold
ARC = 24  # chords of a root's arc: 2e-4 of the arc's own segment, on the small side
STRAY = 1e-9  # mm


class FlowError(MoldplanError):
    """A formula for water or gas was asked outside the range in which it holds; says which, and why."""


@dataclass(frozen=True)
class Wet:
    """Of a section filled to a depth: water's area [mm2], wetted perimeter [mm], width of its surface [mm]."""

    area: float
    perimeter: float
    top: float

    @property
    def hydraulic_radius(self) -> float:
        """Area over perimeter [mm]."""
        return self.area / self.perimeter


@dataclass(frozen=True)
class Section:
    """An open channel as a line of (across, up) points [mm], wall to wall, nowhere running back under itself.

    FlowError for fewer than three points, an overhang, a number that is none, or walls no higher than the floor.
    """

    points: tuple[tuple[float, float], ...]

    def __post_init__(self) -> None:
        if len(self.points) < 3 or not all(math.isfinite(v) for point in self.points for v in point):
            raise FlowError("a gutter's section needs three points or more, all of them numbers")
        if any(b[0] < a[0] - STRAY for a, b in zip(self.points, self.points[1:], strict=False)):
            raise FlowError("a gutter's wall hangs over its floor: no depth of flow is worked out for that")
        if self.brim <= STRAY or self.points[-1][0] - self.points[0][0] <= STRAY:
            raise FlowError("a gutter's walls do not stand above its floor: it holds no water")

    @property
    def brim(self) -> float:
        """Depth [mm] at which it spills: the lower of its two walls over its lowest point."""
        return min(self.points[0][1], self.points[-1][1]) - min(up for _, up in self.points)

    @cached_property
    def line(self) -> tuple[tuple[float, float], ...]:
        """Its points with the lowest at 0."""
        low = min(up for _, up in self.points)
        return tuple((across, up - low) for across, up in self.points)

    @cached_property
    def heights(self) -> tuple[float, ...]:
        """Depths [mm] at which its shape changes, rising, from 0 to the brim."""
        inside = {up for _, up in self.line if 0 < up < self.brim}
        return (0.0, *sorted(inside), self.brim)

    def wet(self, depth: float) -> Wet:
        """What `depth` [mm] of water wets; above a wall's top it is taken to stand up straight from there."""
        if not 0 <= depth < math.inf:
            raise FlowError(f"a depth of {depth:g} mm")
        return wetted(self.line, depth)


def wetted(line: Sequence[tuple[float, float]], depth: float) -> Wet:
    """Wet of a line of points whose lowest lies at 0, exact for its straight pieces."""
    area = perimeter = top = 0.0
    for (left, one), (right, two) in zip(line, line[1:], strict=False):
        low, high = (one, two) if one < two else (two, one)
        if low >= depth:
            continue
        wide, share = right - left, 1.0 if high <= depth else (depth - low) / (high - low)
        area += (depth - (low + min(high, depth)) / 2) * wide * share
        perimeter += math.hypot(wide, high - low) * share
        top += wide * share
    perimeter += max(depth - line[0][1], 0.0) + max(depth - line[-1][1], 0.0)
    return Wet(area, perimeter, top)


def drafted(*, width: float, depth: float, draft: float = 0.0, root_radius: float = 0.0) -> Section:
    """A gutter `width` [mm] wide at its brim, walls drafted [deg] and rounded [mm] into a flat floor.

    FlowError when draft or roots leave no floor or no wall.
    """
    if not (0 < width < math.inf and 0 < depth < math.inf and 0 <= draft < 90 and 0 <= root_radius < math.inf):
        raise FlowError(f"a gutter {width:g} x {depth:g} mm with {draft:g} deg of draft and {root_radius:g} mm roots")
    turn = math.radians(90 - draft)
    half = width / 2 - depth * math.tan(math.radians(draft))
    tangent = root_radius * math.tan(turn / 2)
    if half - tangent < -STRAY or tangent > depth / math.sin(turn) + STRAY:
        raise FlowError(f"a gutter {width:g} x {depth:g} mm with {draft:g} deg of draft has no room for roots of "
                        f"{root_radius:g} mm")
    arcs = [turn * k / ARC for k in range(ARC + 1)] if root_radius > 0 else [0.0]
    right = [(half - tangent + root_radius * math.sin(t), root_radius * (1 - math.cos(t))) for t in arcs]
    right.append((width / 2, depth))
    return Section((*((-across, up) for across, up in reversed(right)), *right))


def half_round(diameter: float) -> Section:
    """A gutter that is half a circle [mm], as chords on its inside (area short by 2e-4)."""
    if not 0 < diameter < math.inf:
        raise FlowError(f"a half-round gutter of {diameter:g} mm")
    count, r = 4 * ARC, diameter / 2
    turns = [math.pi * (k / count - 0.5) for k in range(count + 1)]
    return Section(tuple((r * math.sin(t), r * (1 - math.cos(t))) for t in turns))


@dataclass(frozen=True, kw_only=True)
class Uniform:
    """Steady flow that neither deepens nor thins: depth [mm], flow [L/s], speed [m/s], hydraulic radius [mm].

    `froude` above 1: the water outruns its waves. `reynolds` with four hydraulic radii for the diameter.
    """

    depth: float
    flow: float
    speed: float
    hydraulic_radius: float
    froude: float
    reynolds: float

    @property
    def low(self) -> float:
        """The flow [L/s] that can be counted on: less by the formula's own +-20 %."""
        return self.flow * (1 - MANNING_SHARE)

    @property
    def thin(self) -> bool:
        """Whether the water is so shallow that surface tension rules and the figure tells little."""
        return self.depth < THIN


def manning_flow(*, area: float, perimeter: float, slope: float, roughness: float) -> float:
    """Flow [L/s] of a wetted area [mm2] and perimeter [mm]: V = R^(2/3) S^(1/2) / n, metres and seconds.

    FlowError for a slope of 0 or less, one steeper than 1:10, a roughness outside 0.008 to 0.03.
    """
    in_range(slope, roughness)
    if not (0 < area < math.inf and 0 < perimeter < math.inf):
        raise FlowError(f"a wetted area of {area:g} mm2 on {perimeter:g} mm")
    return area / 1000 * (area / perimeter / 1000) ** (2 / 3) * math.sqrt(slope) / roughness


def in_range(slope: float, roughness: float, *, level: bool = False) -> None:
    """Refuse a slope or a roughness that Manning was never measured at; `level`: a slope of 0 is taken too."""
    if not (slope >= 0 if level else slope > 0):
        raise FlowError(f"a slope of {slope:g}: the floor does not fall towards the drain, so that by Manning it "
                        "carries nothing; what stays behind there is a pond")
    if not slope <= STEEP:
        raise FlowError(f"a slope of {slope:g}, steeper than 1:10: the formula was not made for it; the run carries "
                        "more than at 1:10")
    if not SMOOTHEST <= roughness <= ROUGHEST:
        raise FlowError(f"a roughness of {roughness:g} s/m^(1/3), outside {SMOOTHEST:g} to {ROUGHEST:g}")


def manning(section: Section, *, depth: float, slope: float, roughness: float) -> Uniform:
    """Uniform flow at a depth [mm] up to the brim. Source: Manning; FlowError as manning_flow, or above the brim."""
    if not 0 < depth <= section.brim + STRAY:
        raise FlowError(f"a depth of {depth:g} mm in a gutter that spills at {section.brim:g} mm")
    wet = section.wet(depth)
    flow = manning_flow(area=wet.area, perimeter=wet.perimeter, slope=slope, roughness=roughness)
    speed = 1000 * flow / wet.area
    return Uniform(depth=depth, flow=flow, speed=speed, hydraulic_radius=wet.hydraulic_radius,
                   froude=speed / math.sqrt(G * wet.area / wet.top / 1000),
                   reynolds=4 * wet.hydraulic_radius / 1000 * speed / VISCOSITY)


def capacity(section: Section, *, slope: float, roughness: float) -> Uniform:
    """Uniform flow brim-full. FlowError too for a gutter so shallow that surface tension rules."""
    if section.brim < THIN:
        raise FlowError(f"a gutter {section.brim:g} mm deep: below {THIN:g} mm surface tension rules, not the slope")
    return manning(section, depth=section.brim, slope=slope, roughness=roughness)


def normal_depth(section: Section, flow: float, *, slope: float, roughness: float) -> float:
    """Depth [mm] at which uniform flow carries `flow` [L/s]; 0 for none.

    Where a ledge makes it more than one, the greatest. FlowError when it is more than the gutter carries brim-full.
    """
    in_range(slope, roughness)
    if not 0 <= flow < math.inf:
        raise FlowError(f"a flow of {flow:g} L/s")
    most = manning(section, depth=section.brim, slope=slope, roughness=roughness).flow
    if flow > most:
        raise FlowError(f"a flow of {flow:g} L/s in a gutter that carries {most:.3g} L/s brim-full")
    return depth_of(section, flow, slope=slope, roughness=roughness, upto=section.brim) if flow > 0 else 0.0


def depth_of(section: Section, flow: float, *, slope: float, roughness: float, upto: float) -> float:
    """The greatest depth [mm] below `upto`, where more is carried, at which exactly `flow` [L/s] is."""
    from scipy.optimize import brentq

    def over(depth: float) -> float:
        wet = section.wet(depth)
        if wet.area <= 0:
            return -flow
        return manning_flow(area=wet.area, perimeter=wet.perimeter, slope=slope, roughness=roughness) - flow

    steps = sorted({*(h for h in section.heights if h < upto), upto}, reverse=True)
    for high, low in zip(steps, steps[1:], strict=False):
        above = low + 10 * STRAY  # past a ledge, which at its own level is not wetted yet
        if over(above) <= 0:
            return float(brentq(over, above, high, xtol=1e-9)) if over(high) > 0 else high
    return 0.0
