"""Water, mounts and goods wait like corals; where no host lives, a generation without one frees them."""

import pytest
from test_holds import DAY, WORM, Room, day

from ramet.domain.events import HealthKind
from ramet.domain.piece import ThingHold
from ramet.ledger.records import FishRecord, GoodsStay
from ramet.reference.tables import Reference, load_reference
from ramet.services.health.holds import Herd, holds
from ramet.services.health.thing_holds import thing_holds

CYSTS = "fish_parasite_cysts"


@pytest.fixture(scope="module")
def reference() -> Reference:
    return load_reference()


class House(Room):
    """Two systems with corals, goods and perhaps fish."""

    def __init__(self, temperature_c: float = 27.0) -> None:
        super().__init__(temperature_c)
        self.goods: list[GoodsStay] = []
        self.fish: list[FishRecord] = []

    def herd(self) -> Herd:
        return Herd(self.states, self.stays, self.water, self.health, self.fish, self.goods)

    def things(self, reference: Reference, on: int) -> list[ThingHold]:
        return list(thing_holds(self.herd(), reference, day(on)))

    def named(self, reference: Reference, on: int) -> list[tuple[str, str | None]]:
        return [(hold.system, hold.goods) for hold in self.things(reference, on)]

    def leaves(self, name: str, on: int) -> None:
        from dataclasses import replace

        from ramet.domain.events import Standing

        key = name.casefold()
        self.states[key] = replace(self.states[key], standing=Standing.SENT)
        self.stays = [replace(stay, until=day(on)) if stay.piece == name else stay for stay in self.stays]


def test_a_finding_holds_the_water_it_was_made_in(reference: Reference) -> None:
    house = House()
    house.notes(HealthKind.FINDING, 0, "A1")
    (hold,) = house.things(reference, 0)
    assert (hold.system, hold.goods, hold.pest, hold.since) == ("north", None, WORM, DAY)
    assert "clean inspections" in hold.ends


def test_evidence_on_the_corals_frees_the_water(reference: Reference) -> None:
    house = House()
    house.notes(HealthKind.FINDING, 0, "A1")
    house.clears(1, [14, 28, 39], "A1", "A2")
    assert house.named(reference, 38) == [("north", None)]
    assert house.named(reference, 39) == []


def test_without_a_host_one_generation_frees_the_water(reference: Reference) -> None:
    """Barton et al. 2019: 38 d at 27 °C. Hatchlings live at most 9 d without Acropora, far less than that."""
    house = House()
    house.notes(HealthKind.FINDING, 0, "A1")
    house.leaves("A1", 5)
    house.leaves("A2", 7)
    (hold,) = house.things(reference, 20)
    assert hold.earliest == day(7 + 38)
    assert "without a host" in hold.ends
    assert house.named(reference, 44) == [("north", None)]
    assert house.named(reference, 45) == []


def test_time_frees_no_water_with_a_host_in_it(reference: Reference) -> None:
    house = House()
    house.notes(HealthKind.FINDING, 0, "A1")
    house.leaves("A1", 5)
    assert house.named(reference, 3000) == [("north", None)]


def test_goods_moved_out_of_held_water_wait_a_generation_without_a_host(reference: Reference) -> None:
    house = House()
    house.goods = [
        GoodsStay("block 1", "media", "north", day(-90), day(10)),
        GoodsStay("block 1", "media", "dry shelf", day(10), None),
    ]
    house.notes(HealthKind.FINDING, 0, "A1")
    assert ("dry shelf", "block 1") in house.named(reference, 11)
    assert ("dry shelf", "block 1") in house.named(reference, 47)
    assert ("dry shelf", "block 1") not in house.named(reference, 48)


def test_goods_moved_among_hosts_wait_with_the_water_they_left(reference: Reference) -> None:
    house = House()
    house.goods = [
        GoodsStay("block 1", "media", "north", day(-90), day(10)),
        GoodsStay("block 1", "media", "south", day(10), None),
    ]
    house.notes(HealthKind.FINDING, 0, "A1")
    assert ("south", "block 1") in house.named(reference, 300)


def test_goods_that_left_before_the_finding_are_free(reference: Reference) -> None:
    house = House()
    house.goods = [GoodsStay("block 1", "media", "north", day(-90), day(-1))]
    house.notes(HealthKind.FINDING, 0, "A1")
    assert house.named(reference, 5) == [("north", None)]


def fishy(house: House, *records: tuple[str, int, bool]) -> None:
    house.fish = [FishRecord(system, day(on), present) for system, on, present in records]


def test_cysts_hold_every_coral_while_fish_may_be_there(reference: Reference) -> None:
    house = House(24.0)
    house.notes(HealthKind.FINDING, 0, system="north", pest=CYSTS)
    found = holds(house.herd(), reference, day(500))
    assert [hold.piece for hold in found] == ["A1", "A2", "M1"]
    assert "nobody has said that there are none" in found[0].ends


def test_a_plain_clock_without_fish_frees_them(reference: Reference) -> None:
    """76 days without fish at 24 °C (husbandry practice; 70 to 76 in use, from memory)."""
    house = House(24.0)
    fishy(house, ("north", -300, True), ("north", 10, False))
    house.notes(HealthKind.FINDING, 0, system="north", pest=CYSTS)
    assert len(holds(house.herd(), reference, day(85))) == 3
    assert house.named(reference, 85) == [("north", None)]
    assert holds(house.herd(), reference, day(86)) == ()
    assert house.named(reference, 86) == []


def test_fish_that_come_back_begin_the_clock_again(reference: Reference) -> None:
    house = House(24.0)
    fishy(house, ("north", 5, False), ("north", 60, True), ("north", 61, False))
    house.notes(HealthKind.FINDING, 0, system="north", pest=CYSTS)
    assert len(holds(house.herd(), reference, day(136))) == 3
    assert holds(house.herd(), reference, day(137)) == ()


def test_a_coral_moved_to_water_without_fish_has_its_own_clock(reference: Reference) -> None:
    house = House(24.0)
    fishy(house, ("north", -300, True), ("south", -300, False))
    house.notes(HealthKind.FINDING, 0, system="north", pest=CYSTS)
    house.moves("A2", "south", 4)
    assert [hold.piece for hold in holds(house.herd(), reference, day(79))] == ["A1", "A2", "M1"]
    assert [hold.piece for hold in holds(house.herd(), reference, day(80))] == ["A1", "M1"]


def test_something_new_in_the_water_begins_the_clock_again(reference: Reference) -> None:
    house = House(24.0)
    fishy(house, ("north", 0, False))
    house.notes(HealthKind.FINDING, 0, system="north", pest=CYSTS)
    house.coral("N9", "Favites sp.", arrived=30)
    assert len(holds(house.herd(), reference, day(105))) == 4
    assert holds(house.herd(), reference, day(106)) == ()
