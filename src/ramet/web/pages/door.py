"""The way in: the owner's link, and the theme of this browser."""

from fastapi import APIRouter, HTTPException, Request
from starlette.responses import Response

from ramet.web.access import access_of
from ramet.web.forms import SentForm
from ramet.web.render import THEME_COOKIE, THEMES, go_to

routes = APIRouter()


@routes.get("/owner")
def owner_link(request: Request, key: str = "") -> Response:
    """Make this browser the owner's and lead on, so that the key leaves the address bar."""
    access = access_of(request)
    if not access.opens(key):
        raise HTTPException(403, "This is not the link that the server printed when it was last started.")
    response = go_to(request, "/", "This browser is now the owner's.")
    access.mark_owner(request, response)
    return response


@routes.post("/theme")
def choose_theme(request: Request, sent: SentForm) -> Response:
    """Keep the theme of this browser."""
    theme, back = sent.get("theme"), sent.get("back")
    inside = back.startswith("/") and not back.startswith(("//", "/\\"))
    response = go_to(request, back if inside else "/")
    if theme in THEMES:
        response.set_cookie(THEME_COOKIE, theme, max_age=31_536_000, httponly=True, samesite="lax")
    return response
