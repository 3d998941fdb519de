"""Everything a plan is made from, read once and frozen: stock, shipment, tables, clock and seed."""

import hashlib
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path

from ramet.domain.errors import BadInput
from ramet.domain.piece import StockSnapshot
from ramet.domain.words import Effort, PackingRule
from ramet.formats.shipment import Shipment
from ramet.formats.toml_reader import read_toml
from ramet.reference.tables import Reference
from ramet.services.planning.carrier_rates import rate_table, with_rates
from ramet.services.planning.shipment_checks import shipment_problems


@dataclass(frozen=True, slots=True)
class Clockwork:
    """The fixed times of a shipment, and the hours that each bag takes to seal and to open."""

    departs: datetime
    arrives: datetime
    due: datetime
    per_bag_h: float
    closing_h: float

    def sealed_from(self, bags: int) -> datetime:
        """Return when the first of `bags` bags must be sealed for the boxes to leave on time."""
        return self.departs - timedelta(hours=self.closing_h + bags * self.per_bag_h)

    def sealed_before_h(self, bags: int, sealing_order: int) -> float:
        """Return how long before the departure a bag is sealed, out of `bags` sealed one after the other."""
        return self.closing_h + (bags - sealing_order + 1) * self.per_bag_h

    def needed_h(self, bags: int, sealing_order: int, opening_order: int) -> float:
        """Return the hours from a bag's sealing until its coral stands in matched water."""
        return self.needed_from_h(self.sealed_before_h(bags, sealing_order), opening_order)

    def needed_from_h(self, sealed_before_h: float, opening_order: int) -> float:
        """Return the hours from a sealing before the departure until the coral stands in matched water."""
        route_h = (self.due - self.departs).total_seconds() / 3600
        return sealed_before_h + route_h + opening_order * self.per_bag_h


@dataclass(frozen=True, slots=True)
class Inputs:
    """One frozen set of inputs; the same value gives the same plan."""

    shipment: Shipment
    shipment_sha256: str
    stock: StockSnapshot
    reference: Reference
    today: date
    seed: int
    effort: Effort
    clock: Clockwork

    @property
    def packed_on(self) -> date:
        """The day on which bags are sealed."""
        return self.clock.departs.date()

    @property
    def rules(self) -> frozenset[PackingRule]:
        """The rules of packing that are on: all that the shipment does not switch off."""
        return frozenset(rule for rule in PackingRule if getattr(self.shipment.rules, rule))

    @property
    def most_bags(self) -> int:
        """The most bags that the shipment can come to: one for each piece and for the goods."""
        return sum(request.count for request in self.shipment.request) + len(self.shipment.goods)

    @property
    def fill_share(self) -> float:
        """The share of a bag's closed volume that may be filled on this route."""
        name = "gas_fill_share" if self.by_air else "ground_fill_share"
        return self.reference.parameter(name).band.typical

    @property
    def by_air(self) -> bool:
        """Tells whether a leg is flown, where cabin pressure swells the gas in the bags."""
        return any(leg.surroundings == "aircraft" or leg.pressure_atm < 0.95 for leg in self.shipment.leg)


def read_shipment(path: Path, today: date, reference: Reference) -> tuple[Shipment, str]:
    """Read a shipment and hash its file. Raises BadInput with every problem found."""
    read = read_toml(path, Shipment)
    if isinstance(read, tuple):
        raise BadInput(read)
    problems = shipment_problems(read, path, today, reference)
    if problems:
        raise BadInput(problems)
    return _with_rates(read, path)


def _with_rates(shipment: Shipment, path: Path) -> tuple[Shipment, str]:
    """Return the shipment with its carrier's rates, and the hash of its file and its rate table."""
    priced = with_rates(shipment, path)
    table = rate_table(shipment, path)
    files = [path] if table is None else [path, table]
    return priced, hashlib.sha256(b"".join(file.read_bytes() for file in files)).hexdigest()


def gather(
    shipment: Shipment,
    shipment_sha256: str,
    stock: StockSnapshot,
    reference: Reference,
    today: date,
    seed: int,
    effort: Effort,
) -> Inputs:
    """Freeze the inputs of a plan and work out its fixed times."""
    clock = Clockwork(
        departs=shipment.leg[0].start,
        arrives=shipment.leg[-1].end,
        due=shipment.due,
        per_bag_h=shipment.handling_min_per_bag / 60,
        closing_h=reference.parameter("box_closing_min").band.typical / 60,
    )
    return Inputs(shipment, shipment_sha256, stock, reference, today, seed, effort, clock)
