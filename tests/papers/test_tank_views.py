"""Drawings of the tank, read back as XML: everything that stands is drawn, where it stands."""

import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from ramet.formats.tank_report import Placement, TankFrame, TankReport
from ramet.papers.tank_views import tank_front_svg, tank_top_svg

SVG = "{http://www.w3.org/2000/svg}"


def placed(name: str, order: int, at: tuple[int, int] | None, **more: object) -> Placement:
    given = {"height_mm": 100, "tall_mm": 60, "radius_mm": 25, "grows_mm": 30, "reach_mm": 60}
    return Placement.model_validate(
        {"piece": name, "zone": "shelf", "at_mm": at, "gap_mm": 50, "order": order} | given | more
    )


def report(*places: Placement, **frame: object) -> TankReport:
    band = {"low": 0, "typical": 0, "high": 0, "unit": "g N/d", "origin": "none"}
    bio = {
        "ammonia_in": band,
        "capacity": band,
        "media_needed": 0,
        "media_sent": 0,
        "enough": True,
        "note": "",
    }
    zone = {"name": "shelf & sand", "from_mm": (50, 50), "to_mm": (1000, 500), "par_low": 80, "par_high": 160}
    shape = {"length_mm": 1200, "width_mm": 600, "depth_mm": 500, "zones": [zone]}
    return TankReport.model_validate(
        {
            "volume_l": 300,
            "demand": (),
            "supply": (),
            "biofilter": bio | {"note": ""},
            "light": (),
            "placement": places,
            "acclimation": (),
            "free_spots": [{"spot": "S7", "zone": "shelf", "at_mm": (700, 90), "room_mm": 80}],
            "frame": TankFrame.model_validate(shape | frame),
        }
    )


PLAN = report(placed("P<1>", 1, (300, 400)), placed("P2", 2, (800, 200), soft=True), placed("P3", 3, None))


def pieces(svg: str) -> dict[str, ET.Element]:
    root = ET.fromstring(svg)
    return {one.get("data-piece", ""): one for one in root.iter(f"{SVG}g") if one.get("data-piece")}


@pytest.mark.parametrize("draw", [tank_top_svg, tank_front_svg])
def test_every_piece_that_stands_is_drawn_with_its_order(draw) -> None:
    found = pieces(draw(PLAN, {"P2": "Finger 2"}))
    assert set(found) == {"P<1>", "P2"}
    assert [one.findtext(f"{SVG}text") for one in found.values()] == ["1", "2"] or draw is tank_front_svg
    assert "Finger 2" in (found["P2"].findtext(f"{SVG}title") or "")


def test_a_piece_is_drawn_where_it_stands_with_growth_and_reach() -> None:
    root = ET.fromstring(tank_top_svg(PLAN))
    circles = {(c.get("cx"), c.get("cy"), c.get("r")) for c in root.iter(f"{SVG}circle")}
    # y runs down the paper: 400 mm from the front is 200 from the back pane of a tank 600 mm wide.
    assert {("300", "200", "25"), ("300", "200", "55"), ("300", "200", "115")} <= circles


def test_drawings_have_a_title_and_words_for_what_shapes_mean() -> None:
    for svg, title in ((tank_top_svg(PLAN), "from above"), (tank_front_svg(PLAN), "from the front")):
        root = ET.fromstring(svg)
        assert title in (root.findtext(f"{SVG}title") or "")
        words = " ".join(text.text or "" for text in root.iter(f"{SVG}text"))
        assert "grown in 180 d" in words
        assert "reach" in words


@pytest.mark.parametrize(
    ("flow_from", "words"),
    [(None, "not given"), ("changing", "changes"), ("left", "flow"), ("back", "flow from the back")],
)
def test_the_way_of_the_water_is_drawn_or_said(flow_from, words) -> None:
    assert words in tank_top_svg(report(flow_from=flow_from))


@pytest.mark.parametrize(("side", "right_mm"), [("front", 300), ("back", 900), ("left", 200), ("right", 400)])
def test_each_side_sees_the_piece_at_its_own_place(side, right_mm) -> None:
    svg = tank_front_svg(report(placed("P1", 1, (300, 400))), side=side)
    (text,) = (one.find(f"{SVG}text") for one in pieces(svg).values())
    assert text is not None
    assert text.get("x") == str(right_mm)


def test_the_two_drawings_can_stand_on_one_page() -> None:
    ids = [
        one.get("id")
        for svg in (tank_top_svg(PLAN), tank_front_svg(PLAN))
        for one in ET.fromstring(svg).iter()
        if one.get("id")
    ]
    assert len(set(ids)) == len(ids)


def test_a_tank_without_places_is_still_drawn(tmp_path: Path) -> None:
    (tmp_path / "top.svg").write_text(tank_top_svg(report()), "utf-8")
    assert ET.parse(tmp_path / "top.svg").getroot().tag == f"{SVG}svg"


def test_a_height_map_is_drawn_from_above_and_as_a_skyline() -> None:
    # Two rows of three cells, the back row first; only the back left and the front middle hold rock.
    rock = report(rock_heights_mm=((300, 0, 0), (0, 50, 0)), zones=())
    above = [
        (one.get("x"), one.get("y"), one.findtext(f"{SVG}title"))
        for one in ET.fromstring(tank_top_svg(rock)).iter(f"{SVG}rect")
        if one.findtext(f"{SVG}title")
    ]
    assert above == [("0", "0", "300 mm high"), ("400", "300", "50 mm high")]
    front = {
        (one.get("x"), one.get("height")) for one in ET.fromstring(tank_front_svg(rock)).iter(f"{SVG}rect")
    }
    assert {("0", "300"), ("400", "50")} <= front
