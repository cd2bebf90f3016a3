"""What is asked of a quantity when sets of rules are picked; figures typed here from the documents as read."""

import pytest

from moldplan.check.ruled import asked, cautions, facts_of, in_words, told
from moldplan.spec.model import Spec

ISO, UK, ABYC = "iso 10239 as reported", "uk boat safety scheme", "abyc a-1 as reported"


def spec(*rules, **boat):
    return Spec.model_validate({"moldplan": 1, "title": "t", "rules": list(rules), "boat": boat,
                                "lockers": {"l": {"box": {"from": [0, 0, 0], "to": [9, 9, 9]}}}})


def ask(quantity, *rules, facts=None, **boat):
    here = spec(*rules, **boat)
    return asked(quantity, here, facts_of(here, **(facts or {})))


def test_the_strictest_of_the_sets_picked_is_held_and_names_its_own_document():
    """19 mm against 12.7 mm of clear bore; 508 mm against 500 mm from openings."""
    bore = ask("gas drain bore", ABYC, ISO)
    assert (bore.bound.value, bore.bound.source.document[:3]) == (19, "MCA")
    assert "ABYC A-1 as reported asks for 12.7 mm" in bore.beside
    away = ask("gas outlet to openings", ISO, ABYC)
    assert (away.bound.value, away.bound.source.document) == (508, "ABYC A-1 as reported")


def test_one_set_alone_is_held_even_where_ours_is_stricter():
    assert ask("gas drain bore", ABYC).bound.value == 12.7


def test_with_none_picked_ours_is_held_and_names_the_strictest_published():
    height = ask("gas outlet height")
    assert (height.bound.value, height.bound.source.how_read) == (75, "ours")
    assert "75 mm, MCA guidance" in height.bound.source.document


def test_where_the_sets_picked_are_silent_ours_is_held():
    """The UK scheme prints no distance of the outlet from openings."""
    away = ask("gas outlet to openings", UK)
    assert (away.bound.value, away.bound.source.how_read) == (508, "ours")
    assert "say nothing" in away.beside


@pytest.mark.parametrize(("built", "mass", "bore"), [
    ("1999-12-31", 15, 12), ("1999-12-31", 16, 19), ("2000-01-03", 5, 19)])
def test_a_figure_that_depends_on_facts_waits_for_them(built, mass, bore):
    """UK scheme 7.5: 19 mm from 3 January 2000, 12 mm before, up to 15 kg of gas; not known, ours is held: 19 mm."""
    unknown = ask("gas drain bore", UK)
    assert (unknown.bound.value, unknown.bound.source.how_read) == (19, "ours")
    assert "it depends on what is not given: built" in unknown.beside
    assert ask("gas drain bore", UK, facts={"gas mass": mass}, built=built).bound.value == bore


def test_a_remembered_figure_is_told_and_never_fails_a_plan():
    floor = ask("cockpit floor height", "iso 11812 as remembered", category="A")
    found = floor.finding(check="c", part="p", what="w", measured=-1000, path=(), note="")
    assert (found.verdict, found.limit) == ("not judged", 150)
    assert "remembered" in found.skipped


def test_beside_a_remembered_one_a_figure_that_was_seen_is_held():
    """Category C: 75 mm in both."""
    floor = ask("cockpit floor height", "iso 11812 as remembered", "french division 245", category="C")
    assert (floor.bound.value, floor.bound.source.document) == (75, "French Division 245")


def test_what_neither_the_sets_nor_ours_speak_of_asks_for_nothing():
    assert ask("cockpit floor height") is None
    assert ask("cockpit floor height", ABYC) is None


def test_demands_in_words_are_told():
    here = spec("46 cfr lp gas", ISO)
    (rule,) = in_words(["gas no loose gear"], here, {})
    found = told(rule, check="gas", part="l", path=("lockers", "l"))
    assert found.verdict == "not judged" and "nothing stored loose" in found.skipped


def test_where_documents_differ_a_caution_lists_them():
    said = cautions(spec(ISO, ABYC), ["gas "], {})
    (height,) = (line for line in said if "gas outlet height:" in line)
    assert "75 mm (MCA" in height and "0 mm (ABYC A-1 as reported, second-hand)" in height
    assert not cautions(spec(ABYC), ["gas "], {})
    assert not cautions(spec(ISO, ABYC), [], {})
    of_all = cautions(spec(), ["gas "], {})
    assert any("12.7 mm" in line and "19 mm" in line for line in of_all)
