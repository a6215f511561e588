// Alerts: the worst one open, the others one tap away; each is said once and can be put off.
import { t, el, say } from "./words.js";
import { bowl } from "./bowl.js";
import { speak, tone } from "./sound.js";

const RANK = { stop: 0, check: 1, say: 2 };
const SHAPES = { stop: "■", check: "▲", say: "●" };
const NAMES = () => ({ stop: t("Stop"), check: t("Look"), say: t("Note") });
// The caution inside the step says these already.
const IN_THE_STEP = new Set(["dry_the_foot", "microwave_care"]);
const putOff = new Set();
let key = "";

function standing() {
  const all = [...(bowl.state.estimate?.alerts ?? []), ...(bowl.advice.alerts ?? [])];
  const once = [...new Map(all.map((one) => [one.code, one])).values()];
  return once.filter((one) => one.severity === "stop" || !(putOff.has(one.code) || IN_THE_STEP.has(one.code))).sort((a, b) => RANK[a.severity] - RANK[b.severity]);
}
// What to do, and under it why. On a phone the reason of a mere note folds, so that the step and its button stay in sight.
const ROOMY = matchMedia("(min-width:700px)");
function line(one) {
  const later = () => { putOff.add(one.code); key = ""; showAlerts(); };
  const folds = one.do && one.severity === "say" && !ROOMY.matches;
  const reason = folds
    ? el("details", { class: "alert-text" }, el("summary", {}, say(one.do)), say(one.text))
    : el("p", { class: "alert-text" }, one.do ? el("strong", {}, say(one.do)) : null, say(one.text));
  return el("div", { class: `alert ${one.severity}` },
    el("span", { class: "alert-name" }, `${SHAPES[one.severity]} ${NAMES()[one.severity]}`), reason,
    one.severity === "stop" ? null : el("button", { class: "plain", "aria-label": `${t("Put off")}: ${say(one.text)}`, onclick: later }, t("Put off")));
}
export function showAlerts() {
  const alerts = bowl.state.finished ? [] : standing();
  const fresh = alerts.filter((one) => !key.includes(one.code));
  const next = alerts.map((one) => one.code + one.text).join("|");
  if (next === key) return;
  key = next;
  const box = document.getElementById("alerts"), others = alerts.slice(1);
  const open = box.querySelector("details")?.open ?? false;
  const more = others.length ? el("details", { class: "alerts-more", open }, el("summary", {}, t("{n} more", { n: others.length })), ...others.map(line)) : null;
  box.replaceChildren(...[alerts[0] ? line(alerts[0]) : null, more].filter(Boolean));
  const worst = fresh[0];
  if (worst && worst.severity !== "say") { tone(worst.severity); speak(`${NAMES()[worst.severity]}. ${say(worst.text)}`); }
}
