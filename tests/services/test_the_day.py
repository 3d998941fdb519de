"""The day tells what to do now, what is late and what is unhealthy, from the state of the ledger."""

import json
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from sample_plan import sample_plan

from ramet.domain.errors import BadInput
from ramet.domain.jobs import JobState
from ramet.formats.plan_text import plan_text
from ramet.ledger import jobs, open_ledger
from ramet.reference.tables import Reference, load_reference
from ramet.services.import_stock import import_files
from ramet.services.sending.task_ticks import tick
from ramet.services.today import Line, Today, Urgency, read_today

ENTERED = date(2027, 3, 1)
STOCK = """\
piece,strain,taxon,form,parent,system,tank,length_mm,cut_on,acquired_on
A1,Ember,Acropora sp.,branching,,north,N1,60,,2025-01-01
A2,Ember,Acropora sp.,branching,A1,north,N1,50,2027-02-25,
M1,Moss,Montipora sp.,plating,,south,S1,60,,
"""
WATER = """\
system,on,temperature_c,salinity,alkalinity_meq_l
north,2027-01-15,27,35,3
north,2027-02-27,27,35,3
south,2027-02-27,27,35,3
"""


@pytest.fixture(scope="module")
def reference() -> Reference:
    return load_reference()


def day(number: int) -> date:
    return ENTERED + timedelta(days=number)


def read(
    folder: Path,
    reference: Reference,
    on: date,
    health: str = "",
    *,
    stock: str = STOCK,
    plans: tuple[Path, ...] = (),
) -> Today:
    place = str(folder / "ramet.db")
    tables = {"stock.csv": stock, "water.csv": WATER}
    if health:
        tables["health.csv"] = "on,kind,pest,piece\n" + health
    for name, text in tables.items():
        (folder / name).write_text(text)
    import_files(place, [folder / name for name in tables], reference, ENTERED)
    return read_today(place, reference, on, plans)


def told(today: Today, kind: str) -> list[Line]:
    return [line for line in today.lines if line.kind == kind]


def test_a_quiet_day_asks_for_nothing(tmp_path: Path, reference: Reference) -> None:
    today = read(tmp_path, reference, ENTERED)
    assert [line for line in today.lines if line.urgency in (Urgency.LATE, Urgency.NOW)] == []
    assert (today.pieces, today.held, today.unhealthy) == (3, 0, ())


def test_the_end_of_healing_is_told_before_and_after(tmp_path: Path, reference: Reference) -> None:
    """An Acropora branch is planned to seal in 10 days (7–14, common practice)."""
    (before,) = told(read(tmp_path, reference, day(1)), "healed")
    assert (before.urgency, before.on, before.pieces) == (Urgency.SOON, date(2027, 3, 7), ("A2",))
    (after,) = told(read(tmp_path, reference, day(8)), "healed")
    assert after.urgency is Urgency.NEWS
    assert told(read(tmp_path, reference, day(30)), "healed") == []


def test_sizes_grow_old(tmp_path: Path, reference: Reference) -> None:
    assert told(read(tmp_path, reference, day(59)), "measure") == []
    north, _ = told(read(tmp_path, reference, day(60)), "measure")
    assert (north.urgency, north.pieces, north.system) == (Urgency.NOW, ("A1", "A2"), "north")
    assert told(read(tmp_path, reference, day(91)), "measure")[0].urgency is Urgency.LATE


def test_an_old_reading_of_the_water_is_due_and_then_late(tmp_path: Path, reference: Reference) -> None:
    assert told(read(tmp_path, reference, day(11)), "water") == []
    assert told(read(tmp_path, reference, day(12)), "water")[0].urgency is Urgency.NOW
    assert told(read(tmp_path, reference, day(27)), "water")[0].urgency is Urgency.LATE


def test_a_finding_asks_for_treatment_and_then_for_weekly_looks(tmp_path: Path, reference: Reference) -> None:
    found = "2027-03-01,finding,acropora_flatworm,A1\n"
    (treat,) = told(read(tmp_path, reference, day(0), found), "treat")
    assert (treat.urgency, treat.pieces) == (Urgency.NOW, ("A1", "A2"))
    assert told(read(tmp_path, reference, day(3), found), "treat")[0].urgency is Urgency.LATE


def test_a_treated_piece_is_due_for_its_looks_the_last_a_generation_later(
    tmp_path: Path, reference: Reference
) -> None:
    """Barton et al. 2019: one generation of the flatworm takes 38 d at 27 °C."""
    health = "2027-02-01,finding,acropora_flatworm,A1\n2027-02-02,treated,acropora_flatworm,A1\n"
    health += "2027-02-02,treated,acropora_flatworm,A2\n"
    (look,) = told(read(tmp_path, reference, date(2027, 2, 9), health), "inspect")
    assert look.on == date(2027, 2, 9)
    for one in ("2027-02-09", "2027-02-16"):
        health += "".join(f"{one},clean,acropora_flatworm,{piece}\n" for piece in ("A1", "A2"))
    (last,) = told(read(tmp_path, reference, date(2027, 3, 5), health), "inspect")
    assert last.on == date(2027, 2, 2) + timedelta(days=38)


def test_a_worm_whose_eggs_outlive_a_dip_is_to_be_treated_again(tmp_path: Path, reference: Reference) -> None:
    """At least two treatments 13 to 31 d apart by temperature (Barton et al. 2019, as reported)."""
    health = "2027-02-01,finding,acropora_flatworm,A1\n"
    health += "".join(f"2027-02-02,treated,acropora_flatworm,{piece}\n" for piece in ("A1", "A2"))
    (again,) = told(read(tmp_path, reference, date(2027, 2, 15), health), "treat")
    assert (again.urgency, again.on, again.pieces) == (Urgency.NOW, date(2027, 2, 15), ("A1", "A2"))
    assert told(read(tmp_path, reference, date(2027, 3, 6), health), "treat")[0].urgency is Urgency.LATE
    health += "".join(f"2027-02-20,treated,acropora_flatworm,{piece}\n" for piece in ("A1", "A2"))
    assert told(read(tmp_path, reference, date(2027, 2, 28), health), "treat") == []


def test_what_is_unhealthy_says_what_ends_it(tmp_path: Path, reference: Reference) -> None:
    (sick,) = read(tmp_path, reference, day(1), "2027-03-01,finding,acropora_flatworm,A1\n").unhealthy
    assert (sick.system, sick.found_on, sick.contacts) == ("north", ("A1",), ("A2",))
    assert "clean inspections" in sick.ends


def test_a_newcomer_that_nobody_looked_at_is_to_be_inspected(tmp_path: Path, reference: Reference) -> None:
    stock = STOCK + "N9,New,Favites sp.,massive,,north,N1,40,,2027-02-20\n"
    (look,) = told(read(tmp_path, reference, ENTERED, stock=stock), "inspect")
    assert (look.urgency, look.pieces) == (Urgency.LATE, ("N9",))


def test_the_tasks_of_a_plan_belong_to_its_days(tmp_path: Path, reference: Reference) -> None:
    plan = sample_plan()
    (tmp_path / "plan.json").write_text(plan_text(plan))
    on = min(task.starts for task in plan.tasks).date()
    today = read(tmp_path, reference, on, plans=(tmp_path / "plan.json",))
    tasks = [line for line in today.lines if line.shipment == plan.shipment.name]
    assert tasks
    later = plan.shipment.due.date() + timedelta(days=1)
    gone = read(tmp_path, reference, later, plans=(tmp_path / "plan.json",))
    assert [line for line in gone.lines if line.shipment] == []


def test_a_task_that_was_ticked_is_done(tmp_path: Path, reference: Reference) -> None:
    plan = sample_plan()
    (tmp_path / "plan.json").write_text(plan_text(plan))
    first = min(plan.tasks, key=lambda task: task.starts)
    on, path = first.starts.date(), tmp_path / "plan.json"
    assert first.title in {line.text for line in read(tmp_path, reference, on, plans=(path,)).lines}
    assert tick(tmp_path, plan, first.id, datetime(2027, 1, 1, tzinfo=UTC))
    assert first.title not in {line.text for line in read(tmp_path, reference, on, plans=(path,)).lines}


def test_a_plan_made_in_the_background_is_known(tmp_path: Path, reference: Reference) -> None:
    plan = sample_plan()
    (tmp_path / "plan.json").write_text(plan_text(plan))
    on = min(task.starts for task in plan.tasks).date()
    read(tmp_path, reference, on)
    now = datetime(2027, 3, 1, tzinfo=UTC)
    place = str(tmp_path / "ramet.db")
    with open_ledger(place) as book:
        jobs.ask(book, "plan", "a", {"folder": str(tmp_path)}, job_id="1", now=now)
        job = jobs.claim(book, "me", now)
        assert job is not None
        jobs.end(book, job, JobState.DONE, "", now)
    assert [line for line in read_today(place, reference, on).lines if line.shipment]


def test_a_file_that_is_no_plan_is_named(tmp_path: Path, reference: Reference) -> None:
    path = tmp_path / "plan.json"
    path.write_text(json.dumps({"format": "something else"}))
    with pytest.raises(BadInput, match=r"plan\.json"):
        read(tmp_path, reference, ENTERED, plans=(path,))
