"""Who may come in by which door: sign-in, same origin, headers; asked before any page is."""

from __future__ import annotations

import hashlib
import hmac
import ipaddress
import logging
from collections.abc import Callable
from dataclasses import dataclass
from http.cookies import SimpleCookie
from typing import Final
from urllib.parse import quote, urlsplit

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from bloomless.assembly import House
from bloomless.errors import StorageFailure
from bloomless.web.problems import problem_response

__all__ = ["SIGN_IN_COOKIE", "Door", "Doorkeeper", "token_hash"]

SIGN_IN_COOKIE: Final = "signed_in"
LARGEST_BODY_BYTES: Final = 8_000_000
_SAFE: Final = {"GET", "HEAD", "OPTIONS"}
_ANYONE: Final = (
    "/static/",
    "/words/",
    "/sign-in",
    "/api/v1/sign-in",
    "/favicon",
    "/kitchen-certificate",
    "/manifest.webmanifest",
)
_HEADERS: Final = {
    "content-security-policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
        "font-src 'self'; manifest-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    ),
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
}


@dataclass(frozen=True, slots=True)
class Door:
    """The address a server listens on."""

    host: str = "127.0.0.1"
    port: int = 8750
    tls: bool = False

    @property
    def loopback(self) -> bool:
        """Whether only this machine can come in."""
        if self.host == "localhost":
            return True
        try:
            return ipaddress.ip_address(self.host).is_loopback
        except ValueError:
            return False


def token_hash(token: str) -> str:
    """What is stored of a sign-in's token: reading the database lets nobody in."""
    return hashlib.sha256(token.encode()).hexdigest()


class Doorkeeper:
    """Middleware that every request passes: origin, sign-in, what a role may see; and the headers of every answer."""

    def __init__(
        self,
        app: ASGIApp,
        *,
        house: House,
        door: Door,
        bench_may: Callable[[str], bool],
        prepare: Callable[[Request, str | None], None],
    ) -> None:
        self.app, self.house, self.door = app, house, door
        self.bench_may, self.prepare = bench_may, prepare

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or answer it here."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        request = Request(scope, receive)

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in _HEADERS.items():
                    headers.setdefault(name, value)
                if not request.url.path.startswith(("/static/", "/words/")):
                    headers.setdefault("cache-control", "no-store")
            await send(message)

        answer = await self._stopped(request)
        await (answer or self.app)(scope, receive, send_with_headers)

    async def _stopped(self, request: Request) -> Response | None:
        """The answer of somebody who may not pass; ``None`` if he may."""
        role = await self._role(request)
        await run_in_threadpool(self.prepare, request, role)
        path = request.url.path
        if self.door.loopback and not _is_loopback_name(request.url.hostname):
            # A page elsewhere may have its own name point at this machine; ours has only these names.
            return problem_response(request, 403, "wrong_host", "Open this page as localhost.")
        if request.method not in _SAFE and not _same_origin(request):
            return problem_response(request, 403, "other_origin", "A page from elsewhere tried to change something.")
        if _too_large(request.headers):
            return problem_response(request, 413, "too_large", "At most 8 MB can be sent at once.")
        if path.startswith(_ANYONE):
            return None
        if role is None:
            if request.method == "GET" and "text/html" in request.headers.get("accept", ""):
                return RedirectResponse(f"/sign-in?next={quote(path)}", 303)
            return problem_response(
                request, 401, "sign_in", "Sign in first.", headers={"www-authenticate": 'Bearer realm="bloomless"'}
            )
        if role == "bench" and not self.bench_may(path):
            return problem_response(request, 403, "bench_only", "This device may only work bowls.")
        return None

    async def _role(self, request: Request) -> str | None:
        if self.door.loopback:
            return "owner"
        token = _token(request.headers)
        if token is None:
            return None
        try:
            found = await run_in_threadpool(self.house.secrets.find, token_hash(token), at=self.house.clock())
        except StorageFailure:
            logging.getLogger("bloomless.web").warning("sign-ins cannot be read")
            return None
        if found is not None:
            request.state.sign_in = found
        return found.role if found else None


def _token(headers: Headers) -> str | None:
    scheme, _, bearer = headers.get("authorization", "").partition(" ")
    if scheme.lower() == "bearer" and bearer:
        return bearer.strip()
    jar = SimpleCookie()
    jar.load(headers.get("cookie", ""))
    return jar[SIGN_IN_COOKIE].value if SIGN_IN_COOKIE in jar else None


def _is_loopback_name(name: str | None) -> bool:
    if name is None:
        return False
    if name == "localhost" or name.endswith(".localhost"):
        return True
    try:
        return ipaddress.ip_address(name.strip("[]")).is_loopback
    except ValueError:
        return False


def _same_origin(request: Request) -> bool:
    """Whether a write comes from one of our own pages, or from a program that is no browser."""
    site = request.headers.get("sec-fetch-site")
    if site is not None and site not in {"same-origin", "none"}:
        return False
    origin = request.headers.get("origin")
    if origin is None:
        return True
    return hmac.compare_digest(urlsplit(origin).netloc.encode(), request.headers.get("host", "").encode())


def _too_large(headers: Headers) -> bool:
    length = headers.get("content-length", "0")
    return not length.isdigit() or int(length) > LARGEST_BODY_BYTES
