"""Reading narrowly gives the same holds as reading everything."""

import random
from datetime import date, timedelta
from pathlib import Path

import pytest

from ramet.domain.events import Entry, HealthKind, Kind, day_start
from ramet.domain.piece import Piece
from ramet.domain.words import Form
from ramet.ledger import open_ledger
from ramet.ledger.fold import piece_payload
from ramet.ledger.queries import contents
from ramet.reference.tables import Reference, load_reference
from ramet.services.health.holds import herd_of, holds, open_outbreaks
from ramet.services.health.holds_now import herd_now, holds_now
from ramet.services.health.thing_holds import thing_holds

FIRST = date(2027, 1, 1)
GENERA = ("Acropora", "Montipora", "Zoanthus", "Euphyllia")
SYSTEMS = ("north", "south", "west")
PESTS = ("acropora_flatworm", "euphyllia_flatworm", "aiptasia", "fish_parasite_cysts")


@pytest.fixture(scope="module")
def reference() -> Reference:
    return load_reference()


def born(dice: random.Random, n: int) -> Entry:
    genus = GENERA[n % 4]
    cut = dice.random() < 0.4 and n > 8
    day = FIRST + timedelta(days=dice.randrange(60))
    piece = Piece(
        f"P{n}",
        f"strain {genus}",
        f"{genus} sp.",
        Form.BRANCHING,
        dice.choice(SYSTEMS),
        "t",
        50,
        40,
        40,
        parent=f"P{n % 4}" if cut else None,
        cut_on=day if cut else None,
        acquired_on=None if cut or n < 8 else day,
    )
    return Entry(Kind.CUT if cut else Kind.ACQUIRED, day_start(day), piece_payload(piece), piece.piece)


def happened(dice: random.Random, day: int, alive: set[str], pests: tuple[str, ...]) -> Entry:
    at, roll, name = day_start(FIRST + timedelta(days=day)), dice.random(), dice.choice(sorted(alive))
    if roll < 0.3:
        return Entry(Kind.MOVED, at, {"system": dice.choice(SYSTEMS), "tank": "t"}, name)
    if roll < 0.35 and len(alive) > 10:
        alive.discard(name)
        return Entry(dice.choice([Kind.SENT, Kind.LOST]), at, {}, name)
    if roll < 0.4:
        return Entry(Kind.FISH, at, {"present": dice.random() < 0.5}, system=dice.choice(SYSTEMS))
    if roll < 0.5:
        said = {"temperature_c": dice.choice([24.0, 26.0]), "salinity": 35.0, "alkalinity_meq_l": 3.0}
        return Entry(Kind.WATER, at, said, system=dice.choice(SYSTEMS))
    result = dice.choice([HealthKind.FINDING, HealthKind.TREATED, HealthKind.CLEAN, HealthKind.CLEAN])
    kind = Kind.TREATED if result is HealthKind.TREATED else Kind.INSPECTED
    said = {"result": result.value, "pest": dice.choice(pests)}
    whole = dice.random() < 0.5
    return Entry(kind, at, said, None if whole else name, dice.choice(SYSTEMS) if whole else None)


@pytest.mark.parametrize("pests", [PESTS[:2], PESTS], ids=["corals only", "any"])
@pytest.mark.parametrize("seed", range(6))
def test_the_narrow_reading_gives_the_same_holds(
    tmp_path: Path, reference: Reference, seed: int, pests: tuple[str, ...]
) -> None:
    dice = random.Random(seed)
    entries = [born(dice, n) for n in range(24)]
    alive = {f"P{n}" for n in range(24)}
    entries += [happened(dice, 60 + n, alive, pests) for n in range(70)]
    with open_ledger(str(tmp_path / "ramet.db"), create=True) as book:
        book.append(entries, read_version=0, recorded_by="me", batch="b")
        whole = herd_of(contents(book))
        with book.reading() as connection:
            narrow = herd_now(connection, reference)
            for on in (FIRST + timedelta(days=100), FIRST + timedelta(days=200)):
                assert holds_now(connection, reference, on) == holds(whole, reference, on)
                assert thing_holds(narrow, reference, on) == thing_holds(whole, reference, on)
                assert open_outbreaks(narrow, reference, on) == open_outbreaks(whole, reference, on)
    assert narrow.health


def test_a_ledger_without_findings_reads_nothing_more(tmp_path: Path, reference: Reference) -> None:
    dice = random.Random(1)
    with open_ledger(str(tmp_path / "ramet.db"), create=True) as book:
        book.append([born(dice, n) for n in range(5)], read_version=0, recorded_by="me", batch="b")
        with book.reading() as connection:
            assert herd_now(connection, reference).states == {}
            assert holds_now(connection, reference, FIRST) == ()
