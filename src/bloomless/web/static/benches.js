// Every open bowl at a glance: one stream for all of them; those that need somebody stand first.
import { put, temperature, percent, t, say } from "./words.js";
import { headline } from "./orders.js";

const tiles = new Map([...document.querySelectorAll("[data-bench]")].map((tile) => [tile.dataset.bench, tile]));
const known = new Map();
function show(bench) {
  const tile = tiles.get(bench), { state, advice } = known.get(bench);
  const estimate = state?.estimate;
  put(tile.querySelector(".bowl-degrees"), temperature(state?.reading?.temperature_C ?? estimate?.temperature_C?.p50));
  put(tile.querySelector(".bowl-chance"), estimate ? t("in temper {chance}", { chance: percent(estimate.chance_in_temper) }) : "");
  put(tile.querySelector(".bowl-step"), state?.finished ? t("Finished") : headline(advice?.next).filter(Boolean).join(" "));
  const alerts = [...(estimate?.alerts ?? []), ...(advice?.alerts ?? [])];
  const worst = alerts.find((one) => one.severity === "stop") ?? alerts.find((one) => one.severity === "check");
  put(tile.querySelector(".bowl-alert"), worst ? `${worst.severity === "stop" ? "■" : "▲"} ${say(worst.text)}` : "");
  tile.classList.toggle("stop", worst?.severity === "stop");
  tile.classList.toggle("needs", worst?.severity === "check");
  tile.style.order = worst?.severity === "stop" ? -2 : worst ? -1 : 0;
}
let stream;
function open() {
  stream = new EventSource(`/api/v1/live?${[...tiles.keys()].map((bench) => `bench=${encodeURIComponent(bench)}`).join("&")}`);
  for (const kind of ["state", "advice"]) stream.addEventListener(kind, (message) => {
    const news = JSON.parse(message.data);
    known.set(news.bench, { ...(known.get(news.bench) ?? {}), [kind]: news[kind] });
    if (tiles.has(news.bench)) show(news.bench);
  });
  stream.onerror = () => { if (stream.readyState === EventSource.CLOSED) setTimeout(open, 1500); };
}
if (tiles.size) open();
document.addEventListener("visibilitychange", () => { stream?.close(); if (document.visibilityState === "visible" && tiles.size) open(); });
