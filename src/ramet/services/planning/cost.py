"""What the boxes cost to send, by the user's rate table. Money is counted in exact decimals."""

from collections.abc import Iterable
from decimal import ROUND_HALF_UP, Decimal

from ramet.formats.plan import Box, BoxPrice, Cost
from ramet.formats.rates import ANY_ZONE
from ramet.formats.shipment import Carrier

_CENT = Decimal("0.01")


def cost_of(boxes: Iterable[Box], pieces: int, carrier: Carrier) -> Cost | None:
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


def price_of(billed_kg: float, carrier: Carrier) -> Decimal | None:
    """Return the price of a box that bills so much: the first row of its zone, or flat, that reaches it."""
    rows = [rate for rate in carrier.rate if rate.zone in (*ANY_ZONE, carrier.zone)]
    reaching = sorted(
        (rate for rate in rows if rate.up_to_kg >= billed_kg - 1e-9), key=lambda rate: rate.up_to_kg
    )
    if not reaching:
        return None
    return _cents(reaching[0].price + reaching[0].price_per_kg * Decimal(str(billed_kg)))


def per_piece(total: Decimal, pieces: int) -> Decimal | None:
    """Return the cost of a piece, to the cent."""
    return _cents(total / pieces) if pieces else None


def _cents(amount: Decimal) -> Decimal:
    return amount.quantize(_CENT, ROUND_HALF_UP)
