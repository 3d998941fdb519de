"""The rates of a shipment: from the table beside it or from the file itself, and what is wrong by line."""

from datetime import date
from pathlib import Path

import pytest
from small_shipment import REFERENCE
from small_shop import SHIPMENT

from ramet.domain.errors import BadInput
from ramet.domain.problems import Problem
from ramet.formats.shipment import Carrier
from ramet.services.planning.gather import read_shipment

TODAY = date(2026, 9, 1)
RATE = '[[carrier.rate]]\nzone = "5"\nup_to_kg = "29 lb"\nprice = 31.5\n'


def read(tmp_path: Path, more: str) -> Carrier:
    path = tmp_path / "reef.toml"
    path.write_text(SHIPMENT + more)
    return read_shipment(path, TODAY, REFERENCE)[0].carrier


def problem(tmp_path: Path, more: str) -> Problem:
    with pytest.raises(BadInput) as told:
        read(tmp_path, more)
    (only,) = told.value.problems
    return only


def test_a_table_beside_the_shipment_gives_rates_and_terms(tmp_path: Path) -> None:
    (tmp_path / "rates.csv").write_text("zone,up_to_kg,price,mass_step_kg\n5,10,61.50,1 lb\n")
    carrier = read(tmp_path, 'rates = "rates.csv"\nzone = "5"\n')
    assert [(rate.zone, rate.up_to_kg) for rate in carrier.rate] == [("5", 10)]
    assert carrier.mass_step_kg == pytest.approx(0.45359237, abs=1e-6)


def test_rates_in_the_file_itself_may_be_in_pounds(tmp_path: Path) -> None:
    assert read(tmp_path, f'zone = "5"\n{RATE}').rate[0].up_to_kg == pytest.approx(13.154, abs=1e-3)


def test_a_zone_that_no_rate_serves_is_told_with_its_line(tmp_path: Path) -> None:
    found = problem(tmp_path, f'zone = "7"\n{RATE}')
    assert found.place.line == len(SHIPMENT.splitlines()) + 1
    assert (found.place.column, found.value) == ("carrier.zone", "7")
    assert "5" in found.expected


def test_a_mass_that_is_priced_twice_is_told_with_its_line(tmp_path: Path) -> None:
    found = problem(tmp_path, f'zone = "5"\n{RATE}{RATE}')
    assert found.place.line == len(SHIPMENT.splitlines()) + 1 + 4 + 3
    assert found.place.column == "carrier.rate[2].up_to_kg"


def test_a_price_that_is_no_amount_is_told_with_its_line(tmp_path: Path) -> None:
    found = problem(tmp_path, f'zone = "5"\n{RATE.replace("31.5", "-3")}')
    assert (found.place.column, found.value) == ("carrier.rate[1].price", "-3")
    assert found.expected.startswith("an amount from 0 to")
