"""Published times in which a full recess must have run out, each as far as it could be read, beside a time found.

In       names of rule sets, facts about the boat, sizes for the remembered formula, an Emptying.
Out      PublishedTime (seconds, the depth that counts as empty, source, why it is not judged), Beside.
Not here emptying itself (emptying.py), the figures (handbook/rules.csv, handbook/emptying_times.csv).

A figure that is only remembered is shown and never judged by. A set that says nothing on it gives no time: silence is
no leave. No reader of these documents' own current text has checked them: local rules and a licensed person decide.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from moldplan.check.emptying import Emptying, Outlet, Reservoir, empty
from moldplan.check.flow import FlowError
from moldplan.check.freeing import Category, remembered_emptying_time
from moldplan.finding import Source
from moldplan.handbook.lookup import Entry, table
from moldplan.handbook.rules import Facts, limits_for

PRACTICE = "common practice"
REMEMBERED = "iso 11812 as remembered"


@dataclass(frozen=True, kw_only=True)
class Hull:
    """Sizes the remembered formula asks for: hull length, beam and freeboard amidships [m], cockpit volume [m3]."""

    length: float
    beam: float
    freeboard: float
    cockpit: float


@dataclass(frozen=True, kw_only=True)
class PublishedTime:
    """A time [s] in which a space full to its sill runs out to `depth_left` [mm] over its floor.

    `source` is the time's, `depth_source` that of the depth which counts as empty.
    """

    rules: str
    seconds: float
    depth_left: float
    source: Source
    depth_source: Source
    not_judged: str | None


@dataclass(frozen=True, kw_only=True)
class Beside:
    """A published time and the time found for it [s]; `holds` is None where nothing may be judged by it."""

    published: PublishedTime
    seconds: float
    why: str | None

    @property
    def holds(self) -> bool | None:
        return None if self.published.not_judged else self.seconds <= self.published.seconds


def published_times(rules: Sequence[str], *, facts: Facts | None = None, hull: Hull | None = None
                    ) -> tuple[PublishedTime, ...]:
    """The times that the chosen sets print, in their order, and common practice's last.

    The remembered formula is worked out where `facts` name a category and `hull` is given; else its cap stands alone.
    """
    known = facts or {}
    found = []
    for rule in limits_for(rules, "emptying time", known):
        seconds = rule.number
        category = known.get("category")
        if rule.rules == REMEMBERED and hull is not None and category in ("A", "B", "C", "D"):
            seconds = remembered_emptying_time(_category(category), cockpit=hull.cockpit, length=hull.length,
                                               beam=hull.beam, freeboard=hull.freeboard)
        found.append(PublishedTime(rules=rule.rules, seconds=seconds, depth_left=_left(rule.rules).number,
                                   source=rule.source, depth_source=_left(rule.rules).source,
                                   not_judged=rule.why_not_judged(known)))
    usual = table("emptying_times").entry(PRACTICE, "emptying time")
    found.append(PublishedTime(rules=PRACTICE, seconds=usual.number, depth_left=_left(PRACTICE).number,
                               source=usual.source, depth_source=_left(PRACTICE).source, not_judged=None))
    return tuple(found)


def beside(published: PublishedTime, basin: Reservoir, outlets: Sequence[Outlet], *, floor: float,
           blocked: Sequence[str] = ()) -> Beside:
    """Let a basin run from its sill to the depth that counts as empty over its `floor` [mm], and hold the two together.

    FlowError when the sill is no higher over the floor than that depth: the published time says nothing there.
    """
    end = floor + published.depth_left
    if not basin.low <= end < basin.sill:
        raise FlowError(f"a sill {basin.sill - floor:g} mm over the floor, where the clock of {published.rules} stops "
                        f"at {published.depth_left:g} mm")
    ran: Emptying = empty(basin, outlets, until=end, blocked=blocked)
    return Beside(published=published, seconds=ran.seconds, why=ran.why)


def share_left(basin: Reservoir, outlets: Sequence[Outlet], *, seconds: float, blocked: Sequence[str] = ()) -> float:
    """Litres that could run out and have not after `seconds`, as a share of a full basin's."""
    import numpy as np

    if not 0 <= seconds < math.inf:
        raise FlowError(f"{seconds:g} s")
    ran = empty(basin, outlets, blocked=blocked, longest=2 * seconds + 60)
    return float(np.interp(seconds, ran.times, ran.litres)) / basin.litres(basin.sill)


def _left(rules: str) -> Entry:
    return table("emptying_times").entry(rules, "depth left")


def _category(word: object) -> Category:
    return word  # type: ignore[return-value]
