"""The pieces in stock as columns: for questions about all of them at once, where rows would be slow."""

from collections.abc import Sequence
from typing import Any

from sqlalchemy import ColumnElement, Connection, case, func, select

from ramet.domain.events import Standing
from ramet.ledger.dialect import DayNumber
from ramet.ledger.tables import pieces

_HAS_GROWN = pieces.c.sized_on > pieces.c.base_on
_WOUND = case(
    (pieces.c.wounded_on > pieces.c.cut_on, pieces.c.wounded_on),
    else_=func.coalesce(pieces.c.cut_on, pieces.c.wounded_on),
)

SEPARATOR = "\x1f"
"""Between the parts of a `group`; no name holds it."""

COLUMNS: dict[str, ColumnElement[Any]] = {
    **{name: pieces.c[name] for name in ("piece", "length_mm", "width_mm", "height_mm", "heads")},
    "group": pieces.c.strain.concat(SEPARATOR).concat(pieces.c.taxon).concat(SEPARATOR).concat(pieces.c.form),
    "wounded_on": DayNumber(_WOUND),
    "sized_on": DayNumber(pieces.c.sized_on),
    "base_on": DayNumber(case((_HAS_GROWN, pieces.c.base_on))),
    "base_length_mm": case((_HAS_GROWN, pieces.c.base_length_mm)),
    "base_heads": case((_HAS_GROWN, pieces.c.base_heads)),
    "is_promised": pieces.c.promised_to.is_not(None),
    "system": pieces.c.system,
    "tank": pieces.c.tank,
}
"""What can be asked for. `group` is strain, taxon and form in one text: one value a row is quicker.

Days count from 1970; the baseline is None where nothing was measured after it.
"""


def alive_columns(connection: Connection, names: Sequence[str]) -> tuple[Sequence[Any], ...]:
    """Return columns of the pieces in stock, in the order of the table.

    One pass over the table (an index would make the database jump for each row), and rows as the driver
    gives them: at a hundred thousand pieces the wrapping took as long as the reading.
    """
    standing = func.coalesce(pieces.c.standing, "")
    query = select(*[COLUMNS[name] for name in names]).where(standing == Standing.ALIVE.value)
    rows = connection.execute(query.order_by(pieces.c.id)).cursor.fetchall()
    return tuple(zip(*rows, strict=True)) if rows else tuple(() for _ in names)


def mothers(connection: Connection) -> frozenset[str]:
    """Return the names of all pieces that something was cut from."""
    query = select(pieces.c.parent).where(pieces.c.parent.is_not(None)).distinct()
    return frozenset(row[0] for row in connection.execute(query))
