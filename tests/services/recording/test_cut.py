"""A cut makes children with sizes, starts the healing clock and leaves the mother smaller."""

import math
from datetime import date, timedelta

import pytest
from stock_for_tests import REFERENCE, TODAY, kinds, scribe, small_ledger, states

from ramet.domain.events import Standing
from ramet.services.recording.cut import Cut, Split, cut, split
from ramet.services.recording.fuse import Fuse, fuse
from ramet.services.recording.offspring import Child
from ramet.services.recording.stock_look import Size, Where


def child(length_mm: float, heads: int | None = None, piece: str | None = None) -> Child:
    return Child(Size(length_mm, heads=heads), piece)


def test_children_take_strain_and_papers_and_start_to_heal_on_the_day_of_the_cut(place: str) -> None:
    yesterday = TODAY - timedelta(days=1)
    with small_ledger(place) as ledger:
        order = Cut("e1", (child(46), Child(Size(45), "Ember-A", "disc", Where(spot="c"))), tool="cutter 2")
        done = cut(ledger, order, REFERENCE, scribe(yesterday))
        found = states(ledger)
        assert done.done
        assert done.pieces == ("E1", "E1-1", "Ember-A")
        first, second = found["e1-1"].piece, found["ember-a"].piece
        assert (first.strain, first.taxon, first.source, first.permit) == (
            "Ember",
            "Acropora sp.",
            "farm F",
            "P-1",
        )
        assert (first.parent, first.cut_on, first.system, first.tank) == ("E1", yesterday, "north", "n1")
        assert (second.spot, second.mounted_on, second.par) == ("c", "disc", None)
        assert found["e1"].piece.healing_since == yesterday
        assert kinds(ledger, "E1") == ["acquired", "cut"]


def test_the_mother_is_reckoned_smaller_by_the_live_tissue_that_went(place: str) -> None:
    # Closed form: two pieces of half her length and of her own proportions carry a quarter of her live
    # tissue each, so each side of her shrinks by the root of one half.
    half = Size(50, 45, 40)
    with small_ledger(place) as ledger:
        done = cut(ledger, Cut("E1", (Child(half), Child(half))), REFERENCE, scribe())
        mother = states(ledger)["e1"].piece
        assert mother.length_mm == pytest.approx(100 * math.sqrt(0.5), abs=0.05)
        assert mother.height_mm == pytest.approx(80 * math.sqrt(0.5), abs=0.05)
        codes = [one.code for one in done.cautions]
        assert {"reckoned", "large_share", "saw_aerosol"} <= set(codes)
        assert "palytoxin" not in codes


def test_heads_are_counted_off_the_mother(place: str) -> None:
    with small_ledger(place) as ledger:
        words = scribe(None, "last-piece")
        done = cut(ledger, Cut("T1", (child(30, heads=2), child(30, heads=3))), REFERENCE, words)
        assert states(ledger)["t1"].piece.heads == 7
        assert "large_share" not in [one.code for one in done.cautions]


def test_what_was_measured_of_the_mother_stands(place: str) -> None:
    with small_ledger(place) as ledger:
        cut(ledger, Cut("E1", (child(46),), left=Size(88, 80, 70)), REFERENCE, scribe())
        mother = states(ledger)["e1"].piece
        assert (mother.length_mm, mother.width_mm, mother.height_mm) == (88, 80, 70)


def test_a_piece_below_the_minimum_of_its_kind_is_told(place: str) -> None:
    # 45 mm: published for staghorn fragments (Lirman et al. 2010, Coral Reefs 29:729-735).
    with small_ledger(place) as ledger:
        done = cut(ledger, Cut("E1", (child(20),)), REFERENCE, scribe())
        assert any(one.text.startswith("E1-1 is 20 mm long; below 45 mm") for one in done.cautions)


def test_cutting_zoanthids_shows_the_cautions_of_palytoxin(place: str) -> None:
    with small_ledger(place) as ledger:
        done = cut(ledger, Cut("Z1", (child(15, heads=4),)), REFERENCE, scribe(None, "last-piece"))
        assert {"palytoxin", "palytoxin_cutting"} <= {one.code for one in done.cautions}


def test_the_last_piece_of_a_strain_needs_an_explicit_word(place: str) -> None:
    with small_ledger(place) as ledger:
        refused = cut(ledger, Cut("T1", (child(30, heads=2),)), REFERENCE, scribe())
        assert not refused.done
        assert "say “last-piece”" in str(refused.asks[0])
        assert kinds(ledger, "T1") == ["acquired"]
        assert cut(ledger, Cut("T1", (child(30, heads=2),)), REFERENCE, scribe(None, "last-piece")).done


@pytest.mark.parametrize(
    ("order", "on", "column", "expected"),
    [
        (Cut("E1", (child(101),)), None, "children.1.length_mm", "the longest side of E1"),
        (Cut("E1", (child(100),) * 3), None, "children", "less than E1 has"),
        (Cut("E1", (child(0),)), None, "children.1.length_mm", "above 0"),
        (Cut("E1", (child(20, piece="e2"),)), None, "children.1.piece", "an id that no other piece has"),
        (Cut("E1", (child(20, piece="A"), child(20, piece="a"))), None, "children.2.piece", "no other piece"),
        (Cut("E1", (child(20, piece="=1+1"),)), None, "children.1.piece", "a spreadsheet would run it"),
        (Cut("E9", (child(20),)), None, "mother", "the nearest is “E"),
        (Cut("E1", ()), None, "children", "at least one"),
        (Cut("E1", (child(20),)), TODAY + timedelta(days=1), "on", "not after today"),
        (Cut("E1", (child(20),)), date(2025, 1, 1), "on", "not before the first of E1"),
    ],
)
def test_what_cannot_be_is_refused_by_its_field(
    place: str, order: Cut, on: date | None, column: str, expected: str
) -> None:
    with small_ledger(place) as ledger:
        refused = cut(ledger, order, REFERENCE, scribe(on))
        assert [problem.place.column for problem in refused.problems][:1] == [column]
        assert expected in refused.problems[0].expected
        assert (refused.entries, refused.version) == (0, 4)


def test_a_piece_divided_whole_ends_and_its_parts_go_on(place: str) -> None:
    with small_ledger(place) as ledger:
        assert split(ledger, Split("E2", (child(30), child(30))), REFERENCE, scribe()).done
        found = states(ledger)
        assert found["e2"].standing is Standing.SPLIT
        assert [found[key].piece.parent for key in ("e2-1", "e2-2")] == ["E2", "E2"]
        again = cut(ledger, Cut("E2", (child(20),)), REFERENCE, scribe())
        assert "it was split" in again.problems[0].expected


def test_fused_pieces_go_on_as_one(place: str) -> None:
    with small_ledger(place) as ledger:
        assert fuse(ledger, Fuse(("E2",), "E1", Size(110, 100, 80)), scribe()).done
        found = states(ledger)
        assert found["e2"].standing is Standing.FUSED
        assert found["e1"].piece.length_mm == 110


def test_different_strains_do_not_fuse(place: str) -> None:
    with small_ledger(place) as ledger:
        refused = fuse(ledger, Fuse(("T1",), "E1"), scribe())
        assert "a piece of strain “Ember”" in refused.problems[0].expected
