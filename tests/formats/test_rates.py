"""A carrier's rate table: what is read, what it overrides, and what is wrong with it by line and column."""

from decimal import Decimal
from pathlib import Path

from ramet.formats.rates import read_rates


def table(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "rates.csv"
    path.write_text(text)
    return path


def test_rows_and_terms_are_read(tmp_path: Path) -> None:
    head = "zone,up_to_kg,price,price_per_kg,currency,divisor_cm3_kg\n"
    text = head + "5,10,61.50,,USD,5000\n5,70,9,5.1,USD,5000\n"
    read = read_rates(table(tmp_path, text))
    assert not isinstance(read, list)
    rates, terms = read
    assert [(rate.zone, rate.up_to_kg, rate.price) for rate in rates] == [
        ("5", 10, Decimal("61.50")),
        ("5", 70, Decimal("9")),
    ]
    assert rates[1].price_per_kg == Decimal("5.1")
    assert terms == {"currency": "USD", "divisor_cm3_kg": 5000.0}


def test_everything_wrong_is_told_with_its_place(tmp_path: Path) -> None:
    path = table(
        tmp_path,
        "up_to_kg,price,mass_step_kg,side_rounding\n0,5,1,up_cm\nten,-3,1,up_cm\n20,7,2,sideways\n",
    )
    found = read_rates(path)
    assert isinstance(found, list)
    assert [(one.place.line, one.place.column, one.value) for one in found] == [
        (2, "up_to_kg", "0"),
        (3, "up_to_kg", "ten"),
        (3, "price", "-3"),
        (4, "side_rounding", "sideways"),
        (4, "mass_step_kg", "2"),
    ]


def test_a_header_without_prices_and_an_empty_or_missing_file_are_told(tmp_path: Path) -> None:
    for path in (
        table(tmp_path, "up_to_kg,cost\n1,2\n"),
        table(tmp_path, "up_to_kg,price\n"),
        tmp_path / "none.csv",
    ):
        assert isinstance(read_rates(path), list)
