"""The table of pieces always shows what the events add up to, whatever happened and in what batches."""

from datetime import date, timedelta

from entries import acquired, empty, fixed_clock, happened
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from ramet.domain.errors import ImpossibleEvent
from ramet.domain.events import Entry, Kind
from ramet.ledger import open_ledger, projections
from ramet.ledger.fold import fold
from ramet.ledger.queries import all_events

NAMES = st.sampled_from(["E1", "e1", "E2", "Straße", "STRASSE", "z"])
SYSTEMS = st.sampled_from(["north", "south"])
DAYS = st.integers(0, 60).map(lambda n: date(2027, 1, 1) + timedelta(days=n))
SIZES = st.floats(1, 500)

ENTRIES = st.one_of(
    st.builds(acquired, NAMES, SYSTEMS, DAYS),
    st.builds(lambda n, d, s: happened(Kind.MOVED, n, d, system=s, tank="t"), NAMES, DAYS, SYSTEMS),
    st.builds(lambda n, d, x: happened(Kind.MEASURED, n, d, length_mm=x, heads=3), NAMES, DAYS, SIZES),
    st.builds(lambda n, d, x: happened(Kind.CORRECTED, n, d, cut_on=x.isoformat()), NAMES, DAYS, DAYS),
    st.builds(lambda n, d: happened(Kind.RESERVED, n, d, promised_to="library"), NAMES, DAYS),
    st.builds(lambda n, d: happened(Kind.INSPECTED, n, d, result="clean", pest="x"), NAMES, DAYS),
    st.builds(lambda n, d, k: happened(k, n, d), NAMES, DAYS, st.sampled_from([Kind.LOST, Kind.SENT])),
)


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.lists(ENTRIES, min_size=1, max_size=6), min_size=1, max_size=6))
def test_the_projection_equals_a_fresh_fold(place: str, batches: list[list[Entry]]) -> None:
    empty(place)
    with open_ledger(place, create=True, clock=fixed_clock) as ledger:
        version, entered = 0, 0
        for batch in batches:
            try:
                version = ledger.append(batch, read_version=version, recorded_by="me", batch="b")
                entered += len(batch)
            except ImpossibleEvent:
                continue
        with ledger.reading() as connection:
            events = list(all_events(connection))
            shown = projections.states(connection)
    assert [event.seq for event in events] == list(range(1, entered + 1))
    assert shown == fold(events)
