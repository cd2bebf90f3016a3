"""Ply thickness, resin, laminate mass, fibre volume and density from fibre and resin.

Identity  t = w (1/rho_f + (1 - psi)/(psi rho_m)); laminate w/psi; resin w (1 - psi)/psi;
          V_f = (psi/rho_f)/(psi/rho_f + (1 - psi)/rho_m); rho = 1/(psi/rho_f + (1 - psi)/rho_m).
          Conservation of mass and volume of two constituents without voids: mathematics.
Figures   worked by two independent routes that agreed, printed to four decimals, so half a unit of the fourth is
          claimed. The fibre fractions are inputs here, not figures under test.
Also      ISO 12215-5 for E-glass, as remembered: t[mm] = (W/3.072)(2.56/psi - 1.36) with W in kg/m2.
"""

import pytest

from moldplan.material.laminate import Ply

GLASS_POLYESTER, CARBON_EPOXY, GLASS_EPOXY = (2560, 1200), (1780, 1150), (2540, 1150)

# cloth, kg/m2, psi, densities, t mm, resin kg/m2, laminate kg/m2, V_f, density g/cm3
ROWS = [
    ("mat 300", 0.30, 0.30, GLASS_POLYESTER, 0.7005, 0.7000, 1.0000, 0.1673, 1.4275),
    ("mat 450", 0.45, 0.30, GLASS_POLYESTER, 1.0508, 1.0500, 1.5000, 0.1673, 1.4275),
    ("mat 600", 0.60, 0.30, GLASS_POLYESTER, 1.4010, 1.4000, 2.0000, 0.1673, 1.4275),
    ("mat 450", 0.45, 0.35, GLASS_POLYESTER, 0.8722, 0.8357, 1.2857, 0.2015, 1.4741),
    ("woven roving 600", 0.60, 0.48, GLASS_POLYESTER, 0.7760, 0.6500, 1.2500, 0.3020, 1.6107),
    ("woven roving 800", 0.80, 0.48, GLASS_POLYESTER, 1.0347, 0.8667, 1.6667, 0.3020, 1.6107),
    ("biaxial 600", 0.60, 0.50, GLASS_POLYESTER, 0.7344, 0.6000, 1.2000, 0.3191, 1.6340),
    ("biaxial 600", 0.60, 0.55, GLASS_POLYESTER, 0.6435, 0.4909, 1.0909, 0.3642, 1.6954),
    ("unidirectional 600", 0.60, 0.60, GLASS_POLYESTER, 0.5677, 0.4000, 1.0000, 0.4128, 1.7615),
    ("carbon 200", 0.20, 0.50, CARBON_EPOXY, 0.2863, 0.2000, 0.4000, 0.3925, 1.3973),
    ("carbon 300", 0.30, 0.55, CARBON_EPOXY, 0.3820, 0.2455, 0.5455, 0.4412, 1.4280),
    ("carbon 200 bagged", 0.20, 0.60, CARBON_EPOXY, 0.2283, 0.1333, 0.3333, 0.4922, 1.4601),
    ("glass 600, epoxy", 0.60, 0.50, GLASS_EPOXY, 0.7580, 0.6000, 1.2000, 0.3117, 1.5832),
]


@pytest.mark.parametrize(("cloth", "weight", "psi", "densities", "t", "resin", "mass", "volume", "density"), ROWS)
def test_a_ply_has_the_printed_figures(lay, cloth, weight, psi, densities, t, resin, mass, volume, density):
    fibre, matrix = densities
    ply = Ply(fabric=cloth, areal_weight=weight, fibre_density=fibre, resin_density=matrix, fibre_fraction=psi)
    assert ply.thickness == pytest.approx(t, abs=5e-5)
    assert ply.resin == pytest.approx(resin, abs=5e-5)
    assert ply.mass == pytest.approx(mass, abs=5e-5)
    stack = lay(ply)
    assert stack.fibre_volume_fraction == pytest.approx(volume, abs=5e-5)
    assert stack.density / 1000 == pytest.approx(density, abs=5e-5)


@pytest.mark.parametrize(
    ("weight", "psi", "fibre", "matrix", "t"),
    [
        (0.45, 0.30, 2560, 1200, 1.0507812),
        (0.60, 0.48, 2560, 1200, 0.7760417),
        (0.60, 0.50, 2560, 1200, 0.734375),
        (0.20, 0.50, 1780, 1150, 0.2862726),
    ],
)
def test_a_ply_is_as_thick_as_worked_to_seven_digits(weight, psi, fibre, matrix, t):
    ply = Ply(fabric="cloth", areal_weight=weight, fibre_density=fibre, resin_density=matrix, fibre_fraction=psi)
    assert ply.thickness == pytest.approx(t, rel=1e-6)


@pytest.mark.parametrize(
    ("cloth", "weight", "process", "t"),
    # typed thicknesses of rows above; the fibre fraction here comes from the handbook and the spec's cloth
    [("mat", 0.30, "by hand", 0.7005), ("woven", 0.60, "by hand", 0.7760), ("woven", 0.80, "by hand", 1.0347)],
)
def test_a_skin_from_a_spec_is_as_thick_as_printed(spec_with, cloth, weight, process, t):
    from moldplan.material.laminate import skin

    spec = spec_with(
        fabrics={"cloth": {"fibre": "e-glass", "kind": cloth, "areal_weight": f"{weight * 1000:g} g/m2"}},
        resins={"resin": {"density": 1200}},
        laminates={"one": {"process": process, "resin": "resin", "plies": ["cloth"]}},
    )
    assert skin(spec, "one").thickness == pytest.approx(t, abs=5e-5)


@pytest.mark.parametrize("psi", [0.25, 0.30, 0.48, 0.60])
@pytest.mark.parametrize("weight", [0.2, 0.45, 1.2])
def test_glass_agrees_with_the_small_craft_standard_as_remembered(weight, psi):
    ply = Ply(fabric="glass", areal_weight=weight, fibre_density=2560, resin_density=1200, fibre_fraction=psi)
    assert ply.thickness == pytest.approx(weight / 3.072 * (2.56 / psi - 1.36), rel=1e-12)
