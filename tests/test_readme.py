"""The README shows what the program says: its short spec is the one in specs/, its failing one is run here. What the
build of the short one counts is looked at where it is built (tests/whole)."""

import re
from pathlib import Path

from moldplan.cli import main

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
SPEC = (ROOT / "specs" / "first-cradle.yaml").read_text(encoding="utf-8")


def shown(command):
    """The lines the README shows below a command."""
    (block,) = re.findall(rf"```text\n\$ {re.escape(command)}\n(.*?)```", README, re.DOTALL)
    return block.splitlines()


def test_the_spec_that_is_shown_is_the_one_that_is_shipped():
    yaml = README.split("`specs/first-cradle.yaml`:\n\n```yaml\n")[1].split("```")[0]
    assert yaml.strip() in SPEC


def test_the_spec_that_fails_says_what_is_shown(tmp_path, monkeypatch, capsys):
    tight = SPEC.replace("clearance_per_side: 4", "clearance_per_side: 1").replace("depth: 36", "depth: 40")
    assert tight.count("clearance_per_side: 1,") == tight.count("depth: 40,") == 1
    (tmp_path / "tight.yaml").write_text(tight, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    assert main(["check", "tight.yaml"]) == 1
    said = [line.rstrip() for line in capsys.readouterr().err.splitlines()]
    lines = shown("moldplan check tight.yaml")
    assert said[: len(lines)] == lines
