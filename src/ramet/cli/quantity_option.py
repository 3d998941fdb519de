"""Readers of option values: a number in a known unit, or text with a unit of its own ("77 °F")."""

from collections.abc import Callable

import click

from ramet.domain.quantities import to_unit

Callback = Callable[[click.Context, click.Parameter, str | None], float | None]
SALINITY_WORDS = ("psu", "ppt", "g/kg", "‰")


def in_unit(unit: str) -> Callback:
    """Return a callback that reads a bare number in `unit`, or text with any known unit of its kind."""

    def read(_context: click.Context, _option: click.Parameter, value: str | None) -> float | None:
        if value is None:
            return None
        try:
            return float(value)
        except ValueError:
            pass
        try:
            return to_unit(value, unit)
        except ValueError as error:
            raise click.BadParameter(f"found “{value}”; expected {error}") from None

    return read


def salinity_or_gravity(_context: click.Context, _option: click.Parameter, value: str) -> tuple[float, bool]:
    """Read a salinity, or a specific gravity such as "1.026 sg"; tell which of the two it is."""
    text = value.strip().lower()
    is_gravity = text.endswith("sg")
    for word in ("sg", *SALINITY_WORDS):
        text = text.removesuffix(word).strip()
    try:
        number = float(text)
    except ValueError:
        number = float("nan")
    if number != number:
        raise click.BadParameter(
            f"found “{value}”; expected a salinity (35) or a specific gravity (1.026 sg)"
        )
    if not is_gravity and 1.0 <= number <= 1.1:
        raise click.BadParameter(f"found “{value}”; if that is a specific gravity, write “{value} sg”")
    return number, is_gravity
