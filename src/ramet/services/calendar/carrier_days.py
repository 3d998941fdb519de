"""On which days a carrier takes boxes, by its own week, its closed days and public holidays."""

from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from functools import lru_cache
from types import MappingProxyType

from ramet.domain.errors import BadInput
from ramet.domain.problems import Place, Problem
from ramet.formats.shipment import Carrier

_WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)
DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


def refusal(carrier: Carrier, day: date) -> str | None:
    """Return why boxes cannot count on being taken on a day, or None when nothing is known against it."""
    if DAYS[day.weekday()] not in carrier.ships_on:
        return f"{in_words(day)} is not a shipping day ({', '.join(carrier.ships_on)})"
    return standstill(carrier, day)


def standstill(carrier: Carrier, day: date) -> str | None:
    """Return why boxes may lie still on a day, or None: a closed day or a public holiday."""
    if day in carrier.closed_on:
        return f"the carrier is closed on {in_words(day)}"
    name = public_holidays(carrier.holidays, day.year).get(day)
    return None if name is None else f"{in_words(day)} is a public holiday ({name})"


def shipping_days(carrier: Carrier, first: date) -> Iterator[date]:
    """Yield the days from `first` on, over one year, on which the carrier takes boxes."""
    for ahead in range(366):
        day = first + timedelta(days=ahead)
        if refusal(carrier, day) is None:
            yield day


def last_shipping_day(carrier: Carrier, before: date) -> date | None:
    """Return the last day before `before`, within a month, on which the carrier takes boxes."""
    days = (before - timedelta(days=back) for back in range(1, 32))
    return next((day for day in days if refusal(carrier, day) is None), None)


@lru_cache(maxsize=64)
def public_holidays(code: str, year: int) -> Mapping[date, str]:
    """Return the public holidays of a country ("US") or a part of one ("DE-BY"); none for an empty code.

    Raises BadInput when no calendar goes by that code.
    """
    if not code:
        return MappingProxyType({})
    import holidays

    country, _, part = code.partition("-")
    try:
        found = holidays.country_holidays(country, subdiv=part or None, years=year, language="en_US")
    except (NotImplementedError, KeyError, ValueError):
        place = Place("shipment", column="carrier.holidays")
        expected = "a country code such as US, with a part of it after a dash (US-MN), or nothing"
        raise BadInput([Problem(place, code, expected)]) from None
    return MappingProxyType(dict(found.items()))


def in_words(day: date) -> str:
    """Return a day as people say it, whatever the machine's locale: Monday 18 January 2027."""
    return f"{_WEEKDAYS[day.weekday()]} {day.day} {_MONTHS[day.month - 1]} {day.year}"
