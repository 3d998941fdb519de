"""A strain's rate begins with the table and moves towards what a grower reads twice."""

import math
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
from stock_text import ledger_of, measure, row

from ramet.domain.words import Form
from ramet.ledger.store import Ledger
from ramet.reference.tables import Reference, load_reference
from ramet.services.growing.growth_laws import StrainRates, growth_law, strain_rates
from ramet.services.growing.stock_arrays import stock_arrays

BEGUN = date(2027, 1, 1)


@pytest.fixture(scope="module")
def reference() -> Reference:
    return load_reference()


def rates(book: Ledger, reference: Reference) -> StrainRates:
    with book.reading() as connection:
        return strain_rates(stock_arrays(connection), reference)


def day(number: int) -> date:
    return BEGUN + timedelta(days=number)


@pytest.mark.parametrize(
    ("taxon", "form", "cm_yr"),
    [
        ("Pocillopora damicornis", Form.BRANCHING, 2.306),
        ("Montipora capricornis", Form.PLATING, 2.487),
        ("Porites lobata", Form.MASSIVE, 1.091),
        ("Seriatopora hystrix", Form.BRANCHING, 1.105),
    ],
)
def test_before_any_reading_the_rate_is_the_published_one(
    reference: Reference, taxon: str, form: Form, cm_yr: float
) -> None:
    """Extension by genus and form: Barkley 2023, NOAA table (MIT licence)."""
    assert growth_law(reference, taxon, form).rate.quantile(0) == pytest.approx(cm_yr, rel=0.005)


def test_a_strain_read_at_six_centimetres_a_year_moves_most_of_the_way(
    tmp_path: Path, reference: Reference
) -> None:
    """Pocillopora acuta grew 6 cm a year in a fed recirculating tank (PMC7673984), the table says 2.3."""
    names = [f"P{n}" for n in range(6)]
    rows = [row(name, "Pier", "Pocillopora acuta") for name in names]
    with ledger_of(tmp_path, reference, rows, BEGUN) as book:
        for name in names:
            measure(book, name, day(73), length_mm=60 + 6 * 73 / 365 * 10)
        found = rates(book, reference)
    (rate,) = np.exp(found.mu)
    assert found.used.tolist() == [6]
    assert 3.5 < rate < 6.0
    assert found.sigma[0] < growth_law(reference, "Pocillopora acuta", Form.BRANCHING).rate.sigma


def test_readings_of_one_strain_leave_another_alone(tmp_path: Path, reference: Reference) -> None:
    rows = [row("P1", "Pier", "Pocillopora acuta"), row("L1", "Lock", "Pocillopora acuta")]
    with ledger_of(tmp_path, reference, rows, BEGUN) as book:
        measure(book, "P1", day(100), length_mm=90)
        found = rates(book, reference)
    assert sorted(found.used.tolist()) == [0, 1]
    assert np.exp(found.mu[found.used == 0])[0] == pytest.approx(2.306, rel=0.005)


def test_no_rate_is_taken_from_less_than_four_weeks(tmp_path: Path, reference: Reference) -> None:
    """Common practice: no growth rate from less than 28 days."""
    with ledger_of(tmp_path, reference, [row("P1", "Pier", "Pocillopora acuta")], BEGUN) as book:
        measure(book, "P1", day(27), length_mm=70)
        assert rates(book, reference).used.tolist() == [0]
        measure(book, "P1", day(28), length_mm=70)
        assert rates(book, reference).used.tolist() == [1]


def test_healing_is_no_time_of_growth(tmp_path: Path, reference: Reference) -> None:
    mother = row("P0", "Pier", "Pocillopora acuta", length=100)
    rows = [mother, row("P1", "Pier", "Pocillopora acuta", parent="P0", cut_on="2027-01-01")]
    with ledger_of(tmp_path, reference, rows, BEGUN) as book:
        measure(book, "P1", day(30), length_mm=70)
        assert rates(book, reference).used.sum() == 0
        measure(book, "P1", day(38), length_mm=70)
        assert rates(book, reference).used.sum() == 1


def test_heads_that_doubled_in_a_hundred_days_tell_the_rate(tmp_path: Path, reference: Reference) -> None:
    rows = [row(f"E{n}", "Lantern", "Euphyllia glabrescens", "phaceloid", heads="10") for n in range(30)]
    with ledger_of(tmp_path, reference, rows, BEGUN) as book:
        for n in range(30):
            measure(book, f"E{n}", day(100), heads=20)
        found = rates(book, reference)
    assert math.log(2) / np.exp(found.mu[0]) == pytest.approx(100, rel=0.1)


def test_a_mat_is_read_by_the_ground_it_covers(tmp_path: Path, reference: Reference) -> None:
    rows = [row(f"Z{n}", "Button", "Zoanthus sp.", "mat", length=50) for n in range(30)]
    with ledger_of(tmp_path, reference, rows, BEGUN) as book:
        for n in range(30):
            measure(book, f"Z{n}", day(60), length_mm=50 * math.sqrt(2), width_mm=50 * math.sqrt(2))
        found = rates(book, reference)
    assert math.log(2) / np.exp(found.mu[0]) == pytest.approx(60, rel=0.1)
