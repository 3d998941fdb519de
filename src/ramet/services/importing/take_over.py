"""Take a whole ledger over from the file of its events, as `ramet export` writes it."""

from collections.abc import Sequence
from pathlib import Path

from ramet.domain.errors import BadInput
from ramet.domain.problems import Place, Problem
from ramet.formats.event_lines import read_event_lines
from ramet.ledger.replay import replay
from ramet.ledger.store import Clock, exists, open_ledger, remove_files

EVENTS = "events.jsonl"


def event_file(paths: Sequence[Path]) -> Path | None:
    """Return the file of events among `paths`, or in the folder that they name; None when it is tables.

    Raises BadInput when such a file stands beside others, or a folder holds none.
    """
    found = [path for path in paths if path.is_dir() or path.suffix.lower() == ".jsonl"]
    if not found:
        return None
    if len(paths) > 1:
        expected = "a file of events alone: it holds all that the tables hold"
        raise BadInput([Problem(Place(str(found[0])), None, expected)])
    path = found[0] / EVENTS if found[0].is_dir() else found[0]
    if not path.is_file():
        raise BadInput([Problem(Place(str(path)), None, "the file of events that an export wrote")])
    return path


def take_over(ledger: str, path: Path, clock: Clock | None) -> tuple[int, int]:
    """Enter the events of a file as they are; return the ledger's version and how many were added."""
    new = not exists(ledger)
    try:
        with open_ledger(ledger, create=True, clock=clock) as book:
            return replay(book, read_event_lines(path), str(path))
    except BadInput:
        if new:
            remove_files(ledger)
        raise
