"""Results of shaping, kept while their briefs stay the same.

In       the key of a pure function's whole input, and the function.
Out      its result, made once.
Not here shaping. A search for cures shapes a plan dozens of times and changes one hatch of several, or a limit.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from typing import Generic, TypeVar

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
