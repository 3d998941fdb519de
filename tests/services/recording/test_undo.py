"""Any action can be taken back by new entries, and that too; nothing is ever erased."""

from collections.abc import Callable
from dataclasses import replace

import pytest
from stock_for_tests import REFERENCE, TODAY, kinds, scribe, small_ledger, states

from ramet.domain.events import HealthKind, PieceState
from ramet.ledger import Ledger
from ramet.ledger.queries import contents
from ramet.services.recording.acquire import acquire, correct
from ramet.services.recording.cut import Cut, Split, cut, split
from ramet.services.recording.fuse import Fuse, fuse
from ramet.services.recording.health import About, Dip, Inspection, Treatment, dip, inspect, treat
from ramet.services.recording.leave import Lost, lose, reserve
from ramet.services.recording.measure import Measurement, measure
from ramet.services.recording.move import Move, move
from ramet.services.recording.offspring import Child
from ramet.services.recording.stock_look import Size, Where
from ramet.services.recording.undo import undo

NEW = {"piece": "P1", "strain": "Slate", "taxon": "Pavona sp.", "system": "north", "tank": "n1"}
PEST = "acropora_flatworm"
ONE, TWO = (Child(Size(46)),), (Child(Size(30)), Child(Size(30)))
ACTIONS: dict[str, Callable[[Ledger], object]] = {
    "acquire": lambda book: acquire(book, [NEW | {"length_mm": "40"}], REFERENCE, scribe()),
    "cut": lambda book: cut(book, Cut("E1", ONE), REFERENCE, scribe()),
    "split": lambda book: split(book, Split("E2", TWO), REFERENCE, scribe()),
    "fuse": lambda book: fuse(book, Fuse(("E2",), "E1", Size(120)), scribe()),
    "move": lambda book: move(book, Move(("E1", "E2"), Where("s1")), scribe()),
    "measure": lambda book: measure(book, (Measurement("E1", Size(120, 70, 60)),), scribe()),
    "lose": lambda book: lose(book, Lost(("E1", "E2")), scribe()),
    "reserve": lambda book: reserve(book, ("E1",), "library", scribe()),
    "correct": lambda book: correct(book, "E1", {"note": "", "permit": "P-9"}, REFERENCE, scribe()),
    "inspect": lambda book: inspect(
        book, Inspection(About(system="north"), HealthKind.FINDING, PEST), REFERENCE, scribe()
    ),
    "dip": lambda book: dip(book, Dip(("E1",), "iodine", 5, PEST), REFERENCE, scribe()),
    "treat": lambda book: treat(book, Treatment(About(("E1",)), PEST), REFERENCE, scribe()),
}


def seen(ledger: Ledger) -> tuple[dict[str, PieceState], object, object]:
    """Return all that shows: pieces but for their versions, where they were, and the health records."""
    found = contents(ledger)
    shown = {key: replace(state, version=0) for key, state in found.states.items()}
    return shown, found.stays, found.health


@pytest.mark.parametrize("name", ACTIONS)
def test_undone_it_is_as_if_it_had_not_been_and_undone_again_it_is_back(place: str, name: str) -> None:
    with small_ledger(place) as ledger:
        before = seen(ledger)
        ACTIONS[name](ledger)
        after = seen(ledger)
        assert after != before
        entered = contents(ledger).version
        undone = undo(ledger, scribe())
        assert undone.done
        assert seen(ledger) == before
        assert contents(ledger).version > entered
        assert undo(ledger, scribe(), undone.version).done
        assert seen(ledger) == after


def test_each_undo_goes_one_action_further_back(place: str) -> None:
    with small_ledger(place) as ledger:
        before = seen(ledger)
        move(ledger, Move(("E1",), Where("s1")), scribe())
        measure(ledger, (Measurement("E2", Size(70)),), scribe())
        assert undo(ledger, scribe()).pieces == ("E2",)
        assert undo(ledger, scribe()).pieces == ("E1",)
        assert seen(ledger) == before


def test_an_earlier_action_can_be_undone_when_nothing_rests_on_it(place: str) -> None:
    with small_ledger(place) as ledger:
        first = move(ledger, Move(("E1",), Where("s1")), scribe())
        measure(ledger, (Measurement("E1", Size(130)),), scribe())
        assert undo(ledger, scribe(), first.version).done
        piece = states(ledger)["e1"].piece
        assert (piece.tank, piece.length_mm) == ("n1", 130)


def test_a_birth_on_which_later_entries_rest_is_not_undone(place: str) -> None:
    with small_ledger(place) as ledger:
        born = cut(ledger, Cut("E1", ONE), REFERENCE, scribe())
        cut(ledger, Cut("E1-1", (Child(Size(20)),)), REFERENCE, scribe())
        refused = undo(ledger, scribe(), born.version)
        assert not refused.done
        assert any("its children to be undone first: E1-1-1" in one.expected for one in refused.problems)
        assert any("cut of E1-1) to be undone first" in one.expected for one in refused.problems)


def test_an_id_that_was_entered_by_mistake_is_free_again(place: str) -> None:
    with small_ledger(place) as ledger:
        acquire(ledger, [NEW | {"length_mm": "40"}], REFERENCE, scribe())
        undo(ledger, scribe())
        assert acquire(ledger, [NEW | {"piece": "p1", "length_mm": "50"}], REFERENCE, scribe()).done
        assert states(ledger)["p1"].piece.length_mm == 50
        assert kinds(ledger, "P1") == ["acquired", "undone", "acquired"]


def test_a_whole_import_can_be_undone(place: str) -> None:
    with small_ledger(place) as ledger:
        assert undo(ledger, scribe(), 1).entries == 4
        assert states(ledger) == {}


def test_what_is_not_there_or_undone_already_is_told(place: str) -> None:
    with small_ledger(place) as ledger:
        assert "the number of an entry" in undo(ledger, scribe(), 99).problems[0].expected
        lose(ledger, Lost(("E1",)), scribe(TODAY))
        undo(ledger, scribe(), 5)
        assert "not undone before" in undo(ledger, scribe(), 5).problems[0].expected
