"""A pest is traced backward and forward through water, moves, cuts, goods and tools, and to what was sent."""

import pytest
from test_holds import DAY, WORM, day
from test_thing_holds import House

from ramet.domain.errors import BadInput
from ramet.domain.events import HealthKind
from ramet.ledger.records import GoodsStay, Sending, ToolUse
from ramet.reference.tables import Reference, load_reference
from ramet.services.health.contacts import Contacts, Traced, contacts_of


@pytest.fixture(scope="module")
def reference() -> Reference:
    return load_reference()


class Trail(House):
    """A house in which tools are used and corals are sent."""

    def __init__(self) -> None:
        super().__init__()
        self.tools: list[ToolUse] = []
        self.sendings: list[Sending] = []
        self.coral("W1", "Acropora sp.", "west")
        self.coral("W2", "Favites sp.", "west")
        self.notes(HealthKind.FINDING, 0, "A1")

    def used(self, tool: str, system: str, on: int, *, disinfected: bool = False) -> None:
        self.tools.append(ToolUse(tool, day(on), None if disinfected else system, None, disinfected))

    def sends(self, name: str, on: int, to: str | None) -> None:
        self.leaves(name, on)
        self.sendings.append(Sending(name, day(on), to, None))

    def trace(self, reference: Reference, on: int = 60, **where: str) -> Contacts:
        where = where or {"piece": "A1"}
        return contacts_of(Traced(self.herd(), self.tools, self.sendings), reference, day(on), WORM, **where)


def met(found: Contacts) -> dict[str, bool]:
    return {one.piece: one.likely for one in found.pieces}


def test_it_looks_back_over_one_generation(reference: Reference) -> None:
    """Barton et al. 2019: 38 d at 27 °C."""
    found = Trail().trace(reference)
    assert (found.found_on, found.traced_from) == (DAY, day(-38))


def test_hosts_in_its_water_are_likely_others_only_carried_it(reference: Reference) -> None:
    assert met(Trail().trace(reference)) == {"A1": True, "A2": True, "M1": False}


def test_water_it_never_reached_is_left_out(reference: Reference) -> None:
    assert [water.system for water in Trail().trace(reference).waters] == ["north"]


def test_a_host_that_moves_takes_it_along(reference: Reference) -> None:
    trail = Trail()
    trail.moves("A2", "south", -10)
    found = trail.trace(reference)
    (south,) = (water for water in found.waters if water.system == "south")
    assert (south.since, south.way, south.likely) == (day(-10), "A2 moved", True)
    assert met(found)["B1"]


def test_a_move_before_the_time_that_matters_does_not(reference: Reference) -> None:
    trail = Trail()
    trail.moves("A2", "south", -50)
    assert [water.system for water in trail.trace(reference).waters] == ["north"]


def test_what_is_no_host_carries_it_only_possibly(reference: Reference) -> None:
    trail = Trail()
    trail.moves("M1", "west", -5)
    found = trail.trace(reference)
    assert [(w.system, w.likely) for w in found.waters] == [("north", True), ("west", False)]
    assert met(found)["W1"] is False


def test_a_second_way_through_hosts_makes_it_likely(reference: Reference) -> None:
    trail = Trail()
    trail.moves("M1", "west", -5)
    trail.moves("A2", "west", -2)
    found = trail.trace(reference)
    (west,) = (water for water in found.waters if water.system == "west")
    assert (west.since, west.likely) == (day(-5), True)


def test_a_cut_takes_it_where_it_is_glued_down(reference: Reference) -> None:
    trail = Trail()
    trail.coral("A1a", "Acropora sp.", "south", mother="A1", cut=-4)
    found = trail.trace(reference)
    assert {"A1a", "B1"} <= met(found).keys()


def test_a_wet_net_carries_it_and_a_disinfected_one_does_not(reference: Reference) -> None:
    trail = Trail()
    trail.used("net", "north", -3)
    trail.used("net", "south", -2)
    assert [water.way for water in trail.trace(reference).waters] == ["the start", "net used in both"]
    clean = Trail()
    clean.used("net", "north", -3)
    clean.used("net", "", -3, disinfected=True)
    clean.used("net", "south", -2)
    assert [water.system for water in clean.trace(reference).waters] == ["north"]


def test_a_net_that_dried_for_days_does_not_carry_it(reference: Reference) -> None:
    trail = Trail()
    trail.used("net", "north", -9)
    trail.used("net", "south", -2)
    assert [water.system for water in trail.trace(reference).waters] == ["north"]


def test_goods_carry_it_possibly(reference: Reference) -> None:
    trail = Trail()
    trail.goods = [
        GoodsStay("block", "media", "north", day(-99), day(-6)),
        GoodsStay("block", "media", "south", day(-6), None),
    ]
    found = trail.trace(reference)
    assert [(w.system, w.way, w.likely) for w in found.waters][1] == ("south", "block moved", False)
    assert found.goods == ("block",)


def test_what_came_in_within_a_generation_may_have_brought_it(reference: Reference) -> None:
    trail = Trail()
    trail.coral("N1", "Acropora sp.", arrived=-20)
    trail.coral("N2", "Favites sp.", arrived=-60)
    trail.moves("B1", "north", -8)
    found = trail.trace(reference)
    assert [(one.what, one.is_host) for one in found.origins] == [
        ("N1 moved in", True),
        ("B1 moved in", True),
    ]


def test_what_was_sent_meanwhile_is_told_with_whom(reference: Reference) -> None:
    trail = Trail()
    trail.sends("A2", -12, "Plains Library")
    trail.sends("W1", -12, "Lake School")
    (sent,) = trail.trace(reference).sent
    assert (sent.piece, sent.to, sent.on, sent.likely) == ("A2", "Plains Library", day(-12), True)


def test_what_was_sent_before_is_left_out(reference: Reference) -> None:
    trail = Trail()
    trail.sends("A2", -60, "Plains Library")
    assert trail.trace(reference).sent == ()


def test_a_system_can_be_traced_as_a_whole(reference: Reference) -> None:
    found = Trail().trace(reference, system="North")
    assert found.found_on == DAY
    assert met(found).keys() == {"A1", "A2", "M1"}


@pytest.mark.parametrize(
    ("where", "told"),
    [
        ({"piece": "X"}, "the ledger has or had"),
        ({"system": "moon"}, "knows"),
        ({"piece": "A1", "system": "north"}, "one of the two"),
    ],
)
def test_what_is_not_known_is_told(reference: Reference, where: dict[str, str], told: str) -> None:
    with pytest.raises(BadInput, match=told):
        Trail().trace(reference, **where)
