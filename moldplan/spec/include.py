"""`include:` - tables from files beside the spec.

In       the Source of a spec.
Out      the same data with the tables of its includes merged in, their marks with them.
Not here what a table holds (model.py), which paths are let in (beside.py).

Only tables are taken in, so that a spec reads as a whole without chasing files.
"""

from __future__ import annotations

from collections import defaultdict
from pathlib import Path as FilePath
from pathlib import PurePosixPath
from typing import Any

from moldplan.errors import CallError, Fault, Path
from moldplan.spec.beside import let_in
from moldplan.spec.mistakes import nearest, of_fault
from moldplan.spec.source import MOST_NODES, Mark, Mistake, Source, raise_all, read_source, sentence

TABLES = ("stock", "fabrics", "resins", "cylinders", "laminates")
MOST_FILES = 50


def with_includes(source: Source, shown_as: str) -> bytes:
    """Merge every include into `source` in place; the bytes of all files in the order they were read.

    Raises SpecError when an included file is not YAML; other mistakes are added to `source.mistakes`.
    """
    read = {source.file.resolve(): shown_as}
    raw = [source.raw]
    root = source.file.parent.resolve()
    _take_in(source, source, (source.file.resolve(),), root, str(PurePosixPath(shown_as).parent), read, raw)
    return b"".join(raw)


def _take_in(into: Source, of: Source, chain: tuple[FilePath, ...], root: FilePath, folder: str,
             read: dict[FilePath, str], raw: list[bytes]) -> None:
    wanted = of.data.get("include") if isinstance(of.data, dict) else None
    if not isinstance(wanted, list):
        return
    for number, name in enumerate(wanted):
        path: Path = ("include", number)
        if not isinstance(name, str):
            if of is not into:
                into.mistakes.append(of_fault(of.marks, Fault(path, name, "the name of a file", "text is due")))
            continue
        target, fault = _target(path, name, of.file.parent, root, chain)
        if target is None:
            into.mistakes.append(of_fault(of.marks, fault or Fault(path, name, "a file", "")))
            continue
        if target in read:
            continue
        if len(read) >= MOST_FILES:
            into.mistakes.append(of_fault(of.marks, Fault(path, name, f"up to {MOST_FILES} files", "that is no table")))
            return
        shown = name if folder == "." else f"{folder}/{name}"
        read[target] = shown
        part = _read(into, of, path, target, shown, len(raw))
        if part is not None:
            raw.append(part.raw)
            _merge(into, part)
            _take_in(into, part, (*chain, target), root, str(PurePosixPath(shown).parent), read, raw)


def _target(path: Path, name: str, folder: FilePath, root: FilePath,
            chain: tuple[FilePath, ...]) -> tuple[FilePath | None, Fault | None]:
    target, fault = let_in(path, name, folder, root, example="tables/stock.yaml", endings=(".yaml", ".yml"))
    if target is None:
        return None, fault
    if target in chain:
        loop = " -> ".join(each.name for each in (*chain[chain.index(target):], target))
        return None, Fault(path, name, "files that do not include each other in a ring", f"{loop} is a ring")
    return target, None


def _read(into: Source, of: Source, path: Path, target: FilePath, shown: str, rank: int) -> Source | None:
    try:
        part = read_source(target, shown, rank)
    except CallError as error:
        into.mistakes.append(of_fault(of.marks, Fault(path, target.name, "a file that can be read", str(error))))
        return None
    into.nodes += part.nodes
    if into.nodes > MOST_NODES:
        raise_all([of_fault(of.marks, Fault(path, target.name, f"up to {MOST_NODES} values in all files",
                                            "a spec that long is no spec"))])
    into.mistakes.extend(part.mistakes)
    into.cautions.extend(part.cautions)
    return part


def _merge(into: Source, part: Source) -> None:
    under: dict[Path, list[tuple[Path, Mark]]] = defaultdict(list)
    for path, mark in part.marks.items():
        under[path[:2]].append((path, mark))
    for table, entries in part.data.items():
        if table == "include":
            if not isinstance(entries, list):
                into.mistakes.append(of_fault(part.marks, Fault(("include",), entries, "a list of files", "")))
            continue
        if table not in TABLES or not isinstance(entries, dict):
            allowed = nearest(str(table), (*TABLES, "include")) if table not in TABLES else "a map of names"
            into.mistakes.append(of_fault(part.marks, Fault((table,), _short(entries), allowed,
                                                            "an included file holds tables only")))
            continue
        mine = into.data.get(table)
        if mine is None:
            mine = into.data[table] = {}
            into.marks.setdefault((table,), part.marks[(table,)])
        if not isinstance(mine, dict):
            continue
        for name, entry in entries.items():
            if name in mine:
                first, second = into.marks[(table, name)], part.marks[(table, name)]
                into.mistakes.append(Mistake(second, sentence(
                    f"{table}.{name}", "a second time", "each name once", f"{first} gives it already")))
                continue
            mine[name] = entry
            into.marks.update(under[table, name])
    into.commas |= part.commas
    into.loose |= part.loose
    into.halved |= part.halved
    into.robbed |= part.robbed


def _short(entries: Any) -> Any:
    return entries if not isinstance(entries, (dict, list)) else type(entries)()
