"""Names become pieces and places: what recording verbs check alike."""

import difflib
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ramet.domain.events import Kind, PieceState, Standing
from ramet.domain.piece import Piece, name_key
from ramet.formats.cells import text_up_to
from ramet.formats.stock import LONGEST_MM
from ramet.ledger import lookups, projections
from ramet.ledger.lookups import KnownPlaces
from ramet.services.recording.recorded import Draft

if TYPE_CHECKING:
    from sqlalchemy import Connection

LAST_PIECE = "last-piece"
NEW_PLACE = "new-place"


@dataclass(frozen=True, slots=True)
class Size:
    """Sizes of a piece [mm] and its heads; None where not given."""

    length_mm: float | None = None
    width_mm: float | None = None
    height_mm: float | None = None
    heads: int | None = None

    @property
    def given(self) -> dict[str, float | int]:
        """What is given, by the name of the field."""
        found = {name: getattr(self, name) for name in ("length_mm", "width_mm", "height_mm", "heads")}
        return {name: value for name, value in found.items() if value is not None}


NOT_MEASURED = Size()


@dataclass(frozen=True, slots=True)
class Where:
    """A place in stock as a person names it: a tank, with its system where that is not clear, and a spot."""

    tank: str | None = None
    system: str | None = None
    spot: str | None = None


AS_BEFORE = Where()


def living(connection: "Connection", draft: Draft, column: str, names: Sequence[str]) -> list[PieceState]:
    """Return the states of pieces in stock, each once, with a problem for every name that is not one."""
    keys = list(dict.fromkeys(name_key(name.strip()) for name in names))
    if not keys:
        draft.problem(column, None, "at least one piece")
    found = projections.states(connection, keys)
    spelled = {name_key(name.strip()): name.strip() for name in reversed(names)}
    for key in keys:
        if key not in found:
            draft.problem(column, spelled[key], _no_such_piece(connection, spelled[key]))
        elif found[key].standing is not Standing.ALIVE:
            draft.problem(column, spelled[key], f"a piece in stock: it was {found[key].standing}")
    return [found[key] for key in keys if key in found and found[key].standing is Standing.ALIVE]


def check_day(draft: Draft, states: Sequence[PieceState]) -> None:
    """Hold the day against today and against the first day of each piece."""
    day, today = draft.scribe.day, draft.scribe.today
    if day > today:
        draft.problem("on", day.isoformat(), f"a day not after today ({today.isoformat()})")
    for state in states:
        first = min((on for on in (state.piece.cut_on, state.piece.acquired_on) if on), default=None)
        if first is not None and day < first:
            expected = f"a day not before the first of {state.piece.piece} ({first.isoformat()})"
            draft.problem("on", day.isoformat(), expected)


def check_moved_before(connection: "Connection", draft: Draft, states: Sequence[PieceState]) -> None:
    """Refuse to move a piece on a day before its last move: where it was between would be guesswork."""
    moved = lookups.last_days(connection, [name_key(state.piece.piece) for state in states], Kind.MOVED)
    for state in states:
        last = moved.get(name_key(state.piece.piece))
        if last is not None and draft.scribe.day < last:
            expected = (
                f"a day not before the last move of {state.piece.piece} ({last.isoformat()}); or undo that"
            )
            draft.problem("on", draft.scribe.day.isoformat(), expected)


def check_size(draft: Draft, column: str, size: Size) -> None:
    """Hold sizes against what a piece in a tank can have."""
    for name, value in size.given.items():
        most = 100_000 if name == "heads" else LONGEST_MM
        if not 0 < value <= most:
            draft.problem(f"{column}{name}", value, f"a number above 0 and up to {most:g}")


def clean(draft: Draft, column: str, text: str | None, most: int = 200) -> str | None:
    """Return free text that the ledger can hold, with a problem for what a spreadsheet would run."""
    if text is None or not text.strip():
        return None
    try:
        return text_up_to(most, lines=most > 200)(text.strip())
    except ValueError as error:
        draft.problem(column, text, str(error))
        return None


def ask_for_last_pieces(
    connection: "Connection", draft: Draft, states: Sequence[PieceState], what: str
) -> None:
    """Ask for a word when nothing of a strain would be left as it is."""
    for strain in dict.fromkeys(state.piece.strain for state in states):
        touched = {state.piece.piece for state in states if state.piece.strain == strain}
        if set(lookups.alive_of_strain(connection, strain, len(touched) + 1)) <= touched:
            names = ", ".join(sorted(touched))
            draft.ask(LAST_PIECE, f"{names} is the last of strain “{strain}” in stock, and you {what} it")


def resolve(connection: "Connection", draft: Draft, where: Where, now: Piece) -> Where:
    """Return the place in full, as it is spelled already. What is not named stays where `now` is.

    A tank that nobody knows needs a word: a slip of the pen would make new water.
    """
    known = lookups.known_places(connection)
    tank = clean(draft, "tank", where.tank, 80) or now.tank
    spot = clean(draft, "spot", where.spot, 80)
    system = _system(draft, where, tank, known, now)
    if system is None:
        return Where(tank, now.system, spot)
    key = name_key(system)
    spelled = {name_key(name): name for _, name in known.tanks.get(name_key(tank), ())}
    if key not in known.systems or not any(
        name_key(one) == key for one, _ in known.tanks.get(name_key(tank), ())
    ):
        near = difflib.get_close_matches(name_key(tank), list(known.tanks), n=1, cutoff=0.5)
        hint = f" (the nearest is “{known.tanks[near[0]][0][1]}”)" if near else ""
        draft.ask(NEW_PLACE, f"no tank “{tank}” in system “{system}” is known{hint}")
    return Where(spelled.get(name_key(tank), tank), known.systems.get(key, system), spot)


def tell_of_company(connection: "Connection", draft: Draft, where: Where, moving: Sequence[str]) -> None:
    """Caution when the spot is taken by another piece."""
    if where.spot is not None and where.tank is not None and where.system is not None:
        there = set(lookups.on_spot(connection, where.system, where.tank, where.spot)) - set(moving)
        if there:
            draft.caution("spot_taken", f"spot “{where.spot}” holds {', '.join(sorted(there))} already")


def _system(draft: Draft, where: Where, tank: str, known: KnownPlaces, now: Piece) -> str | None:
    if where.system is not None:
        return clean(draft, "system", where.system, 80) or now.system
    if where.tank is None:
        return now.system
    systems = sorted({system for system, _ in known.tanks.get(name_key(tank), ())})
    if now.system in systems:
        return now.system
    if len(systems) == 1:
        return systems[0]
    if systems:
        draft.problem("system", None, f"the system: tank “{tank}” is in {' and in '.join(systems)}")
        return None
    return now.system


def _no_such_piece(connection: "Connection", name: str) -> str:
    names = {name_key(one): one for one in lookups.names_near(connection, name)}
    near = difflib.get_close_matches(name_key(name), list(names), n=1, cutoff=0.5)
    return "a piece of the ledger" + (f"; the nearest is “{names[near[0]]}”" if near else "")
