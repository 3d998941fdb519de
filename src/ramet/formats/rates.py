"""A carrier's rate table (CSV): what a box costs by zone and billed mass, and how the carrier bills."""

import csv
from collections.abc import Iterator, Mapping
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Annotated, Any

from pydantic import Field

from ramet.domain.problems import Place, Problem
from ramet.formats.fields import FileModel

COLUMNS = ("zone", "up_to_kg", "price", "price_per_kg")
TERMS = ("currency", "divisor_cm3_kg", "side_rounding", "mass_step_kg")
ANY_ZONE = ("", "*", "flat")
_ROUNDINGS = ("none", "nearest_cm", "up_cm")


class Rate(FileModel):
    """The price of a box that bills up to `up_to_kg`, to one zone or (flat) to any."""

    zone: str = ""
    up_to_kg: Annotated[float, Field(gt=0)]
    price: Annotated[Decimal, Field(ge=0)]
    price_per_kg: Annotated[Decimal, Field(ge=0)] = Decimal(0)


def read_rates(path: Path) -> tuple[tuple[Rate, ...], Mapping[str, Any]] | list[Problem]:
    """Return the rates of a table and the terms it states, the same on each row; else every problem found."""
    try:
        text = path.read_text("utf-8-sig")
    except (OSError, UnicodeDecodeError):
        return [Problem(Place(str(path), None), None, "a rate table (CSV, UTF-8) that can be read")]
    rows = list(csv.DictReader(text.splitlines()))
    problems = list(_heading(path, rows))
    if problems:
        return problems
    rates: list[Rate] = []
    terms: dict[str, Any] = {}
    for line, row in enumerate(rows, start=2):
        problems += _row(path, line, row, rates, terms)
    return problems or (tuple(rates), terms)


def _heading(path: Path, rows: list[dict[str, str]]) -> Iterator[Problem]:
    wanted = "a header with up_to_kg and price; also known: " + ", ".join((*COLUMNS[:1], COLUMNS[3], *TERMS))
    if not rows:
        yield Problem(Place(str(path), 1), None, f"at least one row under {wanted}")
        return
    unknown = [name for name in rows[0] if name not in (*COLUMNS, *TERMS)]
    missing = [name for name in ("up_to_kg", "price") if name not in rows[0]]
    for name in (*unknown, *missing):
        yield Problem(Place(str(path), 1, str(name)), None if name in missing else str(name), wanted)


def _row(
    path: Path, line: int, row: Mapping[str, str], rates: list[Rate], terms: dict[str, Any]
) -> Iterator[Problem]:
    numbers: dict[str, Decimal] = {}
    for name, least in (("up_to_kg", "above 0"), ("price", "0 or more"), ("price_per_kg", "0 or more")):
        text = (row.get(name) or "").strip()
        if name == "price_per_kg" and not text:
            continue
        number = _decimal(text)
        if number is None or number < 0 or (name == "up_to_kg" and number == 0):
            yield Problem(Place(str(path), line, name), text or None, f"a number {least}")
        else:
            numbers[name] = number
    for name in TERMS:
        text = (row.get(name) or "").strip()
        value = _term(name, text)
        if text and value is None:
            allowed = "one of " + ", ".join(_ROUNDINGS) if name == "side_rounding" else "a number above 0"
            yield Problem(Place(str(path), line, name), text, allowed)
        elif text and terms.setdefault(name, value) != value:
            yield Problem(Place(str(path), line, name), text, f"the same on every row: {terms[name]}")
    if {"up_to_kg", "price"} <= numbers.keys():
        zone = (row.get("zone") or "").strip()
        known = {name: number for name, number in numbers.items() if name != "up_to_kg"}
        rates.append(Rate(zone=zone, up_to_kg=float(numbers["up_to_kg"]), **known))


def _decimal(text: str) -> Decimal | None:
    try:
        number = Decimal(text)
    except InvalidOperation:
        return None
    return number if number.is_finite() else None


def _term(name: str, text: str) -> Any:
    """Return a term, or None when the text is none."""
    if name == "currency":
        return text or None
    if name == "side_rounding":
        return text if text in _ROUNDINGS else None
    number = _decimal(text)
    return float(number) if number is not None and number > 0 else None
