"""Opening: the receiver's page, by a link or as a file, and the results that come back."""

from datetime import UTC, datetime, timedelta

from fastapi import APIRouter, HTTPException, Request
from itsdangerous import BadSignature, SignatureExpired
from starlette.concurrency import run_in_threadpool
from starlette.responses import PlainTextResponse, Response

from ramet.domain.errors import BadInput, RametError
from ramet.papers.opening_page import OpeningPage
from ramet.services.open import receivers_page, take_result
from ramet.services.photos.photo_store import keep_photo
from ramet.services.photos.store import photo_folder
from ramet.services.record_outcome import Noting, ResultReport
from ramet.services.shelf import ShelfPlace, place_of
from ramet.web.access import access_of
from ramet.web.desk import Desk, office_of
from ramet.web.forms import problem_words

routes = APIRouter()
LINK_DAYS = 120
"""A link outlives the last look, on day 90, by a month for the way and for waiting."""
EXPIRED = (
    "This link has expired. Ask the sender for a new one; what you noted is still on this device, and "
    "“Save the result file” on the page still works."
)
ALTERED = "This link is not whole. Open it again from the message or the label that came with the boxes."


@routes.get("/opening/{signed}")
def opening(request: Request, signed: str) -> Response:
    """Show the receiver's page to whoever has its link."""
    place = _linked_place(request, signed)
    page = receivers_page(place, str(request.url_for("take_results", signed=signed)))
    if page is None:
        raise HTTPException(404, "This shipment has no plan any more; ask the sender.")
    return _html(page)


@routes.post("/opening/{signed}/result")
async def take_results(request: Request, signed: str) -> Response:
    """Take a result in. The link alone is the right to do so, also from a page that is a file."""
    body = await request.body()
    answer = await run_in_threadpool(_take, request, signed, body)
    answer.headers["Access-Control-Allow-Origin"] = "*"
    return answer


def opening_link(request: Request, place: ShelfPlace) -> str:
    """Return a new link to the receiver's page of a shipment."""
    signed = access_of(request).opening_link(place.key)
    return str(request.url_for("opening", signed=signed))


def link_ends(desk: Desk) -> str:
    """Return the day on which a link made now expires."""
    return desk.say.day((datetime.now(UTC) + timedelta(days=LINK_DAYS)).date())


def entered(desk: Desk, report: ResultReport) -> str:
    """Say what taking a result in did."""
    if not report.seen_added and not report.bags_added:
        return "Nothing new: all of it was entered before."
    seen = desk.say.count(report.seen_added, "observation")
    bags = desk.say.count(report.bags_added, "opened bag")
    dead = f" Dead: {', '.join(report.dead)}." if report.dead else ""
    return f"Entered: {seen} and {bags}.{dead}"


def noting(desk: Desk, by: str, file: str) -> Noting:
    """Return who enters a result now, and where its photos go."""
    return Noting(datetime.now(UTC), by, lambda data: keep_photo(photo_folder(desk.ledger), data), file)


def _take(request: Request, signed: str, body: bytes) -> Response:
    try:
        place = _linked_place(request, signed)
        desk = office_of(request).desk()
        report = take_result(
            desk.ledger, desk.files, body, noting(desk, f"receiver of {place.name}", "result")
        )
    except HTTPException as error:
        return PlainTextResponse(str(error.detail), error.status_code)
    except BadInput as error:
        told = "; ".join(problem_words(problem) for problem in error.problems[:5])
        return PlainTextResponse(f"Not taken: {told}", 422)
    except RametError as error:
        return PlainTextResponse(f"Not taken now: {error}", 503)
    return PlainTextResponse(f"Received, thank you. {entered(desk, report)}")


def _linked_place(request: Request, signed: str) -> ShelfPlace:
    try:
        key = access_of(request).opened_by(signed, LINK_DAYS * 86_400)
    except SignatureExpired:
        raise HTTPException(410, EXPIRED) from None
    except BadSignature:
        raise HTTPException(404, ALTERED) from None
    place = place_of(office_of(request).desk().files, key)
    if place is None:
        raise HTTPException(404, "The sender no longer has this shipment. Save the result file and send it.")
    return place


def _html(page: OpeningPage) -> Response:
    headers = {"Content-Security-Policy": f"{page.policy}; frame-ancestors 'none'"}
    return Response(page.html, media_type="text/html", headers=headers)


def attachment(place: ShelfPlace, page: OpeningPage) -> Response:
    """Send the page as a file to keep."""
    disposition = f'attachment; filename="opening-{place.key}.html"'
    return Response(page.html, media_type="text/html", headers={"Content-Disposition": disposition})
