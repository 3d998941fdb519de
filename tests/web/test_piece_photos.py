"""Photos of a piece are kept, shown and refused with a reason."""

import io
import re

from PIL import Image
from visitors import Visitor


def jpeg() -> bytes:
    stream = io.BytesIO()
    Image.new("RGB", (640, 480), (90, 70, 40)).save(stream, "JPEG")
    return stream.getvalue()


def send(owner: Visitor, data: bytes, name: str) -> object:
    token = re.search(r'name="token" value="([^"]+)"', owner.get("/stock/piece/RB-03").text)[1]
    fields = {"piece": "RB-03", "token": token, "photo_note": "upper side"}
    return owner.post("/stock/photos", data=fields, files={"photo": (name, data)})


def test_a_photo_is_kept_and_shown_small_and_whole(owner: Visitor) -> None:
    page = send(owner, jpeg(), "one.jpg").text
    whole = re.search(r'href="(/stock/photos/[0-9a-f]{64})"', page)[1]
    assert "upper side" in page
    assert owner.get(whole).content == jpeg()
    small = owner.get(f"{whole}/small")
    assert small.headers["content-type"] == "image/jpeg"
    assert "immutable" in small.headers["cache-control"]


def test_what_is_no_photo_is_refused_and_what_was_typed_stays(owner: Visitor) -> None:
    answer = send(owner, b"not a photo", "one.jpg")
    assert answer.status_code == 422
    assert 'value="upper side"' in answer.text


def test_a_photo_that_is_none_is_told(owner: Visitor) -> None:
    assert owner.get("/stock/photos/" + "0" * 64).status_code == 404
    assert owner.get("/stock/photos/..%2f..%2fsecret").status_code == 404
