"""Take new pieces in, and correct what the record says of a piece."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from ramet.domain.events import Kind
from ramet.domain.piece import name_key
from ramet.formats.stock import COLUMNS
from ramet.formats.table import Row, Sheet, header_key
from ramet.ledger import lookups
from ramet.ledger.fold import States, plain
from ramet.ledger.store import Ledger
from ramet.reference.tables import Reference
from ramet.services.importing.stock_checks import check_rows
from ramet.services.importing.stock_rows import Proposed, entries
from ramet.services.recording.form_rows import placed, rows_of
from ramet.services.recording.recorded import Draft, Recorded, Scribe, record

if TYPE_CHECKING:
    from sqlalchemy import Connection

_NOT_CORRECTED = frozenset({"piece"})


def acquire(
    ledger: Ledger, typed: Sequence[Mapping[str, str]], reference: Reference, scribe: Scribe
) -> Recorded:
    """Enter new pieces from fields named like the columns of the stock table, as text.

    The same rules hold as for a stock list (`ramet import`).
    """
    draft = Draft("acquire", scribe)
    rows, problems = rows_of("acquire", typed, COLUMNS)
    alone = len(typed) == 1

    def decide(connection: "Connection") -> None:
        draft.problems += [placed(problem, "acquire", alone) for problem in problems]
        if not typed:
            draft.problem("piece", None, "at least one piece")
        if draft.problems:
            return
        known = _around(connection, rows)
        checked = check_rows(rows, known, reference, scribe.today, update=False)
        draft.problems += [placed(problem, "acquire", alone) for problem in checked.problems]
        for one in checked.good:
            if one.before is not None:
                draft.problem("piece", one.piece.piece, "an id that no other piece has, in any case")
            draft.entries += entries(one, scribe.day)

    return record(ledger, draft, decide)


def correct(
    ledger: Ledger, piece: str, typed: Mapping[str, str], reference: Reference, scribe: Scribe
) -> Recorded:
    """Enter that the record of a piece was wrong: fields named like the columns of the stock table.

    A blank field says that there is nothing. What happened to a piece (a move, a measurement, a loss) is
    entered as that, not as a correction.
    """
    draft = Draft("correct", scribe)

    def decide(connection: "Connection") -> None:
        state = lookups.state(connection, piece.strip())
        if state is None:
            draft.problem("piece", piece, "a piece of the ledger")
            return
        row = _row_of(draft, state.piece.piece, typed)
        if draft.problems:
            return
        known = _around(connection, [row], [state.piece.strain])
        checked = check_rows([row], known, reference, scribe.today, update=True)
        draft.problems += [placed(problem, "correct", True) for problem in checked.problems]
        for one in checked.good:
            _enter(draft, one)

    return record(ledger, draft, decide)


def _around(connection: "Connection", rows: Sequence[Row], more_strains: Sequence[str] = ()) -> States:
    """Return the part of the stock that these rows must agree with: their strains, parents and places."""
    keys = {name_key(str(row.values["strain"])) for row in rows if row.values.get("strain")}
    strains = [name for name in lookups.strains(connection) if name_key(name) in keys]
    names = [str(row.values[name]) for row in rows for name in ("piece", "parent") if row.values.get(name)]
    return lookups.states_around(connection, names, [*strains, *more_strains])


def _row_of(draft: Draft, piece: str, typed: Mapping[str, str]) -> Row:
    """Return the given fields as a row of the piece; required fields that are not given stay as they are."""
    columns = {alias: column for column in COLUMNS for alias in (column.name, *column.aliases)}
    values: dict[str, object] = {"piece": piece}
    for header, text in typed.items():
        column = columns.get(header_key(header))
        if column is None or column.name in _NOT_CORRECTED:
            known = ", ".join(one.name for one in COLUMNS if one.name not in _NOT_CORRECTED)
            draft.problem(header, text, f"one of: {known}")
            continue
        try:
            values[column.name] = column.read(text.strip()) if text.strip() else None
        except ValueError as error:
            draft.problem(header, text, str(error))
        if column.required and not text.strip():
            draft.problem(header, None, "a value")
    cells = (piece, *typed.values())
    indexes = {name: number for number, name in enumerate(("piece", *typed))}
    return Row(Sheet(draft.verb, ("piece", *typed), ()), 1, cells, values, indexes)


def _enter(draft: Draft, one: Proposed) -> None:
    changed = {name: plain(new) for name, (_, new) in one.changes.items()}
    if not changed:
        draft.problem("piece", one.piece.piece, "a field that differs from what the ledger has")
        return
    draft.enter_all(Kind.CORRECTED, changed, one.piece.piece)
