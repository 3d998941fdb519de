"""The folder beside a ledger: what belongs to it and is no event, such as shipments and preferences."""

import os
from pathlib import Path

from ramet.ledger import dialect


def files_beside(ledger: str) -> Path:
    """Return the folder that goes with a ledger, which may not be there yet.

    For a ledger on a server it is `ramet-files` in the current folder.
    """
    path = dialect.file_of(dialect.database_url(ledger))
    return Path("ramet-files") if path is None else path.with_name(f"{path.stem}-files")


def write_whole(path: Path, data: bytes) -> Path:
    """Write a file whole or not at all, and make its folder when there is none."""
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    part.write_bytes(data)
    os.replace(part, path)
    return path
