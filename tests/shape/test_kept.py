"""Kept results: made once for a key, made anew for another, and never a failure."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from moldplan.shape.kept import Beside, Kept


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


class Thing:
    """Equal to every other, as two bodies of one size are."""

    def __eq__(self, other):
        return True

    __hash__ = None


def test_what_is_beside_an_object_is_that_objects_own():
    held, one, two, made = Beside(), Thing(), Thing(), []
    for thing, words in ((one, ""), (one, ""), (two, ""), (one, "x"), (one, "x"), (two, "")):
        held.of(thing, lambda thing=thing, words=words: made.append((id(thing), words)), words)
    assert made == [(id(one), ""), (id(two), ""), (id(one), "x")]


def test_it_goes_with_its_object():
    """A thousand that come and go in one place in memory: each is asked for anew, and none stays behind."""
    held = Beside()
    for number in range(1000):
        thing = Thing()
        assert held.of(thing, lambda number=number: number) == number
        del thing
    assert len(held._held) == 0


def test_a_failure_beside_an_object_is_tried_again():
    held, thing = Beside(), Thing()
    with pytest.raises(ZeroDivisionError):
        held.of(thing, lambda: 1 // 0)
    assert held.of(thing, lambda: 1) == 1
