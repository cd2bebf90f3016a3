"""Every spec in specs/ builds with exactly the exit code and the failing findings of expected.csv."""

import csv
import json
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
with (Path(__file__).parent / "expected.csv").open(newline="") as table:
    EXPECTED = {row["spec"]: (int(row["exit"]), sorted(row["failing"].split())) for row in csv.DictReader(table)}


def test_every_spec_is_expected():
    assert {path.name for path in (ROOT / "specs").glob("*.yaml")} == set(EXPECTED)


@pytest.fixture(scope="session")
def built(tmp_path_factory):
    """A function: a spec built by the command line, once; (exit, output folder, standard output)."""
    out, done = tmp_path_factory.mktemp("built"), {}

    def build(name):
        if name not in done:
            ran = subprocess.run([sys.executable, "-m", "moldplan", "build", f"specs/{name}", "--out", str(out),
                                  "--json"], cwd=ROOT, capture_output=True, text=True)
            done[name] = ran.returncode, out / name.removesuffix(".yaml"), ran.stdout, ran.stderr
        return done[name]

    return build


@pytest.mark.parametrize("name", sorted(EXPECTED))
def test_a_spec_builds_as_expected(built, name):
    """One test a spec: were it four, each of two workers would build it."""
    code, folder, out, err = built(name)
    assert code == EXPECTED[name][0], err
    plan = json.loads(out)
    assert sorted(f["id"] for f in plan["findings"] if f["verdict"] == "fails") == EXPECTED[name][1]
    assert plan == json.loads((folder / "plan.json").read_text(encoding="utf-8")) | {"files": plan["files"]}
    the_folder_holds_what_the_readme_lists(folder)
    every_body_is_valid_and_every_finding_complete(plan)
    every_piece_is_placed_as_often_as_it_is_needed(plan)
    if name == "first-cradle.yaml":
        the_readme_counts_what_came_out(plan)


def the_folder_holds_what_the_readme_lists(folder):
    files = {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()}
    listed = set(json.loads((folder / "plan.json").read_text(encoding="utf-8"))["files"])
    assert files == listed | {"plan.json"}
    wanted = {"report.html", "solids/assembly.step", "solids/assembly.glb", "sheets/overview.svg",
              "sheets/overview.png", "sheets/layout.json", "tables/cut-list.csv",
              "tables/materials.csv", "tables/findings.csv"}
    assert wanted <= files
    sheets = {f for f in files if f.endswith(".dxf")}
    assert sheets and {f.replace(".dxf", ".txt") for f in sheets} <= files


def the_readme_counts_what_came_out(plan):
    counts = Counter(f["verdict"] for f in plan["findings"])
    said = f"Of {len(plan['findings'])} findings: {counts['holds']} hold, {counts['not judged']} not judged."
    assert said in (ROOT / "README.md").read_text(encoding="utf-8")


def every_body_is_valid_and_every_finding_complete(plan):
    assert all(body["valid"] and body["volume"] > 0 for body in plan["bodies"])
    for finding in plan["findings"]:
        assert finding["source"]["document"], finding["id"]
        if finding["verdict"] == "not judged":
            assert finding["not_judged"], finding["id"]
        else:
            assert None not in (finding["measured"], finding["limit"], finding["margin"]), finding["id"]
    ids = [finding["id"] for finding in plan["findings"]]
    assert len(ids) == len(set(ids))


def every_piece_is_placed_as_often_as_it_is_needed(plan):
    for piece in plan["pieces"]:
        assert len(piece["placed"]) == piece["quantity"], piece["id"]


def test_the_cure_told_of_the_gas_lockers_drain_cures_all_that_failed(built):
    """The edits as they are printed, applied to the spec, and the whole chain again: nothing fails."""
    from moldplan import plan as chain
    from moldplan.finding import Edit
    from moldplan.spec.load import read

    failing = [f for f in json.loads(built("gas-locker-drain.yaml")[2])["findings"] if f["verdict"] == "fails"]
    told = {json.dumps(f["cure"]["set"]) for f in failing}
    assert len(told) == 1, "one set of moves cures them all"
    fields = {one["field"]: one["to"] for one in failing[0]["cure"]["set"]}
    assert {"lockers.gas locker.drain.outlet", "lockers.gas locker.box.from.2"} <= set(fields), "outlet and floor"
    edits = [Edit(tuple(int(s) if s.isdigit() else s for s in name.split(".")), to) for name, to in fields.items()]
    after = chain.evaluate(read(ROOT / "specs" / "gas-locker-drain.yaml"), edits)
    assert [f.id for f in after if f.verdict == "fails"] == []
