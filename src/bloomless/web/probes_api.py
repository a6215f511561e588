"""REST of the thermometers: what each shows now, and readings brought by a program or by a page's own device."""

from __future__ import annotations

import asyncio
import json
import os
from collections.abc import Mapping
from concurrent.futures import Future
from typing import Annotated, Any, Final

from fastapi import APIRouter, Path, Request
from pydantic import BaseModel
from starlette.concurrency import run_in_threadpool

from bloomless.assembly.bowls import Bowls
from bloomless.assembly.house import House
from bloomless.assembly.probes_at_work import Claim, ProbesAtWork
from bloomless.bench.probe_register import Registration
from bloomless.errors import BloomlessError, DeviceFailure, StorageFailure
from bloomless.probes import finding
from bloomless.probes.keeping import SystemClock
from bloomless.storage import Claim as StoredClaim
from bloomless.web.families import Family
from bloomless.web.problems import PROBLEM, Problem

__all__ = ["FAMILY", "probe_rows", "probes_of_request", "work_of"]

_Name = Annotated[str, Path(min_length=1, max_length=60, description="Name of the thermometer.")]
PLACEMENT_ALERTS: Final = frozenset(
    {
        "probe_not_in_the_melt",
        "probe_on_the_wall",
        "not_stirred_in",
        "reading_stuck",
        "reading_jumped",
        "fahrenheit_as_celsius",
        "thermometer_off",
        "thermometer_low_or_seed_dead",
    }
)
"""What a bowl says of its thermometer; shown beside it."""


def _problems(*codes: int) -> dict[int | str, dict[str, Any]]:
    said = {
        400: "The body cannot be read.",
        401: "Not signed in.",
        403: "Not allowed from here.",
        404: "No such thermometer.",
        409: "Readings of this thermometer cannot be posted.",
        413: "Too large.",
        422: "This is no reading.",
        502: "Nobody takes its readings.",
        503: "The book cannot be read.",
    }
    schema = {PROBLEM: {"schema": {"$ref": "#/components/schemas/Problem"}}}
    return {code: {"description": said[code], "content": schema} for code in codes}


router = APIRouter(prefix="/api/v1", tags=["thermometers"], responses=_problems(401, 403))


class ProbeState(BaseModel):
    """A thermometer now. What it shows is null unless it is live: a lost one never shows its last value."""

    name: str
    kind: str
    sort: str
    place: str
    bowl: str
    condition: str
    why: str
    temperature_C: float | None
    true_C: float | None
    """With its known error taken off."""
    doubt_K: float
    humidity_pct: float | None
    sent: str | None
    silent_s: float | None
    interval_s: float
    signal_dBm: float | None
    battery_pct: float | None
    accepted: int
    refused: int
    last_refused: str
    losses: int
    check_due: bool
    alerts: list[str]


class Taken(BaseModel):
    """How many values of a posted message were new."""

    taken: int


class HouseClock(SystemClock):
    """Wall time of the house, so that a test may move it; monotonic time of the machine."""

    def __init__(self, house: House) -> None:
        self._house = house

    def now(self) -> Any:
        """See ``Clock.now``."""
        return self._house.clock()


def work_of(house: House, bowls: Bowls) -> ProbesAtWork:
    """The thermometers of a house, telling its bowls."""

    def tell(bowl: str, event: Mapping[str, Any], event_id: str) -> Future[Any]:
        return bowls.get(bowl).tell(event, event_id)

    return ProbesAtWork(house.book, tell, HouseClock(house), _claim(house))


def _claim(house: House) -> Claim:
    """Of several servers on one book one listens; one that is told to, such as one far from the bench, never does."""
    return _Never() if os.environ.get("BLOOMLESS_PROBES") == "off" else StoredClaim(house.engine, "thermometers")


class _Never:
    """A claim that is left to others."""

    def hold(self) -> bool:
        """Never."""
        return False

    def let_go(self) -> None:
        """There is nothing to give up."""


def probes_of_request(request: Request) -> ProbesAtWork:
    """The thermometers at work."""
    probes: ProbesAtWork = request.app.state.probes
    return probes


def _alerts(bowls: Bowls, bowl_name: str) -> list[str]:
    """What the bowl says of its thermometer, if it is at work here."""
    for bowl in bowls.at_work():
        if bowl.name == bowl_name and "state" in bowl.last_news:
            estimate = json.loads(bowl.last_news["state"][1]).get("estimate") or {}
            return [a["text"] for a in estimate.get("alerts", ()) if a.get("code") in PLACEMENT_ALERTS]
    return []


def _row(request: Request, probe: Registration) -> dict[str, Any]:
    probes = probes_of_request(request)
    row = probes.state(probe)
    checked = probes.checked(probe, request.app.state.house.clock())
    shown = row["temperature_C"]
    row["true_C"] = None if shown is None else round(checked.calibration.true_C(shown)[0], 3)
    row["doubt_K"] = checked.spec.offset_sd_C
    row["check_due"] = probe.place == "bowl" and checked.due.overdue
    row["alerts"] = _alerts(request.app.state.bowls, probe.bowl) if probe.bowl else []
    return row


def probe_rows(request: Request) -> list[dict[str, Any]]:
    """Every thermometer in use as it is now."""
    return [_row(request, probe) for probe in probes_of_request(request).known()]


@router.get("/probes", response_model=list[ProbeState], responses=_problems(503))
async def probes(request: Request) -> list[dict[str, Any]]:
    """Every thermometer in use as it is now."""
    return await run_in_threadpool(probe_rows, request)


_READING: Final = {
    "requestBody": {
        "required": True,
        "content": {
            "application/json": {
                "schema": {
                    "type": "object",
                    "minProperties": 1,
                    "additionalProperties": False,
                    "properties": {
                        "temperature_C": {"type": "number", "minimum": -30, "maximum": 130},
                        "temperature_F": {"type": "number", "minimum": -22, "maximum": 266},
                        "humidity_pct": {"type": "number", "minimum": 0, "maximum": 100},
                        "when": {"type": "string", "format": "date-time", "description": "With its zone."},
                        "id": {"type": "string", "maxLength": 100, "description": "A repeated one is taken once."},
                    },
                }
            }
        },
    }
}


@router.post(
    "/probes/{name}/readings",
    response_model=Taken,
    responses=_problems(404, 409, 413, 422, 502, 503),
    openapi_extra=_READING,
)
async def post_reading(request: Request, name: _Name) -> Taken:
    """Bring a reading to a thermometer of kind ``http``."""
    probes = probes_of_request(request)
    if name not in {probe.name for probe in probes.known()}:
        raise Problem(404, "unknown_name", "No such thermometer.")
    return Taken(taken=len(probes.deliver(name, await request.body())))


@router.post("/probes/{name}/gone", include_in_schema=False)
async def gone(request: Request, name: _Name) -> Taken:
    """A page says that the device it holds is gone, so that it is lost at once and not after three intervals."""
    keeper = probes_of_request(request).keeper(name)
    if keeper is None or keeper.thermometer.kind != "http":
        raise Problem(404, "unknown_name", "No such thermometer.")
    keeper.lose("Its page lost the device.")
    return Taken(taken=0)


@router.get("/probes-found", include_in_schema=False)
async def found(request: Request, seconds: float = 5.0, broker: str = "") -> dict[str, Any]:
    """What thermometers are there, and what could not be looked at; for the keeper of the book."""
    if request.state.role != "owner":
        raise Problem(403, "bench_only", request.state.gettext("Only the keeper of the book can change this."))
    seconds = min(max(seconds, 0.1), 20.0)
    host, _, port = broker.partition(":")
    ways: list[Any] = [
        asyncio.to_thread(finding.find_board),
        asyncio.to_thread(finding.find_serial),
        finding.find_bluetooth(seconds),
    ]
    if host:
        ways.append(finding.find_mqtt(host, int(port) if port.isdigit() else 1883, seconds))
    seen: list[dict[str, Any]] = []
    troubles: list[str] = []
    for outcome in await asyncio.gather(*ways, return_exceptions=True):
        if isinstance(outcome, DeviceFailure | StorageFailure | BloomlessError):
            troubles.append(str(outcome))
        elif isinstance(outcome, BaseException):
            raise outcome
        else:
            seen += [
                {"kind": o.kind, "name": o.name, "settings": o.settings, "note": o.note, "signal_dBm": o.signal_dBm}
                for o in outcome
            ]
    return {"found": seen, "troubles": troubles}


FAMILY: Final = Family(router, bench_paths=("/api/v1/probes",))
