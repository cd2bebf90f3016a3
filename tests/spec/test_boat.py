"""What a spec says of the boat for rules to ask, and the names of the rules picked."""

import pytest

from moldplan.errors import SpecError
from moldplan.spec.load import read_text

LOCKER = "moldplan: 1\ntitle: x\nlockers: {a: {box: {from: [0, 0, 0], to: [400, 400, 400]}}}\n"


def boat(text):
    return read_text(LOCKER + text, "s.yaml").spec


def test_what_rules_ask_for_is_read():
    spec = boat("boat: {category: B, craft: other, built: 2001-05-04, length: 9 m, route: exposed}\n"
                "rules: [abyc a-1 as reported, ours]\n")
    assert (spec.boat.category, spec.boat.craft, spec.boat.built) == ("B", "other", "2001-05-04")
    assert spec.boat.length == 9000
    assert spec.rules == ("abyc a-1 as reported", "ours")


@pytest.mark.parametrize(("text", "field", "told"), [
    ("rules: [iso 10239]", "rules.0", "iso 10239 as reported (the nearest)"),
    ("rules: [ours, ours]", "rules.1", "each set once"),
    ("boat: {built: 2001-5-4}", "boat.built", "2001-05-04"),
    ("boat: {built: 2001-02-30}", "boat.built", "2001-05-04"),
    ("boat: {category: E}", "boat.category", "A, B, C"),
    ("boat: {length: 9}", "boat.length", "1000 to 100000"),
])
def test_what_no_rule_could_ask_is_refused_with_its_line(text, field, told):
    with pytest.raises(SpecError) as caught:
        boat(text)
    (line,) = caught.value.lines
    assert line.startswith("s.yaml:4:") and f": {field} = " in line and told in line
