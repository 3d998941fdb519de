"""What the boxes cost to send, by the user's rate table. Money is counted in exact decimals."""

from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal

from ramet.formats.plan import Box, BoxPrice, Cost
from ramet.formats.rates import ANY_ZONE, Rate
from ramet.formats.shipment import Carrier

_CENT = Decimal("0.01")
_HAIR_KG = 1e-3
"""Billed masses are told to the gram: 29 lb are 13.154 kg there and 13.15418 kg in a table in pounds."""


def cost_of(boxes: Sequence[Box], pieces: int, carrier: Carrier) -> Cost | None:
    """Return the cost of sending some boxes; None without a table, or where it does not reach so far."""
    prices = []
    for box in boxes:
        price = price_of(box.billed_kg, carrier)
        if price is None:
            return None
        prices.append(BoxPrice(box=box.id, billed_kg=box.billed_kg, price=price))
    if not prices:
        return None
    total = sum((one.price for one in prices), Decimal(0))
    return Cost(
        currency=carrier.currency,
        zone=carrier.zone,
        total=total,
        per_piece=per_piece(total, pieces),
        boxes=tuple(prices),
    )


def why_no_cost(boxes: Sequence[Box], carrier: Carrier) -> str:
    """Return why the rates at hand tell no cost: the table ends below what a box bills; else nothing."""
    beyond = [box for box in boxes if carrier.rate and price_of(box.billed_kg, carrier) is None]
    if not beyond:
        return ""
    most_kg = max(rate.up_to_kg for rate in _rows(carrier))
    zone = f" for zone {carrier.zone}" if carrier.zone else ""
    listed = ", ".join(f"{box.id} {box.billed_kg:.1f} kg" for box in beyond)
    return f"Your rates{zone} end at {most_kg:.1f} kg and boxes bill more ({listed}): no cost can be told."


def price_of(billed_kg: float, carrier: Carrier) -> Decimal | None:
    """Return the price of a box that bills so much: the first row of its zone, or flat, that reaches it."""
    reaching = sorted(
        (rate for rate in _rows(carrier) if rate.up_to_kg >= billed_kg - _HAIR_KG),
        key=lambda rate: rate.up_to_kg,
    )
    if not reaching:
        return None
    return _cents(reaching[0].price + reaching[0].price_per_kg * Decimal(str(billed_kg)))


def _rows(carrier: Carrier) -> list[Rate]:
    return [rate for rate in carrier.rate if rate.zone in (*ANY_ZONE, carrier.zone)]


def per_piece(total: Decimal, pieces: int) -> Decimal | None:
    """Return the cost of a piece, to the cent."""
    return _cents(total / pieces) if pieces else None


def _cents(amount: Decimal) -> Decimal:
    return amount.quantize(_CENT, ROUND_HALF_UP)
