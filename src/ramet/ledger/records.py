"""What the ledger holds about systems besides their water: fish, goods, tools, and the size of tanks."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import Connection

from ramet.domain.events import Event, Kind
from ramet.domain.piece import name_key
from ramet.ledger.rows import of_kinds, saying


@dataclass(frozen=True, slots=True)
class FishRecord:
    """From a day on fish are in a system, or none are."""

    system: str
    on: date
    present: bool


@dataclass(frozen=True, slots=True)
class GoodsStay:
    """Goods that stood in a system's water. `since` None: always; `until` None: to this day."""

    goods: str
    what: str
    system: str
    since: date | None
    until: date | None


@dataclass(frozen=True, slots=True)
class Sending:
    """A piece that was sent: when, to whom and with which shipment, as far as the ledger says."""

    piece: str
    on: date
    to: str | None
    shipment: str | None


@dataclass(frozen=True, slots=True)
class ToolUse:
    """A tool or tub that was used in a system's water or on a piece on a day, or disinfected."""

    tool: str
    on: date
    system: str | None
    piece: str | None
    disinfected: bool


def fish(connection: Connection) -> tuple[FishRecord, ...]:
    """Return what was recorded of fish, in the order of the days."""
    found = [
        FishRecord(event.entry.system or "", event.entry.on, bool(event.entry.payload["present"]))
        for event in of_kinds(connection, Kind.FISH)
    ]
    return tuple(sorted(found, key=lambda one: one.on))


def goods(connection: Connection) -> tuple[GoodsStay, ...]:
    """Return where goods stood, and when, by goods and day."""
    moves: dict[str, list[Event]] = {}
    for event in of_kinds(connection, Kind.GOODS):
        moves.setdefault(name_key(str(event.entry.payload["goods"])), []).append(event)
    stays: list[GoodsStay] = []
    for of_one in moves.values():
        ordered = sorted(of_one, key=lambda event: event.entry.on)
        ends = [*(event.entry.on for event in ordered[1:]), None]
        for event, until in zip(ordered, ends, strict=True):
            if event.entry.system is not None:
                values: dict[str, Any] = dict(event.entry.payload)
                stays.append(
                    GoodsStay(values["goods"], values["what"], event.entry.system, event.entry.on, until)
                )
    return tuple(stays)


def tool_uses(connection: Connection) -> tuple[ToolUse, ...]:
    """Return the uses of tools and tubs by day: those recorded by themselves, and those of cuts and dips."""
    found = [_tool_use(event, "tool") for event in of_kinds(connection, Kind.TOOL)]
    for name, kinds in (("tool", (Kind.CUT, Kind.SPLIT)), ("bath", (Kind.DIPPED,))):
        found += [_tool_use(event, name) for event in saying(connection, name, kinds)]
    return tuple(sorted(found, key=lambda one: one.on))


def sendings(connection: Connection) -> tuple[Sending, ...]:
    """Return what was sent, in the order of entry."""
    return tuple(
        Sending(
            event.entry.piece or "",
            event.entry.on,
            _text(event.entry.payload.get("to")),
            _text(event.entry.payload.get("shipment")),
        )
        for event in of_kinds(connection, Kind.SENT)
    )


def _tool_use(event: Event, name: str) -> ToolUse:
    return ToolUse(
        tool=str(event.entry.payload[name]),
        on=event.entry.on,
        system=event.entry.system,
        piece=event.entry.piece,
        disinfected=bool(event.entry.payload.get("disinfected")),
    )


def _text(value: object) -> str | None:
    return None if value is None else str(value)


def tank_floors(connection: Connection) -> dict[tuple[str, str], float]:
    """Return the area of the floor or racks of each tank [cm²], by case-blind system and tank."""
    floors: dict[tuple[str, str], float] = {}
    for event in of_kinds(connection, Kind.TANK):
        values: dict[str, Any] = dict(event.entry.payload)
        key = name_key(event.entry.system or ""), name_key(values["tank"])
        floors[key] = float(values["length_cm"]) * float(values["width_cm"])
    return floors
