"""What a page weighs as it is sent, and that what it is made of is kept by the browser for ever."""

import gzip
import re

import pytest
from visitors import Visitor

KB = 1000
PLAIN, CHARTS, TURNING = 150 * KB, 450 * KB, 650 * KB
PAGES = {
    "/": PLAIN,
    "/stock": PLAIN,
    "/stock/piece/D1": PLAIN,
    "/tanks": PLAIN,
    "/tanks/view?system=north&tank=N1": PLAIN,
    "/shipments": PLAIN,
    "/shipments/new": PLAIN,
    "/shipments/small-reef": PLAIN,
    "/shipments/small-reef/edit": PLAIN,
    "/shipments/small-reef/journey": CHARTS,
    "/shipments/small-reef/tank": CHARTS,
    "/shipments/small-reef/boxes": TURNING,
    "/shipments/small-reef/packing": PLAIN,
    "/shipments/small-reef/packing/bags/A1": PLAIN,
    "/shipments/small-reef/opening": PLAIN,
    "/shipments/small-reef/results": PLAIN,
    "/results": PLAIN,
    "/calendar": PLAIN,
    "/settings": PLAIN,
}
ASSET = re.compile(r"/static/[0-9a-f]{12}/[^\"') ]+")


def sent_bytes(visitor: Visitor, address: str) -> int:
    """The bytes of an answer on the wire."""
    with visitor.stream("GET", address, headers={"Accept-Encoding": "gzip"}) as answer:
        assert answer.status_code == 200
        return sum(len(chunk) for chunk in answer.iter_raw())


def parts_of(visitor: Visitor, page: str) -> set[str]:
    """Every static file that a page asks for, with those that its stylesheets ask for."""
    found = set(ASSET.findall(page))
    for sheet in [one for one in found if one.endswith(".css")]:
        found |= set(ASSET.findall(visitor.get(sheet).text))
    return found


@pytest.mark.parametrize(("page", "most"), PAGES.items())
def test_a_page_with_all_its_parts_is_light(keeper: Visitor, page: str, most: int) -> None:
    parts = parts_of(keeper, keeper.get(page).text)
    assert parts
    weight = sent_bytes(keeper, page) + sum(sent_bytes(keeper, part) for part in parts)
    assert weight < most


def test_every_part_is_kept_for_ever_and_goes_packed(keeper: Visitor) -> None:
    for part in parts_of(keeper, keeper.get("/shipments/small-reef/journey").text):
        with keeper.stream("GET", part, headers={"Accept-Encoding": "gzip"}) as answer:
            raw = b"".join(answer.iter_raw())
        assert "immutable" in answer.headers["cache-control"]
        if not part.endswith(".woff2"):
            assert answer.headers["content-encoding"] == "gzip"
            assert keeper.get(part, headers={"Accept-Encoding": "identity"}).content == gzip.decompress(raw)


def test_no_page_names_anything_outside_of_the_machine(keeper: Visitor) -> None:
    for page in PAGES:
        text = keeper.get(page).text
        loads = re.findall(r'(?:src|action|<link[^>]+href)="(https?://[^"]+)"', text)
        assert loads == []
        assert " style=" not in re.sub(r"<svg.*?</svg>", "", text, flags=re.DOTALL)
        assert not re.search(r"\son[a-z]+=\"", text)
