"""The report: one page that opens anywhere, offline, on a phone and on paper.

In       a finished plan, the path to write; drawings may be handed in so that they are made once.
Out      report.html: the answer, what fails with its cure, what is close, the rest folded; parts in 3D, drawings,
         sheets, tables, choices, cautions, files.
Not here the figures themselves (strip.py, section.py, view3d.py, sheets.py).

Nothing on the page asks for anything from outside; a policy in it forbids that. Every word from the spec is escaped.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from html import escape
from importlib.resources import files
from pathlib import Path
from typing import Any

from moldplan import quantity
from moldplan._version import __version__
from moldplan.finding import Finding
from moldplan.report import drawings as made_drawings
from moldplan.report import picture, sheets, strip, tables, view3d
from moldplan.report.drawing import Drawing
from moldplan.report.frame_tables import gauge_rows
from moldplan.report.ink import svg
from moldplan.report.looks import GROUPS
from moldplan.report.nets import Nets
from moldplan.report.subject import CHAIN_HEADS, Plan, chain_rows, chains_of, measure_word
from moldplan.report.terminal import missing

POLICY = "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:"
ROOM = 1_600_000  # bytes of drawings on the page; the others stand in the files
VIEWS = (("home", "As you stand"), ("above", "From above"), ("side", "From starboard"), ("aft", "From aft"))
LETTERS = ("Of a hatch, down from the sole's surface: A the landing, B the gutter's floor at its high point, C its "
           "floor at the drain, D the drain's rim; out from the clear opening: a the landing's edge, b the gutter's "
           "outer wall, c the lid's edge.")  # fmt: skip
ORDER = ("fails", "close", "holds", "not judged")


def write(plan: Plan, path: Path, *, drawn: Mapping[str, Sequence[Drawing]] | None = None,
          pictured: Sequence[Drawing] | None = None, nets: Nets | None = None,
          listed: Iterable[str] | None = None) -> None:  # fmt: skip
    """The page into `path`. `drawn`: the plan's drawings by part; `pictured`: those of its sheets; `nets`: triangles
    to share; `listed`: files to name, else those beside `path`. What is not handed in is made."""
    there = sorted(str(p.relative_to(path.parent)) for p in path.parent.rglob("*") if p.is_file() and p != path)
    drawings_of = made_drawings.by_part(plan) if drawn is None else drawn
    text = page(plan, drawings_of, there if listed is None else listed, pictured, nets)
    path.write_text(text, encoding="utf-8")


def page(plan: Plan, drawn: Mapping[str, Sequence[Drawing]], listed: Iterable[str],
         pictured: Sequence[Drawing] | None = None, nets: Nets | None = None) -> str:  # fmt: skip
    """The whole page as text."""
    of_sheets = sheets.pictures(plan) if pictured is None else pictured
    css, script = _asset("page.css"), _asset("viewer.js")
    body = "\n".join(filter(None, (
        _head(plan), _findings(plan), _cautions(plan), _fits(plan), _parts(plan, nets), _drawings(drawn), _chains(plan),
        _gauges(plan), _sheets(plan, of_sheets), _cut_list(plan), _choices(plan), _files(listed), _foot(plan),
    )))  # fmt: skip
    return (
        f'<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">\n'
        f'<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f'<link rel="icon" href="data:,">\n<title>{escape(plan.spec.title)}</title>\n<style>\n{css}</style>\n</head>\n'
        f"<body>\n{body}\n<script>\n{script}</script>\n</body>\n</html>\n"
    )


def _asset(name: str) -> str:
    return files("moldplan.report").joinpath(name).read_text(encoding="utf-8")


def _head(plan: Plan) -> str:
    counts = ", ".join(f"{n} {_count_word(word, n)}" for word in ORDER if (n := len(_with(plan, word))))
    return (
        f"<header>\n<h1>{escape(plan.spec.title)}</h1>\n"
        f'<p class="small">Revision {escape(plan.spec.revision)}, from {escape(plan.file)}</p>\n'
        f'<p class="answer">{escape(plan.answer)}</p>\n<p class="counts">{escape(counts)}</p>\n</header>'
    )


def _count_word(verdict: str, count: int) -> str:
    words = {"fails": "fail", "holds": "hold"}
    return verdict if count == 1 else words.get(verdict, verdict)


def _with(plan: Plan, verdict: str) -> list[Finding]:
    return [finding for finding in plan.findings if finding.verdict == verdict]


def _findings(plan: Plan) -> str:
    parts = []
    for verdict, heading in (("fails", "What fails"), ("close", "What is close")):
        found = _with(plan, verdict)
        if found:
            parts.append(f"<section>\n<h2>{heading}</h2>\n{_cards(found)}\n</section>")
    for verdict, heading in (("holds", "What holds"), ("not judged", "What was not judged")):
        found = _with(plan, verdict)
        if found:
            parts.append(f"<details>\n<summary>{heading} ({len(found)})</summary>\n{_cards(found)}\n</details>")
    return "\n".join(parts)


def _cards(found: Sequence[Finding]) -> str:
    return f'<div class="cards">\n{"".join(map(card, found))}</div>'


def card(finding: Finding) -> str:
    """One finding: verdict, strip, cure, and where it comes from."""
    kind = finding.verdict.replace(" ", "-")
    rows = [("margin", _margin(finding)), ("where", tables.place_words(finding.at)),
            ("source", tables.source_words(finding)), ("not judged", finding.skipped or ""),
            ("limit loosened", finding.loosened or ""), ("note", finding.note)]  # fmt: skip
    listed = "".join(f"<dt>{escape(name)}</dt><dd>{escape(words)}</dd>" for name, words in rows if words)
    return (
        f'<article class="card {kind}" id="{escape(finding.id, quote=True)}">\n'
        f'<h3><span class="word">{escape(finding.verdict)}</span> {escape(finding.part)}: {escape(finding.what)}</h3>\n'
        f"{strip.strip(finding)}\n{_cure(finding)}<dl>{listed}</dl>\n</article>\n"
    )


def _margin(finding: Finding) -> str:
    margin = finding.margin
    if margin is None:
        return ""
    unit = f" {finding.unit}" if finding.unit else ""
    spare = f"{strip.number(abs(margin), 0.0)}{unit} " + ("to spare" if margin >= 0 else missing(finding))
    known = f"; measured to ± {strip.number(finding.tolerance)}{unit}" if finding.tolerance else ""
    return spare + known


def _cure(finding: Finding) -> str:
    cure = finding.cure
    if cure is None:
        return ""
    sets = tables.edits_words(finding)
    proof = "Rechecked: with this the finding holds." if cure.rechecked else ""
    tried = f"Tried: {'; '.join(cure.tried)}." if cure.tried else ""
    more = " ".join(escape(words) for words in (f"Set {sets}." if sets else "", proof, tried) if words)
    return f'<div class="cure"><strong>{escape(cure.text)}</strong><br>{more}</div>\n'


def _cautions(plan: Plan) -> str:
    if not plan.cautions:
        return ""
    rows = "".join(f'<p class="caution">{escape(words)}</p>\n' for words in plan.cautions)
    return f"<section>\n<h2>Cautions</h2>\n<div class=\"cautions\">\n{rows}</div>\n</section>"


def _fits(plan: Plan) -> str:
    if not plan.fits:
        return ""
    rows = [[str(row.get("stand", "")), str(row.get("cylinder", "")), "fits" if row.get("fits") else "does not fit",
             _millimetres(row.get("tightest")), str(row.get("where", ""))] for row in plan.fits]  # fmt: skip
    return "<section>\n<h2>What fits</h2>\n" + table(
        ("stand", "cylinder", "", "tightest", "where"), rows, right={3}) + "</section>"  # fmt: skip


def _millimetres(value: Any) -> str:
    return "" if value is None else f"{strip.number(float(value), 0.0)} mm"


def _parts(plan: Plan, nets: Nets | None) -> str:
    still = picture.picture(plan)
    shown = view3d.scene(plan, nets)
    data = json.dumps(shown, ensure_ascii=True, separators=(",", ":")).replace("<", "\\u003c")
    boxes = "".join(
        f'<label><input type="checkbox" data-group="{group["id"]}"{" checked" if group["on"] else ""}>'
        f"{escape(group['name'])}</label>" for group in shown["groups"])  # fmt: skip
    looks = "".join(f'<button type="button" data-view="{key}">{words}</button>' for key, words in VIEWS)
    drawn = svg(still, standalone=False) if still else ""
    return (
        f'<section>\n<h2>The parts</h2>\n<figure id="view">\n'
        f'<div class="stage"><canvas tabindex="0" role="application" '
        f'aria-label="The parts in three dimensions. Arrow keys turn, plus and minus zoom, 0 starts again, n and p '
        f'name the parts one by one."></canvas>'
        f'<svg class="compass" viewBox="-50 -50 100 100" aria-hidden="true"><path fill="none" stroke="#000"/>'
        f'<text>UP</text><text>FWD</text></svg></div>\n'
        f'<div class="still">{drawn}<p class="none">The view that turns needs WebGL and scripts, which this '
        f"reader does not run. The solids are in the files.</p></div>\n"
        f'<div class="tools">{looks}<button type="button" data-zoom="1.25" aria-label="nearer">+</button>'
        f'<button type="button" data-zoom="0.8" aria-label="further">&minus;</button></div>\n'
        f'<div class="tools">{boxes}</div>\n<figcaption class="told" aria-live="polite"></figcaption>\n</figure>\n'
        f"{_bodies(plan)}\n"
        f'<script type="application/json" id="scene">{data}</script>\n</section>'
    )


def _bodies(plan: Plan) -> str:
    rows = [[body.name, body.kind, GROUPS.get(view3d.look_in(plan, body).group, ("", True))[0], "; ".join(body.notes)]
            for body in plan.assembly.bodies.values()]  # fmt: skip
    return (f"<details>\n<summary>All {len(rows)} bodies by name</summary>\n"
            + table(("name", "kind", "shown with", "notes"), rows) + "</details>")  # fmt: skip


def _drawings(drawn: Mapping[str, Sequence[Drawing]]) -> str:
    parts: list[str] = []
    used = 0
    for ones in drawn.values():
        for one in (drawing for drawing in ones if drawing.on_page):
            text = svg(one, standalone=False)
            used += len(text)
            if used > ROOM:
                return _drawing_section(parts, "There are more drawings than this page takes: see drawings.pdf.")
            parts.append(_figure(one.title, text))
    return _drawing_section(parts, "")


def _figure(title: str, text: str, kind: str = "sheet") -> str:
    """A drawing that scrolls by itself where the page is narrower than it can be read."""
    named = escape(title, quote=True)
    broad = ' class="broad"' if "broad" in kind else ""
    return (f'<figure{broad}><div class="{kind}" tabindex="0" role="group" aria-label="{named}">{text}</div>'
            f"<figcaption>{escape(title)}</figcaption></figure>\n")  # fmt: skip


def _drawing_section(parts: Sequence[str], note: str) -> str:
    if not parts:
        return ""
    more = f"<p>{escape(note)}</p>\n" if note else ""
    return f'<section>\n<h2>Drawings</h2>\n{"".join(parts)}{more}</section>'


def _chains(plan: Plan) -> str:
    if not plan.chains:
        return ""
    found = []
    for chain in dict.fromkeys(one for each in plan.chains for one in chains_of(plan, each.path)):
        caption = f"{chain.part}: {measure_word(chain).lower()} [mm]"
        found.append(table(CHAIN_HEADS, chain_rows(plan, chain), right={1, 2, 3}, caption=caption, last_strong=True))
    words = []
    if any(chain.measure != "level" and chain.at != "plan" for chain in plan.chains):
        words.append("F finished and painted, M the molded face, C the core side.")
    if any(chain.measure == "level" for chain in plan.chains):
        words.append(LETTERS)
    words.append("Tolerances stand beside the sums and are never added into them.")
    note = f"<p>{' '.join(words)}</p>\n"
    beside = f'<div class="pair">\n{"".join(found)}</div>\n'
    return f"<section>\n<h2>How the sizes come about</h2>\n{note}{beside}</section>"


def _gauges(plan: Plan) -> str:
    rows = [[row["hatch"], row["name"], quantity.plain(row["size"]), row["use"]] for row in gauge_rows(plan)]
    if not rows:
        return ""
    listed = table(("hatch", "gauge", "size mm", "use"), rows, right={2})
    return f"<section>\n<h2>Check gauges to cut from scrap</h2>\n{listed}</section>"


def _sheets(plan: Plan, drawn: Sequence[Drawing]) -> str:
    if not drawn:
        return ""
    words = "".join(f"<p>{escape(line)}</p>\n" for line in sheets.used_words(plan))
    kinds = ["sheet wide" if d.width <= sheets.WIDTH else "sheet broad" for d in drawn]
    figures = "".join(_figure(d.title, svg(d, standalone=False), kind) for d, kind in zip(drawn, kinds, strict=True))
    return f"<section>\n<h2>Sheets</h2>\n{words}{figures}</section>"


def _cut_list(plan: Plan) -> str:
    if not plan.pieces:
        return ""
    heads = [head for head in tables.CUT_LIST if head not in ("in its stack", "step")]  # told among the notes
    rows = []
    for row in tables.cut_list_rows(plan):
        told = dict(zip(tables.CUT_LIST, row, strict=True))
        step = f"step {told['step']}" if told["step"] else ""
        told["notes"] = "; ".join(filter(None, (told["in its stack"], step, told["notes"])))
        rows.append([_cell(told[head], 3 if "m2" in head else 1) for head in heads])
    listed = table(heads, rows, right={3, 4, 5, 6, 8})
    return f'<section class="broad">\n<h2>Cut list</h2>\n{listed}</section>'


def _cell(value: Any, digits: int) -> str:
    return quantity.plain(value, digits) if isinstance(value, float) else str(value)


def _choices(plan: Plan) -> str:
    if not plan.choices:
        return ""
    rows = [[c.field, _value(c.value), c.why] for c in plan.choices]
    return (f"<section>\n<h2>What was left open and how it was chosen</h2>\n"
            f"{table(('field', 'chosen', 'why'), rows)}</section>")  # fmt: skip


def _value(value: Any) -> str:
    if isinstance(value, float):
        return f"{value:.6g}"
    return ", ".join(_value(each) for each in value) if isinstance(value, list | tuple) else str(value)


def _files(listed: Iterable[str]) -> str:
    rows = "".join(f'<li><a href="{escape(_address(name), quote=True)}">{escape(name)}</a></li>\n' for name in listed)
    return f"<section>\n<h2>Files</h2>\n<ul>\n{rows}</ul>\n</section>" if rows else ""


def _address(name: str) -> str:
    from urllib.parse import quote

    return quote(name)


def _foot(plan: Plan) -> str:
    return (f'<footer class="small"><p>Made by moldplan {escape(__version__)} from {escape(plan.file)}, '
            f"SHA-256 {escape(plan.sha256)}. Sizes in mm, boat axes: x forward, y to port, z up. A plan is no "
            f"approval: codes, surveyors and licensed practice have the last word.</p></footer>")  # fmt: skip


def table(heads: Sequence[str], rows: Sequence[Sequence[str]], *, right: set[int] | None = None, caption: str = "",
          last_strong: bool = False) -> str:  # fmt: skip
    """A table that scrolls by itself where the page is narrow. `right`: columns of numbers."""
    numeric = right or set()

    def cells(row: Sequence[str], tag: str) -> str:
        return "".join(f'<{tag}{" class=n" if k in numeric else ""}>{escape(str(cell))}</{tag}>'
                       for k, cell in enumerate(row))  # fmt: skip

    body = "".join(
        f"<tr{' class=sum' if last_strong and n == len(rows) - 1 else ''}>{cells(row, 'td')}</tr>\n"
        for n, row in enumerate(rows))  # fmt: skip
    told = f"<caption>{escape(caption)}</caption>" if caption else ""
    return (f'<div class="scroll"><table>{told}<thead><tr>{cells(heads, "th")}</tr></thead>\n<tbody>\n{body}</tbody>'
            f"</table></div>\n")  # fmt: skip
