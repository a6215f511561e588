"""Photos on their way into the book: what they are is told by their content, and they are drawn anew.

Nothing of the file itself is kept: no place, no camera, no date, no name, nothing hidden behind the picture.
"""

from __future__ import annotations

import base64
import hashlib
import io
import warnings
from typing import Any, Final

from PIL import Image, ImageOps

from bloomless.errors import ImpossibleInput

__all__ = ["LARGE_PX", "MOST_BYTES", "SMALL_PX", "photo_from"]

MOST_BYTES: Final = 8_000_000
MOST_PIXELS: Final = 60_000_000
"""More is refused before anything is unpacked."""
LARGE_PX: Final = 1400
SMALL_PX: Final = 176
_FORMATS: Final = ("JPEG", "PNG", "WEBP")


def photo_from(data: bytes) -> dict[str, Any]:
    """A photo as a document of the book.

    Parameters
    ----------
    data
        The file: JPEG, PNG or WebP, up to 8 MB and 60 million pixels.

    Returns
    -------
    dict
        ``name`` (of its content), ``width``, ``height``, and JPEG as Base64 in two sizes, ``large`` and ``small``.

    Raises
    ------
    ImpossibleInput
        If it is none of these, too large, or broken.
    """
    if not data:
        raise ImpossibleInput("photo", "", "a photo: none was chosen", code="empty")
    if len(data) > MOST_BYTES:
        raise ImpossibleInput("photo", f"{len(data)} bytes", "a photo of at most 8 MB", code="too_large")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of odd files; whatever matters is refused or drawn anew
            with Image.open(io.BytesIO(data), formats=_FORMATS) as found:
                if found.width * found.height > MOST_PIXELS:
                    raise ImpossibleInput(
                        "photo", f"{found.width} × {found.height}", "a photo of at most 60 megapixels"
                    )
                found.draft("RGB", (LARGE_PX, LARGE_PX))
                upright = ImageOps.exif_transpose(found)
                plain = _on_white(upright)
    except (OSError, SyntaxError, ValueError, Image.DecompressionBombError) as error:
        if isinstance(error, ImpossibleInput):
            raise
        raise ImpossibleInput("photo", type(error).__name__, "a photo as JPEG, PNG or WebP", code="no_photo") from None
    large, small = _jpeg(plain, LARGE_PX, 82), _jpeg(plain, SMALL_PX, 78)
    name = hashlib.sha256(large).hexdigest()[:24]
    shown = {key: base64.b64encode(body).decode() for key, body in (("large", large), ("small", small))}
    return {"name": name, "width": plain.width, "height": plain.height, **shown}


def _on_white(picture: Image.Image) -> Image.Image:
    whole = picture.convert("RGBA")
    ground = Image.new("RGB", whole.size, "white")
    ground.paste(whole, mask=whole.getchannel("A"))
    return ground


def _jpeg(picture: Image.Image, longest_px: int, quality: int) -> bytes:
    copy = picture.copy()
    copy.thumbnail((longest_px, longest_px))
    out = io.BytesIO()
    copy.save(out, "JPEG", quality=quality, optimize=True)
    return out.getvalue()
