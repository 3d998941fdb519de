"""What a piece has grown from: begun at its birth, and afresh whenever something was cut off it."""

from datetime import date
from pathlib import Path

import pytest
from alembic import command
from entries import acquired, fixed_clock, happened

from ramet.domain.events import Baseline, Entry, Kind, PieceState
from ramet.ledger import Ledger, open_ledger, projections, schema
from ramet.ledger.queries import contents
from ramet.services.verify import verify

BORN, FEBRUARY, MARCH = date(2027, 1, 1), date(2027, 2, 1), date(2027, 3, 1)


def state_after(place: str, *entries: Entry) -> PieceState:
    with open_ledger(place, create=True, clock=fixed_clock) as ledger:
        ledger.append(entries, read_version=0, recorded_by="me", batch="b")
        return contents(ledger).states["e1"]


def test_growth_is_counted_from_the_birth_of_a_piece(place: str) -> None:
    state = state_after(place, acquired("E1"), happened(Kind.MEASURED, "E1", MARCH, length_mm=58.0))
    assert state.base == Baseline(BORN, 50.0, 40.0, None)
    assert state.sized_on == MARCH


def test_a_cut_mother_is_counted_afresh(place: str) -> None:
    state = state_after(
        place,
        acquired("E1"),
        happened(Kind.MEASURED, "E1", FEBRUARY, length_mm=60.0),
        happened(Kind.MEASURED, "E1", MARCH, length_mm=57.0, reduced=True),
    )
    assert state.base == Baseline(MARCH, 57.0, 40.0, None)


def test_a_piece_far_smaller_than_before_is_counted_afresh(place: str) -> None:
    state = state_after(place, acquired("E1"), happened(Kind.MEASURED, "E1", MARCH, length_mm=30.0))
    assert state.base == Baseline(MARCH, 30.0, 40.0, None)


def test_a_reading_a_little_smaller_is_no_cut(place: str) -> None:
    state = state_after(place, acquired("E1"), happened(Kind.MEASURED, "E1", MARCH, length_mm=49.0))
    assert state.base is not None
    assert state.base.on == BORN


def test_a_correction_replaces_the_sizes_and_not_their_day(place: str) -> None:
    state = state_after(
        place, acquired("E1"), happened(Kind.CORRECTED, "E1", MARCH, length_mm=55.0, width_mm=41.0)
    )
    assert (state.sized_on, state.base) == (BORN, Baseline(BORN, 55.0, 41.0, None))


@pytest.mark.parametrize("said", [{"live_area_cm2": 12.5}, {"buoyant_g": 3.2, "method": "buoyant weight"}])
def test_an_area_or_a_weight_stays_with_its_event(place: str, said: dict[str, object]) -> None:
    state = state_after(place, acquired("E1"), happened(Kind.MEASURED, "E1", MARCH, **said))
    assert (state.sized_on, state.piece.length_mm) == (BORN, 50.0)


def test_a_ledger_of_the_first_schema_gets_its_growth_record_from_the_events(tmp_path: Path) -> None:
    place = str(tmp_path / "old.db")
    new = str(tmp_path / "new.db")
    entries = [acquired("E1"), happened(Kind.MEASURED, "E1", MARCH, length_mm=58.0), acquired("E2")]
    with open_ledger(new, create=True, clock=fixed_clock) as ledger:
        ledger.append(entries, read_version=0, recorded_by="me", batch="b")
        expected = contents(ledger).states
    with Ledger(place, fixed_clock) as ledger, ledger.writing() as connection:
        command.upgrade(schema.migration_config(connection), "0001")
        connection.exec_driver_sql("ATTACH ? AS new", (new,))
        connection.exec_driver_sql("INSERT INTO events SELECT * FROM new.events")
        old = "key, version, standing, piece, strain, taxon, form, system, tank, length_mm, width_mm, "
        old += "height_mm, acquired_on, defaults_used"
        connection.exec_driver_sql(f"INSERT INTO pieces ({old}) SELECT {old} FROM new.pieces")
    with open_ledger(place) as ledger, ledger.reading() as connection:
        assert projections.states(connection) == expected
    assert verify(place).differences == ()
