"""The margin strip: how near a measured value is to its limit, on one line.

In       a Finding.
Out      strip(): inline SVG; number(): a value with digits enough to show on which side of the limit it lies.
Not here the words around it (html.py).

A thin line, the safe side thick, a tick at each limit, a dot at what was measured: full when it holds, hollow when it
fails, dashed to the limit when it is close. Both numbers and the unit stand beside it.
"""

from __future__ import annotations

import math
from html import escape

from moldplan.finding import Finding

WIDTH, HEIGHT, EDGE = 340.0, 66.0, 8.0
LINE = 33.0


def number(value: float, other: float | None = None) -> str:
    """A value with as few digits as show it, and enough to tell it from `other`."""
    if math.isnan(value):
        return "not a number"
    for digits in range(0, 7):
        text = f"{value:.{digits}f}"
        close = abs(float(text) - value) <= 0.002 * max(abs(value), 1e-9)
        apart = other is None or value == other or (float(text) - other) * (value - other) > 0
        if close and apart:
            short = text.rstrip("0").rstrip(".") if "." in text else text
            return "0" if short == "-0" else short
    return f"{value:.3g}"


def limits(finding: Finding) -> tuple[float, ...]:
    """The limit, or both of them."""
    if finding.limit is None:
        return ()
    return finding.limit if isinstance(finding.limit, tuple) else (finding.limit,)


def strip(finding: Finding) -> str:
    """Inline SVG of a finding; empty when nothing was judged or measured."""
    edges, measured = limits(finding), finding.measured
    if finding.margin is None or measured is None or not edges or not all(map(math.isfinite, (*edges, measured))):
        return ""
    low, high = min(*edges, measured), max(*edges, measured)
    span = max(high - low, 0.15 * max(map(abs, edges)), 1e-9)
    left, right = (low + high - span) / 2 - 0.4 * span, (low + high + span) / 2 + 0.4 * span

    def x(value: float) -> float:
        return EDGE + (value - left) / (right - left) * (WIDTH - 2 * EDGE)

    ends = {"at_least": (edges[0], right), "at_most": (left, edges[-1]), "between": (edges[0], edges[-1])}
    safe = ends[finding.sense]
    nearest = min(edges, key=lambda edge: abs(edge - measured))
    parts = [
        f'<line x1="{EDGE}" y1="{LINE}" x2="{WIDTH - EDGE}" y2="{LINE}" stroke="#000" stroke-width="1"/>',
        f'<line x1="{x(safe[0]):.1f}" y1="{LINE}" x2="{x(safe[1]):.1f}" y2="{LINE}" stroke="#000" stroke-width="6"/>',
    ]
    for edge in edges:
        parts.append(f'<line x1="{x(edge):.1f}" y1="{LINE - 9}" x2="{x(edge):.1f}" y2="{LINE + 9}" stroke="#000" '
                     'stroke-width="2.5"/>')  # fmt: skip
    if finding.verdict != "holds":
        dashes = ' stroke-dasharray="4 3"' if finding.verdict == "close" else ""
        parts.append(f'<line x1="{x(measured):.1f}" y1="{LINE - 8}" x2="{x(nearest):.1f}" y2="{LINE - 8}" '
                     f'stroke="#0072b2" stroke-width="2"{dashes}/>')  # fmt: skip
    fill = "#fff" if finding.verdict == "fails" else "#0072b2"
    parts.append(f'<circle cx="{x(measured):.1f}" cy="{LINE}" r="6" fill="{fill}" stroke="#0072b2" stroke-width="3"/>')
    unit = f" {finding.unit}" if finding.unit else ""
    parts.append(_words(x(measured), 16, f"{number(measured, nearest)}{unit} measured", bold=True))
    if len(edges) == 2:
        words = f"between {number(edges[0])} and {number(edges[1])}{unit}"
        parts.append(_words((x(edges[0]) + x(edges[1])) / 2, 61, words))
    else:
        parts.append(_words(x(edges[0]), 61, f"{finding.sense.replace('_', ' ')} {number(edges[0], measured)}{unit}"))
    said = f"{number(measured, nearest)}{unit} against {', '.join(map(number, edges))}{unit}: {finding.verdict}"
    label = escape(said, quote=True)
    return (f'<svg class="strip" viewBox="0 0 {WIDTH:g} {HEIGHT:g}" role="img" aria-label="{label}" font-size="16">'
            f'{"".join(parts)}</svg>')  # fmt: skip


def _words(x: float, y: float, words: str, *, bold: bool = False) -> str:
    """Words centred over x, kept inside the strip."""
    half = (5.3 if bold else 4.7) * len(words)  # a wide system font
    x = min(max(x, half + 2), WIDTH - half - 2)
    weight = ' font-weight="bold"' if bold else ""
    return f'<text x="{x:.1f}" y="{y}" text-anchor="middle"{weight}>{escape(words)}</text>'
