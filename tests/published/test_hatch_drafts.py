"""How much a drafted wall or edge widens a gap: per side h tan a.

Source    trigonometry (mathematics); worked by two independent routes that agreed, printed to four decimals, so half a
          unit of the last is claimed. Measured on the wall of a gutter and on the edge of a lid, without paint.
"""

import math

import pytest

from moldplan.check.edge_gap import underside, widest

GAP = 12


@pytest.fixture(scope="module")
def lid_in(hatch_bits):
    """A function: a lid so thick, drafted so, in a rebate whose wall is drafted so; once for each."""
    known = {}

    def make(thick, *, wall, edge):
        if (thick, wall, edge) not in known:
            known[thick, wall, edge] = hatch_bits({
                "/coats/paint": 0, "lid/thickness": thick, "lid/gap": GAP, "lid/edge_draft": edge,
                "landing_depth": 290, "gutter/draft": wall, "gutter/width": 80, "gutter/fall": "0 %"}, "frame", "lid")
        return known[thick, wall, edge]

    return make


@pytest.mark.parametrize(("thick", "draft", "widening"), [(150, 1, 2.6183), (150, 2, 5.2381), (150, 3, 7.8612),
                                                         (25, 3, 1.3102)])
def test_a_square_lid_comes_nearer_to_a_drafted_wall_by_what_is_printed(lid_in, thick, draft, widening):
    spot = lid_in(thick, wall=draft, edge=0)
    assert widest(spot).measured == pytest.approx(GAP, abs=1e-6)
    assert underside(spot).measured == pytest.approx(GAP - widening, abs=5e-5)


@pytest.mark.parametrize(("thick", "draft", "widening"), [(150, 2, 5.2381), (25, 3, 1.3102)])
def test_a_drafted_lid_leaves_an_upright_wall_by_what_is_printed(lid_in, thick, draft, widening):
    spot = lid_in(thick, wall=0, edge=draft)
    assert underside(spot).measured == pytest.approx(GAP + widening, abs=5e-5)


def test_a_lid_drafted_as_its_wall_keeps_its_gap(lid_in):
    assert underside(lid_in(150, wall=3, edge=3)).measured == pytest.approx(GAP, abs=1e-6)


@pytest.mark.parametrize(("height", "draft", "widening"), [(300, 3, 15.7223), (150, 1, 2.6183), (25, 3, 1.3102)])
def test_a_gutters_wall_widens_as_printed(lid_in, height, draft, widening):
    """Between two levels of the wall: where its straight part begins under the rim, and so much further down."""
    spot = lid_in(150, wall=draft, edge=0)
    wall = [spot.own(v.toTuple()) for face in spot.molding.faces("outer wall") for v in face.Vertices()]
    ends = sorted({(round(z, 7), round(abs(x), 7)) for x, y, z in wall if abs(y) < 160 + 1e-6 and abs(x) > 250})
    (low, near), (high, far) = ends[0], ends[-1]
    assert high - low > 300
    # from one end's height to the printed one, by proportion
    assert (far - near) / (high - low) * height == pytest.approx(widening, abs=5e-5)
    assert math.degrees(math.atan2(far - near, high - low)) == pytest.approx(draft, abs=1e-4)
