"""The name under which the ledger keeps what belongs to one shipment."""

from datetime import UTC, datetime

_LONGEST = 80


def shipment_key(name: str, due: datetime) -> str:
    """Return a shipment's name with the day on which it is due, in UTC: one receiver may get several.

    >>> shipment_key("Small reef", datetime(2026, 9, 23, 15, tzinfo=UTC))
    'Small reef@2026-09-23'
    """
    return f"{name[:_LONGEST]}@{due.astimezone(UTC):%Y-%m-%d}"
