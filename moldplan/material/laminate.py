"""Skins from their plies: thickness, mass, resin and fibre content, with the tolerance of the thickness.

In       the builder's laminates, fabrics and resins; the handbook's where he gave none.
Out      Ply, Skin; a SpecFault that lists every name or figure that is missing.
Not here ply areas, pots and the order of laying up (layup/); what a skin carries (check/strength.py).

A ply of cloth with the mass w for its area, in which psi of the laminate's mass is fibre, holds w (1 - psi) / psi of
resin, so that without voids it is t = w (1/rho_f + (1 - psi) / (psi rho_m)) thick.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

from moldplan.errors import Fault, Path, SpecFault
from moldplan.finding import Source
from moldplan.handbook.lookup import Table, table

LOWEST_FRACTION, HIGHEST_FRACTION = 0.1, 0.8


class FabricLike(Protocol):
    """What a fabric must say: areal weight in kg/m2."""

    @property
    def fibre(self) -> str: ...
    @property
    def kind(self) -> str: ...
    @property
    def areal_weight(self) -> float: ...


class ResinLike(Protocol):
    """What a resin must say: density when cured in kg/m3."""

    @property
    def density(self) -> float: ...


class LaminateLike(Protocol):
    """What a laminate must say; fibre_fraction (kg/kg) and resin may be left to the handbook."""

    @property
    def process(self) -> str: ...
    @property
    def fibre_fraction(self) -> float | None: ...
    @property
    def resin(self) -> str | None: ...
    @property
    def plies(self) -> Sequence[str]: ...


class Materials(Protocol):
    """The part of a spec that skins are made from."""

    @property
    def fabrics(self) -> Mapping[str, FabricLike]: ...
    @property
    def resins(self) -> Mapping[str, ResinLike]: ...
    @property
    def laminates(self) -> Mapping[str, LaminateLike]: ...


@dataclass(frozen=True, kw_only=True)
class Fabric:
    """A fabric of the handbook."""

    fibre: str
    kind: str
    areal_weight: float


@dataclass(frozen=True, kw_only=True)
class Resin:
    """A resin of the handbook."""

    density: float


@dataclass(frozen=True, kw_only=True)
class Laminate:
    """A laminate of the handbook."""

    process: str
    resin: str
    plies: tuple[str, ...]
    fibre_fraction: float | None = None


@dataclass(frozen=True, kw_only=True)
class Ply:
    """One ply. `areal_weight` of the dry cloth [kg/m2]; densities [kg/m3]; `fibre_fraction` by mass [kg/kg].

    `usual_fraction`: the range the handbook gives for that cloth and process, where the fraction came from it.
    Raises ValueError outside 0.1 to 0.8 by mass, and for a weight or density that is not above nothing.
    """

    fabric: str
    areal_weight: float
    fibre_density: float
    resin_density: float
    fibre_fraction: float
    usual_fraction: tuple[float, float] | None = None

    def __post_init__(self) -> None:
        if not (self.areal_weight > 0 and self.fibre_density > 0 and self.resin_density > 0):
            raise ValueError(f"{self.fabric}: weight and densities of a ply are above nothing")
        _checked(self.fabric, self.fibre_fraction)

    @property
    def resin(self) -> float:
        """Resin in the ply [kg/m2]."""
        return self.areal_weight * (1 - self.fibre_fraction) / self.fibre_fraction

    @property
    def mass(self) -> float:
        """Fibre and resin [kg/m2]."""
        return self.areal_weight / self.fibre_fraction

    @property
    def thickness(self) -> float:
        """Thickness without voids [mm]."""
        return self.thickness_at(self.fibre_fraction)

    def thickness_at(self, fibre_fraction: float) -> float:
        """Thickness [mm] if the fibre fraction by mass came out so; raises ValueError outside 0.1 to 0.8."""
        psi = _checked(self.fabric, fibre_fraction)
        return 1000 * self.areal_weight * (1 / self.fibre_density + (1 - psi) / (psi * self.resin_density))


@dataclass(frozen=True, kw_only=True)
class Skin:
    """A laminate. Masses for its area [kg/m2], lengths [mm], densities [kg/m3].

    `tolerance`: how far the thickness may be off, plus or minus [mm]. `reason`: why this skin, where the program chose.
    `assumed`: what the spec left to the handbook, in words. `source`: where the fibre fractions come from.
    """

    name: str
    plies: tuple[Ply, ...]
    tolerance: float
    tolerance_source: Source
    source: Source
    resin_name: str
    process: str
    reason: str = ""
    assumed: tuple[str, ...] = ()

    @property
    def thickness(self) -> float:
        return sum(ply.thickness for ply in self.plies)

    @property
    def thickest_ply(self) -> float:
        """What one lap of the cloth adds [mm]."""
        return max(ply.thickness for ply in self.plies)

    @property
    def origin(self) -> str:
        """What it is made of, in words: "two plies biax 450: biax 450, biax 450, vinyl ester, by hand"."""
        return f"{self.name}: {', '.join(ply.fabric for ply in self.plies)}, {self.resin_name}, {self.process}"

    @property
    def usual_thickness(self) -> tuple[float, float]:
        """Thickness at the wettest and the driest usual fibre fraction, thinner first [mm]."""
        usual = [ply.usual_fraction or (ply.fibre_fraction, ply.fibre_fraction) for ply in self.plies]
        thin = sum(ply.thickness_at(high) for ply, (_, high) in zip(self.plies, usual, strict=True))
        thick = sum(ply.thickness_at(low) for ply, (low, _) in zip(self.plies, usual, strict=True))
        return thin, thick

    @property
    def fibre_per_area(self) -> float:
        return sum(ply.areal_weight for ply in self.plies)

    @property
    def resin_per_area(self) -> float:
        return sum(ply.resin for ply in self.plies)

    @property
    def mass_per_area(self) -> float:
        return self.fibre_per_area + self.resin_per_area

    @property
    def fibre_fraction(self) -> float:
        """Fibre mass over laminate mass of the whole stack."""
        return self.fibre_per_area / self.mass_per_area

    @property
    def fibre_volume_fraction(self) -> float:
        fibre = sum(1000 * ply.areal_weight / ply.fibre_density for ply in self.plies)
        return fibre / self.thickness

    @property
    def density(self) -> float:
        return 1000 * self.mass_per_area / self.thickness


def skin(materials: Materials, name: str | None = None, *, path: Path = ()) -> Skin:
    """The skin called `name`; the program's choice, with its reason, for None.

    Parameters
    ----------
    materials : the spec, or anything with its `fabrics`, `resins` and `laminates`
    name : a laminate of the spec or of the handbook; None leaves it to us: the spec's laminate where it has exactly
        one, else the handbook's first
    path : the spec field that named it, for the error

    Raises
    ------
    SpecFault : a name that is not known, or a fibre fraction that the handbook does not carry; all of them at once.
    """
    laminates = known_laminates(materials)
    chosen, reason = (name, "") if name is not None else _choice(materials)
    if chosen not in laminates:
        raise SpecFault([Fault(path, chosen, f"one of {', '.join(laminates)}", "no laminate has that name")])
    laminate = laminates[chosen]
    where: Path = ("laminates", chosen) if chosen in materials.laminates else path
    return _laid(materials, chosen, laminate, where, reason)


def known_laminates(materials: Materials) -> Mapping[str, LaminateLike]:
    """The handbook's laminates, then the spec's, which win where a name is in both."""
    rows = table("laminates")
    ours: dict[str, LaminateLike] = {
        name: Laminate(process=rows.text(name, "process"), resin=rows.text(name, "resin"),
                       plies=tuple(ply.strip() for ply in rows.text(name, "plies").split(";")))
        for name in rows.names()
    }
    return ours | dict(materials.laminates)


def known_fabrics(materials: Materials) -> Mapping[str, FabricLike]:
    """The handbook's fabrics, then the spec's, which win where a name is in both."""
    rows = table("fabrics")
    ours: dict[str, FabricLike] = {
        name: Fabric(fibre=rows.text(name, "fibre"), kind=rows.text(name, "kind"),
                     areal_weight=rows.number(name, "areal weight", unit="kg/m2"))
        for name in rows.names()
    }
    return ours | dict(materials.fabrics)


def known_resins(materials: Materials) -> Mapping[str, ResinLike]:
    """The handbook's resins, then the spec's, which win where a name is in both."""
    rows = table("densities")
    ours: dict[str, ResinLike] = {
        name: Resin(density=rows.number(name, "density", unit="kg/m3"))
        for name in rows.names() if "resin" in rows.entry(name, "density").meaning
    }
    return ours | dict(materials.resins)


def _choice(materials: Materials) -> tuple[str, str]:
    if len(materials.laminates) == 1:
        only = next(iter(materials.laminates))
        return only, "the only laminate in the spec"
    ours = table("laminates").names()[0]
    several = "none of the spec's laminates is named here" if materials.laminates else "the spec gives no laminate"
    return ours, f"{several}; the handbook's first, {table('laminates').entry(ours, 'plies').source.document}"


def _laid(materials: Materials, name: str, laminate: LaminateLike, where: Path, reason: str) -> Skin:
    """The skin of one laminate, every fault of it gathered before any is raised."""
    faults: list[Fault] = []
    assumed: list[str] = []
    resin_name = laminate.resin
    if resin_name is None:
        resin_name = table("laminates").text(table("laminates").names()[0], "resin")
        assumed.append(f"resin {resin_name}")
    resins, fabrics = known_resins(materials), known_fabrics(materials)
    if resin_name not in resins:
        faults.append(Fault((*where, "resin"), resin_name, f"one of {', '.join(resins)}", "no resin has that name"))
    plies: list[Ply] = []
    sources: list[Source] = []
    for place, fabric_name in enumerate(laminate.plies):
        if fabric_name not in fabrics:
            faults.append(Fault((*where, "plies", place), fabric_name, f"one of {', '.join(fabrics)}",
                                "no fabric has that name"))
            continue
        fraction = _fraction(laminate, fabrics[fabric_name])
        if fraction is None:
            faults.append(_no_fraction(laminate, fabric_name, fabrics[fabric_name], (*where, "fibre_fraction")))
        elif resin_name in resins:
            psi, usual, source = fraction
            sources.append(source)
            plies.append(_ply(fabric_name, fabrics[fabric_name], resins[resin_name], psi, usual))
    if faults:
        raise SpecFault(dict.fromkeys(faults))
    if laminate.fibre_fraction is None:
        assumed.append("fibre fraction " + ", ".join(dict.fromkeys(f"{ply.fibre_fraction:g}" for ply in plies)))
    share = table("tolerances").entry("skin", "share")
    return Skin(name=name, plies=tuple(plies), tolerance=share.number * sum(ply.thickness for ply in plies),
                tolerance_source=share.source, source=_weakest(sources), resin_name=resin_name,
                process=laminate.process, reason=reason, assumed=tuple(assumed))


def _ply(name: str, fabric: FabricLike, resin: ResinLike, psi: float, usual: tuple[float, float] | None) -> Ply:
    return Ply(fabric=name, areal_weight=fabric.areal_weight,
               fibre_density=table("densities").number(fabric.fibre, "density", unit="kg/m3"),
               resin_density=resin.density, fibre_fraction=psi, usual_fraction=usual)


def _fraction(laminate: LaminateLike, fabric: FabricLike) -> tuple[float, tuple[float, float] | None, Source] | None:
    """Fibre fraction, its usual range where the handbook gave it, and its source; None where there is none."""
    if laminate.fibre_fraction is not None:
        return laminate.fibre_fraction, None, Source.spec("fibre_fraction")
    rows: Table = table("fibre_fraction")
    cloth = f"{fabric.fibre} {fabric.kind}"
    if not rows.has(cloth, laminate.process):
        return None
    row = rows.entry(cloth, laminate.process)
    low, high = (row.number if end is None else end for end in (row.low, row.high))
    return row.number, (low, high), row.source


def _no_fraction(laminate: LaminateLike, name: str, fabric: FabricLike, path: Path) -> Fault:
    return Fault(path, None, f"a fibre fraction by mass from {LOWEST_FRACTION:g} to {HIGHEST_FRACTION:g}",
                 f"the handbook has none for {name}, {fabric.fibre} {fabric.kind}, laid up {laminate.process}")


def _weakest(sources: Sequence[Source]) -> Source:
    """The source that is trusted least: a stack is no better known than its worst ply."""
    order = ("ours", "practice", "remembered", "second-hand", "seen", "maths", "spec")
    return min(sources, key=lambda source: order.index(source.how_read))


def _checked(fabric: str, psi: float) -> float:
    """The fibre fraction, if it can be; NaN cannot."""
    if not LOWEST_FRACTION <= psi <= HIGHEST_FRACTION:
        raise ValueError(f"{fabric}: a fibre fraction of {psi:g}, outside {LOWEST_FRACTION:g} to {HIGHEST_FRACTION:g}")
    return psi
