// Two benches, one curve over the other.
import { el, clock } from "./words.js";
import { Chart, describe } from "./chart.js";
import { inWords } from "./orders.js";

const [first, second] = JSON.parse(document.getElementById("boot").textContent);
const chart = new Chart(document.getElementById("chart"), { label: describe(first.history.rows) });
chart.span = 0;
chart.still = true;
chart.set({ rows: first.history.rows, window: first.window_C, others: [second.history.rows], marks: first.told.filter((one) => !["start", "correct"].includes(one.event.what)).map((one) => ({ at: one.event.at, what: one.event.what })) });
for (const [index, side] of [first, second].entries()) {
  document.querySelector(`[data-side="${index}"]`).replaceChildren(...side.told.filter((one) => one.event.what !== "correct").map((one) => el("li", {}, el("span", {}, el("span", { class: "when" }, clock(one.event.at ?? 0)), ` ${inWords(one.event)}`))));
}
