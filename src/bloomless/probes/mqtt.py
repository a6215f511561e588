"""MQTT: a topic chosen by the user, a number or a JSON document in it."""

from __future__ import annotations

import logging
import os
from collections.abc import AsyncIterator, Sequence
from typing import Any, Final

from bloomless.bench.thermometers import Facts, Value
from bloomless.errors import DeviceFailure, ImpossibleInput
from bloomless.probes.extras import need
from bloomless.probes.texts import json_values
from bloomless.probes.wiring import Wiring

__all__ = ["Mqtt"]

_LOG: Final = logging.getLogger("bloomless.probes.mqtt")
_ANSWER_s: Final = 5.0
_KEEP_ALIVE_s: Final = 15


class Mqtt:
    """Readings of one topic of a broker.

    Parameters
    ----------
    host, port, topic
        Where they are.
    path, humidity_path, time_path
        Where temperature, humidity and the sender's time stand in a JSON payload; all empty for a plain number.
    wiring
        How the number becomes a temperature.
    name
        Name of this listener at the broker, which throws out the first of two alike; empty for a new one each time.
    username, password_env
        Sign-in; the password is read from this environment variable and is not kept in the book.
    tls
        Encrypted connection, the broker's certificate checked.

    Notes
    -----
    With a ``time_path`` and a ``name`` the session stays at the broker, and readings sent while we were away arrive
    later with their own time. Otherwise they are not asked for: an old value stamped with the time of its arrival would
    be an invented reading. For the same reason retained messages are dropped.
    """

    kind = "mqtt"

    def __init__(
        self,
        host: str,
        topic: str,
        port: int = 1883,
        path: str = "",
        humidity_path: str = "",
        time_path: str = "",
        wiring: Wiring | None = None,
        name: str = "",
        username: str = "",
        password_env: str = "",
        tls: bool = False,
    ) -> None:
        if not 1 <= port <= 65_535:
            raise ImpossibleInput("port", port, "1 to 65535")
        if not topic or "\x00" in topic or len(topic.encode()) > 65_535:
            raise ImpossibleInput("topic", topic, "the topic of one probe, such as kitchen/bowl1/temperature")
        if "#" in topic or "+" in topic:
            raise ImpossibleInput("topic", topic, "the topic of one probe, without + or #")
        self.facts = Facts(note=f"{topic} at {host}")
        self._address: dict[str, Any] = {"hostname": host, "port": port, "identifier": name or None}
        self._address["clean_session"] = not (time_path and name)
        self._where = f"{host}:{port}"
        self._username = username or None
        self._password_env = password_env
        self._tls = tls
        self._topic = topic
        self._paths = {"path": path, "humidity_path": humidity_path, "time_path": time_path}
        self._wiring = wiring or Wiring()

    def _client(self, library: Any) -> Any:
        return library.Client(
            **self._address,
            username=self._username,
            password=os.environ.get(self._password_env) if self._password_env else None,
            tls_params=library.TLSParameters() if self._tls else None,
            timeout=_ANSWER_s,
            keepalive=_KEEP_ALIVE_s,
            logger=_LOG,
        )

    async def frames(self) -> AsyncIterator[bytes]:
        """See ``Thermometer.frames``."""
        library = need("aiomqtt", "MQTT")
        try:
            async with self._client(library) as client:
                await client.subscribe(self._topic, qos=1)
                async for message in client.messages:
                    if not message.retain:
                        yield _bytes(message.payload)
        except library.MqttError as error:
            raise DeviceFailure(f"The broker “{self._where}” does not answer: “{error}”.") from error

    def values(self, frame: bytes) -> Sequence[Value]:
        """See ``Thermometer.values``."""
        return json_values(frame, self._wiring, **self._paths)


def _bytes(payload: object) -> bytes:
    return payload if isinstance(payload, bytes) else str(payload).encode()
