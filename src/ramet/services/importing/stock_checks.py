"""What must hold between the rows of a stock table, and between them and the ledger."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from ramet.domain.events import PieceState
from ramet.domain.piece import Piece, name_key
from ramet.domain.problems import Problem
from ramet.formats.cells import written
from ramet.formats.table import Row
from ramet.ledger.fold import States
from ramet.reference.tables import Reference
from ramet.services.importing.stock_rows import UNKNOWN, Proposed, propose


@dataclass(frozen=True, slots=True)
class Checked:
    """Rows that hold, and the problems of those that do not.

    `orphans` are the problems of rows that hold but for their parent's row, which does not.
    """

    good: tuple[Proposed, ...]
    problems: tuple[Problem, ...]
    orphans: tuple[Problem, ...]


def check_rows(
    rows: Sequence[Row], known: States, reference: Reference, today: date, update: bool
) -> Checked:
    """Hold every row against the others, the ledger and the reference."""
    problems: list[tuple[int, Problem]] = []
    broken = {name_key(str(row.values.get("piece"))) for row in rows if row.broken}
    firsts, doubles = _first_of_each([row for row in rows if not row.broken])
    problems += doubles
    names = {key: str(row.values["piece"]) for key, row in firsts.items()}
    names |= {key: state.piece.piece for key, state in known.items()}
    proposed = [_proposed(row, known, names, reference) for row in firsts.values()]
    problems += _one_by_one(proposed, reference, today, update)
    problems += _spelled_alike(proposed, known)
    problems += _one_taxon(proposed, known)
    problems += _lineage(proposed, known, broken)
    bad = {line for line, _ in problems}
    good, orphans = _with_parents([one for one in proposed if id(one.row) not in bad], known)
    told = sorted((problem for _, problem in problems), key=_in_file_order)
    return Checked(tuple(good), tuple(told), tuple(sorted(orphans, key=_in_file_order)))


def _in_file_order(problem: Problem) -> tuple[str, int, str]:
    return problem.place.file, problem.place.line or 0, problem.place.column or ""


def _first_of_each(rows: Sequence[Row]) -> tuple[dict[str, Row], list[tuple[int, Problem]]]:
    firsts: dict[str, Row] = {}
    problems = []
    for row in rows:
        first = firsts.setdefault(name_key(str(row.values["piece"])), row)
        if first is not row:
            expected = f"an id that no other row has, in any case ({first.file} line {first.line} has it)"
            problems.append((id(row), row.problem("piece", expected)))
    return firsts, problems


def _proposed(row: Row, known: States, names: Mapping[str, str], reference: Reference) -> Proposed:
    before = known.get(name_key(str(row.values["piece"])))
    parent = row.values.get("parent")
    if "parent" not in row.values and before is not None:
        parent = before.piece.parent
    # The parent is kept as it is spelled where it stands itself.
    spelled = None if parent is None else names.get(name_key(str(parent)), str(parent))
    return propose(row, before, reference, spelled)


def _one_by_one(
    proposed: Sequence[Proposed], reference: Reference, today: date, update: bool
) -> Iterator[tuple[int, Problem]]:
    known_taxa: dict[tuple[str, bool], str | None] = {}
    for one in proposed:
        row = one.row
        has_form = row.values.get("form") is not None
        asked = (one.piece.taxon, has_form)
        if asked not in known_taxa:
            known_taxa[asked] = _taxon_expected(*asked, reference)
        expected = known_taxa[asked]
        if expected is not None:
            yield id(row), row.problem("taxon", expected)
        for name in ("cut_on", "acquired_on", "wounded_on"):
            day = row.values.get(name)
            if isinstance(day, date) and day > today:
                yield id(row), row.problem(name, f"a day not after today ({today.isoformat()})")
        if not update:
            yield from _unasked_changes(one)


def _taxon_expected(taxon: str, has_form: bool, reference: Reference) -> str | None:
    """Return what is wrong with a taxon, or None. Nearest names are suggested, never filled in."""
    if reference.genus(taxon) is not None or has_form or name_key(taxon) == UNKNOWN:
        return None
    near = reference.nearest(taxon)
    hint = f" (nearest: {', '.join(near)})" if near else ""
    return f"a genus of the reference table{hint}; or give the row a form; or “{UNKNOWN}”"


def _unasked_changes(one: Proposed) -> Iterator[tuple[int, Problem]]:
    for name, (old, new) in one.changes.items():
        if name == "defaults_used" or (name not in one.row.values and new == old):
            continue
        had = written(old) or "nothing"
        yield id(one.row), one.row.problem(name, f"“{had}” as in the ledger, or --update to change it")


def _spelled_alike(proposed: Sequence[Proposed], known: States) -> Iterator[tuple[int, Problem]]:
    """Two spellings of one strain, system or tank would be two of them: held water would look free."""
    rewritten = {one.key for one in proposed}
    for name in ("strain", "system", "tank"):
        seen: dict[str, str] = {}
        for key, state in known.items():
            if key not in rewritten:
                value = getattr(state.piece, name)
                seen.setdefault(name_key(value), value)
        for one in proposed:
            value = getattr(one.piece, name)
            first = seen.setdefault(name_key(value), value)
            if first != value:
                yield id(one.row), one.row.problem(name, f"one spelling throughout: “{first}”")


def _one_taxon(proposed: Sequence[Proposed], known: States) -> Iterator[tuple[int, Problem]]:
    rewritten = {one.key for one in proposed}
    taxa: dict[str, str] = {}
    for key, state in known.items():
        if key not in rewritten:
            taxa.setdefault(name_key(state.piece.strain), state.piece.taxon)
    for one in proposed:
        first = taxa.setdefault(name_key(one.piece.strain), one.piece.taxon)
        if first != one.piece.taxon:
            expected = f"one taxon for strain “{one.piece.strain}”, which is “{first}” elsewhere"
            yield id(one.row), one.row.problem("taxon", expected)


def _lineage(
    proposed: Sequence[Proposed], known: States, broken: Collection[str]
) -> Iterator[tuple[int, Problem]]:
    pieces = {key: state.piece for key, state in known.items()}
    pieces |= {one.key: one.piece for one in proposed}
    looping = _in_loops(pieces)
    for one in proposed:
        if one.piece.parent is None:
            continue
        parent = pieces.get(name_key(one.piece.parent))
        if parent is None:
            if name_key(one.piece.parent) not in broken:
                yield id(one.row), one.row.problem("parent", "a piece of this file or of the ledger")
            continue
        if one.key in looping:
            yield (
                id(one.row),
                one.row.problem("parent", "a line of descent that does not come back to itself"),
            )
        if name_key(parent.strain) != name_key(one.piece.strain):
            expected = f"the strain of its parent “{parent.piece}”, which is “{parent.strain}”"
            yield id(one.row), one.row.problem("strain", expected)
        born = _first_day(parent)
        if one.piece.cut_on is not None and born is not None and one.piece.cut_on < born:
            expected = f"a day not before its parent’s first ({born.isoformat()})"
            yield id(one.row), one.row.problem("cut_on", expected)
    yield from _deserted_children(proposed, known)


def _deserted_children(proposed: Sequence[Proposed], known: States) -> Iterator[tuple[int, Problem]]:
    """A parent that changes its strain leaves children behind that the file does not name."""
    changing = {
        one.key: one
        for one in proposed
        if one.before is not None and one.before.piece.strain != one.piece.strain
    }
    if not changing:
        return
    named = {one.key for one in proposed}
    for key, state in known.items():
        parent = None if state.piece.parent is None else changing.get(name_key(state.piece.parent))
        if parent is not None and key not in named and state.piece.strain != parent.piece.strain:
            expected = f"the strain of its child “{state.piece.piece}”, which is “{state.piece.strain}”"
            yield id(parent.row), parent.row.problem("strain", expected)


def _in_loops(pieces: Mapping[str, Piece]) -> set[str]:
    """Return the keys of pieces that are their own forebears."""
    settled: set[str] = set()
    looping: set[str] = set()
    for start in pieces:
        path: list[str] = []
        on_path: set[str] = set()
        key: str | None = start
        while key is not None and key in pieces and key not in settled and key not in on_path:
            path.append(key)
            on_path.add(key)
            parent = pieces[key].parent
            key = None if parent is None else name_key(parent)
        if key in on_path:
            looping.update(path[path.index(key) :])
        settled |= on_path
    return looping


def _first_day(piece: Piece) -> date | None:
    return min((day for day in (piece.cut_on, piece.acquired_on) if day is not None), default=None)


def _with_parents(
    rows: Sequence[Proposed], known: Mapping[str, PieceState]
) -> tuple[list[Proposed], list[Problem]]:
    """Leave out rows whose parent was left out, and theirs in turn."""
    good = list(rows)
    orphans: list[Problem] = []
    while True:
        keys = {one.key for one in good} | set(known)
        lost = [one for one in good if one.piece.parent and name_key(one.piece.parent) not in keys]
        if not lost:
            return good, orphans
        orphans += [one.row.problem("parent", "a parent whose own row holds") for one in lost]
        left = {one.key for one in lost}
        good = [one for one in good if one.key not in left]
