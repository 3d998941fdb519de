"""Stock is found, narrowed and paged; what is done to pieces is entered once, told, and can be taken back."""

import html
import re
from pathlib import Path

import pytest
from sqlalchemy import event
from sqlalchemy.engine import Engine
from visitors import Visitor

from ramet.domain.piece import name_key
from ramet.ledger import lookups, projections
from ramet.ledger.queries import history
from ramet.ledger.store import open_ledger


def sent_by(page: str) -> dict[str, str]:
    """What a browser would send of the fields of a form, pieces left out."""
    inputs = re.findall(
        r'<input (?:id="[^"]+" )?(?:type="hidden" )?name="([^"]+)"(?: type="[^"]+")? value="([^"]*)"', page
    )
    return {
        html.unescape(name): html.unescape(value) for name, value in inputs if name not in ("piece", "back")
    }


def names_in(page: str) -> list[str]:
    return re.findall(r'<input type="checkbox" name="piece" value="([^"]+)"', page)


def piece_now(ledger: Path, name: str) -> projections.PieceState:
    with open_ledger(str(ledger)) as book, book.reading() as connection:
        return projections.states(connection, [name_key(name)])[name_key(name)]


def test_a_search_finds_pieces_by_the_beginning_of_any_word(owner: Visitor) -> None:
    page = owner.get("/stock", params={"q": "duluth gre"}).text
    assert names_in(page)
    assert all(name.startswith("DG-") for name in names_in(page))


def test_filters_narrow_and_the_address_keeps_them_from_page_to_page(owner: Visitor) -> None:
    seen: list[str] = []
    address = "/stock?sort=size&down=yes"
    while address:
        page = owner.get(address).text
        seen += names_in(page)
        found = re.search(r'href="([^"]+)">Next', page)
        address = html.unescape(found[1]) if found else ""
        assert not address or "sort=size" in address
    assert len(seen) == len(set(seen)) == 122


def test_held_pieces_are_told_by_word_and_found_by_filter(owner: Visitor) -> None:
    page = owner.get("/stock?health=held").text
    assert set(names_in(page)) == {f"DG-0{n}" for n in range(4)} | {f"HB-0{n}" for n in range(5)}
    assert page.count("</svg>held</span>") == 9
    assert not set(names_in(owner.get("/stock?health=free&strain=Duluth green 3").text)) & {"DG-00", "HB-02"}


@pytest.mark.parametrize("query", ["sort=nonsense", "form=nonsense", "standing=nonsense", "q=%00"])
def test_an_address_that_was_typed_wrong_shows_the_stock_all_the_same(owner: Visitor, query: str) -> None:
    assert owner.get(f"/stock?{query}").status_code == 200


def test_a_mark_that_is_none_is_told(owner: Visitor) -> None:
    assert owner.get("/stock?after=nonsense").status_code == 422


def test_a_piece_shows_history_family_and_growth(owner: Visitor) -> None:
    page = owner.get("/stock/piece/RB-03").text
    assert 'href="/stock/piece/RB-00"' in page
    assert '<strong aria-current="true">RB-03</strong>' in page
    assert "cut on 2026-10-26" in page
    assert "Doubles its live area" in owner.get("/stock/growth/RB-03").text


def test_a_piece_that_is_none_is_told(owner: Visitor) -> None:
    assert owner.get("/stock/piece/NO-99").status_code == 404
    assert owner.get("/stock/growth/NO-99").status_code == 422


def test_ticked_pieces_are_moved_together_once_however_often_the_form_is_sent(
    owner: Visitor, ledger: Path
) -> None:
    form = owner.get("/stock/chosen", params={"do": "move", "piece": ["RB-03", "RB-04"]})
    assert form.url.path == "/stock/do/move"
    sent = sent_by(form.text) | {"tank": "W2", "spot": "", "piece": ["RB-03", "RB-04"]}
    for _ in range(2):
        assert owner.post("/stock/do/move", data=sent).status_code == 200
    assert piece_now(ledger, "RB-03").piece.tank == "W2"
    with open_ledger(str(ledger)) as book:
        assert [one.entry.kind.value for one in history(book, "RB-04")].count("moved") == 1


def test_sizes_are_typed_in_the_units_of_the_grower(owner: Visitor, ledger: Path) -> None:
    owner.post(
        "/settings/writing", data={"units": "us", "locale": "fr-FR", "alkalinity": "dkh", "zone": "UTC"}
    )
    sent = sent_by(owner.get("/stock/do/measure?piece=RB-03").text)
    answer = owner.post("/stock/do/measure", data={**sent, "piece": "RB-03", "length_mm@RB-03": "2,8"})
    assert answer.url.path == "/stock/piece/RB-03"
    assert piece_now(ledger, "RB-03").piece.length_mm == pytest.approx(2.8 * 25.4, abs=0.01)


def test_what_cannot_be_is_told_beside_its_field_and_nothing_is_lost(owner: Visitor, ledger: Path) -> None:
    sent = sent_by(owner.get("/stock/do/measure?piece=RB-03").text)
    typed = {"piece": "RB-03", "length_mm@RB-03": "long", "width_mm@RB-03": "61", "on": "2027-02-01"}
    answer = owner.post("/stock/do/measure", data={**sent, **typed})
    assert answer.status_code == 422
    assert 'id="length_mm@RB-03-wrong"' in answer.text
    assert 'value="61"' in answer.text
    late = owner.post("/stock/do/measure", data={**sent, **typed, "length_mm@RB-03": "70"})
    assert 'id="on-wrong"' in late.text
    assert piece_now(ledger, "RB-03").piece.length_mm == 68


def test_a_tank_nobody_knows_is_asked_about_first(owner: Visitor, ledger: Path) -> None:
    sent = sent_by(owner.get("/stock/do/move?piece=RB-03").text) | {
        "piece": "RB-03",
        "tank": "W99",
        "spot": "",
    }
    asked = owner.post("/stock/do/move", data=sent)
    assert asked.status_code == 422
    assert "W99" in asked.text
    assert 'name="word" value="new-place"' in asked.text
    owner.post("/stock/do/move", data={**sent, "word": "new-place"})
    assert piece_now(ledger, "RB-03").piece.tank == "W99"


def test_a_cut_makes_named_children_and_shows_its_cautions(owner: Visitor, ledger: Path) -> None:
    sent = sent_by(owner.get("/stock/do/cut?piece=RB-00").text) | {"piece": "RB-00"}
    answer = owner.post(
        "/stock/do/cut", data={**sent, "children.1.length_mm": "30", "children.2.length_mm": "5"}
    )
    assert "often fails" in answer.text
    with open_ledger(str(ledger)) as book, book.reading() as connection:
        assert len(lookups.children_of(connection, "RB-00")) == 5 + 2


def test_two_browsers_measuring_one_piece_see_both_values(owner: Visitor, ledger: Path) -> None:
    mine = sent_by(owner.get("/stock/do/measure?piece=RB-03").text) | {"piece": "RB-03"}
    theirs = sent_by(owner.get("/stock/do/measure?piece=RB-03").text) | {"piece": "RB-03"}
    owner.post("/stock/do/measure", data={**theirs, "length_mm@RB-03": "72"})
    answer = owner.post("/stock/do/measure", data={**mine, "length_mm@RB-03": "70"})
    assert answer.status_code == 409
    assert "now has 72" in answer.text
    assert "you typed 70" in answer.text
    assert piece_now(ledger, "RB-03").piece.length_mm == 72
    again = sent_by(answer.text) | {"piece": "RB-03"}
    assert owner.post("/stock/do/measure", data=again).status_code == 200
    assert piece_now(ledger, "RB-03").piece.length_mm == 70


def test_what_was_entered_is_taken_back_by_a_new_entry(owner: Visitor, ledger: Path) -> None:
    sent = sent_by(owner.get("/stock/do/lost?piece=RB-03").text) | {"piece": "RB-03", "why": "slipped"}
    owner.post("/stock/do/lost", data=sent)
    page = owner.get("/stock/piece/RB-03").text
    number = re.search(r'name="number" value="(\d+)"', page)[1]
    token = re.search(r'name="token" value="([^"]+)"', page)[1]
    answer = owner.post("/stock/undo", data={"number": number, "token": token, "back": "/stock/piece/RB-03"})
    assert "Taken back" in answer.text
    assert "(taken back)" in answer.text
    assert piece_now(ledger, "RB-03").standing.value == "alive"


def test_an_entry_whose_taking_back_was_taken_back_stands_again(owner: Visitor, ledger: Path) -> None:
    sent = sent_by(owner.get("/stock/do/lost?piece=RB-03").text) | {"piece": "RB-03", "why": "slipped"}
    owner.post("/stock/do/lost", data=sent)
    for standing in ("alive", "lost"):
        page = owner.get("/stock/piece/RB-03").text
        latest = re.search(r'name="number" value="(\d+)"', page)[1]
        token = re.search(r'name="token" value="([^"]+)"', page)[1]
        owner.post("/stock/undo", data={"number": latest, "token": token, "back": "/stock/piece/RB-03"})
        assert piece_now(ledger, "RB-03").standing.value == standing
    page = owner.get("/stock/piece/RB-03").text
    assert page.count("(taken back)") == 1


def test_a_piece_of_any_name_has_its_page(newcomer: Visitor) -> None:
    name = "A/1 #2 & co"
    rows = f'piece,strain,taxon,system,tank,length_mm\n"{name}",F,Acropora,m,T,60\n'
    newcomer.post("/import", data={"pasted": rows})
    link = re.search(r'href="(/stock/piece/[^"]+)"', newcomer.get("/stock").text)[1]
    page = newcomer.get(html.unescape(link))
    assert page.status_code == 200
    assert f"<h1>{html.escape(name)}</h1>" in page.text


@pytest.mark.parametrize("page", ["/stock", "/stock?q=row", "/stock?health=held", "/stock/piece/RB-03"])
def test_no_page_asks_the_ledger_more_for_more_rows(owner: Visitor, page: str) -> None:
    queries: list[str] = []

    def heard(*call: object) -> None:
        queries.append(str(call[2]))

    owner.get(page)
    event.listen(Engine, "before_cursor_execute", heard)
    try:
        owner.get(page)
    finally:
        event.remove(Engine, "before_cursor_execute", heard)
    selects = [one for one in queries if one.lstrip().upper().startswith(("SELECT", "WITH"))]
    assert 0 < len(selects) <= 14
