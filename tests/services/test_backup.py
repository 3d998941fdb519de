"""A backup is of one moment, checked by hash, and comes back as it was; a damaged one changes nothing."""

import json
import threading
import zipfile
from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner

from ramet.domain.errors import BadInput
from ramet.domain.events import Entry, Event, Kind, day_start
from ramet.ledger import open_ledger
from ramet.ledger.queries import all_events
from ramet.main import cli
from ramet.reference.tables import load_reference
from ramet.services.backup import backup, photos_folder, restore
from ramet.services.beside import files_beside
from ramet.services.import_stock import import_files

NOW = datetime(2027, 1, 15, 12, tzinfo=UTC)
STOCK = "piece,strain,taxon,system,tank,length_mm\n" + "".join(
    f"E{n},Ember,Acropora sp.,north,n1,{40 + n}\n" for n in range(20)
)


@pytest.fixture
def full(place: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """A ledger with a photo and a file beside it."""
    (tmp_path / "home").mkdir()
    monkeypatch.chdir(tmp_path / "home")
    (tmp_path / "stock.csv").write_text(STOCK)
    import_files(place, [tmp_path / "stock.csv"], load_reference(), date(2027, 1, 15))
    photo = photos_folder(place) / "ab" / "abcd.jpg"
    photo.parent.mkdir(parents=True)
    photo.write_bytes(b"\xff\xd8 a photo")
    (files_beside(place) / "shipments").mkdir(parents=True)
    (files_beside(place) / "shipments" / "library.toml").write_text("due = 1\n")
    return place


def events(place: str) -> list[Event]:
    with open_ledger(place) as ledger, ledger.reading() as connection:
        return list(all_events(connection))


def test_it_comes_back_with_every_event_and_file(full: str, tmp_path: Path) -> None:
    made = backup(full, tmp_path / "b.zip", NOW)
    assert (made.events, made.files) == (20, 2)
    again = tmp_path / "elsewhere" / "again.db"
    again.parent.mkdir()
    report = restore(tmp_path / "b.zip", str(again))
    assert (report.events, report.files, report.moved_aside) == (20, 2, ())
    assert events(str(again)) == events(full)
    assert (again.parent / "again-photos" / "ab" / "abcd.jpg").read_bytes() == b"\xff\xd8 a photo"
    assert (again.parent / "again-files" / "shipments" / "library.toml").exists()
    assert sorted(path.name for path in again.parent.iterdir()) == ["again-files", "again-photos", "again.db"]


def test_a_backup_of_a_file_can_be_put_on_a_server(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest
) -> None:
    from postgresql_server import emptied

    server = emptied(request.getfixturevalue("postgresql_socket"))
    monkeypatch.chdir(tmp_path)
    (tmp_path / "stock.csv").write_text(STOCK)
    first = str(tmp_path / "a.db")
    import_files(first, [tmp_path / "stock.csv"], load_reference(), date(2027, 1, 15))
    backup(first, tmp_path / "b.zip", NOW)
    restore(tmp_path / "b.zip", server)
    assert events(server) == events(first)
    with pytest.raises(BadInput, match="an empty database"):
        restore(tmp_path / "b.zip", server, move_aside=True)


def test_it_is_of_one_moment_while_another_writes(full: str, tmp_path: Path) -> None:
    stop = threading.Event()

    def write() -> None:
        said = {"length_mm": 50.0}
        pair = [Entry(Kind.MEASURED, day_start(date(2027, 1, 15)), said, name) for name in ("E1", "E2")]
        with open_ledger(full) as ledger:
            while not stop.is_set():
                ledger.enter(lambda *_: pair, recorded_by="other", batch="b", read_version=None)

    writer = threading.Thread(target=write)
    writer.start()
    try:
        made = [backup(full, tmp_path / f"b{n}.zip", NOW) for n in range(3)]
    finally:
        stop.set()
        writer.join()
    for n, one in enumerate(made):
        there = str(tmp_path / f"r{n}.db")
        assert restore(tmp_path / f"b{n}.zip", there).events == one.events
        # Written two at a time: half an action is in no backup.
        assert len(events(there)) == one.events
        assert one.events % 2 == 0


def test_what_stands_there_is_renamed_at_most(full: str, tmp_path: Path) -> None:
    backup(full, tmp_path / "b.zip", NOW)
    there = tmp_path / "there.db"
    (tmp_path / "one.csv").write_text("piece,strain,taxon,system,tank,length_mm\nZ,Z,Pavona sp.,n,n1,9\n")
    import_files(str(there), [tmp_path / "one.csv"], load_reference(), date(2027, 1, 15))
    with pytest.raises(BadInput, match="--move-aside"):
        restore(tmp_path / "b.zip", str(there))
    assert len(events(str(there))) == 1
    report = restore(tmp_path / "b.zip", str(there), move_aside=True)
    assert report.moved_aside == (str(tmp_path / "there-before-restore-1.db"),)
    assert len(events(report.moved_aside[0])) == 1
    assert len(events(str(there))) == 20


def rewritten(change: Callable[[dict[str, bytes]], None]) -> Callable[[Path], None]:
    def work(path: Path) -> None:
        with zipfile.ZipFile(path) as file:
            held = {name: file.read(name) for name in file.namelist()}
        change(held)
        with zipfile.ZipFile(path, "w") as file:
            for name, data in held.items():
                file.writestr(name, data)

    return work


def rename_out(held: dict[str, bytes]) -> None:
    manifest = json.loads(held["manifest.json"])
    name = "photos/ab/abcd.jpg"
    manifest["files"]["photos/../../evil"] = manifest["files"].pop(name)
    held["photos/../../evil"] = held.pop(name)
    held["manifest.json"] = json.dumps(manifest).encode()


DAMAGE: dict[str, Callable[[Path], None]] = {
    "cut short": lambda path: path.write_bytes(path.read_bytes()[:-200]) and None,
    "no zip": lambda path: path.write_text("hello") and None,
    "another photo": rewritten(lambda held: held.update({"photos/ab/abcd.jpg": b"other"})),
    "a file too many": rewritten(lambda held: held.update({"photos/x.jpg": b"other"})),
    "a file too few": rewritten(lambda held: held.pop("photos/ab/abcd.jpg") and None),
    "no manifest": rewritten(lambda held: held.pop("manifest.json") and None),
    "a way out": rewritten(rename_out),
}


@pytest.mark.parametrize("damage", DAMAGE)
def test_a_damaged_backup_is_told_and_changes_nothing(full: str, tmp_path: Path, damage: str) -> None:
    path = tmp_path / "b.zip"
    backup(full, path, NOW)
    DAMAGE[damage](path)
    (tmp_path / "new").mkdir()
    with pytest.raises(BadInput, match="a whole file that `ramet backup` wrote"):
        restore(path, str(tmp_path / "new" / "ramet.db"))
    assert list((tmp_path / "new").iterdir()) == []


def test_nothing_is_written_over(full: str, tmp_path: Path) -> None:
    (tmp_path / "b.zip").write_text("mine")
    with pytest.raises(BadInput, match="not taken yet"):
        backup(full, tmp_path / "b.zip", NOW)
    with pytest.raises(BadInput, match="a ledger"):
        backup(str(tmp_path / "gone.db"), tmp_path / "c.zip", NOW)
    assert not list(tmp_path.glob(".*"))


def test_the_commands_answer_in_words_and_in_json(full: str, tmp_path: Path) -> None:
    run = CliRunner().invoke
    done = run(cli, ["backup", str(tmp_path / "b.zip"), "--ledger", full])
    assert "20 events and 2 files" in done.stdout
    again = run(cli, ["restore", str(tmp_path / "b.zip"), "--ledger", str(tmp_path / "n.db"), "--json"])
    assert json.loads(again.stdout)["events"] == 20
