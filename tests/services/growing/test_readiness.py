"""What is ready on a day, whole or by cutting, and why the rest is not."""

from datetime import date, timedelta
from pathlib import Path

import pytest
from stock_text import ledger_of, row

from ramet.ledger import open_ledger
from ramet.reference.tables import Reference, load_reference
from ramet.services.demo import DEMO_TODAY
from ramet.services.growing.outlook import outlook
from ramet.services.growing.readiness import NotReady, StrainReady, readiness
from ramet.services.growing.tank_space import tank_space
from ramet.services.import_stock import import_files

TODAY = date(2027, 1, 1)


@pytest.fixture(scope="module")
def reference() -> Reference:
    return load_reference()


def day(number: int) -> date:
    return TODAY + timedelta(days=number)


def ember(
    folder: Path,
    reference: Reference,
    rows: list[str],
    on: date,
    health: str = "",
    size_mm: float | None = None,
) -> StrainReady:
    with ledger_of(folder, reference, rows, TODAY, health) as book:
        found = readiness(book, reference, TODAY, on, size_mm=size_mm)
    return next(one for one in found.strains if one.strain == "Ember")


def why(one: StrainReady, code: str) -> NotReady:
    return next(reason for reason in one.not_ready if reason.code == code)


MOTHER = row("A0", length=150)


def test_pieces_grown_and_healed_are_ready(tmp_path: Path, reference: Reference) -> None:
    one = ember(tmp_path, reference, [MOTHER, row("A1", parent="A0"), row("A2", parent="A0")], day(0))
    assert (one.in_stock, one.whole) == (3, 2)
    assert one.by_size == {"large": 2}


def test_the_mother_is_kept(tmp_path: Path, reference: Reference) -> None:
    one = ember(tmp_path, reference, [MOTHER, row("A1", parent="A0")], day(0))
    assert why(one, "kept").examples == ("A0",)


def test_of_a_strain_without_a_mother_the_longest_stays(tmp_path: Path, reference: Reference) -> None:
    one = ember(tmp_path, reference, [row("A1", length=70), row("A2", length=60)], day(0))
    assert (one.whole, why(one, "kept").examples) == (1, ("A1",))


def test_a_fresh_cut_is_not_ready_until_its_edge_is_closed(tmp_path: Path, reference: Reference) -> None:
    """An Acropora branch is planned to seal in 10 days (7–14, common practice)."""
    rows = [MOTHER, row("A1", parent="A0", cut_on="2026-12-30")]
    assert why(ember(tmp_path, reference, rows, day(7)), "not_healed").ready_if == "closed from 2027-01-09"
    assert ember(tmp_path, reference, rows, day(8)).whole == 1


def test_a_small_piece_is_ready_when_it_has_grown(tmp_path: Path, reference: Reference) -> None:
    """Acropora 5.44 cm/yr in the mean of both branching rows: 35 to 45 mm takes 67 d (NOAA table)."""
    rows = [MOTHER, row("A1", parent="A0", length=35)]
    small = why(ember(tmp_path, reference, rows, day(30)), "too_small")
    assert small.text == "too small by then: 35 mm now, 45 mm wanted"
    assert small.ready_if == "expected big enough from 2027-03-10"
    later = ember(tmp_path, reference, rows, date(2027, 3, 10))
    assert (later.whole, later.whole_slow, later.whole_fast) == (1, 0, 1)


def test_another_size_can_be_asked_for(tmp_path: Path, reference: Reference) -> None:
    rows = [MOTHER, row("A1", parent="A0", length=60), row("A2", parent="A0", length=80)]
    one = ember(tmp_path, reference, rows, day(0), size_mm=75)
    assert (one.whole, why(one, "too_small").examples) == (1, ("A1",))


def test_a_promised_piece_is_not_to_be_had(tmp_path: Path, reference: Reference) -> None:
    one = ember(tmp_path, reference, [MOTHER, row("A1", parent="A0", promised="library")], day(0))
    assert (one.whole, why(one, "promised").pieces) == (0, 1)


def test_held_pieces_stay_whatever_the_date(tmp_path: Path, reference: Reference) -> None:
    rows = [MOTHER, row("A1", parent="A0")]
    one = ember(tmp_path, reference, rows, day(300), "2026-12-20,finding,acropora_flatworm,A1\n")
    held = why(one, "held")
    assert (one.whole, one.cut, held.pieces) == (0, None, 2)
    assert "on evidence" in held.text


def test_mothers_give_what_can_heal_in_time(tmp_path: Path, reference: Reference) -> None:
    rows = [MOTHER, row("A1", parent="A0")]
    assert ember(tmp_path, reference, rows, day(10)).cut is None
    cut = ember(tmp_path, reference, rows, day(11)).cut
    assert cut is not None
    assert (cut.mothers, cut.cut_by, cut.size_mm) == (("A0",), day(1), 45.0)


def test_a_wall_is_never_counted_on_for_cutting(tmp_path: Path, reference: Reference) -> None:
    rows = [row("C0", "Wall", "Catalaphyllia jardinei", "wall", length=200)]
    with ledger_of(tmp_path, reference, rows, TODAY) as book:
        (one,) = readiness(book, reference, TODAY, day(100)).strains
    assert one.cut is None


def test_the_yield_by_cutting_is_what_the_planner_allows(tmp_path: Path, reference: Reference) -> None:
    """On the day before the last cut day nothing has grown: both ways of counting must agree."""
    from dataclasses import dataclass, replace
    from importlib.resources import files

    from ramet.formats.shipment import Request
    from ramet.services.planning.cutting import cuttings
    from ramet.services.stock import read_stock

    @dataclass(frozen=True)
    class Asked:
        reference: Reference
        today: date
        packed_on: date

    path = tmp_path / "stock.csv"
    path.write_bytes((files("ramet.data") / "demo" / "stock.csv").read_bytes())
    place = str(tmp_path / "ramet.db")
    import_files(place, [path], reference, DEMO_TODAY)
    pieces = {piece.piece: piece for piece in read_stock(place, reference, DEMO_TODAY).pieces}
    request = Request.model_validate({"id": "r", "rank": "want", "count": 1, "taxon": "any"})
    compared = 0
    with open_ledger(place) as book:
        for wait in (7, 8, 11, 13, 25):
            on = DEMO_TODAY + timedelta(days=wait)
            for one in readiness(book, reference, DEMO_TODAY, on).strains:
                if one.cut is None or one.cut.cut_by != DEMO_TODAY + timedelta(days=1):
                    continue
                asked = Asked(reference, DEMO_TODAY, on)
                grown = {name: pieces[name] for name in one.cut.mothers}
                planned = [cuttings(asked, request, replace(piece)) for piece in grown.values()]  # type: ignore[arg-type]
                allowed = sum(each.at_most for each in planned if each)
                assert abs(one.cut.pieces - allowed) <= max(1, 0.03 * allowed), one.strain
                compared += 1
    assert compared >= 10


def test_the_outlook_agrees_with_the_answer_for_each_of_its_days(
    tmp_path: Path, reference: Reference
) -> None:
    rows = [MOTHER, *(row(f"A{n}", parent="A0", length=20 + 3 * n) for n in range(1, 9))]
    rows += [
        row("Z1", "Button", "Zoanthus sp.", "mat", length=12),
        row("Z2", "Button", "Zoanthus sp.", "mat"),
    ]
    with ledger_of(tmp_path, reference, rows, TODAY) as book:
        ahead = outlook(book, reference, TODAY)
        for week, on in enumerate(ahead.weeks):
            found = readiness(book, reference, TODAY, on)
            assert [one.whole[week] for one in ahead.strains] == [one.whole for one in found.strains]
            given = [one.cut.pieces if one.cut else 0 for one in found.strains]
            assert [one.by_cutting[week] for one in ahead.strains] == given
    assert len(ahead.weeks) == 26
    assert ahead.strains[1].whole[0] < ahead.strains[1].whole[-1]


def test_tanks_fill_as_corals_grow(tmp_path: Path, reference: Reference) -> None:
    rows = [row("M1", "Sheet", "Montipora sp.", "plating", length=100, tank="N1"), row("A1", tank="N2")]
    with ledger_of(tmp_path, reference, rows, TODAY) as book:
        plates, _ = tank_space(book, reference, TODAY)
    assert (plates.tank, plates.pieces, plates.room_cm2, plates.full_on) == ("N1", 1, None, None)
    typical = [band.typical for band in plates.covered_cm2]
    assert typical == sorted(typical)
    assert plates.covered_cm2[-1].low < typical[-1] < plates.covered_cm2[-1].high
