"""What a page says when something goes wrong: in words, with the way on, and nothing lost."""

import logging
import secrets

from fastapi import FastAPI, HTTPException, Request
from starlette.exceptions import HTTPException as StarletteHTTPException
from starlette.responses import Response

from ramet.domain.errors import BadInput, BrokenEnvironment, BrokenTable, RametError, StaleWrite
from ramet.services.once import HalfDone
from ramet.web.forms import problem_words
from ramet.web.render import render

log = logging.getLogger("ramet.web")
_TITLES = {
    403: "This page is the owner's",
    404: "There is no such page",
    405: "This page takes no such form",
    410: "This link has expired",
}
_TEXTS = {
    403: "Open the link that the server printed when it was started; it makes this browser the owner's. "
    "A receiver opens the link that came with the boxes.",
    404: "The address leads nowhere. A piece or a shipment may have been renamed or removed.",
    405: "Go back and open the page anew.",
}


def answer_troubles(app: FastAPI) -> None:
    """Let every error of the app be told on a page."""
    app.add_exception_handler(StarletteHTTPException, _http)
    app.add_exception_handler(RametError, _ramet)
    app.add_exception_handler(Exception, _unforeseen)


async def _http(request: Request, error: Exception) -> Response:
    assert isinstance(error, StarletteHTTPException)
    code = error.status_code
    detail = error.detail if isinstance(error, HTTPException) and " " in str(error.detail) else ""
    title = _TITLES.get(code, "This cannot be done")
    return trouble(request, code, title, detail or _TEXTS.get(code, str(error.detail)))


async def _ramet(request: Request, error: Exception) -> Response:
    assert isinstance(error, RametError)
    if isinstance(error, BadInput):
        words = tuple(f"{problem.place.file}: {problem_words(problem)}" for problem in error.problems)
        return trouble(request, 422, "This cannot be used as it is", "Nothing was written.", words)
    if isinstance(error, (StaleWrite, HalfDone)):
        return trouble(request, 409, "Somebody was here meanwhile", str(error))
    broken = isinstance(error, (BrokenEnvironment, BrokenTable))
    return trouble(request, 503 if broken else 422, "This did not work", str(error))


async def _unforeseen(request: Request, error: Exception) -> Response:
    number = secrets.token_hex(3)
    log.error("unforeseen error %s", number, exc_info=error)
    return trouble(
        request,
        500,
        "Something in ramet broke",
        f"Nothing was half written. The server's log tells more under the number {number}. "
        "Go back: what you typed is still in the form.",
    )


def trouble(request: Request, status: int, title: str, text: str, problems: tuple[str, ...] = ()) -> Response:
    """Show what went wrong."""
    return render(
        request, "trouble.html", {"title": title, "text": text, "problems": problems}, status=status
    )
