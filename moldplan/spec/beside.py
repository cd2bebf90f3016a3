"""Files that a spec names: which of them are let in.

In       the name as written, the folder it is looked for in, the folder it must not leave.
Out      the file's real path, or why it is refused.
Not here what stands in the file (include.py, outline_file.py).

A path leads neither out of the spec's folder nor to an absolute place, so that a spec that is handed on works, and
reads nothing that is none of its business.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path as FilePath
from pathlib import PurePosixPath, PureWindowsPath

from moldplan.errors import Fault, Path
from moldplan.spec.mistakes import nearest


def let_in(path: Path, name: str, folder: FilePath, root: FilePath, *, example: str,
           endings: Sequence[str]) -> tuple[FilePath | None, Fault | None]:
    """The file of a name written at `path` of a spec, or what is wrong with it.

    `folder`: where it is looked for; `root`: the spec's own folder, resolved; `endings`: of files worth proposing.
    """
    allowed = f"a file in the spec's own folder or below it, such as {example}"
    why = ""
    if PurePosixPath(name).is_absolute() or PureWindowsPath(name).drive or name.startswith(("\\", "~")):
        why = "an absolute path works on one machine only"
    elif ".." in PurePosixPath(name).parts or "\\" in name or "\0" in name or not name.strip():
        why = "the path must not lead out of the folder (no .., no backslash)"
    if why:
        return None, Fault(path, name, allowed, why)
    try:
        target = (folder / name).resolve()
        found = target.is_file()
    except (OSError, RuntimeError, ValueError):
        return None, Fault(path, name, allowed, "no file can be reached by that name")
    if not target.is_relative_to(root):
        return None, Fault(path, name, allowed, "it is a link that leads out of the spec's folder")
    if not found:
        others = _others(folder, endings)
        return None, Fault(path, name, allowed, "there is no such file" + (
            f"; here are {nearest(name, others)}" if others else ""))
    return target, None


def _others(folder: FilePath, endings: Sequence[str]) -> list[str]:
    """Names of files that may have been meant."""
    try:
        names = sorted(each.name for each in folder.iterdir() if each.suffix.lower() in endings)
    except OSError:
        return []
    return names[:50]
