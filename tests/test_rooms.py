"""The house as the map of rooms says it: who may import whom, how long a file may be, what loads at the start.

All read from the sources by their syntax trees, so that an import inside a function counts like any other.
"""

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "moldplan"
ORDER = ("handbook", "material", "spec", "shape", "check", "cut", "layup", "cure", "report")
OPEN = {"quantity", "attitude", "errors", "finding", "_version"}
SEES_ALL = {"plan", "cli", "__main__", "__init__"}
HEAVY = {"cadquery", "OCP", "scipy", "shapely", "pint", "ezdxf", "trimesh", "spyrrow", "fpdf", "fluids"}
LONGEST = 400
SOURCES = sorted(PACKAGE.rglob("*.py"))
IDS = [str(path.relative_to(PACKAGE)) for path in SOURCES]


def room_of(path):
    """The room a module stands in: a folder of the package, or a module at its top."""
    inside = path.relative_to(PACKAGE)
    return inside.parts[0] if len(inside.parts) > 1 else inside.stem


def may_import(importer, imported):
    """The rule itself: an own or an earlier room, or one that is open to all; plan and cli see everything."""
    if importer in SEES_ALL or imported in OPEN or importer == imported:
        return True
    if importer in ORDER and imported in ORDER:
        return ORDER.index(imported) < ORDER.index(importer)
    return False


def imports(tree, package):
    """(line, dotted module) of every import of a module whose package is given, relative ones made absolute."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else ()
            stem = ".".join(filter(None, (*base, node.module or "")))
            yield node.lineno, stem
            yield from ((node.lineno, f"{stem}.{alias.name}") for alias in node.names)


def rooms_imported(tree, package):
    """(line, room) of every import from the package; what is no room or module of ours is a name inside one."""
    for line, module in imports(tree, package):
        first, _, rest = module.partition(".")
        room = rest.split(".")[0]
        if first == "moldplan" and room and ((PACKAGE / room).is_dir() or (PACKAGE / f"{room}.py").is_file()):
            yield line, room


def loaded_at_start(tree):
    """(line, top module) of imports that run when the module is loaded: not in functions, not for type checkers."""

    def walk(body):
        for node in body:
            if isinstance(node, ast.Import):
                yield from ((node.lineno, alias.name.split(".")[0]) for alias in node.names)
            elif isinstance(node, ast.ImportFrom):
                yield node.lineno, (node.module or "").split(".")[0]
            elif isinstance(node, ast.If):
                yield from walk(() if "TYPE_CHECKING" in ast.unparse(node.test) else node.body)
                yield from walk(node.orelse)
            elif isinstance(node, (ast.Try, ast.With, ast.ClassDef, ast.For, ast.While)):
                for part in ("body", "orelse", "finalbody"):
                    yield from walk(getattr(node, part, ()))
                for handler in getattr(node, "handlers", ()):
                    yield from walk(handler.body)

    yield from walk(tree.body)


def parsed(path):
    return ast.parse(path.read_text(encoding="utf-8"), filename=str(path))


@pytest.mark.parametrize("path", SOURCES, ids=IDS)
def test_a_module_imports_from_its_own_room_or_an_earlier_one(path):
    package = ("moldplan", *path.relative_to(PACKAGE).parts[:-1])
    wrong = [f"line {line}: {room}" for line, room in rooms_imported(parsed(path), package)
             if not may_import(room_of(path), room)]
    assert not wrong, f"{room_of(path)} may not import {', '.join(wrong)}"


@pytest.mark.parametrize("path", SOURCES, ids=IDS)
def test_a_heavy_library_is_loaded_where_it_is_used(path):
    wrong = [f"line {line}: {module}" for line, module in loaded_at_start(parsed(path)) if module in HEAVY]
    assert not wrong, f"loaded at the start: {', '.join(wrong)}"


def test_no_room_is_a_drawer_for_everything():
    named = {path.stem for path in PACKAGE.rglob("*.py")} | {path.name for path in PACKAGE.rglob("*") if path.is_dir()}
    assert not named & {"utils", "util", "helpers", "helper", "common", "core", "misc", "tools", "shared"}


def test_every_room_has_a_place_in_the_order():
    folders = {path.parent for path in SOURCES} - {PACKAGE}
    assert {room_of(folder / "x.py") for folder in folders} <= set(ORDER)
    modules = {path.stem for path in PACKAGE.glob("*.py")}
    assert modules <= OPEN | SEES_ALL


@pytest.mark.parametrize("path", SOURCES, ids=IDS)
def test_a_file_is_no_longer_than_one_room(path):
    assert len(path.read_text(encoding="utf-8").splitlines()) <= LONGEST


def committed():
    """Every file under version control, or every file of the tree where there is no git to ask."""
    try:
        listed = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=True).stdout.decode()
    except (OSError, subprocess.CalledProcessError):
        return [path for path in ROOT.rglob("*") if path.is_file() and not any(
            part.startswith(".") or part == "node_modules" for part in path.relative_to(ROOT).parts)]
    return [path for name in listed.split("\0") if name and (path := ROOT / name).is_file()]


# split so that this file does not hold what it looks for
MACHINE = re.compile("|".join([
    "/" + "work/", "/" + "home/[a-z]", "/" + "root/", "/" + "Users/", "[A-Z]:" + r"\\\\Users", r"\.\./" + "shared"]))
REGISTRY = re.compile("|".join([
    r"registry\." + "npmjs", r"files\." + "pythonhosted", r"pypi\." + "org", r"registry\." + "yarnpkg",
    r"index" + "-url", r'"resolved"\s*:\s*"http', r"\bartifact" + "ory"]))


def test_nothing_committed_knows_this_machine_or_a_registry():
    files = committed()
    assert len(files) > 20
    told = []
    for path in files:
        text = path.read_bytes().decode("utf-8", errors="replace")
        if path.suffix.lower() in {".png", ".jpg", ".glb", ".pdf", ".woff2"}:
            continue
        told += [f"{path.relative_to(ROOT)}: {found.group()}" for rule in (MACHINE, REGISTRY)
                 for found in rule.finditer(text)]
    assert not told, told


@pytest.mark.parametrize(("importer", "imported", "allowed"), [
    ("shape", "spec", True), ("spec", "shape", False), ("material", "spec", False), ("check", "cut", False),
    ("cut", "check", True), ("report", "cure", True), ("cure", "report", False), ("shape", "plan", False),
    ("plan", "report", True), ("handbook", "finding", True), ("finding", "handbook", False), ("errors", "spec", False),
])
def test_the_rule_itself_tells_right_from_wrong(importer, imported, allowed):
    assert may_import(importer, imported) is allowed


def test_the_readers_of_imports_miss_nothing():
    """A made-up module with an import of every kind; what each reader must find is typed here."""
    tree = ast.parse(
        "from __future__ import annotations\n"
        "from typing import TYPE_CHECKING\n"
        "import numpy, scipy.spatial\n"
        "if TYPE_CHECKING:\n    import cadquery\n"
        "try:\n    import shapely\nexcept ImportError:\n    import trimesh\n"
        "class A:\n    import pint\n"
        "def f():\n    import ezdxf\n    from moldplan.report import drawing\n    from ..check import draft\n"
        "from moldplan import errors\nfrom . import body\nfrom moldplan import Plan\n")
    assert [module for _, module in loaded_at_start(tree)] == [
        "__future__", "typing", "numpy", "scipy", "shapely", "trimesh", "pint", "moldplan", "", "moldplan"]
    assert {room for _, room in rooms_imported(tree, ("moldplan", "shape"))} == {"report", "check", "errors", "shape"}


def test_asking_for_help_loads_nothing_heavy():
    """What `moldplan --help` loads, seen from a fresh interpreter."""
    code = "import sys, moldplan.cli; print(' '.join(sorted(m.split('.')[0] for m in sys.modules)))"
    loaded = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True).stdout
    assert not set(loaded.split()) & HEAVY
