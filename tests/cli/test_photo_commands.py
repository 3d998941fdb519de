"""`ramet card`, `ramet photo` and `ramet area` as a grower calls them."""

import json
import shutil
import sys
from pathlib import Path

import pytest
from shell import Shell
from small_texts import TODAY

sys.path.insert(0, str(Path(__file__).parents[1] / "services" / "photos"))

from drawn_photo import Camera, card_of, disc, draw, jpeg, middle_of


@pytest.fixture
def photo(tmp_path: Path) -> Path:
    card = card_of("large")
    path = tmp_path / "seen.jpg"
    path.write_bytes(
        jpeg(draw(disc(*middle_of(card), 15), card, Camera(size_px=(2000, 1500), focal_px=2000)))
    )
    return path


def test_a_card_is_printed(shell: Shell, tmp_path: Path) -> None:
    ran = shell("card", "-o", tmp_path / "card.pdf", "--paper", "us-letter")
    assert ran.code == 0
    assert (tmp_path / "card.pdf").read_bytes().startswith(b"%PDF")


def test_an_area_is_told_with_its_error(shell: Shell, photo: Path, tmp_path: Path) -> None:
    ran = shell("area", photo, "--show", tmp_path / "outline.png")
    assert ran.code == 0
    assert "live area from above: 7." in ran.out
    assert "error by cause: view of the card" in ran.out
    assert (tmp_path / "outline.png").stat().st_size > 1000
    assert json.loads(shell("area", photo, "--json").out)["format"] == "ramet-area/1"


def test_an_area_becomes_a_measurement_with_its_photo(
    shell: Shell, photo: Path, ledger: Path, tmp_path: Path
) -> None:
    place = tmp_path / "own.db"
    shutil.copy(ledger, place)
    ran = shell("area", photo, "--piece", "F1", "--ledger", place, "--today", TODAY)
    assert ran.code == 0
    assert len(list((tmp_path / "own-photos").rglob("*.jpg"))) == 2
    grown = shell("growth", "F1", "--ledger", place, "--today", TODAY)
    assert "30" in grown.out  # the disc's diameter [mm] is the new length


def test_a_photo_is_kept(shell: Shell, photo: Path, ledger: Path, tmp_path: Path) -> None:
    place = tmp_path / "own.db"
    shutil.copy(ledger, place)
    ran = shell("photo", "D1", photo, "--note", "fine", "--ledger", place, "--today", TODAY)
    assert ran.code == 0
    assert (tmp_path / "own-photos").is_dir()


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--at", "here"), "a pixel such as 1200,900"),
        (("--outline", "1,1 2"), "a pixel such as 1200,900"),
        (("--ruler", "10"), "80 to 120 mm"),
    ],
)
def test_orders_that_make_no_sense_are_told(
    shell: Shell, photo: Path, words: tuple[str, ...], told: str
) -> None:
    ran = shell("area", photo, *words)
    assert ran.code == 2
    assert told in ran.err


def test_a_file_that_is_not_there_is_told(shell: Shell, tmp_path: Path) -> None:
    ran = shell("area", tmp_path / "none.jpg")
    assert ran.code == 2
    assert "a photo that can be read" in ran.err
