"""Starting the kernel on a machine that lacks a library. The loader's sentence is glibc's (dlopen(3), dl-load.c)."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from moldplan.shape import kernel

ROOT = Path(__file__).parents[2]
MISSING = "libGL.so.1: cannot open shared object file: No such file or directory"


@pytest.mark.parametrize(("text", "library"), [
    (MISSING, "libGL.so.1"), ("libX11.so.6: cannot open shared object file: No such file or directory", "libX11.so.6"),
    ("No module named 'cadquery'", None), ("cannot import name 'x' from 'y'", None),
])
def test_the_missing_library_is_read_from_the_loader(text, library):
    assert kernel.missing_library(ImportError(text)) == library


def test_the_sentence_names_the_package_where_it_is_known():
    """libgl1 provides libGL.so.1 in Debian 12 (packages.debian.org, as remembered)."""
    assert kernel.sentence("libGL.so.1").endswith("sudo apt-get install libgl1")
    assert "libodd.so.9" in kernel.sentence("libodd.so.9")
    assert "apt-get" not in kernel.sentence("libodd.so.9")


@pytest.fixture
def run_with(tmp_path):
    """A function: what `import cadquery` raises -> the finished `moldplan check` of a good spec."""

    def run(raises):
        (tmp_path / "cadquery.py").write_text(f"raise {raises}\n")
        (tmp_path / "a.yaml").write_text(
            "moldplan: 1\ntitle: t\ncylinders: {g: {diameter: 267, height: 430}}\n"
            "cradles: {b: {block: [400, 400, 80], seats: {g: {depth: 36, clearance_per_side: 4}}}}\n")
        path = os.pathsep.join((str(tmp_path), str(ROOT)))
        return subprocess.run([sys.executable, "-m", "moldplan", "check", "a.yaml"], cwd=tmp_path, text=True,
                              capture_output=True, env={**os.environ, "PYTHONPATH": path})

    return run


def test_a_missing_library_is_one_line_and_exit_3(run_with):
    done = run_with(f"ImportError({MISSING!r})")
    assert done.returncode == 3
    assert done.stderr == kernel.sentence("libGL.so.1") + "\n"
    assert done.stdout == ""


def test_any_other_failed_import_keeps_its_traceback(run_with):
    done = run_with("ImportError('cannot import name x')")
    assert done.returncode == 1
    assert "Traceback" in done.stderr
