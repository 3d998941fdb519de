"""The orders that forms make: what was typed for some pieces becomes a call of a recording verb."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from ramet.domain.errors import BadInput
from ramet.domain.events import HealthKind
from ramet.domain.problems import Place, Problem
from ramet.ledger.store import Ledger
from ramet.reference.tables import Reference
from ramet.services.recording.acquire import correct
from ramet.services.recording.cut import Cut, cut
from ramet.services.recording.health import About, Dip, Inspection, Treatment, dip, inspect, treat
from ramet.services.recording.leave import Lost, lose, release, reserve
from ramet.services.recording.measure import Measurement, measure
from ramet.services.recording.move import Move, move
from ramet.services.recording.offspring import Child
from ramet.services.recording.recorded import Recorded, Scribe
from ramet.services.recording.stock_look import Size, Where
from ramet.web.formatting import Wording
from ramet.web.forms import Sent

NEW_PIECES = 6
CORRECTABLE = (
    "strain", "taxon", "form", "parent", "mounted_on", "cut_on", "acquired_on", "source", "permit", "note"
)  # fmt: skip
_SIZES = ("length_mm", "width_mm", "height_mm")


@dataclass(frozen=True, slots=True)
class Typed:
    """A form read for one verb: its fields, and how to read sizes and numbers in them."""

    sent: Sent
    pieces: tuple[str, ...]
    say: Wording
    problems: list[Problem]

    def text(self, name: str) -> str | None:
        """Return a text; None where nothing was typed."""
        return self.sent.get(name) or None

    def size(self, quantity: str, name: str) -> float | None:
        """Return a size in its base unit; what cannot be read becomes a problem."""
        return self._read(name, lambda text: round(self.say.read(quantity, text), 3))

    def number(self, name: str) -> float | None:
        """Return a number."""
        return self._read(name, self.say.plain)

    def whole(self, name: str) -> int | None:
        """Return a whole number."""
        number = self.number(name)
        if number is not None and not number.is_integer():
            self._wrong(name, "a whole number")
            return None
        return None if number is None else int(number)

    def day(self, name: str) -> date | None:
        """Return a day."""
        text = self.sent.get(name)
        try:
            return date.fromisoformat(text) if text else None
        except ValueError:
            self._wrong(name, "a day such as 2027-01-31")
            return None

    def sizes(self, prefix: str = "") -> Size:
        """Return length, width, height and heads."""
        length, width, height = (self.size("length", prefix + name) for name in _SIZES)
        return Size(length, width, height, self.whole(prefix + "heads"))

    def _read(self, name: str, read: Callable[[str], float]) -> float | None:
        text = self.sent.get(name)
        try:
            return read(text) if text else None
        except ValueError as error:
            self._wrong(name, str(error))
            return None

    def _wrong(self, name: str, expected: str) -> None:
        self.problems.append(Problem(Place("form", column=name), self.sent.get(name), expected))


Do = Callable[[Ledger, Typed, Reference, Scribe], Recorded]


def do_move(book: Ledger, typed: Typed, _: Reference, scribe: Scribe) -> Recorded:
    """Move pieces to a tank and spot."""
    where = Where(typed.text("tank"), typed.text("system"), typed.text("spot"))
    order = Move(typed.pieces, where, typed.number("par"), typed.size("flow", "flow_cm_s"))
    return _unless_wrong(typed, lambda: move(book, order, scribe))


def do_measure(book: Ledger, typed: Typed, _: Reference, scribe: Scribe) -> Recorded:
    """Enter the sizes that were typed for each piece."""
    orders = []
    for piece in typed.pieces:
        names = {name: f"{name}@{piece}" for name in (*_SIZES, "heads", "buoyant_g")}
        length, width, height = (typed.size("length", names[name]) for name in _SIZES)
        size = Size(length, width, height, typed.whole(names["heads"]))
        weight = typed.number(names["buoyant_g"])
        if size.given or weight is not None or len(typed.pieces) == 1:
            orders.append(Measurement(piece, size, weight))
    return _unless_wrong(typed, lambda: measure(book, tuple(orders), scribe))


def do_cut(book: Ledger, typed: Typed, reference: Reference, scribe: Scribe) -> Recorded:
    """Cut new pieces from the one that is chosen."""
    children = []
    for n in range(1, NEW_PIECES + 1):
        size = typed.sizes(f"children.{n}.")
        name = typed.text(f"children.{n}.piece")
        if size.given or name:
            where = Where(typed.text(f"children.{n}.tank"), None, typed.text(f"children.{n}.spot"))
            children.append(Child(size, name, typed.text(f"children.{n}.mounted_on"), where))
    order = Cut(typed.pieces[0], tuple(children), typed.sizes("left."), typed.text("tool"))
    return _unless_wrong(typed, lambda: cut(book, order, reference, scribe))


def do_promise(book: Ledger, typed: Typed, _: Reference, scribe: Scribe) -> Recorded:
    """Promise pieces to somebody."""
    return reserve(book, typed.pieces, typed.sent.get("promised_to"), scribe)


def do_free(book: Ledger, typed: Typed, _: Reference, scribe: Scribe) -> Recorded:
    """Take a promise back."""
    return release(book, typed.pieces, scribe)


def do_lose(book: Ledger, typed: Typed, _: Reference, scribe: Scribe) -> Recorded:
    """Enter a loss."""
    return lose(book, Lost(typed.pieces, typed.text("why")), scribe)


def do_inspect(book: Ledger, typed: Typed, reference: Reference, scribe: Scribe) -> Recorded:
    """Enter a look at pieces."""
    result = HealthKind(typed.sent.get("result") or HealthKind.CLEAN)
    order = Inspection(About(typed.pieces), result, typed.text("pest"), typed.text("note"))
    return inspect(book, order, reference, scribe)


def do_dip(book: Ledger, typed: Typed, reference: Reference, scribe: Scribe) -> Recorded:
    """Enter a dip."""
    words = (typed.text("pest"), typed.text("bath"), typed.text("note"))
    order = Dip(typed.pieces, typed.sent.get("dip"), typed.number("minutes"), *words)
    return _unless_wrong(typed, lambda: dip(book, order, reference, scribe))


def do_treat(book: Ledger, typed: Typed, reference: Reference, scribe: Scribe) -> Recorded:
    """Enter a treatment."""
    order = Treatment(About(typed.pieces), typed.sent.get("pest"), typed.text("given"), typed.text("note"))
    return treat(book, order, reference, scribe)


def do_correct(book: Ledger, typed: Typed, reference: Reference, scribe: Scribe) -> Recorded:
    """Correct the record of a piece."""
    said = {name: typed.sent.get(name) for name in typed.sent.fields if name in CORRECTABLE}
    return correct(book, typed.pieces[0], said, reference, scribe)


def _unless_wrong(typed: Typed, do: Callable[[], Recorded]) -> Recorded:
    if typed.problems:
        raise BadInput(typed.problems)
    return do()
