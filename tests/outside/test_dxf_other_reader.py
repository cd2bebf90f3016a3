"""Every sheet of every spec, read by a DXF reader that shares no code with the writer (dxf-parser 1.1.2, in node).

Held entity by entity against what ezdxf reads from the same file, and against plan.json. Meanings of the group codes:
the DXF reference for LWPOLYLINE (bulge = tan of a quarter of the arc's angle; flag 1 = closed), CIRCLE, and
$INSUNITS (4 = millimetres), as remembered.
"""

import json
import math
import re
import subprocess
from pathlib import Path

import ezdxf
import pytest

HERE = Path(__file__).parent
LAYERS = re.compile(r"sheet-edge|cut-piece|cut-opening|sink-\d+(\.\d+)?mm|bore-\d+(\.\d+)?mm|kerf-\d+(\.\d+)?mm|"
                    r"mark-line|mark-text|far-face")
OUTLINES = re.compile(r"sheet-edge|cut-.*|sink-.*|bore-.*|far-face")


@pytest.fixture(scope="session")
def sheets(built):
    """{(spec, file name): what dxf-parser found}; one run of node for all files."""
    files = {str(path): (name, path.name) for name, folder in built.items()
             for path in sorted((folder / "sheets").glob("*.dxf"))}
    assert {name for name, _ in files.values()} == set(built), "a spec gave no sheet"
    done = subprocess.run(["node", "read_dxf.js", *files], cwd=HERE, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    return {files[path]: (Path(path), found) for path, found in json.loads(done.stdout).items()}


def each(sheets):
    for (name, file), (path, found) in sheets.items():
        for place, entity in enumerate(found["entities"]):
            yield f"{name}/{file} entity {place}", path, entity


def area(entity):
    """Area of a closed outline of lines and arcs [mm2], positive whichever way it runs."""
    if entity["type"] == "CIRCLE":
        return math.pi * entity["radius"] ** 2
    total, ring = 0.0, entity["vertices"]
    for (x, y, bulge), (to_x, to_y, _) in zip(ring, ring[1:] + ring[:1], strict=True):
        total += (x * to_y - to_x * y) / 2
        if bulge:
            sweep, chord = 4 * math.atan(bulge), math.hypot(to_x - x, to_y - y)
            radius = chord / 2 / math.sin(abs(sweep) / 2)
            total += math.copysign(radius**2 * (abs(sweep) - math.sin(abs(sweep))) / 2, bulge)
    return abs(total)


def test_both_readers_find_the_same_entities(sheets):
    for (name, file), (path, found) in sheets.items():
        here = f"{name}/{file}"
        ours = list(ezdxf.readfile(path).modelspace())
        theirs = found["entities"]
        assert [e.dxftype() for e in ours] == [e["type"] for e in theirs], here
        assert [e.dxf.layer for e in ours] == [e["layer"] for e in theirs], here
        for one, other in zip(ours, theirs, strict=True):
            if one.dxftype() == "LWPOLYLINE":
                points = [tuple(p) for p in one.get_points("xyb")]
                assert one.closed == other["closed"], here
                assert len(points) == len(other["vertices"]), here
                for mine, its in zip(points, other["vertices"], strict=True):
                    assert its == pytest.approx(mine, abs=1e-9), here
            elif one.dxftype() == "CIRCLE":
                assert other["centre"] == pytest.approx([one.dxf.center.x, one.dxf.center.y], abs=1e-9), here
                assert other["radius"] == pytest.approx(one.dxf.radius, abs=1e-9), here


def test_the_other_reader_sees_millimetres(sheets):
    assert {found["units"] for _, found in sheets.values()} == {4}


def test_it_sees_only_lines_arcs_and_circles_on_the_layers_promised(sheets):
    for where, _, entity in each(sheets):
        assert entity["type"] in {"LWPOLYLINE", "CIRCLE", "LINE", "ARC"}, where
        assert LAYERS.fullmatch(entity["layer"]), f"{where}: layer {entity['layer']}"
        assert not entity["paper"], where
        assert entity["text"] is None, where


def test_every_outline_is_closed_and_no_full_circle_is_a_polyline(sheets):
    for where, _, entity in each(sheets):
        if OUTLINES.fullmatch(entity["layer"]):
            assert entity["type"] == "CIRCLE" or entity["closed"], where
            assert area(entity) > 1, where
        if entity["type"] == "LWPOLYLINE" and entity["closed"]:
            arcs = [4 * math.atan(bulge) for _, _, bulge in entity["vertices"]]
            assert len(entity["vertices"]) > 2 or abs(sum(arcs)) < 2 * math.pi - 1e-6, f"{where}: a circle in arcs"


def test_every_sheet_has_its_corner_at_the_origin_and_its_pieces_inside(sheets, built):
    for (name, file), (_, found) in sheets.items():
        plan = json.loads((built[name] / "plan.json").read_text(encoding="utf-8"))
        (sheet,) = [s for s in plan["sheets"] if Path(s["file"]).name == file]
        length, width = sheet["size"]
        (edge,) = [e for e in found["entities"] if e["layer"] == "sheet-edge"]
        xs, ys = zip(*((x, y) for x, y, _ in edge["vertices"]), strict=True)
        assert (min(xs), min(ys), max(xs), max(ys)) == pytest.approx((0, 0, length, width), abs=1e-6)
        for entity in found["entities"]:
            centre, reach = entity["centre"], entity["radius"] or 0
            points = [(x, y) for x, y, _ in entity["vertices"]] or [centre]
            for x, y in points:
                assert x - reach >= -1e-6 and x + reach <= length + 1e-6, f"{name}/{file}"
                assert y - reach >= -1e-6 and y + reach <= width + 1e-6, f"{name}/{file}"


def test_what_is_cut_is_what_the_plan_lists(sheets, built):
    """As many pieces as placed, and the area of the cuts is that of the pieces as designed, before corner reliefs.

    No piece of the specs has an inside corner tighter than the cutter, so nothing is taken off for reliefs.
    """
    for name, folder in built.items():
        plan = json.loads((folder / "plan.json").read_text(encoding="utf-8"))
        cuts = [e for (spec, _), (_, found) in sheets.items() if spec == name for e in found["entities"]]
        pieces = [e for e in cuts if e["layer"] == "cut-piece"]
        openings = [e for e in cuts if e["layer"] == "cut-opening"]
        assert len(pieces) == sum(len(piece["placed"]) for piece in plan["pieces"]), name
        cut = sum(map(area, pieces)) - sum(map(area, openings))
        designed = sum(piece["area"] * len(piece["placed"]) for piece in plan["pieces"])
        assert cut == pytest.approx(designed, rel=1e-6), name
