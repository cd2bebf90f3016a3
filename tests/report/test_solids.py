"""Solids read back: STEP by the kernel's reader and as text, GLB by trimesh.

STEP states its unit in the text (ISO 10303-41: SI_UNIT(.MILLI.,.METRE.)). glTF 2.0 counts in metres, y up, z forward
(Khronos specification, coordinate system and units).
"""

import io
import math
import re

import pytest

from moldplan.errors import OutputError
from moldplan.report import solids
from moldplan.shape.body import Body, block


@pytest.fixture(scope="module")
def written(seat, tmp_path_factory):
    folder = tmp_path_factory.mktemp("out")
    solids.write(seat, folder)
    return folder / "solids"


def test_every_body_has_a_file_of_its_own_with_the_same_volume(seat, written):
    import cadquery as cq

    names = solids.file_names(seat.assembly.bodies)
    assert sorted(p.stem for p in written.glob("*.step")) == sorted([*names.values(), "assembly"])
    for name in ("seat block core", "seat block skin", "seat block.galley cylinder"):
        back = cq.importers.importStep(str(written / f"{names[name]}.step")).vals()
        assert sum(s.Volume() for s in back) == pytest.approx(seat.assembly.body(name).solid.Volume(), rel=1e-6)


def test_the_assembly_holds_all_bodies_by_name_in_millimetres(seat, written):
    import cadquery as cq

    text = (written / "assembly.step").read_text()
    assert "SI_UNIT(.MILLI.,.METRE.)" in text
    products = set(re.findall(r"PRODUCT\('([^']*)'", text.replace("\n", "")))
    assert set(seat.assembly.bodies) <= products
    back = cq.importers.importStep(str(written / "assembly.step")).vals()
    whole = sum(s.Volume() for s in back)
    assert whole == pytest.approx(sum(b.solid.Volume() for b in seat.assembly.bodies.values()), rel=1e-6)


def test_no_step_file_carries_the_time_of_day(written):
    for path in written.glob("*.step"):
        head = path.read_text().replace("\n", "")
        assert re.search(r"FILE_NAME\('[^']*','([^']*)'", head).group(1) == "2000-01-01T00:00:00"


def test_glb_is_in_metres_with_y_up_and_z_forward():
    import trimesh

    bar = Body(name="bar", kind="core", shaped=block(2000.0, 300.0, 50.0), part="p", path=())
    scene = trimesh.load(io.BytesIO(solids.glb([bar])), file_type="glb")
    assert scene.extents == pytest.approx([0.3, 0.05, 2.0], abs=1e-6)  # port, up, forward
    assert scene.bounds[1] == pytest.approx([0.3, 0.05, 2.0], abs=1e-6)
    assert set(scene.graph.nodes_geometry) == {"bar"}


def test_glb_meshes_close_and_hold_the_volume(seat, written):
    import trimesh

    scene = trimesh.load(written / "assembly.glb")
    assert set(scene.graph.nodes_geometry) == set(seat.assembly.bodies)
    for name in ("seat block core", "seat block.galley cylinder", "seat block.galley insert 1"):
        net = scene.geometry[scene.graph[name][1]]
        net.merge_vertices(merge_tex=True, merge_norm=True)
        assert net.is_watertight
        assert net.volume * 1e9 == pytest.approx(seat.assembly.body(name).solid.Volume(), rel=5e-3)


def test_a_ball_in_the_mesh_is_nearly_a_ball():
    import cadquery as cq
    import trimesh

    from moldplan.shape.body import Shaped

    ball = Body(name="ball", kind="core", shaped=Shaped(cq.Solid.makeSphere(100, angleDegrees1=-90)), part="p", path=())
    net = trimesh.load(io.BytesIO(solids.glb([ball])), file_type="glb", force="mesh")
    net.merge_vertices(merge_tex=True, merge_norm=True)
    # a chord 0.2 mm off a radius of 100: the mesh keeps all but some 0.5 % of the ball
    assert net.volume == pytest.approx(4 / 3 * math.pi * 0.1**3, rel=8e-3)


def test_file_names_never_collide():
    names = ["Seat Block", "seat block", "seat/block", "assembly", "../x", "Ø"]
    found = solids.file_names(names)
    assert len(set(found.values())) == len(names)
    assert "assembly" not in found.values()
    assert all(re.fullmatch(r"[a-z0-9][a-z0-9.-]*", name) for name in found.values())


def test_a_step_file_that_was_cut_short_is_no_step_file(tmp_path, monkeypatch):
    """The kernel does not say that the disk is full. ISO 10303-21: a file ends with END-ISO-10303-21;"""
    import cadquery as cq

    whole = cq.Assembly.export

    def cut_short(self, path, **options):
        whole(self, path, **options)
        with open(path, "r+b") as stream:
            stream.truncate(stream.seek(0, 2) - 40)

    monkeypatch.setattr(cq.Assembly, "export", cut_short)
    one = Body(name="one", kind="part", shaped=block(10, 20, 30), part="one", path=())
    with pytest.raises(OutputError, match="not written to its end"):
        solids.write_step([one], tmp_path / "one.step")
