// A Bluetooth or serial probe held by this page, through Web Bluetooth or Web Serial where the browser has them.
import { environmental, health, line, LineJoiner } from "./probe-parsers.js";

const ESS = 0x181a, TEMPERATURE = 0x2a6e, HTS = 0x1809, MEASUREMENT = 0x2a1c;
const wait = (ms) => new Promise((done) => setTimeout(done, ms));
const jitter = (tries) => Math.min(30000, 200 * 2 ** Math.min(tries, 20)) * (0.5 + Math.random() / 2);

// Calls take(celsius) for each reading and said(state) with "live", "lost" or "closed"; gives a function that lets go.
export async function holdBluetooth(take, said) {
  const device = await navigator.bluetooth.requestDevice({ filters: [{ services: [HTS] }, { services: [ESS] }] });
  let open = true, tries = 0, reconnecting = false;
  async function connect() {
    const server = await device.gatt.connect();
    let characteristic, parse = health;
    try { characteristic = await (await server.getPrimaryService(HTS)).getCharacteristic(MEASUREMENT); }
    catch { parse = environmental; characteristic = await (await server.getPrimaryService(ESS)).getCharacteristic(TEMPERATURE); }
    const hear = (data) => {
      const celsius = parse(new Uint8Array(data.buffer, data.byteOffset, data.byteLength));
      if (celsius !== null) { tries = 0; said("live"); take(celsius); }
    };
    if (characteristic.properties.notify || characteristic.properties.indicate) {
      characteristic.oncharacteristicvaluechanged = (event) => hear(event.target.value);
      await characteristic.startNotifications();
    } else (async () => { while (open && device.gatt.connected) { try { hear(await characteristic.readValue()); } catch { return; } await wait(2000); } })();
  }
  async function again() {
    if (reconnecting) return;
    reconnecting = true;
    said("lost");
    while (open && !device.gatt.connected) { await wait(jitter(tries++)); if (open) await connect().catch(() => {}); }
    reconnecting = false;
  }
  device.addEventListener("gattserverdisconnected", again);
  await connect().catch(again);
  return () => { open = false; device.gatt.disconnect(); said("closed"); };
}

export async function holdSerial(take, said, unit, baudRate = 9600) {
  const port = await navigator.serial.requestPort();
  let open = true, reader = null;
  (async () => {
    for (let tries = 0; open; await wait(jitter(tries++))) {
      try {
        await port.open({ baudRate });
        const joiner = new LineJoiner(performance.now()), decoder = new TextDecoder("utf-8");
        reader = port.readable.getReader();
        for (let piece = await reader.read(); !piece.done; piece = await reader.read())
          for (const one of joiner.feed(decoder.decode(piece.value, { stream: true }), performance.now())) {
            const celsius = line(one, unit);
            if (celsius !== null) { tries = 0; said("live"); take(celsius); }
          }
      } catch { /* lost; said below */ }
      reader?.releaseLock();
      reader = null;
      await port.close().catch(() => {});
      if (open) said("lost");
    }
    said("closed");
  })();
  return () => { open = false; reader?.cancel().catch(() => {}); };
}
