"""Kept results: made once for a key, made anew for another, and never a failure."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from moldplan.shape.kept import Kept


@given(st.lists(st.text(max_size=2), max_size=40), st.integers(1, 5))
def test_what_is_handed_out_is_always_the_keys_own_result(asked, most):
    held = Kept(most)
    assert [held.of(key, lambda key=key: key * 2) for key in asked] == [key * 2 for key in asked]


def test_it_is_made_once_while_it_is_held():
    held, made = Kept(1), []
    for key in ("a", "a", "b", "a"):
        held.of(key, lambda key=key: made.append(key))
    assert made == ["a", "b", "a"]


def test_a_failure_is_tried_again():
    held = Kept(2)
    with pytest.raises(ZeroDivisionError):
        held.of("a", lambda: 1 // 0)
    assert held.of("a", lambda: 1) == 1
