"""What became of sent pieces, counted honestly: unknown is neither alive nor dead."""

from datetime import UTC, datetime

import pytest

from ramet.domain.events import Entry, Event, Kind
from ramet.formats.result import Condition
from ramet.services.sending.outcomes import Fate, PieceOutcome, add_up, days_seen, survival, survival_of_all

AT = datetime(2027, 1, 20, tzinfo=UTC)
NAMES = {"a": ("Ember", "Acropora sp."), "b": ("Ember", "Acropora sp."), "c": ("Dune", "Favites abdita")}


def sent(piece: str, **travel: object) -> Entry:
    return Entry(Kind.SENT, AT, {"shipment": "s1"} | travel, piece)


def seen(piece: str, day: int, condition: str, shipment: str = "s1") -> Entry:
    return Entry(Kind.OPENED, AT, {"shipment": shipment, "day": day, "condition": condition}, piece)


def outcomes(*entries: Entry) -> tuple[PieceOutcome, ...]:
    return add_up([Event(n, entry, AT, "me", "b") for n, entry in enumerate(entries, start=1)], NAMES)


@pytest.mark.parametrize(
    ("looks", "on_day_7"),
    [
        ([(0, "well"), (7, "well")], Fate.ALIVE),
        ([(0, "well"), (14, "weak")], Fate.ALIVE),  # alive later, so alive then
        ([(0, "well"), (3, "dead")], Fate.DEAD),
        ([(0, "well")], Fate.UNKNOWN),
        ([(0, "well"), (14, "dead")], Fate.UNKNOWN),  # died at some time between
        ([(0, "missing")], Fate.UNKNOWN),
    ],
)
def test_a_fate_is_told_only_when_it_was_seen(looks: list[tuple[int, str]], on_day_7: Fate) -> None:
    (one,) = outcomes(*(seen("A", day, condition) for day, condition in looks))
    assert one.fate(7) is on_day_7


def test_a_later_entry_for_the_same_day_counts() -> None:
    (one,) = outcomes(seen("A", 1, "dead"), seen("a", 1, "weak"))
    assert one.seen[1].condition is Condition.WEAK


def test_pieces_are_counted_by_strain_packing_and_route() -> None:
    way = {"bag_type": "round", "gas": "oxygen", "route": ["vehicle", "depot"], "route_h": 20.0}
    found = outcomes(
        sent("A", **way),
        sent("B", **(way | {"gas": "air"})),
        seen("A", 7, "well"),
        seen("B", 7, "dead"),
        seen("C", 7, "well"),
    )
    assert [(one.group, one.alive, one.dead) for one in survival(found, 7, "strain")] == [
        ("Ember", 1, 1),
        ("Dune", 1, 0),
    ]
    assert {one.group for one in survival(found, 7, "packing")} == {"round, oxygen", "round, air", "not told"}
    assert {one.group for one in survival(found, 7, "route")} == {"vehicle > depot, 20 h", "not told"}


def test_all_together_has_a_band_around_its_share_and_tells_the_unknown() -> None:
    found = outcomes(seen("A", 7, "well"), seen("B", 7, "dead"), seen("C", 0, "well"))
    whole = survival_of_all(found, 7)
    assert (whole.alive, whole.dead, whole.unknown, whole.watched) == (1, 1, 1, 2)
    assert whole.low < 0.5 < whole.high


def test_a_piece_sent_twice_counts_once_a_shipment() -> None:
    found = outcomes(seen("A", 0, "well"), seen("A", 0, "well", shipment="s2"))
    assert [one.shipment for one in found] == ["s1", "s2"]
    assert days_seen(found) == (0,)


def test_sendings_without_a_look_and_entries_of_bags_are_no_outcomes() -> None:
    assert outcomes(sent("A"), Entry(Kind.OPENED, AT, {"shipment": "s1", "bag": "A1"})) == ()
