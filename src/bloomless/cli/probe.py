"""``bloomless probe``: find, try, save, watch and check thermometers."""

from __future__ import annotations

import asyncio
import contextlib
import json
import logging
import statistics
import sys
import threading
from collections.abc import Callable, Coroutine
from dataclasses import asdict, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated, Any

import typer
from rich.console import Console
from rich.table import Table

from bloomless.errors import DeviceFailure, ImpossibleInput

__all__ = ["app"]

app = typer.Typer(help="Thermometers: find, try, save, watch, check.", no_args_is_help=True, rich_markup_mode=None)

Data = Annotated[Path | None, typer.Option("--data", help="Folder of the book, instead of the one of your user.")]
AsJson = Annotated[bool, typer.Option("--json", help="For programs.")]
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


@contextlib.contextmanager
def _book(data: Path | None) -> Any:
    from bloomless.assembly import open_house, places

    house = open_house(places(data))
    try:
        yield house.book
    finally:
        house.close()


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
    with _book(data) as book:
        save_probe(book, probe, at=datetime.now(UTC))
    typer.echo(f"Saved. Check it soon: bloomless probe calibrate '{name}' ice --shown …")
    if sort == "infrared":
        typer.echo(INFRARED_WARNING)


INFRARED_WARNING = (
    "Infrared reads the surface only: stir first, hold it straight above, away from steam and bare metal, "
    "emissivity 0.95."
)


@app.command("forget")
def forget(name: str, data: Data = None) -> None:
    """Take a thermometer out of use; its record of checks stays."""
    with _book(data) as book:
        book.withdraw("probe", name, at=datetime.now(UTC))


@app.command("list")
def list_(data: Data = None, as_json: AsJson = False) -> None:
    """Saved thermometers, their error and when the next check is due."""
    from bloomless.bench.probe_register import due, probes_of, spec_of

    now = datetime.now(UTC)
    rows = []
    with _book(data) as book:
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
        with _book(data) as book:
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


CAUTIONS = {
    "ice": "Crushed ice of clean water, slush drained, tip in the middle, stirred; wait three minutes.",
    "boiling": (
        "Steam burns: tip into rolling water from the side, hand out of the steam, pot not fuller than two thirds, "
        "children at arm's length. Give the pressure at your place, not the one reduced to sea level."
    ),
    "second_probe": "Both tips side by side in one stirred bath near 31 °C; wait until neither moves.",
    "skin_warm": (
        "Water of 35 to 39 °C in a cup, the fever thermometer's tip beside the probe's, stirred. "
        "Never put a kitchen probe into a mouth."
    ),
}


@app.command("calibrate")
def calibrate(
    name: Annotated[str, typer.Argument(help="A saved thermometer.")],
    method: Annotated[
        str, typer.Argument(help="ice, boiling, second_probe, skin_warm, lag, fell, void, or record.")
    ] = "record",
    shown: Annotated[float | None, typer.Option(help="What it shows, °C; read from it for 15 s if not given.")] = None,
    reference: Annotated[float | None, typer.Option(help="What the other thermometer shows, °C.")] = None,
    other: Annotated[str, typer.Option(help="The other thermometer, if it is saved: its own error is taken off.")] = "",
    pressure_hPa: Annotated[float | None, typer.Option("--pressure-hpa", help="Air pressure at the pot.")] = None,
    altitude_m: Annotated[
        float | None, typer.Option("--altitude-m", help="Height above the sea, if no pressure.")
    ] = None,
    readings: Annotated[Path | None, typer.Option(help="Lag: a file with seconds and °C, one pair a line.")] = None,
    number: Annotated[int, typer.Option(help="Void: number of the check in the record.")] = 0,
    who: Annotated[str, typer.Option(help="Who made the check.")] = "",
    note: Annotated[str, typer.Option(help="For the record.")] = "",
    data: Data = None,
    as_json: AsJson = False,
) -> None:
    """Check a thermometer, find its lag, or show its record.

    `fell` says that it was knocked or fell; `void` that a check does not count.
    """
    from bloomless.bench import probe_register as register
    from bloomless.physics.calibration import Check, CheckMethod

    now = datetime.now(UTC)
    with _book(data) as book:
        probe = register.probe_of(book, name)
        findings: tuple[str, ...] = ()
        if method == "void":
            register.void_check(book, name, number, at=now, note=note)
        elif method == "fell":
            register.save_probe(book, replace(probe, fell_at=now.isoformat()), at=now)
        elif method == "lag":
            probe = _with_lag(probe, readings)
            register.save_probe(book, probe, at=now)
        elif method != "record":
            if method not in list(CheckMethod):
                raise ImpossibleInput(
                    "method", method, "ice, boiling, second_probe, skin_warm, lag, fell, void, record"
                )
            if not as_json:
                typer.echo(CAUTIONS[method], err=True)
            shown_C = _shown_now(probe) if shown is None else shown
            other_C, other_sd = _other(book, other, reference, now)
            reference_C, doubt = register.reference_for(
                CheckMethod(method), pressure_hPa=pressure_hPa, altitude_m=altitude_m, reference_C=other_C,
                other_sd_K=other_sd, resolution_K=probe.resolution_K,
            )  # fmt: skip
            check = Check(CheckMethod(method), shown_C, reference_C, doubt)
            findings = register.take_check(book, probe, check, at=now, who=who, note=note)
        _show_record(book, probe, now, findings, as_json)


def _with_lag(probe: Any, file: Path | None) -> Any:
    from bloomless.physics.probe_lag import find_dip, lag_from_dip

    if file is None:
        raise ImpossibleInput("readings", None, "a file with seconds and °C of a dip, one pair a line")
    try:
        rows = [
            [float(cell) for cell in line.replace(";", " ").replace(",", " ").split()]
            for line in file.read_text(encoding="utf-8").splitlines()
        ]
        times, shown = zip(*((row[0], row[1]) for row in rows if row), strict=True)
    except (OSError, ValueError, IndexError) as error:
        raise ImpossibleInput("readings", str(file), f"two numbers a line ({error})") from error
    where = find_dip(times, shown) or slice(0, len(times))
    lag = lag_from_dip(times[where], shown[where], resolution_K=probe.resolution_K)
    return replace(probe, lag_s=round(lag.lag_s, 2), lag_sd_s=round(lag.sd_s, 2))


def _shown_now(probe: Any) -> float:
    """Median of what the thermometer shows for some seconds."""
    from bloomless.assembly.probe_trial import try_probe

    if probe.kind in ("typed", "http"):
        raise ImpossibleInput("--shown", None, "what it shows: this thermometer cannot be asked")
    trial = asyncio.run(try_probe(probe.kind, probe.settings, 15.0, enough=15))
    values = [r.value for r in trial.readings if r.quantity == "temperature"]
    if not values:
        raise DeviceFailure(trial.watch.trouble or "It showed nothing within 15 s; give --shown.")
    if max(values) - min(values) > 0.5:
        raise ImpossibleInput("shown", f"{min(values):.2f} to {max(values):.2f}", "a reading that has come to rest")
    return statistics.median(values)


def _other(book: Any, other: str, reference: float | None, now: datetime) -> tuple[float | None, float | None]:
    if not other or reference is None:
        return reference, None
    from bloomless.bench.probe_register import calibration_of, probe_of

    return calibration_of(book, probe_of(book, other), now).true_C(reference)


def _show_record(book: Any, probe: Any, now: datetime, findings: tuple[str, ...], as_json: bool) -> None:
    from bloomless.bench import probe_register as register

    spec, due = register.spec_of(book, probe, now), register.due(book, probe, now)
    calibration = register.calibration_of(book, probe, now)
    record: list[dict[str, Any]] = [
        {
            "number": one.number,
            "at": one.at.isoformat(timespec="minutes"),
            "method": one.check.method.value,
            "shown_C": one.check.shown_C,
            "reference_C": round(one.check.reference_C, 2),
            "doubt_K": round(one.check.doubt_K, 2),
            "who": one.who,
            "note": one.note,
            "void": one.void,
        }
        for one in register.checks_of(book, probe.name)
    ]
    body = {
        "probe": probe.name,
        "offset_C": spec.offset_C,
        "offset_sd_C": spec.offset_sd_C,
        "slope": round(calibration.slope, 5),
        "slope_sd": round(calibration.variance_slope**0.5, 5),
        "lag_s": spec.lag_s,
        "lag_sd_s": probe.lag_sd_s,
        "next_check": None if due.next is None else due.next.date().isoformat(),
        "overdue": due.overdue,
        "findings": list(findings),
        "record": record,
    }
    if as_json:
        typer.echo(json.dumps(body, ensure_ascii=False, indent=1))
        return
    for one in record:
        void = " (void)" if one["void"] else ""
        said = ", ".join(text for text in (one["who"], one["note"]) if text)
        typer.echo(
            f"{one['number']:>3}  {one['at'][:16].replace('T', ' ')}  {one['method']}: shown {one['shown_C']:g} °C, "
            f"true {one['reference_C']:g} ± {one['doubt_K']:g} °C{void}{'  ' + said if said else ''}"
        )
    lag = f"{spec.lag_s:g} s" + (f" ± {probe.lag_sd_s:g}" if probe.lag_sd_s else " (usual of its kind)")
    if calibration.checks:
        typer.echo(f"Near 31 °C it shows {spec.offset_C:+.2f} K ± {spec.offset_sd_C:.2f} too much; lag {lag}.")
    else:
        typer.echo(f"Not checked yet: near 31 °C it may well be off by {spec.offset_sd_C:.2f} K; lag {lag}.")
    if calibration.checks > 1:
        slope, sd = 10.0 * spec.slope, 10.0 * spec.slope_sd
        typer.echo(f"For ten degrees more, what it shows too much changes by {slope:+.3f} K ± {sd:.3f}.")
    typer.echo("A check is due now." if due.overdue else f"Next check: {due.next and due.next.date().isoformat()}.")
    for finding in findings:
        typer.echo(finding)
    if probe.sort == "infrared":
        typer.echo(INFRARED_WARNING)
