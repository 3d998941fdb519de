"""A piece's light is that of the places it stood in, day by day."""

from datetime import date
from pathlib import Path

import pytest

from ramet.ledger import open_ledger
from ramet.reference.tables import load_reference
from ramet.services.history.light_history import LightHistory, light_histories
from ramet.services.import_stock import import_files
from ramet.services.recording.move import Move, move
from ramet.services.recording.recorded import Scribe
from ramet.services.recording.stock_look import Where

TODAY = date(2027, 1, 30)
STOCK = """piece,strain,taxon,system,tank,spot,length_mm,par
E1,Ember,Acropora sp.,north,n1,a,50,
E2,Ember,Acropora sp.,north,n1,b,50,180
E3,Ember,Acropora sp.,north,n9,,50,
"""
SPOTS = """system,tank,spot,on,par,photoperiod_h
north,n1,,2027-01-01,120,10
north,n1,a,2027-01-01,250,12
north,n1,b,2027-01-01,100,
north,n1,c,2027-01-01,50,12
north,n1,c,2027-01-28,60,12
"""


@pytest.fixture
def place(tmp_path: Path) -> str:
    (tmp_path / "stock.csv").write_text(STOCK)
    (tmp_path / "spots.csv").write_text(SPOTS)
    files = [tmp_path / "stock.csv", tmp_path / "spots.csv"]
    report = import_files(str(tmp_path / "ramet.db"), files, load_reference(), TODAY)
    assert report.spots_added == 5
    return str(tmp_path / "ramet.db")


def light(place: str, piece: str) -> LightHistory:
    with open_ledger(place) as ledger:
        (found,) = light_histories(ledger, [piece], TODAY)
    return found


def test_250_par_for_12_hours_is_10_8_mol_a_day(place: str) -> None:
    # 250 × 3600 × 12 / 1e6 (definition of the daily light integral).
    found = light(place, "E1")
    assert len(found.days) == found.known_days == 30
    assert found.mean_mol_m2 == pytest.approx(10.8)


def test_a_reading_at_the_piece_comes_before_its_spots_and_the_tank_gives_the_hours(place: str) -> None:
    today = light(place, "e2").days[-1]
    assert (today.par, today.read_on, today.photoperiod_h) == (180, "piece", 10)


def test_light_follows_the_moves_and_the_lamp(place: str) -> None:
    with open_ledger(place) as ledger:
        move(ledger, Move(("E1",), Where(spot="c")), Scribe("me", TODAY, date(2027, 1, 25)))
    found = light(place, "E1")
    pars = {day.on: day.par for day in found.days}
    assert [pars[date(2027, 1, n)] for n in (24, 25, 27, 28, 30)] == [250, 50, 50, 60, 60]
    expected = 0.0432 * (24 * 250 + 3 * 50 + 3 * 60) / 30
    assert found.mean_mol_m2 == pytest.approx(expected)


def test_light_that_nobody_recorded_is_not_made_up(place: str) -> None:
    found = light(place, "E3")
    assert (found.known_days, found.mean_mol_m2) == (0, None)


def test_the_same_spots_again_change_nothing(place: str) -> None:
    report = import_files(place, [Path(place).with_name("spots.csv")], load_reference(), TODAY)
    assert (report.spots_added, report.records_known) == (0, 5)
