"""What a field of the spec is made of: type, unit, range, meaning and reason, said once, beside the field.

In       the builder's scalars.
Out      annotated types for model.py; the validator, the error line, the JSON Schema and the manual all read them.
Not here the grammar of quantities (quantity.py), the fields themselves (model.py), error lines (mistakes.py).
"""

from __future__ import annotations

import types
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cache
from typing import Annotated, Any, ClassVar, Literal, Union, get_args, get_origin

import annotated_types
from pydantic import BaseModel, ConfigDict, Field, model_validator
from pydantic.fields import FieldInfo
from pydantic_core import PydanticUndefined, core_schema

from moldplan import quantity
from moldplan.quantity import Kind, QuantityError


@dataclass(frozen=True)
class Reads:
    """Annotation: the field is read by this function of quantity.py, and is of this kind."""

    by: Callable[[object], object]
    kind: Kind

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> Any:
        return core_schema.no_info_before_validator_function(self.by, handler(source))

    def __get_pydantic_json_schema__(self, schema: Any, handler: Any) -> dict[str, Any]:
        number: dict[str, Any] = {"type": "number"} if self.kind.bare else {"const": 0}
        return {"anyOf": [number, {"type": "string"}]}


class Rule(ValueError):
    """A rule of a part that its fields break together: which field is to blame ("" for the part), what is allowed."""

    def __init__(self, field: str, allowed: str, why: str):
        self.field, self.allowed, self.why = field, allowed, why
        super().__init__(f"allowed {allowed}, because {why}")


@dataclass(frozen=True)
class OrWord:
    """Annotation of `list type | words`: either serves. pydantic's own union would give two errors for one mistake."""

    words: tuple[str, ...]
    example: str

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> Any:
        listed = next(each for each in get_args(source) if get_origin(each) is tuple)
        return core_schema.no_info_wrap_validator_function(self._judged, handler.generate_schema(listed))

    def __get_pydantic_json_schema__(self, schema: Any, handler: Any) -> dict[str, Any]:
        return {"anyOf": [{"enum": list(self.words)}, handler(schema["schema"])]}

    def _judged(self, value: Any, inner: Callable[[Any], Any]) -> Any:
        if isinstance(value, str) and value in self.words:
            return value
        if isinstance(value, (list, tuple)):
            return inner(value)
        raise QuantityError(f"{', '.join(self.words)}, or {self.example}",
                            "it is neither such a word nor a point")


@dataclass(frozen=True)
class Between:
    """Annotation: the range of a toleranced length [mm], which pydantic's own ge and le cannot judge."""

    low: float
    high: float

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> Any:
        return core_schema.no_info_after_validator_function(self._judged, handler(source))

    def __get_pydantic_json_schema__(self, schema: Any, handler: Any) -> dict[str, Any]:
        return {**handler(schema), "minimum": self.low, "maximum": self.high}

    def _judged(self, value: quantity.Toleranced) -> quantity.Toleranced:
        if not self.low <= value.value <= self.high:
            raise QuantityError(f"{quantity.plain(self.low)} to {quantity.plain(self.high)} mm", "")
        return value


Length = Annotated[float, Reads(quantity.length, quantity.LENGTH)]
Angle = Annotated[float, Reads(quantity.angle, quantity.ANGLE)]
Slope = Annotated[float, Reads(quantity.slope, quantity.SLOPE)]
Mass = Annotated[float, Reads(quantity.mass, quantity.MASS)]
ArealWeight = Annotated[float, Reads(quantity.areal_weight, quantity.AREAL_WEIGHT)]
Density = Annotated[float, Reads(quantity.density, quantity.DENSITY)]
Duration = Annotated[float, Reads(quantity.duration, quantity.DURATION)]
Temperature = Annotated[float, Reads(quantity.temperature, quantity.TEMPERATURE)]
Toleranced = Annotated[quantity.Toleranced, Reads(quantity.toleranced, quantity.LENGTH)]

Coordinate = Annotated[Length, Field(ge=-20_000, le=20_000)]
Side = Annotated[Length, Field(gt=0, le=20_000)]
Point2 = tuple[Coordinate, Coordinate]
Point3 = tuple[Coordinate, Coordinate, Coordinate]
Size2 = tuple[Side, Side]
Size3 = tuple[Side, Side, Side]


def within(low: float, high: float, meaning: str, why: str, *, default: Any = PydanticUndefined,
           usual_least: float | None = None) -> Any:
    """A number's field: range in the field's unit, what it means, and why the range is what it is.

    A bare number under `usual_least` [mm] that would be usual in inches gets a "did you mean" caution.
    """
    return Field(default=default, ge=low, le=high, description=meaning, json_schema_extra=_extra(why, usual_least))


def says(meaning: str, *, why: str = "", default: Any = PydanticUndefined, default_factory: Any = None,
         usual_least: float | None = None) -> Any:
    """A field that is no number of its own: its meaning."""
    if default_factory is not None:
        return Field(default_factory=default_factory, description=meaning, json_schema_extra=_extra(why, usual_least))
    return Field(default=default, description=meaning, json_schema_extra=_extra(why, usual_least))


def _extra(why: str, usual_least: float | None) -> dict[str, Any]:
    return {name: value for name, value in (("why", why), ("usual_least", usual_least)) if value}


class SpecPart(BaseModel):
    """A part of the spec: frozen, no unknown keys, no infinities.

    `SHORTHAND` names the field that a bare scalar stands for: `insert: board` means `insert: {stock: board}`.
    `LISTED` is the JSON Schema of a list that may stand for the whole part; the part itself reads it.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False, populate_by_name=True)
    SHORTHAND: ClassVar[str] = ""
    LISTED: ClassVar[dict[str, Any] | None] = None

    @model_validator(mode="before")
    @classmethod
    def _from_shorthand(cls, value: Any) -> Any:
        if cls.SHORTHAND and isinstance(value, (str, int, float)) and not isinstance(value, bool):
            return {cls.SHORTHAND: value}
        if isinstance(value, dict) and any(isinstance(each, bool) for each in value.values()):
            # pydantic would take true for 1: as text it is refused along with every other mistake
            truths = [name for name, here in _slots(cls).items() if here.numeric and isinstance(value.get(name), bool)]
            return {**value, **dict.fromkeys(truths, "true or false")}
        return value


@dataclass(frozen=True)
class Slot:
    """What one place in a spec is: the field it belongs to, its bare type, and what was annotated to it."""

    type: Any
    info: FieldInfo | None = None
    notes: tuple[Any, ...] = ()
    owner: type[SpecPart] | None = None

    @property
    def kind(self) -> Kind | None:
        return next((note.kind for note in self.notes if isinstance(note, Reads)), None)

    @property
    def part(self) -> type[SpecPart] | None:
        """The model class that stands here, if one does."""
        return self.type if isinstance(self.type, type) and issubclass(self.type, SpecPart) else None

    @property
    def numeric(self) -> bool:
        """Whether a bare number stands here, or one of some."""
        some = get_args(self.type) if get_origin(self.type) is Literal else ()
        return self.type in (int, float) or any(isinstance(each, int) for each in some)

    @property
    def meaning(self) -> str:
        return (self.info.description or "") if self.info else ""

    def extra(self, name: str) -> Any:
        extra = self.info.json_schema_extra if self.info else None
        return extra.get(name) if isinstance(extra, dict) else None

    @property
    def words(self) -> tuple[str, ...]:
        """The values of a field that is a choice of words."""
        return tuple(str(word) for word in get_args(self.type)) if get_origin(self.type) is Literal else ()

    @property
    def range(self) -> tuple[float | None, float | None, bool]:
        """(least, most, least itself excluded) in the kind's own unit."""
        low: float | None = None
        high: float | None = None
        open_ = False
        for note in self.notes:
            match note:
                case annotated_types.Ge(ge):
                    low, open_ = float(ge), False  # type: ignore[arg-type]
                case annotated_types.Gt(gt):
                    low, open_ = float(gt), True  # type: ignore[arg-type]
                case annotated_types.Le(le):
                    high = float(le)  # type: ignore[arg-type]
                case Between(least, most):
                    low, high = least, most
        return low, high, open_

    def inside(self, step: str | int) -> Slot | None:
        """The slot one step further in; None where the spec knows no such place."""
        if self.part is not None:
            return _slots(self.part).get(str(step))
        arguments = get_args(self.type)
        if get_origin(self.type) is dict:
            return slot(arguments[1], None, (), self.owner)
        if get_origin(self.type) is tuple and isinstance(step, int):
            if len(arguments) == 2 and arguments[1] is Ellipsis:
                return slot(arguments[0], self.info, (), self.owner)
            return slot(arguments[step], self.info, (), self.owner) if step < len(arguments) else None
        return None


@cache
def _slots(part: type[SpecPart]) -> dict[str, Slot]:
    """The fields of a part by the key a builder writes."""
    return {info.alias or name: slot(info.annotation, info, info.metadata, part)
            for name, info in part.model_fields.items()}


def slot(annotation: Any, info: FieldInfo | None = None, notes: Iterable[Any] = (),
         owner: type[SpecPart] | None = None) -> Slot:
    """The slot of an annotation, with `| None` and `Annotated` taken apart."""
    gathered = list(notes)
    while True:
        origin = get_origin(annotation)
        if origin is Annotated:
            annotation, *more = get_args(annotation)
            gathered = [*_flat(more), *gathered]
        elif origin in (Union, types.UnionType):
            annotation = next(each for each in get_args(annotation) if each is not type(None))
        else:
            return Slot(annotation, info, tuple(gathered), owner)


def _flat(notes: Iterable[Any]) -> list[Any]:
    flat: list[Any] = []
    for note in notes:
        flat.extend(note.metadata if isinstance(note, FieldInfo) else [note])
    return flat
