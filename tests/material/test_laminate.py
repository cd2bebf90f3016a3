"""Skins from a spec: what the spec says, what is left to the handbook, what is refused. Figures: tests/published."""

import pytest

from moldplan.errors import SpecFault
from moldplan.handbook.lookup import table
from moldplan.material.laminate import Ply, known_fabrics, known_laminates, known_resins, skin


def test_left_to_us_the_skin_is_two_plies_of_stitched_glass_and_says_why(spec_with):
    found = skin(spec_with())
    # by hand from the identity: 2 x 0.45 (1/2560 + 0.52/(0.48 x 1200)) m
    assert found.thickness == pytest.approx(2 * 0.45 * (1 / 2.56 + 0.52 / (0.48 * 1.2)), rel=1e-12)
    assert found.tolerance == pytest.approx(0.15 * found.thickness)  # +-15 %: common practice, no source
    assert "no laminate" in found.reason
    assert found.source.how_read == "practice"
    assert any("0.48" in words for words in found.assumed)


def test_the_range_beside_it_is_that_of_hand_work(spec_with):
    """Stitched glass by hand comes out at 0.45 to 0.50 (common practice, no source)."""
    thin, thick = skin(spec_with()).usual_thickness
    assert thin == pytest.approx(0.9 * (1 / 2.56 + 0.50 / (0.50 * 1.2)), rel=1e-12)
    assert thick == pytest.approx(0.9 * (1 / 2.56 + 0.55 / (0.45 * 1.2)), rel=1e-12)


def test_left_to_us_the_only_laminate_of_the_spec_is_taken(spec_with):
    found = skin(spec_with(laminates={"mine": {"plies": ["biax 600"]}}))
    assert (found.name, found.reason) == ("mine", "the only laminate in the spec")


def test_left_to_us_none_of_several_is_guessed_at(spec_with):
    found = skin(spec_with(laminates={"a": {"plies": ["biax 600"]}, "b": {"plies": ["mat 300"]}}))
    assert found.name == "two plies biax 450"
    assert "none of the spec's laminates is named" in found.reason


def test_a_named_skin_needs_no_reason_and_a_stated_fraction_no_range(spec_with):
    mine = {"fibre_fraction": 0.55, "resin": "epoxy", "plies": ["biax 600"]}
    found = skin(spec_with(laminates={"mine": mine}), "mine")
    assert found.reason == "" and found.assumed == ()
    assert found.usual_thickness == (found.thickness, found.thickness)
    assert found.source.how_read == "spec"
    assert found.origin == "mine: biax 600, epoxy, by hand"


def test_the_specs_own_rows_win_over_the_handbooks(spec_with):
    spec = spec_with(fabrics={"biax 450": {"areal_weight": "300 g/m2"}}, resins={"vinyl ester": {"density": 1130}})
    ply = skin(spec).plies[0]
    assert (ply.areal_weight, ply.resin_density) == (0.3, 1130)


def test_a_bag_makes_it_thinner_and_a_mat_thicker(spec_with):
    spec = spec_with(laminates={
        "hand": {"plies": ["biax 600"]}, "bag": {"process": "bagged", "plies": ["biax 600"]},
        "mat": {"plies": ["mat 300", "mat 300"]}})
    assert skin(spec, "bag").thickness < skin(spec, "hand").thickness < skin(spec, "mat").thickness


def test_the_thickest_ply_is_one_of_the_stack(spec_with):
    found = skin(spec_with(laminates={"mixed": {"plies": ["mat 300", "biax 600", "mat 450"]}}))
    assert found.thickest_ply == found.plies[2].thickness


def test_a_stack_is_no_better_known_than_its_worst_ply(spec_with):
    found = skin(spec_with(laminates={"mixed": {"plies": ["mat 300", "biax 600"]}}))
    assert found.source.how_read == "practice"


def test_every_mistake_in_a_laminate_is_told_at_once_with_its_field(spec_with):
    spec = spec_with(laminates={"bad": {"process": "bagged", "resin": "glue", "plies": ["felt", "mat 300", "mat 450"]}})
    with pytest.raises(SpecFault) as told:
        skin(spec, "bad")
    assert [fault.path for fault in told.value.faults] == [
        ("laminates", "bad", "resin"), ("laminates", "bad", "plies", 0), ("laminates", "bad", "fibre_fraction"),
        ("laminates", "bad", "fibre_fraction")]
    assert "e-glass mat, laid up bagged" in told.value.faults[2].why


def test_a_skin_that_nobody_knows_is_told_at_the_field_that_named_it(spec_with):
    with pytest.raises(SpecFault) as told:
        skin(spec_with(), "velvet", path=("cradles", "block", "skin"))
    (fault,) = told.value.faults
    assert fault.path == ("cradles", "block", "skin")
    assert "two plies biax 450" in fault.allowed


def test_aramid_has_no_fraction_in_the_handbook_so_one_is_asked_for(spec_with):
    cloth = {"cloth": {"fibre": "aramid", "kind": "woven", "areal_weight": "170 g/m2"}}
    with pytest.raises(SpecFault, match="fibre_fraction"):
        skin(spec_with(fabrics=cloth, laminates={"one": {"plies": ["cloth"]}}), "one")
    stated = {"one": {"fibre_fraction": 0.4, "plies": ["cloth"]}}
    assert skin(spec_with(fabrics=cloth, laminates=stated), "one").plies[0].fibre_density == 1440


@pytest.mark.parametrize("psi", [0.0, 0.0999, 0.8001, 1.0, float("nan"), float("inf")])
def test_outside_its_range_a_ply_refuses(psi):
    with pytest.raises(ValueError, match="fibre fraction"):
        Ply(fabric="cloth", areal_weight=0.45, fibre_density=2560, resin_density=1200, fibre_fraction=psi)


@pytest.mark.parametrize("field", ["areal_weight", "fibre_density", "resin_density"])
@pytest.mark.parametrize("value", [0.0, -1.0, float("nan")])
def test_a_ply_of_nothing_is_refused(field, value):
    with pytest.raises(ValueError, match="above nothing"):
        Ply(**{"fabric": "cloth", "areal_weight": 0.45, "fibre_density": 2560, "resin_density": 1200,
               "fibre_fraction": 0.48} | {field: value})


def test_the_handbooks_own_rows_fit_together(spec_with):
    """Each laminate of the handbook can be laid; each fabric can be laid by hand in each resin."""
    spec = spec_with()
    for name in known_laminates(spec):
        assert skin(spec, name).thickness > 0
    assert set(known_resins(spec)) == {"polyester", "vinyl ester", "epoxy"}
    for fabric in known_fabrics(spec):
        for resin in known_resins(spec):
            laminate = {"one": {"resin": resin, "plies": [fabric]}}
            assert 0.1 < skin(spec_with(laminates=laminate), "one").thickness < 2


def test_the_specs_default_paint_is_the_handbooks(spec_with):
    assert spec_with().coats.paint == table("tolerances").number("paint", "build", unit="mm")
