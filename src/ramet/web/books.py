"""Ledgers that stay open between requests, and answers that hold as long as a ledger stays as it is."""

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import Any, TypeVar

from ramet.ledger.store import Ledger, open_ledger, version_of

T = TypeVar("T")
_MOST_ANSWERS = 24


class Books:
    """Opens each ledger once, and remembers costly answers by the ledger's version."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._open: dict[str, Ledger] = {}
        self._answers: OrderedDict[Hashable, Any] = OrderedDict()

    def book(self, place: str) -> Ledger:
        """Return an open ledger. Raises BadInput when there is none."""
        with self._lock:
            if place not in self._open:
                self._open[place] = open_ledger(place)
            return self._open[place]

    def let_go(self, place: str) -> None:
        """Close a ledger that is about to be removed, and forget what was read of it."""
        with self._lock:
            book = self._open.pop(place, None)
            self._answers.clear()
        if book is not None:
            book.close()

    def close(self) -> None:
        """Close every ledger."""
        for place in list(self._open):
            self.let_go(place)

    def remembered(self, place: str, about: Hashable, make: Callable[[Ledger], T]) -> T:
        """Return an answer about a ledger as it is now, made once for each version of it."""
        book = self.book(place)
        with book.reading() as connection:
            key = (place, version_of(connection), about)
        with self._lock:
            if key in self._answers:
                self._answers.move_to_end(key)
                answer: T = self._answers[key]
                return answer
        made = make(book)
        with self._lock:
            self._answers[key] = made
            while len(self._answers) > _MOST_ANSWERS:
                self._answers.popitem(last=False)
        return made
