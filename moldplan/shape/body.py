"""Bodies whose faces keep their names through every boolean.

In       primitives made here with named faces (block, revolved, extruded), and other bodies as tools.
Out      Shaped: a solid with roles (role name -> faces); Body: a Shaped with its place in the plan.
Not here deciding any size (the shapers beside this file), flattening (cut/), meshing (mesh.py).

A role is asked for by name long after the booleans: "galley wall" must still be the wall of that seat. The kernel's
builders know which faces they changed (Modified), made (Generated) and dropped (IsDeleted); a face that no operation
touched is in none of these lists and simply stays. All faces handed out are those of the result itself, so that their
orientation (the outward normal) is right.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from moldplan.errors import GeometryError, Path

if TYPE_CHECKING:
    import cadquery as cq

Vector = tuple[float, float, float]
DIRECTIONS: dict[str, Vector] = {
    "forward": (1.0, 0.0, 0.0), "aft": (-1.0, 0.0, 0.0), "port": (0.0, 1.0, 0.0), "starboard": (0.0, -1.0, 0.0)}
Roles = Mapping[str, tuple["cq.Face", ...]]


@dataclass(frozen=True)
class Frame:
    """A part's own axes in boat axes: origin [mm], unit x and unit z; y = z cross x."""

    origin: Vector = (0.0, 0.0, 0.0)
    x: Vector = (1.0, 0.0, 0.0)
    z: Vector = (0.0, 0.0, 1.0)

    @property
    def location(self) -> cq.Location:
        import cadquery as cq

        return cq.Location(cq.Plane(self.origin, self.x, self.z))

    @property
    def y(self) -> Vector:
        (ax, ay, az), (bx, by, bz) = self.z, self.x
        return (ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx)

    def place(self, point: Vector) -> Vector:
        """A point given in this frame, in boat axes [mm]."""
        px, py, pz = point
        return tuple(
            o + px * x + py * y + pz * z for o, x, y, z in zip(self.origin, self.x, self.y, self.z, strict=True)
        )  # type: ignore[return-value]

    def turn(self, direction: Vector) -> Vector:
        """A direction given in this frame, in boat axes."""
        return Frame((0.0, 0.0, 0.0), self.x, self.z).place(direction)

    def inside(self, inner: Frame) -> Frame:
        """The frame `inner`, given in this frame, in boat axes."""
        return Frame(self.place(inner.origin), self.turn(inner.x), self.turn(inner.z))


@dataclass(frozen=True)
class Shaped:
    """A solid (or a compound of solids) with named faces. Immutable: every operation returns a new one."""

    solid: cq.Shape
    roles: Roles = field(default_factory=dict)

    def faces(self, role: str) -> tuple[cq.Face, ...]:
        """Faces of a role; raises GeometryError naming the roles there are."""
        if not self.roles.get(role):
            raise GeometryError(f"no face has the role {role!r}; there are {', '.join(sorted(self.roles))}")
        return self.roles[role]

    def prefixed(self, prefix: str) -> Shaped:
        """The same with every role name led by `prefix` and a space."""
        return Shaped(self.solid, {f"{prefix} {name}": faces for name, faces in self.roles.items()})

    def renamed(self, names: Mapping[str, str]) -> Shaped:
        """The same with roles under new names; a role that is not in `names`, or maps to "", is dropped."""
        return Shaped(self.solid, {names[n]: faces for n, faces in self.roles.items() if names.get(n)})

    def cut(self, *tools: Shaped) -> Shaped:
        """This less the tools, in one operation; faces the tools leave carry the tools' roles."""
        from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut

        return self._boolean(BRepAlgoAPI_Cut(), tools)

    def fuse(self, *tools: Shaped) -> Shaped:
        """This and the tools as one."""
        from OCP.BRepAlgoAPI import BRepAlgoAPI_Fuse

        return self._boolean(BRepAlgoAPI_Fuse(), tools)

    def common(self, *tools: Shaped) -> Shaped:
        """What this and the tools share."""
        from OCP.BRepAlgoAPI import BRepAlgoAPI_Common

        return self._boolean(BRepAlgoAPI_Common(), tools)

    def _boolean(self, builder: Any, tools: Sequence[Shaped]) -> Shaped:
        from OCP.TopTools import TopTools_ListOfShape

        if not tools:
            return self
        arguments, knives = TopTools_ListOfShape(), TopTools_ListOfShape()
        arguments.Append(self.solid.wrapped)
        for tool in tools:
            knives.Append(tool.solid.wrapped)
        builder.SetArguments(arguments)
        builder.SetTools(knives)
        builder.SetNonDestructive(True)
        builder.Build()
        if not builder.IsDone() or builder.Shape().IsNull():
            raise GeometryError("the kernel refused a boolean")
        return _followed(builder, builder.Shape(), [self.roles, *(tool.roles for tool in tools)])

    def rounded(self, edges: Iterable[cq.Edge], radius: float, role: str) -> Shaped:
        """Edges rounded to `radius` [mm]; the new faces get `role`. Raises GeometryError when the kernel cannot."""
        from OCP.BRepFilletAPI import BRepFilletAPI_MakeFillet

        builder = BRepFilletAPI_MakeFillet(self.solid.wrapped)
        chosen = list(edges)
        for edge in chosen:
            builder.Add(radius, edge.wrapped)
        try:
            builder.Build()
        except Exception as trouble:  # the kernel's own exception types are not public
            raise GeometryError(f"the kernel cannot round {role} to {radius:g} mm") from trouble
        if not builder.IsDone():
            raise GeometryError(f"the kernel cannot round {role} to {radius:g} mm")
        return _followed(builder, builder.Shape(), [self.roles], made={role: [e.wrapped for e in chosen]})

    def moved(self, frame: Frame) -> Shaped:
        """Carried from the frame's own axes to boat axes."""
        place = frame.location
        return Shaped(self.solid.moved(place), {n: tuple(f.moved(place) for f in fs) for n, fs in self.roles.items()})

    def mirrored(self) -> Shaped:
        """The mirror image about the centreline plane, y = 0."""
        from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
        from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt, gp_Trsf

        turn = gp_Trsf()
        turn.SetMirror(gp_Ax2(gp_Pnt(0, 0, 0), gp_Dir(0, 1, 0)))
        builder = BRepBuilderAPI_Transform(self.solid.wrapped, turn, True)
        return _followed(builder, builder.Shape(), [self.roles])


def _followed(builder: Any, shape: Any, sources: Iterable[Roles],
              made: Mapping[str, list[Any]] | None = None) -> Shaped:
    """The builder's result with all roles of the sources carried over."""
    import cadquery as cq

    result = cq.Shape.cast(shape)
    if isinstance(result, cq.Compound):
        solids = result.Solids()
        if len(solids) == 1:
            result = solids[0]
    own = _by_identity(result)
    roles: dict[str, tuple[cq.Face, ...]] = {}

    def carry(name: str, images: Iterable[Any]) -> None:
        kept = tuple(own[key] for key in map(cq.Shape, images) if key in own)
        fresh = tuple(f for f in kept if f not in roles.get(name, ()))
        if fresh:
            roles[name] = roles.get(name, ()) + fresh

    for source in sources:
        for name, faces in source.items():
            for face in faces:
                carry(name, _images(builder, face.wrapped))
    for name, shapes in (made or {}).items():
        for one in shapes:
            carry(name, builder.Generated(one))
    return Shaped(result, roles)


def _by_identity(solid: cq.Shape) -> dict[cq.Shape, cq.Face]:
    """The solid's own faces, found by any face that is the same but for its orientation."""
    return {face: face for face in solid.Faces()}


def split_level(whole: Shaped, levels: Sequence[float]) -> list[Shaped | None]:
    """A body cut at level planes into what lies below the first, between each two, and above the last.

    Roles follow; a cut leaves the roles upper face and lower face, which are also given to the body's own level top
    and underside. None where nothing of the body lies.
    """
    import cadquery as cq
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Splitter
    from OCP.TopTools import TopTools_ListOfShape

    box = loose_box(whole.solid)
    middle = ((box[0] + box[3]) / 2, (box[1] + box[4]) / 2)
    size = 2 * max(box[3] - box[0], box[4] - box[1]) + 20
    planes = [cq.Face.makePlane(size, size, cq.Vector(*middle, level), cq.Vector(0, 0, 1)) for level in levels]
    made = whole
    if planes:
        builder, arguments, knives = BRepAlgoAPI_Splitter(), TopTools_ListOfShape(), TopTools_ListOfShape()
        arguments.Append(whole.solid.wrapped)
        for plane in planes:
            knives.Append(plane.wrapped)
        builder.SetArguments(arguments)
        builder.SetTools(knives)
        builder.Build()
        if not builder.IsDone() or builder.Shape().IsNull():
            raise GeometryError("the kernel refused to cut a body into sheets")
        made = _followed(builder, builder.Shape(), [whole.roles])
    found: list[list[cq.Solid]] = [[] for _ in range(len(levels) + 1)]
    for solid in made.solid.Solids():
        middle_z = sum(levels_of(solid)) / 2
        found[sum(middle_z > level for level in levels)].append(solid)
    return [_part_of(made, own) for own in found]


def _part_of(made: Shaped, own: Sequence[cq.Solid]) -> Shaped | None:
    """Some solids of a split body by themselves, with their share of its roles and their level ends."""
    import cadquery as cq

    if not own:
        return None
    solid: cq.Shape = own[0] if len(own) == 1 else cq.Compound.makeCompound(own)
    faces = _by_identity(solid)
    roles = {name: tuple(faces[f] for f in those if f in faces) for name, those in made.roles.items()}
    level = [f for f in faces.values() if f.geomType() == "PLANE" and abs(f.normalAt().z) > 1 - 1e-9]
    high = max((f.Center().z for f in level), default=0.0)
    low = min((f.Center().z for f in level), default=0.0)
    roles["upper face"] = tuple(f for f in level if f.normalAt().z > 0 and abs(f.Center().z - high) < 1e-6)
    roles["lower face"] = tuple(f for f in level if f.normalAt().z < 0 and abs(f.Center().z - low) < 1e-6)
    return Shaped(solid, {name: those for name, those in roles.items() if those})


def loose_box(solid: cq.Shape) -> tuple[float, float, float, float, float, float]:
    """A box that holds a solid (x, y, z low, then high), found fast; it may be a little large [mm]."""
    from OCP.Bnd import Bnd_Box
    from OCP.BRepBndLib import BRepBndLib

    box = Bnd_Box()
    BRepBndLib.Add_s(solid.wrapped, box, False)
    low, high = box.CornerMin(), box.CornerMax()
    return low.X(), low.Y(), low.Z(), high.X(), high.Y(), high.Z()


def levels_of(solid: cq.Shape) -> tuple[float, float]:
    """Lowest and highest vertex [mm]: the extent along z of a body whose faces are ruled between its vertices."""
    heights = [vertex.Z for vertex in solid.Vertices()]
    return min(heights), max(heights)


def _images(builder: Any, face: Any) -> list[Any]:
    """What became of a face: nothing, its images, or itself when the operation did not touch it."""
    if builder.IsDeleted(face):
        return []
    return list(builder.Modified(face)) or [face]


def block(length: float, width: float, height: float) -> Shaped:
    """A box from its aft starboard lower corner; roles top, underside, forward, aft, port, starboard."""
    import cadquery as cq

    solid = cq.Solid.makeBox(length, width, height)
    middles = {"forward": (length, width / 2, height / 2), "aft": (0, width / 2, height / 2),
               "port": (length / 2, width, height / 2), "starboard": (length / 2, 0, height / 2),
               "top": (length / 2, width / 2, height), "underside": (length / 2, width / 2, 0)}
    return _named(solid, {name: [cq.Vector(*middle)] for name, middle in middles.items()})


def rod(radius: float, base: Vector, along: Vector, role: str) -> Shaped:
    """A round bar from `base` over the full length of `along`; its curved face has `role`."""
    import cadquery as cq

    way = cq.Vector(*along)
    solid = cq.Solid.makeCylinder(radius, way.Length, cq.Vector(*base), way)
    return Shaped(solid, {role: tuple(f for f in solid.Faces() if f.geomType() == "CYLINDER")})


def revolved(segments: Sequence[tuple[str, cq.Edge]]) -> Shaped:
    """A solid of revolution about z from edges in the x-z plane (x >= 0), each edge naming the face it sweeps.

    The edges join end to end from the axis to the axis; the axis itself is added here. An edge named "" sweeps a face
    without a role.
    """
    import cadquery as cq

    first, last = segments[0][1].startPoint(), segments[-1][1].endPoint()
    wire = cq.Wire.assembleEdges([*(edge for _, edge in segments), cq.Edge.makeLine(last, first)])
    solid = cq.Solid.revolve(wire, [], 360.0, cq.Vector(0, 0, 0), cq.Vector(0, 0, 1))
    spun = {name: [] for name, _ in segments}  # type: dict[str, list[cq.Vector]]
    for name, edge in segments:
        middle = edge.positionAt(0.5)
        spun[name].append(cq.Vector(0.28 * middle.x, 0.96 * middle.x, middle.z))  # a turn of acos 0.28, off the seam
    return _named(solid, spun)


def extruded(segments: Sequence[tuple[str, cq.Edge]], direction: Vector) -> Shaped:
    """A prism from a closed outline of named edges; roles of the ends: start, end. `direction` is the full length."""
    import cadquery as cq

    face = cq.Face.makeFromWires(cq.Wire.assembleEdges([edge for _, edge in segments]))
    way = cq.Vector(*direction)
    solid = cq.Solid.extrudeLinear(face, way)
    middles = {name: [] for name, _ in segments}  # type: dict[str, list[cq.Vector]]
    for name, edge in segments:
        middles[name].append(edge.positionAt(0.5) + way * 0.5)
    inner = _point_inside(face)
    return _named(solid, {**middles, "start": [inner], "end": [inner + way]})


def _point_inside(face: cq.Face) -> cq.Vector:
    """Some point strictly inside a planar face, of any outline."""
    import cadquery as cq
    from OCP.BOPTools import BOPTools_AlgoTools3D
    from OCP.gp import gp_Pnt, gp_Pnt2d
    from OCP.IntTools import IntTools_Context

    point = gp_Pnt()
    BOPTools_AlgoTools3D.PointInFace_s(face.wrapped, point, gp_Pnt2d(), IntTools_Context())
    return cq.Vector(point.X(), point.Y(), point.Z())


def _named(solid: cq.Shape, points: Mapping[str, Sequence[cq.Vector]]) -> Shaped:
    """Roles of a fresh sweep: for each named point, the face it lies on."""
    import cadquery as cq

    if not solid.isValid() or solid.Volume() <= 0:
        raise GeometryError(f"a sweep of {', '.join(n for n in points if n)} gave no valid solid")
    roles: dict[str, tuple[cq.Face, ...]] = {}
    for name, spots in points.items():
        if not name:
            continue
        for spot in spots:
            vertex = cq.Vertex.makeVertex(*spot.toTuple())
            face = min(solid.Faces(), key=lambda f: f.distance(vertex))
            if face not in roles.get(name, ()):
                roles[name] = (*roles.get(name, ()), face)
    return Shaped(solid, roles)


@dataclass(frozen=True, kw_only=True)
class Body:
    """One body of the plan, in boat axes.

    `kind`: one of KINDS. `frame`: the body's own axes; for a body cut from sheet, z is the sheet's normal (face up) and
    x its long direction. `part`: the spec part it belongs to ("seat block.galley"); `path`: its place in the spec.
    `stock`: the sheet it is cut from, if any. `scribe`: cut so much larger all round, to be fitted [mm]. `order`: its
    place in its stack, "2 of 3 from below". `dowels`: lengths of the dowels that stand up from it [mm].
    """

    name: str
    kind: str
    shaped: Shaped
    part: str
    path: Path
    frame: Frame = field(default_factory=Frame)
    stock: str | None = None
    thickness: float | None = None
    hand: str | None = None
    density: float | None = None
    notes: tuple[str, ...] = ()
    scribe: float = 0.0
    order: str = ""
    dowels: tuple[float, ...] = ()

    @property
    def solid(self) -> cq.Shape:
        return self.shaped.solid

    def faces(self, role: str) -> tuple[cq.Face, ...]:
        try:
            return self.shaped.faces(role)
        except GeometryError as trouble:
            raise GeometryError(f"{self.name}: {trouble}") from None

    def mirrored(self, *, name: str, hand: str) -> Body:
        """The twin on the other side. Its frame's x and z are mirrored, y follows: the sheet's face stays up."""
        (ox, oy, oz), (xx, xy, xz), (zx, zy, zz) = self.frame.origin, self.frame.x, self.frame.z
        frame = Frame((ox, -oy, oz), (xx, -xy, xz), (zx, -zy, zz))
        return replace(self, name=name, hand=hand, shaped=self.shaped.mirrored(), frame=frame)


KINDS = (
    "part",  # a cured part: to M on its mold side, to the bare skin on its bag side
    "core",  # the core under the skins, whole
    "lift",  # one sheet of a core that is built up of sheets
    "skin",  # the laminate of a part
    "insert",  # one disc of an insert or mold; of one that is built of frames the whole
    "insert frame",  # one of the frames under its covering
    "mold",  # one whole piece of a hatch's mold: strip, block, table, fence
    "mold sheet",  # one sheet that a mold's piece is built up of
    "packer",  # a thin sheet that makes up a stack
    "rib",  # one sheet of a chock
    "core plug", "liner", "tube",
    "strap", "eye", "cylinder",
    "envelope",  # room that must stay free round a valve
    "surroundings",  # lockers' walls, for the pictures
)
