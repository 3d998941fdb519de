"""Static files under names that carry their hash, so that a browser keeps them for ever; gzipped once."""

import gzip
import hashlib
import mimetypes
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from fastapi import APIRouter, HTTPException, Request
from starlette.responses import Response

STATIC = Path(__file__).parent / "static"
_FOR_EVER = "public, max-age=31536000, immutable"
_PACKED_ALREADY = {".woff2", ".png"}
_TYPES = {".js": "text/javascript", ".css": "text/css", ".woff2": "font/woff2", ".svg": "image/svg+xml",
          ".webmanifest": "application/manifest+json"}  # fmt: skip

routes = APIRouter()


@dataclass(frozen=True, slots=True)
class Asset:
    """A file ready to be sent. `packed` is its gzip, or None where that does not help."""

    body: bytes
    packed: bytes | None
    media_type: str


def asset_url(name: str) -> str:
    """Return the address of a static file by its path under `static`."""
    return f"/static/{_digest(name)}/{name}"


@routes.get("/static/{digest}/{name:path}", include_in_schema=False)
def static_file(request: Request, digest: str, name: str) -> Response:
    """Send one static file."""
    if name not in _names() or digest != _digest(name):
        raise HTTPException(404)
    asset = _asset(name)
    headers = {"Cache-Control": _FOR_EVER, "Vary": "Accept-Encoding"}
    if asset.packed is not None and "gzip" in request.headers.get("accept-encoding", ""):
        return Response(asset.packed, 200, {**headers, "Content-Encoding": "gzip"}, asset.media_type)
    return Response(asset.body, 200, headers, asset.media_type)


@cache
def _names() -> frozenset[str]:
    return frozenset(path.relative_to(STATIC).as_posix() for path in STATIC.rglob("*") if path.is_file())


@cache
def _asset(name: str) -> Asset:
    body = _content(name)
    suffix = Path(name).suffix
    kind = _TYPES.get(suffix) or mimetypes.guess_type(name)[0] or "text/plain"
    packed = None if suffix in _PACKED_ALREADY else gzip.compress(body, 9, mtime=0)
    return Asset(body, packed, kind)


@cache
def _digest(name: str) -> str:
    return hashlib.sha256(_content(name)).hexdigest()[:12]


def _content(name: str) -> bytes:
    """Return a file's bytes; in a stylesheet, `asset(fonts/x.woff2)` becomes the address of that file."""
    body = (STATIC / name).read_bytes()
    if not name.endswith(".css"):
        return body
    parts = body.decode().split("asset(")
    done = [parts[0]]
    for part in parts[1:]:
        target, rest = part.split(")", 1)
        done.append(f"url({asset_url(target)}){rest}")
    return "".join(done).encode()
