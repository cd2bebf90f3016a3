"""Manning's relation: a textbook example (MAN-01, as the fluids library prints it), worked gutters and pipes by hand.

MAN-02 to -07 are arithmetic on V = R^(2/3) S^(1/2) / n, tolerance that of the printed digits. The roughness tables
are Open-Channel Hydraulics (1959) as the fluids library carries them; molded FRP is practice.
"""

import math

import pytest

from moldplan.check.flow import Section, capacity, half_round, manning, manning_flow
from moldplan.check.flow_pipe import just_full
from moldplan.handbook.lookup import table


def box(width, depth):
    return Section(((0, depth), (0, 0), (width, 0), (width, depth)))


def test_man_01_a_textbook_channel():
    """R 0.2859 m, S 0.005236, n 0.03: V 1.0467782 m/s, as printed in the library's documentation of V_Manning."""
    from fluids.open_flow import V_Manning

    area = 1e6  # mm2: 1 m2, so that L/s are 1000 x m/s
    flow = manning_flow(area=area, perimeter=area / 285.9, slope=0.005236, roughness=0.03)
    assert flow / 1000 == pytest.approx(1.0467782, rel=1e-6)
    assert flow / 1000 == pytest.approx(V_Manning(0.2859, 0.005236, 0.03), rel=1e-12)


@pytest.mark.parametrize(("width", "depth", "slope", "n", "flow"), [
    (40, 20, 0.02, 0.010, 0.52514), (40, 20, 0.01, 0.010, 0.37133), (60, 30, 0.02, 0.011, 1.40752),
    (50, 25, 1 / 80, 0.010, 0.75273)])
def test_man_02_to_05_gutters_brim_full(width, depth, slope, n, flow):
    assert capacity(box(width, depth), slope=slope, roughness=n).flow == pytest.approx(flow, abs=6e-6)


def test_man_02_speed_froude_and_reynolds():
    full = capacity(box(40, 20), slope=0.02, roughness=0.010)
    assert full.hydraulic_radius == pytest.approx(10, rel=1e-12)
    assert full.speed == pytest.approx(0.65642, abs=5e-6)
    assert full.froude == pytest.approx(1.482, abs=5e-4)
    assert full.reynolds == pytest.approx(23052, abs=1)
    assert capacity(box(40, 20), slope=0.01, roughness=0.010).froude == pytest.approx(1.048, abs=5e-4)


def test_man_06_half_round_brim_full():
    """R = D/4 exactly; the gutter here is chords, 3e-4 short."""
    full = capacity(half_round(40), slope=0.02, roughness=0.010)
    assert full.hydraulic_radius == pytest.approx(10, rel=5e-4)
    assert full.flow == pytest.approx(0.41244, rel=5e-4)


@pytest.mark.parametrize(("bore", "flow"), [(19, 0.11564), (25, 0.24040), (38, 0.73426), (50.8, 1.59245)])
def test_man_07_round_pipes_just_full_at_a_quarter_inch_a_foot(bore, flow):
    assert just_full(bore=bore, slope=1 / 48, roughness=0.010) == pytest.approx(flow, abs=6e-6)


@pytest.mark.parametrize(("row", "kind", "finish"), [
    ("acrylic", "Acrylic", "Smooth"), ("glass", "Glass", "Smooth"), ("brass", "Brass", "Smooth"),
    ("neat cement", "Cement", "Neat, surface"), ("planed wood", "Wood", "Planed, untreated")])
def test_man_08_roughness_is_the_published_tables(row, kind, finish):
    from fluids.open_flow import n_closed_conduit, n_lined_built

    book = table("roughness").entry(row, "manning")
    found = n_lined_built[kind] if kind == "Wood" else n_closed_conduit[kind]
    assert (book.low, book.number, book.high) == found[finish]


def test_man_08_what_has_no_authority_says_so():
    for row in ("gelcoat or paint", "non-skid or sanded"):
        assert table("roughness").entry(row, "manning").source.how_read == "practice"


KU, PRINTED = 0.375, 0.376  # the constant as integrated, and as FHWA HEC-22 eq. 4-2 prints it


def strips(width, *, cross, slope, n, count=400):
    """Flow [L/s] of a wedge of water `width` [mm] wide as narrow strips, each as deep as its middle, kerb ignored."""
    step = width / count
    return sum(manning_flow(area=cross * (k + 0.5) * step * step, perimeter=step, slope=slope, roughness=n)
               for k in range(count))


def test_hec_01_a_triangular_gutter_is_the_sum_of_its_strips():
    """Q = (3/8 / n) Sx^(5/3) SL^(1/2) T^(8/3): what HEC-22 prints as 0.376, Sx^1.67, T^2.67."""
    closed = 1000 * KU / 0.011 * 0.05 ** (5 / 3) * 0.02**0.5 * 0.15 ** (8 / 3)
    assert strips(150, cross=0.05, slope=0.02, n=0.011) == pytest.approx(closed, rel=1e-4)


def test_hec_05_a_soles_edge_as_a_gutter():
    """n 0.011, Sx 0.05, SL 0.02, T 0.15 m: 0.2084 L/s with the printed constant."""
    assert strips(150, cross=0.05, slope=0.02, n=0.011) * PRINTED / KU == pytest.approx(0.2084, abs=1e-4)


def test_hec_05_one_hydraulic_radius_for_the_whole_section_gives_less():
    """The whole wedge at once, its kerb wetted too: below the strips' sum, as the handbook's preface to 4-2 has it."""
    wedge = Section(((0, 7.5), (0, 0), (150, 7.5)))
    whole = manning(wedge, depth=7.5, slope=0.02, roughness=0.011).flow
    assert 0.75 * 0.2084 < whole < 0.2084


@pytest.mark.parametrize(("flow", "spread", "printed"), [(0.05, 2.722, 2.7), (0.03987, 2.5, 2.5)])
def test_hec_02_and_03_spread_of_a_kerb_gutter(flow, spread, printed):
    """Remembered examples (n 0.016, Sx 0.02, SL 0.01) whose arithmetic was checked: 2.722 m exact, 2.7 printed."""
    found = strips(1000 * spread, cross=0.02, slope=0.01, n=0.016) * PRINTED / KU
    assert found / 1000 == pytest.approx(flow, rel=1e-3)
    assert spread == pytest.approx(printed, abs=0.05)


def test_hec_04_in_feet():
    """n 0.016, Sx 0.02, SL 0.01, T 6 ft: 0.613 ft3/s with the constant printed as 0.56, which is 0.557 exactly."""
    foot = 304.8
    litres = strips(6 * foot, cross=0.02, slope=0.01, n=0.016)
    assert litres / (foot**3 / 1e6) * 0.56 / 0.557 == pytest.approx(0.613, rel=1e-3)


def test_the_wetted_parts_of_a_half_full_circle_are_its_own():
    """A circle filled to a third of its radius: segment r^2 (t - sin t cos t), arc 2 r t, chord 2 r sin t."""
    r, depth = 20.0, 20 / 3
    t = math.acos(1 - depth / r)
    wet = half_round(2 * r).wet(depth)
    assert wet.area == pytest.approx(r * r * (t - math.sin(t) * math.cos(t)), rel=2e-3)
    assert wet.perimeter == pytest.approx(2 * r * t, rel=1e-3)
    assert wet.top == pytest.approx(2 * r * math.sin(t), rel=1e-3)
