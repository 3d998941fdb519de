"""Inspect, dip and treat: what was seen and done, of pieces or of all pieces in a system's water."""

import difflib
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ramet.domain.events import HealthKind, Kind, Payload
from ramet.domain.piece import name_key
from ramet.ledger import lookups
from ramet.ledger.store import Ledger
from ramet.reference.tables import Reference
from ramet.services.recording.recorded import Draft, Recorded, Scribe, record
from ramet.services.recording.stock_look import check_day, clean, living

if TYPE_CHECKING:
    from sqlalchemy import Connection


@dataclass(frozen=True, slots=True)
class About:
    """What a health entry is about: pieces, or a system for all pieces in its water."""

    pieces: tuple[str, ...] = ()
    system: str | None = None


@dataclass(frozen=True, slots=True)
class Inspection:
    """What an inspection for a pest found: `finding`, `clean`, or a person's word that it is `cleared`.

    Without a pest it is a look at the coral's health in general.
    """

    about: About
    result: HealthKind
    pest: str | None = None
    note: str | None = None


@dataclass(frozen=True, slots=True)
class Dip:
    """A bath outside the tank, by class of dip. With a pest it counts as its treatment.

    `bath` names the tub, so that contacts through shared bath water can be traced.
    """

    pieces: tuple[str, ...]
    dip: str
    minutes: float | None = None
    pest: str | None = None
    bath: str | None = None
    note: str | None = None


@dataclass(frozen=True, slots=True)
class Treatment:
    """A treatment against a pest. What was given is recorded as the user says it, never recommended."""

    about: About
    pest: str
    given: str | None = None
    note: str | None = None


def inspect(ledger: Ledger, order: Inspection, reference: Reference, scribe: Scribe) -> Recorded:
    """Enter an inspection."""
    draft = Draft("inspect", scribe)

    def decide(connection: "Connection") -> None:
        if order.result is HealthKind.TREATED:
            draft.problem("result", order.result.value, "finding, clean or cleared")
        if order.pest is None and order.result is not HealthKind.CLEAN:
            draft.problem("pest", None, "the pest that was found or cleared")
        pest = _pest(draft, order.pest, reference)
        if order.result is HealthKind.CLEARED and pest is not None and reference.pests[pest].generation_d:
            expected = "treated and clean: its life cycle is known, so evidence ends its hold"
            draft.problem("result", order.result.value, expected)
        payload = {"result": order.result.value, "pest": pest, "note": clean(draft, "note", order.note, 4000)}
        _enter(connection, draft, Kind.INSPECTED, order.about, payload)

    return record(ledger, draft, decide)


def dip(ledger: Ledger, order: Dip, reference: Reference, scribe: Scribe) -> Recorded:
    """Enter a dip, with the usual cautions."""
    draft = Draft("dip", scribe)

    def decide(connection: "Connection") -> None:
        if not order.dip.strip():
            draft.problem("dip", None, "the class of the dip")
        if order.minutes is not None and not 0 < order.minutes <= 24 * 60:
            draft.problem("minutes", order.minutes, "minutes above 0 and up to a day")
        pest = _pest(draft, order.pest, reference)
        payload = {
            "dip": clean(draft, "dip", order.dip),
            "minutes": order.minutes,
            "pest": pest,
            "result": None if pest is None else HealthKind.TREATED.value,
            "bath": clean(draft, "bath", order.bath),
            "note": clean(draft, "note", order.note, 4000),
        }
        _enter(connection, draft, Kind.DIPPED, About(order.pieces), payload)
        for row in reference.cautions:
            if row.applies == "dip":
                draft.caution(row.code, row.text)

    return record(ledger, draft, decide)


def treat(ledger: Ledger, order: Treatment, reference: Reference, scribe: Scribe) -> Recorded:
    """Enter a treatment."""
    draft = Draft("treat", scribe)

    def decide(connection: "Connection") -> None:
        pest = _pest(draft, order.pest, reference)
        payload = {
            "result": HealthKind.TREATED.value,
            "pest": pest,
            "given": clean(draft, "given", order.given),
            "note": clean(draft, "note", order.note, 4000),
        }
        _enter(connection, draft, Kind.TREATED, order.about, payload)

    return record(ledger, draft, decide)


def _pest(draft: Draft, name: str | None, reference: Reference) -> str | None:
    if name is None or name in reference.pests:
        return name
    near = difflib.get_close_matches(name.lower(), reference.pests, n=1, cutoff=0.4)
    listed = f"; the nearest is “{near[0]}”" if near else ": " + ", ".join(reference.pests)
    draft.problem("pest", name, f"a pest of the reference table{listed}")
    return None


def _enter(connection: "Connection", draft: Draft, kind: Kind, about: About, payload: Payload) -> None:
    if bool(about.pieces) == (about.system is not None):
        draft.problem("pieces", None, "pieces, or a system for all in its water: one of the two")
        return
    if about.system is None:
        states = living(connection, draft, "pieces", about.pieces)
        check_day(draft, states)
        for state in states:
            draft.enter(kind, payload, state.piece.piece)
        return
    check_day(draft, [])
    systems = lookups.known_places(connection).systems
    system = systems.get(name_key(about.system.strip()))
    if system is None:
        draft.problem("system", about.system, "a system with stock: " + ", ".join(sorted(systems.values())))
        return
    draft.enter(kind, payload, system=system)
