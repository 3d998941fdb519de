"""`ramet import`: a thousand rows go in, the same file changes nothing, and a bad row writes nothing."""

import json
from pathlib import Path

import pytest
from shell import Ran, Shell
from small_texts import SMALLEST_STOCK, TODAY, with_line


def thousand_rows() -> str:
    head = "piece,strain,taxon,form,system,tank,length_mm"
    rows = (
        f"P{number},Strain {number % 40},Favites abdita,massive,north,N{number % 4},{40 + number % 60}"
        for number in range(1000)
    )
    return "\n".join([head, *rows]) + "\n"


class Importing:
    """Imports a stock text into a ledger beside it."""

    def __init__(self, shell: Shell, folder: Path) -> None:
        self.shell, self.stock, self.ledger = shell, folder / "stock.csv", folder / "ramet.db"

    def __call__(self, text: str | bytes, *more: str) -> Ran:
        self.stock.write_bytes(text if isinstance(text, bytes) else text.encode())
        return self.shell("import", self.stock, "--ledger", self.ledger, "--today", TODAY, *more)


@pytest.fixture
def bring(shell: Shell, tmp_path: Path) -> Importing:
    return Importing(shell, tmp_path)


def test_a_thousand_rows_go_in_and_the_same_file_again_changes_nothing(bring: Importing) -> None:
    first = json.loads(bring(thousand_rows(), "--json").out)
    assert (first["pieces_added"], first["problems"]) == (1000, [])
    again = json.loads(bring(thousand_rows(), "--json").out)
    assert (again["pieces_added"], again["pieces_changed"], again["pieces_unchanged"]) == (0, 0, 1000)
    assert again["version"] == first["version"]


def test_words_go_to_people_and_json_alone_to_machines(bring: Importing) -> None:
    assert "4 pieces added" in bring(SMALLEST_STOCK).out
    assert json.loads(bring(SMALLEST_STOCK, "--json").out)["pieces_unchanged"] == 4


F1 = "F1,Field 1,Favites abdita,massive,north,N1,40,40,25,120"
HEAD = "piece,strain,taxon,form,system,tank,length_mm,width_mm,height_mm,par"
WRONG_ROWS = [
    (HEAD, HEAD.replace("par", "colour"), "colour", "colour"),
    (HEAD, HEAD.replace("strain", "strane"), "strane", "strain"),
    (F1, F1.replace("40,40", "-40,40"), "length_mm", "above 0"),
    (F1, F1.replace("Favites abdita,massive", "Favitas abdita,"), "taxon", "Favites"),
    (F1, F1.replace("massive", "massif"), "form", "massive"),
    (F1, F1.replace("F1,", ","), "piece", "nothing there"),
]


@pytest.mark.parametrize(("old", "new", "column", "said"), WRONG_ROWS)
def test_a_wrong_row_is_named_and_nothing_is_written(
    bring: Importing, old: str, new: str, column: str, said: str
) -> None:
    text, number = with_line(SMALLEST_STOCK, old, new)
    ran = bring(text)
    assert ran.code == 2
    assert ran.out == ""
    named = [line for line in ran.err.splitlines() if f"{bring.stock}:{number} [{column}]" in line]
    assert len(named) == 1
    assert said in named[0]
    assert not bring.ledger.exists()


def test_a_missing_stock_list_is_told(shell: Shell, tmp_path: Path) -> None:
    ran = shell("import", tmp_path / "none.csv", "--ledger", tmp_path / "ramet.db")
    assert ran.code == 2
    assert str(tmp_path / "none.csv") in ran.err
    assert not (tmp_path / "ramet.db").exists()


def test_a_stock_list_that_is_not_utf8_is_told_with_its_line(bring: Importing) -> None:
    text, number = with_line(SMALLEST_STOCK, F1, F1.replace("Field 1", "Fjörd 1"))
    ran = bring(text.encode("latin-1"))
    assert ran.code == 2
    assert f"{bring.stock}:{number}" in ran.err
    assert "UTF-8" in ran.err
    assert not bring.ledger.exists()


def test_all_bad_rows_are_told_together(bring: Importing) -> None:
    text, _ = with_line(SMALLEST_STOCK, F1, F1.replace("40,40", "-40,40"))
    text = text.replace("Montipora digitata,branching", "Montypora digitata,")
    err = bring(text).err
    assert [f"stock.csv:{line} " in err for line in (2, 3, 4, 5)] == [True, False, True, True]
