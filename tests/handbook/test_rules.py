"""Published sets of limits: every row whole, chosen by name, and when it may be judged. Figures: tests/published."""

import math

import pytest

from moldplan.handbook import rules
from moldplan.handbook.lookup import HandbookError
from moldplan.handbook.rules import (
    OURS,
    WORDS,
    YES,
    Condition,
    checked,
    differences,
    limits_for,
    quantities,
    rule_sets,
    side_by_side,
)

EVERY = [rule for quantity in quantities() for rule in side_by_side(quantity)]
FACTS = {"category", "craft", "route", "stowage", "built", "gas mass", "bore", "length", "well"}


@pytest.mark.parametrize("rule", EVERY, ids=lambda r: f"{r.rules}, {r.quantity}, {r.value[:12]}")
def test_a_rule_has_figure_or_words_a_document_and_how_it_was_read(rule):
    assert rule.source.document and rule.source.how_read != "spec" and len(rule.meaning) > 10
    assert (rule.sense is None) == (rule.unit == WORDS)
    if rule.unit != WORDS:
        assert math.isfinite(rule.number)
    if rule.unit == YES:
        assert (rule.number, rule.sense) == (1, "at_least")
    assert {condition.fact for condition in rule.when} <= FACTS
    assert (rule.rules == OURS) == (rule.source.document == "our own assumption")


@pytest.mark.parametrize("quantity", quantities())
def test_one_quantity_is_in_one_unit_and_sense_everywhere(quantity):
    assert len({(rule.unit, rule.sense) for rule in side_by_side(quantity)}) == 1


def test_a_set_says_one_thing_on_a_quantity_once_all_facts_are_known():
    """Two figures of one document on the same boat would contradict each other."""
    for category in "ABCD":
        for craft in ("monohull sail", "other"):
            for built, mass in (("1999-01-01", 10), ("1999-01-01", 20), ("2020-01-01", 10)):
                facts = {"category": category, "craft": craft, "route": "exposed", "stowage": "locker", "built": built,
                         "gas mass": mass, "bore": 25, "length": 9, "well": "aft"}
                for name in rule_sets():
                    for quantity in quantities([name]):
                        found = limits_for([name], quantity, facts)
                        assert len(found) <= 1, (name, quantity)
                        assert not found or found[0].applies(facts)


def test_a_set_called_remembered_is_judged_nowhere():
    rows = [rule for rule in EVERY if rule.rules.endswith("as remembered") and rule.unit != WORDS]
    assert rows and all(rule.source.how_read == "remembered" for rule in rows)
    assert all(rule.why_not_judged({c.fact: c.values[0] for c in rule.when}) for rule in rows)


def test_ours_applies_when_none_is_chosen_and_only_then():
    assert checked([]) == (OURS,)
    assert {rule.rules for rule in limits_for([], "gas drain bore")} == {OURS}
    assert {rule.rules for rule in limits_for(["abyc a-1 as reported"], "gas drain bore")} == {"abyc a-1 as reported"}


def test_several_sets_are_told_in_the_builders_order():
    found = limits_for(["abyc a-1 as reported", "iso 10239 as reported"], "gas drain bore")
    assert [rule.rules for rule in found] == ["abyc a-1 as reported", "iso 10239 as reported"]


def test_silence_is_no_figure():
    assert limits_for(["46 cfr lp gas"], "gas drain bore") == ()


@pytest.mark.parametrize(("ask", "told"), [
    (lambda: checked(["iso 10239"]), "did you mean 'iso 10239 as reported'"),
    (lambda: checked(["nothing of the kind"]), "there are"),
    (lambda: limits_for([], "gas drain boar"), "did you mean 'gas drain bore'"),
    (lambda: limits_for(["46 cfr 178"], "drain area")[0].number, "words, not a number")])
def test_what_is_not_there_is_refused_with_the_nearest(ask, told):
    with pytest.raises(HandbookError, match=told):
        ask()


@pytest.mark.parametrize(("condition", "facts", "holds"), [
    (Condition("bore", "<=", ("63.5",)), {"bore": 63.5}, True),
    (Condition("bore", "<", ("63.5",)), {"bore": 63.5}, False),
    (Condition("bore", ">", ("9",)), {"bore": 10}, True),  # as numbers, not as words
    (Condition("built", "<", ("2000-01-03",)), {"built": "2000-01-02"}, True),
    (Condition("built", ">=", ("2000-01-03",)), {"built": "2000-01-03"}, True),
    (Condition("route", "=", ("a", "b")), {"route": "b"}, True),
    (Condition("route", "=", ("a",)), {"route": "b"}, False),
    (Condition("route", "=", ("a",)), {}, None), (Condition("bore", ">", ("9",)), {"bore": math.nan}, False)])
def test_a_condition_holds_fails_or_is_not_known(condition, facts, holds):
    assert condition.holds(facts) is holds


def test_a_rule_with_one_condition_failed_is_out_whatever_else_is_unknown():
    assert not limits_for(["uk boat safety scheme"], "gas drain bore", {"built": "2001-01-01"})[1:]


def test_documents_that_agree_are_no_difference_and_ours_is_no_document():
    assert all(OURS not in {rule.rules for rule in d.rules} for d in differences())
    assert "drain count" not in {d.quantity for d in differences()}


@pytest.mark.parametrize(("row", "told"), [
    ({"value": "many"}, "no finite number"), ({"value": "nan"}, "no finite number"), ({"sense": "about"}, "sense"),
    ({"sense": ""}, "sense"), ({"unit": "text"}, "sense"), ({"how_read": "guessed"}, "how_read"),
    ({"document": ""}, "document"), ({"when": "sometimes"}, "no condition")])
def test_a_damaged_row_is_refused_by_its_line(row, told):
    whole = {"rules": "r", "quantity": "q", "value": "1", "unit": "mm", "sense": "at_least", "when": "",
             "document": "d", "edition": "", "clause": "", "how_read": "seen", "meaning": "m"}
    assert rules._rule(7, whole).number == 1
    with pytest.raises(HandbookError, match=f"rules.csv:7: .*{told}"):
        rules._rule(7, whole | row)
