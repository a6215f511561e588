"""``bloomless serve``: the screens and the REST API."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Annotated

import typer

from bloomless.errors import DeviceFailure, Misuse

__all__ = ["serve"]

PHRASE_VARIABLE = "BLOOMLESS_PASS_PHRASE"


def serve(
    host: Annotated[str, typer.Option(help="Address to listen on; 0.0.0.0 for the kitchen's network.")] = "127.0.0.1",
    port: Annotated[int, typer.Option(min=0, max=65535, help="Port to listen on; 0 for any that is free.")] = 8750,
    data: Annotated[Path | None, typer.Option(help="Folder of the book, instead of the one of your user.")] = None,
    tls: Annotated[bool, typer.Option("--tls", help="Encrypt; makes a certificate for the kitchen's network.")] = False,
) -> None:
    """Serve the screens and the REST API until Ctrl-C.

    On this machine alone (the default) no sign-in is asked for. On any other address every page demands the pass
    phrase or the PIN: set them in Settings, give the first pass phrase when asked, or in BLOOMLESS_PASS_PHRASE.
    """
    from bloomless.assembly import open_house, places
    from bloomless.web import Door
    from bloomless.web.server import listening_socket, run, start_lines
    from bloomless.web.sign_in import set_secret

    house = open_house(places(data))
    try:
        if not Door(host).loopback and house.secrets.secret("owner") is None:
            set_secret(house, "owner", _first_pass_phrase())
        try:
            listener = listening_socket(host, port)
        except OSError as error:
            raise DeviceFailure(
                f"{host}:{port} cannot be listened on: {error.strerror}. Try another --port."
            ) from error
        door = Door(host, listener.getsockname()[1], tls)
        for line in start_lines(house, door):
            typer.echo(line)
        run(house, door, listener)
    finally:
        house.close()


def _first_pass_phrase() -> str:
    given = os.environ.get(PHRASE_VARIABLE, "")
    if given:
        return given
    if not os.isatty(0):
        raise Misuse(
            "Other devices are let in only with a pass phrase: set one in Settings first (start without --host), "
            f"or give it in {PHRASE_VARIABLE}.",
            code="no_pass_phrase",
        )
    typer.echo("Other devices will reach this book, so it needs a pass phrase (at least 12 characters).")
    return str(typer.prompt("Pass phrase", hide_input=True, confirmation_prompt=True))
