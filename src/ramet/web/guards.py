"""What every request must pass and every answer carries: host, origin, size, and the content policy."""

import socket
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from ramet.web.config import LOOPBACK_NAMES, WebConfig, is_address

MOST_BYTES = 64 * 1024 * 1024
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; font-src 'self'; "
    "connect-src 'self'; media-src 'self' blob:; form-action 'self'; base-uri 'none'; "
    "frame-ancestors 'none'; manifest-src 'self'"
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    # `same-origin` and not `no-referrer`: with the latter a form's Origin is the word null.
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), geolocation=(), microphone=()",
}
_SAFE = frozenset({"GET", "HEAD", "OPTIONS"})


class Guards:
    """Refuses what comes through a foreign name or from a foreign page, and what is too large."""

    def __init__(self, app: ASGIApp, config: WebConfig) -> None:
        self._app = app
        names = {*LOOPBACK_NAMES, *config.names, config.host}
        if not config.on_loopback:
            own = socket.gethostname().lower()
            names |= {own, f"{own}.local"}
        self._names = frozenset(names)
        self._addresses_too = not config.on_loopback

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Guard one request."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
                headers.setdefault("Cache-Control", "no-store")
            await send(message)

        refusal = self._refusal(scope["method"], scope["path"], Headers(scope=scope))
        app = self._app if refusal is None else PlainTextResponse(refusal[1], refusal[0])
        await app(scope, receive, send_with_headers)

    def _refusal(self, method: str, path: str, headers: Headers) -> tuple[int, str] | None:
        host = headers.get("host", "")
        name = urlsplit(f"//{host}").hostname or ""
        if not (name in self._names or (self._addresses_too and is_address(name))):
            # A name of somebody else that leads here is how a foreign page would read this server.
            return 421, f"This server does not answer to the name “{name}”. Start it with --name {name}.\n"
        if method not in _SAFE and not _is_receivers(path) and not _same_origin(headers, host):
            return 403, "This was sent from another page than ramet's own. Open the page anew and repeat.\n"
        length = headers.get("content-length", "0")
        if not length.isdigit() or int(length) > MOST_BYTES:
            return 413, f"At most {MOST_BYTES // 1024**2} MB can be sent at once.\n"
        return None


def _is_receivers(path: str) -> bool:
    """A receiver's page may be a file, which has no origin; its signed address is its right to send."""
    return path.startswith("/opening/") and path.endswith("/result")


def _same_origin(headers: Headers, host: str) -> bool:
    """A browser always tells where a write comes from; what does not tell is refused."""
    origin = headers.get("origin") or headers.get("referer")
    if origin is not None:
        return urlsplit(origin).netloc == host
    return headers.get("sec-fetch-site") in ("same-origin", "none")
