"""A tank is drawn with every piece on its spot; a piece moves by two links, or by a form."""

import html
import re
from pathlib import Path

from visitors import Visitor

from ramet.domain.piece import name_key
from ramet.ledger import projections
from ramet.ledger.store import open_ledger

W1 = "/tanks/view?system=west&tank=W1"


def token_in(page: str) -> str:
    return re.search(r'name="token" value="([^"]+)"', page)[1]


def spot_of(ledger: Path, name: str) -> str | None:
    with open_ledger(str(ledger)) as book, book.reading() as connection:
        return projections.states(connection, [name_key(name)])[name_key(name)].piece.spot


def test_the_list_leads_to_every_tank(owner: Visitor) -> None:
    page = owner.get("/tanks").text
    for link in re.findall(r'href="(/tanks/view[^"]+)"', page):
        assert owner.get(html.unescape(link)).status_code == 200
    assert page.count("/tanks/view") == 4


def test_every_piece_of_the_tank_is_in_its_drawing_with_words(owner: Visitor) -> None:
    page = owner.get(W1).text
    listed = re.findall(r'name="piece" value="([^"]+)"', owner.get("/stock?system=west&tank=W1").text)
    assert listed
    for name in listed:
        assert f'data-piece="{name}"' in page


def test_a_piece_moves_by_choosing_it_and_then_its_spot(owner: Visitor, ledger: Path) -> None:
    waiting = owner.get(
        html.unescape(re.search(r'href="(/tanks/view[^"]+move=RB-03)"', owner.get(W1).text)[1])
    )
    assert "RB-03 waits for its new spot" in waiting.text
    link = html.unescape(re.search(r'href="(/stock/do/move\?[^"]+spot=rack\+2)"', waiting.text)[1])
    form = owner.get(link).text
    assert 'value="rack 2"' in form
    sent = {"token": token_in(form), "piece": "RB-03", "tank": "W1", "system": "west", "spot": "rack 2"}
    owner.post("/stock/do/move", data={**sent, "on": "2027-01-04", "version": ""})
    assert spot_of(ledger, "RB-03") == "rack 2"


def test_a_spot_is_told_in_the_growers_units_and_wrong_numbers_beside_their_field(owner: Visitor) -> None:
    form = {"system": "west", "tank": "W1", "spot": "rack 2", "token": token_in(owner.get(W1).text)}
    wrong = owner.post("/tanks/spot", data={**form, "par": "bright"})
    assert wrong.status_code == 422
    assert 'id="par-wrong"' in wrong.text
    page = owner.post("/tanks/spot", data={**form, "par": "120"}).text
    assert "Entered: rack 2" in page
    assert re.search(r'<th scope="row">rack 2</th><td class="n">120</td>', page)


def test_a_tank_that_is_none_is_told(owner: Visitor) -> None:
    assert owner.get("/tanks/view?system=west&tank=W77").status_code == 404
