"""A mixed stack: thickness from the whole's fibre fraction equals the plies' thicknesses added.

Invariant  thickness is linear in the masses of glass and of resin, so both routes must agree: mathematics.
Worked     mat 300, mat 450, woven roving 600, mat 450, woven roving 600; mat at 0.30, roving at 0.48; 2.56 and 1.20
           g/cm3 -> glass 2.400, laminate 6.500, resin 4.100 kg/m2, 0.369231 of it glass, 4.3542 mm.
"""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.material.laminate import Ply, skin


def ply(weight, psi, fibre=2560, matrix=1200):
    return Ply(fabric="cloth", areal_weight=weight, fibre_density=fibre, resin_density=matrix, fibre_fraction=psi)


WORKED = [(0.30, 0.30), (0.45, 0.30), (0.60, 0.48), (0.45, 0.30), (0.60, 0.48)]


def test_the_worked_stack_has_the_printed_figures(lay):
    stack = lay(*(ply(weight, psi) for weight, psi in WORKED))
    assert stack.fibre_per_area == pytest.approx(2.400, abs=5e-4)
    assert stack.mass_per_area == pytest.approx(6.500, abs=5e-4)
    assert stack.resin_per_area == pytest.approx(4.100, abs=5e-4)
    assert stack.fibre_fraction == pytest.approx(0.369231, abs=5e-7)
    assert stack.thickness == pytest.approx(4.3542, abs=5e-5)


def test_the_worked_stack_from_the_handbooks_cloths(spec_with):
    spec = spec_with(laminates={"mixed": {
        "resin": "polyester", "plies": ["mat 300", "mat 450", "woven roving 600", "mat 450", "woven roving 600"]}})
    found = skin(spec, "mixed")
    assert found.thickness == pytest.approx(4.3542, abs=5e-5)
    assert found.fibre_fraction == pytest.approx(0.369231, abs=5e-7)
    # 1.8 m2 of it: 4.32 kg of glass and 7.38 kg of resin
    assert 1.8 * found.fibre_per_area == pytest.approx(4.32, abs=5e-3)
    assert 1.8 * found.resin_per_area == pytest.approx(7.38, abs=5e-3)


@settings(max_examples=25, deadline=None)
@given(
    plies=st.lists(st.tuples(st.floats(0.02, 3), st.floats(0.11, 0.79)), min_size=1, max_size=12),
    fibre=st.floats(1400, 2600),
    matrix=st.floats(900, 1500),
)
def test_ply_by_ply_and_overall_agree_for_any_stack_of_one_fibre_and_resin(lay, plies, fibre, matrix):
    stack = lay(*(ply(weight, psi, fibre, matrix) for weight, psi in plies))
    glass = sum(weight for weight, _ in plies)
    resin = sum(weight * (1 - psi) / psi for weight, psi in plies)
    overall = 1000 * (glass / fibre + resin / matrix)
    assert stack.thickness == pytest.approx(overall, rel=1e-12)
    whole = ply(glass, stack.fibre_fraction, fibre, matrix)
    assert whole.thickness == pytest.approx(stack.thickness, rel=1e-9)


def one_ply(spec_with, grams, **laminate):
    cloth = {"cloth": {"fibre": "e-glass", "areal_weight": f"{grams} g/m2"}}
    return skin(spec_with(fabrics=cloth, laminates={"one": {"resin": "epoxy", "plies": ["cloth"], **laminate}}), "one")


def test_bench_figures_for_single_plies_lie_within_hand_work(spec_with):
    """Common practice, no source: 300 g/m2 tape came out 0.43 mm, 576 g/m2 biaxial 0.89 mm; hand work is +-15 %.

    The heavier cloth is held at 0.46 glass, which is what was measured on such a cloth (600 g/m2 took 0.7 kg/m2 of
    epoxy). At the handbook's 0.48 the band ends at 0.883 and misses it by a hair: that is said here, not hidden.
    """
    tape, biaxial = one_ply(spec_with, 300), one_ply(spec_with, 576, fibre_fraction=0.46)
    assert abs(tape.thickness - 0.43) <= tape.tolerance
    assert abs(biaxial.thickness - 0.89) <= biaxial.tolerance
    default = one_ply(spec_with, 576)
    assert default.tolerance < 0.89 - default.thickness < default.tolerance + 0.01
