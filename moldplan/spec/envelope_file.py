"""`below: {engine: {step: engine.step}}` - bodies of the builder's own, from STEP files beside the spec.

In       the Source of a spec; STEP files (ISO 10303-21) beside it.
Out      the bytes of each such file, kept with the Source by the name written, and for the digest.
Not here which paths are let in (beside.py), what the bodies are (shape/envelope.py): that takes the kernel.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path as FilePath
from typing import Any

from moldplan.errors import Fault, Path
from moldplan.spec.beside import let_in
from moldplan.spec.mistakes import of_fault
from moldplan.spec.source import Source

MOST_BYTES = 50_000_000
ENDINGS = (".step", ".stp")
FIRST, LAST = b"ISO-10303-21;", b"END-ISO-10303-21;"  # ISO 10303-21: a file's first and last words
ALLOWED = "a whole STEP file (ISO 10303-21)"


def with_envelopes(source: Source) -> bytes:
    """Read every STEP file of a spec into `source.envelopes`; their bytes in the order they were read.

    Mistakes are added to `source.mistakes`. What the model will refuse anyway (a name that is no text) is left to it.
    """
    raw: list[bytes] = []
    root = source.file.parent.resolve()
    for path, name in _wanted(source.data):
        if name in source.envelopes:
            continue
        target, fault = let_in(path, name, source.file.parent, root, example="engine.step", endings=ENDINGS)
        content = b""
        if target is not None and fault is None:
            content, fault = _content(path, name, target)
        if fault:
            source.mistakes.append(of_fault(source.marks, fault))
            continue
        source.envelopes[name] = content
        raw.append(content)
    return b"".join(raw)


def _wanted(data: Any) -> Iterator[tuple[Path, str]]:
    soles = data.get("soles") if isinstance(data, dict) else None
    for sole_name, sole in (soles.items() if isinstance(soles, dict) else ()):
        below = sole.get("below") if isinstance(sole, dict) else None
        for name, item in (below.items() if isinstance(below, dict) else ()):
            if isinstance(item, dict) and isinstance(item.get("step"), str):
                yield ("soles", sole_name, "below", name, "step"), item["step"]


def _content(path: Path, name: str, target: FilePath) -> tuple[bytes, Fault | None]:
    """What stands in a file, or why it is no STEP file as far as its first and last words tell."""

    def refused(why: str, allowed: str = ALLOWED) -> tuple[bytes, Fault]:
        return b"", Fault(path, name, allowed, why)

    if target.suffix.lower() not in ENDINGS:
        return refused("other kinds are not read here", "a .step or .stp file")
    try:
        with target.open("rb") as stream:
            raw = stream.read(MOST_BYTES + 1)
    except OSError as error:
        return refused(f"it cannot be read ({error.strerror or error})", "a file that can be read")
    if not raw.strip():
        return refused("the file is empty")
    if len(raw) > MOST_BYTES:
        return refused("so much detail tells no more than an envelope does",
                       f"up to {MOST_BYTES // 1_000_000} MB")
    if not raw.removeprefix(b"\xef\xbb\xbf").lstrip().startswith(FIRST):
        return refused(f"it does not begin with {FIRST.decode()}")
    if not raw.rstrip().endswith(LAST):
        return refused(f"it does not end with {LAST.decode()}: it is cut short")
    return raw, None
