// Looking around for thermometers: what is found can be tried with one press.
import { el, put, number, say, t } from "./words.js";

const form = document.getElementById("look");
form.addEventListener("submit", async (event) => {
  event.preventDefault();
  put("look-state", t("Listening for some seconds …"));
  document.getElementById("found").replaceChildren();
  const broker = new FormData(form).get("broker").trim();
  let body;
  try {
    const answer = await fetch(`/api/v1/probes-found?broker=${encodeURIComponent(broker)}`, { signal: AbortSignal.timeout(40000) });
    body = await answer.json();
    if (!answer.ok) throw new Error(body.detail);
  } catch (error) { put("look-state", String(error.message ?? error)); return; }
  const items = body.found.map((one) => {
    const query = new URLSearchParams({ kind: one.kind, ...one.settings });
    const about = [one.kind, one.note, one.signal_dBm === null ? "" : t("signal {dBm} dBm", { dBm: number(one.signal_dBm, 0) })].filter(Boolean).join(" · ");
    return el("li", {}, el("span", {}, el("strong", {}, one.name), el("span", { class: "hint" }, ` ${about}`)), el("a", { class: "button second", href: `/thermometer-new?${query}` }, t("Try it")));
  });
  document.getElementById("found").replaceChildren(...items);
  put("look-state", [items.length ? "" : t("Nothing was found."), ...body.troubles.map(say)].filter(Boolean).join(" "));
});
