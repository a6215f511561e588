// The story of a past bench: its curve, what was done, and the same curve with hindsight.
import { t, el, put, clock, span } from "./words.js";
import { Chart, describe } from "./chart.js";
import { inWords } from "./orders.js";

const boot = JSON.parse(document.getElementById("boot").textContent);
const undone = new Set(boot.told.filter((one) => one.event.what === "correct").map((one) => one.event.of));
const chart = new Chart(document.getElementById("chart"), { label: describe(boot.history.rows) });
chart.span = 0;
chart.still = true;
chart.set({ rows: boot.history.rows, window: boot.window_C, marks: boot.told.filter((one) => !["start", "correct"].includes(one.event.what)).map((one) => ({ at: one.event.at, what: one.event.what, undone: undone.has(one.id) })) });
document.getElementById("told").replaceChildren(...boot.told.filter((one) => one.event.what !== "correct").map((one) =>
  el("li", { class: undone.has(one.id) ? "undone" : "" }, el("span", {}, el("span", { class: "when" }, clock(one.event.at ?? 0)), ` ${inWords(one.event)}`, undone.has(one.id) ? el("em", {}, ` ${t("undone")}`) : null))));
const button = document.getElementById("again");
button.addEventListener("click", async () => {
  button.disabled = true;
  put("again-text", t("Looking at it again …"));
  const answer = await fetch(`/past/${encodeURIComponent(boot.id)}/again`);
  if (!answer.ok) { put("again-text", t("That did not work.")); button.disabled = false; return; }
  const seen = await answer.json();
  const readings = boot.history.rows.filter((row) => row[1] !== null).map((row) => [row[0], row[1], null, null, null]);
  chart.set({ rows: [...readings, ...seen.rows].sort((a, b) => a[0] - b[0]) });
  put("again-text", seen.offset_C ? taught(seen.offset_C) : t("With what is known today."));
});
document.getElementById("print").addEventListener("click", () => print());
function taught([offset_K, doubt_K]) {
  const values = { offset: span(offset_K), doubt: span(doubt_K) };
  return offset_K < 0 ? t("With what the whole bench taught: the thermometer shows {offset} too little (± {doubt}).", values) : t("With what the whole bench taught: the thermometer shows {offset} too much (± {doubt}).", values);
}
