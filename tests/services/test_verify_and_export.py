"""What was exported comes back as it was; what was tampered with is found."""

import json
import sqlite3
import tempfile
import unicodedata
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from ramet.domain.errors import BadInput
from ramet.domain.events import Entry, HealthKind, Kind, PieceState, Standing, day_start
from ramet.domain.piece import Piece, name_key
from ramet.domain.words import Form
from ramet.ledger import open_ledger
from ramet.ledger.fold import piece_payload
from ramet.ledger.queries import Contents, contents
from ramet.main import cli
from ramet.reference.tables import load_reference
from ramet.services.export import export
from ramet.services.import_stock import import_files
from ramet.services.stock import read_stock
from ramet.services.verify import verify

REFERENCE = load_reference()
TODAY = date(2027, 1, 15)
TEXT = (
    st.text(st.characters(exclude_categories=("C",), max_codepoint=0x2FFF), min_size=1, max_size=12)
    .map(lambda text: unicodedata.normalize("NFC", text).strip())
    .filter(bool)
)
MAYBE_TEXT = st.none() | TEXT
SIZE = st.floats(0.1, 5000)
DAYS = st.integers(0, 400).map(lambda n: TODAY - timedelta(days=n))


@st.composite
def herds(draw: st.DrawFn) -> list[tuple[Piece, Standing]]:
    """Draw pieces that a ledger may hold: a line of descent in one strain, and others beside it."""
    names = draw(st.lists(TEXT, min_size=1, max_size=6, unique_by=name_key))
    found: list[tuple[Piece, Standing]] = []
    for number, name in enumerate(names):
        strain = "Ember" if number % 2 == 0 else "=Ember 2"
        mothers = [piece.piece for piece, _ in found if piece.strain == strain]
        parent = draw(st.none() | st.sampled_from(mothers)) if mothers else None
        piece = Piece(
            piece=name,
            strain=strain,
            taxon="Acropora sp.",
            form=draw(st.sampled_from(Form)),
            system="north",
            tank="n1",
            length_mm=draw(SIZE),
            width_mm=draw(SIZE),
            height_mm=draw(SIZE),
            parent=parent,
            spot=draw(MAYBE_TEXT),
            heads=draw(st.none() | st.integers(1, 500)),
            mounted_on=draw(MAYBE_TEXT),
            cut_on=TODAY if parent is not None else draw(st.none() | DAYS),
            acquired_on=draw(st.none() | DAYS),
            par=draw(st.none() | st.floats(0, 2500)),
            flow_cm_s=draw(st.none() | st.floats(0, 500)),
            note=draw(MAYBE_TEXT),
            promised_to=draw(st.none() | st.just("library")),
        )
        found.append((piece, draw(st.sampled_from([Standing.ALIVE, Standing.SENT, Standing.LOST]))))
    return found


def enter(place: str, herd: list[tuple[Piece, Standing]]) -> None:
    entries = []
    for piece, standing in herd:
        entries.append(Entry(Kind.ACQUIRED, day_start(TODAY), piece_payload(piece), piece.piece))
        if standing is not Standing.ALIVE:
            kind = Kind.SENT if standing is Standing.SENT else Kind.LOST
            entries.append(Entry(kind, day_start(TODAY), {}, piece.piece))
    with open_ledger(place, create=True) as ledger:
        ledger.append(entries, read_version=0, recorded_by="me", batch="b")


def read(place: str) -> Contents:
    with open_ledger(place) as ledger:
        return contents(ledger)


def without_versions(states: dict[str, PieceState]) -> dict[str, PieceState]:
    return {key: replace(state, version=0) for key, state in states.items()}


@settings(max_examples=40, deadline=None)
@given(herds())
def test_an_export_imported_into_an_empty_ledger_gives_the_same_state(
    herd: list[tuple[Piece, Standing]],
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        first, second, out = (str(Path(folder) / name) for name in ("a.db", "b.db", "out"))
        enter(first, herd)
        export(first, Path(out))
        import_files(second, [Path(out) / "stock.csv"], REFERENCE, TODAY)
        assert without_versions(read(second).states) == without_versions(read(first).states)
        assert verify(second).differences == ()


@pytest.fixture
def demo(tmp_path: Path) -> Path:
    """A ledger with stock, water and health."""
    (tmp_path / "stock.csv").write_text(
        "piece,strain,taxon,system,tank,length_mm,note\n"
        'E1,Ember,Acropora sp.,north,n1,80,"two\nlines"\nE2,Ember,Acropora sp.,north,n1,40,\n'
    )
    (tmp_path / "water.csv").write_text(
        "system,on,temperature_c,salinity,alkalinity_meq_l\nnorth,2027-01-02,25.5,35,3.1\n"
    )
    (tmp_path / "health.csv").write_text(
        "on,kind,pest,piece,note\n2027-01-03,finding,acropora_flatworm,E1,'=bites\n"
    )
    files = [tmp_path / f"{name}.csv" for name in ("stock", "water", "health")]
    import_files(str(tmp_path / "ramet.db"), files, REFERENCE, TODAY)
    return tmp_path / "ramet.db"


def test_all_three_tables_come_back(demo: Path, tmp_path: Path) -> None:
    out, again = tmp_path / "out", str(tmp_path / "again.db")
    export(str(demo), out)
    import_files(again, [out / name for name in ("stock.csv", "water.csv", "health.csv")], REFERENCE, TODAY)
    first, second = read(str(demo)), read(again)
    assert (second.states, second.water, second.health) == (first.states, first.water, first.health)
    assert first.health[0].note == "=bites"
    assert read_stock(again, REFERENCE, TODAY).sha256 == read_stock(str(demo), REFERENCE, TODAY).sha256


def test_every_event_is_a_line_of_json(demo: Path, tmp_path: Path) -> None:
    report = export(str(demo), tmp_path / "out")
    lines = (tmp_path / "out" / "events.jsonl").read_text().splitlines()
    assert [json.loads(line)["seq"] for line in lines] == list(range(1, report.events + 1))


def test_no_cell_of_an_export_is_a_formula(demo: Path, tmp_path: Path) -> None:
    export(str(demo), tmp_path / "out")
    assert ",'=bites" in (tmp_path / "out" / "health.csv").read_text()


def test_an_export_into_a_file_is_refused(demo: Path, tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("x")
    with pytest.raises(BadInput, match="a folder to write into"):
        export(str(demo), tmp_path / "taken")


def test_a_sound_ledger_shows_no_difference(demo: Path) -> None:
    report = verify(str(demo))
    assert (report.events, report.pieces, report.differences) == (4, 2, ())


@pytest.mark.parametrize(
    ("tampering", "piece", "field"),
    [
        ("UPDATE pieces SET length_mm = 99 WHERE key = 'e1'", "E1", "length_mm"),
        ("UPDATE pieces SET standing = 'lost' WHERE key = 'e1'", "E1", "standing"),
        ("DELETE FROM pieces WHERE key = 'e2'", "E2", "piece"),
        ("DROP TRIGGER events_are_not_removed; DELETE FROM events WHERE seq = 2", "", "number of the event"),
    ],
)
def test_tampering_is_found_and_ends_with_one(demo: Path, tampering: str, piece: str, field: str) -> None:
    connection = sqlite3.connect(demo)
    connection.executescript(tampering)
    connection.close()
    assert (piece, field) in [(one.piece, one.field) for one in verify(str(demo)).differences]
    result = CliRunner().invoke(cli, ["verify", "--ledger", str(demo), "--json"])
    assert result.exit_code == 1
    assert json.loads(result.stdout)["differences"]


def test_the_commands_answer_in_words_and_in_json(demo: Path, tmp_path: Path) -> None:
    run = CliRunner().invoke
    here = ["--ledger", str(demo), "--today", TODAY.isoformat()]
    stock = str(tmp_path / "stock.csv")
    assert "0 pieces added, 0 changed, 2 as they were" in run(cli, ["import", stock, *here]).stdout
    answer = json.loads(run(cli, ["import", stock, *here, "--json"]).stdout)
    assert (answer["pieces_unchanged"], answer["version"]) == (2, 4)
    assert "no difference" in run(cli, ["verify", *here]).stdout
    answer = json.loads(run(cli, ["export", str(tmp_path / "out"), *here, "--json"]).stdout)
    assert answer["pieces"] == 2


def test_rows_left_out_are_told_on_standard_error(tmp_path: Path) -> None:
    path = tmp_path / "stock.csv"
    path.write_text(
        "piece,strain,taxon,system,tank,length_mm\nE1,Ember,Acropora sp.,n,n1,80\nE2,E,Acropora,n,n1,x\n"
    )
    result = CliRunner().invoke(
        cli, ["import", str(path), "--ledger", str(tmp_path / "l.db"), "--accept-good-rows", "--json"]
    )
    assert result.exit_code == 0
    assert "left out" in result.stderr
    assert "[length_mm]: found “x”" in result.stderr
    assert json.loads(result.stdout)["pieces_added"] == 1


def test_a_snapshot_holds_what_is_alive_with_its_holds_and_latest_water(demo: Path) -> None:
    stock = read_stock(str(demo), REFERENCE, TODAY)
    assert stock.version == 4
    assert [piece.piece for piece in stock.pieces] == ["E1", "E2"]
    assert [(hold.piece, hold.direct) for hold in stock.holds] == [("E1", True), ("E2", False)]
    assert [reading.temperature_c for reading in stock.water] == [25.5]
    assert len(stock.sha256) == 64
    assert HealthKind.FINDING in {record.kind for record in read(str(demo)).health}


def test_reading_a_missing_ledger_is_told(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="expected a ledger"):
        read_stock(str(tmp_path / "gone.db"), REFERENCE, TODAY)
