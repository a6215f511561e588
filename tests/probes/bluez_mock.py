# ruff: noqa: F722, F821  # annotations here are D-Bus signatures
"""A stand-in for BlueZ on a bus of its own, after BlueZ's documented D-Bus interface (org.bluez).

It serves one adapter and one thermometer, so that the real client library runs its real code without a radio. Written
with the D-Bus library that the client library brings along, because a ready-made mock cannot be installed everywhere.
"""

import asyncio
import contextlib
import os
import subprocess

from dbus_fast import BusType, PropertyAccess
from dbus_fast.aio import MessageBus
from dbus_fast.errors import DBusError
from dbus_fast.service import ServiceInterface, dbus_method, dbus_property

ADAPTER = "/org/bluez/hci0"
CONFIG = """<busconfig><type>system</type><listen>unix:path={path}</listen><auth>EXTERNAL</auth>
<policy context="default"><allow send_destination="*" eavesdrop="true"/><allow eavesdrop="true"/>
<allow own="*"/></policy></busconfig>"""
READ = PropertyAccess.READ


class Adapter(ServiceInterface):
    def __init__(self, bluez):
        super().__init__("org.bluez.Adapter1")
        self.bluez = bluez
        self.discovering = False

    @dbus_property(access=READ)
    def Address(self) -> "s":
        return "00:00:00:00:00:01"

    @dbus_property(access=READ)
    def Powered(self) -> "b":
        return True

    @dbus_property(access=READ)
    def Discovering(self) -> "b":
        return self.discovering

    @dbus_property(access=READ)
    def Roles(self) -> "as":
        return ["central"]

    @dbus_method()
    def SetDiscoveryFilter(self, properties: "a{sv}"):
        pass

    @dbus_method()
    async def StartDiscovery(self):
        if self.discovering:
            raise DBusError("org.bluez.Error.InProgress", "Operation already in progress")
        self.discovering = True
        self.emit_properties_changed({"Discovering": True})
        asyncio.get_running_loop().call_later(0.05, self.bluez.advertise)

    @dbus_method()
    def StopDiscovery(self):
        self.discovering = False
        self.emit_properties_changed({"Discovering": False})


class Device(ServiceInterface):
    def __init__(self, bluez, address, name, uuids):
        super().__init__("org.bluez.Device1")
        self.bluez, self.address, self.name_, self.uuids = bluez, address, name, uuids
        self.connected = self.resolved = False
        self.rssi = -60

    @dbus_property(access=READ)
    def Address(self) -> "s":
        return self.address

    @dbus_property(access=READ)
    def AddressType(self) -> "s":
        return "public"

    @dbus_property(access=READ)
    def Name(self) -> "s":
        return self.name_

    @dbus_property(access=READ)
    def Alias(self) -> "s":
        return self.name_

    @dbus_property(access=READ)
    def Adapter(self) -> "o":
        return ADAPTER

    @dbus_property(access=READ)
    def UUIDs(self) -> "as":
        return self.uuids

    @dbus_property(access=READ)
    def Paired(self) -> "b":
        return False

    @dbus_property(access=READ)
    def RSSI(self) -> "n":
        return self.rssi

    @dbus_property(access=READ)
    def Connected(self) -> "b":
        return self.connected

    @dbus_property(access=READ)
    def ServicesResolved(self) -> "b":
        return self.resolved

    def change(self, connected):
        self.connected = self.resolved = connected
        self.emit_properties_changed({"Connected": connected})
        self.emit_properties_changed({"ServicesResolved": connected})

    @dbus_method()
    async def Connect(self):
        if not self.bluez.in_reach:
            raise DBusError("org.bluez.Error.Failed", "Page Timeout")
        self.change(True)

    @dbus_method()
    def Disconnect(self):
        self.change(False)


class Service(ServiceInterface):
    def __init__(self, uuid, device):
        super().__init__("org.bluez.GattService1")
        self.uuid, self.device = uuid, device

    @dbus_property(access=READ)
    def UUID(self) -> "s":
        return self.uuid

    @dbus_property(access=READ)
    def Device(self) -> "o":
        return self.device

    @dbus_property(access=READ)
    def Primary(self) -> "b":
        return True


class Characteristic(ServiceInterface):
    def __init__(self, uuid, service, flags, value):
        super().__init__("org.bluez.GattCharacteristic1")
        self.uuid, self.service, self.flags, self.value = uuid, service, flags, value
        self.notifying = False

    @dbus_property(access=READ)
    def UUID(self) -> "s":
        return self.uuid

    @dbus_property(access=READ)
    def Service(self) -> "o":
        return self.service

    @dbus_property(access=READ)
    def Flags(self) -> "as":
        return self.flags

    @dbus_property(access=READ)
    def Notifying(self) -> "b":
        return self.notifying

    @dbus_property(access=READ)
    def Value(self) -> "ay":
        return self.value

    @dbus_method()
    def ReadValue(self, options: "a{sv}") -> "ay":
        return self.value

    @dbus_method()
    def StartNotify(self):
        self.notifying = True
        self.emit_properties_changed({"Notifying": True})

    @dbus_method()
    def StopNotify(self):
        self.notifying = False

    def notify(self, value):
        self.value = value
        self.emit_properties_changed({"Value": value})


class BluezMock:
    """The bus, the adapter, and one device with the characteristics given as (service, uuid, flags, value)."""

    def __init__(self, address, name, characteristics):
        self.address = address
        self.path = f"{ADAPTER}/dev_{address.replace(':', '_')}"
        self.name, self.wanted = name, characteristics
        self.in_reach = True
        self.characteristics = {}

    async def start(self, folder):
        path = folder / "bus"
        config = folder / "bus.conf"
        config.write_text(CONFIG.format(path=path))
        self.daemon = subprocess.Popen(
            ["dbus-daemon", f"--config-file={config}", "--nofork", "--nopidfile"], stderr=subprocess.DEVNULL
        )
        while not path.exists():
            await asyncio.sleep(0.01)
        os.environ["DBUS_SYSTEM_BUS_ADDRESS"] = f"unix:path={path}"
        self.bus = await MessageBus(bus_type=BusType.SYSTEM).connect()
        self.adapter = Adapter(self)
        self.bus.export(ADAPTER, self.adapter)
        services = sorted({service for service, *_ in self.wanted})
        self.device = Device(self, self.address, self.name, services)
        self.bus.export(self.path, self.device)
        for number, (service, uuid, flags, value) in enumerate(self.wanted):
            place = f"{self.path}/service{number:04x}"
            self.bus.export(place, Service(service, self.path))
            characteristic = Characteristic(uuid, place, flags, value)
            self.characteristics[uuid] = characteristic
            self.bus.export(f"{place}/char{number + 1:04x}", characteristic)
        await self.bus.request_name("org.bluez")

    def advertise(self):
        """Another signal strength, as each advertisement has: only changes are reported while scanning."""
        if self.in_reach and self.adapter.discovering:
            self.device.rssi = -61 if self.device.rssi == -60 else -60
            self.device.emit_properties_changed({"RSSI": self.device.rssi})
            asyncio.get_running_loop().call_later(0.05, self.advertise)

    def leave(self):
        self.in_reach = False
        self.device.change(False)

    async def stop(self):
        self.bus.disconnect()
        with contextlib.suppress(KeyError):
            del os.environ["DBUS_SYSTEM_BUS_ADDRESS"]
        self.daemon.terminate()
        self.daemon.wait()
