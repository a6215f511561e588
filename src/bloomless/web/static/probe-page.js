// One thermometer: which check, the dip, a probe of this tablet.
import { put, number, t, view } from "./words.js";
import { holdBluetooth, holdSerial } from "./own-device.js";

const name = document.querySelector("[data-probe]").dataset.probe;
const api = `/api/v1/probes/${encodeURIComponent(name)}`;

// ---------------------------------------------------------------- which check
const form = document.getElementById("check-form");
function chosen() {
  const method = new FormData(form).get("method");
  for (const part of form.querySelectorAll("[data-method]")) part.hidden = !part.dataset.method.split(" ").includes(method);
}
if (form) { form.addEventListener("change", chosen); chosen(); }

// ---------------------------------------------------------------- the dip
// The server keeps the last readings; the page only says when enough of them are there.
const dip = document.getElementById("dip");
dip?.addEventListener("click", async () => {
  dip.disabled = true;
  for (let left = Number(dip.dataset.seconds ?? 75); left > 0; left -= 1) {
    put("dip-state", left > 65 ? t("Dip it now, and stir.") : t("Wait {seconds} s more.", { seconds: number(left, 0) }));
    await new Promise((done) => setTimeout(done, 1000));
  }
  const answer = await fetch(`/thermometers/${encodeURIComponent(name)}/lag`, { method: "POST" });
  const body = await answer.json();
  put("dip-state", answer.ok ? t("Lag {lag} ± {sd} s", { lag: number(body.lag_s, 1), sd: number(body.sd_s, 1) }) : body.detail);
  if (answer.ok) { put("lag-known", t("It follows with a lag of {lag} ± {sd} s.", { lag: number(body.lag_s, 1), sd: number(body.sd_s, 1) })); put("settles", number(body.settles_s, 0)); }
  dip.disabled = false;
});

// ---------------------------------------------------------------- a probe of this tablet
const waiting = [];
let sending = false, count = 0, letGo = null;
async function send() {
  if (sending) return;
  sending = true;
  await clocks;
  while (waiting.length) {
    try {
      const answer = await fetch(`${api}/readings`, { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(message(waiting[0])), signal: AbortSignal.timeout(4000) });
      if (answer.status >= 500) throw new Error("server");
      if (!answer.ok) put("own-state", t("The server refused a reading."));
      waiting.shift();
    } catch { await new Promise((done) => setTimeout(done, 1500)); if (waiting.length > 1200) waiting.splice(0, 600); }
  }
  sending = false;
}
// A tablet's clock may be minutes off; the server's counts.
let ahead_ms = 0, clocks = null;
async function compareClocks() {
  const asked = Date.now();
  const answer = await fetch("/api/v1/probes", { cache: "no-store", signal: AbortSignal.timeout(4000) });
  const theirs = Date.parse(answer.headers.get("date") ?? "") + 500; // whole seconds are told
  const found = (asked + Date.now()) / 2 - theirs;
  if (Math.abs(found) > 2000) ahead_ms = found;
}
const run = `${Date.now().toString(36)}${Math.random().toString(36).slice(2, 8)}`;
const message = ({ at_ms, ...reading }) => ({ ...reading, when: new Date(at_ms - ahead_ms).toISOString() });
function take(celsius) {
  waiting.push({ temperature_C: Math.round(celsius * 1000) / 1000, at_ms: Date.now(), id: `${run}-${count++}` });
  send();
}
function said(state) {
  put("own-state", { live: t("This page holds the probe and sends its readings."), lost: t("The probe is lost; looking for it again."), closed: "" }[state]);
  if (state === "lost") fetch(`${api}/gone`, { method: "POST" }).catch(() => {});
}
async function hold(how) {
  letGo?.();
  clocks = compareClocks().catch(() => {}); // not waited for: the browser's list must open within the tap
  try { letGo = await how(take, said, view.temperature); }
  catch (error) { put("own-state", error.name === "NotFoundError" ? t("None was chosen.") : String(error.message ?? error)); }
}
const bluetooth = document.getElementById("own-bluetooth"), serial = document.getElementById("own-serial");
if (bluetooth && (navigator.bluetooth || navigator.serial)) {
  document.getElementById("own-device").hidden = false;
  document.getElementById("own-none").hidden = true;
  bluetooth.hidden = !navigator.bluetooth;
  serial.hidden = !navigator.serial;
  bluetooth.addEventListener("click", () => hold(holdBluetooth));
  serial.addEventListener("click", () => hold(holdSerial));
}
