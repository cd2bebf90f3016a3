"""YAML scalars by the core schema of YAML 1.2 (yaml.org/spec/1.2.2, 10.3.2), marks, and what is refused on sight."""

import math
import tracemalloc

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.errors import CallError, SpecError
from moldplan.spec.source import parsed, read_source, scalar


def data_of(text, tmp_path):
    return parsed(text.encode(), tmp_path / "a.yaml", "a.yaml")


@pytest.mark.parametrize(("text", "value"), [
    ("1:40", "1:40"), ("12:30:45", "12:30:45"), ("no", "no"), ("on", "on"), ("yes", "yes"), ("012", 12),
    ("1e3", 1000.0),
    ("0o17", "0o17"), ("0x1F", "0x1F"), ("1_000", "1_000"), ("true", True), ("False", False), ("null", None),
    ("~", None),
    ("", None), (".5", 0.5), ("5.", 5.0), ("-3", -3), ("+3", 3), (".inf", math.inf), ("-.INF", -math.inf),
    ("2024-01-01", "2024-01-01"), ("9,5", "9,5"), ("1e999", math.inf), ("9" * 30, 1e30), ("=", "="), ("<<", "<<"),
])
def test_plain_scalars_follow_the_core_schema(text, value):
    assert scalar(text) == value
    assert type(scalar(text)) is type(value)


def test_quoted_scalars_are_text(tmp_path):
    assert data_of("""{a: "12", b: '1e3', c: 12, d: "no", e: |\n    x\n}""".replace("|\n    x\n", "y"),
    tmp_path).data == {
        "a": "12", "b": "1e3", "c": 12, "d": "no", "e": "y"}


def test_every_field_has_its_mark(tmp_path):
    source = data_of("a: 1\nb:\n  c: [5,\n    {d: 6}]\n", tmp_path)
    places = {path: (mark.line, mark.col) for path, mark in source.marks.items() if path}
    assert places == {("a",): (1, 1), ("b",): (2, 1), ("b", "c"): (3, 3), ("b", "c", 0): (3, 7), ("b", "c", 1): (4, 5),
                      ("b", "c", 1, "d"): (4, 6)}


@pytest.mark.parametrize(("text", "place", "says"), [
    ("", "1:1", "the file is empty"), ("# only a comment\n", "1:1", "the file is empty"),
    ("- a\n- b\n", "1:1", "a list"),
    ("hello", "1:1", "'hello'"), ("a: 1\n---\nb: 2\n", "2:1", "one document"), ("a: &x 1\n", "1:4", "anchors are not"),
    ("a: [1, *x]\n", "1:8", "aliases are not"),
    ("a: !!python/object/apply:os.system ['true']\n", "1:4", "tags are not"),
    ("a: !mine 3\n", "1:4", "tags are not"), ("a: !!float 3\n", "1:4", "tags are not"),
    ("a: {b: [1, 2}\n", "1:13", "YAML"),
    ("a:\n\tb: 1\n", "2:1", "a tab stands there"), ("a: b: c\n", "1:5", "in quotes"), ("a: 'x\n", "2:1", "YAML"),
    ("{a: x #2, b: 3}\n", "2:1", "' #'"), ("? [a, b]\n: 1\n", "1:3", "text as a key"),
    ("{{ x }}: 1\n", "1:1", "text as a key"),
    ("a: \x07\n", "1:1", "control character"), ("a: &a [*a]\n", "1:4", "anchors are not"),
    ("<<: *x\n", "1:5", "aliases are"),
    ("%YAML 9.9\n---\na: 1\n", "1:1", "YAML"), ("@a: 1\n", "1:1", "YAML"),
])
def test_what_is_no_spec_is_refused_with_its_place(text, place, says, tmp_path):
    with pytest.raises(SpecError) as error:
        data_of(text, tmp_path)
    (line,) = error.value.lines
    assert line.startswith(f"a.yaml:{place}: ")
    assert says in line
    assert "\n" not in line


def test_bytes_that_are_no_utf8_are_refused_with_their_line(tmp_path):
    with pytest.raises(SpecError, match=r"^a.yaml:2:1: .* UTF-8"):
        parsed(b"a: 1\nb: \xff\n", tmp_path / "a.yaml", "a.yaml")


def test_a_byte_order_mark_is_no_part_of_the_first_key(tmp_path):
    assert parsed(b"\xef\xbb\xbfa: 1\n", tmp_path / "a.yaml", "a.yaml").data == {"a": 1}


@pytest.mark.parametrize("text", [
    "a: " + "[" * 10_000 + "]" * 10_000, "a: " + "[" * 10_000, "a: " + "{b: " * 10_000, "- " * 10_000,
    "a: [" + "1, " * 60_000 + "1]", "".join(f"k{n}: 1\n" for n in range(50_001)),
], ids=["nest", "open nest", "maps", "dashes", "long list", "many keys"])
def test_deep_and_large_files_are_refused_in_little_memory(text, tmp_path):
    """Issue 2: 10 000 nested brackets are refused in 500 MB."""
    tracemalloc.start()
    with pytest.raises(SpecError) as error:
        data_of(text, tmp_path)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert len(error.value.lines) == 1
    assert len(error.value.lines[0]) < 400
    assert peak < 100e6


def test_an_alias_bomb_is_refused_at_its_first_anchor(tmp_path):
    bomb = "a: &a [x, x, x, x, x, x, x, x, x]\n" + "".join(
        f"{b}: &{b} [{', '.join([f'*{a}'] * 9)}]\n" for a, b in zip("abcdefgh", "bcdefghi", strict=True))
    with pytest.raises(SpecError, match=r"a.yaml:1:4: .*anchors are not kept here"):
        data_of(bomb, tmp_path)


def test_a_file_of_50_mb_is_refused_without_reading_it(tmp_path):
    file = tmp_path / "big.yaml"
    with file.open("wb") as stream:
        stream.truncate(50_000_000)
    tracemalloc.start()
    with pytest.raises(SpecError, match=r"50.0 MB, allowed up to 1 MB"):
        read_source(file, "big.yaml")
    assert tracemalloc.get_traced_memory()[1] < 5e6
    tracemalloc.stop()


def test_what_is_no_file_is_a_wrong_call(tmp_path):
    with pytest.raises(CallError, match="no such file"):
        read_source(tmp_path / "none.yaml", "none.yaml")
    with pytest.raises(CallError, match="not a file"):
        read_source(tmp_path, "folder")
    with pytest.raises(CallError, match="file name|no such file"):
        read_source(tmp_path / "a\0b", "nul")


def test_text_cut_short_by_a_comment_is_cautioned(tmp_path):
    cautions = data_of("title: Locker #2\nother: Locker # the second\nquoted: 'Locker #2'\n", tmp_path).cautions
    assert len(cautions) == 1
    assert cautions[0].startswith("a.yaml:1:8: title = 'Locker': '#2' after it counts as a comment")


@settings(max_examples=150, deadline=None)
@given(st.text(alphabet="ab:,-[]{}#&*!|>'\"%@` \t\n1.5~?<", max_size=40))
def test_any_text_gives_data_or_one_located_refusal(tmp_path_factory, text):
    try:
        source = parsed(text.encode(), tmp_path_factory.getbasetemp() / "a.yaml", "a.yaml")
    except SpecError as error:
        assert error.lines
        assert all(line.startswith("a.yaml:") for line in error.lines)
        return
    assert isinstance(source.data, dict)
    assert all(isinstance(key, str) for key in source.data)
