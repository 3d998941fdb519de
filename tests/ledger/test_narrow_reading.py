"""Columns, the day's rows and the rows of systems, read alike on both databases."""

from datetime import date

from entries import acquired, fixed_clock, happened

from ramet.domain.events import Entry, Kind, day_start
from ramet.ledger import Ledger, day_rows, open_ledger, records
from ramet.ledger.columns import COLUMNS, SEPARATOR, alive_columns, mothers
from ramet.ledger.herd_rows import findings, health_of_pests

MARCH = date(2027, 3, 1)
EPOCH = date(1970, 1, 1)


def of_system(kind: Kind, system: str | None, on: date = MARCH, **said: object) -> Entry:
    return Entry(kind, day_start(on), said, system=system)


ENTRIES = (
    acquired("E1", note="mother"),
    acquired("E2", on=date(2027, 2, 1), parent="E1", cut_on=date(2027, 2, 1)),
    acquired("E3", "south", promised_to="library", acquired_on=date(2027, 2, 20)),
    acquired("L1"),
    happened(Kind.MEASURED, "E1", MARCH, length_mm=58.0, heads=4),
    happened(Kind.LOST, "L1", MARCH),
    happened(Kind.INSPECTED, "E1", date(2027, 2, 2), result="clean", pest="x"),
    happened(Kind.INSPECTED, "E2", date(2027, 2, 3), result="finding", pest="x"),
    happened(Kind.DIPPED, "E2", date(2027, 2, 4), result="treated", pest="x", dip="iodine", bath="tub"),
    happened(Kind.CUT, "E1", MARCH, gave=["E2"], tool="saw", wounded_on="2027-03-01"),
    happened(Kind.SENT, "E3", MARCH, to="Plains Library", shipment="reef"),
    of_system(Kind.WATER, "north", temperature_c=25.0, salinity=35.0, alkalinity_meq_l=3.0),
    of_system(Kind.FISH, "north", present=True),
    of_system(Kind.GOODS, "north", date(2027, 2, 1), goods="block", what="media"),
    of_system(Kind.GOODS, None, goods="block", what="media"),
    of_system(Kind.TOOL, "north", date(2027, 2, 5), tool="net"),
    of_system(Kind.TANK, "north", tank="n1", length_cm=100.0, width_cm=50.0),
)


def filled(place: str) -> Ledger:
    ledger = open_ledger(place, create=True, clock=fixed_clock)
    ledger.append(ENTRIES, read_version=0, recorded_by="me", batch="b")
    return ledger


def test_columns_hold_the_pieces_in_stock_with_their_growth_record(place: str) -> None:
    with filled(place) as ledger, ledger.reading() as connection:
        found = dict(zip(COLUMNS, alive_columns(connection, list(COLUMNS)), strict=True))
        assert mothers(connection) == {"E1"}
    assert found["piece"] == ("E1", "E2")
    assert found["group"][0].split(SEPARATOR) == ["Ember", "Acropora sp.", "branching"]
    assert found["sized_on"] == ((MARCH - EPOCH).days, (date(2027, 2, 1) - EPOCH).days)
    assert found["base_on"] == ((date(2027, 1, 1) - EPOCH).days, None)
    assert found["wounded_on"] == ((MARCH - EPOCH).days, (date(2027, 2, 1) - EPOCH).days)
    assert (found["base_length_mm"], found["base_heads"]) == ((50.0, None), (None, None))
    assert [bool(one) for one in found["is_promised"]] == [False, False]


def test_an_empty_ledger_has_empty_columns(place: str) -> None:
    with open_ledger(place, create=True, clock=fixed_clock) as ledger, ledger.reading() as connection:
        assert alive_columns(connection, ["piece", "length_mm"]) == ((), ())
        assert day_rows.counts(connection) == (0, 0)


def test_the_rows_of_a_day(place: str) -> None:
    with filled(place) as ledger, ledger.reading() as connection:
        assert day_rows.counts(connection) == (2, 0)
        wounds = day_rows.wounds_since(connection, date(2027, 1, 20))
        assert sorted((one.piece, one.on) for one in wounds) == [("E1", MARCH), ("E2", date(2027, 2, 1))]
        (old,) = day_rows.old_sizes(connection, date(2027, 2, 15), 12)
        assert (old.tank, old.count, old.oldest, old.some) == ("n1", 1, date(2027, 2, 1), ("E2",))
        assert day_rows.newcomers(connection, date(2026, 12, 1), MARCH) == ()
        assert day_rows.looks_since(connection, date(2027, 2, 3)) == {"e2": date(2027, 2, 3)}
        assert day_rows.last_readings(connection, MARCH) == {"north": MARCH}
        assert day_rows.systems_in_use(connection) == ("north",)
        assert day_rows.stock_by_system(connection) == {"north": 2}
        assert day_rows.last_looks(connection, MARCH) == {"north": date(2027, 2, 3)}


def test_the_rows_of_health_and_systems(place: str) -> None:
    with filled(place) as ledger, ledger.reading() as connection:
        assert [one.piece for one in findings(connection)] == ["E2"]
        assert len(health_of_pests(connection, {"x"})) == 3
        assert [(one.system, one.present) for one in records.fish(connection)] == [("north", True)]
        (stay,) = records.goods(connection)
        assert (stay.goods, stay.system, stay.until) == ("block", "north", MARCH)
        assert [one.tool for one in records.tool_uses(connection)] == ["tub", "net", "saw"]
        (sent,) = records.sendings(connection)
        assert (sent.piece, sent.to, sent.shipment) == ("E3", "Plains Library", "reef")
        assert records.tank_floors(connection) == {("north", "n1"): 5000.0}
