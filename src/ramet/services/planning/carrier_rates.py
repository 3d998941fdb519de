"""The rates of a shipment's carrier: those in its table beside the shipment, or those in the file itself."""

from collections.abc import Iterator
from pathlib import Path

from ramet.domain.errors import BadInput
from ramet.domain.problems import Place, Problem
from ramet.formats.rates import ANY_ZONE, read_rates, twice_priced
from ramet.formats.shipment import Carrier, Shipment
from ramet.formats.toml_places import KeyPath, toml_places
from ramet.formats.toml_reader import key_words


def rate_table(shipment: Shipment, path: Path) -> Path | None:
    """Return the path of the rate table that the shipment in the file `path` names, if it names one."""
    return None if shipment.carrier.rates is None else path.parent / shipment.carrier.rates


def with_rates(shipment: Shipment, path: Path) -> Shipment:
    """Return the shipment with the rows and terms of its rate table. Raises BadInput with all problems."""
    carrier, table = shipment.carrier, rate_table(shipment, path)
    if table is not None:
        read = read_rates(table)
        if isinstance(read, list):
            raise BadInput(read)
        carrier = carrier.model_copy(update={"rate": read[0], **read[1]})
    problems = list(_problems(carrier, path))
    if problems:
        raise BadInput(problems)
    return shipment.model_copy(update={"carrier": carrier})


def _problems(carrier: Carrier, path: Path) -> Iterator[Problem]:
    zones = sorted({rate.zone for rate in carrier.rate})
    if carrier.rate and not any(zone in (*ANY_ZONE, carrier.zone) for zone in zones):
        expected = f"a zone of the rates: {', '.join(zones)}"
        yield Problem(_place(path, ("carrier", "zone")), carrier.zone or None, expected)
    if carrier.rates is None:
        for number in twice_priced(carrier.rate):
            place = _place(path, ("carrier", "rate", number, "up_to_kg"))
            kg = f"{carrier.rate[number].up_to_kg:g}"
            yield Problem(place, kg, "one price for each zone and mass; an earlier rate has this one")


def _place(path: Path, key: KeyPath) -> Place:
    places = toml_places(path.read_text("utf-8"))
    near = next((key[:n] for n in range(len(key), 0, -1) if key[:n] in places), ())
    return Place(str(path), places.get(near), key_words(key))
