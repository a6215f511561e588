"""``bloomless probe``: find, try, save, watch and check thermometers."""

from __future__ import annotations

import asyncio
import json
import logging
import sys
import threading
from collections.abc import Callable, Coroutine
from dataclasses import asdict
from datetime import UTC, datetime
from typing import Annotated, Any

import typer
from rich.console import Console
from rich.table import Table

from bloomless.cli.probe_check import INFRARED_WARNING, AsJson, Data, calibrate, opened_book
from bloomless.errors import DeviceFailure, ImpossibleInput

__all__ = ["app"]

app = typer.Typer(help="Thermometers: find, try, save, watch, check.", no_args_is_help=True, rich_markup_mode=None)

Settings = Annotated[
    list[str] | None, typer.Option("--set", help="A setting, as name=value; again for each. See `probe kinds`.")
]


def _pairs(settings: list[str] | None) -> dict[str, str]:
    found = {}
    for one in settings or []:
        name, equals, value = one.partition("=")
        if not equals:
            raise ImpossibleInput("--set", one, "name=value")
        found[name.strip()] = value.strip()
    return found


def _show(rows: list[dict[str, Any]], columns: list[str], as_json: bool) -> None:
    if as_json:
        typer.echo(json.dumps(rows, ensure_ascii=False, indent=1, default=str))
        return
    table = Table(*columns)
    for row in rows:
        table.add_row(*("–" if row.get(c) in (None, "") else str(row[c]) for c in columns))
    Console().print(table)


@app.command("kinds")
def kinds(as_json: AsJson = False) -> None:
    """The kinds of way in, and the settings each takes."""
    from bloomless.probes.kinds import KINDS

    if as_json:
        body = {k.name: {"says": k.says, "settings": [asdict(s) for s in k.settings()]} for k in KINDS.values()}
        typer.echo(json.dumps(body, indent=1, default=str))
        return
    for kind in KINDS.values():
        typer.echo(f"{kind.name}: {kind.says}")
        for setting in kind.settings():
            usual = "needed" if setting.required else f"usually {setting.default!r}"
            among = f", one of {', '.join(setting.choices)}" if setting.choices else ""
            typer.echo(f"    {setting.name} ({setting.type.replace('_', '/')}{among}; {usual})")


@app.command("find")
def find(
    seconds: Annotated[float, typer.Option(min=0.1, max=120, help="How long to listen.")] = 6.0,
    broker: Annotated[str, typer.Option(help="Also look at this MQTT broker, as host or host:port.")] = "",
    every: Annotated[bool, typer.Option("--all", help="Also Bluetooth devices that announce no thermometer.")] = False,
    as_json: AsJson = False,
) -> None:
    """Look for thermometers.

    Serial ports, sensors of this computer, Bluetooth in reach, and topics of a broker if one is named.
    """
    from bloomless.probes import finding

    rows: list[dict[str, Any]] = []
    troubles: list[str] = []

    async def look() -> None:
        host, _, port = broker.partition(":")
        ways: list[Callable[[], Any]] = [
            finding.find_board,
            finding.find_serial,
            lambda: finding.find_bluetooth(seconds, every=every),
        ]
        if broker:
            ways.append(lambda: finding.find_mqtt(host, int(port) if port.isdigit() else 1883, seconds))
        for way in ways:
            try:
                found = way()
                rows.extend(asdict(one) for one in (await found if isinstance(found, Coroutine) else found))
            except DeviceFailure as error:
                troubles.append(str(error))

    asyncio.run(look())
    for trouble in troubles:
        typer.echo(trouble, err=True)
    if as_json:
        typer.echo(json.dumps(rows, ensure_ascii=False, indent=1))
        return
    for row in rows:
        row["try it with"] = f"bloomless probe try {row['kind']} " + " ".join(
            f"--set {k}={v}" for k, v in row["settings"].items()
        )
    _show(rows, ["kind", "name", "note", "signal_dBm", "try it with"], as_json=False)


@app.command("try")
def try_(
    kind: Annotated[str, typer.Argument(help="Kind of way in; see `probe kinds`.")],
    settings: Settings = None,
    seconds: Annotated[float, typer.Option(min=0.1, max=600, help="Wait at most so long.")] = 20.0,
    as_json: AsJson = False,
) -> None:
    """Try one without saving it: five readings, or what is wrong."""
    from bloomless.assembly.probe_trial import try_probe
    from bloomless.probes.kinds import settings_from_text

    trial = asyncio.run(try_probe(kind, settings_from_text(kind, _pairs(settings)), seconds))
    body = {
        "readings": [{"quantity": r.quantity, "value": r.value, "sent": r.sent} for r in trial.readings],
        "refused": trial.watch.refused,
        "last_refused": trial.watch.last_refused,
        "trouble": trial.watch.trouble,
        "signal_dBm": trial.signal_dBm,
        "battery_pct": trial.battery_pct,
    }
    if as_json:
        typer.echo(json.dumps(body, ensure_ascii=False, indent=1))
    else:
        for reading in trial.readings:
            unit = "°C" if reading.quantity == "temperature" else "%"
            typer.echo(f"{reading.value:.2f} {unit}   (sent: {reading.sent})")
        if trial.watch.refused:
            typer.echo(f"{trial.watch.refused} messages were no readings; the last: {trial.watch.last_refused}")
    if not trial.readings:
        raise DeviceFailure(trial.watch.trouble or f"Nothing came within {seconds:g} s.")


@app.command("add")
def add(
    name: Annotated[str, typer.Argument(help="Your name for it, such as 'blue needle'.")],
    kind: Annotated[str, typer.Argument(help="Kind of way in; see `probe kinds`.")],
    settings: Settings = None,
    sort: Annotated[str, typer.Option(help="needle, stick, glass or infrared.")] = "needle",
    place: Annotated[str, typer.Option(help="bowl, or room for the kitchen's air.")] = "bowl",
    resolution_K: Annotated[float, typer.Option("--resolution", help="Step of its display, K.")] = 0.1,
    check_every_d: Annotated[float, typer.Option("--check-every", help="Days between checks.")] = 30.0,
    emissivity: Annotated[float, typer.Option(help="Infrared: what it is set to.")] = 0.95,
    data: Data = None,
) -> None:
    """Save a thermometer."""
    from bloomless.bench.probe_register import Registration, save_probe
    from bloomless.probes.kinds import settings_from_text, thermometer_from

    parsed = settings_from_text(kind, _pairs(settings))
    thermometer_from(kind, parsed)
    probe = Registration(
        name, kind, parsed, sort=sort, place=place,  # type: ignore[arg-type]  # checked there
        resolution_K=resolution_K, check_every_d=check_every_d, emissivity=emissivity,
    )  # fmt: skip
    with opened_book(data) as book:
        save_probe(book, probe, at=datetime.now(UTC))
    typer.echo(f"Saved. Check it soon: bloomless probe calibrate '{name}' ice --shown …")
    if sort == "infrared":
        typer.echo(INFRARED_WARNING)


@app.command("forget")
def forget(name: str, data: Data = None) -> None:
    """Take a thermometer out of use; its record of checks stays."""
    with opened_book(data) as book:
        book.withdraw("probe", name, at=datetime.now(UTC))


@app.command("list")
def list_(data: Data = None, as_json: AsJson = False) -> None:
    """Saved thermometers, their error and when the next check is due."""
    from bloomless.bench.probe_register import due, probes_of, spec_of

    now = datetime.now(UTC)
    rows = []
    with opened_book(data) as book:
        for probe in probes_of(book):
            spec, check = spec_of(book, probe, now), due(book, probe, now)
            rows.append(
                {
                    "name": probe.name,
                    "kind": probe.kind,
                    "sort": probe.sort,
                    "bowl": probe.bowl or ("room" if probe.place == "room" else ""),
                    "shows too much by K": f"{spec.offset_C:+.2f} ± {spec.offset_sd_C:.2f}",
                    "lag s": spec.lag_s,
                    "next check": "due now" if check.overdue else check.next and check.next.date().isoformat(),
                }
            )
    _show(rows, ["name", "kind", "sort", "bowl", "shows too much by K", "lag s", "next check"], as_json)


@app.command("watch")
def watch(
    names: Annotated[list[str] | None, typer.Argument(help="Saved thermometers; all of them if none is named.")] = None,
    kind: Annotated[str, typer.Option(help="Watch one that is not saved, of this kind.")] = "",
    settings: Settings = None,
    seconds: Annotated[float, typer.Option(min=0, help="Stop after so long; 0 for until Ctrl-C.")] = 0.0,
    events: Annotated[bool, typer.Option("--events", help="Only readings, as events of the bench log.")] = False,
    data: Data = None,
    as_json: AsJson = False,
) -> None:
    """Print every reading as it comes, and when one is lost or back.

    With --json one object a line. A thermometer of kind `typed` is read from standard input, one line a reading.
    """
    from bloomless.bench.probe_register import Registration, probe_of, probes_of
    from bloomless.probes.kinds import settings_from_text

    if kind:
        probes = [Registration(kind, kind, settings_from_text(kind, _pairs(settings)))]
    else:
        with opened_book(data) as book:
            probes = [probe_of(book, name) for name in names] if names else probes_of(book)
    if not probes:
        raise ImpossibleInput("names", None, "a saved thermometer, or --kind; see `probe find` and `probe add`")
    asyncio.run(_watch(probes, seconds, "events" if events else "json" if as_json else "text"))


async def _watch(probes: list[Any], seconds: float, form: str) -> None:
    from bloomless.bench.thermometers import reading_event
    from bloomless.probes.hub import Hub
    from bloomless.probes.inbox import Typed

    def say(name: str, **what: Any) -> None:
        if form == "json":
            print(json.dumps({"probe": name, **what}, ensure_ascii=False), flush=True)
        elif form == "text":
            now = datetime.now().astimezone().strftime("%H:%M:%S")
            print(f"{now}  {name}: " + ", ".join(str(value) for value in what.values()), flush=True)

    numbers = {probe.name: probe.as_probe for probe in probes}

    def take(reading: Any) -> None:
        if form == "events":
            if reading.quantity == "temperature":
                print(json.dumps(reading_event(reading, probe=numbers[reading.probe])), flush=True)
            return
        if form == "text":
            unit = "°C" if reading.quantity == "temperature" else "% humidity"
            say(reading.probe, reading=f"{reading.value:.2f} {unit}")
            return
        field = "temperature_C" if reading.quantity == "temperature" else "humidity_pct"
        say(reading.probe, when=reading.at.isoformat(timespec="milliseconds"), **{field: round(reading.value, 3)})

    logging.getLogger("bloomless.probes").addHandler(logging.NullHandler())  # what it would say is printed here
    hub = Hub(take)
    for probe in probes:
        keeper = hub.add(probe.name, probe.kind, probe.settings, probe.interval_s)
        if isinstance(keeper.thermometer, Typed):
            _type_in(hub, probe.name, keeper.thermometer)
    conditions: dict[str, str] = {}
    refused: dict[str, int] = {}
    loop = asyncio.get_running_loop()
    limit = loop.time() + seconds if seconds else float("inf")
    try:
        while loop.time() < limit and any(not hub.ended(probe.name) for probe in probes):
            for name, seen in hub.watches().items():
                condition = seen.condition(hub.clock.monotonic_s()).value
                if condition != conditions.get(name, "waiting"):
                    why = seen.why(hub.clock.monotonic_s())
                    say(name, condition=condition, **({"why": why} if why else {}))
                conditions[name] = condition
                if seen.refused > refused.get(name, 0):
                    say(name, refused=f"refused: {seen.last_refused}")
                refused[name] = seen.refused
            await asyncio.sleep(0.1)
    finally:
        await hub.close()


def _type_in(hub: Any, name: str, typed: Any) -> None:
    """Read standard input in a thread that does not keep the program alive; at its end the thermometer is dropped."""
    loop = asyncio.get_running_loop()

    async def end() -> None:
        while typed.waiting:
            await asyncio.sleep(0.02)
        await asyncio.sleep(0.25)  # so that what was refused last is said
        await hub.drop(name)

    def read() -> None:
        for line in sys.stdin:
            if line.strip():
                loop.call_soon_threadsafe(typed.deliver, line.encode())
        asyncio.run_coroutine_threadsafe(end(), loop)

    threading.Thread(target=read, daemon=True).start()


app.command("calibrate")(calibrate)
