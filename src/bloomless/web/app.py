"""The app: screens, REST and live stream together, behind one doorkeeper."""

from __future__ import annotations

import asyncio
import secrets
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from fastapi import FastAPI, Request
from starlette.concurrency import run_in_threadpool
from starlette.middleware.gzip import GZipMiddleware
from starlette.responses import JSONResponse, Response

from bloomless import __version__
from bloomless.assembly import House
from bloomless.assembly.bowls import Bowls
from bloomless.assembly.craft import CraftMaker
from bloomless.assembly.notices import listening
from bloomless.assembly.practice import PracticeRoom
from bloomless.assembly.probes_at_work import ProbesAtWork
from bloomless.assembly.working import bench_maker
from bloomless.web import problems
from bloomless.web.bench_api import add_event_schema
from bloomless.web.door import Door, Doorkeeper
from bloomless.web.house_settings import HouseSettings
from bloomless.web.pages import FAMILIES, bench_may, navigation
from bloomless.web.probes_api import work_of
from bloomless.web.render import static_version
from bloomless.web.sign_in import Attempts
from bloomless.web.static_files import KEEP_FOR_EVER, static_file
from bloomless.web.view import view_of
from bloomless.web.words import LANGUAGES, script_words, translations

__all__ = ["Door", "create_app"]


@asynccontextmanager
async def _life(app: FastAPI) -> AsyncIterator[None]:
    """From the start of the server to its end: bowls are looked after, and kept at the end."""
    bowls: Bowls = app.state.bowls
    probes: ProbesAtWork = app.state.probes
    bowls.warm_up()
    await probes.open()
    caring = asyncio.create_task(_look_after(bowls))
    with listening(app.state.house, bowls.hear):
        yield
    app.state.closing.set()
    caring.cancel()
    await run_in_threadpool(app.state.practice.close)
    await probes.close()
    await run_in_threadpool(bowls.close)


async def _look_after(bowls: Bowls) -> None:
    while True:
        await asyncio.sleep(1.0)
        await run_in_threadpool(bowls.look_after)


def create_app(house: House, door: Door | None = None, maker: CraftMaker | None = None) -> FastAPI:
    """The app of an opened house.

    Parameters
    ----------
    house
        The opened house.
    door
        The address it will listen on; decides whether a sign-in is asked for.
    maker
        Makes what works a bowl; the bench's own unless given.

    Returns
    -------
    FastAPI
        An ASGI app. ``app.state`` carries ``house``, ``door``, ``bowls``, ``settings`` … for the routers.
    """
    door = door or Door()
    app = FastAPI(
        title="Bloomless", version=__version__, docs_url=None, redoc_url=None, openapi_url=None,
        description="The bench log over HTTP. Errors are problem details after RFC 9457.", lifespan=_life,
    )  # fmt: skip
    app.state.house, app.state.door, app.state.closing = house, door, asyncio.Event()
    maker = maker or bench_maker()
    app.state.bowls = Bowls(house, maker)
    app.state.practice = PracticeRoom(maker, app.state.bowls.workers, house.clock)
    app.state.probes = work_of(house, app.state.bowls)
    app.state.new_id = lambda: secrets.token_hex(8)
    app.state.settings = HouseSettings(house)
    app.state.attempts = Attempts(house.clock)
    for family in FAMILIES:
        app.include_router(family.router)
    app.add_api_route("/static/{version}/{name}", static_file, methods=["GET", "HEAD"], include_in_schema=False)
    _add_small_routes(app)
    problems.install(app)

    def prepare(request: Request, role: str | None) -> None:
        view = view_of(request, app.state.settings.current())
        request.state.view, request.state.role = view, role
        request.state.gettext = translations(view.language).gettext
        request.state.nav = navigation(role)

    app.add_middleware(GZipMiddleware, minimum_size=700)
    app.add_middleware(Doorkeeper, house=house, door=door, bench_may=bench_may, prepare=prepare)
    return app


def _add_small_routes(app: FastAPI) -> None:
    @app.get("/words/{version}/{language}.js", include_in_schema=False)
    async def words(version: str, language: str) -> Response:  # noqa: ARG001
        """The texts of the ES modules in one language."""
        body = script_words(language if language in LANGUAGES else "en")
        return Response(body, media_type="text/javascript", headers={"cache-control": KEEP_FOR_EVER})

    @app.get("/favicon.ico", include_in_schema=False)
    async def favicon() -> Response:
        """For browsers that ask for it in the old place."""
        return Response(status_code=308, headers={"location": f"/static/{static_version()}/mark.svg"})

    @app.get("/kitchen-certificate", include_in_schema=False)
    async def certificate() -> Response:
        """The public part of the kitchen's own authority, for a tablet to trust."""
        file = app.state.house.places.folder / "tls" / "authority.pem"
        if not file.exists():
            raise problems.Problem(404, "no_certificate", "There is no certificate; start with --tls.")
        names = {"content-disposition": 'attachment; filename="bloomless-kitchen.crt"'}
        return Response(file.read_bytes(), media_type="application/x-x509-ca-cert", headers=names)

    @app.get("/api/v1/openapi.json", include_in_schema=False)
    async def schema() -> Response:
        """The OpenAPI schema."""
        described = app.openapi()
        if "BenchEvent" not in described.get("components", {}).get("schemas", {}):
            add_event_schema(described)
        return JSONResponse(described)
