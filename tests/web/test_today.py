"""The day says what is late, what is due and what is unhealthy, and leads there."""

from visitors import Visitor


def test_the_day_tells_what_is_late_with_its_pieces_and_what_is_unhealthy(owner: Visitor) -> None:
    page = owner.get("/").text
    assert "Late" in page
    assert 'href="/stock/piece/HB-02"' in page
    assert "olyclad flatworm that eats Acropora" in page
    assert 'href="/stock?health=held">9<' in page


def test_a_newcomer_is_led_to_the_first_steps_and_from_there_to_the_sample_and_back(
    newcomer: Visitor,
) -> None:
    assert newcomer.get("/").url.path == "/start"
    page = newcomer.post("/sample").text
    assert "Everything here is invented" in page
    assert "Library display" in newcomer.get("/shipments").text
    assert newcomer.post("/sample/remove").url.path == "/start"
    assert "Library display" not in newcomer.get("/shipments").text


def test_the_sample_leaves_the_growers_own_ledger_alone(owner: Visitor) -> None:
    rows = "piece,strain,taxon,system,tank,length_mm\nMINE-1,F,Acropora,m,T,60\n"
    owner.post("/import", data={"pasted": rows})
    owner.post("/sample")
    assert owner.get("/stock/piece/MINE-1").status_code == 404
    owner.post("/sample/remove")
    assert owner.get("/stock/piece/MINE-1").status_code == 200
