"""Names and words that would spoil a file, a page or a finding's id are refused, each with its place."""

import pytest

from moldplan.errors import SpecError
from moldplan.spec.load import read_text

SPEC = """\
moldplan: 1
title: "{title}"
revision: "{revision}"
cylinders: {{b: {{diameter: 100, height: 200}}}}
cradles:
  {first}
  {second}
"""
SEAT = "{cylinder: b, depth: 20, clearance_per_side: 4}"


def spec(title="t", revision="A", first=f"a: {{block: [200, 200, 60], seats: {{b: {SEAT}}}}}", second=""):
    return read_text(SPEC.format(title=title, revision=revision, first=first, second=second), "s.yaml")


@pytest.mark.parametrize("title", [r"a\nb", r"a\0b", r"a\e[31mb", r"\u202eevil", r"a\u2028b", r"\ufeffa", "  "])
def test_a_title_is_words_on_one_line(title):
    with pytest.raises(SpecError) as caught:
        spec(title=title)
    (line,) = caught.value.lines
    assert line.startswith("s.yaml:2:1: title = ") and "words on one line" in line and line.isprintable()
    with pytest.raises(SpecError, match="revision"):
        spec(revision=title[:12])


@pytest.mark.parametrize("title", [
    "Küche, 8½ m", "厨房", "\u0645\u06cc\u200c\u062e\u0648\u0627\u0647\u0645", "🛶 & <b>", "=1+1"])
def test_a_title_in_any_script_is_taken(title):
    assert spec(title=title).spec.title == title


@pytest.mark.parametrize(("first", "second", "field"), [
    (f"a: {{block: [200, 200, 60], seats: {{b.c: {SEAT}}}}}",
     f"a.b: {{block: [200, 200, 60], seats: {{c: {SEAT}}}}}", "cradles.a.b.seats.c"),
    (f"a: {{block: [200, 200, 60], seats: {{b: {SEAT}}}}}",
     f"a.B: {{block: [200, 200, 60], seats: {{x: {SEAT}}}}}", "cradles.a.B"),
    (f"a: {{block: [200, 200, 60], hand: both, at: [0, 500], seats: {{b: {SEAT}}}}}",
     f"a (port): {{block: [200, 200, 60], seats: {{b: {SEAT}}}}}", "cradles.a (port)"),
])
def test_names_that_come_to_one_when_joined_are_refused(first, second, field):
    with pytest.raises(SpecError, match="comes to the same name") as caught:
        spec(first=first, second=second)
    assert any(f": {field} = " in line for line in caught.value.lines)


@pytest.mark.parametrize("seat", ["part", "core", "cylinder", "lift 1", "no. 1", "b (port)", "シート"])
def test_names_that_merely_look_like_ours_are_taken(seat):
    assert seat in spec(first=f"part: {{block: [200, 200, 60], seats: {{{seat}: {SEAT}}}}}").spec.cradles["part"].seats
