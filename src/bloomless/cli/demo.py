"""``bloomless demo``: the bench on screen, with a simulated thermometer and a batch under way."""

from __future__ import annotations

import json
import os
import sys
import tempfile
import threading
import time
import webbrowser
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any

import typer

__all__ = ["demo"]

SEED = 7
"""Of the simulated kitchen: the same demonstration for everybody."""
UNSEEN_s = 300.0
"""How long the screen stays open for nobody, where no browser could be opened here."""


def demo(
    port: Annotated[int, typer.Option(min=0, max=65535, help="Port of the screen; 0 for any that is free.")] = 0,
    speed: Annotated[int, typer.Option(help="How fast the simulated time runs: 1, 2, 4, 10 or 20.")] = 4,
    seconds: Annotated[float | None, typer.Option(min=0, help="Stop after so long.")] = None,
    text: Annotated[bool, typer.Option("--text", help="Play it here in text, to the end.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Play it to the end; one JSON object.")] = False,
) -> None:
    """Open the bench on screen: a simulated thermometer, a batch already under way, advice to follow.

    Nothing is kept: the book lies in a temporary folder. Where no browser can be opened, the same batch is played here
    in text as well, by a cook who does what the advice says; the screen stays open for a browser on another machine
    until nobody has looked at it for five minutes.
    """
    from bloomless.assembly import open_house, places
    from bloomless.assembly.advised import AdvisedCook
    from bloomless.bench.demo_book import load_demo
    from bloomless.web import Door
    from bloomless.web.server import configured, listening_socket

    with tempfile.TemporaryDirectory(prefix="bloomless-demo-") as folder:
        house = open_house(places(Path(folder), {}))
        load_demo(house.book, at=house.clock())
        listener = listening_socket("127.0.0.1", port)
        try:
            server = configured(house, Door("127.0.0.1", listener.getsockname()[1]))
            if not as_json:
                typer.echo("A bowl is being started (the first time the kernels are compiled, which takes a minute) …")

            def under_way() -> Any:
                table = server.app.state.practice.open(kind="dark", level="usual", seed=SEED)
                table.set_speed(speed)
                cook = AdvisedCook(table)
                cook.work(600.0, stop_after="seed")
                return cook

            table = under_way().table
            address = f"http://localhost:{listener.getsockname()[1]}/practice/{table.name}?guide=1"
            thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
            thread.start()
            if not (as_json or text):
                typer.echo(f"The bench is open at {address}")
            seen = not (as_json or text) and _browser(address)
            if not seen:
                _play(under_way(), as_json=as_json, address=address, seconds=seconds)
            if not (as_json or text):
                typer.echo(f"The screen stays open at {address}; stop with Ctrl-C.")
                _wait(thread, seconds, None if seen else server.server_state)
            server.should_exit = True
            thread.join(10)
        finally:
            listener.close()
            house.close()


def _browser(address: str) -> bool:
    """Open a browser where there is a screen."""
    has_screen = sys.platform in {"darwin", "win32"} or os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")
    return bool(has_screen) and webbrowser.open(address)


def _wait(thread: threading.Thread, seconds: float | None, visits: Any) -> None:
    """Until Ctrl-C, for so many seconds, or, where visits are watched, until nobody came for five minutes."""
    until = None if seconds is None else time.monotonic() + seconds
    seen, asked = time.monotonic(), 0
    while thread.is_alive() and (until is None or time.monotonic() < until):
        thread.join(0.2)
        if visits is not None:
            if visits.connections or visits.total_requests != asked:
                seen, asked = time.monotonic(), visits.total_requests
            if time.monotonic() - seen > UNSEEN_s:
                break


def _play(cook: Any, *, as_json: bool, address: str, seconds: float | None) -> None:
    """Play the rest of the bowl, faster than real time; a line a minute and one for each act and each new order."""
    from bloomless.cli.practice_draw import order_words

    table = cook.table
    began, shown_s, asked = time.monotonic(), -60.0, ""
    if not as_json:
        for line in table.practice.log:
            if line["what"] != "reading":
                typer.echo(f"{_clock(line)}  {_told(line)}")
    while not table.practice.over and (seconds is None or time.monotonic() - began < seconds):
        before = len(table.practice.log)
        cook.work(table.live.now_s() + 5.0)
        for line in table.practice.log[before:]:
            due = line["what"] != "reading" or line["at"] - shown_s >= 60.0
            if due and not as_json:
                shown_s = line["at"]
                typer.echo(_line(table, line))
        order = table.live.advice["next"]
        if order["id"] != asked and not (as_json or table.practice.over):
            asked = order["id"]
            typer.echo(f"        next: {order_words({'next': order})}")
    believed = table.live.craft.believed()
    result: dict[str, Any] = {
        "address": address,
        "at": table.live.now_s(),
        "chance_in_temper": believed["chance_in_temper"],
        "next": table.live.advice.get("next", {}).get("do"),
        "finished": table.practice.over,
    }
    if table.practice.over:
        verdict = table.verdict()
        result |= {"in_temper": verdict["score"]["in_temper"], "points": verdict["score"]["total"]}
    if as_json:
        typer.echo(json.dumps(result))
    elif table.practice.over:
        really = "in temper" if result["in_temper"] else "not in temper"
        typer.echo(
            f"Finished after {result['at'] / 60:.0f} minutes: really {really}, {result['points']} of 100 points."
        )


def _line(table: Any, line: Mapping[str, Any]) -> str:
    believed, shown = table.live.craft.believed(), table.live.trail.reading or {"temperature_C": float("nan")}
    bowl = f"bowl {believed['temperature_C']['p50']:.1f} °C, shown {shown['temperature_C']:.1f} °C"
    told = "" if line["what"] == "reading" else _told(line)
    return f"{_clock(line)}  {bowl}  in temper {100 * (believed['chance_in_temper'] or 0.0):2.0f} %  {told}".rstrip()


def _told(line: Mapping[str, Any]) -> str:
    from bloomless.bench.contract import event_from
    from bloomless.bench.story import in_words

    return in_words(event_from(dict(line)).event)


def _clock(line: Mapping[str, Any]) -> str:
    minutes, rest = divmod(int(line["at"]), 60)
    return f"{minutes:3d}:{rest:02d}"
