"""Days on the command line: a date, or so many days or weeks from today."""

import re
from datetime import date, timedelta

import click

_AHEAD = re.compile(r"\+(\d{1,4})\s*(d|w)")


def day_from(text: str, today: date, option: str) -> date:
    """Return the day that `text` means: "2027-03-01", "+10d" or "+3w"."""
    ahead = _AHEAD.fullmatch(text.strip().lower())
    if ahead is not None:
        return today + timedelta(days=int(ahead[1]) * (7 if ahead[2] == "w" else 1))
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        expected = "a day such as 2027-03-01, or +10d or +3w from today"
        raise click.BadParameter(f"found “{text}”; expected {expected}", param_hint=option) from None
