"""The errors a user can cause, each one line that says where, what, what is allowed and why.

In       nothing; every room may import this.
Out      one root, MoldplanError, and its few kinds.
Not here the wording of a single mistake: that stands where the rule stands.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

Path = tuple[str | int, ...]


def dotted(path: Path) -> str:
    """A spec path as people read it: ("cradles", "a", "block", 0) -> "cradles.a.block.0"."""
    return ".".join(str(step) for step in path)


def on_one_line(text: str) -> str:
    """The text with what cannot be printed written out: a name may hold a line's end or a terminal's commands."""
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in text)


class MoldplanError(Exception):
    """Root of every error a user can cause; its text is fit to print as it stands."""


@dataclass(frozen=True)
class Fault:
    """One mistake in a spec, by the path of its field; load.py gives it a line and a column."""

    path: Path
    value: object
    allowed: str
    why: str


class SpecFault(MoldplanError):
    """Mistakes found after loading, when the spec's parts met (a seat outside its block)."""

    def __init__(self, faults: Iterable[Fault]):
        self.faults = tuple(faults)
        super().__init__("; ".join(f"{dotted(f.path)} = {f.value!r}, allowed {f.allowed}" for f in self.faults))


class SpecError(MoldplanError):
    """Every mistake of one spec, one located line each, in line order."""

    def __init__(self, lines: Iterable[str]):
        self.lines = tuple(lines)
        super().__init__("\n".join(self.lines))


class CallError(MoldplanError):
    """The command line asked for something that cannot be (exit 2)."""


class OutputError(MoldplanError):
    """The files could not be written; what stood there before is whole (exit 3)."""


class KernelError(MoldplanError):
    """The solid kernel cannot start on this machine (a system library is missing; exit 3)."""


class GeometryError(MoldplanError):
    """A solid did not come out as it must; names the body. A fault of ours or of the kernel, never hidden."""
