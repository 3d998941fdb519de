"""Photos of pieces: kept, shown small and whole."""

import re

from fastapi import APIRouter, HTTPException, Request
from starlette.responses import FileResponse, Response

from ramet.domain.errors import BadInput
from ramet.services.photos.store import photo_folder, thumb_path
from ramet.services.recording.photo import Photo, add_photo
from ramet.services.recording.recorded import Scribe
from ramet.web.desk import AtDesk
from ramet.web.forms import FormState, SentForm, problem_words, write_once
from ramet.web.pages.stock import piece_page
from ramet.web.render import go_to

routes = APIRouter()
_HASH = re.compile(r"[0-9a-f]{64}")
_KEEP = {"Cache-Control": "private, max-age=31536000, immutable"}
_TYPES = {".jpg": "image/jpeg", ".jpeg": "image/jpeg", ".png": "image/png", ".webp": "image/webp"}


@routes.post("/stock/photos")
def keep_photo(request: Request, sent: SentForm, desk: AtDesk) -> Response:
    """Keep a photo of a piece."""
    piece = sent.get("piece")
    if not sent.uploads:
        return piece_page(request, desk, piece, FormState(sent.fields, {}, ("Choose a photo first.",)), 422)
    name, data = sent.uploads[0]

    def write() -> str:
        order = Photo(piece, data, name, sent.get("photo_note") or None)
        done = add_photo(
            desk.book, photo_folder(desk.ledger), order, desk.reference, Scribe("grower", desk.today)
        )
        if done.problems:
            raise BadInput(done.problems)
        return f"/stock/piece/{piece}"

    try:
        where = write_once(desk, sent, write)
    except BadInput as error:
        wrong = tuple(problem_words(problem) for problem in error.problems)
        return piece_page(request, desk, piece, FormState(sent.fields, {}, wrong), 422)
    return go_to(request, where, "The photo is kept.")


@routes.get("/stock/photos/{sha256}")
def photo(sha256: str, desk: AtDesk) -> Response:
    """Send a photo as it was kept."""
    folder = photo_folder(desk.ledger)
    if _HASH.fullmatch(sha256):
        for path in (folder / sha256[:2]).glob(f"{sha256}.*"):
            if not path.name.endswith(".thumb.jpg"):
                kind = _TYPES.get(path.suffix, "application/octet-stream")
                return FileResponse(path, headers=_KEEP, media_type=kind)
    raise HTTPException(404, "There is no such photo.")


@routes.get("/stock/photos/{sha256}/small")
def small_photo(sha256: str, desk: AtDesk) -> Response:
    """Send the small picture of a photo."""
    path = thumb_path(photo_folder(desk.ledger), sha256)
    if not _HASH.fullmatch(sha256) or not path.is_file():
        raise HTTPException(404, "There is no such photo.")
    return FileResponse(path, headers=_KEEP, media_type="image/jpeg")
