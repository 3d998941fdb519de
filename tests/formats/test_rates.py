"""A carrier's rate table: what is read, what it overrides, and what is wrong with it by line and column."""

from decimal import Decimal
from pathlib import Path

import pytest

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


def places(found: object) -> list[tuple[int | None, str | None, str | None]]:
    assert isinstance(found, list)
    return [(one.place.line, one.place.column, one.value) for one in found]


def test_pounds_and_cubic_inches_a_pound_are_read(tmp_path: Path) -> None:
    # The pound and the inch are exact by definition: 0.45359237 kg and 2.54 cm.
    read = read_rates(table(tmp_path, "Up to kg,Price,divisor_cm3_kg\n29 lb,61.50,139 in3/lb\n"))
    assert not isinstance(read, list)
    rates, terms = read
    assert rates[0].up_to_kg == pytest.approx(29 * 0.45359237, abs=1e-6)
    assert terms["divisor_cm3_kg"] == pytest.approx(139 * 2.54**3 / 0.45359237, abs=1e-6)


def test_a_table_saved_with_semicolons_is_read(tmp_path: Path) -> None:
    read = read_rates(table(tmp_path, "up_to_kg;price\n5;3.50\n"))
    assert not isinstance(read, list)
    assert read[0][0].price == Decimal("3.50")


def test_everything_wrong_is_told_with_its_place(tmp_path: Path) -> None:
    text = "up_to_kg,price,side_rounding\n0,5,up_cm\nten,-3,up_cm\n20,7,sideways\n"
    assert places(read_rates(table(tmp_path, text))) == [
        (2, "up_to_kg", "0"),
        (3, "up_to_kg", "ten"),
        (3, "price", "-3"),
        (4, "side_rounding", "sideways"),
    ]


def test_a_line_is_counted_as_the_file_counts_it_with_blank_ones(tmp_path: Path) -> None:
    assert places(read_rates(table(tmp_path, "up_to_kg,price\n\n5,3\n,,\n10,x\n"))) == [(5, "price", "x")]


def test_terms_that_differ_between_rows_are_told(tmp_path: Path) -> None:
    found = read_rates(table(tmp_path, "up_to_kg,price,mass_step_kg\n5,3,1\n10,4,2\n"))
    assert places(found) == [(3, "mass_step_kg", "2")]


def test_a_mass_that_is_priced_twice_for_a_zone_is_told(tmp_path: Path) -> None:
    found = read_rates(table(tmp_path, "zone,up_to_kg,price\n5,10,3\n6,10,4\n5,10,9\n"))
    assert places(found) == [(4, "up_to_kg", "10")]


@pytest.mark.parametrize("price", ["3,50", "$3.50", "NaN", "inf", "1e400", "1e30", ""])
def test_what_is_no_amount_of_money_is_told(tmp_path: Path, price: str) -> None:
    found = read_rates(table(tmp_path, f'up_to_kg,price\n10,"{price}"\n'))
    assert places(found) == [(2, "price", price or None)]


def test_a_header_without_prices_and_an_empty_or_missing_file_are_told(tmp_path: Path) -> None:
    for path in (
        table(tmp_path, "up_to_kg,cost\n1,2\n"),
        table(tmp_path, "up_to_kg,price\n"),
        tmp_path / "none.csv",
    ):
        assert isinstance(read_rates(path), list)
