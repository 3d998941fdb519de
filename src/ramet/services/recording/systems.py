"""Enter what concerns a system: fish in it or none, goods and tools in it, the floor of a tank."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ramet.domain.events import Kind
from ramet.domain.piece import name_key
from ramet.ledger import lookups, records
from ramet.ledger.store import Ledger
from ramet.services.recording.recorded import Draft, Recorded, Scribe, record
from ramet.services.recording.stock_look import check_day, clean, living

if TYPE_CHECKING:
    from sqlalchemy import Connection

LONGEST_CM = 1000.0


@dataclass(frozen=True, slots=True)
class GoodsPlace:
    """Goods and where they stand from a day on; `system` None: in no water any more.

    `what` says what they are (media, rock, mounts); None keeps what was said before.
    """

    goods: str
    system: str | None
    what: str | None = None


@dataclass(frozen=True, slots=True)
class ToolDay:
    """A tool used in a system's water or on pieces, or disinfected."""

    tool: str
    pieces: tuple[str, ...] = ()
    system: str | None = None
    disinfected: bool = False


@dataclass(frozen=True, slots=True)
class Floor:
    """The floor or racks of a tank [cm]."""

    system: str
    tank: str
    length_cm: float
    width_cm: float


def note_fish(ledger: Ledger, system: str, present: bool, scribe: Scribe) -> Recorded:
    """Enter that fish are in a system from a day on, or that none are."""
    draft = Draft("fish", scribe)

    def decide(connection: "Connection") -> None:
        check_day(draft, [])
        draft.enter(Kind.FISH, {"present": present}, system=_system(connection, draft, system))

    return record(ledger, draft, decide)


def place_goods(ledger: Ledger, order: GoodsPlace, scribe: Scribe) -> Recorded:
    """Enter where goods stand from a day on. Water without corals may be named too, such as a new tank."""
    draft = Draft("goods", scribe)

    def decide(connection: "Connection") -> None:
        check_day(draft, [])
        before = [one for one in records.goods(connection) if name_key(one.goods) == name_key(order.goods)]
        name = before[-1].goods if before else clean(draft, "goods", order.goods, 80)
        what = clean(draft, "what", order.what, 80) or (before[-1].what if before else "goods")
        if name is None:
            draft.problem("goods", None, "a name for the goods")
        last = max((one.since for one in before if one.since is not None), default=None)
        if last is not None and scribe.day < last:
            draft.problem("on", scribe.day, f"a day not before their last move ({last.isoformat()})")
        system = None
        if order.system is not None:
            known = lookups.known_places(connection).systems
            system = known.get(name_key(order.system)) or clean(draft, "system", order.system, 80)
        draft.enter(Kind.GOODS, {"goods": name, "what": what}, system=system)

    return record(ledger, draft, decide)


def use_tool(ledger: Ledger, order: ToolDay, scribe: Scribe) -> Recorded:
    """Enter that a tool was used, in a system's water or on pieces, or that it was disinfected."""
    draft = Draft("tool", scribe)

    def decide(connection: "Connection") -> None:
        check_day(draft, [])
        said = {"tool": clean(draft, "tool", order.tool, 80), "disinfected": order.disinfected or None}
        if said["tool"] is None:
            draft.problem("tool", None, "a name for the tool")
        if sum((bool(order.pieces), order.system is not None, order.disinfected)) != 1:
            draft.problem("tool", order.tool, "one of: pieces, a system, or that it was disinfected")
        elif order.pieces:
            for state in living(connection, draft, "pieces", order.pieces):
                draft.enter(Kind.TOOL, said, state.piece.piece)
        else:
            system = None if order.system is None else _system(connection, draft, order.system)
            draft.enter(Kind.TOOL, said, system=system)

    return record(ledger, draft, decide)


def measure_floor(ledger: Ledger, order: Floor, scribe: Scribe) -> Recorded:
    """Enter how long and wide the floor or the racks of a tank are."""
    draft = Draft("floor", scribe)

    def decide(connection: "Connection") -> None:
        check_day(draft, [])
        system = _system(connection, draft, order.system)
        pairs = lookups.known_places(connection).tanks.get(name_key(order.tank), ())
        tank = next((name for one, name in pairs if system and name_key(one) == name_key(system)), None)
        if tank is None:
            draft.problem("tank", order.tank, f"a tank of “{order.system}” with stock")
        for name in ("length_cm", "width_cm"):
            value = getattr(order, name)
            if not 0 < value <= LONGEST_CM:
                draft.problem(name, value, f"a number above 0 and up to {LONGEST_CM:g} cm")
        said = {"tank": tank, "length_cm": order.length_cm, "width_cm": order.width_cm}
        draft.enter(Kind.TANK, said, system=system)

    return record(ledger, draft, decide)


def _system(connection: "Connection", draft: Draft, name: str) -> str | None:
    systems = lookups.known_places(connection).systems
    found = systems.get(name_key(name.strip()))
    if found is None:
        draft.problem("system", name, "a system with stock: " + ", ".join(sorted(systems.values())))
    return found
