"""REST of the bench: events in, estimate, advice, forecast out. An event is a line of the bench log, unchanged."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Mapping
from typing import Annotated, Any, Final

from fastapi import APIRouter, Path, Query, Request
from pydantic import BaseModel, Field
from starlette.concurrency import run_in_threadpool
from starlette.responses import JSONResponse, PlainTextResponse, Response, StreamingResponse

from bloomless.assembly.bowl import Bowl
from bloomless.assembly.bowls import Bowls
from bloomless.assembly.trail import COLUMNS, thinned
from bloomless.bench.contract import event_from
from bloomless.bench.fields import EVENT_KINDS
from bloomless.bench.ports import StoredEvent
from bloomless.bench.reply_schema import advice_schema, reply_definitions
from bloomless.bench.schema import event_definitions
from bloomless.errors import ImpossibleInput
from bloomless.estimation import events as ev
from bloomless.web.families import Family
from bloomless.web.live import news_of
from bloomless.web.problems import documented

__all__ = ["FAMILY", "add_event_schema", "bench_json", "body_of", "bowl_of", "bowls_of", "stored_json"]

_BenchId = Annotated[str, Path(min_length=1, max_length=200, description="Name of the bench.")]
_PROBLEM_SCHEMA: Final = {
    "type": "object",
    "description": "Problem details after RFC 9457.",
    "required": ["type", "title", "status", "detail", "code"],
    "properties": {
        "type": {"type": "string"},
        "title": {"type": "string"},
        "status": {"type": "integer"},
        "detail": {"type": "string"},
        "code": {"type": "string"},
        "field": {"type": "string"},
        "accepted": {"type": "string"},
    },
}


router = APIRouter(prefix="/api/v1", tags=["bench"], responses=documented(401, 403))


class JsonLines(PlainTextResponse):
    """One JSON object a line."""

    media_type = "application/jsonl"


class EventTaken(BaseModel):
    """An event that is committed."""

    id: str
    number: Annotated[int, Field(ge=1, description="Counts from 1 in each bench.")]
    new: Annotated[bool, Field(description="False if the id was known: nothing changed.")]
    stored_at: str
    event: dict[str, Any]


class BenchSummary(BaseModel):
    """A bench in the list."""

    id: str
    started_at: str
    events: int
    start: dict[str, Any]
    finished: bool


class Series(BaseModel):
    """Rows for a chart, oldest first."""

    columns: list[str]
    rows: list[list[float | None]]


def bowls_of(request: Request) -> Bowls:
    """The bowls of the house."""
    bowls: Bowls = request.app.state.bowls
    return bowls


async def bowl_of(request: Request, bench: str) -> Bowl:
    """A bowl by its name; 404 if there is none."""
    return await run_in_threadpool(bowls_of(request).get, bench)


def stored_json(stored: StoredEvent) -> dict[str, Any]:
    """A stored event as the API shows it."""
    return {
        "id": stored.id,
        "number": stored.number,
        "stored_at": stored.stored_at.isoformat(),
        "event": dict(stored.event),
    }


async def body_of(request: Request) -> dict[str, Any]:
    """The JSON object in a request."""

    def refuse(name: str) -> float:
        raise ValueError(name)

    raw = await request.body()
    try:
        body = json.loads(raw, parse_constant=refuse)
    except (ValueError, RecursionError):
        raise ImpossibleInput(
            "body", raw[:80].decode("utf-8", "replace"), "a JSON object", code="broken_json"
        ) from None
    if not isinstance(body, dict):
        raise ImpossibleInput("body", str(body)[:80], "a JSON object", code="broken_json")
    return body


def _id_in(body: Mapping[str, Any]) -> str | None:
    given = body.get("id")
    if given is None:
        return None
    if not isinstance(given, str) or not 0 < len(given) <= 200 or not given.isprintable():
        raise ImpossibleInput("id", str(given)[:80], "a text of 1 to 200 printable characters", code="wrong_type")
    return given


_EVENT_BODY: Final = {
    "requestBody": {
        "required": True,
        "content": {"application/json": {"schema": {"$ref": "#/components/schemas/BenchEvent"}}},
    }
}
_START_BODY: Final = {
    "requestBody": {
        "required": True,
        "content": {"application/json": {"schema": {"$ref": "#/components/schemas/StartEvent"}}},
    }
}


@router.get("/benches", response_model=list[BenchSummary])
async def benches(request: Request) -> list[dict[str, Any]]:
    """Every bench, newest first."""
    log = request.app.state.house.log
    return [
        {
            "id": one.session,
            "started_at": one.first.stored_at.isoformat(),
            "events": one.events,
            "start": dict(one.first.event),
            "finished": one.last.event.get("what") == "finish",
        }
        for one in reversed(await run_in_threadpool(log.summaries))
    ]


@router.post("/benches", status_code=201, responses=documented(409, 413, 422, 503), openapi_extra=_START_BODY)
async def begin(request: Request) -> Response:
    """Begin a bench with its ``start`` event. With an ``id`` it may be sent again and is begun once (then 200)."""
    body = await body_of(request)
    bowl, future = await run_in_threadpool(bowls_of(request).begin, body, _id_in(body))
    receipt = await asyncio.wrap_future(future)
    taken = stored_json(receipt.stored) | {"bench": bowl.name, "new": receipt.new}
    where = {"location": f"/api/v1/benches/{bowl.name}"}
    return JSONResponse(taken, 201 if receipt.new else 200, where)


@router.get("/benches/{bench}", responses=documented(404, 503))
async def bench(request: Request, bench: _BenchId) -> dict[str, Any]:
    """State of a bench: estimate, advice, what was told."""
    bowl = await bowl_of(request, bench)
    return await run_in_threadpool(bench_json, bowl)


def bench_json(bowl: Bowl) -> dict[str, Any]:
    """Everything a screen needs to draw a bowl."""
    craft = bowl.craft
    assert craft is not None
    started = bowl.started_at or bowl.house.clock()
    return {
        "id": bowl.name,
        "number": bowl.number,
        "started_at": started.isoformat(),
        "now_s": round(bowl.now_s(), 2),
        "start": bowl.trail.start,
        "told": bowl.trail.told,
        "state": bowl.trail.state(craft.believed(), finished=craft.finished),
        "advice": bowl.advice,
        "ahead": json.loads(bowl.last_news["ahead"][1]) if "ahead" in bowl.last_news else None,
        "window_C": craft.window_C(),
        "history": {"columns": COLUMNS, "rows": thinned(bowl.trail.rows)},
    }


@router.post(
    "/benches/{bench}/events",
    status_code=201,
    response_model=EventTaken,
    responses=documented(404, 409, 413, 422, 503) | {200: {"model": EventTaken, "description": "The id was known."}},
    openapi_extra=_EVENT_BODY,
)
async def tell(request: Request, bench: _BenchId) -> Response:
    """Tell an event. It is committed before this answers; a repeated ``id`` changes nothing and is answered 200."""
    bowl = await bowl_of(request, bench)
    body = await body_of(request)
    event_id = _id_in(body) or request.app.state.new_id()
    receipt = await asyncio.wrap_future(bowl.tell(body, event_id))
    return JSONResponse(stored_json(receipt.stored) | {"new": receipt.new}, 201 if receipt.new else 200)


@router.get("/benches/{bench}/events", response_model=list[dict[str, Any]], responses=documented(404, 422, 503))
async def told(
    request: Request,
    bench: _BenchId,
    after: Annotated[int, Query(ge=0, le=2**31 - 1, description="Only events with a higher number.")] = 0,
) -> list[dict[str, Any]]:
    """The events of a bench in the order stored."""
    await bowl_of(request, bench)
    events = await run_in_threadpool(request.app.state.house.log.events, bench, after)
    return [stored_json(event) for event in events]


@router.get("/benches/{bench}/log", responses=documented(404, 503), response_class=JsonLines)
async def log(request: Request, bench: _BenchId) -> Response:
    """The bench log as JSON Lines, to replay anywhere."""
    await bowl_of(request, bench)
    events = await run_in_threadpool(request.app.state.house.log.events, bench)
    lines = "".join(json.dumps(dict(event.event), ensure_ascii=False) + "\n" for event in events)
    disposition = {"content-disposition": f'attachment; filename="bench-{bench}.jsonl"'}
    return JsonLines(lines, headers=disposition)


@router.get("/benches/{bench}/estimate", responses=documented(404, 503))
async def estimate(request: Request, bench: _BenchId) -> dict[str, Any]:
    """What is believed of the bowl."""
    bowl = await bowl_of(request, bench)
    assert bowl.craft is not None
    return {"at": bowl.craft.now_s, "number": bowl.number, **await run_in_threadpool(bowl.craft.believed)}


_ADVICE: Final[dict[int | str, dict[str, Any]]] = {
    200: {
        "description": "The advice that stands.",
        "content": {"application/json": {"schema": {"$ref": "#/components/schemas/Advice"}}},
    }
}


@router.get("/benches/{bench}/advice", responses=_ADVICE | documented(404, 503))
async def advice(request: Request, bench: _BenchId) -> dict[str, Any]:
    """The next step, its chance and reason, and what would follow."""
    bowl = await bowl_of(request, bench)
    return await run_in_threadpool(bowl.ensured_advice)


@router.get("/benches/{bench}/history", response_model=Series, responses=documented(404, 422, 503))
async def history(
    request: Request, bench: _BenchId, most: Annotated[int, Query(ge=10, le=20_000)] = 900
) -> dict[str, Any]:
    """Rows for a chart."""
    bowl = await bowl_of(request, bench)
    return {"columns": COLUMNS, "rows": thinned(bowl.trail.rows, most)}


class Question(BaseModel):
    """What a forecast is asked for."""

    actions: Annotated[list[dict[str, Any]], Field(max_length=20, description="Events, as in the bench log.")] = []
    minutes: Annotated[float, Field(gt=0, le=60)] = 10.0


@router.post("/benches/{bench}/forecast", responses=documented(404, 409, 413, 422, 503))
async def forecast(request: Request, bench: _BenchId, question: Question) -> dict[str, Any]:
    """What would become of the bowl if these actions were done and nothing else."""
    bowl = await bowl_of(request, bench)
    assert bowl.craft is not None
    now_s = bowl.craft.now_s
    actions: list[ev.BowlEvent] = []
    for raw in question.actions:
        event = event_from({"at": now_s, **raw}).event
        if isinstance(event, ev.Start | ev.Correct):
            raise ImpossibleInput("actions", event.what, "actions at the bowl")
        actions.append(event)
    return await run_in_threadpool(bowl.foreseen, actions, question.minutes)


@router.get("/benches/{bench}/live", responses=documented(404, 503), response_class=StreamingResponse)
async def live(request: Request, bench: _BenchId) -> Response:
    """News of a bench as server-sent events: ``state``, ``advice``, ``told``; the latest of each comes at once."""
    bowl = await bowl_of(request, bench)
    headers = {"cache-control": "no-store", "x-accel-buffering": "no"}
    return StreamingResponse(news_of([bowl], request), media_type="text/event-stream", headers=headers)


@router.get("/live", responses=documented(404, 422, 503), response_class=StreamingResponse)
async def live_all(
    request: Request, bench: Annotated[list[str], Query(min_length=1, max_length=60, description="Names of benches.")]
) -> Response:
    """News of several benches in one stream; each piece carries the name of its bench."""
    bowls = [await bowl_of(request, one) for one in bench]
    headers = {"cache-control": "no-store", "x-accel-buffering": "no"}
    return StreamingResponse(news_of(bowls, request, named=True), media_type="text/event-stream", headers=headers)


def add_event_schema(schema: dict[str, Any]) -> None:
    """Put the published schema of the bench log, and of what is answered, into an OpenAPI schema."""
    components = schema.setdefault("components", {}).setdefault("schemas", {})
    answers = reply_definitions() | {"advice": advice_schema()}
    names = {what: f"Event_{what}" for what in EVENT_KINDS} | {part: part.capitalize() for part in answers}
    text = json.dumps(event_definitions() | answers)
    for part, name in names.items():
        text = text.replace(f'"#/$defs/{part}"', f'"#/components/schemas/{name}"')
    for part, definition in json.loads(text).items():
        if part in EVENT_KINDS:
            # Over HTTP an event without a time happened when it arrives.
            definition["allOf"] = [need for need in definition.get("allOf", []) if not _is_time(need)]
        components[names[part]] = definition
    events = [{"$ref": f"#/components/schemas/{names[what]}"} for what in EVENT_KINDS]
    components["BenchEvent"] = {"oneOf": events}
    components["StartEvent"] = {"$ref": "#/components/schemas/Event_start"}
    components["Problem"] = _PROBLEM_SCHEMA


def _is_time(need: Mapping[str, Any]) -> bool:
    return {"required": ["at"]} in need.get("anyOf", [])


FAMILY: Final = Family(router, bench_paths=("/api/v1/benches", "/api/v1/live"))
