"""Holds end on evidence: treatment and clean inspections over one generation of the pest, never on time."""

from collections.abc import Sequence
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ramet.domain.events import HealthKind, HealthRecord, PieceState, Standing, Stay
from ramet.domain.piece import Hold, Piece, WaterRecord, name_key
from ramet.domain.words import Form
from ramet.reference.tables import Reference, load_reference
from ramet.services.health.holds import Herd, holds
from ramet.services.health.outbreaks import generation_days

WORM = "acropora_flatworm"
DAY = date(2027, 3, 1)


REFERENCE = load_reference()


@pytest.fixture(scope="module")
def reference() -> Reference:
    return REFERENCE


def day(number: int) -> date:
    return DAY + timedelta(days=number)


class Room:
    """Two systems with corals, and what was recorded of them, by days from the first finding."""

    def __init__(self, temperature_c: float = 27.0) -> None:
        self.states: dict[str, PieceState] = {}
        self.stays: list[Stay] = []
        self.water = [self.reading(system, -30, temperature_c) for system in ("north", "south")]
        self.health: list[HealthRecord] = []
        self.coral("A1", "Acropora sp.")
        self.coral("A2", "Acropora millepora")
        self.coral("M1", "Montipora sp.")
        self.coral("B1", "Acropora sp.", "south")

    @staticmethod
    def reading(system: str, on: int, temperature_c: float) -> WaterRecord:
        return WaterRecord(system, day(on), temperature_c, 35.0, 3.0)

    def coral(
        self,
        name: str,
        taxon: str,
        system: str = "north",
        *,
        arrived: int | None = None,
        mother: str | None = None,
        cut: int | None = None,
        standing: Standing = Standing.ALIVE,
    ) -> None:
        cut_on = None if cut is None else day(cut)
        piece = Piece(
            name, f"s {taxon}", taxon, Form.BRANCHING, system, "t", 50, 40, 40, parent=mother, cut_on=cut_on
        )
        since = None if arrived is None else day(arrived)
        self.states[name_key(name)] = PieceState(piece, standing, since, 1)
        self.stays.append(Stay(name, system, since, None))

    def moves(self, name: str, system: str, on: int) -> None:
        here = next(stay for stay in self.stays if stay.piece == name and stay.until is None)
        self.stays.remove(here)
        self.stays += [Stay(name, here.system, here.since, day(on)), Stay(name, system, day(on), None)]

    def notes(
        self, kind: HealthKind, on: int, *pieces: str, system: str | None = None, pest: str = WORM
    ) -> None:
        self.health += [HealthRecord(day(on), kind, pest, piece) for piece in pieces]
        if system is not None:
            self.health.append(HealthRecord(day(on), kind, pest, None, system))

    def clears(self, treated: int, looks: Sequence[int], *pieces: str) -> None:
        self.notes(HealthKind.TREATED, treated, *pieces)
        for look in looks:
            self.notes(HealthKind.CLEAN, look, *pieces)

    def holds(self, reference: Reference, on: int) -> tuple[Hold, ...]:
        return holds(Herd(self.states, self.stays, self.water, self.health), reference, day(on))

    def held(self, reference: Reference, on: int) -> list[tuple[str, bool]]:
        return [(hold.piece, hold.direct) for hold in self.holds(reference, on)]


BOTH = [("A1", True), ("A2", False)]


def test_a_generation_is_as_published(reference: Reference) -> None:
    """Barton et al. 2019, Front. Mar. Sci. 6:524: minimum generation 38 d at 27 °C and 64 d at 24 °C."""
    worm = reference.pests[WORM]
    q10 = reference.parameter("pest_generation_q10").band.high
    assert generation_days(worm, 27.0, q10) == 38
    assert generation_days(worm, 24.0, q10) == 64


def test_between_published_temperatures_a_generation_lies_between_and_below_it_is_longer(
    reference: Reference,
) -> None:
    worm = reference.pests[WORM]
    q10 = reference.parameter("pest_generation_q10").band.high
    lengths = [generation_days(worm, t / 10, q10) or 0 for t in range(200, 310)]
    assert lengths == sorted(lengths, reverse=True)
    assert generation_days(worm, 25.5, q10) == pytest.approx((38 + 64) / 2)
    assert (generation_days(worm, 23.9, q10) or 0) > 64
    assert generation_days(worm, 29.0, q10) == 38


def test_a_finding_holds_its_piece_and_the_hosts_in_its_water_only(reference: Reference) -> None:
    room = Room()
    room.notes(HealthKind.FINDING, 0, "A1")
    assert room.held(reference, 0) == BOTH


def test_nothing_is_held_before_the_finding(reference: Reference) -> None:
    room = Room()
    room.notes(HealthKind.FINDING, 0, "A1")
    assert room.held(reference, -1) == []


def test_time_alone_ends_nothing(reference: Reference) -> None:
    room = Room()
    room.notes(HealthKind.FINDING, 0, "A1")
    assert room.held(reference, 3650) == BOTH


def test_a_treatment_without_inspections_ends_nothing(reference: Reference) -> None:
    room = Room()
    room.notes(HealthKind.FINDING, 0, "A1")
    room.clears(1, [], "A1", "A2")
    assert room.held(reference, 400) == BOTH


@pytest.mark.parametrize(("temperature", "generation"), [(27.0, 38), (24.0, 64)])
def test_the_hold_ends_on_the_day_the_evidence_spans_a_generation(
    reference: Reference, temperature: float, generation: int
) -> None:
    """Generation times by Barton et al. 2019; three inspections by the table of pests."""
    room = Room(temperature)
    room.notes(HealthKind.FINDING, 0, "A1")
    room.clears(1, [14, 28, 1 + generation], "A1", "A2")
    assert room.held(reference, generation) == BOTH
    assert room.held(reference, 1 + generation) == []


def test_looks_that_fall_short_of_a_generation_do_not_end_it(reference: Reference) -> None:
    room = Room()
    room.notes(HealthKind.FINDING, 0, "A1")
    room.clears(1, [10, 20, 30, 38], "A1", "A2")
    (first, _) = room.holds(reference, 38)
    assert first.earliest == day(39)
    assert "the last at least 38 d after treatment (one generation at 27 °C)" in first.ends


def test_two_looks_are_not_three(reference: Reference) -> None:
    room = Room()
    room.notes(HealthKind.FINDING, 0, "A1")
    room.clears(1, [20, 60], "A1", "A2")
    assert room.held(reference, 60) == BOTH
    room.clears(1, [61], "A1", "A2")
    assert room.held(reference, 61) == []


def test_a_host_that_nobody_inspected_keeps_all_of_its_water_held(reference: Reference) -> None:
    room = Room()
    room.notes(HealthKind.FINDING, 0, "A1")
    room.clears(1, [14, 28, 60], "A1")
    found = room.holds(reference, 60)
    assert [(hold.piece, hold.direct) for hold in found] == BOTH
    assert found[0].ends.startswith("treatment of A2, then 3 clean inspections of A2")


def test_one_record_can_speak_for_a_whole_system(reference: Reference) -> None:
    room = Room()
    room.notes(HealthKind.FINDING, 0, "A1")
    room.notes(HealthKind.TREATED, 1, system="North")
    for look in (14, 28, 39):
        room.notes(HealthKind.CLEAN, look, system="north")
    assert room.held(reference, 39) == []


def test_the_coldest_reading_counts(reference: Reference) -> None:
    room = Room(27.0)
    room.water.append(room.reading("north", 10, 24.0))
    room.water.append(room.reading("north", 12, 27.0))
    room.notes(HealthKind.FINDING, 0, "A1")
    room.clears(1, [14, 28, 39], "A1", "A2")
    assert room.held(reference, 39) == BOTH
    room.clears(1, [65], "A1", "A2")
    assert room.held(reference, 65) == []


def test_without_a_temperature_the_hold_asks_for_one(reference: Reference) -> None:
    room = Room()
    room.water = []
    room.notes(HealthKind.FINDING, 0, "A1")
    room.clears(1, [14, 28, 400], "A1", "A2")
    (first, _) = room.holds(reference, 400)
    assert first.ends.startswith("a temperature reading of “north”")
    assert first.earliest is None


def test_a_new_finding_begins_the_clock_again(reference: Reference) -> None:
    room = Room()
    room.notes(HealthKind.FINDING, 0, "A1")
    room.clears(1, [14, 28, 39], "A1", "A2")
    room.notes(HealthKind.FINDING, 30, "A2")
    assert room.held(reference, 39) == [("A1", True), ("A2", True)]
    room.clears(31, [45, 55, 69], "A1", "A2")
    assert room.held(reference, 68) != []
    assert room.held(reference, 69) == []


def test_a_new_arrival_begins_the_clock_again_and_is_named(reference: Reference) -> None:
    room = Room()
    room.notes(HealthKind.FINDING, 0, "A1")
    room.clears(1, [14, 28, 39], "A1", "A2")
    room.coral("M2", "Montipora sp.", arrived=20)
    found = room.holds(reference, 39)
    assert [(hold.piece, hold.direct) for hold in found] == BOTH
    assert "begun again when “M2” came in on 2027-03-21" in found[0].ends
    room.clears(21, [40, 50, 59], "A1", "A2")
    assert room.held(reference, 59) == []


def test_an_arrival_after_the_end_does_not_bring_the_hold_back(reference: Reference) -> None:
    room = Room()
    room.notes(HealthKind.FINDING, 0, "A1")
    room.clears(1, [14, 28, 39], "A1", "A2")
    room.coral("A3", "Acropora sp.", arrived=50)
    assert room.held(reference, 60) == []


def test_a_finding_after_the_end_is_a_new_outbreak(reference: Reference) -> None:
    room = Room()
    room.notes(HealthKind.FINDING, 0, "A1")
    room.clears(1, [14, 28, 39], "A1", "A2")
    room.moves("A1", "south", 45)
    room.notes(HealthKind.FINDING, 60, "A2")
    found = room.holds(reference, 60)
    assert [(hold.piece, hold.direct, hold.since) for hold in found] == [("A2", True, day(60))]


def test_moving_a_contact_does_not_free_it(reference: Reference) -> None:
    room = Room()
    room.notes(HealthKind.FINDING, 0, "A1")
    room.moves("A2", "south", 5)
    assert room.held(reference, 6) == BOTH


def test_moving_the_found_piece_brings_its_pest_along(reference: Reference) -> None:
    room = Room()
    room.notes(HealthKind.FINDING, 0, "A1")
    room.moves("A1", "south", 5)
    assert room.held(reference, 6) == [("A1", True), ("A2", False), ("B1", False)]


def test_a_piece_cut_from_a_held_mother_is_held_wherever_it_is(reference: Reference) -> None:
    room = Room()
    room.notes(HealthKind.FINDING, 0, "A1")
    room.coral("A1a", "Acropora sp.", "south", mother="A1", cut=3)
    room.coral("A0", "Acropora sp.", "south", mother="A1", cut=-3)
    assert ("A1a", False) in room.held(reference, 4)
    assert ("A0", False) not in room.held(reference, 4)


def test_a_piece_that_is_gone_is_not_held(reference: Reference) -> None:
    room = Room()
    room.coral("A9", "Acropora sp.", standing=Standing.SENT)
    room.notes(HealthKind.FINDING, 0, "A9")
    assert room.held(reference, 1) == [("A1", False), ("A2", False)]


def test_a_finding_on_the_glass_holds_the_hosts_in_the_water(reference: Reference) -> None:
    room = Room()
    room.notes(HealthKind.FINDING, 0, system="north")
    assert room.held(reference, 1) == [("A1", False), ("A2", False)]


ENOUGH = [
    HealthRecord(day(0), HealthKind.FINDING, WORM, "A1"),
    HealthRecord(day(1), HealthKind.TREATED, WORM, None, "north"),
    *(HealthRecord(day(look), HealthKind.CLEAN, WORM, None, "north") for look in (14, 28, 39)),
]
MORE = st.lists(
    st.builds(
        HealthRecord,
        st.integers(0, 100).map(day),
        st.sampled_from([HealthKind.FINDING, HealthKind.TREATED, HealthKind.CLEAN, HealthKind.CLEAN]),
        st.just(WORM),
        st.none(),
        st.sampled_from(["north", "south"]),
    ),
    max_size=10,
)


@settings(max_examples=200, deadline=None)
@given(more=MORE, moved=st.integers(0, 120), dropped=st.integers(0, 14), on=st.integers(20, 160))
def test_less_evidence_never_frees_a_piece(
    more: list[HealthRecord], moved: int, dropped: int, on: int
) -> None:
    records = [*ENOUGH, *more]
    poorer = [record for n, record in enumerate(records) if n != dropped or record.kind is HealthKind.FINDING]
    held = []
    for health in (records, poorer):
        room = Room()
        room.moves("A2", "south", moved)
        room.health = health
        held.append({name for name, _ in room.held(REFERENCE, on)})
    assert held[0] <= held[1]


def test_a_pest_without_a_published_cycle_stays_until_a_person_clears_it(reference: Reference) -> None:
    unknown = next(pest for pest in reference.pests.values() if not pest.generation_d and pest.host_genera)
    room = Room()
    room.coral("H1", f"{min(unknown.host_genera)} sp.")
    room.notes(HealthKind.FINDING, 0, "H1", pest=unknown.id)
    room.notes(HealthKind.TREATED, 1, system="north", pest=unknown.id)
    for look in (100, 200, 300):
        room.notes(HealthKind.CLEAN, look, system="north", pest=unknown.id)
    found = room.holds(reference, 400)
    assert found[-1].ends.startswith("a person's word")
    room.notes(HealthKind.CLEARED, 400, system="north", pest=unknown.id)
    assert room.held(reference, 400) == []
