"""What a person sees of a planning while it runs, and how Ctrl-C ends it with a plan."""

import signal
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from ramet.services.planning.listening import SearchProgress

LINE_EVERY_S = 5.0
"""How often the standing of the search is written where lines cannot be overwritten."""
_WIDE = 79


class SearchLine:
    """Tells on standard error what is being done: a line for each stage, and where the search stands."""

    def __init__(self) -> None:
        self._overwrites = sys.stderr.isatty()
        self._told_s = time.monotonic()
        self._open = False

    def stage(self, stage: str) -> None:
        """Say what is being done now."""
        self._close()
        click.echo(f"… {stage}", err=True)

    def search(self, progress: "SearchProgress") -> None:
        """Say how good the best plan so far is, and what nothing can beat."""
        if not self._overwrites and time.monotonic() - self._told_s < LINE_EVERY_S:
            return
        self._told_s = time.monotonic()
        best = "proven best" if progress.gap == 0 else f"bound {progress.bound:g}, gap {progress.gap:.1%}"
        line = f"  {progress.seconds:5.1f} s  {progress.goal}: {progress.value:g}, {best}"
        if self._overwrites:
            click.echo("\r" + line[:_WIDE].ljust(_WIDE), err=True, nl=False)
            self._open = True
        else:
            click.echo(line, err=True)

    def _close(self) -> None:
        if self._open:
            click.echo(err=True)
        self._open = False


@contextmanager
def stopped_by_interrupt() -> Iterator[Callable[[], bool]]:
    """Turn a first Ctrl-C into a wish to stop, which the yielded function tells; a second one breaks off."""
    pressed: list[int] = []

    def on_interrupt(number: int, frame: Any) -> None:
        if pressed:
            raise KeyboardInterrupt
        pressed.append(number)
        click.echo("\nStopping: the best plan so far is finished and checked. Again to break off.", err=True)

    before = signal.signal(signal.SIGINT, on_interrupt)
    try:
        yield lambda: bool(pressed)
    finally:
        signal.signal(signal.SIGINT, before)
