"""Packing on its pages: what to lay out, go or no-go, bag after bag, hand over, and back."""

import io
import re
import secrets
from pathlib import Path

import pytest
from httpx import Response
from PIL import Image
from small_shop import TODAY, small_shop_plan
from visitors import Visitor

from ramet.papers.labels import bag_payload
from ramet.reference.tables import load_reference
from ramet.services.import_stock import import_files
from ramet.services.pack_off import packing_of
from ramet.services.sending.read_label import label_in_photo

PLAN = small_shop_plan()
HOME = "/shipments/small-reef/packing"
ORDER = [bag.id for bag in sorted(PLAN.bags, key=lambda bag: bag.sealing_order)]


def send(who: Visitor, address: str, token: str = "", **fields: object) -> Response:
    return who.post(HOME + address, data={"token": token or secrets.token_urlsafe(9), **fields})


def seal(who: Visitor, bag: str, token: str = "", photo: bytes | None = None) -> Response:
    files = {"photo": ("bag.jpg", photo, "image/jpeg")} if photo else None
    data = {"token": token or secrets.token_urlsafe(9)}
    return who.post(f"{HOME}/bags/{bag}/seal", data=data, files=files)


def picture(size: tuple[int, int] = (2400, 1200)) -> bytes:
    stream = io.BytesIO()
    exif = Image.Exif()
    exif[0x8825] = {1: "N", 2: (44.0, 0.0, 0.0)}  # a place on Earth, which must not be kept
    Image.new("RGB", size, "#7a5").save(stream, "JPEG", exif=exif)
    return stream.getvalue()


def label_photo(payload: str) -> bytes:
    import segno

    stream = io.BytesIO()
    segno.make(payload, error="m", micro=False).save(stream, kind="png", scale=6, border=4)
    code = Image.open(io.BytesIO(stream.getvalue())).convert("RGB")
    scene = Image.new("RGB", (code.width + 260, code.height + 180), "#998")
    scene.paste(code.rotate(7, expand=True, fillcolor="#fff"), (110, 70))
    out = io.BytesIO()
    scene.save(out, "JPEG")
    return out.getvalue()


def test_a_sealed_bag_leads_to_the_next_in_sealing_order(keeper: Visitor) -> None:
    page = seal(keeper, ORDER[0])
    assert page.url.path == f"{HOME}/bags/{ORDER[1]}"
    assert f"Bag {ORDER[0]} is sealed." in page.text


def test_the_same_form_twice_seals_once(keeper: Visitor, shop: Path) -> None:
    seal(keeper, ORDER[0], "token-of-this-form")
    version = packing_of(str(shop), PLAN).version
    again = seal(keeper, ORDER[0], "token-of-this-form")
    assert again.url.path == f"{HOME}/bags/{ORDER[1]}"
    assert packing_of(str(shop), PLAN).version == version


def test_the_photo_at_sealing_is_kept_small_and_without_its_place(keeper: Visitor, shop: Path) -> None:
    seal(keeper, ORDER[0], photo=picture())
    sha256 = packing_of(str(shop), PLAN).sealed[ORDER[0]].photo
    kept = Image.open(io.BytesIO(keeper.get(f"/photos/{sha256}.jpg").content))
    assert max(kept.size) == 1600
    assert not kept.getexif().get_ifd(0x8825)
    assert f"/photos/{sha256}.jpg" in keeper.get(f"{HOME}/bags/{ORDER[0]}").text


def test_a_file_that_is_no_photo_is_told_beside_its_field_and_the_bag_stays_open(
    keeper: Visitor, shop: Path
) -> None:
    answer = seal(keeper, ORDER[0], photo=b"not a photo")
    assert answer.status_code == 422
    assert 'id="photo-wrong"' in answer.text
    assert not packing_of(str(shop), PLAN).sealed


def test_a_sealing_that_waited_on_the_phone_keeps_its_own_time(keeper: Visitor, shop: Path) -> None:
    from datetime import UTC, datetime, timedelta

    done_at = datetime.now(UTC) - timedelta(minutes=50)
    send(keeper, f"/bags/{ORDER[0]}/seal", done_at=done_at.isoformat())
    assert packing_of(str(shop), PLAN).sealed[ORDER[0]].at == done_at


def test_a_go_with_a_check_open_names_it_and_writes_nothing(keeper: Visitor, shop: Path) -> None:
    answer = send(keeper, "/decide", go="go", check=["pieces", "weather"], note="wind from the north")
    assert answer.status_code == 422
    assert "Somebody is there to receive the boxes" in answer.text
    assert 'value="wind from the north"' in answer.text
    assert packing_of(str(shop), PLAN).decision is None


def test_a_grower_may_overrule_the_checks_and_a_no_go_needs_none(keeper: Visitor, shop: Path) -> None:
    send(keeper, "/decide", go="go", all_the_same="yes")
    assert (decision := packing_of(str(shop), PLAN).decision) is not None
    assert decision.go
    send(keeper, "/decide", go="no", note="hub closed")
    assert (decision := packing_of(str(shop), PLAN).decision) is not None
    assert (decision.go, decision.note) == (False, "hub closed")


def test_a_bag_is_found_by_its_name_by_its_code_and_by_a_photo_of_its_label(keeper: Visitor) -> None:
    wanted = f"{HOME}/bags/{ORDER[2]}"
    code = bag_payload(PLAN, ORDER[2])
    assert send(keeper, "/find", bag=ORDER[2].lower()).url.path == wanted
    assert send(keeper, "/find", bag=code).url.path == wanted
    files = {"photo": ("label.jpg", label_photo(code), "image/jpeg")}
    assert keeper.post(f"{HOME}/find", data={"bag": ""}, files=files).url.path == wanted


@pytest.mark.parametrize("typed", ["Z99", "ramet:bag:A1:Another reef", ""])
def test_a_name_that_is_no_bag_of_this_plan_is_told_and_stays_typed(keeper: Visitor, typed: str) -> None:
    answer = send(keeper, "/find", bag=typed)
    assert answer.status_code == 422
    assert 'id="bag-wrong"' in answer.text
    assert f'value="{typed}"' in answer.text


def test_a_label_is_read_from_a_tilted_photo() -> None:
    """The code is written by segno and read by zxing-cpp: two libraries that share nothing."""
    label = label_in_photo(label_photo(bag_payload(PLAN, "A1")), load_reference())
    assert (label.bag, label.shipment) == ("A1", PLAN.shipment.name)


def test_boxes_are_handed_over_and_taken_back(keeper: Visitor) -> None:
    for bag in ORDER:
        seal(keeper, bag)
    assert "Handed over" in send(keeper, "/sent", what="sent").text
    assert "in stock again" in send(keeper, "/sent", what="back").text


def test_a_shipment_with_sealed_bags_is_not_planned_anew(keeper: Visitor) -> None:
    seal(keeper, ORDER[0])
    answer = keeper.post("/shipments/small-reef/plan", data={"effort": "quick"})
    assert answer.status_code == 409
    assert "1 bag is sealed already" in answer.text


def test_what_is_laid_out_says_how_much_water_and_how_many_bags(keeper: Visitor) -> None:
    page = keeper.get(HOME).text
    water_l = sum(bag.water_l for bag in PLAN.bags)
    assert f"<strong>{water_l:.2f}\u00a0L</strong> of clean seawater" in page
    counts = [int(count) for count in re.findall(r"<strong>(\d+) bags?</strong>", page)]
    assert sum(counts) == sum(bag.layers for bag in PLAN.bags)


def test_units_follow_the_setting(keeper: Visitor) -> None:
    keeper.post(
        "/settings/writing", data={"units": "us", "alkalinity": "dkh", "locale": "en-US", "zone": "UTC"}
    )
    assert "fl oz" in keeper.get(f"{HOME}/bags/{ORDER[0]}").text


def test_a_shipment_without_a_plan_says_what_comes_first(keeper: Visitor, shop: Path) -> None:
    (shop.parent / "shop-files" / "shipments" / "small-reef" / "plan.json").unlink()
    answer = keeper.get(HOME)
    assert answer.status_code == 404
    assert "no plan yet" in answer.text


def test_a_piece_that_is_held_now_is_named_at_its_check(keeper: Visitor, shop: Path, tmp_path: Path) -> None:
    going = next(one.piece for one in PLAN.chosen if one.taxon.startswith("Montipora"))
    table = tmp_path / "health.csv"
    table.write_text(f"on,kind,pest,piece\n2026-08-30,finding,montipora_nudibranch,{going}\n")
    import_files(str(shop), [table], load_reference(), TODAY)
    assert f"Held now: {going}." in keeper.get(HOME).text
