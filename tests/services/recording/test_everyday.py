"""Moves, measurements, losses, promises and health entries: each a verb with its own checks."""

from datetime import date, timedelta

import pytest
from stock_for_tests import REFERENCE, TODAY, kinds, scribe, small_ledger, states

from ramet.domain.errors import StaleWrite
from ramet.domain.events import HealthKind, Standing
from ramet.ledger.queries import contents, history
from ramet.services.recording.acquire import acquire, correct
from ramet.services.recording.health import About, Dip, Inspection, Treatment, dip, inspect, treat
from ramet.services.recording.leave import Lost, lose, release, reserve
from ramet.services.recording.measure import Measurement, measure
from ramet.services.recording.move import Move, move
from ramet.services.recording.stock_look import Size, Where

YESTERDAY = TODAY - timedelta(days=1)


def test_many_pieces_move_in_one_action(place: str) -> None:
    with small_ledger(place) as ledger:
        done = move(ledger, Move(("E1", "e2"), Where("s1")), scribe())
        assert done.pieces == ("E1", "E2")
        found = states(ledger)
        assert {(found[key].piece.system, found[key].piece.tank) for key in ("e1", "e2")} == {("south", "s1")}
        assert found["e1"].piece.par is None
        assert found["e1"].arrived_on == TODAY


def test_a_tank_that_nobody_knows_needs_a_word(place: str) -> None:
    with small_ledger(place) as ledger:
        refused = move(ledger, Move(("E1",), Where("n3")), scribe())
        assert "the nearest is “n" in refused.asks[0].text
        assert move(ledger, Move(("E1",), Where("n3")), scribe(None, "new-place")).done


def test_a_tank_keeps_its_spelling(place: str) -> None:
    with small_ledger(place) as ledger:
        assert move(ledger, Move(("E1",), Where("N2", "NORTH")), scribe()).done
        assert (states(ledger)["e1"].piece.system, states(ledger)["e1"].piece.tank) == ("north", "n2")


def test_a_taken_spot_is_told(place: str) -> None:
    with small_ledger(place) as ledger:
        done = move(ledger, Move(("E1",), Where(spot="b")), scribe())
        assert [one.text for one in done.cautions] == ["spot “b” holds E2 already"]


def test_a_lost_piece_does_not_move(place: str) -> None:
    with small_ledger(place) as ledger:
        assert lose(ledger, Lost(("E1",), "bleached"), scribe()).done
        refused = move(ledger, Move(("E1", "E2"), Where("s1")), scribe())
        assert "it was lost" in refused.problems[0].expected
        assert states(ledger)["e2"].piece.tank == "n1"


def test_a_move_before_the_last_move_is_refused(place: str) -> None:
    with small_ledger(place) as ledger:
        move(ledger, Move(("E1",), Where("s1")), scribe())
        refused = move(ledger, Move(("E1",), Where("n2")), scribe(YESTERDAY))
        assert "a day not before the last move of E1" in refused.problems[0].expected


def test_measurements_of_one_day_go_in_together(place: str) -> None:
    with small_ledger(place) as ledger:
        done = measure(
            ledger,
            (
                Measurement("E1", Size(112, 95)),
                Measurement("T1", Size(heads=14)),
                Measurement("E2", buoyant_g=8.4),
            ),
            scribe(),
        )
        assert done.entries == 3
        found = states(ledger)
        assert (found["e1"].piece.length_mm, found["e1"].piece.width_mm) == (112, 95)
        assert found["t1"].piece.heads == 14
        assert found["e1"].sized_on == TODAY


def test_a_measurement_that_is_entered_late_goes_to_the_history_alone(place: str) -> None:
    with small_ledger(place) as ledger:
        measure(ledger, (Measurement("E1", Size(120)),), scribe())
        late = measure(ledger, (Measurement("E1", Size(110)),), scribe(YESTERDAY))
        assert [one.code for one in late.cautions] == ["older"]
        assert states(ledger)["e1"].piece.length_mm == 120
        assert kinds(ledger, "E1") == ["acquired", "measured", "measured"]


def test_a_size_that_jumped_is_told(place: str) -> None:
    with small_ledger(place) as ledger:
        done = measure(ledger, (Measurement("E1", Size(1000)),), scribe())
        assert "had 100 mm (length_mm) before and has 1000 now" in done.cautions[0].text


def test_the_loss_of_a_strain_and_of_a_promised_piece_is_told(place: str) -> None:
    with small_ledger(place) as ledger:
        reserve(ledger, ("T1",), "the library", scribe())
        done = lose(ledger, Lost(("T1",)), scribe())
        assert [one.code for one in done.cautions] == ["promised", "last_piece"]
        assert states(ledger)["t1"].standing is Standing.LOST


def test_a_promise_to_another_needs_a_word_and_can_be_taken_back(place: str) -> None:
    with small_ledger(place) as ledger:
        assert reserve(ledger, ("E1",), "the library", scribe()).done
        assert [ask.word for ask in reserve(ledger, ("E1",), "a school", scribe()).asks] == ["promised"]
        assert release(ledger, ("E1",), scribe()).done
        assert states(ledger)["e1"].piece.promised_to is None


def test_an_inspection_a_dip_and_a_treatment_are_evidence(place: str) -> None:
    pest = "acropora_flatworm"
    with small_ledger(place) as ledger:
        one = inspect(
            ledger, Inspection(About(("E1",)), HealthKind.FINDING, pest, "bites"), REFERENCE, scribe()
        )
        two = dip(ledger, Dip(("E1",), "iodine", 10, pest, "tub 1"), REFERENCE, scribe())
        three = treat(ledger, Treatment(About(system="North"), pest), REFERENCE, scribe())
        assert one.done
        assert two.done
        assert three.done
        assert "dip_chemicals" in [caution.code for caution in two.cautions]
        told = [(record.kind.value, record.piece, record.system) for record in contents(ledger).health]
        assert told == [("finding", "E1", None), ("treated", "E1", None), ("treated", None, "north")]


@pytest.mark.parametrize(
    ("order", "column"),
    [
        (Inspection(About(("E1",)), HealthKind.FINDING), "pest"),
        (Inspection(About(("E1",)), HealthKind.FINDING, "acropora_flatwurm"), "pest"),
        (Inspection(About(("E1",)), HealthKind.CLEARED, "acropora_flatworm"), "result"),
        (Inspection(About(), HealthKind.CLEAN), "pieces"),
        (Inspection(About(system="west"), HealthKind.CLEAN), "system"),
    ],
)
def test_a_health_entry_that_says_too_little_is_refused(place: str, order: Inspection, column: str) -> None:
    with small_ledger(place) as ledger:
        assert [one.place.column for one in inspect(ledger, order, REFERENCE, scribe()).problems] == [column]


def test_a_new_piece_is_held_to_the_rules_of_a_stock_list(place: str) -> None:
    new = {"piece": "E3", "strain": "Ember", "taxon": "Acropora sp.", "system": "north", "tank": "n1"}
    with small_ledger(place) as ledger:
        assert acquire(ledger, [new | {"length_mm": "2 in"}], REFERENCE, scribe()).done
        assert states(ledger)["e3"].piece.length_mm == 50.8
        refused = acquire(
            ledger, [new | {"piece": "E4", "strain": "ember", "length_mm": "40"}], REFERENCE, scribe()
        )
        assert "one spelling throughout: “Ember”" in refused.problems[0].expected
        again = acquire(ledger, [new | {"piece": "e1", "length_mm": "100"}], REFERENCE, scribe())
        assert again.problems


def test_a_correction_says_what_was_wrong_and_holds_the_lineage(place: str) -> None:
    with small_ledger(place) as ledger:
        assert correct(ledger, "E2", {"parent": "e1", "permit": "P-2"}, REFERENCE, scribe()).done
        piece = states(ledger)["e2"].piece
        assert (piece.parent, piece.permit) == ("E1", "P-2")
        loop = correct(ledger, "E1", {"parent": "E2"}, REFERENCE, scribe())
        assert "does not come back to itself" in loop.problems[0].expected
        other = correct(ledger, "E1", {"taxon": "Pavona sp."}, REFERENCE, scribe())
        assert "one taxon for strain “Ember”" in other.problems[0].expected


def test_what_another_changed_meanwhile_is_not_written_over(place: str) -> None:
    with small_ledger(place) as ledger:
        seen = contents(ledger).version
        measure(ledger, (Measurement("E1", Size(105)),), scribe())
        with pytest.raises(StaleWrite, match="E1"):
            move(ledger, Move(("E1",), Where("s1")), scribe(read_version=seen))
        assert move(ledger, Move(("E2",), Where("s1")), scribe(read_version=seen)).done


def test_an_entry_for_a_past_day_is_dated_so(place: str) -> None:
    with small_ledger(place) as ledger:
        lose(ledger, Lost(("E1",)), scribe(date(2027, 1, 3)))
        assert history(ledger, "E1")[-1].entry.on == date(2027, 1, 3)
