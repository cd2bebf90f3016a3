"""Results of shaping, kept while their briefs stay the same, and what was worked out of those results.

In       the key of a pure function's whole input, and the function; or an object that never changes.
Out      its result, made once.
Not here shaping. A search for cures shapes a plan dozens of times and changes one hatch of several, or a limit.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from typing import Any, Generic, TypeVar
from weakref import ref

Made = TypeVar("Made")


class Kept(Generic[Made]):
    """The last `most` results by their keys; what was asked for longest ago goes first."""

    def __init__(self, most: int):
        self._held: OrderedDict[str, Made] = OrderedDict()
        self._most = most

    def of(self, key: str, make: Callable[[], Made]) -> Made:
        """The result for a key, made when it is not held. A failure is not held."""
        if key not in self._held:
            self._held[key] = make()
            while len(self._held) > self._most:
                self._held.popitem(last=False)
        self._held.move_to_end(key)
        return self._held[key]


class Beside(Generic[Made]):
    """What was worked out of an object, with the words it also depends on, as long as that very object lasts.

    An object handed out again by a Kept is the same one; one that is merely equal is not.
    """

    def __init__(self) -> None:
        self._held: dict[int, tuple[ref[Any], dict[str, Made]]] = {}

    def of(self, thing: Any, make: Callable[[], Made], words: str = "") -> Made:
        """The result for an object, made when it is not held. A failure is not held."""
        number = id(thing)
        held = self._held.get(number)
        if held is None or held[0]() is not thing:
            held = self._held[number] = (ref(thing, lambda _: self._held.pop(number, None)), {})
        if words not in held[1]:
            held[1][words] = make()
        return held[1][words]
