"""Running the app: a socket, uvicorn, and what the first lines say."""

from __future__ import annotations

import contextlib
import ipaddress
import socket
from typing import Any

import uvicorn
from fastapi import FastAPI

from bloomless.assembly import House
from bloomless.assembly.craft import CraftMaker
from bloomless.web.app import create_app
from bloomless.web.certificate import kitchen_certificate
from bloomless.web.door import Door

__all__ = ["HouseServer", "addresses", "configured", "listening_socket", "run", "start_lines"]


def listening_socket(host: str, port: int) -> socket.socket:
    """A listening socket; raises ``OSError`` if the address is taken or not ours."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    # Named as TCP, so that asyncio sends small answers at once (TCP_NODELAY): else every body waits 40 ms for an ACK.
    listener = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    try:
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listener.bind((host, port))
        listener.listen(512)  # from here on a connection waits instead of being refused
    except OSError:
        listener.close()
        raise
    return listener


def addresses(host: str) -> list[str]:
    """Addresses under which other devices reach a host that is "all of them"."""
    if host not in {"0.0.0.0", "::"}:
        return [host]
    found: list[str] = []
    with contextlib.suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        probe.connect(("192.0.2.1", 9))  # nothing is sent: it asks which way out would be taken (RFC 5737 address)
        found.append(probe.getsockname()[0])
    return found or ["127.0.0.1"]


def start_lines(house: House, door: Door) -> list[str]:
    """What is open to whom, said at the start."""
    scheme = "https" if door.tls else "http"
    names = ["localhost" if door.loopback else name for name in addresses(door.host)]
    lines = [f"Bloomless is open at {scheme}://{_in_url(name)}:{door.port}/" for name in names]
    if door.loopback:
        lines.append("Open to this machine only; no sign-in is asked for.")
    else:
        pin = "the PIN works bowls only" if house.secrets.secret("bench") else "no PIN is set"
        lines.append(f"Open to every device that can reach this address; each must sign in ({pin}).")
        if not door.tls:
            lines.append(
                "Not encrypted: sign-in and records can be read on the network, and tablets will not stay awake. "
                "Start with --tls to change that."
            )
    if door.tls:
        certificate = kitchen_certificate(house.places.folder, addresses(door.host), house.clock())
        lines += certificate.how_to_trust(f"{scheme}://{_in_url(names[0])}:{door.port}/kitchen-certificate")
    lines.append(f"The book: {house.places.shown}. Stop with Ctrl-C.")
    return lines


def _in_url(name: str) -> str:
    with contextlib.suppress(ValueError):
        if ipaddress.ip_address(name).version == 6:
            return f"[{name}]"
    return name


class HouseServer(uvicorn.Server):
    """Ends the live streams first: otherwise the end would wait for screens that never leave."""

    def __init__(self, config: uvicorn.Config, app: FastAPI) -> None:
        super().__init__(config)
        self.app = app

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """Say good-bye to the screens, then do as usual."""
        self.app.state.closing.set()
        await super().shutdown(sockets)


def configured(house: House, door: Door, maker: CraftMaker | None = None) -> HouseServer:
    """A server that has not started yet; ``maker`` as for ``create_app``."""
    options: dict[str, Any] = {}
    if door.tls:
        certificate = kitchen_certificate(house.places.folder, addresses(door.host), house.clock())
        options = {"ssl_certfile": str(certificate.chain_file), "ssl_keyfile": str(certificate.key_file)}
    app = create_app(house, door, maker)
    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        timeout_graceful_shutdown=2,
        proxy_headers=False,
        **options,
    )
    return HouseServer(config, app)


def run(house: House, door: Door, listener: socket.socket) -> None:
    """Serve until stopped."""
    configured(house, door).run(sockets=[listener])
