"""The stock as a list to look through: filtered, searched, sorted, a page at a time.

The work of a page does not grow with the stock: each sort has an index, words are found by an index of
their own, and a page begins after the last row of the one before.
"""

import json
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from sqlalchemy import ColumnElement, Connection, Select, and_, func, or_, select

from ramet.domain.errors import BadInput
from ramet.domain.events import PieceState, Standing
from ramet.domain.problems import Place, Problem
from ramet.domain.words import Form
from ramet.ledger.dialect import has_words
from ramet.ledger.projections import STATE_COLUMNS, state_of
from ramet.ledger.search_text import words
from ramet.ledger.store import Ledger
from ramet.ledger.tables import pieces

MOST_ROWS = 500


class Sort(StrEnum):
    """What the list is sorted by."""

    PIECE = "piece"
    STRAIN = "strain"
    TAXON = "taxon"
    PLACE = "place"
    SIZE = "size"
    CHANGED = "changed"


_ORDER = {
    Sort.PIECE: ("sort_name", "key"),
    Sort.STRAIN: ("strain", "sort_name", "key"),
    Sort.TAXON: ("taxon", "sort_name", "key"),
    Sort.PLACE: ("system", "tank", "sort_name", "key"),
    Sort.SIZE: ("length_mm", "sort_name", "key"),
    Sort.CHANGED: ("version", "key"),
}
_FACETS = ("system", "tank", "strain", "taxon", "form")


@dataclass(frozen=True, slots=True)
class StockQuery:
    """What is looked for; None: no matter.

    `text`: words that a piece has in its id, strain, taxon, place, papers, promise or note, each by its
    beginning, in any case. `only` and `but` are keys of pieces: those that are held, or that are not.
    `after` is the `next` of the page before.
    """

    text: str = ""
    system: str | None = None
    tank: str | None = None
    strain: str | None = None
    taxon: str | None = None
    form: Form | None = None
    standing: Standing | None = Standing.ALIVE
    promised: bool | None = None
    parent: str | None = None
    only: Collection[str] | None = None
    but: Collection[str] | None = None
    sort: Sort = Sort.PIECE
    descending: bool = False
    rows: int = 50
    after: str | None = None


@dataclass(frozen=True, slots=True)
class StockRow:
    """A piece on a page, with its case-blind key."""

    key: str
    state: PieceState


@dataclass(frozen=True, slots=True)
class StockPage:
    """Rows in order, and where the next page begins; None when this is the last."""

    rows: tuple[StockRow, ...]
    next: str | None


@dataclass(frozen=True, slots=True)
class Facet:
    """One value of a field, and how many pieces have it."""

    value: str
    pieces: int


def stock_page(ledger: Ledger, query: StockQuery) -> StockPage:
    """Return one page of the stock. Raises BadInput when `after` is no place in this list."""
    at_most = max(1, min(query.rows, MOST_ROWS))
    with ledger.reading() as connection:
        statement = select(*STATE_COLUMNS, pieces.c.sort_name).where(*_conditions(connection, query))
        statement = _sorted(statement, query).limit(at_most + 1)
        found = connection.execute(statement).all()
    rows = tuple(StockRow(row[0], state_of(row[:-1])) for row in found[:at_most])
    more = len(found) > at_most
    return StockPage(rows, _mark(found[at_most - 1], query.sort) if more else None)


def count_stock(ledger: Ledger, query: StockQuery) -> int:
    """Return how many pieces there are on all pages together."""
    with ledger.reading() as connection:
        counted = select(func.count()).select_from(pieces).where(*_conditions(connection, query))
        return int(connection.execute(counted).scalar_one())


def stock_facets(ledger: Ledger, field: str, query: StockQuery) -> tuple[Facet, ...]:
    """Return the values of a field among the pieces looked for, with how many have each, by value.

    `field` is one of system, tank, strain, taxon and form; what the query says of that field is left aside.
    """
    if field not in _FACETS:
        raise ValueError(f"no facet named {field}; known: {', '.join(_FACETS)}")
    column = pieces.c[field]
    with ledger.reading() as connection:
        conditions = _conditions(connection, query, but=field)
        grouped = select(column, func.count()).where(*conditions).group_by(column).order_by(column)
        return tuple(Facet(row[0], row[1]) for row in connection.execute(grouped))


def _conditions(
    connection: Connection, query: StockQuery, but: str | None = None
) -> list[ColumnElement[bool]]:
    found: list[ColumnElement[bool]] = []
    for name in ("system", "tank", "strain", "taxon", "form", "standing", "parent"):
        value = getattr(query, name)
        if value is not None and name != but:
            found.append(pieces.c[name] == str(value))
    if query.standing is None:
        found.append(pieces.c.standing != Standing.UNDONE.value)
    if query.promised is not None:
        column = pieces.c.promised_to
        found.append(column.is_not(None) if query.promised else column.is_(None))
    if query.only is not None:
        found.append(pieces.c.key.in_(list(query.only)))
    if query.but is not None:
        found.append(pieces.c.key.not_in(list(query.but)))
    if wanted := words(query.text):
        found.append(has_words(connection, wanted))
    return found


def _sorted(statement: Select[Any], query: StockQuery) -> Select[Any]:
    columns = [pieces.c[name] for name in _ORDER[query.sort]]
    if query.after is not None:
        statement = statement.where(_beyond(columns, _values(query), query.descending))
    return statement.order_by(*(column.desc() if query.descending else column for column in columns))


def _beyond(
    columns: Sequence[ColumnElement[Any]], values: Sequence[Any], descending: bool
) -> ColumnElement[bool]:
    """Return the condition that a row comes after `values` in the order of `columns`.

    The first column is bounded by itself as well, so that an index can begin there.
    """
    steps = []
    for number, (column, value) in enumerate(zip(columns, values, strict=True)):
        same = [one == before for one, before in zip(columns[:number], values[:number], strict=True)]
        steps.append(and_(*same, column < value if descending else column > value))
    bound = columns[0] <= values[0] if descending else columns[0] >= values[0]
    return and_(bound, or_(*steps))


def _mark(row: Any, sort: Sort) -> str:
    return json.dumps([getattr(row, name) for name in _ORDER[sort]], ensure_ascii=False)


def _values(query: StockQuery) -> list[Any]:
    expected = "the mark of a page of this list"
    try:
        values = json.loads(query.after or "")
    except ValueError:
        values = None
    columns = [pieces.c[name] for name in _ORDER[query.sort]]
    fits = isinstance(values, list) and len(values) == len(columns)
    if not fits or not all(
        isinstance(value, (int, float) if column.type.python_type in (int, float) else str)
        for column, value in zip(columns, values or [], strict=True)
    ):
        raise BadInput([Problem(Place("after"), query.after, expected)])
    return list(values)
