"""No plan that fails the checker leaves the program: by no command, job, page or change at the bench.

The planner is made to err here: the double bag of the leather becomes a single one.
"""

import re
import threading
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from small_shop import SHIPMENT, TODAY, on_the_shelf, small_ledger, small_shop_plan

import ramet
from ramet.domain.words import Effort
from ramet.formats.plan import Plan
from ramet.jobs import __main__ as job
from ramet.jobs.plan_job import PlanJob
from ramet.main import cli
from ramet.reference.tables import load_reference
from ramet.services import plan_shipment, replan
from ramet.services.beside import files_beside
from ramet.services.demo import run_demo
from ramet.services.pack_off import AtBench, packing_of, seal
from ramet.services.sending.change_at_bench import BenchOrder, change_plan
from ramet.services.shelf import place_of
from ramet.services.sound import PlanDoesNotHold, sound

PLAN = small_shop_plan()
STONY = next(one for one in PLAN.chosen if one.request == "honeycomb")
OTHER = "F2" if STONY.piece == "F1" else "F1"
PACKING_DAY = PLAN.shipment.departs.date().isoformat()


def with_single_bags(plan: Plan) -> Plan:
    bags = tuple(bag.model_copy(update={"layers": 1}) for bag in plan.bags)
    return plan.model_copy(update={"bags": bags})


@pytest.fixture
def ledger(tmp_path: Path) -> str:
    (tmp_path / "reef.toml").write_text(SHIPMENT)
    return small_ledger(tmp_path)


@pytest.fixture
def an_erring_planner(monkeypatch: pytest.MonkeyPatch) -> None:
    def erring(make: Callable[..., Plan]) -> Callable[..., Plan]:
        return lambda *given: with_single_bags(make(*given))

    monkeypatch.setattr(plan_shipment, "make_plan", erring(plan_shipment.make_plan))
    monkeypatch.setattr(replan, "assemble", erring(replan.assemble))


def files_in(folder: Path) -> dict[str, bytes]:
    return {str(path): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


def call(*arguments: object) -> Result:
    return CliRunner().invoke(cli, [str(one) for one in arguments])


def refused(result: Result) -> bool:
    """Tell whether a command ended in the refusal, and printed nothing of a plan."""
    return isinstance(result.exception, PlanDoesNotHold) and result.stdout == ""


def test_a_sound_plan_goes_through_the_gate_as_it_is() -> None:
    assert sound(PLAN, load_reference()) is PLAN


def test_what_a_plan_breaks_is_named_and_the_program_ends_with_3() -> None:
    with pytest.raises(PlanDoesNotHold, match="soft_bags_are_double: soft corals in 1 layer") as refusal:
        sound(with_single_bags(PLAN), load_reference())
    assert refusal.value.exit_code == 3


@pytest.mark.usefixtures("an_erring_planner")
@pytest.mark.parametrize(
    "switches",
    [
        (),
        ("--json",),
        ("--what-if",),
        ("--usual", "usual.toml"),
    ],
)
def test_the_plan_command_writes_and_prints_nothing(
    ledger: str, tmp_path: Path, switches: tuple[str, ...]
) -> None:
    (tmp_path / "usual.toml").write_text('name = "our habit"\nwater_share = 0.8\ngas = "air"\n')
    given = [tmp_path / one if one.endswith(".toml") else one for one in switches]
    asked = ("--ledger", ledger, "--today", TODAY, "--effort", "quick", *given)
    assert refused(call("plan", tmp_path / "reef.toml", "-o", tmp_path / "out", *asked))
    assert not (tmp_path / "out").exists()


def planned(ledger: str, folder: Path) -> Path:
    """Plan the shop's shipment into a folder while the planner does not err yet."""
    done = call(
        *("plan", folder / "reef.toml", "-o", folder / "out", "--ledger", ledger),
        *("--today", TODAY, "--effort", "quick"),
    )
    assert done.exit_code == 0, done.output
    return folder / "out"


@pytest.mark.parametrize(
    "switches",
    [
        (),
        ("--instead", OTHER),
        ("--packed", ",".join(bag.id for bag in PLAN.bags if bag.id != STONY.bag)),
        ("--packed", PLAN.bags[0].id, "--instead", OTHER, "--json"),
    ],
)
def test_a_piece_withdrawn_by_command_leaves_the_packet_as_it_was(
    ledger: str, tmp_path: Path, switches: tuple[str, ...], request: pytest.FixtureRequest
) -> None:
    out = planned(ledger, tmp_path)
    asked = ("plan", tmp_path / "reef.toml", "-o", out, "--ledger", ledger, "--today", PACKING_DAY)
    before = files_in(out)
    request.getfixturevalue("an_erring_planner")
    assert refused(call(*asked, "--withdraw", STONY.piece, *switches))
    assert files_in(out) == before


def test_a_piece_withdrawn_by_command_changes_plan_and_papers(ledger: str, tmp_path: Path) -> None:
    out = planned(ledger, tmp_path)
    asked = ("plan", tmp_path / "reef.toml", "-o", out, "--ledger", ledger, "--today", PACKING_DAY)
    done = call(*asked, "--withdraw", STONY.piece, "--instead", OTHER)
    assert done.exit_code == 0, done.output
    assert "Changed at the bench" in done.stdout
    assert call("check", out / "plan.json").exit_code == 0
    assert f"<b>{OTHER}</b>" in (out / "opening.html").read_text("utf-8")


@pytest.mark.usefixtures("an_erring_planner")
def test_a_job_in_the_background_writes_nothing(ledger: str, tmp_path: Path) -> None:
    asked = PlanJob(tmp_path / "reef.toml", tmp_path / "out", TODAY, effort=Effort.QUICK)
    with pytest.raises(PlanDoesNotHold):
        job._plan(ledger, asked.what(), threading.Event())
    assert not (tmp_path / "out").exists()


@pytest.mark.usefixtures("an_erring_planner")
def test_a_search_that_was_stopped_writes_nothing(ledger: str, tmp_path: Path) -> None:
    asked = PlanJob(tmp_path / "reef.toml", tmp_path / "out", TODAY, effort=Effort.QUICK)
    stop = threading.Event()
    stop.set()
    with pytest.raises(PlanDoesNotHold):
        job._plan(ledger, asked.what(), stop)
    assert not (tmp_path / "out").exists()


@pytest.mark.usefixtures("an_erring_planner")
def test_a_change_on_the_pages_leaves_the_shelf_and_the_sealed_bags_as_they_were(
    ledger: str, tmp_path: Path
) -> None:
    folder = on_the_shelf(ledger)
    place = place_of(files_beside(ledger), folder.name)
    assert place is not None
    now = AtBench(PLAN.shipment.sealed_from, "Ada")
    order = BenchOrder(ledger, place, load_reference(), PLAN.shipment.departs.date(), now)
    seal(ledger, PLAN, STONY.bag, now)
    before = files_in(folder)
    with pytest.raises(PlanDoesNotHold):
        change_plan(order, STONY.piece, OTHER)
    assert files_in(folder) == before
    assert STONY.bag in packing_of(ledger, PLAN).sealed


@pytest.mark.usefixtures("an_erring_planner")
def test_the_demo_writes_no_plan(tmp_path: Path) -> None:
    with pytest.raises(PlanDoesNotHold):
        run_demo(tmp_path, load_reference(), 1, Effort.QUICK, lambda _: None)
    assert not (tmp_path / "plan.json").exists()


SOURCES = {path: path.read_text("utf-8") for path in Path(ramet.__file__).parent.rglob("*.py")}


def naming(pattern: str) -> set[str]:
    found = (path for path, text in SOURCES.items() if re.search(pattern, text))
    return {str(path.relative_to(Path(ramet.__file__).parent)) for path in found}


def test_only_the_gate_calls_a_plan_sound() -> None:
    assert naming(r"\bSoundPlan\(") == {"services/sound.py"}
    assert naming(r"cast\(.*SoundPlan") == set()


def test_plans_are_made_only_behind_the_gate() -> None:
    made = naming(r"\bmake_plan\(|\bassemble\(")
    behind = {"services/planning/plan.py", "services/planning/assemble.py"}
    gated = {"services/plan_shipment.py", "services/replan.py"}
    assert made == behind | gated
    assert naming(r"\bsound\(") == gated | {"services/sound.py"}
