"""Style sheets, modules and pictures: read and compressed once, and kept by browsers for ever."""

from __future__ import annotations

import gzip
import mimetypes
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Final

from starlette.requests import Request
from starlette.responses import Response

from bloomless.web.problems import Problem

__all__ = ["KEEP_FOR_EVER", "static_file"]

KEEP_FOR_EVER: Final = "public, max-age=31536000, immutable"
_WORTH_BYTES: Final = 700
_TYPES: Final = {"js": "text/javascript", "svg": "image/svg+xml", "css": "text/css"}


@dataclass(frozen=True, slots=True)
class _File:
    body: bytes
    squeezed: bytes | None
    media_type: str


@cache
def _kept() -> dict[str, _File]:
    found = {}
    for entry in (resources.files("bloomless.web") / "static").iterdir():
        body, kind = entry.read_bytes(), entry.name.rpartition(".")[2]
        media_type = _TYPES.get(kind) or mimetypes.guess_type(entry.name)[0] or "application/octet-stream"
        text = kind in _TYPES and len(body) >= _WORTH_BYTES
        found[entry.name] = _File(body, gzip.compress(body, mtime=0) if text else None, media_type)
    return found


async def static_file(request: Request, version: str, name: str) -> Response:  # noqa: ARG001 - it is for the browser
    """A file under an address that carries its version: a browser never has to ask for one twice."""
    file = _kept().get(name)
    if file is None:
        raise Problem(404, "no_file", "There is no such file.")
    headers = {"cache-control": KEEP_FOR_EVER, "vary": "accept-encoding"}
    if file.squeezed is not None and "gzip" in request.headers.get("accept-encoding", ""):
        return Response(file.squeezed, headers=headers | {"content-encoding": "gzip"}, media_type=file.media_type)
    return Response(file.body, headers=headers, media_type=file.media_type)
