"""A ledger goes out as a folder and comes back as it was: from either database into either."""

import json
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from ramet.domain.errors import BadInput
from ramet.domain.events import Event
from ramet.ledger import open_ledger
from ramet.ledger.queries import Contents, all_events, contents
from ramet.reference.tables import load_reference
from ramet.services.export import export
from ramet.services.import_stock import import_files
from ramet.services.recording.cut import Cut, cut
from ramet.services.recording.fuse import Fuse, fuse
from ramet.services.recording.move import Move, move
from ramet.services.recording.offspring import Child
from ramet.services.recording.recorded import Scribe
from ramet.services.recording.stock_look import Size, Where
from ramet.services.recording.undo import undo
from ramet.services.verify import verify

REFERENCE = load_reference()
TODAY = date(2027, 1, 15)
STOCK = """piece,strain,taxon,system,tank,length_mm,note
007,Ember,Acropora sp.,north,n1,80,"two
lines"
1e5,Ember,Acropora sp.,north,n1,60,'=bites
Straße,Slate,Pavona sp.,south,s1,60.5,
"""


@pytest.fixture
def full(place: str, tmp_path: Path) -> str:
    """A ledger with a bit of everything."""
    (tmp_path / "stock.csv").write_text(STOCK)
    (tmp_path / "spots.csv").write_text("system,tank,spot,par,photoperiod_h\nnorth,n1,a,250,10\n")
    (tmp_path / "water.csv").write_text(
        "system,on,temperature_c,salinity,alkalinity_meq_l\nnorth,2027-01-02,25.5,35,3.1\n"
    )
    (tmp_path / "health.csv").write_text("on,kind,pest,system\n2027-01-03,clean,acropora_flatworm,north\n")
    import_files(place, sorted(tmp_path.glob("*.csv")), REFERENCE, TODAY)
    scribe = Scribe("Ada", TODAY)
    with open_ledger(place) as ledger:
        cut(ledger, Cut("007", (Child(Size(46)), Child(Size(46)))), REFERENCE, scribe)
        fuse(ledger, Fuse(("007-1",), "007-2"), scribe)
        move(ledger, Move(("1e5",), Where("s1")), scribe)
        undo(ledger, scribe)
    return place


def read(place: str) -> tuple[Contents, list[Event]]:
    with open_ledger(place) as ledger, ledger.reading() as connection:
        return contents(ledger), list(all_events(connection))


def test_export_and_import_into_an_empty_ledger_give_the_same_events_and_states(
    full: str, tmp_path: Path
) -> None:
    again = str(tmp_path / "again.db")
    export(full, tmp_path / "out")
    report = import_files(again, [tmp_path / "out"], REFERENCE, TODAY)
    assert report.events_added == report.version
    assert read(again) == read(full)
    assert verify(again).differences == ()
    assert import_files(again, [tmp_path / "out" / "events.jsonl"], REFERENCE, TODAY).events_added == 0
    for name in ("stock.csv", "events.jsonl", "dwca.zip"):
        export(again, tmp_path / "out2")
        assert (tmp_path / "out2" / name).read_bytes() == (tmp_path / "out" / name).read_bytes()


def test_the_rest_of_a_longer_file_is_added(full: str, tmp_path: Path) -> None:
    export(full, tmp_path / "out")
    lines = (tmp_path / "out" / "events.jsonl").read_text().splitlines(keepends=True)
    (tmp_path / "part.jsonl").write_text("".join(lines[:5]))
    part = str(tmp_path / "part.db")
    import_files(part, [tmp_path / "part.jsonl"], REFERENCE, TODAY)
    assert import_files(part, [tmp_path / "out"], REFERENCE, TODAY).events_added == len(lines) - 5
    assert read(part) == read(full)


def test_a_workbook_comes_back_as_the_stock_it_was(full: str, tmp_path: Path) -> None:
    again = str(tmp_path / "again.db")
    export(full, tmp_path / "out", workbook=True)
    import_files(again, [tmp_path / "out" / "stock.xlsx"], REFERENCE, TODAY)
    first, second = read(full)[0], read(again)[0]
    assert {key: state.piece for key, state in second.states.items()} == {
        key: state.piece for key, state in first.states.items()
    }
    assert (second.water, second.health, second.spots) == (first.water, first.health, first.spots)
    export(again, tmp_path / "out2")
    assert (tmp_path / "out2" / "stock.csv").read_bytes() == (tmp_path / "out" / "stock.csv").read_bytes()


def changed(**values: object) -> Callable[[str], str]:
    return lambda line: json.dumps(json.loads(line) | values)


def in_payload(**values: object) -> Callable[[str], str]:
    def change(line: str) -> str:
        event = json.loads(line)
        return json.dumps(event | {"payload": event["payload"] | values})

    return change


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda line: line[:20], "one event in JSON"),
        (lambda line: "[]", "an event with the keys"),
        (changed(seq=7), "numbered from 1 without gaps"),
        (changed(kind="eaten"), "one of: acquired"),
        (changed(at="2027-01-05"), "a moment with a zone"),
        (changed(piece="x" * 99), "at most 80 characters"),
        (changed(piece="1E5"), "in the ledger already"),
        (changed(kind="moved"), "the ledger has no such piece"),
        (changed(payload=[1]), "a value that fits"),
        (in_payload(length_mm="long"), "a value that fits"),
        (in_payload(form="round"), "an event that fits"),
        (in_payload(strain=None), "a value that fits"),
    ],
)
def test_a_line_that_is_no_event_is_named_and_nothing_is_written(
    tmp_path: Path, change: Callable[[str], str], said: str
) -> None:
    (tmp_path / "stock.csv").write_text(STOCK)
    first, second = str(tmp_path / "a.db"), str(tmp_path / "b.db")
    import_files(first, [tmp_path / "stock.csv"], REFERENCE, TODAY)
    export(first, tmp_path / "out")
    path = tmp_path / "out" / "events.jsonl"
    lines = path.read_text().splitlines()
    lines[2] = change(lines[2])
    path.write_text("\n".join(lines) + "\n")
    with pytest.raises(BadInput) as caught:
        import_files(second, [path], REFERENCE, TODAY)
    assert f"{path}:3" in str(caught.value)
    assert said in str(caught.value)
    assert not Path(second).exists()


def test_a_ledger_with_other_events_is_left_alone(full: str, tmp_path: Path) -> None:
    (tmp_path / "other.csv").write_text("piece,strain,taxon,system,tank,length_mm\nZ,Z,Pavona sp.,n,n1,9\n")
    other = str(tmp_path / "other.db")
    import_files(other, [tmp_path / "other.csv"], REFERENCE, TODAY)
    export(full, tmp_path / "out")
    with pytest.raises(BadInput, match="an empty ledger"):
        import_files(other, [tmp_path / "out"], REFERENCE, TODAY)
    assert read(other)[0].version == 1


def test_a_folder_without_events_or_with_other_files_is_told(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="the file of events"):
        import_files(str(tmp_path / "a.db"), [tmp_path], REFERENCE, TODAY)
    with pytest.raises(BadInput, match="a file of events alone"):
        import_files(str(tmp_path / "a.db"), [tmp_path, tmp_path / "stock.csv"], REFERENCE, TODAY)
