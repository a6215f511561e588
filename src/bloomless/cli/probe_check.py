"""``bloomless probe calibrate``: a thermometer against a known temperature, its lag, its record."""

from __future__ import annotations

import asyncio
import contextlib
import json
import statistics
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated, Any

import typer

from bloomless.errors import DeviceFailure, ImpossibleInput

__all__ = ["INFRARED_WARNING", "AsJson", "Data", "calibrate", "opened_book"]

Data = Annotated[Path | None, typer.Option("--data", help="Folder of the book, instead of the one of your user.")]
AsJson = Annotated[bool, typer.Option("--json", help="For programs.")]

INFRARED_WARNING = (
    "Infrared reads the surface only: stir first, hold it straight above, away from steam and bare metal, "
    "emissivity 0.95."
)


@contextlib.contextmanager
def opened_book(data: Path | None) -> Any:
    """The book of a folder, or the user's own."""
    from bloomless.assembly import open_house, places

    house = open_house(places(data))
    try:
        yield house.book
    finally:
        house.close()


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
    readings: Annotated[
        Path | None,
        typer.Option(help="Lag: a file with seconds and °C, one pair a line; watched for a dip if not given."),
    ] = None,
    seconds: Annotated[float, typer.Option(min=0.1, max=600, help="Lag: how long to watch for the dip.")] = 75.0,
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
    with opened_book(data) as book:
        probe = register.probe_of(book, name)
        findings: tuple[str, ...] = ()
        if method == "void":
            register.void_check(book, name, number, at=now, note=note)
        elif method == "fell":
            register.save_probe(book, replace(probe, fell_at=now.isoformat()), at=now)
        elif method == "lag":
            probe = _with_lag(probe, *(_dip_of(probe, seconds) if readings is None else _dip_in(readings)))
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


def _with_lag(probe: Any, times: list[float], shown: list[float]) -> Any:
    from bloomless.physics.probe_lag import find_dip, lag_from_dip

    where = find_dip(times, shown) or slice(0, len(times))
    lag = lag_from_dip(times[where], shown[where], resolution_K=probe.resolution_K)
    return replace(probe, lag_s=round(lag.lag_s, 2), lag_sd_s=round(lag.sd_s, 2))


def _dip_in(file: Path) -> tuple[list[float], list[float]]:
    try:
        rows = [
            [float(cell) for cell in line.replace(",", "." if ";" in line else " ").replace(";", " ").split()]
            for line in file.read_text(encoding="utf-8").splitlines()
        ]
        return [row[0] for row in rows if row], [row[1] for row in rows if row]
    except (OSError, ValueError, IndexError) as error:
        raise ImpossibleInput("readings", str(file), f"two numbers a line ({error})") from error


def _dip_of(probe: Any, seconds: float) -> tuple[list[float], list[float]]:
    """Listen to a thermometer while it is dipped."""
    typer.echo(
        "Let the tip rest in the air for ten seconds, then dip it at once into water at least 15 °C warmer (not hotter "
        f"than 60 °C) and stir. Watching for {seconds:g} s …",
        err=True,
    )
    heard = [r for r in _heard(probe, seconds, 100_000) if r.quantity == "temperature"]
    return [r.arrived_s for r in heard], [r.value for r in heard]


def _heard(probe: Any, seconds: float, enough: int) -> tuple[Any, ...]:
    """What a thermometer shows for some seconds."""
    from bloomless.assembly.probe_trial import try_probe

    if probe.kind in ("typed", "http"):
        raise ImpossibleInput("name", probe.name, "one that can be asked; of this one say what it shows")
    trial = asyncio.run(try_probe(probe.kind, probe.settings, seconds, enough=enough))
    if not trial.readings:
        raise DeviceFailure(trial.watch.trouble or f"It showed nothing within {seconds:g} s.")
    return trial.readings


def _shown_now(probe: Any) -> float:
    """Median of what the thermometer shows for some seconds."""
    values = [r.value for r in _heard(probe, 15.0, 15) if r.quantity == "temperature"]
    if not values or max(values) - min(values) > 0.5:
        span = f"{min(values):.2f} to {max(values):.2f}" if values else None
        raise ImpossibleInput("shown", span, "a temperature that has come to rest; wait, or give --shown")
    return float(statistics.median(values))


def _other(book: Any, other: str, reference: float | None, now: datetime) -> tuple[float | None, float | None]:
    if not other or reference is None:
        return reference, None
    from bloomless.bench.probe_register import calibration_of, probe_of

    return calibration_of(book, probe_of(book, other), now).true_C(reference)


def _show_record(book: Any, probe: Any, now: datetime, findings: tuple[str, ...], as_json: bool) -> None:
    from bloomless.bench import probe_register as register

    spec, due = register.spec_of(book, probe, now), register.due(book, probe, now)
    calibration = register.calibration_of(book, probe, now)
    settles_s = register.settles_s(spec.lag_s or 0.0)
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
        "settles_s": round(settles_s),
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
    typer.echo(f"Out of a room {register.COOLER_K:g} K cooler it shows the bowl within 0.1 K after {settles_s:.0f} s.")
    if calibration.checks > 1:
        slope, sd = 10.0 * spec.slope, 10.0 * spec.slope_sd
        typer.echo(f"For ten degrees more, what it shows too much changes by {slope:+.3f} K ± {sd:.3f}.")
    typer.echo("A check is due now." if due.overdue else f"Next check: {due.next and due.next.date().isoformat()}.")
    for finding in findings:
        typer.echo(finding)
    if probe.sort == "infrared":
        typer.echo(INFRARED_WARNING)
