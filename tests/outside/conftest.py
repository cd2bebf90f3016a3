"""What the outside checks share: every spec of the project built once, in a folder of its own."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="session")
def built(tmp_path_factory):
    """{spec name: output folder} of every spec; a build that finds faults (exit 1) still writes all its files."""
    out = tmp_path_factory.mktemp("built")
    folders = {}
    for spec in sorted((ROOT / "specs").glob("*.yaml")):
        done = subprocess.run([sys.executable, "-m", "moldplan", "build", str(spec), "--out", str(out)],
                              cwd=ROOT, capture_output=True, text=True)
        assert done.returncode in (0, 1), f"{spec.name}: exit {done.returncode}\n{done.stderr}"
        folders[spec.stem] = out / spec.stem
    assert folders, "no spec to build"
    return folders
