"""What every recording verb takes and returns, and the one way in which it writes."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING

from ramet.domain.events import Entry, Kind, Payload, day_start
from ramet.domain.problems import Place, Problem
from ramet.ledger.store import Ledger

if TYPE_CHECKING:
    from sqlalchemy import Connection


@dataclass(frozen=True, slots=True)
class Scribe:
    """Who enters, and when it happened.

    `on` None: today. `read_version` is the version of the ledger, or of the one piece, that the person
    saw; what was changed since is not written over. None: what the ledger has now was seen. `words` let
    through what needs an explicit word.
    """

    name: str
    today: date
    on: date | None = None
    read_version: int | None = None
    words: frozenset[str] = frozenset()

    @property
    def day(self) -> date:
        """The day on which it happened."""
        return self.on or self.today


@dataclass(frozen=True, slots=True)
class Caution:
    """Something to know about what was entered; it was entered all the same."""

    code: str
    text: str


@dataclass(frozen=True, slots=True)
class Ask:
    """A reason to stop that a person may overrule by saying `word`."""

    word: str
    text: str

    def __str__(self) -> str:
        return f"{self.text}; say “{self.word}” to do it all the same"


@dataclass(frozen=True, slots=True)
class Recorded:
    """What came of it. With a problem or an open ask nothing was written, and `entries` is 0.

    A problem's place names the verb and, as its column, the field. `pieces` are those that were entered or
    changed, new ones by their new names.
    """

    verb: str
    version: int
    entries: int
    pieces: tuple[str, ...] = ()
    cautions: tuple[Caution, ...] = ()
    problems: tuple[Problem, ...] = ()
    asks: tuple[Ask, ...] = ()

    @property
    def done(self) -> bool:
        """Tell whether it was written."""
        return not self.problems and not self.asks


@dataclass(slots=True)
class Draft:
    """What a verb is about to enter, and what speaks against it."""

    verb: str
    scribe: Scribe
    entries: list[Entry] = field(default_factory=list)
    cautions: list[Caution] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    asks: list[Ask] = field(default_factory=list)

    def enter(
        self, kind: Kind, payload: Payload, piece: str | None = None, system: str | None = None
    ) -> None:
        """Add an entry of the day; what is None in its payload is left out."""
        said = {name: value for name, value in payload.items() if value is not None}
        self.enter_all(kind, said, piece, system)

    def enter_all(
        self, kind: Kind, payload: Payload, piece: str | None = None, system: str | None = None
    ) -> None:
        """Add an entry of the day; None in its payload says that there is nothing any more."""
        self.entries.append(Entry(kind, day_start(self.scribe.day), payload, piece, system))

    def problem(self, column: str, value: object, expected: str) -> None:
        """Note what is wrong with a field."""
        text = None if value is None else str(value)
        self.problems.append(Problem(Place(self.verb, column=column), text, expected))

    def caution(self, code: str, text: str) -> None:
        """Note something to know, once."""
        if (one := Caution(code, text)) not in self.cautions:
            self.cautions.append(one)

    def ask(self, word: str, text: str) -> None:
        """Stop unless the person has said the word."""
        one = Ask(word, text)
        if word not in self.scribe.words and one not in self.asks:
            self.asks.append(one)


def record(ledger: Ledger, draft: Draft, decide: Callable[["Connection"], None]) -> Recorded:
    """Let `decide` fill the draft inside the write, and enter it when nothing speaks against it.

    Raises StaleWrite when a piece was changed after the version that the person had seen.
    """

    def inside(connection: "Connection", _: int) -> list[Entry]:
        decide(connection)
        return [] if draft.problems or draft.asks else draft.entries

    scribe = draft.scribe
    written = ledger.enter(
        inside, recorded_by=scribe.name, batch=draft.verb, read_version=scribe.read_version
    )
    named = (entry.piece for entry in draft.entries if entry.piece is not None)
    return Recorded(
        draft.verb,
        written.version,
        written.events,
        tuple(dict.fromkeys(named)) if written.events else (),
        tuple(draft.cautions),
        tuple(draft.problems),
        tuple(draft.asks),
    )
