"""A drawn photo for tests: a bonbon on a table, with a place and a camera written into it."""

import io

from PIL import Image, ImageDraw


def drawn(form: str, size: tuple[int, int] = (900, 600), **save: object) -> bytes:
    """The picture as a file of a format."""
    picture = Image.new("RGB", size, "#d8c9b4")
    pen = ImageDraw.Draw(picture)
    w, h = size
    pen.ellipse((0.28 * w, 0.3 * h, 0.76 * w, 0.86 * h), fill="#b29c80")
    pen.ellipse((0.25 * w, 0.2 * h, 0.72 * w, 0.8 * h), fill="#3b2114")
    pen.ellipse((0.36 * w, 0.28 * h, 0.47 * w, 0.4 * h), fill="#8f6a52")
    out = io.BytesIO()
    picture.save(out, form, **save)
    return out.getvalue()
