"""Holds Ctrl-C back while compiled code may run: it only asks to stop.

Handing values to compiled code and back runs Python code of its own. An exception raised there, as Ctrl-C
does whenever it likes, is not looked for: the process ends by a segmentation fault.
"""

import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any


@contextmanager
def interrupts_held_back() -> Iterator[Callable[[], bool]]:
    """Note Ctrl-C, which the yielded function tells, in place of raising it.

    A handler that somebody else put there is called all the same; what it raises comes at the end.
    """
    before = signal.getsignal(signal.SIGINT)
    if threading.current_thread() is not threading.main_thread() or not callable(before):
        yield lambda: False
        return
    noted: list[int] = []
    raised: list[KeyboardInterrupt] = []

    def on_interrupt(number: int, frame: Any) -> None:
        noted.append(number)
        if before is not signal.default_int_handler:
            try:
                before(number, frame)
            except KeyboardInterrupt as error:
                raised.append(error)

    signal.signal(signal.SIGINT, on_interrupt)
    try:
        yield lambda: bool(noted)
    finally:
        signal.signal(signal.SIGINT, before)
    if raised:
        raise raised[0]
