"""The receiver's page of a shipment, and taking in what a receiver saw."""

import tempfile
from pathlib import Path

from ramet.domain.shipment_key import shipment_key
from ramet.formats.result import ResultFile
from ramet.papers.opening_page import OpeningPage, addressed, opening_page
from ramet.services.beside import write_whole
from ramet.services.record_outcome import Noting, ResultReport, import_result, read_result
from ramet.services.sending.sent_pieces import key_of
from ramet.services.shelf import PLAN, ShelfPlace, shipments, version_of

PAGE = "opening.html"


def receivers_page(place: ShelfPlace, send_to: str = "") -> OpeningPage | None:
    """Return the page of a planned shipment, with the address that takes results; None without a plan."""
    if place.plan is None:
        return None
    sha256 = version_of(place.folder / PLAN)
    path = place.folder / PAGE
    page = path.read_bytes() if path.exists() else b""
    if sha256.encode() not in page:
        page = opening_page(place.plan, sha256).html
        write_whole(path, page)
    return addressed(page, send_to)


def take_result(ledger: str, files: Path, data: bytes, noting: Noting) -> ResultReport:
    """Enter a result file that was sent or uploaded, with the plan of its shipment when it is on the shelf.

    Raises BadInput when it is no result, or names pieces that nobody knows; nothing is written then.
    """
    result = result_of(data)
    place = place_of_result(files, result)
    return import_result(ledger, result, None if place is None else place.plan, noting)


def result_of(data: bytes) -> ResultFile:
    """Read a result from bytes. Raises BadInput."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "result.json"
        path.write_bytes(data)
        return read_result(path)


def place_of_result(files: Path, result: ResultFile) -> ShelfPlace | None:
    """Return the shipment that a result is of: by its plan, or else by name and due day."""
    key = shipment_key(result.shipment, result.due)
    planned = [place for place in shipments(files) if place.plan is not None]
    for place in planned:
        if version_of(place.folder / PLAN) == result.plan_sha256:
            return place
    return next((place for place in planned if place.plan and key_of(place.plan) == key), None)
