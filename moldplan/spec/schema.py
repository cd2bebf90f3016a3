"""The spec language as JSON Schema 2020-12, so that an editor completes, explains and checks while one types.

In       model.py.
Out      plain data; `moldplan schema` prints it.
Not here the wording of the program's own errors (mistakes.py), and what a schema cannot say: names that must be
         given elsewhere, parts that must meet.

pydantic writes the skeleton; it does not know that a size may carry its unit, that a bare word may stand for a part,
or why a range is what it is, so those are written over it from the same fields.
"""

from __future__ import annotations

from typing import Any

from moldplan.spec.fields import Slot, SpecPart, slot
from moldplan.spec.mistakes import range_of
from moldplan.spec.model import Spec

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def schema() -> dict[str, Any]:
    """The whole schema, ready for json.dumps."""
    skeleton = Spec.model_json_schema()
    defs = skeleton.pop("$defs", {})
    parts = {name: part for name, part in _parts(Spec, {}).items() if name in defs}
    for name, part in parts.items():
        defs[name] = _with_shorthand(_explained(defs[name], part), part)
    whole = _explained(skeleton, Spec)
    return {"$schema": DIALECT, "title": "moldplan spec", **{k: v for k, v in whole.items() if k != "title"},
            "$defs": dict(sorted(defs.items()))}


def _parts(part: type[SpecPart], found: dict[str, type[SpecPart]]) -> dict[str, type[SpecPart]]:
    """Every model class that can be reached from one, by its name."""
    for info in part.model_fields.values():
        here: Slot | None = slot(info.annotation, info, info.metadata)
        while here is not None and here.part is None:
            here = here.inside("*") or here.inside(0)
        if here is not None and here.part is not None and here.part.__name__ not in found:
            found[here.part.__name__] = here.part
            _parts(here.part, found)
    return found


def _explained(skeleton: dict[str, Any], part: type[SpecPart]) -> dict[str, Any]:
    """A part's schema with unit, range and reason beside the meaning of each field."""
    for name, info in part.model_fields.items():
        key = info.alias or name
        here = slot(info.annotation, info, info.metadata, part)
        field = skeleton["properties"][key]
        _bounded(field, here)
        for extra in ("title", "why", "usual_least"):
            field.pop(extra, None)
        field["description"], field["markdownDescription"] = _words(here)
    return skeleton


def _bounded(field: Any, here: Slot) -> None:
    """Put the range beside every number a field takes, and drop what pydantic left of it."""
    if isinstance(field, list):
        for each in field:
            _bounded(each, here)
        return
    if not isinstance(field, dict):
        return
    for stray in ("ge", "gt", "le", "lt"):
        field.pop(stray, None)
    if field.get("type") == "array" and "prefixItems" in field:
        for place, each in enumerate(field["prefixItems"]):
            inner = here.inside(place)
            if inner is not None:
                _bounded(each, inner)
        return
    if field.get("type") in ("number", "integer") and here.kind is not None:
        low, high, open_ = here.range
        if low is not None:
            field["exclusiveMinimum" if open_ else "minimum"] = low
        if high is not None:
            field["maximum"] = high
    _bounded(field.get("anyOf"), here)


def _words(here: Slot) -> tuple[str, str]:
    """Description and markdown description: meaning, unit, range, why."""
    element = here.inside(0) if here.kind is None else here
    kind = element.kind if element else None
    unit = f" [{kind.unit}]" if kind and kind.unit else ""
    span = range_of(element) if element else ""
    why = here.extra("why") or ""
    text = (here.meaning[:1].upper() + here.meaning[1:]).rstrip(".") + unit + "."
    limits = ", because ".join(filter(None, (span, why)))
    rest = [limits and limits[0].upper() + limits[1:] + ".", f"Written as {kind.example}." if kind else ""]
    lines = [line for line in rest if line]
    return " ".join((text, *lines)), "\n\n".join((f"**{text}**", *lines))


def _with_shorthand(skeleton: dict[str, Any], part: type[SpecPart]) -> dict[str, Any]:
    """The part, or the bare word or number that stands for its chief field, or the list that stands for it whole."""
    skeleton.pop("title", None)
    if part.LISTED is not None:
        return {"description": skeleton.get("description", ""), "anyOf": [part.LISTED, skeleton]}
    if not part.SHORTHAND:
        return skeleton
    short = {key: value for key, value in skeleton["properties"][part.SHORTHAND].items() if key != "default"}
    return {"description": skeleton.get("description", ""), "anyOf": [short, skeleton]}
