"""What the program chose where the builder left a field open.

In       nothing.
Out      Choice.
Not here choosing (choose.py, choose_sole.py).
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Choice:
    """A value the program chose, and why."""

    field: str
    value: object
    why: str
