"""What a key expects, in a reader's words, worked out from the file models themselves."""

from datetime import date, datetime, time
from decimal import Decimal
from enum import Enum
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from annotated_types import Ge, Gt, Le, Lt, MinLen
from pydantic import AwareDatetime, BaseModel, StringConstraints
from pydantic.fields import FieldInfo

from ramet.domain.quantities import UNITS
from ramet.formats.fields import ByName, InUnit
from ramet.formats.toml_places import KeyPath

_MOMENT = "a date and time with an offset, such as 2027-01-20T10:00:00-07:00"
_PLAIN: dict[Any, str] = {
    bool: "true or false",
    int: "a whole number",
    float: "a number",
    Decimal: "an amount",
    str: "text in quotes",
    datetime: _MOMENT,
    AwareDatetime: _MOMENT,
    date: "a date, such as 2027-01-20",
    time: "a time of day, such as 17:00:00",
}
_UNIT_WORDS = {
    "c": "°C",
    "l": "litres",
    "ml": "ml",
    "mm": "mm",
    "meq_l": "meq/L",
    "dkh": "dKH",
    "mg_l": "mg/L",
    "cm_s": "cm/s",
    "cm2": "cm²",
    "um": "µm",
    "cm3_kg": "cm³/kg",
    "h": "hours",
    "d": "days",
    "w": "watts",
}


def expected_words(model: type[BaseModel], path: KeyPath) -> str:
    """Return what the value at `path` of a file should be."""
    kind, metadata = _kind_at(model, path)
    return _words(kind, metadata)


def known_keys(model: type[BaseModel], path: KeyPath) -> tuple[str, ...]:
    """Return the keys that the table at `path` may have, as a user writes them."""
    kind, _ = _kind_at(model, path)
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        return tuple(field.alias or name for name, field in kind.model_fields.items())
    return ()


def _kind_at(model: type[BaseModel], path: KeyPath) -> tuple[Any, tuple[Any, ...]]:
    kind: Any = model
    metadata: tuple[Any, ...] = ()
    for key in path:
        kind, metadata = _below(kind, key)
    return kind, metadata


def _below(kind: Any, key: str | int) -> tuple[Any, tuple[Any, ...]]:
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        for name, field in kind.model_fields.items():
            if key in (name, field.alias):
                return _bare(field.annotation, tuple(field.metadata))
        return Any, ()
    arguments = get_args(kind)
    if get_origin(kind) is tuple and isinstance(key, int):
        every = len(arguments) == 2 and arguments[1] is Ellipsis
        return _bare(arguments[0] if every or key >= len(arguments) else arguments[key], ())
    if get_origin(kind) is dict:
        return _bare(arguments[1], ())
    return Any, ()


def _bare(kind: Any, metadata: tuple[Any, ...]) -> tuple[Any, tuple[Any, ...]]:
    """Strip `Annotated` and `| None`, and gather what they carry."""
    if get_origin(kind) is Annotated:
        inner, *more = get_args(kind)
        spread = tuple(
            part for one in more for part in (one.metadata if isinstance(one, FieldInfo) else (one,))
        )
        return _bare(inner, metadata + spread)
    if get_origin(kind) in (Union, UnionType):
        real = [one for one in get_args(kind) if one is not NoneType]
        return _bare(real[0], metadata)
    return kind, metadata


def _words(kind: Any, metadata: tuple[Any, ...]) -> str:
    unit = next((one for one in metadata if isinstance(one, InUnit)), None)
    if unit is not None:
        names = ", ".join(sorted({name for name in UNITS[unit.unit] if name.isascii()}))
        bounds = _bounds(ge=unit.ge, gt=unit.gt, le=unit.le, lt=None)
        shown = _UNIT_WORDS.get(unit.unit, unit.unit)
        return f"a number{bounds} in {shown}, or text with a unit out of: {names}"
    if get_origin(kind) is Literal:
        return "one of: " + ", ".join(str(one) for one in get_args(kind))
    if isinstance(kind, type) and issubclass(kind, Enum):
        return "one of: " + ", ".join(str(one.value) for one in kind)
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        by_name = any(isinstance(one, ByName) for one in metadata)
        return ("a name in quotes, or " if by_name else "") + _table_words(kind)
    if get_origin(kind) is tuple:
        return _list_words(get_args(kind), metadata)
    if get_origin(kind) is dict:
        return f"a table of names, each with {_words(*_bare(get_args(kind)[1], ()))}"
    text = next((one for one in metadata if isinstance(one, StringConstraints)), None)
    if text is not None:
        return f"text in quotes of {text.min_length or 0} to {text.max_length} characters"
    return _PLAIN.get(kind, "another value") + _bounds(**_limits(metadata))


def _table_words(model: type[BaseModel]) -> str:
    """Name the keys a table must have; the others may be left out."""
    needed = [field.alias or name for name, field in model.model_fields.items() if field.is_required()]
    return "a table" + (f" with at least the keys {', '.join(needed)}" if needed else "")


def _list_words(arguments: tuple[Any, ...], metadata: tuple[Any, ...]) -> str:
    if len(arguments) == 2 and arguments[1] is Ellipsis:
        least = next((one.min_length for one in metadata if isinstance(one, MinLen)), 0)
        words = f"a list of at least {least}" if least else "a list"
        return f"{words}, each {_words(*_bare(arguments[0], ()))}"
    return f"a list of {len(arguments)}, each {_words(*_bare(arguments[0], ()))}"


def _limits(metadata: tuple[Any, ...]) -> dict[str, Any]:
    found: dict[str, Any] = {"ge": None, "gt": None, "le": None, "lt": None}
    for one in metadata:
        for kind, name in ((Ge, "ge"), (Gt, "gt"), (Le, "le"), (Lt, "lt")):
            if isinstance(one, kind):
                found[name] = getattr(one, name)
    return found


def _bounds(*, ge: float | None, gt: float | None, le: float | None, lt: float | None) -> str:
    if ge is not None and le is not None:
        return f" from {ge:g} to {le:g}"
    parts = [
        f"{word} {bound:g}"
        for word, bound in (("of at least", ge), ("above", gt), ("of at most", le), ("below", lt))
        if bound is not None
    ]
    return "".join(f" {part}" for part in parts)
