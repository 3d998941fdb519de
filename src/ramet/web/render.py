"""Turns a page's context into HTML: the whole page, or for a partial update one block of it."""

import secrets
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from fastapi import Request
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup
from starlette.responses import HTMLResponse, RedirectResponse, Response

from ramet import __version__
from ramet.papers.marks import project_mark
from ramet.web.access import access_of
from ramet.web.assets import asset_url
from ramet.web.desk import desk_of

TEMPLATES = Path(__file__).parent / "templates"
NOTICE_COOKIE = "ramet-notice"
THEME_COOKIE = "ramet-theme"
THEMES = ("system", "day", "night")


def render(
    request: Request,
    template: str,
    context: Mapping[str, Any] | None = None,
    *,
    status: int = 200,
    fragment: str | None = None,
) -> Response:
    """Render a template with its context.

    `fragment` names a block; a partial update whose target has that id gets the block alone.
    """
    desk = desk_of(request)
    theme = request.cookies.get(THEME_COOKIE, "system")
    values = {
        **(context or {}),
        "desk": desk,
        "say": desk.say,
        "path": request.url.path,
        "address": str(request.url.path) + (f"?{request.url.query}" if request.url.query else ""),
        "pages_there": request.app.state.addresses,
        "theme": theme if theme in THEMES else "system",
        "notice": access_of(request).read_notice(request.cookies.get(NOTICE_COOKIE, "")),
        "owner": access_of(request).is_owner(request),
    }
    found = environment().get_template(template)
    headers = {"Vary": "HX-Request, HX-Target"}
    if fragment is not None and request.headers.get("hx-target") == fragment:
        body = "".join(found.blocks[fragment](found.new_context(values)))
        return HTMLResponse(body, status, headers)
    response = HTMLResponse(found.render(values), status, headers)
    # A script that follows a form's answer is not who reads the line: the page it opens next is.
    if values["notice"] and request.headers.get("sec-fetch-dest", "document") == "document":
        response.delete_cookie(NOTICE_COOKIE)
    return response


def go_to(request: Request, address: str, notice: str = "") -> Response:
    """Lead a browser on after a write, with a line that the next page shows."""
    response = RedirectResponse(address, 303)
    if notice:
        response.set_cookie(
            NOTICE_COOKIE, access_of(request).notice(notice), max_age=60, httponly=True, samesite="lax"
        )
    return response


@cache
def environment() -> Environment:
    """Return the templates' environment; a name that a template misspells is an error."""
    made = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
        cache_size=-1,
    )
    made.globals.update(
        asset=asset_url,
        new_token=lambda: secrets.token_urlsafe(12),
        project_mark=Markup(project_mark("currentColor")),
        ramet_version=__version__,
    )
    made.filters["svg"] = Markup
    made.filters["capital"] = lambda text: text[:1].upper() + text[1:]
    made.globals["icon"] = made.get_template("parts/icons.html").module.icon  # type: ignore[attr-defined]
    return made
