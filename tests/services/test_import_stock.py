"""A stock list goes in whole or not at all, and every slip is told with its place."""

from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from ramet.domain.errors import BadInput
from ramet.domain.events import Kind, Standing
from ramet.domain.words import Form
from ramet.ledger import open_ledger
from ramet.ledger.queries import Contents, contents, history
from ramet.reference.tables import Reference, load_reference
from ramet.services.import_stock import ImportReport, import_files

TODAY = date(2027, 1, 15)
HEAD = "piece,strain,taxon,system,tank,length_mm"
FAMILY = "piece,parent,strain,taxon,system,tank,length_mm,cut_on,acquired_on"
WATER = "system,on,temperature_c,salinity,alkalinity_meq_l,ph"
HEALTH = "on,kind,pest,piece,system"
GOOD = f"{HEAD}\nE1,Ember,Acropora sp.,north,n1,80\nE2,Ember,Acropora sp.,north,n2,2 in\n"


@pytest.fixture(scope="module")
def reference() -> Reference:
    return load_reference()


class Grower:
    """Writes tables into a folder and imports them into the ledger there."""

    def __init__(self, folder: Path, reference: Reference) -> None:
        self.folder, self.reference = folder, reference
        self.ledger = str(folder / "ramet.db")

    def imports(
        self, *tables: str, today: date = TODAY, update: bool = False, accept_good_rows: bool = False
    ) -> ImportReport:
        paths = []
        for number, text in enumerate(tables, start=1):
            path = self.folder / f"t{number}.csv"
            path.write_text(text, encoding="utf-8")
            paths.append(path)
        return import_files(
            self.ledger,
            paths,
            self.reference,
            today,
            update=update,
            accept_good_rows=accept_good_rows,
            clock=lambda: datetime(2027, 1, 15, 9, tzinfo=UTC),
        )

    def refused(self, *tables: str, today: date = TODAY) -> list[str]:
        """Return the problems, without the folder, of an import that must leave no trace."""
        before = self.has() if Path(self.ledger).exists() else None
        with pytest.raises(BadInput) as caught:
            self.imports(*tables, today=today)
        after = self.has() if Path(self.ledger).exists() else None
        assert before == after
        return [str(problem).removeprefix(f"{self.folder}/") for problem in caught.value.problems]

    def has(self) -> Contents:
        with open_ledger(self.ledger) as ledger:
            return contents(ledger)


@pytest.fixture
def grower(tmp_path: Path, reference: Reference) -> Grower:
    return Grower(tmp_path, reference)


def test_a_stock_list_makes_a_ledger(grower: Grower) -> None:
    report = grower.imports(GOOD)
    assert (report.pieces_added, report.pieces_unchanged, report.version) == (2, 0, 2)
    piece = grower.has().states["e2"].piece
    assert (piece.length_mm, piece.width_mm) == (50.8, 50.8)
    assert piece.form is Form.BRANCHING
    assert piece.defaults_used == ("form", "width_mm", "height_mm")
    assert "E2: width_mm" in report.defaults_used


def test_the_same_file_again_changes_nothing(grower: Grower) -> None:
    grower.imports(GOOD)
    report = grower.imports(GOOD, today=date(2027, 2, 1))
    assert (report.pieces_added, report.pieces_changed, report.pieces_unchanged) == (0, 0, 2)
    assert grower.has().version == 2


def test_changed_rows_are_told_unless_an_update_is_asked_for(grower: Grower) -> None:
    grower.imports(GOOD)
    changed = GOOD.replace(",80", ",85")
    told = grower.refused(changed)
    assert (
        told[0]
        == "t1.csv:2 [length_mm]: found “85”; expected “80” as in the ledger, or --update to change it"
    )
    report = grower.imports(changed, update=True)
    assert report.pieces_changed == 1
    with open_ledger(grower.ledger) as ledger:
        assert [event.entry.kind for event in history(ledger, "E1")] == [Kind.ACQUIRED, Kind.MEASURED]


def test_an_update_says_what_happened_to_the_piece(grower: Grower) -> None:
    grower.imports(f"{HEAD},note,standing\nE1,Ember,Acropora sp.,north,n1,80,,\n")
    moved = f"{HEAD},note,promised_to,standing\nE1,Ember,Acropora sp.,south,s1,90,paler,library,lost\n"
    grower.imports(moved, update=True)
    with open_ledger(grower.ledger) as ledger:
        kinds = [event.entry.kind for event in history(ledger, "E1")]
    assert kinds[0] is Kind.ACQUIRED
    assert kinds[-1] is Kind.LOST
    state = grower.has().states["e1"]
    assert (state.piece.system, state.piece.length_mm, state.piece.note) == ("south", 90, "paler")
    assert state.standing is Standing.LOST
    grower.imports(moved.replace(",lost", ",alive"), update=True)
    assert grower.has().states["e1"].standing is Standing.ALIVE


def test_columns_that_a_later_file_lacks_keep_what_the_ledger_has(grower: Grower) -> None:
    grower.imports(f"{HEAD},par,note\nE1,Ember,Acropora sp.,north,n1,80,250,mother\n")
    assert grower.imports(f"{HEAD}\nE1,Ember,Acropora sp.,north,n1,80\n").pieces_unchanged == 1
    blank = f"{HEAD},note\nE1,Ember,Acropora sp.,north,n1,80,\n"
    assert "[note]: nothing there; expected “mother” as in the ledger" in grower.refused(blank)[0]
    grower.imports(blank, update=True)
    piece = grower.has().states["e1"].piece
    assert (piece.par, piece.note) == (250, None)


@pytest.mark.parametrize(
    ("rows", "told"),
    [
        (
            "E1,Ember,Acropora sp.,north,n1,80\ne1,Ember,Acropora sp.,north,n1,80",
            "t1.csv:3 [piece]: found “e1”; expected an id that no other row has, in any case",
        ),
        (
            "E1,Ember,Acropora sp.,north,n1,80\nE2,Ember,Montipora sp.,north,n1,80",
            "t1.csv:3 [taxon]: found “Montipora sp.”; expected one taxon for strain “Ember”",
        ),
        (
            "E1,Ember,Acropora sp.,north,n1,80\nE2,Ember,Acropora sp.,North,n1,80",
            "t1.csv:3 [system]: found “North”; expected one spelling throughout: “north”",
        ),
        (
            "E1,Ember,Acrophora sp.,north,n1,80",
            "t1.csv:2 [taxon]: found “Acrophora sp.”; expected a genus of the reference table (nearest: Acr",
        ),
        ("E1,Ember,Acropora sp.,north,n1,-80", "t1.csv:2 [length_mm]: found “-80”; expected a size above 0"),
        ("=E1,Ember,Acropora sp.,north,n1,80", "t1.csv:2 [piece]: found “=E1”; expected text that does not"),
    ],
)
def test_a_bad_row_is_told_with_its_place_and_nothing_is_made(grower: Grower, rows: str, told: str) -> None:
    problems = grower.refused(f"{HEAD}\n{rows}\n")
    assert len(problems) == 1
    assert problems[0].startswith(told)
    assert not Path(grower.ledger).exists()


@pytest.mark.parametrize(
    ("rows", "told"),
    [
        (
            ["E1,E9,Ember,Acropora sp.,north,n1,80,,"],
            ["2 [parent]: found “E9”; expected a piece of this file"],
        ),
        (
            ["E1,e1,Ember,Acropora sp.,north,n1,80,,"],
            ["2 [parent]: found “e1”; expected a line of descent that does not come back"],
        ),
        (
            [
                "E1,E3,Ember,Acropora sp.,north,n1,80,,",
                "E2,E1,Ember,Acropora sp.,north,n1,80,,",
                "E3,E2,Ember,Acropora sp.,north,n1,80,,",
            ],
            ["2 [parent]", "3 [parent]", "4 [parent]"],
        ),
        (
            ["E1,,Ember,Acropora sp.,north,n1,80,,", "S1,E1,Slate,Acropora sp.,north,n1,80,,"],
            ["3 [strain]: found “Slate”; expected the strain of its parent “E1”, which is “Ember”"],
        ),
        (
            [
                "E1,,Ember,Acropora sp.,north,n1,80,,2026-05-01",
                "E2,E1,Ember,Acropora sp.,north,n1,80,2026-04-30,",
            ],
            ["3 [cut_on]: found “2026-04-30”; expected a day not before its parent’s first (2026-05-01)"],
        ),
        (
            ["E1,,Ember,Acropora sp.,north,n1,80,2027-01-16,2028-01-01"],
            [
                "2 [acquired_on]: found “2028-01-01”; expected a day not after today (2027-01-15)",
                "2 [cut_on]: found “2027-01-16”; expected a day not after today (2027-01-15)",
            ],
        ),
    ],
)
def test_lineage_and_dates_must_hold(grower: Grower, rows: list[str], told: list[str]) -> None:
    problems = grower.refused("\n".join([FAMILY, *rows]) + "\n")
    assert len(problems) == len(told)
    for problem, start in zip(problems, told, strict=True):
        assert problem.removeprefix("t1.csv:").startswith(start)


def test_a_parent_may_stand_below_its_child_or_in_the_ledger(grower: Grower) -> None:
    grower.imports(
        f"{FAMILY}\nE2,e1,Ember,Acropora sp.,north,n1,40,2026-06-01,\nE1,,Ember,Acropora sp.,north,n1,80,,\n"
    )
    grower.imports(f"{FAMILY}\nE3,E2,Ember,Acropora sp.,north,n1,20,2026-12-01,\n")
    states = grower.has().states
    assert (states["e2"].piece.parent, states["e3"].piece.parent) == ("E1", "E2")
    with open_ledger(grower.ledger) as ledger:
        assert history(ledger, "E3")[0].entry.kind is Kind.CUT


def test_a_loop_through_the_ledger_is_found(grower: Grower) -> None:
    grower.imports(
        f"{FAMILY}\nE1,,Ember,Acropora sp.,north,n1,80,,\nE2,E1,Ember,Acropora sp.,north,n1,80,,\n"
    )
    with pytest.raises(BadInput, match="does not come back to itself"):
        grower.imports(f"{FAMILY}\nE1,E2,Ember,Acropora sp.,north,n1,80,,\n", update=True)


def test_a_strain_in_the_ledger_keeps_its_taxon(grower: Grower) -> None:
    grower.imports(GOOD)
    (problem,) = grower.refused(f"{HEAD}\nE3,Ember,Montipora sp.,north,n1,20\n")
    assert "one taxon for strain “Ember”, which is “Acropora sp.” elsewhere" in problem


def test_a_genus_outside_the_table_passes_with_a_form_and_unknown_passes_marked(grower: Grower) -> None:
    grower.imports(f"{HEAD},form\nX1,Xa,Nonexistia sp.,north,n1,30,plating\nU1,Ua,unknown,north,n1,30,\n")
    states = grower.has().states
    assert states["x1"].piece.form is Form.PLATING
    assert "form" not in states["x1"].piece.defaults_used
    assert "form" in states["u1"].piece.defaults_used


def test_rates_that_stand_in_for_a_genus_are_listed(grower: Grower) -> None:
    report = grower.imports(f"{HEAD}\nU1,Ua,unknown,north,n1,30\n")
    assert "unknown massive: respiration_umol_cm2_h" in report.defaults_used


def test_all_problems_of_all_files_come_together(grower: Grower) -> None:
    water = "system,on,temperature_c,salinity,alkalinity_meq_l\nnorth,2027-01-10,99,35,3\n"
    health = "on,kind,pest,piece\n2027-01-16,seen,acropora_flatwurm,E1\n"
    problems = grower.refused(GOOD.replace(",80", ",0"), water, health)
    assert [problem.split(":")[0] for problem in problems] == ["t1.csv", "t2.csv", "t3.csv"]


def test_a_row_that_fails_makes_no_second_problem_elsewhere(grower: Grower) -> None:
    text = f"{FAMILY}\nE1,,Ember,Acropora sp.,north,n1,0,,\nE2,E1,Ember,Acropora sp.,north,n1,40,,\n"
    health = f"{HEALTH}\n2027-01-11,finding,acropora_flatworm,E1,\n"
    (problem,) = grower.refused(text, health)
    assert problem.startswith("t1.csv:2 [length_mm]")


def test_good_rows_go_in_at_the_users_word_and_orphans_stay_out(grower: Grower) -> None:
    text = (
        f"{FAMILY}\nE1,,Ember,Acropora sp.,north,n1,0,,\nE2,E1,Ember,Acropora sp.,north,n1,40,2026-06-01,\n"
        "S1,,Slate,Montipora sp.,north,n1,80,,\n"
    )
    report = grower.imports(text, accept_good_rows=True)
    assert (report.pieces_added, report.rows_left_out) == (1, 2)
    assert set(grower.has().states) == {"s1"}


def test_a_file_that_cannot_be_read_stops_even_good_rows(grower: Grower) -> None:
    with pytest.raises(BadInput, match="a known column"):
        grower.imports(
            GOOD, f"{HEAD},colour\nS1,Slate,Montipora sp.,north,n1,80,red\n", accept_good_rows=True
        )
    assert not Path(grower.ledger).exists()


def test_water_and_health_go_in_beside_their_stock(grower: Grower) -> None:
    water = f"{WATER}\nNORTH,2027-01-10,77 °F,35,8 dKH,8.1\n"
    health = (
        f"{HEALTH}\n2027-01-11,finding,acropora_flatworm,e1,\n2027-01-12,treated,acropora_flatworm,,north\n"
    )
    report = grower.imports(GOOD, water, health)
    assert (report.readings_added, report.health_added) == (1, 2)
    found = grower.has()
    assert (found.water[0].system, found.water[0].temperature_c) == ("north", 25.0)
    assert [(one.piece, one.system) for one in found.health] == [("E1", None), (None, "north")]
    again = grower.imports(GOOD, water, health)
    assert (again.readings_added, again.health_added, again.records_known) == (0, 0, 3)
    assert grower.has().version == found.version


def test_a_reading_is_changed_only_by_an_update(grower: Grower) -> None:
    grower.imports(GOOD, f"{WATER}\nnorth,2027-01-10,25,35,3,8.1\n")
    other = f"{WATER}\nnorth,2027-01-10,25,35,3,8.3\n"
    assert "[ph]: found “8.3”; expected “8.1” as in the ledger" in grower.refused(other)[0]
    grower.imports(other, update=True)
    assert [one.ph for one in grower.has().water] == [8.3]


@pytest.mark.parametrize(
    ("row", "told"),
    [
        (
            "2027-01-11,finding,acropora_flatwurm,E1,",
            "[pest]: found “acropora_flatwurm”; expected a pest of the",
        ),
        (
            "2027-01-11,finding,acropora_flatworm,E9,",
            "[piece]: found “E9”; expected a piece in stock; the",
        ),
        ("2027-01-11,finding,acropora_flatworm,,", "[piece]: nothing there; expected a piece, or a system"),
        (
            "2027-01-11,finding,acropora_flatworm,E1,north",
            "[piece]: found “E1”; expected a piece, or a",
        ),
        (
            "2027-01-16,finding,acropora_flatworm,E1,",
            "[on]: found “2027-01-16”; expected a day not after",
        ),
        ("2027-01-11,cleared,acropora_flatworm,E1,", "[kind]: found “cleared”; expected treated and clean"),
        ("2027-01-11,gone,acropora_flatworm,E1,", "[kind]: found “gone”; expected one of: finding, treated"),
    ],
)
def test_a_bad_health_record_is_told(grower: Grower, row: str, told: str) -> None:
    (problem,) = grower.refused(GOOD, f"{HEALTH}\n{row}\n")
    assert problem.startswith(f"t2.csv:2 {told}")


def test_a_reading_of_a_system_without_stock_is_told(grower: Grower) -> None:
    (problem,) = grower.refused(GOOD, f"{WATER}\nnroth,2027-01-10,25,35,3,8.1\n")
    assert problem == "t2.csv:2 [system]: found “nroth”; expected a system with stock; the nearest is “north”"


def test_a_stock_list_without_pieces_is_told_but_empty_records_are_fine(grower: Grower) -> None:
    assert grower.refused(HEAD + "\n") == [
        "t1.csv:1: nothing there; expected at least one piece under the headers"
    ]
    assert grower.imports(GOOD, WATER + "\n", HEALTH + "\n").pieces_added == 2


def test_a_missing_file_is_told_and_nothing_is_made(tmp_path: Path, reference: Reference) -> None:
    with pytest.raises(BadInput, match=r"gone\.csv: nothing there; expected a CSV or XLSX file that exists"):
        import_files(str(tmp_path / "ramet.db"), [tmp_path / "gone.csv"], reference, TODAY)
    assert not (tmp_path / "ramet.db").exists()
