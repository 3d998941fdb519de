"""A form that is sent twice is written once: each form carries a token, which is claimed before the write."""

import re
import time
from collections.abc import Callable
from pathlib import Path

from ramet.domain.errors import RametError

_TOKEN = re.compile(r"[A-Za-z0-9_-]{8,64}")
_KEEP_S = 90 * 24 * 3600.0


class HalfDone(RametError):
    """A form was sent before, and nobody knows whether its write came to an end."""

    def __init__(self) -> None:
        super().__init__(
            "This form was sent before and the answer never came. Look whether it was entered; "
            "if not, send it again."
        )


def once(files: Path, token: str, write: Callable[[], str]) -> str:
    """Do `write` and return where it leads; for a token that was used, only return where it led.

    A write that fails gives its token back. Raises HalfDone when the first write never came to an end.
    """
    if not _TOKEN.fullmatch(token):
        raise HalfDone
    folder = files / "forms"
    folder.mkdir(parents=True, exist_ok=True)
    claim = folder / token
    try:
        claim.touch(exist_ok=False)
    except FileExistsError:
        led_to = claim.read_text("utf-8")
        if not led_to:
            raise HalfDone from None
        return led_to
    try:
        led_to = write()
    except BaseException:
        claim.unlink(missing_ok=True)
        raise
    claim.write_text(led_to, "utf-8")
    return led_to


def forget_old_tokens(files: Path) -> None:
    """Drop tokens of forms that nobody sends any more."""
    oldest = time.time() - _KEEP_S
    for claim in (files / "forms").glob("*"):
        if claim.stat().st_mtime < oldest:
            claim.unlink(missing_ok=True)
