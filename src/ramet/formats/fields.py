"""What the file models share: strictness, numbers that may be written with a unit, rules across keys."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, GetCoreSchemaHandler
from pydantic_core import CoreSchema, core_schema

from ramet.domain.quantities import to_unit


class FileModel(BaseModel):
    """Base of all file models: unknown keys are errors, values are frozen."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True, allow_inf_nan=False)


@dataclass(frozen=True, slots=True)
class Misfit:
    """One thing wrong between keys: the path below the checked value, what stands there, what is expected."""

    path: tuple[str | int, ...]
    value: str | None
    expected: str


class Misfits(ValueError):
    """All that is wrong between the keys of one value, so that a reader can name each place."""

    def __init__(self, found: Sequence[Misfit]) -> None:
        self.found = tuple(found)
        super().__init__("; ".join(one.expected for one in found))


@dataclass(frozen=True, slots=True)
class InUnit:
    """Marks a number in the unit of its key, which may also be text with a unit ("72 °F"), and its bounds."""

    unit: str
    ge: float | None = None
    gt: float | None = None
    le: float | None = None

    def read(self, value: Any) -> Any:
        """Turn text with a unit into a number; leave all else to the number's own check."""
        return to_unit(value, self.unit) if isinstance(value, str) else value

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        number = core_schema.float_schema(
            ge=self.ge, gt=self.gt, le=self.le, allow_inf_nan=False, strict=True
        )
        text = core_schema.str_schema()
        return core_schema.no_info_before_validator_function(
            self.read, number, json_schema_input_schema=core_schema.union_schema([number, text])
        )


@dataclass(frozen=True, slots=True)
class ByName:
    """Marks a table that may be written as its name alone."""

    def read(self, value: Any) -> Any:
        """Turn a name into a table that holds it."""
        return {"name": value} if isinstance(value, str) else value

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        table = handler(source)
        return core_schema.no_info_before_validator_function(
            self.read,
            table,
            json_schema_input_schema=core_schema.union_schema([table, core_schema.str_schema()]),
        )


Celsius = Annotated[float, InUnit("c", ge=-60, le=70)]
Millimetres = Annotated[float, InUnit("mm", gt=0)]
Kilograms = Annotated[float, InUnit("kg", gt=0)]
Grams = Annotated[float, InUnit("g", gt=0)]
Litres = Annotated[float, InUnit("l", gt=0)]
Hours = Annotated[float, InUnit("h", ge=0)]
Days = Annotated[float, InUnit("d", ge=0)]
MeqL = Annotated[float, InUnit("meq_l", ge=0, le=10)]
Dkh = Annotated[float, InUnit("dkh", ge=0, le=30)]
MgL = Annotated[float, InUnit("mg_l", ge=0)]
CmPerS = Annotated[float, InUnit("cm_s", ge=0)]
SquareCm = Annotated[float, InUnit("cm2", ge=0)]
Atmospheres = Annotated[float, InUnit("atm", ge=0.5, le=1.2)]
Micrometres = Annotated[float, InUnit("um", gt=0)]
Share = Annotated[float, Field(ge=0, le=1)]
Salinity = Annotated[float, Field(ge=0, le=45)]
Par = Annotated[float, Field(ge=0, le=2500)]
SizeMm = tuple[Millimetres, Millimetres, Millimetres]
