"""Drain and freeing-port areas that published rules ask for: 46 CFR 178.450 and 171.150, a remembered emptying time.

In       a recess and its bulwarks in feet and inches, as the rules are written, or in mm and litres; the waters.
Out      areas [in2, cm2], how many round drains make them up, the longest emptying time [s].
Not here how fast water really leaves (flow), which rules apply (handbook/rules.py).

178.450 is taken in its inch form. Its printed metric form multiplies by 4389.12; but 28316.846592 cm3 in a cubic foot
over 6.4516 cm2 in a square inch is 4389.12, so that the metric form must divide. Multiplying errs by 2e7.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from dataclasses import dataclass
from typing import Literal

from moldplan.handbook.lookup import HandbookError, table
from moldplan.handbook.rules import limits_for

Route = Literal["exposed", "partially protected", "protected"]
Category = Literal["A", "B", "C", "D"]

CM2 = 2.54**2  # cm2 in a square inch
METRIC = 12.0**3 * 2.54  # 4389.12 cm: (cm3 in a cubic foot) over (cm2 in a square inch)
AFTER = 2 / 3  # of the length on deck: what both rules count
WHOLE = 1e-9  # drains; less short of a whole one is rounding


@dataclass(frozen=True, kw_only=True)
class Well:
    """A recess, or a stretch of weather deck behind bulwarks.

    Its length [ft], mean bulwark height [ft], deck area [ft2] and the weathertight structure standing in it [ft3].
    """

    length: float
    height: float
    deck: float
    structure: float = 0.0

    @property
    def volume(self) -> float:
        """What it holds [ft3]; HandbookError when that or a size is below 0, or no number."""
        sizes = (self.length, self.height, self.deck, self.structure)
        held = self.height * self.deck - self.structure
        if not all(0 <= size < math.inf for size in sizes) or held < 0:
            raise HandbookError(f"a well {self.length:g} ft long of {self.height:g} ft x {self.deck:g} ft2 with "
                                f"{self.structure:g} ft3 of structure")
        return held


def basic_area(length_on_deck: float, recess: Well, weather_deck: Well | None = None) -> float:
    """Basic drain area [in2] by 46 CFR 178.450, inch form: sums of volume [ft3] x length / two thirds of the length.

    `length_on_deck` [ft]. HandbookError for a length not above 0 or a well longer than the boat.
    """
    if not 0 < length_on_deck < math.inf:
        raise HandbookError(f"a length on deck of {length_on_deck:g} ft")
    wells = [recess, *([weather_deck] if weather_deck else [])]
    for well in wells:
        if well.length > length_on_deck:
            raise HandbookError(f"a well of {well.length:g} ft on a deck of {length_on_deck:g} ft")
    return sum(well.volume * well.length / (AFTER * length_on_deck) for well in wells)


def basic_area_metric(length_on_deck: float, *wells: tuple[float, float]) -> float:
    """The same in [cm2] from (length [mm], volume [L]) of each well and the length on deck [mm]: divided by 4389.12."""
    if not 0 < length_on_deck < math.inf:
        raise HandbookError(f"a length on deck of {length_on_deck:g} mm")
    for length, volume in wells:
        if not 0 <= length <= length_on_deck or not 0 <= volume < math.inf:
            raise HandbookError(f"a well of {length:g} mm and {volume:g} L on a deck of {length_on_deck:g} mm")
    return sum(1000 * volume * length / (AFTER * length_on_deck) for length, volume in wells) / METRIC


def required_area(basic: float, route: Route) -> float:
    """What of the basic area the waters ask for (all, half, a tenth), in the same unit."""
    if not 0 <= basic < math.inf:
        raise HandbookError(f"a basic area of {basic:g}")
    return basic * table("freeing_ports").number(route, "share of basic area", unit="in2/in2")


def bulwark_area(*, height: float, length: float) -> float:
    """Freeing ports [in2] along a solid bulwark by 46 CFR 171.150, its height [in] interpolated, its length [ft].

    Of the after two thirds of the boat. HandbookError outside the table's 6 to 36 in.
    """
    if not 0 <= length < math.inf:
        raise HandbookError(f"a bulwark of {length:g} ft")
    book = table("freeing_ports")
    heights = [float(name) for name in book.names() if book.has(name, "area per length")]
    if not heights[0] <= height <= heights[-1]:
        raise HandbookError(f"a bulwark of {height:g} in, outside the table's {heights[0]:g} to {heights[-1]:g} in")
    areas = [book.number(f"{h:g}", "area per length", unit="in2/ft") for h in heights]
    k = max(bisect_left(heights, height), 1)
    share = (height - heights[k - 1]) / (heights[k] - heights[k - 1])
    return length * (areas[k - 1] + share * (areas[k] - areas[k - 1]))


def drains_needed(area: float, bore: float) -> int:
    """How many round drains of one bore make up an area; both in the same unit (in2 and in, cm2 and cm)."""
    if not 0 <= area < math.inf or not 0 < bore < math.inf:
        raise HandbookError(f"an area of {area:g} from drains of {bore:g}")
    return math.ceil(area / (math.pi / 4 * bore**2) - WHOLE)


def remembered_emptying_time(category: Category, *, cockpit: float, length: float, beam: float, freeboard: float
                             ) -> float:
    """Longest emptying time [s] as ISO 11812:2001 is remembered: never a verdict, only shown.

    `cockpit` volume [m3]; hull `length` and `beam` and midship `freeboard` [m]. k = volume / (length beam freeboard);
    factor / k in minutes, at most the remembered 5.
    """
    if not all(0 < size < math.inf for size in (cockpit, length, beam, freeboard)):
        raise HandbookError(f"a cockpit of {cockpit:g} m3 in a hull of {length:g} x {beam:g} x {freeboard:g} m")
    book = ("iso 11812 as remembered",)
    (factor,) = limits_for(book, "emptying time factor", {"category": category})
    (longest,) = limits_for(book, "emptying time")
    return min(60 * factor.number * length * beam * freeboard / cockpit, longest.number)
