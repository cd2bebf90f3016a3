"""Gas that is heavier than air: its density, what makes it explosive, how fast it runs out of a drain.

In       handbook/gas.csv (molar masses, lower explosive limits), volumes [L], heads and bores [mm].
Out      densities [kg/m3], masses [g], outflow [L/min].
Not here where it is trapped (check/), limits on drains (handbook/).

Ideal gas throughout: the real propane is some 2 % heavier. Gas layers, it does not mix evenly: a mass that brings the
whole of a space to its lower explosive limit brings the foot of it there much sooner.
"""

from __future__ import annotations

import math

from moldplan.handbook.lookup import HandbookError, table

R = 8.314462618  # J/(mol K), molar gas constant, exact since 2019
ZERO = 273.15  # K
ATMOSPHERE = 101.325  # kPa
G = 9.80665  # m/s2, standard fall
FUELS = ("propane", "n-butane")  # what LP gas is a mixture of
COLD, HOT = -60.0, 80.0  # deg C, where these are gases and an ideal one is near enough


def relative_density(gas: str) -> float:
    """Density of a gas over that of air at the same temperature and pressure, ideal: its molar mass over air's."""
    return _molar_mass(gas) / _molar_mass("air")


def vapour_density(gas: str, *, temperature: float = 15.0, pressure: float = ATMOSPHERE) -> float:
    """Density [kg/m3] at a temperature [deg C] and pressure [kPa]: p M / (R T). HandbookError outside -60 to 80 C."""
    if not COLD <= temperature <= HOT or not 0 < pressure <= 2 * ATMOSPHERE:
        raise HandbookError(f"{gas} at {temperature:g} deg C and {pressure:g} kPa, outside {COLD:g} to {HOT:g} deg C "
                            f"and 0 to {2 * ATMOSPHERE:g} kPa")
    return pressure * _molar_mass(gas) / (R * (ZERO + temperature))


def explosive_mass(gas: str, litres: float, *, temperature: float = 15.0) -> float:
    """Mass [g] of a gas that, mixed through a volume [L], brings it to the lower explosive limit."""
    if not 0 <= litres < math.inf:
        raise HandbookError(f"a volume of {litres:g} L")
    limit = table("gas").number(gas, "lower explosive limit", unit="L/L")
    return litres * limit * vapour_density(gas, temperature=temperature)


def least_explosive_mass(litres: float) -> float:
    """As explosive_mass, of LP gas whatever its mixture: the least of its fuels'."""
    return min(explosive_mass(gas, litres) for gas in FUELS)


def gravity_outflow(gas: str, *, head: float, bore: float, discharge: float = 0.6) -> float:
    """How fast [L/min] pure gas runs out of a drain by its weight alone.

    `head` [mm] of gas over the outlet, `bore` [mm], `discharge` coefficient. v = sqrt(2 g h (rho - rho_air) / rho),
    good to +-30 %, and nothing runs without a free way in for air. HandbookError for a gas no heavier than air.
    """
    if not (0 <= head < math.inf and 0 < bore < math.inf and 0 < discharge <= 1):
        raise HandbookError(f"a head of {head:g} mm over a bore of {bore:g} mm, discharge {discharge:g}")
    lift = 1 - 1 / relative_density(gas)
    if lift <= 0:
        raise HandbookError(f"{gas} is no heavier than air: it does not run out below")
    return discharge * math.pi / 4 * (bore / 1000) ** 2 * math.sqrt(2 * G * head / 1000 * lift) * 60_000


def largest_fill(water: float) -> float:
    """The most LP gas [kg] in a cylinder that holds this much water [kg], for a liquid of relative density 0.510."""
    if not 0 <= water < math.inf:
        raise HandbookError(f"a cylinder that holds {water:g} kg of water")
    return table("gas").number("lp gas", "largest fill", unit="kg/kg") * water


def _molar_mass(gas: str) -> float:
    return table("gas").number(gas, "molar mass", unit="g/mol")
