"""A small receiving tank and corals for it; all invented."""

from functools import cache
from typing import Any

from ramet.domain.words import Form
from ramet.formats.receiving import Tank
from ramet.reference.tables import Reference, load_reference
from ramet.services.receiving.arriving import ArrivingPiece

WATER = {"volume_l": 250, "alkalinity_dkh": 8.0, "calcium_mg_l": 420.0, "magnesium_mg_l": 1300.0}
SODA = {"name": "soda", "grams_per_l": {"sodium_carbonate": 99}, "most_ml_d": 60}


@cache
def reference() -> Reference:
    return load_reference()


def tank(**changes: Any) -> Tank:
    return Tank.model_validate(WATER | changes)


def stony(name: str = "A1", taxon: str = "Acropora millepora", **more: Any) -> ArrivingPiece:
    return ArrivingPiece(name, taxon, Form.BRANCHING, (45, 35, 50), **({"source_par": 250.0} | more))


def soft(name: str = "L1", **more: Any) -> ArrivingPiece:
    return ArrivingPiece(name, "Sarcophyton", Form.LEATHER, (50, 50, 40), **({"source_par": 120.0} | more))
