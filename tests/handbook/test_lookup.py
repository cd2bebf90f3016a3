"""The handbook: every row whole, every refusal clear. The figures themselves are held in tests/published."""

import math

import pytest

from moldplan.errors import MoldplanError
from moldplan.handbook import lookup
from moldplan.handbook.lookup import HandbookError, limit, limit_names, table

TABLES = [title for title in lookup.TABLES if title != "limits"]


@pytest.mark.parametrize("name", limit_names())
def test_a_limit_has_a_number_a_unit_a_source_and_a_meaning(name):
    found = limit(name)
    assert found.name == name
    assert math.isfinite(found.value)
    assert found.unit in {"mm", "deg", "mm/mm", "mm2", "kg", "kPa", "N", "N/N", "MPa", "L", "s", "straps", "pieces",
                          "drains", "L/s"}
    assert found.sense in {"at_least", "at_most"}
    assert len(found.meaning) > 20


@pytest.mark.parametrize("name", limit_names())
def test_a_practice_or_an_assumption_names_no_document_that_could_be_looked_up(name):
    source = limit(name).source
    nameless = source.document in {"common practice, no source", "our own assumption"}
    assert nameless == (source.how_read in {"practice", "ours"}), source


@pytest.mark.parametrize("title", TABLES)
def test_every_row_lies_in_its_own_range_and_says_where_it_is_from(title):
    rows = table(title).rows.values()
    assert rows
    for row in rows:
        assert row.meaning and row.source.document and row.source.how_read != "spec"
        if row.unit != "text":
            assert row.usual(row.number) == row.number


def test_no_file_of_the_room_lies_there_unread():
    """Each CSV is a table that can be asked for here, or is read by the module of the same name."""
    from importlib import resources

    there = {file.name for file in resources.files("moldplan.handbook").iterdir()}
    own = {name for name in there if name.endswith(".csv") and name.replace(".csv", ".py") in there}
    assert {name for name in there if name.endswith(".csv")} - own == {f"{title}.csv" for title in lookup.TABLES}


@pytest.mark.parametrize(
    ("ask", "told"),
    [
        (lambda: limit("drft"), "did you mean 'draft'"),
        (lambda: limit("colour"), "there are draft"),
        (lambda: table("limits"), "no table"),
        (lambda: table("densites"), "did you mean 'densities'"),
        (lambda: table("densities").entry("basalt", "density"), "has no 'basalt'"),
        (lambda: table("stock").entry("board", "colour"), "has no 'colour' for board"),
        (lambda: table("densities").number("e-glass", "density", unit="g/cm3"), "is in kg/m3, not in g/cm3"),
        (lambda: table("stock").number("board", "kind", unit="text"), "words, not a number"),
        (lambda: table("stock").text("board", "thickness"), "a number in mm, not words"),
        (lambda: table("fibre_fraction").entry("e-glass mat", "by hand").usual(0.5), "the table's 0.25 to 0.35"),
        (lambda: table("fibre_fraction").entry("e-glass mat", "by hand").usual(math.nan), "outside the table's"),
    ],
)
def test_what_a_table_does_not_carry_is_refused_by_name(ask, told):
    with pytest.raises(HandbookError) as refusal:
        ask()
    assert told in str(refusal.value)
    assert isinstance(refusal.value, MoldplanError)


LIMITS = "name,value,unit,sense,document,edition,clause,how_read,meaning\n"


@pytest.mark.parametrize(
    ("title", "text", "told"),
    [
        ("limits", LIMITS + "a,nan,mm,at_least,d,,,ours,m", "no finite"),
        ("limits", LIMITS + "a,1,mm,about,d,,,ours,m", "sense 'about'"),
        ("limits", LIMITS + "a,1,mm,at_least,d,,,heard,m", "how_read"),
        ("limits", LIMITS + "a,1,mm,at_least,,,,ours,m", "document"),
        ("limits", LIMITS + "a,1,mm,at_least,d,,,ours", "wrong width"),
        ("limits", LIMITS + "a,1,mm,at_least,d,,,ours,m\na,1,mm,at_least,d,,,ours,m", "csv:3: a stands twice"),
        ("gaps", "name,what,value,low,high,unit,document,edition,clause,how_read,meaning\n"
                 "a,gap,1,,,mm,d,,,ours,m\na,gap,2,,,mm,d,,,ours,m", "csv:3: a, gap stands twice"),
    ],
)
def test_a_bad_file_is_refused_with_its_line(monkeypatch, tmp_path, title, text, told):
    (tmp_path / f"{title}.csv").write_text(text, encoding="utf-8")
    monkeypatch.setattr(lookup.resources, "files", lambda package: tmp_path)
    with pytest.raises(HandbookError, match=told):
        lookup._limits.__wrapped__() if title == "limits" else lookup.table.__wrapped__(title)


def test_a_limit_may_be_asked_for_in_a_row_order_that_a_spec_can_rely_on():
    assert len(set(limit_names())) == len(limit_names())
    assert limit("draft").unit == "deg" and limit("stack-error").sense == "at_most"
