"""Every sheet of every spec, read by two DXF readers that share no code with the writer: dxf-parser 1.1.2 in node,
entity by entity against what ezdxf reads from the same file, and GDAL through pyogrio; and both against plan.json.

One more plan has part-used sheets with spoilt places, one of them no rectangle, and a cutter wider than a dowel.
Which layers there are and what stands on them is the table in cut/layers.py: a layer that is not in it fails here.
GDAL turns arcs into chords. Meanings of the group codes: the DXF reference for LWPOLYLINE (bulge = tan of a quarter
of the arc's angle; flag 1 = closed), CIRCLE, and $INSUNITS (4 = millimetres), as remembered.
"""

import json
import math
import subprocess
import sys
from collections import defaultdict
from pathlib import Path

import ezdxf
import pyogrio
import pytest
import shapely

from moldplan.cut.layers import outlined

HERE = Path(__file__).parent
RACK = """\
moldplan: 1
title: From the rack
cylinders: {galley: {diameter: 267, height: 430, knuckle_radius: 25}}
stock:
  foam:
    kind: pvc foam
    thickness: 20
    size: [2440, 1220]
    on_hand:
      - outline: [[0, 0], [900, 0], [900, 450], [500, 900], [0, 900]]
        defects: [{at: [700, 120], diameter: 60}]
      - {size: [900, 500], defects: [{from: [0, 480], to: [80, 500]}]}
cutter: {diameter: 10, spacing: 14}
cradles:
  seat block: {block: [400, 400, 80], stock: foam, seats: {galley: {depth: 36, clearance_per_side: 4, insert: board}}}
"""


@pytest.fixture(scope="session")
def plans(built, tmp_path_factory):
    """{spec: output folder} of every spec and of the one from the rack."""
    place = tmp_path_factory.mktemp("rack")
    (place / "rack.yaml").write_text(RACK, encoding="utf-8")
    done = subprocess.run([sys.executable, "-m", "moldplan", "build", str(place / "rack.yaml"), "--out", str(place)],
                          cwd=HERE.parents[1], capture_output=True, text=True)
    assert done.returncode in (0, 1), done.stderr
    return built | {"rack": place / "rack"}


@pytest.fixture(scope="session")
def sheets(plans):
    """{(spec, file name): what dxf-parser found}; one run of node for all files."""
    files = {str(path): (name, path.name) for name, folder in plans.items()
             for path in sorted((folder / "sheets").glob("*.dxf"))}
    assert {name for name, _ in files.values()} == set(plans), "a spec gave no sheet"
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
        outlined(entity["layer"])  # raises for a layer that is not in the table
        assert not entity["paper"], where
        assert entity["text"] is None, where


def test_every_outline_is_closed_and_no_full_circle_is_a_polyline(sheets):
    for where, _, entity in each(sheets):
        if outlined(entity["layer"]):
            assert entity["type"] == "CIRCLE" or entity["closed"], where
            assert area(entity) > 1, where
        if entity["type"] == "LWPOLYLINE" and entity["closed"]:
            arcs = [4 * math.atan(bulge) for _, _, bulge in entity["vertices"]]
            assert len(entity["vertices"]) > 2 or abs(sum(arcs)) < 2 * math.pi - 1e-6, f"{where}: a circle in arcs"


def test_every_sheet_has_its_corner_at_the_origin_and_its_pieces_inside(sheets, plans):
    for (name, file), (_, found) in sheets.items():
        plan = json.loads((plans[name] / "plan.json").read_text(encoding="utf-8"))
        (sheet,) = [s for s in plan["sheets"] if file in {s["file"], *(stage["file"] for stage in s["stages"])}]
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


def length(entity):
    """Length of an outline or a line of lines and arcs [mm]."""
    if entity["type"] == "CIRCLE":
        return 2 * math.pi * entity["radius"]
    total, ring = 0.0, entity["vertices"]
    ends = ring[1:] + (ring[:1] if entity["closed"] else [])
    for (x, y, bulge), (to_x, to_y, _) in zip(ring, ends, strict=False):
        chord, sweep = math.hypot(to_x - x, to_y - y), 4 * math.atan(abs(bulge))
        total += chord / 2 / math.sin(sweep / 2) * sweep if bulge else chord
    return total


STEP = math.radians(0.1)  # GDAL's longest chord


def strays(entity):
    """How much area and length of an entity is lost to chords at most: R2/2 (a - sin a) and R (a - 2 sin a/2) each."""
    if entity["type"] == "CIRCLE":
        arcs = [(entity["radius"], 2 * math.pi)]
    else:
        ring = entity["vertices"]
        arcs = [(math.hypot(bx - ax, by - ay) / 2 / math.sin(2 * math.atan(abs(bulge))), 4 * math.atan(abs(bulge)))
                for (ax, ay, bulge), (bx, by, _) in zip(ring, ring[1:] + ring[:1], strict=True) if bulge]
    return (sum(r * r * sweep * STEP**2 / 12 for r, sweep in arcs), sum(r * sweep * STEP**2 / 24 for r, sweep in arcs))


def by_gdal(path):
    """{layer: [count, area, length]} as GDAL reads a file."""
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": "0.1", "DXF_ENCODING": "UTF-8"})
    _, _, shapes, (layers,) = pyogrio.raw.read(path, columns=["Layer"])
    found = defaultdict(lambda: [0, 0.0, 0.0])
    for layer, shape in zip(layers, shapely.from_wkb(shapes), strict=True):
        row = found[layer]
        row[0] += 1
        row[1] += shapely.Polygon(shape).area if outlined(layer) else 0.0
        row[2] += shape.length
    return found


def test_three_readers_agree_on_count_area_and_length_of_every_layer_of_every_sheet(sheets):
    layers = set()
    for (name, file), (path, found) in sheets.items():
        rows = defaultdict(lambda: [0, 0.0, 0.0, 0.0, 0.0])
        for entity in found["entities"]:
            closed = outlined(entity["layer"])
            lost = strays(entity)
            more = (1, area(entity) if closed else 0.0, length(entity), *lost)
            rows[entity["layer"]] = [a + b for a, b in zip(rows[entity["layer"]], more, strict=True)]
        theirs = by_gdal(path)
        assert set(theirs) == set(rows), f"{name}/{file}"
        for layer, (count, covered, long, of_area, of_length) in rows.items():
            assert theirs[layer][0] == count, f"{name}/{file} {layer}"
            assert theirs[layer][1] == pytest.approx(covered, rel=1e-9, abs=of_area + 1e-6), f"{name}/{file} {layer}"
            assert theirs[layer][2] == pytest.approx(long, rel=1e-9, abs=of_length + 1e-6), f"{name}/{file} {layer}"
        layers |= set(rows)
    assert {"sheet-edge", "sheet-defect", "cut-piece", "cut-opening", "mark-line", "mark-text", "far-face",
            "bridge-2.0mm", "true-outline", "drill-8.0mm"} <= layers


def test_part_used_sheets_keep_their_outline_and_their_spoilt_places(sheets):
    """From the spec above: the first without its corner, 900 x 900 less 400 x 450 / 2; a circle of 60; 80 x 20."""
    racked = [found["entities"] for (name, _), (_, found) in sheets.items() if name == "rack"]
    edges = {round(area(e)) for entities in racked for e in entities if e["layer"] == "sheet-edge"}
    spoilt = {round(area(e), 3) for entities in racked for e in entities if e["layer"] == "sheet-defect"}
    assert {900 * 900 - 400 * 450 // 2, 900 * 500} <= edges
    assert spoilt == {round(math.pi * 30**2, 3), 80 * 20}


def held(inner, outer):
    """Whether one outline's box lies within 30 mm of another's, inside it on all four sides."""
    (xs, ys), (us, vs) = (zip(*((x, y) for x, y, _ in e["vertices"]), strict=True) if e["vertices"] else
                          ([e["centre"][0]], [e["centre"][1]]) for e in (inner, outer))
    inside = (min(xs) - min(us), min(ys) - min(vs), max(us) - max(xs), max(vs) - max(ys))
    return all(0 < gap < 30 for gap in inside)


def test_what_is_cut_is_what_the_plan_lists(sheets, plans):
    """As many pieces as placed, and the area and length of the cuts are those of the pieces as designed, before corner
    reliefs.

    No piece of the specs has an inside corner tighter than the cutter, so nothing is taken off for reliefs.
    """
    for name, folder in plans.items():
        plan = json.loads((folder / "plan.json").read_text(encoding="utf-8"))
        cuts = [e for (spec, _), (_, found) in sheets.items() if spec == name for e in found["entities"]]
        pieces = [e for e in cuts if e["layer"] == "cut-piece"]
        openings = [e for e in cuts if e["layer"] == "cut-opening" or (  # drilled through is open too
            e["layer"].startswith("drill-") and "-deep-" not in e["layer"])]
        assert len(pieces) == sum(len(piece["placed"]) for piece in plan["pieces"]), name
        true = [e for e in cuts if e["layer"] == "true-outline"]  # a piece that is cut rough lies round its true line
        pieces = [e for e in pieces if not any(held(t, e) for t in true)] + true
        cut = sum(map(area, pieces)) - sum(map(area, openings))
        designed = sum(piece["area"] * len(piece["placed"]) for piece in plan["pieces"])
        assert cut == pytest.approx(designed, rel=1e-6), name
        designed = sum(piece["outline_length"] * len(piece["placed"]) for piece in plan["pieces"])
        assert sum(map(length, (*pieces, *openings))) == pytest.approx(designed, rel=1e-6), name
