"""What tests of several rooms ask for: a small spec with some fields changed, a stack of given plies."""

import pytest

from moldplan.finding import Source
from moldplan.material.laminate import Skin
from moldplan.spec.model import Spec


@pytest.fixture(scope="session")
def spec_with():
    """A function: a small valid spec with the top-level fields given replaced."""

    def make(**fields):
        plain = {
            "moldplan": 1,
            "title": "a test piece",
            "cylinders": {"bottle": {"diameter": 171, "height": 500}},
            "cradles": {
                "block": {"block": [300, 300, 80], "seats": {"bottle": {"depth": 36, "clearance_per_side": 3}}},
            },
        }
        return Spec.model_validate(plain | fields)

    return make


@pytest.fixture(scope="session")
def lay():
    """A function: the skin of the plies given, and of nothing else."""

    def make(*plies):
        source = Source(document="a test", how_read="ours")
        return Skin(name="stack", plies=plies, tolerance=0.0, tolerance_source=source, source=source,
                    resin_name="resin", process="by hand")

    return make
