"""The cautions a plan prints, by what is in it.

In       cautions.csv beside this module (own words), the contents of the plan's cylinders, what else is in it.
Out      the texts that apply.
Not here cautions that depend on geometry or on who stands beside whom (check/).
"""

from __future__ import annotations

import csv
from collections.abc import Iterable
from importlib import resources
from typing import Literal

Topic = Literal["drains", "rules"]

PRESSURE = ("breathing air", "oxygen-enriched gas", "inert gas")


def cautions(contents: Iterable[str], *, besides: Iterable[Topic] = ()) -> tuple[str, ...]:
    """Texts that apply where cylinders hold `contents`, in the table's order.

    `besides`: "drains" where water must leave, "rules" where published limits are held.
    """
    held = set(contents)
    topics = {"always", *besides} | (held & {"lp gas"}) | ({"pressure"} if held & set(PRESSURE) else set())
    with resources.files("moldplan.handbook").joinpath("cautions.csv").open("r", encoding="utf-8") as file:
        return tuple(row["text"] for row in csv.DictReader(file) if row["applies"] in topics)
