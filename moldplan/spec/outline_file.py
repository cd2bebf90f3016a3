"""`outline_from:` - a sole's outline from a drawing or a table of the builder's own.

In       the Source of a spec; DXF and CSV files beside it.
Out      the corners of each such outline, in the form of SolePlan.outline; the bytes read, for the digest.
Not here which paths are let in (beside.py), chaining a drawing's lines (outline_dxf.py), outlines that cross
         themselves (shape/sole.py).

Everything downstream sees corners only and never a file. The corners are kept with the Source under what the spec
says of the file, so that a cure that tries an edit reads no file anew.
"""

from __future__ import annotations

import csv
import json
import math
import re
from collections.abc import Iterator, Mapping
from pathlib import Path as FilePath
from pathlib import PurePosixPath
from typing import Any

from moldplan import quantity
from moldplan.errors import Fault, Path, dotted
from moldplan.spec import outline_dxf
from moldplan.spec.beside import let_in
from moldplan.spec.mistakes import mark_of, of_fault
from moldplan.spec.outline_dxf import Corners, Misdrawn
from moldplan.spec.sole import MOST_CORNERS
from moldplan.spec.source import Mark, Mistake, Source, display, sentence

MOST_BYTES = 20_000_000
FARTHEST = 20_000.0  # mm from the datum; no boat of this program is longer
SAME = 0.01  # mm; two rows nearer than that are one point
ENDINGS = (".dxf", ".csv", ".txt")
_UNIT = re.compile(r"\b(mm|cm|m|in|inch|inches|ft|feet)\b|\"", re.IGNORECASE)


def with_outlines(source: Source, shown_as: str) -> bytes:
    """Read every outline file of a spec into `source.outlines`; their bytes in the order they were read.

    Mistakes are added to `source.mistakes`. What the model will refuse anyway (a layer that is no text) is left to it.
    """
    raw: list[bytes] = []
    root = source.file.parent.resolve()
    folder = str(PurePosixPath(shown_as).parent)
    for path, entry in _wanted(source.data):
        key = key_of(entry)
        if key in source.outlines:
            continue
        file, scale, layer = _taken_apart(entry)
        if file is None:
            continue
        at = (*path, "file") if isinstance(entry, dict) else path
        target, fault = let_in(at, file, source.file.parent, root, example="sole.dxf", endings=ENDINGS)
        if target is None or fault:
            source.mistakes.append(of_fault(source.marks, fault or Fault(at, file, "a file", "")))
            continue
        try:
            content = _bytes(target)
            raw.append(content)
            source.outlines[key], caution = _corners(content, target.suffix.lower(), layer, scale)
            if caution:
                source.cautions.append(f"{mark_of(source.marks, path)}: {dotted(path)} = {display(file)}: {caution}")
        except Misdrawn as wrong:
            shown = file if folder == "." else f"{folder}/{file}"
            source.mistakes.append(_mistake(source, wrong, path, at, file, shown, entry))
    return b"".join(raw)


def key_of(entry: Any) -> str:
    """What the spec says of an outline's file, as one text."""
    return json.dumps({"file": entry} if isinstance(entry, str) else entry, sort_keys=True, default=str)


def _wanted(data: Any) -> Iterator[tuple[Path, Any]]:
    soles = data.get("soles") if isinstance(data, dict) else None
    for name, sole in (soles.items() if isinstance(soles, dict) else ()):
        if isinstance(sole, dict) and sole.get("outline_from") is not None and sole.get("outline") is None:
            yield ("soles", name, "outline_from"), sole["outline_from"]


def _taken_apart(entry: Any) -> tuple[str | None, float | None, str | None]:
    """File, scale and layer; no file where the model will refuse one of them."""
    if isinstance(entry, str):
        return entry, None, None
    if not isinstance(entry, Mapping):
        return None, None, None
    file, scale, layer = (entry.get(each) for each in ("file", "scale", "layer"))
    number = isinstance(scale, (int, float)) and not isinstance(scale, bool) and 0 < scale <= 1000
    if not isinstance(file, str) or not (scale is None or number) or not (layer is None or isinstance(layer, str)):
        return None, None, None
    return file, scale, layer


def _mistake(source: Source, wrong: Misdrawn, path: Path, at: Path, file: str, shown: str, entry: Any) -> Mistake:
    """A mistake in a file: at its own line where there is one, else where the spec names it."""
    if wrong.line:
        return Mistake(Mark(len(source.outlines) + 1_000, wrong.line, 1, shown),
                       sentence(dotted(path), display(wrong.value), wrong.allowed, wrong.why))
    where = (*path, wrong.field) if wrong.field and isinstance(entry, dict) else at
    given = entry.get(wrong.field) if wrong.field and isinstance(entry, dict) else file
    return of_fault(source.marks, Fault(where, given, wrong.allowed, wrong.why))


def _bytes(target: FilePath) -> bytes:
    try:
        with target.open("rb") as stream:
            raw = stream.read(MOST_BYTES + 1)
    except OSError as error:
        raise Misdrawn("a file that can be read", f"it cannot be read ({error.strerror or error})") from None
    if len(raw) > MOST_BYTES:
        raise Misdrawn(f"up to {MOST_BYTES // 1_000_000} MB", "an outline that long is no outline")
    if not raw.strip():
        raise Misdrawn("an outline", "the file is empty")
    return raw


def _corners(raw: bytes, ending: str, layer: str | None, scale: float | None) -> tuple[Corners, str]:
    caution = ""
    if ending not in ENDINGS:
        raise Misdrawn("a .dxf file, or a .csv or .txt file with x, y a line", "other kinds are not read here")
    if ending == ".dxf":
        found, caution = outline_dxf.corners(raw, layer, scale)
    elif layer is not None:
        raise Misdrawn("no layer", "a table of points has no layers", field="layer")
    else:
        found = _table(raw, scale)
    return _in_reach(found), caution


def _in_reach(found: Corners) -> Corners:
    if not 3 <= len(found) <= MOST_CORNERS:
        raise Misdrawn(f"3 to {MOST_CORNERS} corners", f"it gives {len(found)}")
    for corner in found:
        far = max(corner["at"], key=abs)
        if abs(far) > FARTHEST:
            raise Misdrawn(f"corners within {FARTHEST:g} mm of the datum",
                           f"one lies {abs(far):.0f} mm away; draw it in boat axes, and mind the units")
    return found


def _table(raw: bytes, scale: float | None) -> Corners:
    """Corners from lines of x and y; a heading, empty lines and lines with # are passed over."""
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise Misdrawn("UTF-8 text", f"byte {error.start + 1} is no UTF-8; save the table as UTF-8",
                       line=raw[: error.start].count(b"\n") + 1, value="bytes") from None
    lines = text.splitlines()
    rows = [(k, each) for k, each in enumerate(lines, 1) if each.strip(" \t;,") and each.strip()[0] != "#"]
    between = _separator([each for _, each in rows])
    points: list[tuple[int, tuple[float, float]]] = []
    for place, (number, line) in enumerate(rows):
        cells = [cell.strip() for cell in next(csv.reader([line], delimiter=between), [])]
        if place == 0 and _is_heading(cells):
            _judge_heading(line, number, scale)
            continue
        points.append((number, _point(cells, line, number, between, scale or 1.0)))
    return _without_repeats(points)


def _separator(lines: list[str]) -> str:
    """What stands between two numbers: a semicolon or a tab where there is one, else a comma."""
    return next((each for each in (";", "\t") if any(each in line for line in lines)), ",")


def _is_heading(cells: list[str]) -> bool:
    return len(cells) > 1 and all(cell and not cell[0].isdigit() and cell[0] not in "+-." for cell in cells)


def _judge_heading(line: str, number: int, scale: float | None) -> None:
    """A heading that names another unit than mm asks for a scale."""
    unit = next((found[0].lower() for found in _UNIT.finditer(line)), "mm")
    factor = quantity.INCH if unit == '"' else quantity.length(f"1 {unit}")
    if factor != 1.0 and scale is None:
        raise Misdrawn(f"scale: {factor:g} beside the file", f"its heading speaks of {unit}, and bare numbers are mm",
                       line=number, value=line.strip())


def _point(cells: list[str], line: str, number: int, between: str, scale: float) -> tuple[float, float]:
    """One row's point [mm]."""
    allowed = "two numbers, x and y, such as 1250.5, -430"

    def refused(why: str) -> Misdrawn:
        return Misdrawn(allowed, why, line=number, value=line.strip())

    cells = cells[:-1] if len(cells) == 3 and not cells[-1] else cells
    if between != "," and any(re.fullmatch(r"[-+]?\d+,\d+", cell) for cell in cells):
        raise refused("decimals take a point, as in 9.5, not a comma")
    if len(cells) != 2:
        comma = "; decimals take a point, as in 9.5, not a comma" if between == "," and len(cells) > 2 else ""
        raise refused(f"{len(cells)} stand there{comma}")
    values = []
    for cell in cells:
        try:
            values.append(float(cell.replace("\u2212", "-")))
        except ValueError:
            raise refused(f"{cell!r} is no plain number" if cell else "one of them is missing") from None
    if not all(map(math.isfinite, values)):
        raise refused("they must be finite numbers")
    return values[0] * scale, values[1] * scale


def _without_repeats(points: list[tuple[int, tuple[float, float]]]) -> Corners:
    """Corners once each: the last may repeat the first, which closes the outline."""
    if len(points) > 1 and math.dist(points[0][1], points[-1][1]) < SAME:
        points = points[:-1]
    for (_, before), (number, here) in zip(points, points[1:], strict=False):
        if math.dist(before, here) < SAME:
            raise Misdrawn("two different corners in a row", "an edge has no length", line=number, value=list(here))
    return tuple({"at": [x, y]} for _, (x, y) in points)


