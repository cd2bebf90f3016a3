"""What every proof of a cure shares: fail on one kind, cure it, judge the cured spec through the whole chain again."""

import json
from dataclasses import replace

import pytest

from moldplan.check import judge as judging
from moldplan.cure.search import cures
from moldplan.shape.assemble import assemble
from moldplan.shape.choose import resolve
from moldplan.spec.load import edited, read

SEEN = {}


def judged(loaded):
    """All findings of a spec, each spec judged once: the cured spec is the last one that the search tried."""
    key = json.dumps(loaded.data, sort_keys=True, default=str)
    if key not in SEEN:
        resolved = resolve(loaded.spec)
        SEEN[key] = judging.judge(assemble(resolved), resolved.spec).findings
    return SEEN[key]


def failing(findings):
    return {f.id for f in findings if f.verdict == "fails"}


@pytest.fixture(scope="session")
def prove(tmp_path_factory):
    """A function: the spec fails on (check, what); its cure, applied, makes it hold and breaks nothing else."""
    folder = tmp_path_factory.mktemp("specs")

    def run(kind, data):
        file = folder / ("-".join(kind).replace(" ", "-") + ".yaml")
        file.write_text(json.dumps(data, ensure_ascii=False), encoding="utf-8")
        loaded = read(file)
        before = judged(loaded)
        mine = [f for f in before if (f.check, f.what) == kind and f.verdict == "fails"]
        assert mine, f"the spec was to fail on {kind}, and fails on {failing(before)}"
        others = [replace(f, moves=()) for f in before if f.id != mine[0].id]
        cured = cures([mine[0], *others], lambda edits: judged(edited(loaded, edits)))[0]
        assert cured.cure.rechecked, cured.cure
        assert cured.cure.edits
        assert "{" not in cured.cure.text
        after = judged(edited(loaded, cured.cure.edits))
        assert cured.id not in failing(after)
        assert failing(after) <= failing(before)

    return run
