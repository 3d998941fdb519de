"""The stock as a list to look through: filtered, searched, sorted, a page at a time.

The work of a page does not grow with the stock: each sort has an index, words are found by an index of
their own, and a page begins after the last row of the one before.
"""

import json
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from sqlalchemy import ColumnElement, Connection, Row, Select, Subquery, and_, case, func, or_, select
from sqlalchemy.sql.base import ReadOnlyColumnCollection

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
_LOOKED_THROUGH = 3_000
_COMMON = 0.5
_COLUMNS = (*STATE_COLUMNS, pieces.c.sort_name, pieces.c.search)


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
    wanted = words(query.text)
    with ledger.reading() as connection:
        if not wanted or _is_narrow(query):
            found = _rows(connection, query, [_in_text(word) for word in wanted], at_most + 1)
        else:
            found = _rows_with_words(connection, query, wanted, at_most + 1)
    rows = tuple(StockRow(row[0], state_of(row[: len(STATE_COLUMNS)])) for row in found[:at_most])
    more = len(found) > at_most
    return StockPage(rows, _mark(found[at_most - 1], query.sort) if more else None)


def count_stock(ledger: Ledger, query: StockQuery) -> int:
    """Return how many pieces there are on all pages together."""
    with ledger.reading() as connection:
        conditions = [*_conditions(query, narrow=_is_narrow(query)), *_text(connection, query)]
        counted = select(func.count()).select_from(pieces).where(*conditions)
        return int(connection.execute(counted).scalar_one())


def stock_facets(ledger: Ledger, field: str, query: StockQuery) -> tuple[Facet, ...]:
    """Return the values of a field among the pieces looked for, with how many have each, by value.

    `field` is one of system, tank, strain, taxon and form; what the query says of that field is left aside.
    """
    if field not in _FACETS:
        raise ValueError(f"no facet named {field}; known: {', '.join(_FACETS)}")
    column = pieces.c[field]
    with ledger.reading() as connection:
        conditions = [*_conditions(query, but=field), *_text(connection, query)]
        grouped = select(column, func.count()).where(*conditions).group_by(column).order_by(column)
        return tuple(Facet(row[0], row[1]) for row in connection.execute(grouped))


def _text(connection: Connection, query: StockQuery) -> list[ColumnElement[bool]]:
    wanted = words(query.text)
    return [has_words(connection, wanted)] if wanted else []


def _is_narrow(query: StockQuery) -> bool:
    """Tell whether a filter leaves so few pieces that all of them can be sorted."""
    by_place = query.system is not None and query.tank is not None
    return by_place or any(one is not None for one in (query.strain, query.parent, query.only))


def _rows_with_words(
    connection: Connection, query: StockQuery, wanted: Sequence[str], at_most: int
) -> Sequence[Row[Any]]:
    """Words that many pieces have are met soon in the order of the page; rare ones are looked up."""
    near = _sorted(select(*_COLUMNS).where(*_conditions(query)), query).limit(_LOOKED_THROUGH).subquery()
    met = select(near).where(*(near.c.search.like(f"% {word}%") for word in wanted)).limit(at_most)
    found = connection.execute(_ordered(met, near.c, query)).all()
    if len(found) == at_most:
        return found
    rare = _rare(connection, near, wanted)
    looked_up = has_words(connection, rare)
    others = [_in_text(word) for word in wanted if word not in rare]
    return _rows(connection, query, [looked_up, *others], at_most, narrow=True)


def _rare(connection: Connection, near: Subquery, wanted: Sequence[str]) -> Sequence[str]:
    """Return those of the words that fewer than half of the pieces nearby have; all when there is none."""
    shares = [func.avg(case((near.c.search.like(f"% {word}%"), 1.0), else_=0.0)) for word in wanted]
    found = connection.execute(select(*shares)).one()
    rare = [word for word, share in zip(wanted, found, strict=True) if (share or 0) < _COMMON]
    return rare or wanted


def _rows(
    connection: Connection,
    query: StockQuery,
    more: Sequence[ColumnElement[bool]],
    at_most: int,
    narrow: bool = False,
) -> Sequence[Row[Any]]:
    narrow = narrow or _is_narrow(query)
    statement = select(*_COLUMNS).where(*_conditions(query, narrow=narrow), *more)
    return connection.execute(_sorted(statement, query, narrow=narrow).limit(at_most)).all()


def _conditions(query: StockQuery, but: str | None = None, narrow: bool = False) -> list[ColumnElement[bool]]:
    found: list[ColumnElement[bool]] = []
    for name in ("system", "tank", "strain", "taxon", "form", "parent"):
        value = getattr(query, name)
        if value is not None and name != but:
            found.append(pieces.c[name] == str(value))
    standing = _hidden(pieces.c.standing) if narrow else pieces.c.standing
    if query.standing is None:
        found.append(pieces.c.standing != Standing.UNDONE.value)
    else:
        found.append(standing == str(query.standing))
    if query.promised is not None:
        column = pieces.c.promised_to
        found.append(column.is_not(None) if query.promised else column.is_(None))
    if query.only is not None:
        found.append(pieces.c.key.in_(list(query.only)))
    if query.but is not None:
        found.append(pieces.c.key.not_in(list(query.but)))
    return found


def _in_text(word: str) -> ColumnElement[bool]:
    return pieces.c.search.like(f"% {word}%")


def _sorted(statement: Select[Any], query: StockQuery, *, narrow: bool = False) -> Select[Any]:
    if query.after is not None:
        columns: list[ColumnElement[Any]] = [pieces.c[name] for name in _ORDER[query.sort]]
        if narrow:
            columns = [_hidden(column) for column in columns]
        statement = statement.where(_beyond(columns, _values(query), query.descending))
    return _ordered(statement, pieces.c, query, narrow=narrow)


def _ordered(
    statement: Select[Any],
    columns: ReadOnlyColumnCollection[str, Any],
    query: StockQuery,
    *,
    narrow: bool = False,
) -> Select[Any]:
    found = [columns[name] for name in _ORDER[query.sort]]
    if narrow:
        found = [_hidden(column) for column in found]
    return statement.order_by(*(column.desc() if query.descending else column for column in found))


def _hidden(column: ColumnElement[Any]) -> ColumnElement[Any]:
    """Keep a database from walking through a whole sorted index where few pieces are left to be sorted.

    Both would do so at times: they guess how many pieces a filter leaves.
    """
    return func.coalesce(column, column)


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
