"""A Bluetooth thermometer on the real client library, with a backend that has no radio."""

import asyncio

from bleak import BleakClient
from bleak.backends.characteristic import BleakGATTCharacteristic
from bleak.backends.client import BaseBleakClient
from bleak.backends.device import BLEDevice
from bleak.backends.service import BleakGATTService, BleakGATTServiceCollection
from bleak.exc import BleakError
from probe_world import World

from bloomless.errors import DeviceFailure
from bloomless.probes import gatt
from bloomless.probes.bluetooth import Bluetooth


class FakeBackend(BaseBleakClient):
    """A client backend without a radio, written against the library's own abstract class."""

    world = None

    def __init__(self, address_or_ble_device, services=None, **kwargs):
        super().__init__(address_or_ble_device, services=services, **kwargs)
        self._connected = False

    @property
    def mtu_size(self):
        return 23

    @property
    def is_connected(self):
        return self._connected

    async def connect(self, pair, **kwargs):
        if not self.world.here:
            raise BleakError("not in reach")
        self._connected = True
        self.world.client = self
        self.services = self.world.services()

    async def disconnect(self):
        self._connected = False

    def drop(self):
        self._connected = False
        if self._disconnected_callback is not None:
            self._disconnected_callback()

    async def start_notify(self, characteristic, callback, **kwargs):
        self.world.listeners[characteristic.uuid] = callback

    async def stop_notify(self, characteristic):
        self.world.listeners.pop(characteristic.uuid, None)

    async def read_gatt_char(self, characteristic, **kwargs):
        return bytearray(self.world.readable[characteristic.uuid])

    async def pair(self, *args, **kwargs): ...

    async def unpair(self): ...

    async def read_gatt_descriptor(self, descriptor, **kwargs):
        raise NotImplementedError

    async def write_gatt_char(self, characteristic, data, response):
        raise NotImplementedError

    async def write_gatt_descriptor(self, descriptor, data):
        raise NotImplementedError


class BluetoothWorld(World):
    """The real client class of bleak on a backend without a radio."""

    kind = "bluetooth"
    address = "00:11:22:33:44:55"
    garbage = (b"", b"\x01", b"\x00\x80", b"\xff\x7f", b"\x00\x01\x02\x03")
    offers = (
        (gatt.ENVIRONMENTAL_SENSING, gatt.TEMPERATURE, ["read", "notify"]),
        ("0000180f-0000-1000-8000-00805f9b34fb", gatt.BATTERY_LEVEL, ["read"]),
    )

    async def start(self):
        self.here = True
        self.client = None
        self.listeners = {}
        self.readable = {gatt.BATTERY_LEVEL: b"\x5a", gatt.TEMPERATURE: b"\x35\x0c"}

    def services(self):
        collection = BleakGATTServiceCollection()
        for handle, (service_uuid, uuid, properties) in enumerate(self.offers):
            service = BleakGATTService(None, 10 * handle + 1, service_uuid)
            collection.add_service(service)
            characteristic = BleakGATTCharacteristic(None, 10 * handle + 2, uuid, properties, lambda: 20, service)
            collection.add_characteristic(characteristic)
        return collection

    async def find(self, address):
        if not self.here:
            raise DeviceFailure(f"{address} is not in reach, or is switched off.")
        return BLEDevice(address, "probe", None), -61.0

    def client_of(self, device, gone):
        backend = type("Backend", (FakeBackend,), {"world": self})
        return BleakClient(device, disconnected_callback=gone, backend=backend)

    def thermometer(self):
        world = self

        class Radio:
            find = staticmethod(world.find)
            client = staticmethod(world.client_of)

        return Bluetooth(self.address, radio=Radio())

    async def send_raw(self, message):
        async with asyncio.timeout(10):
            while gatt.TEMPERATURE not in self.listeners:
                await asyncio.sleep(0.01)
        self.listeners[gatt.TEMPERATURE](bytearray(message))

    async def send(self, celsius):
        await self.send_raw(round(celsius * 100).to_bytes(2, "little", signed=True))

    async def send_half(self, celsius):
        await self.send_raw(round(celsius * 100).to_bytes(2, "little", signed=True)[:1])

    async def unplug(self):
        self.here = False
        self.listeners.clear()
        if self.client is not None:
            self.client.drop()

    async def plug(self):
        self.here = True
