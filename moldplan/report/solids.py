"""The bodies as files for other programs: STEP in millimetres, GLB in metres.

In       a finished plan, a folder.
Out      solids/assembly.step, solids/<body>.step for each body, solids/assembly.glb.
Not here meshing (nets.py).

glTF counts in metres with y up and z forward: boat (x, y, z) becomes (y, z, x) / 1000. The kernel stamps its STEP
files with the time of day: a fixed date is put in. What may still differ between two runs is the order of the colours.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from moldplan.errors import GeometryError, OutputError
from moldplan.report.looks import look_of
from moldplan.report.nets import Nets
from moldplan.report.subject import Plan

if TYPE_CHECKING:
    from moldplan.shape.body import Body

STAMP = re.compile(rb"(FILE_NAME\(\s*'[^']*'\s*,\s*)'[^']*'")
DATE = rb"\1'2000-01-01T00:00:00'"
USE = re.compile(rb"NEXT_ASSEMBLY_USAGE_OCCURRENCE\('\d+'")  # numbered on and on through one run of the kernel


def write(plan: Plan, folder: Path, nets: Nets | None = None) -> None:
    """All solids of a plan into `folder`/solids; `nets`: triangles to share. Raises GeometryError when the kernel
    refuses to write."""
    place = folder / "solids"
    place.mkdir(parents=True, exist_ok=True)
    bodies = list(plan.assembly.bodies.values())
    names = file_names(body.name for body in bodies)
    for body in bodies:
        write_step([body], place / f"{names[body.name]}.step")
    write_step(bodies, place / "assembly.step")
    (place / "assembly.glb").write_bytes(glb(bodies, nets))


def file_names(names: Iterable[str]) -> dict[str, str]:
    """A file name for each body: lower case letters, digits, dots, hyphens; no two alike, none called assembly."""
    taken, found = {"assembly"}, {}
    for name in names:
        plain = re.sub(r"[^a-z0-9.]+", "-", name.lower()).strip("-.") or "body"
        unique, count = plain, 2
        while unique in taken:
            unique, count = f"{plain}-{count}", count + 1
        taken.add(unique)
        found[name] = unique
    return found


def write_step(bodies: Iterable[Body], path: Path) -> None:
    """Bodies by name and colour into one STEP file (AP214, mm). Raises OutputError when it comes out cut short."""
    import cadquery as cq

    bodies = list(bodies)
    alike = any(body.name == path.stem for body in bodies)  # the kernel's assembly wants a name of its own
    whole = cq.Assembly(name=f"{path.stem} file" if alike else path.stem)
    for body in bodies:
        look = look_of(body.kind)
        red, green, blue = (c / 255 for c in look.colour)
        whole.add(body.solid, name=body.name.replace("/", "-"), color=cq.Color(red, green, blue, 1.0))
    whole.export(str(path), exportType="STEP")
    text = path.read_bytes()
    if not text.rstrip().endswith(b"END-ISO-10303-21;"):  # the kernel does not say when the disk is full
        raise OutputError(f"{path.name}: was not written to its end; is the disk full?")
    if b"SI_UNIT(.MILLI.,.METRE.)" not in text:
        raise GeometryError(f"{path.name}: the kernel wrote no millimetres")
    count = itertools.count(1)
    text = USE.sub(lambda _: b"NEXT_ASSEMBLY_USAGE_OCCURRENCE('%d'" % next(count), text)
    path.write_bytes(STAMP.sub(DATE, text, count=1))


def glb(bodies: Iterable[Body], nets: Nets | None = None) -> bytes:
    """One binary glTF, a named node a body, in metres, y up."""
    import numpy as np
    import trimesh
    from trimesh.visual.material import PBRMaterial

    nets = nets or Nets()
    scene = trimesh.Scene()
    for body in bodies:
        vertices, triangles, _ = nets.of(body)
        look = look_of(body.kind)
        material = PBRMaterial(
            name=body.kind, baseColorFactor=[*look.colour, round(255 * look.alpha)], metallicFactor=0.0,
            roughnessFactor=0.9, alphaMode="BLEND" if look.alpha < 1 else "OPAQUE",
        )  # fmt: skip
        turned = np.ascontiguousarray(vertices[:, [1, 2, 0]]) / 1000.0
        net = trimesh.Trimesh(turned, triangles, process=False)
        net.visual = trimesh.visual.TextureVisuals(material=material)
        scene.add_geometry(net, node_name=body.name, geom_name=body.name)
    made = scene.export(file_type="glb", include_normals=True)
    return bytes(made)
