"""The whole chain on one screen: a loaded spec is resolved, shaped, checked, cut, cured of its faults and written.

In       Loaded (spec/load.py).
Out      Plan; a folder of files.
Not here any formula: each room does its own work, this module hands things on.
"""

from __future__ import annotations

import contextlib
import glob
import json
import os
import shutil
import tempfile
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path as FilePath
from typing import Any

from moldplan._version import __version__
from moldplan.check.judge import Judged, judge
from moldplan.check.seen_water import WaterSeen, seen_water
from moldplan.cut.cutting import Cutting, Laid, flatten, lay_out
from moldplan.cut.dxf import named
from moldplan.cut.judge_shapes import judged_shapes
from moldplan.cut.piece import Layout, Piece, Sheet
from moldplan.cut.stages import parted
from moldplan.errors import OutputError, dotted
from moldplan.finding import Edit, Finding
from moldplan.handbook.cautions import Topic
from moldplan.handbook.cautions import cautions as handbook_cautions
from moldplan.shape.assemble import assemble
from moldplan.shape.assembly import Assembly
from moldplan.shape.body import Body
from moldplan.shape.chain import Chain
from moldplan.shape.choose import Choice, Resolved, resolve
from moldplan.spec.load import Loaded, edited
from moldplan.spec.mistakes import mark_of
from moldplan.spec.model import Cutter, Spec

Say = Callable[[str], None]

ASIDE, LOCK = ".moldplan", "at-work"  # a build's own folder beside its target ends so, and holds a lock while it works
MOST_BYTES = 200_000_000  # no plan.json is as long
TURNS = 5  # how often a build tries to be the last of several at once


@dataclass(frozen=True, kw_only=True)
class Plan:
    """A finished plan: everything that was decided, measured and laid out. Nothing in it depends on the clock."""

    name: str
    file: str
    sha256: str
    spec: Spec
    assembly: Assembly
    findings: tuple[Finding, ...]
    pieces: tuple[Piece, ...]
    layout: Layout | None
    choices: tuple[Choice, ...]
    cautions: tuple[str, ...]
    fits: tuple[Mapping[str, Any], ...] = ()
    files: tuple[str, ...] = field(default=(), compare=False)
    water: WaterSeen | None = field(default=None, compare=False)
    places: Mapping[str, str] = field(default_factory=dict, compare=False)  # by finding: its field's line in the spec

    @property
    def chains(self) -> tuple[Chain, ...]:
        return self.assembly.chains

    @property
    def answer(self) -> str:
        """What a builder would say of it, in a sentence."""
        return _answer(self)

    @cached_property
    def _bodies(self) -> list[dict[str, Any]]:
        """Measured once: for the file, and for standard output."""
        return [_body_json(body) for body in self.assembly.bodies.values()]

    def as_json(self) -> dict[str, Any]:
        """The plan as plain data (plan.json)."""
        sheets = self.layout.sheets if self.layout else ()
        return {
            "moldplan": __version__,
            "spec": {"file": self.file, "title": self.spec.title, "revision": self.spec.revision,
                     "sha256": self.sha256},
            "answer": self.answer,
            "findings": [finding.as_json() for finding in self.findings],
            "chains": [chain.as_json() for chain in self.chains],
            "fits": [dict(row) for row in self.fits],
            "bodies": self._bodies,
            "pieces": [_piece_json(piece, self.layout) for piece in self.pieces],
            "sheets": [_sheet_json(sheet) for sheet in sheets],
            "fewest": dict(self.layout.fewest) if self.layout else {},
            "near_misses": list(self.layout.near) if self.layout else [],
            "choices": [{"field": c.field, "value": c.value, "why": c.why} for c in self.choices],
            "cautions": list(self.cautions),
            "files": list(self.files),
        }


def make(loaded: Loaded, *, nest: bool, layout: FilePath | None = None, say: Say = lambda text: None) -> Plan:
    """Run the chain. `nest` False leaves the sheets out (`not judged`); `layout` is an earlier layout.json to reuse.

    Raises SpecFault for what only shows when parts meet; GeometryError for a body the kernel could not make.
    """
    made = flat(loaded, say=say)
    resolved, assembly, judged, cutting = made.resolved, made.assembly, made.judged, made.cutting
    say("looking for cures")
    findings = _cured(made.findings, lambda edits: in_parts(loaded, edits, like=made), say)
    laid, shapes = cutting.left_out(), tuple[Finding, ...]()
    if nest:
        laid = _laid(cutting, resolved, layout, say)
        shapes = judged_shapes(assembly, cutting.pieces, resolved.spec.cutter)
        # a cure of sheets takes a layout each: few are tried, and only for what no cure was looked for yet
        findings = _cured((*findings, *shapes, *laid.findings),
                          lambda edits: in_parts(loaded, edits, like=made, nest=True), say, each=4, total=8)
    contents = [stand.cylinder.contents for stand in assembly.stands]
    return Plan(
        name=loaded.file.stem, file=loaded.file.name, sha256=loaded.sha256, spec=resolved.spec, assembly=assembly,
        findings=findings if nest else (*findings, *laid.findings), pieces=cutting.pieces, layout=laid.layout,
        choices=resolved.choices,
        cautions=(*loaded.cautions, *judged.cautions, *assembly.cautions, *laid.cautions,
                  *handbook_cautions(contents, besides=_topics(assembly, resolved.spec))),
        fits=judged.fits, water=seen_water(assembly, resolved.spec) if nest else None,
        places={f.id: f"{mark_of(loaded.marks, f.path)}: {dotted(f.path)}" for f in findings if f.path})


def _topics(assembly: Assembly, spec: Spec) -> list[Topic]:
    """What else in a plan has cautions of its own: ways out of water or gas, published limits held."""
    drains = any(drain.kind != "limber" for drain in assembly.drains)
    return [*(["drains"] if drains else []), *(["rules"] if spec.rules else [])]  # type: ignore[list-item]


def _laid(cutting: Cutting, resolved: Resolved, layout: FilePath | None, say: Say) -> Laid:
    """The sheets, with the names of their files."""
    say("laying out sheets")
    saved = _text(layout) if layout else None
    laid = lay_out(cutting, resolved.stocks, resolved.spec.cutter, saved=saved, say=say)
    if laid.layout is None:
        return laid
    spec = resolved.spec
    return replace(laid, layout=named(laid.layout, resolved.stocks, title=spec.title, revision=spec.revision))


def _text(layout: FilePath) -> str | None:
    """The earlier layout; None when it cannot be read: then the sheets are laid out anew."""
    try:
        with layout.open("rb") as stream:
            return stream.read(MOST_BYTES).decode()
    except (OSError, UnicodeDecodeError):
        return None


def _cured(findings: tuple[Finding, ...], asked: Callable[[tuple[Edit, ...]], Iterator[tuple[Finding, ...]]], say: Say,
           **budget: int) -> tuple[Finding, ...]:
    """Failing findings with their cures, each re-evaluated by the whole chain."""
    from moldplan.cure.search import cures

    return cures(findings, asked, say, **budget)


@dataclass(frozen=True)
class Flat:
    """The chain as far as the pieces that are cut."""

    resolved: Resolved
    assembly: Assembly
    judged: Judged
    cutting: Cutting

    @property
    def findings(self) -> tuple[Finding, ...]:
        return (*self.judged.findings, *self.cutting.findings)


def flat(loaded: Loaded, like: Flat | None = None, say: Say = lambda text: None) -> Flat:
    """The chain as far as the pieces. The bodies of `like` are taken where its spec differs only in how they are cut,
    and of what sheets: no shaper asks that."""
    resolved, assembly, judged = _judged(loaded, like, say)
    return Flat(resolved, assembly, judged, flatten(assembly, resolved.stocks, resolved.spec.cutter))


def _judged(loaded: Loaded, like: Flat | None, say: Say = lambda text: None) -> tuple[Resolved, Assembly, Judged]:
    """The chain as far as the checks of what is built."""
    say("choosing and shaping")
    resolved = resolve(loaded.spec)
    if like is not None and _shaping(resolved.spec) == _shaping(like.resolved.spec):
        return resolved, like.assembly, like.judged
    assembly = assemble(resolved)
    say("checking")
    return resolved, assembly, judge(assembly, resolved.spec)


def _shaping(spec: Spec) -> Spec:
    """The spec without what only the cutting of sheets asks."""
    bare = {name: stock.model_copy(update={"size": (0, 0), "sizes": (), "on_hand": ()})
            for name, stock in spec.stock.items()}
    return spec.model_copy(update={"cutter": Cutter(), "stock": bare})


def evaluate(loaded: Loaded, edits: Iterable[Edit] = (), *, like: Flat | None = None, nest: bool = False
             ) -> tuple[Finding, ...]:  # fmt: skip
    """All findings of the spec with some fields changed; of its sheets too where `nest`. Raises SpecError, SpecFault
    and GeometryError when there is no such plan."""
    return tuple(finding for part in in_parts(loaded, edits, like=like, nest=nest) for finding in part)


def in_parts(loaded: Loaded, edits: Iterable[Edit] = (), *, like: Flat | None = None, nest: bool = False
             ) -> Iterator[tuple[Finding, ...]]:  # fmt: skip
    """evaluate() step by step: what is built, how its pieces are cut, the sheets. Each step is taken when it is asked
    for: a change that fails at one needs none of the next. Raises as evaluate() does, as far as it is asked."""
    resolved, assembly, judged = _judged(edited(loaded, edits), like)
    yield judged.findings
    cutter = resolved.spec.cutter
    cutting = flatten(assembly, resolved.stocks, cutter)
    yield cutting.findings
    if nest:
        laid = lay_out(cutting, resolved.stocks, cutter, saved=None, say=lambda text: None)
        yield (*judged_shapes(assembly, cutting.pieces, cutter), *laid.findings)


def _listed(names: list[str]) -> str:
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def _answer(plan: Plan) -> str:
    fails = [f for f in plan.findings if f.verdict == "fails"]
    close = sum(f.verdict == "close" for f in plan.findings)
    if not fails:
        nearly = f", {close} of it by little" if close else ""
        held = sorted({stand.cylinder_name for stand in plan.assembly.stands})
        hatches = [str(hatch.path[-1]) for hatch in plan.assembly.hatches]
        said = [f"{_listed(held)} {'fit' if len(held) > 1 else 'fits'}"] if held else []
        do = "close and drain" if len(hatches) > 1 else "closes and drains"
        said += [f"{_listed(hatches)} {do}"] if hatches else []
        words = " and ".join(said) or ("the sole is as drawn" if plan.assembly.soles else "the locker is as drawn")
        return f"{words[:1].upper()}{words[1:]}: all that was judged holds{nearly}."
    first, more = fails[0], len(fails) - 1
    short = "" if first.margin is None else f" by {abs(first.margin):.3g} {first.unit}".rstrip()
    others = f" {more} more {'fail' if more > 1 else 'fails'}." if more else ""
    return f"Not yet: {first.part}, {first.what}, fails{short}.{others}"


def _body_json(body: Body) -> dict[str, Any]:
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps

    solid, whole = body.solid, GProp_GProps()
    BRepGProp.VolumeProperties_s(solid.wrapped, whole)  # volume and centre in one go; the wrapper takes two
    volume, centre = whole.Mass(), whole.CentreOfMass()
    mass = None if body.density is None else volume * 1e-9 * body.density
    return {"name": body.name, "kind": body.kind, "part": body.part, "hand": body.hand, "volume": volume,
            "area": solid.Area(), "mass": mass, "centre": [centre.X(), centre.Y(), centre.Z()],
            "valid": solid.isValid()}


def _sheet_json(sheet: Sheet) -> dict[str, Any]:
    left = [dict(zip(("x", "y", "length", "width"), offcut, strict=True)) for offcut in sheet.offcuts]
    return {"file": sheet.file, "stock": sheet.stock, "size": list(sheet.size), "used": sheet.used,
            "on_hand": sheet.rack or None, "defects": len(sheet.defects), "offcuts": left,
            "stages": [{"file": s.file, "along": "xy"[s.axis], "from": s.low, "to": s.high, "drill": list(s.drill),
                        "pins": list(s.pins)} for s in sheet.stages]}


def _piece_json(piece: Piece, layout: Layout | None) -> dict[str, Any]:
    placed = [
        {"sheet": part.file, "x": one.x, "y": one.y, "turn": one.turn, "mirrored": one.mirrored}
        for sheet in (layout.sheets if layout else ()) for part in parted(sheet) for one in part.placed
        if one.piece == piece.id]
    return {"id": piece.id, "body": piece.body, "stock": piece.stock, "thickness": piece.thickness,
            "quantity": piece.quantity, "hand": piece.hand, "area": piece.area,
            "outline_length": piece.outline_length, "placed": placed, "stack": list(piece.orders),
            "steps": [{"what": s.what, "face": s.face, "least": s.least, "most": s.most} for s in piece.steps]}


def write(plan: Plan, out: FilePath) -> FilePath:
    """Write the plan's folder, whole or not at all; returns it.

    The files go into a new folder beside the old one and are swapped in when complete. An old folder is replaced only
    when it holds a plan of ours and nothing else. Raises OutputError; what stood there before is then untouched.
    """
    target = out / plan.name
    try:
        out.mkdir(parents=True, exist_ok=True)
        _clear_wrecks(target)
        _refuse_strangers(target)
        aside = FilePath(tempfile.mkdtemp(prefix=f".{plan.name}.", suffix=ASIDE, dir=out))
    except (OSError, ValueError) as trouble:
        raise OutputError(f"{target}: cannot be written ({_of(trouble)})") from trouble
    try:
        with (aside / LOCK).open("wb") as lock:
            _held(lock)
            fresh = aside / "new"
            fresh.mkdir()
            _write_files(plan, fresh)
            _swap(fresh, target)
    except OSError as trouble:
        raise OutputError(f"{target}: cannot be written ({_of(trouble)}); "
                          "what was there before is untouched") from trouble
    finally:
        _remove(aside, target)
    return target


def _of(trouble: Exception) -> str:
    return getattr(trouble, "strerror", None) or str(trouble)


def _held(lock: Any) -> bool:
    """Whether the lock is ours now. A killed build loses its lock with its life; where there are no locks, never."""
    try:
        import fcntl
    except ImportError:
        return False
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


def _clear_wrecks(target: FilePath) -> None:
    """Take away what builds of this plan that were killed left behind; an earlier plan set aside comes back."""
    for aside in target.parent.glob(f".{glob.escape(target.name)}.{'?' * 8}{ASIDE}"):  # as mkdtemp names
        if aside.is_symlink() or not (aside / LOCK).is_file():
            continue
        with (aside / LOCK).open("rb") as lock:
            if not _held(lock):
                continue  # that build is at work
            _remove(aside, target)


def _remove(aside: FilePath, target: FilePath) -> None:
    """Remove a build's own folder; the earlier plan in it goes back first where nothing has taken its place."""
    for old in sorted(aside.glob("old-*")):
        if not os.path.lexists(target):
            with contextlib.suppress(OSError):
                old.rename(target)
        if not os.path.lexists(target):
            return  # better a hidden folder too many than a plan too few
    shutil.rmtree(aside, ignore_errors=True)


def _refuse_strangers(target: FilePath) -> None:
    """Raise OutputError unless `target` is absent, empty, or a plan of ours with nothing in it that is not ours."""
    if not os.path.lexists(target):
        return
    if target.is_symlink() or not target.is_dir():
        raise OutputError(f"{target}: is there already and is no folder of ours; move it, or give another --out")
    there = sorted(target.rglob("*"))
    ours = {target / name for name in _ours(target)}
    folders = {parent for file in ours for parent in file.parents}
    strange = [each for each in there
               if each not in (folders if each.is_dir() and not each.is_symlink() else ours)]
    if strange:
        raise OutputError(f"{target}: holds {strange[0].relative_to(target)}, which no plan of ours wrote; "
                          "move it, or give another --out")


def _ours(target: FilePath) -> set[str]:
    """Names of the files that the plan in a folder says it wrote; none when it holds no plan of ours."""
    try:
        with (target / "plan.json").open("rb") as stream:
            held = json.loads(stream.read(MOST_BYTES))
        named = {str(name) for name in held["files"] if isinstance(name, str)}
        return {*named, "plan.json"} if held["moldplan"] and held["spec"]["sha256"] else set()
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return set()


def _write_files(plan: Plan, folder: FilePath) -> None:
    from moldplan.report.folder import write_all

    write_all(plan, folder)
    files = tuple(sorted(str(p.relative_to(folder)) for p in folder.rglob("*") if p.is_file()))
    text = json.dumps(plan.as_json() | {"files": files}, indent=2, ensure_ascii=False, allow_nan=False)
    (folder / "plan.json").write_text(text + "\n", encoding="utf-8")


def _swap(fresh: FilePath, target: FilePath) -> None:
    """Put the new folder in the old one's place; when the second step fails the old one comes back."""
    for turn in range(TURNS):
        old = fresh.with_name(f"old-{turn}")
        with contextlib.suppress(FileNotFoundError):
            target.rename(old)
        try:
            fresh.rename(target)
            return
        except OSError:
            if not os.path.lexists(target):
                if old.exists():
                    old.rename(target)
                raise
            if turn == TURNS - 1:
                raise  # another build was quicker each time; its plan is whole
