"""What a request works on: a ledger, what lies beside it, the tables, the day, and how to write."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Annotated, TypeVar

from fastapi import Depends, Request

from ramet.domain.errors import BadInput
from ramet.formats.preferences import Preferences
from ramet.ledger.store import Ledger, exists
from ramet.reference.tables import Reference, load_reference
from ramet.services.beside import files_beside
from ramet.services.demo import DEMO_TODAY
from ramet.services.preferences import read_preferences
from ramet.web.books import Books
from ramet.web.config import WebConfig
from ramet.web.formatting import Wording

OWN_ROWS = "own-rows.csv"
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Desk:
    """One request's world. `files` is the folder beside the ledger; `is_sample`: all of it is invented."""

    ledger: str
    files: Path
    reference: Reference
    today: date
    seed: int
    preferences: Preferences
    is_sample: bool
    books: Books
    warnings: tuple[str, ...] = ()

    @property
    def say(self) -> Wording:
        """Writes values the grower's way."""
        return Wording(self.preferences)

    @property
    def book(self) -> Ledger:
        """The ledger, open."""
        return self.books.book(self.ledger)

    def remembered(self, about: str, make: Callable[[Ledger], T]) -> T:
        """Return an answer that holds as long as ledger, tables and day stay as they are."""
        return self.books.remembered(self.ledger, (about, self.today, self.reference.sha256), make)

    @property
    def has_ledger(self) -> bool:
        """Tell whether there is a ledger to read."""
        return exists(self.ledger)


class Office:
    """Makes desks. It loads the tables once, and anew when the grower's own rows change."""

    def __init__(self, config: WebConfig) -> None:
        self.config = config
        self.files = files_beside(config.ledger)
        self.books = Books()
        self._loaded: tuple[int, Reference, tuple[str, ...]] | None = None

    @property
    def sample(self) -> Path:
        """Where the sample's ledger lies while the sample is shown."""
        return self.files / "sample" / "ramet.db"

    @property
    def own_rows(self) -> Path:
        """The grower's own reference rows: the file named at the start, else the one that pages write."""
        return self.config.own_rows or self.files / OWN_ROWS

    def desk(self) -> Desk:
        """Return the world as it is now."""
        config, sample = self.config, self.sample.exists()
        preferences, wrong = _or_usual(lambda: read_preferences(self.files), Preferences())
        reference, wrong_rows = self._reference_or_ours()
        return Desk(
            ledger=str(self.sample) if sample else config.ledger,
            files=self.sample.parent if sample else self.files,
            reference=reference,
            today=DEMO_TODAY if sample else config.today or date.today(),
            seed=config.seed,
            preferences=preferences,
            is_sample=sample,
            books=self.books,
            warnings=wrong + wrong_rows,
        )

    def _reference_or_ours(self) -> tuple[Reference, tuple[str, ...]]:
        """Return the tables with the grower's own rows in place of ours, if those hold together."""
        path = self.own_rows
        there = path.exists()
        state = path.stat().st_mtime_ns if there else 0
        if self._loaded is None or self._loaded[0] != state:
            wanted = path if there or self.config.own_rows is not None else None
            reference, wrong = _or_usual(lambda: load_reference(wanted), None)
            self._loaded = state, reference or load_reference(), wrong
        return self._loaded[1:]


def _or_usual(read: Callable[[], T], usual: T) -> tuple[T, tuple[str, ...]]:
    """Read a file of the grower's; one that is broken is told on every page, and the usual stands in."""
    try:
        return read(), ()
    except BadInput as error:
        return usual, tuple(f"Not used until it is mended: {problem}" for problem in error.problems)


def office_of(request: Request) -> Office:
    """Return the app's office."""
    office: Office = request.app.state.office
    return office


def desk_of(request: Request) -> Desk:
    """Return the desk of a request; the same one however often it is asked for."""
    if not hasattr(request.state, "desk"):
        request.state.desk = office_of(request).desk()
    desk: Desk = request.state.desk
    return desk


AtDesk = Annotated[Desk, Depends(desk_of)]
InOffice = Annotated[Office, Depends(office_of)]
