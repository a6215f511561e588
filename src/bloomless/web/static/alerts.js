// Alerts: the worst one open, the others one tap away; each is said once and can be put off.
import { t, el, say, C_from_F, hundredths } from "./words.js";
import { MELTS, asks, cautionsOf, told } from "./orders.js";
import { bowl, happened, practice, undone } from "./bowl.js";
import { speak, tone } from "./sound.js";

const RANK = { stop: 0, check: 1, say: 2 };
const SHAPES = { stop: "■", check: "▲", say: "●" };
const NAMES = () => ({ stop: t("Stop"), check: t("Look"), say: t("Note") });
// The caution inside the step says these already; of burns only where it stands.
const IN_THE_STEP = new Set(["dry_the_foot", "microwave_care"]);
const saidInStep = (code, order) => IN_THE_STEP.has(code) || (code === "burns" && cautionsOf(order) !== "");
// Who is to melt is not told to cool: melting makes an end of what these speak of.
const MENDED = () => new Set(document.getElementById("alerts").dataset.mendedByMelting.split(" "));
// What answers an alert, beside it: the question it asks is one tap away. `bench` can `deed`, `reading`, `correct`.
let bench = null;
export const letAlertsAsk = (tools) => { bench = tools; };
const deed = (label, what) => ({ label, act: () => bench.deed(what) });
const reading = () => ({ label: t("Reading …"), act: () => bench.reading() });
function notDone(...kinds) {
  const last = happened().filter((one) => kinds.includes(one.event.what)).pop();
  return last ? { label: t("It was not done"), act: () => bench.correct(last.id, null) } : null;
}
function wasFahrenheit() {
  const last = bowl.lastTyped;
  if (!last || undone(last.id)) return null;
  const { id, ...event } = last;
  return { label: t("It was °F"), act: () => bench.correct(id, { ...event, temperature_C: hundredths(C_from_F(event.temperature_C)) }) };
}
function asked({ order }) {
  const what = told(order)?.what ?? asks(order);
  return what ? deed(t("Tell it …"), what) : null;
}
const ANSWERS = {
  fahrenheit_as_celsius: wasFahrenheit, was_it_done: asked, seed_not_logged: () => deed(t("Seed …"), "seed"),
  seed_not_added: () => notDone("seed"), heat_not_given: () => notDone("warm_bath", "microwave", "hot_air"), cooling_not_given: () => notDone("cool_bath", "table", "pour"),
  thermometer_unchecked: () => deed(t("Thermometer check …"), "probe_check"), thermometer_off: () => deed(t("Thermometer check …"), "probe_check"),
  smear_due: () => deed(t("Smear …"), "smear"), gap: reading, second_start_after_gap: reading, reading_jumped: reading, probe_not_in_the_melt: reading,
};
const answerTo = (one) => (practice ? null : ANSWERS[one.code]?.(one) ?? null);
// What is put off, dropped as said twice, or told aloud as new: the same question about another order is another question.
const nameOf = (one) => (one.order ? `${one.code} ${one.order.id}` : one.code);
const putOff = new Set();
let key = null;

function standing() {
  const all = [...(bowl.state.estimate?.alerts ?? []), ...(bowl.advice.alerts ?? [])];
  const once = [...new Map(all.map((one) => [nameOf(one), one])).values()];
  const order = bowl.advice.next, mended = MELTS.has(order?.do) ? MENDED() : new Set();
  const stands = (one) => !mended.has(one.code) && (one.severity === "stop" || !(putOff.has(nameOf(one)) || saidInStep(one.code, order)));
  return once.filter(stands).sort((a, b) => RANK[a.severity] - RANK[b.severity]);
}
// What to do, and under it why. On a phone the reason of a mere note folds, so that the step and its button stay in sight.
const ROOMY = matchMedia("(min-width:700px)");
function line(one) {
  const later = () => { putOff.add(nameOf(one)); key = null; showAlerts(); };
  const folds = one.do && one.severity === "say" && !ROOMY.matches;
  const reason = folds
    ? el("details", { class: "alert-text" }, el("summary", {}, say(one.do)), say(one.text))
    : el("p", { class: "alert-text" }, one.do ? el("strong", {}, say(one.do)) : null, say(one.text));
  const answer = answerTo(one), laterText = one.code === "was_it_done" ? t("No") : t("Put off");
  return el("div", { class: `alert ${one.severity}` },
    el("span", { class: "alert-name" }, `${SHAPES[one.severity]} ${NAMES()[one.severity]}`), reason,
    el("span", { class: "alert-acts" },
      answer ? el("button", { class: "plain", "aria-label": `${answer.label}: ${say(one.text)}`, onclick: () => { later(); answer.act(); } }, answer.label) : null,
      one.severity === "stop" ? null : el("button", { class: "plain", "aria-label": `${laterText}: ${say(one.text)}`, onclick: later }, laterText)));
}
export function showAlerts() {
  const alerts = bowl.state.finished ? [] : standing();
  const fresh = alerts.filter((one) => !key?.includes(nameOf(one)));
  const next = alerts.map((one) => `${nameOf(one)} ${one.text}`).join("|");
  if (next === key) return;
  key = next;
  const box = document.getElementById("alerts"), others = alerts.slice(1);
  const open = box.querySelector("details")?.open ?? false;
  const more = others.length ? el("details", { class: "alerts-more", open }, el("summary", {}, t("{n} more", { n: others.length })), ...others.map(line)) : null;
  box.replaceChildren(...[alerts[0] ? line(alerts[0]) : null, more].filter(Boolean));
  const worst = fresh[0];
  if (worst && worst.severity !== "say") { tone(worst.severity); speak(`${NAMES()[worst.severity]}. ${say(worst.text)}`); }
}
