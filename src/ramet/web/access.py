"""Who is the owner, and what a stranger may see.

On loopback whoever sits at the machine is the owner. Elsewhere the owner is whoever opened the link with
the owner key, which the server prints once at its start. All others reach only what a signed link opens.
"""

import secrets
from pathlib import Path
from typing import Annotated

from fastapi import Depends, HTTPException, Request
from itsdangerous import BadSignature, URLSafeSerializer, URLSafeTimedSerializer
from starlette.responses import Response

from ramet.web.config import WebConfig, is_loopback

OWNER_COOKIE = "ramet-owner"
OWNER_DAYS = 90
_FORWARDED = ("forwarded", "x-forwarded-for", "x-forwarded-host", "x-real-ip")


class Access:
    """Signs and checks what tells the owner from a stranger. The secret lives beside the ledger."""

    def __init__(self, config: WebConfig, files: Path) -> None:
        self._config = config
        secret = _secret(files / "secret")
        self._cookies = URLSafeTimedSerializer(secret, salt="owner")
        self._links = URLSafeTimedSerializer(secret, salt="opening")
        self._notices = URLSafeSerializer(secret, salt="notice")

    def is_owner(self, request: Request) -> bool:
        """Tell whether a request comes from the owner."""
        if self._config.owner_key is None:
            peer = request.client.host if request.client else ""
            # A proxy on this machine would make every stranger look like the person at it.
            return is_loopback(peer) and not any(name in request.headers for name in _FORWARDED)
        try:
            self._cookies.loads(request.cookies.get(OWNER_COOKIE, ""), max_age=OWNER_DAYS * 86_400)
        except BadSignature:
            return False
        return True

    def opens(self, key: str) -> bool:
        """Tell whether a key is the owner key, without telling by the time it takes."""
        known = self._config.owner_key
        return known is not None and secrets.compare_digest(key.encode(), known.encode())

    def mark_owner(self, request: Request, response: Response) -> None:
        """Let this browser be the owner's from now on."""
        response.set_cookie(
            OWNER_COOKIE,
            self._cookies.dumps("owner"),
            max_age=OWNER_DAYS * 86_400,
            httponly=True,
            samesite="lax",
            secure=request.url.scheme == "https",
        )

    def opening_link(self, shipment: str) -> str:
        """Return the signed part of a link that lets a receiver open one shipment."""
        return self._links.dumps(shipment)

    def opened_by(self, signed: str, max_age_s: int) -> str:
        """Return the shipment of a signed link. Raises BadSignature; SignatureExpired when it is too old."""
        return str(self._links.loads(signed, max_age=max_age_s))

    def notice(self, text: str) -> str:
        """Sign a line that the next page shows."""
        return str(self._notices.dumps(text))

    def read_notice(self, signed: str) -> str:
        """Return a signed line, or nothing when it is not ours."""
        try:
            return str(self._notices.loads(signed))
        except BadSignature:
            return ""


def access_of(request: Request) -> Access:
    """Return the app's access rules."""
    access: Access = request.app.state.access
    return access


def owner_only(request: Request) -> None:
    """Let only the owner pass."""
    if not access_of(request).is_owner(request):
        raise HTTPException(403, "owner")


OwnerOnly = Annotated[None, Depends(owner_only)]


def _secret(path: Path) -> str:
    if path.exists():
        return path.read_text("ascii").strip()
    path.parent.mkdir(parents=True, exist_ok=True)
    path.touch(mode=0o600)
    path.write_text(secrets.token_urlsafe(48), "ascii")
    return path.read_text("ascii")
