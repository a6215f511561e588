// The thermometer of this bowl, if it has one of its own: when it is lost the bench says so and shows no old number.
import { put, say, t } from "./words.js";

const bench = JSON.parse(document.getElementById("boot").textContent).id;
const line = document.getElementById("probe-lost"), degrees = document.getElementById("degrees");
let before = null; // what stood there when it was lost; a reading typed since then may be shown
function tell(row) {
  const lost = row?.condition === "lost";
  if (lost && before === null) before = degrees.textContent;
  if (!lost) before = null;
  put(line, lost ? `✕ ${t("{name} is lost.", { name: row.name })} ${say(row.why)}` : "");
  line.hidden = !lost;
  document.body.classList.toggle("thermometer-lost", lost && degrees.textContent === before);
}
async function round() {
  let next = 2000;
  if (document.visibilityState === "visible") {
    try {
      const answer = await fetch("/api/v1/probes", { signal: AbortSignal.timeout(4000) });
      const mine = answer.ok ? (await answer.json()).filter((row) => row.bowl === bench) : [];
      tell(mine.find((row) => row.condition === "lost") ?? mine[0]);
      if (answer.ok && !mine.length) next = 10000;
    } catch { /* the bench itself says that the server is away */ }
  }
  setTimeout(round, next);
}
round();
