"""Many names in one cell of a table.

In       names that may begin alike and may hold numbers.
Out      listed(): "rib 1 to 8" for eight ribs; in_stack(): "2 and 3 of 5 from below".
Not here the table (table.py), what is written on a piece (label.py).
"""

from __future__ import annotations

import re
from collections.abc import Sequence


def listed(names: Sequence[str]) -> str:
    """Names in one cell: numbers that run on as "rib 1 to 8", what several share said once."""
    parts = [tuple(re.split(r"(\d+)(?=\s|$)", name)) for name in names]
    for place in range(max(map(len, parts), default=0) - 1, -1, -1):
        parts = _run_together(parts, place)
    groups: dict[str, list[list[str]]] = {}
    for words in ("".join(part).split(" ") for part in parts):
        groups.setdefault(words[0], []).append(words)
    return ", ".join(_shared(group) for group in groups.values())


def in_stack(orders: Sequence[str]) -> str:
    """Places in their stacks of all copies of a piece in one cell: "2 and 3 of 5 from below"; empty where none is."""
    alike: dict[str, list[str]] = {}
    for order in filter(None, dict.fromkeys(orders)):
        alike.setdefault(order.partition(" ")[2], []).append(order)
    return ", ".join(listed(own) for own in alike.values())


def _run_together(parts: Sequence[tuple[str, ...]], place: int) -> list[tuple[str, ...]]:
    """Names that are alike but for the number at one place, as one name where their numbers follow each other."""
    alike: dict[tuple[str, ...], list[int]] = {}
    for part in parts:
        if len(part) > place and part[place].isdigit():
            alike.setdefault((*part[:place], "", *part[place + 1 :]), []).append(int(part[place]))
        else:
            alike.setdefault(part, [])
    found: list[tuple[str, ...]] = []
    for part, numbers in alike.items():
        runs: list[list[int]] = []
        for number in sorted(set(numbers)):
            if runs and number == runs[-1][-1] + 1:
                runs[-1].append(number)
            else:
                runs.append([number])
        found += [(*part[:place], _from_to(run), *part[place + 1 :]) for run in runs] or [part]
    return found


def _from_to(run: Sequence[int]) -> str:
    if len(run) == 1:
        return str(run[0])
    return f"{run[0]} {'and' if len(run) == 2 else 'to'} {run[-1]}"


def _shared(group: Sequence[Sequence[str]]) -> str:
    """Names that begin alike: what they share, then the rest of each."""
    least = min(map(len, group))
    same = next((k for k in range(least) if len({words[k] for words in group}) > 1), least)
    if len(group) == 1 or same == least:
        return ", ".join(" ".join(words) for words in group)
    return f"{' '.join(group[0][:same])}: {', '.join(' '.join(words[same:]) for words in group)}"
