"""A small shipment from Chicago time to Phoenix time, and the chosen pieces and bags to work back from."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from ramet.formats.plan import Bag, Chosen
from ramet.formats.shipment import Shipment
from ramet.reference.tables import Reference
from ramet.services.calendar.work_back import WorkBack, work_back

CHICAGO = ZoneInfo("America/Chicago")
PHOENIX = ZoneInfo("America/Phoenix")


def whole(piece: str, taxon: str = "Favites abdita", form: str = "massive", **more: Any) -> Chosen:
    row = {
        "request": "r",
        "piece": piece,
        "strain": piece,
        "taxon": taxon,
        "class": "stony",
        "how": "whole",
        "rank": "must",
        "bag": f"bag-{piece}",
        "form": form,
        "size_mm": (40, 30, 30),
        "ready_on": date(2026, 1, 1),
        "value": 1,
    }
    return Chosen.model_validate(row | more)


def cut(piece: str, mother: str, taxon: str = "Pocillopora damicornis", form: str = "branching") -> Chosen:
    return whole(piece, taxon, form, how="cut", mother=mother)


def bags_for(chosen: list[Chosen], boxes: int = 1) -> list[Bag]:
    return [
        Bag.model_validate(
            {
                "id": one.bag,
                "pieces": (one.piece,),
                "class": one.bag_class,
                "type": "t",
                "stance": "stands",
                "water_l": 0.5,
                "gas_l": 1.0,
                "gas": "air",
                "film_um": 100,
                "layers": 2,
                "closed_l": 2,
                "size_mm": (120, 120, 200),
                "mass_kg": 1,
                "box": f"box-{1 + number % boxes}",
                "at_mm": (0, 0, 0),
                "sealing_order": number + 1,
                "opening_order": len(chosen) - number,
            }
        )
        for number, one in enumerate(chosen)
    ]


def shipment(departs: datetime, due: datetime, **more: Any) -> Shipment:
    row = {
        "name": "library",
        "due": due,
        "sender": {"name": "sender", "zone": "America/Chicago"},
        "receiver": {"name": "receiver", "zone": "America/Phoenix"},
        "tank": {"volume_l": 400, "alkalinity_dkh": 8, "calcium_mg_l": 420, "magnesium_mg_l": 1300},
        "request": [{"id": "r", "rank": "must", "count": 1, "form": "branching"}],
        "box": [{"type": "b"}],
        "leg": [
            {
                "name": "night",
                "start": departs,
                "end": due,
                "surroundings": "vehicle",
                "low_c": 1,
                "high_c": 9,
            }
        ],
        "handling_min_per_bag": 6,
    }
    return Shipment.model_validate(row | more)


def calendar(
    reference: Reference,
    chosen: list[Chosen],
    today: date,
    sealed_from: datetime,
    *,
    departs: datetime | None = None,
    due: datetime | None = None,
    tanks: Mapping[str, str] | None = None,
    boxes: int = 1,
    **more: Any,
) -> WorkBack:
    """The calendar of some pieces; by default they leave at 14:00 and are due at 10:00 the day after."""
    leaves = departs or sealed_from.replace(hour=14, minute=0)
    arrives = due or datetime(leaves.year, leaves.month, leaves.day + 1, 10, tzinfo=PHOENIX)
    sent = shipment(leaves, arrives, **more)
    bags = bags_for(chosen, boxes)
    return work_back(chosen, bags, sent, reference, today, sealed_from, leaves, tanks=tanks)
