"""Cost by a rate table: the row that reaches the mass, its zone or flat, exact to the cent."""

from decimal import Decimal

from small_shipment import small_plan

from ramet.formats.rates import Rate
from ramet.formats.shipment import Carrier
from ramet.services.planning.cost import cost_of, per_piece, price_of, why_no_cost


def carrier(*rates: tuple[str, float, str, str], zone: str = "5") -> Carrier:
    rows = tuple(
        Rate(zone=name, up_to_kg=kg, price=Decimal(price), price_per_kg=Decimal(more))
        for name, kg, price, more in rates
    )
    return Carrier(rate=rows, zone=zone, currency="USD")


def test_the_first_row_that_reaches_the_mass_gives_the_price() -> None:
    by_step = carrier(("5", 20, "80", "0"), ("5", 10, "60", "0"), ("6", 10, "99", "0"))
    assert [price_of(kg, by_step) for kg in (1, 10, 10.5, 20, 20.5)] == [
        Decimal("60.00"),
        Decimal("60.00"),
        Decimal("80.00"),
        Decimal("80.00"),
        None,
    ]


def test_a_flat_row_serves_every_zone_and_a_price_by_the_kilogram_adds_up() -> None:
    assert price_of(12.5, carrier(("flat", 30, "10", "2.02"), zone="8")) == Decimal("35.25")


def test_a_piece_costs_its_share_to_the_cent() -> None:
    assert per_piece(Decimal("100.00"), 3) == Decimal("33.33")
    assert per_piece(Decimal("100.00"), 0) is None


def test_a_plan_without_a_table_or_beyond_its_end_has_no_cost() -> None:
    boxes, pieces = small_plan().boxes, len(small_plan().chosen)
    assert cost_of(boxes, pieces, Carrier()) is None
    assert cost_of(boxes, pieces, carrier(("5", 0.5, "5", "0"))) is None
    told = cost_of(boxes, pieces, carrier(("5", 70, "50", "0")))
    assert told is not None
    assert (told.total, told.per_piece) == (Decimal("50.00"), Decimal("12.50"))


def test_a_table_that_ends_below_what_a_box_bills_is_told_and_no_cost_made_up() -> None:
    (box,) = small_plan().boxes
    told = why_no_cost((box,), carrier(("5", 0.5, "5", "0"), ("9", 70, "5", "0")))
    assert "for zone 5 end at 0.5 kg" in told
    assert f"{box.id} {box.billed_kg:.1f} kg" in told
    assert why_no_cost((box,), carrier(("5", 70, "5", "0"))) == ""
    assert why_no_cost((box,), Carrier()) == ""


def test_a_table_in_pounds_prices_each_pound_by_its_own_row() -> None:
    # Billed masses are told to the gram; 30 lb are 13.607771 kg.
    pounds = carrier(*(("5", round(lb * 0.45359237, 6), str(lb), "0") for lb in range(1, 71)))
    for lb in range(1, 71):
        assert price_of(round(lb * 0.45359237, 3), pounds) == lb
