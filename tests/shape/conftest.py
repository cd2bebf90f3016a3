"""Small specs as plain data, resolved and shaped."""

import pytest

from moldplan.shape.assemble import assemble
from moldplan.shape.choose import resolve
from moldplan.spec.model import Spec


def plain(seats=None, *, block=(400, 400, 80), cylinder=None, chocks=None, cradle=None, **top):
    """A spec with one cylinder, `gas`, in one cradle, `block`."""
    body = {"diameter": 267, "height": 430, "knuckle_radius": 25} | (cylinder or {})
    held = {"chocks": chocks} if chocks else {"seats": seats or {"gas": {"depth": 36, "clearance_per_side": 4}}}
    data = {"moldplan": 1, "title": "t", "cylinders": {"gas": body},
            "cradles": {"block": {"block": list(block)} | held | (cradle or {})}} | top
    return Spec.model_validate(data)


@pytest.fixture(scope="session")
def spec():
    return plain


@pytest.fixture(scope="session")
def shaped():
    def run(*args, **kwargs):
        resolved = resolve(plain(*args, **kwargs))
        return resolved, assemble(resolved)

    return run
