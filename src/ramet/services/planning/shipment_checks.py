"""What only the calendar and the tables can tell about a shipment: dates gone by, names nobody knows."""

import difflib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from ramet.domain.problems import Place, Problem
from ramet.formats.shipment import BoxWish, Shipment
from ramet.formats.toml_places import KeyPath, toml_places
from ramet.formats.toml_reader import key_words
from ramet.reference.tables import Reference

LONGEST_H = 240.0
"""No coral is meant to stand longer in a bag; what asks for it is a slip of the date."""
OWN_BOX_KEYS = ("inner_mm", "wall_mm", "foam", "tare_kg", "max_kg")


@dataclass(frozen=True, slots=True)
class _Doubt:
    path: KeyPath
    value: str
    expected: str


def shipment_problems(
    shipment: Shipment, path: Path, today: date, reference: Reference
) -> tuple[Problem, ...]:
    """Return everything in a shipment that cannot be planned for, each at its line."""
    places = toml_places(path.read_text("utf-8"))
    doubts = [
        *_dates(shipment, today),
        *_zones(shipment),
        *_boxes(shipment, reference),
        *_gear(shipment, reference),
        *_genera(shipment, reference),
        *_rest(shipment, reference),
    ]
    return tuple(
        Problem(
            Place(str(path), _line(places, doubt.path), key_words(doubt.path)), doubt.value, doubt.expected
        )
        for doubt in doubts
    )


def _dates(shipment: Shipment, today: date) -> Iterator[_Doubt]:
    if shipment.due.date() < today:
        yield _Doubt(("due",), shipment.due.isoformat(), f"a time not before today, {today.isoformat()}")
    departs = shipment.leg[0].start
    if departs.date() < today:
        expected = f"a departure not before today, {today.isoformat()}"
        yield _Doubt(("leg", 0, "start"), departs.isoformat(), expected)
    longest = departs + timedelta(hours=LONGEST_H)
    if shipment.due > longest:
        expected = f"a time at most {LONGEST_H:g} h after the departure, {longest.isoformat()}"
        yield _Doubt(("due",), shipment.due.isoformat(), expected)


def _zones(shipment: Shipment) -> Iterator[_Doubt]:
    for key, party in (("sender", shipment.sender), ("receiver", shipment.receiver)):
        try:
            ZoneInfo(party.zone)
        except (KeyError, ValueError, OSError):
            yield _Doubt((key, "zone"), party.zone, "the name of a time zone, such as America/Chicago")


def _boxes(shipment: Shipment, reference: Reference) -> Iterator[_Doubt]:
    for index, wish in enumerate(shipment.box):
        if wish.foam is not None and wish.foam not in reference.foams:
            yield _Doubt(("box", index, "foam"), wish.foam, _one_of(wish.foam, reference.foams))
        missing = [key for key in OWN_BOX_KEYS if getattr(wish, key) is None]
        if wish.type not in reference.boxes and missing:
            own = f"or a box of your own with {', '.join(missing)} as well"
            known = _one_of(wish.type, reference.boxes)
            yield _Doubt(("box", index, "type"), wish.type, f"{known}; {own}")
        elif wish.type in reference.boxes and _differs(wish):
            expected = "a name of its own for a box whose measures are not those of the catalogue"
            yield _Doubt(("box", index, "type"), wish.type, expected)


def _differs(wish: BoxWish) -> bool:
    return any(getattr(wish, key) is not None for key in OWN_BOX_KEYS)


def _gear(shipment: Shipment, reference: Reference) -> Iterator[_Doubt]:
    for key, named, known in (
        ("bags", shipment.gear.bags, reference.bags),
        ("packs", shipment.gear.packs, reference.packs),
    ):
        for name in named:
            if name not in known:
                yield _Doubt(("gear", key, name), name, _one_of(name, known))


def _genera(shipment: Shipment, reference: Reference) -> Iterator[_Doubt]:
    for index, request in enumerate(shipment.request):
        if request.taxon and reference.genus(request.taxon) is None and request.form is None:
            nearest = ", ".join(reference.nearest(request.taxon))
            expected = f"a genus of the tables, such as {nearest}; or a form beside it"
            yield _Doubt(("request", index, "taxon"), request.taxon, expected)


def _rest(shipment: Shipment, reference: Reference) -> Iterator[_Doubt]:
    own, least = shipment.rest_before_packing_d, reference.parameter("dip_rest").band.low
    if own is not None and own < least:
        expected = f"at least {least:g} days, or nothing for the usual: corals rest from a dip before packing"
        yield _Doubt(("rest_before_packing_d",), f"{own:g}", expected)


def _one_of(name: str, known: Mapping[str, object] | Iterable[str]) -> str:
    names = sorted(known)
    near = difflib.get_close_matches(name, names, 3, 0.4)
    return "one of " + ", ".join(near or names)


def _line(places: Mapping[KeyPath, int], path: KeyPath) -> int | None:
    """Return the line of a key, or of the nearest table around it."""
    while path and path not in places:
        path = path[:-1]
    return places.get(path)
