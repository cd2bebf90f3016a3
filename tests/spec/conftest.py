"""A small valid spec as text, and what a file written from text loads to."""

import pytest

from moldplan.errors import SpecError
from moldplan.spec import load

GOOD = """\
moldplan: 1
title: Galley gas seat
cylinders: {galley: {diameter: 267 ± 2, height: 430, full_mass: 16, contents: lp gas}}
cradles:
  seat block: {block: [400, 400, 80], stock: foam, seats: {galley: {depth: 36, clearance_per_side: 4, insert: board}}}
"""


@pytest.fixture
def good():
    return GOOD


@pytest.fixture
def reads(tmp_path, monkeypatch):
    """A function: text (and other files by name) -> Loaded."""
    monkeypatch.chdir(tmp_path)

    def read(text, **others):
        for name, each in {"spec": text, **others}.items():
            (tmp_path / f"{name}.yaml").write_text(each, encoding="utf-8")
        return load.read("spec.yaml")

    return read


@pytest.fixture
def mistakes(reads):
    """A function: text -> the lines of the SpecError it raises."""

    def lines(text, **others):
        with pytest.raises(SpecError) as error:
            reads(text, **others)
        assert all("\n" not in line for line in error.value.lines)
        return list(error.value.lines)

    return lines
