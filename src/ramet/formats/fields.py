"""What the file models share: strictness, and numbers that may be written with a unit."""

from typing import Annotated, Any

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field

from ramet.domain.quantities import to_unit


class FileModel(BaseModel):
    """Base of all file models: unknown keys are errors, values are frozen."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True, allow_inf_nan=False)


def _reader(unit: str) -> BeforeValidator:
    def read(value: Any) -> Any:
        if isinstance(value, bool):
            raise ValueError("a number")
        return to_unit(value, unit) if isinstance(value, str) else value

    return BeforeValidator(read, json_schema_input_type=float | str)


def _finite(value: float) -> float:
    if value != value or abs(value) == float("inf"):
        raise ValueError("a finite number")
    return value


Celsius = Annotated[float, _reader("c"), AfterValidator(_finite), Field(ge=-60, le=70)]
Millimetres = Annotated[float, _reader("mm"), AfterValidator(_finite), Field(gt=0)]
Kilograms = Annotated[float, _reader("kg"), AfterValidator(_finite), Field(gt=0)]
Grams = Annotated[float, _reader("g"), AfterValidator(_finite), Field(gt=0)]
Litres = Annotated[float, _reader("l"), AfterValidator(_finite), Field(gt=0)]
Hours = Annotated[float, _reader("h"), AfterValidator(_finite), Field(ge=0)]
Days = Annotated[float, _reader("d"), AfterValidator(_finite), Field(ge=0)]
MeqL = Annotated[float, _reader("meq_l"), AfterValidator(_finite), Field(ge=0, le=10)]
Dkh = Annotated[float, _reader("dkh"), AfterValidator(_finite), Field(ge=0, le=30)]
MgL = Annotated[float, _reader("mg_l"), AfterValidator(_finite), Field(ge=0)]
CmPerS = Annotated[float, _reader("cm_s"), AfterValidator(_finite), Field(ge=0)]
SquareCm = Annotated[float, _reader("cm2"), AfterValidator(_finite), Field(ge=0)]
Atmospheres = Annotated[float, _reader("atm"), AfterValidator(_finite), Field(ge=0.5, le=1.2)]
Micrometres = Annotated[float, _reader("um"), AfterValidator(_finite), Field(gt=0)]
Watts = Annotated[float, _reader("w"), AfterValidator(_finite), Field(ge=0)]
Share = Annotated[float, Field(ge=0, le=1)]
Salinity = Annotated[float, Field(ge=0, le=45)]
Par = Annotated[float, Field(ge=0, le=2500)]
SizeMm = tuple[Millimetres, Millimetres, Millimetres]
