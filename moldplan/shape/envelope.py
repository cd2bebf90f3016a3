"""A builder's STEP file -> its bodies in millimetres, in the file's own axes.

In       the bytes of a file that begins and ends as ISO 10303-21 asks.
Out      a shape of the kernel; Unread, with what is allowed and why, where there is no body to be had.
Not here reading from the disk (spec/envelope_file.py), placing it in the boat (below.py).

The kernel dies, or never ends, over some broken files. It reads in a process of its own, therefore, whose end is only
bad news. It goes by the unit that the file names. Faces beside the solids stay: they are in a hatch's way as well.
"""

from __future__ import annotations

import hashlib
import io
import os
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from moldplan.shape.kept import Kept

if TYPE_CHECKING:
    import cadquery as cq

SECONDS = 120.0
WHOLE = "a whole STEP file (ISO 10303-21)"
SOLID = "a STEP file with a solid body in it"
LEAST = 1.0  # mm3, the room a body takes at least
READ: Kept[Any] = Kept(8)


class Unread(Exception):
    """No body can be had from a file: what is allowed, and why it is not that."""

    def __init__(self, allowed: str, why: str):
        self.allowed, self.why = allowed, why
        super().__init__(f"allowed {allowed}, because {why}")


def envelope(content: bytes) -> cq.Shape:
    """The bodies in a STEP file, as one shape [mm]. Raises Unread. A file is read once, whatever is asked of it."""
    return READ.of(hashlib.sha256(content).hexdigest(), lambda: _asked(content))


def _asked(content: bytes) -> cq.Shape:
    """What a process of its own made of the file."""
    import cadquery as cq
    from OCP.BinTools import BinTools
    from OCP.TopoDS import TopoDS_Shape

    home = str(Path(__file__).resolve().parents[2])
    paths = [home, *filter(None, [os.environ.get("PYTHONPATH")])]
    try:
        run = subprocess.run([sys.executable, "-m", "moldplan.shape.envelope"], input=content, capture_output=True,
                             timeout=SECONDS, env={**os.environ, "PYTHONPATH": os.pathsep.join(paths)}, check=False)
    except subprocess.TimeoutExpired:
        raise Unread("a simpler envelope", f"it is not read within {SECONDS:g} s") from None
    except OSError as trouble:
        raise Unread("a file that can be read", f"no process could be started ({trouble.strerror})") from None
    kind, rest = run.stdout[:1], run.stdout[1:]
    if kind == b"!":
        raise Unread(*rest.decode().split("\n", 1))
    if run.returncode != 0 or kind != b"=":
        raise Unread(WHOLE, "it is broken: the kernel gave up over it")
    shape = TopoDS_Shape()
    BinTools.Read_s(shape, io.BytesIO(rest))
    return cq.Shape.cast(shape)


def _read(content: bytes) -> bytes:
    """The bodies of a STEP file in the kernel's own binary form. Raises Unread; may kill the process, or never end."""
    from OCP.BinTools import BinTools
    from OCP.BRepGProp import BRepGProp
    from OCP.BRepLib import BRepLib
    from OCP.GProp import GProp_GProps
    from OCP.IFSelect import IFSelect_ReturnStatus
    from OCP.Message import Message
    from OCP.STEPControl import STEPControl_Reader
    from OCP.TopAbs import TopAbs_ShapeEnum as Kind
    from OCP.TopoDS import TopoDS

    Message.DefaultMessenger_s().ChangePrinters().Clear()  # it talks on standard output
    reader = STEPControl_Reader()
    if reader.ReadStream("envelope", io.BytesIO(content)) != IFSelect_ReturnStatus.IFSelect_RetDone:
        raise Unread(WHOLE, "it is broken: its lines are no STEP")
    reader.TransferRoots()
    if not reader.NbShapes():
        raise Unread(SOLID, "there is no shape in it")
    shape = reader.OneShape()
    solids = _parts(shape, Kind.TopAbs_SOLID)
    if not solids:
        raise Unread(SOLID, f"it holds {len(_parts(shape, Kind.TopAbs_FACE))} faces and no solid")
    for solid in solids:
        BRepLib.OrientClosedSolid_s(TopoDS.Solid_s(solid))
        room = GProp_GProps()
        BRepGProp.VolumeProperties_s(solid, room)
        if not room.Mass() >= LEAST:  # a NaN is no volume either
            raise Unread(SOLID, "a solid in it takes no room")
    made = io.BytesIO()
    BinTools.Write_s(shape, made)
    return made.getvalue()


def _parts(shape: Any, kind: Any) -> list[Any]:
    """Each solid, or face, of a shape once. The wrapper could, but takes a second more to load."""
    from OCP.TopExp import TopExp
    from OCP.TopTools import TopTools_IndexedMapOfShape

    found = TopTools_IndexedMapOfShape()
    TopExp.MapShapes_s(shape, kind, found)
    return [found.FindKey(k) for k in range(1, found.Extent() + 1)]


def main() -> None:
    """Standard input to standard output: `=` and the shape, or `!`, what is allowed and, on a new line, why."""
    answer = os.dup(1)
    os.dup2(2, 1)  # whatever the kernel says is no answer
    try:
        told = b"=" + _read(sys.stdin.buffer.read())
    except Unread as trouble:
        told = f"!{trouble.allowed}\n{trouble.why}".encode()
    with os.fdopen(answer, "wb") as out:
        out.write(told)


if __name__ == "__main__":
    main()
