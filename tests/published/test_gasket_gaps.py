"""What a squeezed gasket leaves between lid and landing: free height times one less the squeeze.

Figures   12 mm sponge: 30 % leaves 8.4, 40 % 7.2, 50 % 6.0 mm (arithmetic); squeeze = (free - squeezed) / free.
Measured  from the finished landing to the lid's finished underside, on their faces; paint 0.3 on both.
"""

import pytest

from moldplan.check.section import squeeze, total

ROWS = [(0.30, 8.4), (0.40, 7.2), (0.50, 6.0)]


@pytest.fixture(scope="module")
def closed(hatch_bits):
    """A function: a lid of 22 mm on a sponge of 12 mm, its landing as deep as both make it, or as stated."""

    def make(**fields):
        changes = {"lid/gasket/free": 12, "lid/gasket/stop": None, "gutter/fall": "0 %"}
        return hatch_bits(changes | {k.replace("__", "/"): v for k, v in fields.items()}, "frame", "lid")

    return make


@pytest.mark.parametrize(("share", "gap"), ROWS)
def test_a_sponge_squeezed_by_a_share_stands_as_high_as_printed(closed, share, gap):
    spot = closed(lid__gasket__squeeze=share)
    assert spot.landing + spot.lid_under == pytest.approx(gap, abs=1e-6)
    assert total(spot).measured == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize(("share", "gap"), ROWS)
def test_a_landing_that_leaves_the_printed_gap_squeezes_by_that_share(closed, share, gap):
    found = squeeze(closed(landing_depth=22 + gap))
    assert found.measured == pytest.approx(share, abs=1e-6)
    assert found.verdict != "fails"  # 25 to 50 %: common practice, no source
