"""The main job end to end: the demo from its stock list to a packet, and what its plan must show."""

import csv
import json
import re
from collections.abc import Iterator
from datetime import date
from importlib.resources import files
from pathlib import Path

import icalendar
import jsonschema
import pypdfium2
import pytest

from demo_run import FOREIGN, demo_folder
from ramet.domain.words import BagClass, Effort, Rank, Status
from ramet.formats.plan import Plan, Reason
from ramet.formats.plan_text import plan_text, read_plan
from ramet.reference.tables import Reference, load_reference
from ramet.services.check_plan import check_plan_file
from ramet.services.import_stock import import_files
from ramet.services.plan_shipment import PlanOrder, plan_shipment

TODAY = date(2027, 1, 4)
TABLES = ("stock.csv", "water.csv", "health.csv")
PACKET = ("plan.json", "packet.pdf", "opening.html", "tasks.ics", "run.json")


@pytest.fixture(scope="session")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return demo_folder(tmp_path_factory)


@pytest.fixture(scope="session")
def demo(home: Path) -> Path:
    return home / "demo"


@pytest.fixture(scope="session")
def plan(demo: Path) -> Plan:
    read = read_plan(demo / "plan.json")
    assert isinstance(read, Plan)
    return read


@pytest.fixture(scope="session")
def reference() -> Reference:
    return load_reference()


def reasons(plan: Plan, *codes: str) -> Iterator[Reason]:
    return (reason for line in plan.left_out for reason in line.reasons if reason.code in codes)


def test_the_demo_ends_well_with_json_alone_on_standard_output(home: Path, demo: Path) -> None:
    assert (home / "code").read_text() == "0"
    assert json.loads((home / "out").read_text())["format"] == "ramet-plan/1"
    assert (home / "out").read_text() == (demo / "plan.json").read_text()
    assert "Traceback" not in (home / "err").read_text()
    assert "checking the plan" in (home / "err").read_text()


def test_it_writes_stock_ledger_shipment_and_packet_and_touches_nothing_else(demo: Path) -> None:
    expected = {*TABLES, "shipment.toml", "ramet.db", *PACKET, FOREIGN}
    assert {path.name for path in demo.iterdir()} == expected
    assert (demo / FOREIGN).read_text() == "not to be touched"
    for name in (*TABLES, "shipment.toml"):
        assert (demo / name).read_bytes() == (files("ramet.data") / "demo" / name).read_bytes()


def test_the_plan_follows_the_published_schema(demo: Path) -> None:
    schema = json.loads((files("ramet.formats") / "schema" / "ramet-plan-1.json").read_text())
    validator = jsonschema.validators.validator_for(schema)
    validator.check_schema(schema)
    validator(schema).validate(json.loads((demo / "plan.json").read_text()))


def test_the_plan_passes_the_checker(demo: Path, reference: Reference) -> None:
    assert [str(finding) for finding in check_plan_file(demo / "plan.json", reference).findings] == []


def test_planned_again_in_another_process_from_a_new_ledger_it_has_the_same_bytes(
    demo: Path, tmp_path: Path, reference: Reference
) -> None:
    ledger = tmp_path / "again.db"
    import_files(str(ledger), [demo / name for name in TABLES], reference, TODAY)
    order = PlanOrder(str(ledger), demo / "shipment.toml", TODAY, 1, Effort.QUICK)
    again = plan_shipment(order, reference, lambda _: None)
    assert plan_text(again.plan) == (demo / "plan.json").read_text()


def test_the_plan_is_ready_and_every_must_goes(plan: Plan) -> None:
    assert plan.status is Status.READY
    assert all(line.rank is not Rank.MUST for line in plan.left_out)
    assert len(plan.boxes) == 3
    assert len({box.type for box in plan.boxes}) == 2
    assert len(plan.chosen) >= 15


def test_a_filler_stays_behind_for_want_of_room(plan: Plan) -> None:
    fillers = [line for line in plan.left_out if line.rank is Rank.FILLER]
    assert any(reason.code == "no_room" for line in fillers for reason in line.reasons)


def test_all_that_stays_behind_has_reasons_and_what_would_change_them(plan: Plan) -> None:
    assert plan.left_out
    for line in plan.left_out:
        assert line.sent < line.wanted
        assert all(reason.text and reason.would_fit_if for reason in line.reasons)


def test_one_wish_is_not_in_stock(plan: Plan) -> None:
    assert len(list(reasons(plan, "not_in_stock"))) == 1


def test_two_pieces_were_cut_too_recently(plan: Plan) -> None:
    fresh = {reason.piece for reason in reasons(plan, "not_healed")}
    assert len(fresh) == 2
    assert fresh.isdisjoint(one.piece for one in plan.chosen)


def test_a_health_hold_and_its_contacts_are_told_and_none_of_them_goes(demo: Path, plan: Plan) -> None:
    with (demo / "health.csv").open(newline="") as file:
        found = next(row["piece"] for row in csv.DictReader(file) if row["kind"] == "finding")
    (hold,) = [one.text for one in plan.cautions if one.code == "health_hold"]
    assert f"found on {found}" in hold
    contacts = re.search(r"contacts wait with it: ([^.]+)\.", hold)
    assert contacts is not None
    held = {found, *contacts[1].split(", ")}
    assert len(held) >= 4
    assert held.isdisjoint(one.piece for one in plan.chosen)
    assert held.isdisjoint(one.mother for one in plan.chosen)


def test_heat_packs_are_decided_with_a_reason(plan: Plan) -> None:
    warming = [pack for box in plan.boxes for pack in box.packs if pack.warms]
    assert warming
    assert all("without packs" in pack.reason for pack in warming)


def test_margins_hold_but_are_not_comfortable_everywhere(plan: Plan) -> None:
    margins = [bag.margin_h for bag in plan.forecast.bags]
    assert 0 <= min(margins) < 6
    assert max(margins) > 12


def test_matured_media_go_along_in_a_bag_of_their_own(plan: Plan) -> None:
    (goods,) = [bag for bag in plan.bags if bag.goods]
    assert goods.bag_class is BagClass.GOODS
    assert goods.pieces == ()
    assert plan.tank.biofilter.media_sent == 1


def test_no_bag_mixes_classes_and_soft_corals_travel_doubled(plan: Plan, reference: Reference) -> None:
    # Common practice, no source: a soft coral travels in water of its own, doubled, never with stony corals.
    genus_of = {one.piece: reference.genera[one.taxon.split()[0]] for one in plan.chosen}
    for bag in plan.bags:
        assert {genus_of[name].bag_class for name in bag.pieces} <= {bag.bag_class}
        if bag.bag_class is BagClass.SOFT:
            assert bag.layers >= 2


def test_the_set_is_as_mixed_as_the_wishes(plan: Plan) -> None:
    assert {one.bag_class for one in plan.chosen} == {
        BagClass.STONY,
        BagClass.SOFT,
        BagClass.ZOANTHID,
        BagClass.STINGING,
    }
    assert {"branching", "plating", "massive", "leather", "mat", "phaceloid"} <= {
        one.form.value for one in plan.chosen
    }


def test_branch_tips_and_palytoxin_are_warned_of(plan: Plan) -> None:
    # Common practice, no source: thin branch tips are expected to break.
    assert {"brittle_tips", "palytoxin", "never_aerate", "check_rules"} <= {one.code for one in plan.cautions}


def test_the_packet_names_every_piece(plan: Plan, demo: Path) -> None:
    packet = pypdfium2.PdfDocument(demo / "packet.pdf")
    text = "\n".join(page.get_textpage().get_text_bounded() for page in packet)
    assert len(packet) >= 6
    for one in plan.chosen:
        assert one.piece in text


def test_the_calendar_file_holds_every_task(plan: Plan, demo: Path) -> None:
    events = icalendar.Calendar.from_ical((demo / "tasks.ics").read_bytes()).walk("VEVENT")
    assert len(events) == len(plan.tasks)


def test_the_run_tells_its_seconds_apart_from_the_plan(demo: Path) -> None:
    run = json.loads((demo / "run.json").read_text())
    assert "choosing the set and packing the boxes" in run["seconds"]
    assert "seconds" not in json.loads((demo / "plan.json").read_text())["optimum"]
