"""Box drawings are true to scale: judged against the plan's own millimetres and by a general XML parser."""

import xml.etree.ElementTree as ET

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sample_plan import sample_plan

from ramet.papers.boxes import box_svg, layer_origin_mm
from ramet.papers.layers import layers_of

SVG = "{http://www.w3.org/2000/svg}"


def _bag_rectangles(svg: str) -> dict[str, tuple[float, float, float, float]]:
    found = {}
    for group in ET.fromstring(svg).iter(f"{SVG}g"):
        if "data-bag" in group.attrib:
            rect = group.find(f"{SVG}rect")
            found[group.attrib["data-bag"]] = tuple(
                float(rect.attrib[key]) for key in ("x", "y", "width", "height")
            )
    return found


@settings(deadline=None, max_examples=20)
@given(bags=st.integers(1, 24), boxes=st.integers(1, 2))
def test_every_bag_lies_at_its_place_to_the_millimetre_in_exactly_one_layer(bags, boxes):
    plan = sample_plan(bags, boxes=boxes)
    for box in plan.boxes:
        left, front = layer_origin_mm(box)
        seen = []
        for layer in layers_of(plan, box):
            for bag_id, (x, y, width, height) in _bag_rectangles(
                box_svg(plan, box.id, layer=layer.number)
            ).items():
                bag = next(bag for bag in plan.bags if bag.id == bag_id)
                assert (x - left, front - y - height) == bag.at_mm[:2]
                assert (width, height) == bag.size_mm[:2]
                seen.append(bag_id)
        assert sorted(seen) == sorted(box.bags)


def test_bags_drawn_in_one_layer_do_not_overlap():
    plan = sample_plan(24)
    for number in (1, 2):
        rectangles = list(_bag_rectangles(box_svg(plan, "box-1", layer=number)).values())
        assert len(rectangles) == 6
        for i, (x, y, width, height) in enumerate(rectangles):
            for u, v, wide, high in rectangles[i + 1 :]:
                assert x + width <= u or u + wide <= x or y + height <= v or v + high <= y


def test_the_inner_wall_of_the_drawing_is_the_inner_size_of_the_box():
    plan = sample_plan()
    box = plan.boxes[0]
    outer, inner = list(ET.fromstring(box_svg(plan, box.id)).findall(f"{SVG}rect"))[:2]
    assert (float(inner.attrib["width"]), float(inner.attrib["height"])) == box.inner_mm[:2]
    assert float(outer.attrib["width"]) == box.inner_mm[0] + 2 * box.wall_mm


@pytest.mark.parametrize("view", ["layer", "lifted"])
def test_both_views_name_every_bag_and_its_packs(view):
    plan = sample_plan(4, boxes=1)
    root = ET.fromstring(box_svg(plan, "box-1", view=view))
    texts = {text.text for text in root.iter(f"{SVG}text")}
    assert {bag.id for bag in plan.bags} <= texts
    assert [group.attrib["data-pack"] for group in root.iter(f"{SVG}g") if "data-pack" in group.attrib] == [
        "heat pack 40 h"
    ]


def test_a_name_full_of_markup_stays_text():
    bad = sample_plan(1, boxes=1).model_dump(by_alias=True)
    bad["boxes"][0]["packs"][0]["kind"] = '"<script>&'
    bad["bags"][0]["id"] = bad["chosen"][0]["bag"] = 'A"<&>'
    plan = type(sample_plan(1)).model_validate(bad)
    for view in ("layer", "lifted"):
        root = ET.fromstring(box_svg(plan, "box-1", view=view))
        assert 'A"<&>' in {text.text for text in root.iter(f"{SVG}text")}


def test_lifted_bags_are_painted_from_the_back_to_the_front():
    plan = sample_plan(6, boxes=1)
    root = ET.fromstring(box_svg(plan, "box-1", view="lifted"))
    order = [group.attrib["data-bag"] for group in root.iter(f"{SVG}g") if "data-bag" in group.attrib]
    place = {bag.id: bag.at_mm for bag in plan.bags}
    for i, bag_id in enumerate(order):
        for later in order[i + 1 :]:
            behind = place[later][1] > place[bag_id][1] + 100 and place[later][0] <= place[bag_id][0]
            assert not behind, f"{later} is behind {bag_id} but painted over it"
