"""Cautions: what must be said for each content. The wording is ours; the subjects are typed here."""

import pytest

from moldplan.handbook.cautions import cautions

ALWAYS = ("clamp", "dust", "resin", "surveyor")


def told(*contents):
    return " ".join(cautions(contents)).lower()


@pytest.mark.parametrize("word", ALWAYS)
@pytest.mark.parametrize("contents", [(), ("other",), ("lp gas",), ("breathing air", "inert gas")])
def test_every_plan_speaks_of_the_work_itself(word, contents):
    assert word in told(*contents)


def test_gas_is_said_to_be_heavier_than_air_only_where_there_is_gas():
    assert "heavier than air" in told("lp gas")
    assert "heavier than air" not in told("breathing air")


@pytest.mark.parametrize("contents", ["breathing air", "oxygen-enriched gas", "inert gas"])
def test_a_bottle_under_pressure_is_said_to_be_one(contents):
    assert set(cautions([contents])) - set(cautions([])), contents
    assert not set(cautions(["other"])) - set(cautions([]))


def test_nothing_is_said_twice_and_nothing_is_called_safe_by_us():
    everything = cautions(["lp gas", "breathing air", "oxygen-enriched gas", "inert gas", "lp gas"])
    assert len(set(everything)) == len(everything)
    assert "compliant" not in " ".join(everything).lower() and "approved" not in " ".join(everything).lower()


def test_gas_is_said_to_layer_and_to_need_a_qualified_person_and_its_lockers_fire_resistance_not_to_be_judged():
    text = told("lp gas")
    assert "does not mix evenly" in text and "lower explosive limit" in text
    assert "qualified gas fitter" in text and "rules of your flag and place" in text
    assert "fire resistance" in text and "not judged" in text
    assert "mix evenly" not in told("breathing air")


def test_drains_and_published_limits_have_their_own_cautions():
    assert "can sink a boat" in " ".join(cautions([], besides=["drains"])) and "sink" not in told()
    rules = " ".join(cautions([], besides=["rules"]))
    assert "remembered" in rules and "licensed person" in rules and "licensed" not in told()
