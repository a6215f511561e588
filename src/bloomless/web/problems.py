"""Errors: problem details after RFC 9457 for programs, a page with the same words for people."""

from __future__ import annotations

import logging
from typing import Any, Final

from fastapi import FastAPI
from fastapi.encoders import jsonable_encoder
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from bloomless.errors import (
    BloomlessError,
    DeviceFailure,
    ImpossibleInput,
    Misuse,
    OutsideValidity,
    StorageFailure,
    UnknownName,
)
from bloomless.web.render import render

__all__ = ["PROBLEM", "TITLES", "Problem", "documented", "install", "problem_response"]

PROBLEM: Final = "application/problem+json"
_STATUS: Final[dict[type[BloomlessError], int]] = {
    ImpossibleInput: 422,
    OutsideValidity: 422,
    Misuse: 409,
    StorageFailure: 503,
    DeviceFailure: 502,
}
FIRSTS: Final = {
    "recipe": ("/book", "Recipe book"),
    "batch": ("/book", "Recipe book"),
    "lot": ("/book/stock", "Stock and prices"),
    "label": ("/labels", "Labels"),
    "bench": ("/start", "Start a bowl"),
    "probe": ("/thermometer-new", "Add a thermometer"),
    "practice_bowl": ("/practice", "Practice"),
}
"""Where the first of its kind is made, by what an ``UnknownName`` calls its field: path and words of the way there."""
NOWHERE: Final = "There is no page at this address; the menu leads to every page there is."
TITLES: Final = {
    400: "This request cannot be read",
    401: "Please sign in",
    403: "Not from here",
    404: "Nothing here",
    405: "Not in this way",
    409: "Not now",
    413: "Too large",
    415: "Not in this form",
    422: "Something in it is not accepted",
    429: "Too many attempts",
    500: "Something went wrong here",
    502: "A device does not answer",
    503: "Not saved",
}


def documented(*codes: int) -> dict[int | str, dict[str, Any]]:
    """What an OpenAPI schema says of the errors of an operation."""
    said = {
        400: "The body is no JSON.",
        401: "Not signed in.",
        403: "Not allowed from here.",
        404: "No such bench.",
        409: "Not at this moment.",
        413: "Too large.",
        429: "Too many attempts; wait.",
        422: "Something in it is not accepted; field and accepted values are named.",
        503: "The book cannot be written: nothing was saved, send it again.",
    }
    return {
        code: {"description": said[code], "content": {PROBLEM: {"schema": {"$ref": "#/components/schemas/Problem"}}}}
        for code in codes
    }


class Problem(HTTPException):
    """An error with a stable code and a sentence; for routers."""

    def __init__(self, status: int, code: str, detail: str, **more: Any) -> None:
        super().__init__(status, detail)
        self.code, self.more = code, more


def problem_response(
    request: Request, status: int, code: str, detail: str, *, headers: dict[str, str] | None = None,
    first: tuple[str, str] | None = None, **more: Any,
) -> Response:  # fmt: skip
    """The error as the asking side can use it; ``first`` is the way to where the first of something is made."""
    body = {"type": f"urn:bloomless:{code}", "title": TITLES.get(status, "Error"), "status": status, "code": code}
    body |= {"detail": detail, "instance": request.url.path} | more
    wants_page = "text/html" in request.headers.get("accept", "") and not request.url.path.startswith("/api/")
    if wants_page and hasattr(request.state, "view"):
        page = render(request, "problem.html", status=status, problem=body, first=first)
        page.headers.update(headers or {})
        return page
    return JSONResponse(jsonable_encoder(body), status, headers, media_type=PROBLEM)


def _of_ours(request: Request, error: Exception) -> Response:
    assert isinstance(error, BloomlessError)
    status = next((code for kind, code in _STATUS.items() if isinstance(error, kind)), 500)
    more: dict[str, Any] = {}
    if isinstance(error, ImpossibleInput):
        more = {"field": error.field, "value": _shown(error.value), "accepted": error.accepted}
    if isinstance(error, UnknownName) and request.method == "GET":
        status = 404
    return problem_response(request, status, error.code, str(error), first=_first(error), **more)


def _first(error: BloomlessError) -> tuple[str, str] | None:
    return FIRSTS.get(error.field) if isinstance(error, UnknownName) and not error.known else None


def _shown(value: object) -> object:
    return value if isinstance(value, str | int | bool | None) else str(value)[:200]


def _of_http(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    code = getattr(error, "code", f"http_{error.status_code}")
    headers = dict(error.headers) if error.headers else None
    detail = NOWHERE if error.detail == "Not Found" else str(error.detail)
    return problem_response(request, error.status_code, code, detail, headers=headers, **getattr(error, "more", {}))


def _of_validation(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    errors = [
        {"field": ".".join(str(part) for part in one["loc"][1:]), "text": str(one["msg"])} for one in error.errors()
    ]
    first = errors[0] if errors else {"field": "", "text": "It cannot be read."}
    detail = f"{first['field']}: {first['text']}" if first["field"] else first["text"]
    return problem_response(request, 422, "impossible_input", detail, field=first["field"], errors=errors)


def _of_anything(request: Request, error: Exception) -> Response:
    logging.getLogger("bloomless.web").exception("unexpected error at %s", request.url.path, exc_info=error)
    detail = "This is a fault of the program, not of what you did. Everything saved before is still in the book."
    return problem_response(request, 500, "unexpected", detail)


def install(app: FastAPI) -> None:
    """Let every error of the app come out in this form."""
    app.add_exception_handler(BloomlessError, _of_ours)
    app.add_exception_handler(HTTPException, _of_http)
    app.add_exception_handler(RequestValidationError, _of_validation)
    app.add_exception_handler(Exception, _of_anything)
