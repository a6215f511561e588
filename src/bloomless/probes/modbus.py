"""Modbus, over TCP or over a serial line: registers asked for at an interval."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import AsyncIterator, Sequence
from typing import Any, Final

from bloomless.bench.thermometers import Facts, Quantity, Value
from bloomless.errors import DeviceFailure, ImpossibleInput
from bloomless.probes.extras import need
from bloomless.probes.registers import NumberType, Registers, register_value
from bloomless.probes.wiring import Wiring

__all__ = ["Modbus"]

_ANSWER_s: Final = 1.0


class Modbus:
    """One value of one Modbus device.

    Parameters
    ----------
    host, tcp_port
        Address for Modbus TCP; leave ``host`` empty for RTU.
    serial_port, baud, parity
        Line for Modbus RTU.
    device
        Number of the device on the line, 0 to 247.
    address, number, low_word_first, holding
        Where the value stands and how it is written; see ``Registers``.
    quantity
        ``temperature`` or ``humidity``.
    wiring
        Scale and unit; a device that sends 3125 for 31.25 °C has the scale 0.01.
    interval_s
        How often to ask [s].
    """

    kind = "modbus"

    def __init__(
        self,
        host: str = "",
        tcp_port: int = 502,
        serial_port: str = "",
        baud: int = 9600,
        parity: str = "N",
        device: int = 1,
        address: int = 0,
        number: NumberType = "int16",
        low_word_first: bool = False,
        holding: bool = False,
        quantity: Quantity = "temperature",
        wiring: Wiring | None = None,
        interval_s: float = 1.0,
    ) -> None:
        if bool(host) == bool(serial_port):
            raise ImpossibleInput("host", host, "either host (TCP) or serial_port (RTU)")
        if not 0 <= device <= 247 or parity not in ("N", "E", "O") or not 0.001 <= interval_s <= 3600.0:
            raise ImpossibleInput("device", device, "device 0 to 247, parity N, E or O, interval 0.001 to 3600 s")
        self._where = f"{host}:{tcp_port}" if host else serial_port
        self.facts = Facts(note=f"device {device} at {self._where}")
        self._host, self._tcp_port = host, tcp_port
        self._serial_port, self._baud, self._parity = serial_port, baud, parity
        self._device = device
        self._registers = Registers(address, number, low_word_first, holding)
        self._quantity: Quantity = quantity
        self._wiring = wiring or Wiring()
        self._interval_s = interval_s

    def _client(self) -> Any:
        library = need("pymodbus.client", "Modbus")
        logging.getLogger("pymodbus").setLevel(logging.CRITICAL)  # the keeper says what is wrong, once
        # One try: coming back is the keeper's business, not the library's.
        usual = {"timeout": _ANSWER_s, "retries": 0, "reconnect_delay": 0}
        if self._host:
            return library.AsyncModbusTcpClient(
                self._host, port=self._tcp_port, trace_packet=self._only_answers, **usual
            )
        need("serial", "Modbus over a serial line")
        return library.AsyncModbusSerialClient(self._serial_port, baudrate=self._baud, parity=self._parity, **usual)

    def _only_answers(self, sending: bool, packet: bytes) -> bytes:
        """Keep from the library what is no answer to us: it raises on such inside the event loop, once for each."""
        begun = packet[7:9]
        function = 3 if self._registers.holding else 4
        answers = (bytes((function, 2 * self._registers.count)), bytes((function | 0x80,)))
        return packet if sending or len(begun) < 2 or begun.startswith(answers) else b""

    async def frames(self) -> AsyncIterator[bytes]:
        """See ``Thermometer.frames``."""
        client = self._client()
        trouble = need("pymodbus.exceptions", "Modbus").ModbusException
        loop = asyncio.get_running_loop()
        try:
            if not await client.connect():
                raise DeviceFailure(f"“{self._where}” does not answer.")
            ask = client.read_holding_registers if self._registers.holding else client.read_input_registers
            while True:
                asked_s = loop.time()
                answer = await ask(self._registers.address, count=self._registers.count, device_id=self._device)
                if answer.isError():
                    raise DeviceFailure(f"Device {self._device} at “{self._where}” refuses: “{answer}”.")
                yield b"".join(int(word).to_bytes(2, "big") for word in answer.registers)
                await asyncio.sleep(max(self._interval_s - (loop.time() - asked_s), 0.0))
        except trouble as error:
            raise DeviceFailure(f"“{self._where}” does not answer.") from error
        finally:
            client.close()

    def values(self, frame: bytes) -> Sequence[Value]:
        """See ``Thermometer.values``."""
        return (register_value(frame, self._registers, self._wiring, self._quantity),)
