"""The table of pieces: what the events add up to, kept up to date in the transaction that enters them."""

from collections.abc import Iterable, Sequence
from operator import attrgetter, itemgetter
from typing import Any

from sqlalchemy import Connection, bindparam, delete, func, insert, select, update

from ramet.domain.errors import StaleWrite
from ramet.domain.events import Baseline, Event, PieceState, Standing
from ramet.domain.piece import Piece, name_key
from ramet.domain.words import Form
from ramet.ledger.dialect import index_new_words
from ramet.ledger.fold import States, carry, fold
from ramet.ledger.search_text import search_text, sort_name
from ramet.ledger.tables import pieces

_MANY = 500
"""Above this many pieces one pass over the table is quicker than looking each up."""
_PIECE_FIELDS = tuple(Piece.__dataclass_fields__)
_values_of = attrgetter(*_PIECE_FIELDS)
_BASE = ("base_on", "base_length_mm", "base_width_mm", "base_heads")
STATE_COLUMNS = tuple(
    pieces.c[name]
    for name in ("key", "version", "standing", "arrived_on", "sized_on", *_BASE, *_PIECE_FIELDS)
)


def carry_forward(connection: Connection, events: Sequence[Event], read_version: int | None) -> None:
    """Let new events act on the table of pieces.

    Raises StaleWrite when one of their pieces was changed after `read_version` (None: the writer read in
    this same transaction), ImpossibleEvent when an event does not fit; the caller's transaction is then
    rolled back.
    """
    keys = {name_key(event.entry.piece) for event in events if event.entry.piece is not None}
    if not keys:
        return
    before = states(connection, keys)
    for state in before.values():
        if read_version is not None and state.version > read_version:
            raise StaleWrite(f"piece “{state.piece.piece}”", read_version, state.version)
    after = dict(before)
    for event in events:
        carry(after, event)
    _insert(connection, [(key, after[key]) for key in sorted(keys - before.keys())])
    _update(connection, [(key, before[key], after[key]) for key in sorted(before)])


def states(connection: Connection, keys: Iterable[str] | None = None) -> States:
    """Return the states of the pieces with these keys, or of all, in the order of the keys."""
    query = select(*STATE_COLUMNS)
    wanted = None if keys is None else set(keys)
    if wanted is not None and len(wanted) <= _MANY:
        query = query.where(pieces.c.key.in_(wanted))
    # Sorted here: databases do not agree on the order of letters.
    rows = sorted(connection.execute(query), key=itemgetter(0))
    return {row[0]: state_of(row) for row in rows if wanted is None or row[0] in wanted}


def known_states(connection: Connection, keys: Iterable[str] | None = None) -> States:
    """Return the same without pieces that were entered by mistake, which only a rebuild wants to see."""
    found = states(connection, keys)
    return {key: state for key, state in found.items() if state.standing is not Standing.UNDONE}


def state_of(row: Sequence[Any]) -> PieceState:
    """Return the state that a row of `STATE_COLUMNS` holds."""
    _, version, standing, arrived_on, sized_on, base_on, base_length, base_width, base_heads, *fields = row
    values = dict(zip(_PIECE_FIELDS, fields, strict=True))
    values["form"] = Form(values["form"])
    values["defaults_used"] = tuple(values["defaults_used"].split())
    base = None if base_on is None else Baseline(base_on, base_length, base_width, base_heads)
    return PieceState(Piece(**values), Standing(standing), arrived_on, version, sized_on, base)


def _row(key: str, state: PieceState) -> dict[str, Any]:
    row: dict[str, Any] = dict(zip(_PIECE_FIELDS, _values_of(state.piece), strict=True))
    row["form"] = state.piece.form.value
    row["defaults_used"] = " ".join(state.piece.defaults_used)
    row.update(key=key, version=state.version, standing=state.standing.value, arrived_on=state.arrived_on)
    row.update(sort_name=sort_name(state.piece.piece), search=search_text(state.piece))
    base = state.base
    start = (None,) * len(_BASE) if base is None else (base.on, base.length_mm, base.width_mm, base.heads)
    return row | dict(zip(_BASE, start, strict=True)) | {"sized_on": state.sized_on}


def rebuild(connection: Connection, events: Iterable[Event]) -> None:
    """Write the table of pieces afresh from all events, after a change of its columns."""
    rewrite(connection, fold(events))


def rewrite(connection: Connection, states: States) -> None:
    """Write the table of pieces afresh from states."""
    connection.execute(delete(pieces))
    _insert(connection, sorted(states.items()))


def _insert(connection: Connection, born: Sequence[tuple[str, PieceState]]) -> None:
    if not born:
        return
    last = connection.execute(select(func.coalesce(func.max(pieces.c.id), 0))).scalar_one()
    connection.execute(insert(pieces), [_row(key, state) for key, state in born])
    index_new_words(connection, last)


def _update(connection: Connection, changed: Sequence[tuple[str, PieceState, PieceState]]) -> None:
    """Write only over the version that was read: on a database with true concurrency this is the guard."""
    if not changed:
        return
    names = [column.name for column in pieces.columns if column.name not in {"id", "key"}]
    statement = (
        update(pieces)
        .where(pieces.c.key == bindparam("old_key"), pieces.c.version == bindparam("old_version"))
        .values({name: bindparam(f"new_{name}", type_=pieces.c[name].type) for name in names})
    )
    rows = []
    for key, old, new in changed:
        row = {f"new_{name}": value for name, value in _row(key, new).items() if name != "key"}
        rows.append(row | {"old_key": key, "old_version": old.version})
    found = connection.execute(statement, rows).rowcount
    if found != len(rows):
        newest = max(old.version for _, old, _ in changed)
        raise StaleWrite("a piece", newest, newest + 1)
