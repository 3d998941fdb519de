"""The examples on the page about trials are run as they stand there."""

import re
from pathlib import Path

from ramet.reference.tables import load_reference
from ramet.services.transit import TransitOrder, run_transit

PAGE = Path(__file__).parents[2] / "docs" / "transit.md"


def test_the_trial_and_the_usual_way_of_the_page_run(tmp_path):
    trial, usual = re.findall(r"```toml\n(.*?)```", PAGE.read_text(encoding="utf-8"), flags=re.DOTALL)
    (tmp_path / "box.toml").write_text(trial, encoding="utf-8")
    (tmp_path / "usual.toml").write_text(usual, encoding="utf-8")
    order = TransitOrder(scenarios=64, what_if=True, usual=tmp_path / "usual.toml")
    found = run_transit(load_reference(), tmp_path / "box.toml", order)
    assert found.bags[0].id == "A"
    assert found.what_ifs
    assert found.usual is not None


def test_every_picture_and_page_that_the_science_pages_name_is_there():
    pages = sorted((PAGE.parent / "science").glob("*.md"))
    named = [
        page.parent / link
        for page in pages
        for link in re.findall(r"\]\(([^)#:]+)\)", page.read_text(encoding="utf-8"))
    ]
    assert len(named) > 10
    assert [str(path) for path in named if not path.exists()] == []
