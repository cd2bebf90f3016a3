"""What the terminal says: answer, fails with cures, close, counts, cautions; expected texts typed by hand."""

import math
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from moldplan.finding import Cure, Finding, Source
from moldplan.report import terminal


def finding(**fields):
    made = {"check": "draft", "part": "block/galley", "what": "wall draft", "measured": 4.0, "limit": 3.0,
            "sense": "at_least", "unit": "deg", "source": Source(document="a test", how_read="ours")}
    return Finding(**{**made, **fields})


@dataclass
class Told:
    answer: str = "The cylinder fits."
    findings: tuple = ()
    cautions: tuple = ()
    places: dict = field(default_factory=dict)


def told(*findings, cautions=(), written=None, colour=False):
    return list(terminal.lines(Told(findings=findings, cautions=cautions), written=written, colour=colour))


def test_the_order_is_answer_fails_with_cures_close_counts_cautions_files():
    cure = Cure("Raise the draft to 3 deg (re-checked)", rechecked=True)
    lines = told(
        finding(), finding(what="wall gap", check="clearance", measured=1.02, limit=1.0, unit="mm"),
        finding(measured=2.5, cure=cure), finding(measured=None, skipped="no lid is given"),
        cautions=("Gas sinks.",), written=Path("outputs/a"))
    assert lines == [
        "The cylinder fits.",
        "fails  block/galley  wall draft  2.5 deg  at least 3 deg  0.5 deg short",
        "       cure: Raise the draft to 3 deg (re-checked)",
        "close  block/galley  wall gap    1.02 mm  at least 1 mm   0.02 mm to spare",
        "Of 4 findings: 1 fail, 1 close, 1 hold, 1 not judged.",
        "caution: Gas sinks.",
        "Wrote outputs/a. Open outputs/a/report.html"]


def test_a_fail_without_a_cure_says_what_was_tried():
    lines = told(finding(measured=1.0, cure=Cure("None found", tried=("more draft", "a shallower seat"))),
                 finding(measured=1.0, part="b"))
    assert lines[2] == "       None found; tried: more draft, a shallower seat"
    assert lines[4] == "       no cure was looked for"


def test_a_fail_names_the_line_of_its_field():
    one = finding(measured=1.0, cure=Cure("deeper (re-checked)", rechecked=True))
    made = Told(findings=(one, finding(part="b")), places={one.id: "a.yaml:7:3: cutter.spacing", "b": "a.yaml:9:9: x"})
    assert list(terminal.lines(made, written=None, colour=False))[2:4] == [
        "       a.yaml:7:3: cutter.spacing", "       cure: deeper (re-checked)"]


def test_where_a_finding_stands_is_told_with_its_attitude():
    (_, line, *_) = told(finding(measured=1.0, at={"heel": 12.0, "trim": -2.0}))
    assert line.endswith("2 deg short  heel 12 deg, trim -2 deg")


@pytest.mark.parametrize(("measured", "limit", "sense", "texts"), [
    (2.9999999, 3.0, "at_least", ("2.9999999 deg", "at least 3 deg", "0.0000001 deg short")),
    (2.996, 3.0, "at_least", ("2.996 deg", "at least 3 deg", "0.004 deg short")),
    (3.0, 3.0, "at_least", ("3 deg", "at least 3 deg", "0 deg to spare")),
    (123.44, 120.0, "at_most", ("123.4 deg", "at most 120 deg", "3.4 deg over")),
    (5.0, (4.0, 8.0), "between", ("5 deg", "between 4 and 8 deg", "1 deg to spare")),
])
def test_a_limit_missed_by_a_hair_is_seen_to_be_missed(measured, limit, sense, texts):
    assert terminal.figures(finding(measured=measured, limit=limit, sense=sense)) == texts


def test_a_slope_has_no_unit_and_four_decimals():
    slope = finding(measured=0.0123, limit=0.01, unit="mm/mm")
    assert terminal.figures(slope) == ("0.0123", "at least 0.01", "0.0023 to spare")


def test_a_nan_is_printed_and_fails():
    lines = told(finding(measured=math.nan))
    assert lines[1].startswith("fails  block/galley  wall draft  nan deg")


def test_colour_only_repeats_the_words():
    plain = told(finding(measured=1.0), finding(measured=3.1))
    coloured = told(finding(measured=1.0), finding(measured=3.1), colour=True)
    assert any("\x1b[31mfails\x1b[0m" in line for line in coloured)
    strip = [line.replace(terminal.BOLD, "").replace(terminal.RED, "").replace(terminal.YELLOW, "").replace(
        terminal.END, "") for line in coloured]
    assert strip == plain
