"""A carrier's rate table: what a box costs by zone and billed mass, and how the carrier bills."""

from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Annotated, Any, Literal, get_args

from pydantic import Field

from ramet.domain.problems import Place, Problem
from ramet.formats.cells import quantity, text_up_to
from ramet.formats.fields import FileModel, InUnit
from ramet.formats.table import Column, Row, read_rows, read_sheets

SideRounding = Literal["none", "nearest_cm", "up_cm", "nearest_in", "up_in"]
TERMS = ("currency", "divisor_cm3_kg", "side_rounding", "mass_step_kg")
ANY_ZONE = ("", "*", "flat")
MOST_MONEY = Decimal(1_000_000)
MOST_KG = 10_000.0
LEAST_DIVISOR, MOST_DIVISOR = 100.0, 100_000.0
"""Carriers divide by 3,000 to 7,000 cm³/kg (common practice, no source); beyond these it is a slip."""
LEAST_STEP_KG, MOST_STEP_KG = 0.001, 100.0
Money = Annotated[Decimal, Field(ge=0, le=MOST_MONEY)]


class Rate(FileModel):
    """The price of a box that bills up to `up_to_kg`, to one zone or (flat) to any."""

    zone: str = ""
    up_to_kg: Annotated[float, InUnit("kg", gt=0, le=MOST_KG)]
    price: Money
    price_per_kg: Money = Decimal(0)


def read_rates(path: Path) -> tuple[tuple[Rate, ...], Mapping[str, Any]] | list[Problem]:
    """Return the rates of a table and the terms it states, the same on each row; else every problem found."""
    sheets, problems = read_sheets(path)
    if problems:
        return problems
    rows, problems = read_rows(sheets[0], _COLUMNS)
    whole = [row for row in rows if not row.broken]
    problems += _twice(whole)
    terms: dict[str, Any] = {}
    for row in whole:
        problems += _terms(row, terms)
    if not problems and not rows:
        place = Place(sheets[0].file, sheets[0].header_line + 1)
        problems = [Problem(place, None, "at least one row under the headers")]
    if problems:
        return sorted(problems, key=lambda problem: problem.place.line or 0)
    return tuple(_rate(row) for row in whole), terms


def twice_priced(rates: Sequence[Rate]) -> tuple[int, ...]:
    """Return the numbers of the rates whose zone and mass an earlier one has priced already."""
    keys = [(_flat(rate.zone), rate.up_to_kg) for rate in rates]
    return tuple(number for number, key in enumerate(keys) if key in keys[:number])


def _twice(rows: Sequence[Row]) -> Iterator[Problem]:
    for number in twice_priced([_rate(row) for row in rows]):
        yield rows[number].problem(
            "up_to_kg", "one price for each zone and mass; an earlier row has this one"
        )


def _flat(zone: str) -> str:
    return "" if zone in ANY_ZONE else zone


def _terms(row: Row, terms: dict[str, Any]) -> Iterator[Problem]:
    for name in TERMS:
        value = row.values.get(name)
        if value is not None and terms.setdefault(name, value) != value:
            yield row.problem(name, f"the same on every row: {_shown(terms[name])}")


def _shown(value: object) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)


def _rate(row: Row) -> Rate:
    names = ("zone", "up_to_kg", "price", "price_per_kg")
    return Rate.model_validate({name: row.values[name] for name in names if row.values.get(name) is not None})


def _money(cell: str) -> Decimal:
    expected = f"an amount from 0 to {MOST_MONEY:,} with a point and without a currency, such as 24.50"
    try:
        amount = Decimal(cell)
    except InvalidOperation:
        raise ValueError(expected) from None
    if not amount.is_finite() or not 0 <= amount <= MOST_MONEY:
        raise ValueError(expected)
    return amount


def _rounding(cell: str) -> str:
    known = get_args(SideRounding)
    if cell not in known:
        raise ValueError("one of " + ", ".join(known))
    return cell


_COLUMNS = (
    Column("zone", text_up_to(40)),
    Column(
        "up_to_kg",
        quantity("kg", 0, MOST_KG, f"a mass in kg, above 0 and up to {MOST_KG:,.0f}", above_low=True),
        required=True,
    ),
    Column("price", _money, required=True),
    Column("price_per_kg", _money),
    Column("currency", text_up_to(12)),
    Column(
        "divisor_cm3_kg",
        quantity("cm3_kg", LEAST_DIVISOR, MOST_DIVISOR, "cubic centimetres a kilogram, from 100 to 100,000"),
    ),
    Column("side_rounding", _rounding),
    Column("mass_step_kg", quantity("kg", LEAST_STEP_KG, MOST_STEP_KG, "a mass in kg, from 0.001 to 100")),
)
