"""moldplan: cylinder cradles for one-off foam-cored boats, from a few lines of YAML to files that go to the shop.

    import moldplan
    plan = moldplan.build("specs/first-cradle.yaml", out="outputs")

`load` reads a spec, `build` runs the whole chain and writes it (or only runs it, with out=None), `Plan` is what it
returns. Importing this costs nothing: the rooms are opened when they are used.

The rooms, in the order data moves through them (a room imports from itself and from earlier ones):

handbook   published numbers, each with its source         check   bodies -> findings
material   laminates from plies, stacks from sheets        cut     bodies -> outlines -> sheets
spec       YAML -> Spec, or every mistake at once          layup   bodies -> plies, bonds, order of work
shape      Spec -> bodies with named faces                 cure    failing findings -> spec edits that hold
                                                           report  a finished plan -> what people open

quantity, errors and finding are open to all; plan is the chain; cli is the command line.
"""

from __future__ import annotations

from pathlib import Path as FilePath
from typing import TYPE_CHECKING, Any

from moldplan._version import __version__

if TYPE_CHECKING:
    from moldplan.plan import Plan
    from moldplan.spec.load import Loaded

__all__ = ["Plan", "__version__", "build", "load"]


def load(path: str | FilePath) -> Loaded:
    """The spec in a file; raises errors.SpecError with every mistake in it, or errors.CallError."""
    from moldplan.spec.load import read

    return read(path)


def build(path: str | FilePath, out: str | FilePath | None = "outputs") -> Plan:
    """The whole chain on a spec, written to `out`/<spec name>/ unless `out` is None; raises errors.MoldplanError."""
    from moldplan import plan
    from moldplan.shape.kernel import kernel
    from moldplan.spec.load import read

    loaded = read(path)
    kernel()
    made = plan.make(loaded, nest=True, layout=None, say=lambda text: None)
    if out is not None:
        plan.write(made, FilePath(out))
    return made


def __getattr__(name: str) -> Any:
    if name == "Plan":
        from moldplan.plan import Plan

        return Plan
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
