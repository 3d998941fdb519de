"""`ramet plan` on the smallest shipment: the packet, the exit code, and JSON alone for machines."""

import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from pypdf import PdfReader
from shell import Shell
from small_texts import SMALLEST, TODAY, with_line

from ramet.formats.plan_text import plan_text, read_plan

PACKET = {"plan.json", "packet.pdf", "opening.html", "tasks.ics", "run.json"}


def test_a_plan_is_written_with_its_papers_and_checks(shell: Shell, ledger: Path, tmp_path: Path) -> None:
    (tmp_path / "reef.toml").write_text(SMALLEST)
    out = tmp_path / "out"
    call = ("plan", tmp_path / "reef.toml", "-o", out, "--ledger", ledger, "--today", TODAY)
    ran = shell(*call, "--effort", "quick", "--json")
    assert ran.code == 0
    assert {path.name for path in out.iterdir()} == PACKET
    assert ran.out == (out / "plan.json").read_text()
    plan = json.loads(ran.out)
    assert plan["status"] == "ready"
    assert [one["request"] for one in plan["chosen"]] == ["honeycomb"]
    assert shell("check", out / "plan.json").code == 0


def test_ctrl_c_in_a_terminal_ends_the_search_with_plan_and_papers(ledger: Path, tmp_path: Path) -> None:
    (tmp_path / "reef.toml").write_text(SMALLEST)
    out = tmp_path / "out"
    call = ["plan", str(tmp_path / "reef.toml"), "-o", str(out), "--ledger", str(ledger), "--today", TODAY]
    program = [sys.executable, "-c", "from ramet.main import main; main()"]
    # A terminal sends Ctrl-C to every process of the group, not to the program alone.
    with subprocess.Popen(
        [*program, *call], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True
    ) as ran:
        assert ran.stderr is not None
        assert any("reading stock" in line for line in ran.stderr)
        os.killpg(ran.pid, signal.SIGINT)
        told, said = ran.communicate(timeout=120)
    assert ran.returncode == 0, said
    assert "Stopping" in said
    assert "Written to" in told
    assert {path.name for path in out.iterdir()} == PACKET
    assert json.loads((out / "plan.json").read_text())["optimum"]["stopped_early"]


@pytest.mark.parametrize("wish", ['taxon = "Plerogyra"', 'strain = "Dock 9"'])
def test_an_answer_of_no_ends_with_1_and_is_explained(
    shell: Shell, ledger: Path, tmp_path: Path, wish: str
) -> None:
    text, _ = with_line(SMALLEST, 'taxon = "Favites"', wish)
    (tmp_path / "reef.toml").write_text(text)
    ran = shell("plan", tmp_path / "reef.toml", "-o", tmp_path / "out", "--ledger", ledger, "--today", TODAY)
    assert ran.code == 1
    assert "Impossible as asked" in ran.out
    assert "would go if" in ran.out
    plan = read_plan(tmp_path / "out" / "plan.json")
    assert not isinstance(plan, tuple)
    assert plan.left_out[0].reasons[0].code == "not_in_stock"
    assert plan_text(plan) == (tmp_path / "out" / "plan.json").read_text()


def test_what_ifs_are_told_and_written_when_asked_for(shell: Shell, ledger: Path, tmp_path: Path) -> None:
    (tmp_path / "reef.toml").write_text(SMALLEST)
    out = tmp_path / "out"
    call = ("plan", tmp_path / "reef.toml", "-o", out, "--ledger", ledger, "--today", TODAY)
    ran = shell(*call, "--effort", "quick", "--what-if")
    assert ran.code == 0
    assert "as planned" in ran.out
    assert "held at the depot" in ran.out
    rows = json.loads((out / "what-ifs.json").read_text())
    assert {row["change"] for row in rows} >= {"as_written", "less_water", "earlier", "later", "depot"}
    assert {row["bag"] for row in rows} == {
        bag["id"] for bag in json.loads((out / "plan.json").read_text())["bags"]
    }


def test_a_usual_way_stands_beside_the_plan_in_summary_packet_and_file(
    shell: Shell, ledger: Path, tmp_path: Path
) -> None:
    (tmp_path / "reef.toml").write_text(SMALLEST)
    (tmp_path / "usual.toml").write_text('name = "our habit"\nwater_share = 0.8\ngas = "air"\n')
    out = tmp_path / "out"
    call = ("plan", tmp_path / "reef.toml", "-o", out, "--ledger", ledger, "--today", TODAY)
    ran = shell(*call, "--effort", "quick", "--usual", tmp_path / "usual.toml")
    assert ran.code == 0
    assert "our habit:" in ran.out
    plan = read_plan(out / "plan.json")
    assert not isinstance(plan, tuple)
    assert plan.usual is not None
    assert plan.usual.words == "80 % water, under air"
    pages = PdfReader(out / "packet.pdf").pages
    assert any("Beside our habit" in page.extract_text() for page in pages)


def test_a_usual_way_that_cannot_be_used_is_told_before_anything_is_planned(
    shell: Shell, ledger: Path, tmp_path: Path
) -> None:
    (tmp_path / "reef.toml").write_text(SMALLEST)
    (tmp_path / "usual.toml").write_text('bag = "sack"\n')
    out = tmp_path / "out"
    call = ("plan", tmp_path / "reef.toml", "-o", out, "--ledger", ledger, "--today", TODAY)
    ran = shell(*call, "--usual", tmp_path / "usual.toml")
    assert ran.code == 2
    assert "usual.toml [bag]: found “sack”" in ran.err
    assert not out.exists()
