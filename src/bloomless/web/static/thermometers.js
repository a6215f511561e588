// What every thermometer shows, asked for each second. A lost one shows that it is lost, and nothing else.
import { put, temperature, number, t, say, view } from "./words.js";

const cards = new Map([...document.querySelectorAll("[data-probe]")].map((card) => [card.dataset.probe, card]));

function shownText(row) {
  if (row.condition === "lost") return t("lost");
  if (row.condition !== "live") return t("waiting");
  if (row.temperature_C === null) return row.humidity_pct === null ? "–" : `${number(row.humidity_pct, 0)} %`;
  return temperature(row.temperature_C) + (row.humidity_pct === null ? "" : ` · ${number(row.humidity_pct, 0)} %`);
}
function facts(row) {
  const parts = [];
  if (row.silent_s !== null) parts.push(t("last reading {seconds} s ago", { seconds: number(row.silent_s, 0) }));
  if (row.condition === "live" && row.accepted > 2) parts.push(t("one every {seconds} s", { seconds: number(row.interval_s, row.interval_s < 10 ? 1 : 0) }));
  if (row.signal_dBm !== null) parts.push(t("signal {dBm} dBm", { dBm: number(row.signal_dBm, 0) }));
  if (row.battery_pct !== null) parts.push(t("battery {percent} %", { percent: number(row.battery_pct, 0) }));
  if (row.refused) parts.push(t("{count} refused", { count: number(row.refused, 0) }));
  if (row.losses) parts.push(t("losses: {count}", { count: number(row.losses, 0) }));
  return parts.join(" · ");
}
function show(row) {
  const card = cards.get(row.name);
  if (!card) return;
  card.dataset.condition = row.condition;
  put(card.querySelector(".degrees"), shownText(row));
  put(card.querySelector(".why"), say(row.why));
  const doubt = number(row.doubt_K * (view.temperature === "F" ? 1.8 : 1), 1);
  put(card.querySelector(".true"), row.true_C === null || row.place !== "bowl" ? "" : t("really {true} ± {doubt}", { true: temperature(row.true_C), doubt }));
  put(card.querySelector(".facts"), facts(row));
  const refused = card.querySelector(".refused");
  if (refused) { refused.hidden = !row.last_refused; put(refused.querySelector("span"), row.last_refused); }
  put(card.querySelector(".bowl-says"), row.alerts.map(say).join(" "));
}
async function ask() {
  let failed = true;
  try {
    const answer = await fetch("/api/v1/probes", { signal: AbortSignal.timeout(4000) });
    if (answer.ok) { const rows = await answer.json(); rows.forEach(show); failed = false; }
  } catch { /* said below */ }
  const line = document.getElementById("connection");
  if (failed) for (const card of cards.values()) { card.dataset.condition = "lost"; put(card.querySelector(".degrees"), "–"); put(card.querySelector(".true"), ""); }
  put(line, failed ? t("The server does not answer: nothing here is current.") : "");
  line.hidden = !failed;
}
async function round() {
  if (document.visibilityState === "visible") await ask();
  setTimeout(round, 1000);
}
if (cards.size) round();
