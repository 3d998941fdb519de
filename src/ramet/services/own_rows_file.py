"""The grower's file of reference rows: kept only when every row of it holds."""

from pathlib import Path

from ramet.domain.errors import BadInput
from ramet.domain.problems import Place, Problem
from ramet.reference.own_rows import HEADER
from ramet.reference.tables import Reference, load_reference
from ramet.services.beside import write_whole


def save_own_rows(path: Path, text: str) -> Reference:
    """Keep rows and return the tables with them in force. Raises BadInput with every line that is wrong.

    A text without rows removes the file: our own rows hold again.
    """
    lines = [line for line in text.splitlines() if line.strip()]
    if not lines or (len(lines) == 1 and lines[0].strip() == HEADER):
        path.unlink(missing_ok=True)
        return load_reference()
    draft = write_whole(path.with_name(f".{path.name}.draft"), text.encode())
    try:
        reference = load_reference(draft)
    except BadInput as error:
        raise BadInput([_in_rows(problem) for problem in error.problems]) from None
    finally:
        draft.unlink(missing_ok=True)
    write_whole(path, text.encode())
    return reference


def _in_rows(problem: Problem) -> Problem:
    return Problem(Place("rows", problem.place.line, problem.place.column), problem.value, problem.expected)
