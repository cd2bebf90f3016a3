"""Names run together: what is said must name each body once and no other."""

import re

import pytest

from moldplan.cut.names import in_stack, listed


@pytest.mark.parametrize(("names", "said"), [
    (["rack.bottle rib 1"], "rack.bottle rib 1"),
    ([f"rack.bottle rib {n}" for n in range(1, 9)], "rack.bottle rib 1 to 8"),
    (["lift 1", "lift 3", "lift 4"], "lift: 1, 3 and 4"),
    (["a.hatch forward side sheet 1", "a.hatch aft side sheet 1"], "a.hatch: forward side sheet 1, aft side sheet 1"),
    (["hull 32 lift 2", "hull 33 lift 2"], "hull 32 and 33 lift 2"),
    (["hull32 lift 9", "hull32 lift 10"], "hull32 lift 9 and 10"),
    (["port fence", "starboard fence"], "port fence, starboard fence"),
])  # fmt: skip
def test_names_that_follow_each_other_are_run_together(names, said):
    assert listed(names) == said


@pytest.mark.parametrize("left_out", [None, 0, 3, 7])
def test_ribs_of_several_sheets_are_all_named(left_out):
    """Read back by hand: every pair of numbers that the words allow is a name, and every name is allowed once."""
    names = [f"rack.left rib {r} sheet {s}" for r in (1, 2, 3, 4) for s in (1, 2)]
    names = [name for k, name in enumerate(names) if k != left_out]
    cell = listed(names).removeprefix("rack.left rib: ")
    read = []
    for words in cell.removeprefix("rack.left rib ").split(", "):
        ribs, sheets = (numbers(part) for part in words.removeprefix("rib ").split(" sheet "))
        read += [f"rack.left rib {r} sheet {s}" for r in ribs for s in sheets]
    assert sorted(read) == sorted(names)
    assert len(cell) < len(", ".join(names))


def numbers(words):
    low, high = re.fullmatch(r"(\d+)(?: (?:and|to) (\d+))?", words).groups()
    return range(int(low), int(high or low) + 1)


@pytest.mark.parametrize(("orders", "said"), [
    ((), ""), (("", ""), ""), (("2 of 3 from below",), "2 of 3 from below"),
    (("2 of 5 from below", "3 of 5 from below"), "2 and 3 of 5 from below"),
    (("1 of 4 from below",) * 4, "1 of 4 from below"),
    (("1 of 3 from below", "1 of 4 from below"), "1 of 3 from below, 1 of 4 from below")])
def test_places_in_stacks_in_one_cell(orders, said):
    assert in_stack(orders) == said
