"""Small worlds of thermometers: one for each kind of way in, with a device that can be killed and brought back.

Shared by the contract test and by ``benchmarks/thermometers.py``.
"""

import sys

from probe_trial import Trial, endure
from probe_world import living, run
from worlds_air import BluetoothWorld, FakeBackend
from worlds_near import BoardWorld, FileWorld, PostedWorld, ReplayWorld, SimulatedWorld, TypedWorld, one_wire_file
from worlds_wired import Broker, ModbusRtuWorld, ModbusWorld, MqttWorld, SerialWorld

__all__ = [
    "WORLDS",
    "BluetoothWorld",
    "Broker",
    "FakeBackend",
    "ModbusWorld",
    "SerialWorld",
    "Trial",
    "endure",
    "living",
    "one_wire_file",
    "run",
]

WORLDS = (
    TypedWorld,
    PostedWorld,
    FileWorld,
    ReplayWorld,
    SimulatedWorld,
    SerialWorld,
    MqttWorld,
    ModbusWorld,
    ModbusRtuWorld,
    BoardWorld,
    BluetoothWorld,
)

if sys.platform == "win32":  # pty and socat
    WORLDS = tuple(w for w in WORLDS if w not in (SerialWorld, ModbusRtuWorld))
