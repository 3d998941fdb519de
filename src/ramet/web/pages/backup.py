"""A backup of the ledger and everything beside it, as one file to keep elsewhere."""

import tempfile
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

from fastapi import APIRouter
from starlette.responses import Response, StreamingResponse

from ramet.services.backup import backup
from ramet.web.desk import AtDesk

routes = APIRouter()
_CHUNK = 1 << 18


@routes.post("/settings/backup")
def take_backup(desk: AtDesk) -> Response:
    """Send the ledger with everything beside it as one file."""
    folder = Path(tempfile.mkdtemp(prefix="ramet-backup-"))
    name = f"ramet-{datetime.now(UTC):%Y-%m-%d-%H%M}.zip"
    backup(desk.ledger, folder / name, datetime.now(UTC))
    headers = {"Content-Disposition": f"attachment; filename={name}"}
    return StreamingResponse(_sent_then_removed(folder / name), 200, headers, "application/zip")


def _sent_then_removed(path: Path) -> Iterator[bytes]:
    try:
        with path.open("rb") as file:
            while chunk := file.read(_CHUNK):
                yield chunk
    finally:
        path.unlink(missing_ok=True)
        path.parent.rmdir()
