"""A tiny shipment that everyone knows: nine pieces, one small box, four lines, a mild day (`OK_SMALL`).

All names are invented. `inputs(...)` gives the same with other pieces, holds or shipment keys.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import Any

from ramet.domain.piece import Hold, Piece, StockSnapshot, WaterRecord
from ramet.domain.words import Effort, Form
from ramet.formats.plan import LeftOut, Plan
from ramet.formats.shipment import Shipment
from ramet.reference.tables import Reference, load_reference
from ramet.services.planning.bag_options import BagOptions, find_bag_options
from ramet.services.planning.boxing import ReadyBox, ready_boxes
from ramet.services.planning.candidates import Candidates, find_candidates
from ramet.services.planning.expected_heat import ExpectedHeat, equip
from ramet.services.planning.gather import Inputs, gather
from ramet.services.planning.left_out import left_out
from ramet.services.planning.listening import Listener
from ramet.services.planning.plan import make_plan
from ramet.services.planning.tank_room import tank_room
from ramet.services.planning.tighten import Packed, choose_until_it_holds

REFERENCE = load_reference()
TODAY = date(2026, 9, 1)
PACKED_ON = date(2026, 9, 22)  # a Tuesday; no public holiday near it


def piece(name: str, strain: str, taxon: str, form: str, length_mm: float, **more: Any) -> Piece:
    """A sound piece in the one system of the small stock: as wide as long, two thirds as high."""
    row = {"system": "north", "tank": "N1", "width_mm": length_mm, "height_mm": length_mm * 2 / 3, "par": 120}
    return Piece(name, strain, taxon, Form(form), length_mm=length_mm, **(row | more))


STOCK = (
    piece("D1", "Dock 1", "Montipora digitata", "branching", 45),
    piece("D2", "Dock 1", "Montipora digitata", "branching", 50),
    piece("D3", "Dock 1", "Montipora digitata", "branching", 110),
    piece("F1", "Field 1", "Favites abdita", "massive", 40),
    piece("F2", "Field 1", "Favites abdita", "massive", 45),
    piece("L1", "Lamp 1", "Sarcophyton glaucum", "leather", 50),
    piece("L2", "Lamp 1", "Sarcophyton glaucum", "leather", 55),
    piece("Z1", "Zinc 1", "Zoanthus sp.", "mat", 35, height_mm=15, heads=12),
    piece("Z2", "Zinc 1", "Zoanthus sp.", "mat", 40, height_mm=15, heads=15),
)
WATER = (WaterRecord("north", TODAY, 25.2, 35.0, 2.9, 420, 1320, 5, 0.05, 8.05),)

DIGITS = {"id": "digits", "rank": "must", "count": 1, "taxon": "Montipora", "max_length_mm": 60}
HONEYCOMB = {"id": "honeycomb", "rank": "must", "count": 1, "taxon": "Favites"}
TOADSTOOL = {"id": "toadstool", "rank": "want", "count": 1, "strain": "Lamp 1"}
BUTTONS = {"id": "buttons", "rank": "filler", "count": 1, "class": "zoanthid"}

NO_PACKS = dict.fromkeys(REFERENCE.packs, 0)

_SHIPMENT: dict[str, Any] = {
    "name": "Small reef",
    "due": "2026-09-23T10:00:00-05:00",
    "sender": {"name": "North room", "zone": "America/Chicago"},
    "receiver": {"name": "Plains Library", "zone": "America/Chicago"},
    "tank": {"volume_l": 300, "alkalinity_dkh": 8, "calcium_mg_l": 420, "magnesium_mg_l": 1300},
    "request": [DIGITS, HONEYCOMB, TOADSTOOL, BUTTONS],
    "box": [{"type": "cube_305"}],
    "leg": [
        {
            "name": "van and depot",
            "start": "2026-09-22T14:00:00-05:00",
            "end": "2026-09-23T09:00:00-05:00",
            "surroundings": "depot",
            "low_c": 22,
            "high_c": 25,
        }
    ],
    "gear": {"oxygen": True, "packs": NO_PACKS},
    "carrier": {"live_aquatics": "yes", "heat_packs": "yes"},
}


def leg(low_c: float, high_c: float, surroundings: str = "depot") -> dict[str, Any]:
    """The one leg of the small route in other weather."""
    return _SHIPMENT["leg"][0] | {"low_c": low_c, "high_c": high_c, "surroundings": surroundings}


def request(line: str = "line", rank: str = "must", count: int = 1, **more: Any) -> dict[str, Any]:
    """A line of a shipment."""
    return {"id": line, "rank": rank, "count": count, **more}


def shipment(**changes: Any) -> Shipment:
    """The small shipment with other keys; `request`, `box`, `leg` and `goods` are lists of tables."""
    return Shipment.model_validate(_SHIPMENT | changes)


def inputs(
    pieces: Sequence[Piece] = STOCK,
    holds: Sequence[Hold] = (),
    *,
    today: date = TODAY,
    seed: int = 1,
    reference: Reference = REFERENCE,
    **changes: Any,
) -> Inputs:
    """The frozen inputs of the small shipment, with what is given in place of its own."""
    stock = StockSnapshot(len(pieces), tuple(pieces), tuple(holds), WATER)
    return gather(shipment(**changes), "0" * 64, stock, reference, today, seed, Effort.QUICK)


OK_SMALL = inputs()


@dataclass(frozen=True, slots=True)
class Stages:
    """What every stage of a plan gave, up to the lines left out."""

    found: Candidates
    boxes: tuple[ReadyBox, ...]
    heat: tuple[ExpectedHeat, ...]
    options: BagOptions
    packed: Packed
    missing: tuple[LeftOut, ...]


def run_stages(given: Inputs) -> Stages:
    """Run the stages one by one, as `make_plan` does."""
    found = find_candidates(given)
    boxes, heat = equip(given, found.candidates, ready_boxes(given))
    options = find_bag_options(given, found.candidates, heat)
    packed = choose_until_it_holds(given, found, options.parcels, boxes, tank_room(given), Listener())
    return Stages(found, boxes, heat, options, packed, left_out(given, found, options, packed, (boxes, heat)))


@cache
def small_stages() -> Stages:
    """The stages of the small shipment, run once."""
    return run_stages(OK_SMALL)


@cache
def small_plan() -> Plan:
    """The plan of the small shipment, made once."""
    return make_plan(OK_SMALL)
