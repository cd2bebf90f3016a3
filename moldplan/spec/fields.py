"""What a field of the spec is made of: type, unit, range, meaning and reason, said once, beside the field.

In       the builder's scalars.
Out      annotated types for model.py; the validator, the error line, the JSON Schema and the manual all read them.
Not here the grammar of quantities (quantity.py), the fields themselves (model.py).
"""

from __future__ import annotations

from typing import Annotated, Any, ClassVar

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, model_validator
from pydantic_core import PydanticUndefined

from moldplan import quantity

Length = Annotated[float, BeforeValidator(quantity.length)]
Angle = Annotated[float, BeforeValidator(quantity.angle)]
Slope = Annotated[float, BeforeValidator(quantity.slope)]
Mass = Annotated[float, BeforeValidator(quantity.mass)]
ArealWeight = Annotated[float, BeforeValidator(quantity.areal_weight)]
Density = Annotated[float, BeforeValidator(quantity.density)]
Duration = Annotated[float, BeforeValidator(quantity.duration)]
Temperature = Annotated[float, BeforeValidator(quantity.temperature)]
Toleranced = Annotated[quantity.Toleranced, BeforeValidator(quantity.toleranced)]

Coordinate = Annotated[Length, Field(ge=-20_000, le=20_000)]
Side = Annotated[Length, Field(gt=0, le=20_000)]
Point2 = tuple[Coordinate, Coordinate]
Point3 = tuple[Coordinate, Coordinate, Coordinate]
Size2 = tuple[Side, Side]
Size3 = tuple[Side, Side, Side]


def within(low: float, high: float, meaning: str, why: str, *, default: Any = PydanticUndefined) -> Any:
    """A number's field: range in the field's unit, what it means, and why the range is what it is."""
    return Field(default=default, ge=low, le=high, description=meaning, json_schema_extra={"why": why})


def says(meaning: str, *, default: Any = PydanticUndefined, default_factory: Any = None) -> Any:
    """A field that is no number: its meaning."""
    if default_factory is not None:
        return Field(default_factory=default_factory, description=meaning)
    return Field(default=default, description=meaning)


class SpecPart(BaseModel):
    """A part of the spec: frozen, no unknown keys, no infinities.

    `SHORTHAND` names the field that a bare scalar stands for: `insert: board` means `insert: {stock: board}`.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False, populate_by_name=True)
    SHORTHAND: ClassVar[str] = ""

    @model_validator(mode="before")
    @classmethod
    def _from_shorthand(cls, value: Any) -> Any:
        if cls.SHORTHAND and isinstance(value, (str, int, float)) and not isinstance(value, bool):
            return {cls.SHORTHAND: value}
        return value
