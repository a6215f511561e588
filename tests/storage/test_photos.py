"""Photos: told by their content, drawn anew, nothing hidden kept."""

import base64
import io

import pytest
from PIL import Image
from recipe_photo import drawn

from bloomless.errors import ImpossibleInput
from bloomless.storage.photos import LARGE_PX, SMALL_PX, photo_from


def _with_place() -> bytes:
    exif = Image.Exif()
    exif[0x010F] = "A camera"
    exif[0x0112] = 6  # lies on its side
    exif.get_ifd(0x8825)[1] = "N"
    return drawn("JPEG", (2400, 1600), exif=exif)


@pytest.mark.parametrize("data", [_with_place(), drawn("PNG"), drawn("WEBP")], ids=["jpeg", "png", "webp"])
def test_drawn_anew_in_two_sizes(data):
    made = photo_from(data)
    large, small = (base64.b64decode(made[size]) for size in ("large", "small"))
    for body, longest in ((large, LARGE_PX), (small, SMALL_PX)):
        with Image.open(io.BytesIO(body)) as picture:
            assert picture.format == "JPEG"
            assert max(picture.size) <= longest
            assert not picture.getexif()
            assert {"exif", "comment", "icc_profile"}.isdisjoint(picture.info)
    assert b"camera" not in large
    assert len(large) < 250_000
    assert len(small) < 12_000
    assert photo_from(data)["name"] == made["name"]


def test_a_photo_stands_upright_and_on_white():
    made = photo_from(_with_place())
    assert made["height"] > made["width"]
    clear = io.BytesIO()
    Image.new("RGBA", (10, 10), (0, 0, 0, 0)).save(clear, "PNG")
    with Image.open(io.BytesIO(base64.b64decode(photo_from(clear.getvalue())["large"]))) as picture:
        assert picture.getpixel((5, 5)) == (255, 255, 255)


def test_what_is_no_photo():
    bomb = io.BytesIO()
    Image.new("1", (20_000, 20_000)).save(bomb, "PNG")
    gif = drawn("GIF")
    for data in (
        b"",
        b"<svg onload='x()'/>",
        b"\xff\xd8\xff\xe0 cut",
        gif,
        drawn("PNG")[:300],
        b"x" * 9_000_000,
        bomb.getvalue(),
    ):
        with pytest.raises(ImpossibleInput) as caught:
            photo_from(data)
        assert caught.value.field == "photo"
