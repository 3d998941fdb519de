"""Pack a shipment off at the bench: lay out, decide go or no-go, seal bag after bag, hand over.

Each step is entered in the ledger and can be undone by another entry; what a packing has come to is what
its entries add up to.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import TYPE_CHECKING

from ramet.domain.errors import BadInput
from ramet.domain.events import Entry, Event, Kind, Standing
from ramet.domain.piece import name_key
from ramet.domain.problems import Place, Problem
from ramet.formats.plan import Bag, Plan
from ramet.ledger import projections
from ramet.ledger.queries import of_batch
from ramet.ledger.store import open_ledger, version_of
from ramet.services.sending.sent_pieces import States, bag_of, births, departures, key_of, travel

if TYPE_CHECKING:
    from sqlalchemy import Connection


@dataclass(frozen=True, slots=True)
class SealedBag:
    """A bag that was sealed: when, by whom, what is in it, and the hash of the photo taken at it, if any."""

    bag: str
    at: datetime
    by: str
    pieces: tuple[str, ...]
    photo: str | None = None


@dataclass(frozen=True, slots=True)
class Decision:
    """The go or no-go of the morning, with the checks that were ticked."""

    go: bool
    at: datetime
    by: str
    checks: tuple[str, ...]
    note: str


@dataclass(frozen=True, slots=True)
class Packing:
    """How far the packing of a plan is. `version` is that of the ledger when it was read."""

    version: int
    laid_out: frozenset[str] = frozenset()
    decision: Decision | None = None
    sealed: Mapping[str, SealedBag] = field(default_factory=dict)
    sent_at: datetime | None = None

    def next_bag(self, plan: Plan) -> Bag | None:
        """Return the first bag in sealing order that is not sealed."""
        waiting = [bag for bag in plan.bags if bag.id not in self.sealed]
        return min(waiting, key=lambda bag: bag.sealing_order, default=None)


@dataclass(frozen=True, slots=True)
class AtBench:
    """Who does a step, and when."""

    at: datetime
    by: str


def packing_batch(key: str) -> str:
    """Return the batch under which the packing of a shipment is entered."""
    return f"packing {key}"


def packing_of(ledger: str, plan: Plan) -> Packing:
    """Return how far the packing of a plan is."""
    with open_ledger(ledger) as book, book.reading() as connection:
        return _read(connection, plan, version_of(connection))


def lay_out(ledger: str, plan: Plan, items: Sequence[str], now: AtBench) -> Packing:
    """Note which things lie on the bench."""
    said = {"step": "laid_out", "items": list(items)}
    return _step(ledger, plan, now, lambda before, states: [Entry(Kind.PACKED, now.at, said)])


def decide(ledger: str, plan: Plan, go: bool, checks: Sequence[str], note: str, now: AtBench) -> Packing:
    """Note the decision of the morning."""
    said = {"step": "decided", "go": go, "checks": list(checks), "note": note}
    return _step(ledger, plan, now, lambda before, states: [Entry(Kind.PACKED, now.at, said)])


def seal(ledger: str, plan: Plan, bag_id: str, now: AtBench, photo: str | None = None) -> Packing:
    """Note that a bag is sealed. One that is sealed already stays as it is, or gains a photo."""
    bag = _known_bag(plan, bag_id)

    def entries(before: Packing, states: States) -> Sequence[Entry]:
        there = before.sealed.get(bag.id)
        if there is not None and photo in (None, there.photo):
            return ()
        at = now.at if there is None else there.at
        said: dict[str, object] = {"step": "sealed", "bag": bag.id, "pieces": list(bag.pieces)}
        said |= {"photo": photo} if photo is not None else {}
        born = births(plan, bag.pieces, states)
        known = [one for one in bag.pieces if _can_be_entered(one, states, born)]
        own = [Entry(Kind.PACKED, at, said | travel(plan, one), one) for one in known]
        return [*born, *own, Entry(Kind.PACKED, at, said)]

    return _step(ledger, plan, now, entries)


def unseal(ledger: str, plan: Plan, bag_id: str, now: AtBench) -> Packing:
    """Take a sealing back: the bag was opened again, or ticked by mistake."""
    bag = _known_bag(plan, bag_id)

    def entries(before: Packing, states: States) -> Sequence[Entry]:
        if bag.id not in before.sealed:
            return ()
        said: dict[str, object] = {"step": "unsealed", "bag": bag.id}
        known = [one for one in bag.pieces if _can_be_entered(one, states, ())]
        return [*(Entry(Kind.PACKED, now.at, said, one) for one in known), Entry(Kind.PACKED, now.at, said)]

    return _step(ledger, plan, now, entries)


def hand_over(ledger: str, plan: Plan, now: AtBench) -> Packing:
    """Note that the carrier has the boxes: every piece in a sealed bag has left the stock."""

    def entries(before: Packing, states: States) -> Sequence[Entry]:
        if before.sent_at is not None:
            return ()
        known = [one for one in _packed_pieces(before) if name_key(one) in states]
        step = Entry(Kind.PACKED, now.at, {"step": "sent", "bags": sorted(before.sealed)})
        return [*departures(plan, key_of(plan), known, states, now.at), step]

    return _step(ledger, plan, now, entries)


def take_back(ledger: str, plan: Plan, now: AtBench) -> Packing:
    """Undo the handing over: the pieces are in stock again."""

    def entries(before: Packing, states: States) -> Sequence[Entry]:
        if before.sent_at is None:
            return ()
        known = ((one, states.get(name_key(one))) for one in _packed_pieces(before))
        gone = [one for one, state in known if state is not None and state.standing is Standing.SENT]
        back = [Entry(Kind.CORRECTED, now.at, {"standing": Standing.ALIVE.value}, one) for one in gone]
        return [*back, Entry(Kind.PACKED, now.at, {"step": "not_sent"})]

    return _step(ledger, plan, now, entries)


def add_up(events: Iterable[Event], version: int) -> Packing:
    """Return what the steps of a packing come to, in the order of entry."""
    laid_out: frozenset[str] = frozenset()
    decision: Decision | None = None
    sealed: dict[str, SealedBag] = {}
    sent_at: datetime | None = None
    for event in events:
        said = event.entry.payload
        if event.entry.piece is not None or "step" not in said:
            continue
        if said["step"] == "laid_out":
            laid_out = frozenset(_texts(said["items"]))
        elif said["step"] == "decided":
            decision = _decision(event)
        elif said["step"] == "sealed":
            sealed[str(said["bag"])] = _sealed(event, sealed.get(str(said["bag"])))
        elif said["step"] == "unsealed":
            sealed.pop(str(said["bag"]), None)
        elif said["step"] == "sent":
            sent_at = event.entry.at
        elif said["step"] == "not_sent":
            sent_at = None
    return Packing(version, laid_out, decision, sealed, sent_at)


def _decision(event: Event) -> Decision:
    said = event.entry.payload
    return Decision(
        bool(said["go"]), event.entry.at, event.recorded_by, _texts(said["checks"]), str(said["note"])
    )


def _sealed(event: Event, before: SealedBag | None) -> SealedBag:
    said = event.entry.payload
    photo = str(said["photo"]) if "photo" in said else None if before is None else before.photo
    return SealedBag(str(said["bag"]), event.entry.at, event.recorded_by, _texts(said["pieces"]), photo)


def _texts(value: object) -> tuple[str, ...]:
    return tuple(str(one) for one in value) if isinstance(value, list) else ()


def _read(connection: "Connection", plan: Plan, version: int) -> Packing:
    return add_up(of_batch(connection, packing_batch(key_of(plan)), Kind.PACKED), version)


def _step(
    ledger: str, plan: Plan, now: AtBench, entries: Callable[[Packing, States], Sequence[Entry]]
) -> Packing:
    """Enter what follows from how far the packing is, with no other writer in between."""
    key = key_of(plan)
    names = [name for one in plan.chosen for name in (one.piece, one.mother) if name]

    def decided(connection: "Connection", version: int) -> Sequence[Entry]:
        states = projections.states(connection, {name_key(name) for name in names})
        return [_of_shipment(key, one) for one in entries(_read(connection, plan, version), states)]

    with open_ledger(ledger) as book:
        book.enter(decided, recorded_by=now.by, batch=packing_batch(key), read_version=None)
        with book.reading() as connection:
            return _read(connection, plan, version_of(connection))


def _of_shipment(key: str, entry: Entry) -> Entry:
    if entry.kind is not Kind.PACKED:
        return entry
    return replace(entry, payload={"shipment": key} | dict(entry.payload))


def _packed_pieces(packing: Packing) -> list[str]:
    return [piece for bag in packing.sealed.values() for piece in bag.pieces]


def _can_be_entered(piece: str, states: States, born: Sequence[Entry]) -> bool:
    state = states.get(name_key(piece))
    if state is None:
        return any(name_key(one.piece or "") == name_key(piece) for one in born)
    return state.standing is Standing.ALIVE


def _known_bag(plan: Plan, bag_id: str) -> Bag:
    bag = bag_of(plan, bag_id)
    if bag is None:
        ids = ", ".join(one.id for one in sorted(plan.bags, key=lambda one: one.sealing_order))
        raise BadInput(
            [Problem(Place(plan.shipment.name, column="bag"), bag_id, f"a bag of this plan: {ids}")]
        )
    return bag
