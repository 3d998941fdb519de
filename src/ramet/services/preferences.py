"""Reads and keeps a grower's preferences."""

from pathlib import Path

from pydantic import ValidationError

from ramet.domain.errors import BadInput
from ramet.domain.problems import Place, Problem
from ramet.formats.preferences import Preferences
from ramet.formats.toml_reader import read_json
from ramet.services.beside import write_whole

FILE = "preferences.json"


def read_preferences(files: Path) -> Preferences:
    """Return what was kept, or the preferences that a new ledger starts with."""
    path = files / FILE
    if not path.exists():
        return Preferences()
    read = read_json(path, Preferences)
    if isinstance(read, tuple):
        raise BadInput(read)
    return read


def save_preferences(files: Path, values: dict[str, str]) -> Preferences:
    """Check and keep preferences. Raises BadInput that names each field that cannot be used."""
    try:
        kept = Preferences.model_validate(values)
    except ValidationError as error:
        raise BadInput(
            [
                Problem(Place("preferences", column=str(one["loc"][0])), str(one["input"]), _expected(one))
                for one in error.errors(include_url=False)
            ]
        ) from None
    write_whole(files / FILE, (kept.model_dump_json(indent=1) + "\n").encode())
    return kept


def _expected(error: object) -> str:
    told = dict(error) if isinstance(error, dict) else {}
    cause = told.get("ctx", {}).get("error")
    return (
        str(cause) if cause is not None else f"one of: {told.get('ctx', {}).get('expected', 'the choices')}"
    )
