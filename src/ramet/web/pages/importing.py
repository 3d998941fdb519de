"""Bringing tables in: choose or paste, mend what is wrong beside its row, import."""

import re
import secrets
import shutil
from pathlib import Path

from fastapi import APIRouter, HTTPException, Request
from starlette.responses import Response

from ramet.domain.errors import BadInput
from ramet.formats.stock import COLUMNS
from ramet.services.import_stock import ImportReport, import_files
from ramet.services.importing.uploads import (
    LEAVE_OUT,
    column_names,
    keep_upload,
    kept_tables,
    mend,
    mending_of,
)
from ramet.web.desk import AtDesk, Desk
from ramet.web.forms import FormState, Sent, SentForm
from ramet.web.render import go_to, render

routes = APIRouter()
_UPLOAD = re.compile(r"[A-Za-z0-9_-]{8,40}")
EXAMPLE = """\
piece,strain,taxon,system,tank,length_mm,cut_on,note
A-1,Fern green,Acropora millepora,main,T1,62,2026-08-14,on a plug
A-2,Fern green,Acropora millepora,main,T1,2.5 in,,mother
K-1,Lantern,Euphyllia glabrescens,main,T2,70,,three heads
"""


@routes.get("/import")
def choose_tables(request: Request) -> Response:
    """Show the form that takes tables."""
    return _choose(request, FormState())


@routes.get("/import/example.csv")
def example(request: Request) -> Response:
    """Send a small table to start from."""
    headers = {"Content-Disposition": "attachment; filename=stock-example.csv"}
    return Response(EXAMPLE, 200, headers, "text/csv; charset=utf-8")


@routes.post("/import")
def take_tables(request: Request, sent: SentForm, desk: AtDesk) -> Response:
    """Keep what was sent and try to import it."""
    if not sent.uploads and not sent.get("pasted"):
        return _choose(
            request, FormState(sent.fields, {"tables": "Expected a file, or rows pasted below."}), 422
        )
    upload = secrets.token_urlsafe(9)
    folder = _folder(desk, upload)
    try:
        keep_upload(folder, sent.uploads, sent.fields.get("pasted", ""))
    except BadInput as error:
        shutil.rmtree(folder, ignore_errors=True)
        words = [f"{one.place.file}: expected {one.expected}" for one in error.problems]
        return _choose(request, FormState(sent.fields, {"tables": "; ".join(words)}), 422)
    return _try(request, desk, upload, sent)


@routes.post("/import/{upload}")
def mend_tables(request: Request, upload: str, sent: SentForm, desk: AtDesk) -> Response:
    """Write what was mended into the kept tables and try again."""
    folder = _folder(desk, upload)
    if not kept_tables(folder):
        raise HTTPException(410, "These tables are not kept any more: they were imported, or are too old.")
    mend(kept_tables(folder), sent.fields)
    return _try(request, desk, upload, sent)


def _try(request: Request, desk: Desk, upload: str, sent: Sent) -> Response:
    folder = _folder(desk, upload)
    paths = kept_tables(folder)
    update, good_rows = sent.get("update") == "yes", sent.get("do") == "good-rows"
    new = not desk.has_ledger
    try:
        report = import_files(
            desk.ledger, paths, desk.reference, desk.today, update=update, accept_good_rows=good_rows
        )
    except BadInput as error:
        context = {
            "upload": upload,
            "update": update,
            "mending": mending_of(paths, error.problems),
            "columns": column_names(),
            "leave_out": LEAVE_OUT,
        }
        return render(request, "import/mend.html", context, status=422)
    shutil.rmtree(folder, ignore_errors=True)
    return go_to(request, "/start" if new else "/stock", _came(report))


def _choose(request: Request, form: FormState, status: int = 200) -> Response:
    return render(request, "import/choose.html", {"form": form, "columns": COLUMNS}, status=status)


def _came(report: ImportReport) -> str:
    parts = [
        (report.pieces_added, "pieces added"),
        (report.pieces_changed, "pieces changed"),
        (report.pieces_unchanged, "pieces as they were"),
        (report.readings_added, "water readings added"),
        (report.health_added, "health records added"),
        (report.rows_left_out, "rows left out"),
    ]
    told = ", ".join(f"{count} {words}" for count, words in parts if count)
    return f"Imported: {told or 'nothing new'}."


def _folder(desk: Desk, upload: str) -> Path:
    if not _UPLOAD.fullmatch(upload):
        raise HTTPException(404)
    return desk.files / "uploads" / upload
