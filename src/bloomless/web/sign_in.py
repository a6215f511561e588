"""Signing in: a pass phrase for the book, a PIN for a device at the bench; attempts are counted."""

from __future__ import annotations

import secrets
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Annotated, Final

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError
from fastapi import APIRouter, Request
from pydantic import BaseModel, Field
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from bloomless.assembly import House
from bloomless.errors import ImpossibleInput
from bloomless.storage import SignIn
from bloomless.web.door import SIGN_IN_COOKIE, token_hash
from bloomless.web.families import Family
from bloomless.web.forms import Form
from bloomless.web.problems import Problem, documented
from bloomless.web.render import render

__all__ = ["FAMILY", "Attempts", "set_secret"]

_LASTS: Final = {"owner": timedelta(days=14), "bench": timedelta(days=90)}
SHORTEST: Final = {"owner": 12, "bench": 6}
_hasher: Final = PasswordHasher()
router = APIRouter()


@dataclass
class Attempts:
    """Failed attempts of late, by address and in all; after a few, one has to wait."""

    clock: Callable[[], datetime]
    per_address: int = 5
    in_all: int = 30
    within: timedelta = timedelta(minutes=10)
    failed: dict[str, deque[datetime]] = field(default_factory=dict)

    def wait_s(self, address: str) -> int:
        """Seconds this address has to wait before the next attempt; 0 for none."""
        now = self.clock()
        for moments in self.failed.values():
            while moments and now - moments[0] >= self.within:
                moments.popleft()
        self.failed = {who: moments for who, moments in self.failed.items() if moments}
        own = self.failed.get(address, deque())
        everyone = sorted(moment for moments in self.failed.values() for moment in moments)
        blocking = [own[-self.per_address]] if len(own) >= self.per_address else []
        blocking += [everyone[-self.in_all]] if len(everyone) >= self.in_all else []
        return max((int((moment + self.within - now).total_seconds()) + 1 for moment in blocking), default=0)

    def note(self, address: str) -> None:
        """An attempt is under way; counted as failed until it succeeds."""
        self.failed.setdefault(address, deque()).append(self.clock())

    def forgive(self, address: str) -> None:
        """The right secret was given."""
        self.failed.pop(address, None)


def set_secret(house: House, role: str, secret: str) -> None:
    """Set the pass phrase or the PIN; whoever was signed in by the old one is signed out.

    Raises
    ------
    ImpossibleInput
        If it is too short, or a PIN has anything but digits.
    """
    shortest = SHORTEST[role]
    if role == "bench" and not (secret.isdecimal() and secret.isascii() and shortest <= len(secret) <= 12):
        raise ImpossibleInput("pin", "…", f"{shortest} to 12 digits")
    if role == "owner" and (not shortest <= len(secret) <= 200 or secret.isdecimal()):
        raise ImpossibleInput("pass_phrase", "…", f"{shortest} to 200 characters, not digits alone")
    house.secrets.set_secret(role, _hasher.hash(secret), at=house.clock())


def _role_of(house: House, given: str) -> str | None:
    """The role a secret lets in: digits alone are a PIN."""
    role = "bench" if given.isdecimal() else "owner"
    stored = house.secrets.secret(role)
    try:
        return role if stored is not None and _hasher.verify(stored.hash, given) else None
    except (VerificationError, InvalidHashError):
        return None


def _begin(house: House, role: str, device: str) -> str:
    token = secrets.token_urlsafe(32)
    now = house.clock()
    device = "".join(letter for letter in device if letter.isprintable())[:80] or "device"
    house.secrets.begin(SignIn(token_hash(token), role, device, now, now, now + _LASTS[role]))
    return token


def _address(request: Request) -> str:
    return request.client.host if request.client else "unknown"


async def _admitted(request: Request, given: str, device: str) -> tuple[str, str] | int:
    """Role and token; or the seconds to wait; or 0 seconds for a wrong secret."""
    attempts: Attempts = request.app.state.attempts
    house: House = request.app.state.house
    address = _address(request)
    if wait := attempts.wait_s(address):
        return wait
    attempts.note(address)
    role = await run_in_threadpool(_role_of, house, given)
    if role is None:
        return 0
    attempts.forgive(address)
    return role, await run_in_threadpool(_begin, house, role, device)


def _way(wish: str) -> str:
    """Where to go after signing in: only to a path of our own."""
    return wish if wish.startswith("/") and not wish.startswith(("//", "/\\")) else "/"


@router.get("/sign-in", include_in_schema=False)
async def sign_in_page(request: Request, next: str = "/") -> Response:  # noqa: A002
    """The page that asks for the pass phrase or PIN."""
    if request.state.role is not None:
        return RedirectResponse(_way(next), 303)
    return render(request, "sign_in.html", form=Form(), next=_way(next))


@router.post("/sign-in", include_in_schema=False)
async def sign_in(request: Request) -> Response:
    """Let a device in, or say why not."""
    form = await Form.posted(request)
    given = form.text("secret") or ""
    way = _way(form.values.get("next", "/"))
    door = request.app.state.door
    headers: dict[str, str] = {}
    status = 422
    if form.ok:
        result = await _admitted(request, given, form.values.get("device", "") or _device_name(request))
        if isinstance(result, tuple):
            role, token = result
            answer = RedirectResponse(way, 303)
            answer.set_cookie(
                SIGN_IN_COOKIE, token, max_age=int(_LASTS[role].total_seconds()), httponly=True, samesite="strict",
                secure=door.tls,
            )  # fmt: skip
            return answer
        if result:
            status, headers = 429, {"retry-after": str(result)}
            form.fail(
                "secret", request.state.gettext("Too many attempts. Wait %(n)s minutes.") % {"n": result // 60 + 1}
            )
        else:
            form.fail("secret", request.state.gettext("That is neither the pass phrase nor the PIN."))
    page = render(request, "sign_in.html", status=status, form=Form(errors=form.errors), next=way)
    page.headers.update(headers)
    return page


def _device_name(request: Request) -> str:
    agent = request.headers.get("user-agent", "")
    for sign, name in (("iPad", "iPad"), ("iPhone", "iPhone"), ("Android", "Android"), ("Windows", "Windows"),
                       ("Macintosh", "Mac"), ("Linux", "Linux")):  # fmt: skip
        if sign in agent:
            return name
    return "device"


class Credentials(BaseModel):
    """What a program signs in with."""

    secret: Annotated[str, Field(min_length=1, max_length=200, description="The pass phrase or the PIN.")]
    device: Annotated[str, Field(max_length=80, description="A name for the list of sign-ins.")] = "program"


class Token(BaseModel):
    """What a program sends as ``Authorization: Bearer …`` from then on."""

    token: str
    role: str


@router.post("/api/v1/sign-in", tags=["sign-in"], response_model=Token, responses=documented(401, 403, 413, 422, 429))
async def sign_in_program(request: Request, credentials: Credentials) -> Token:
    """Sign in as a program; needed only off this machine."""
    result = await _admitted(request, credentials.secret, credentials.device)
    if isinstance(result, tuple):
        return Token(role=result[0], token=result[1])
    if result:
        raise Problem(429, "too_many_attempts", f"Too many attempts. Wait {result} seconds.", wait_s=result)
    raise Problem(401, "wrong_secret", "That is neither the pass phrase nor the PIN.")


@router.post("/sign-out", include_in_schema=False)
async def sign_out(request: Request) -> Response:
    """End the sign-in of this device."""
    mine = getattr(request.state, "sign_in", None)
    if mine is not None:
        await run_in_threadpool(request.app.state.house.secrets.end, mine.token_hash)
    answer = RedirectResponse("/sign-in", 303)
    answer.delete_cookie(SIGN_IN_COOKIE)
    return answer


FAMILY: Final = Family(router, bench_paths=("/sign-out",))
