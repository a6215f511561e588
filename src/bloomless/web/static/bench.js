// The bench: one bowl, live.
import { t, el, put, view, number, degrees, degreeUnit, temperature, perMinute, mass, percent, clock, say, shownDegrees } from "./words.js";
import { Outbox } from "./outbox.js";
import { Chart, describe } from "./chart.js";
import { Crystals } from "./crystals.js";
import { ASKS, CAUTIONS, detail, headline, inWords, spoken, told } from "./orders.js";
import { DEEDS, Sheet, cautionOf, titleOf } from "./deeds.js";
import { speak, stayAwake, tone } from "./sound.js";

const boot = JSON.parse(document.getElementById("boot").textContent);
const $ = (id) => document.getElementById(id);
let state = boot.state, advice = boot.advice, events = boot.told, ahead = boot.ahead ?? null;
const practice = Boolean(boot.speed), api = boot.api ?? `/api/v1/benches/${encodeURIComponent(boot.id)}`;
let speed = boot.speed ?? 1, verdict = boot.verdict ?? null;
let clockAt = [boot.now_s, performance.now()];
let heardAt = performance.now(), connected = true, stream = null, doneOrder = null, lastSpoken = "", alertKey = "", putOff = new Set();
const setClock = (seconds) => { clockAt = [seconds, performance.now()]; };
const now = () => clockAt[0] + (state.finished && practice ? 0 : speed * (performance.now() - clockAt[1]) / 1000);
const chart = new Chart($("chart"), { label: t("Curve of the temperature") });
const crystals = new Crystals($("crystals"), { stable: $("n-stable"), unstable: $("n-unstable"), seed: $("n-seed"), sentence: $("crystal-text") });
const sheet = new Sheet($("sheet"));
const outbox = new Outbox(boot.id, api, () => { showConnection(); showTold(); });

// ---------------------------------------------------------------- telling
function tell(event) {
  const { at, ...rest } = event;
  const sent = outbox.add({ ...rest, at: Math.round((at ?? now()) * 100) / 100 });
  if (event.what !== "reading" && !practice) showUndo(sent);
  if (told(advice.next ?? {})?.what === event.what) doneOrder = advice.next.id;
  showStep();
  return sent;
}
function undo(id) {
  outbox.add({ what: "correct", of: id, event: null, at: Math.round(now() * 100) / 100 });
  $("undo").hidden = true;
}
let undoTimer;
function showUndo(sent) {
  const bar = $("undo");
  put("undo-text", inWords(sent));
  $("undo-button").onclick = () => undo(sent.id);
  bar.hidden = sent.what === "correct";
  clearTimeout(undoTimer);
  undoTimer = setTimeout(() => { bar.hidden = true; }, 30000);
}
function bowlNow() {
  const smears = events.filter((one) => one.event.what === "smear" && !undone(one.id));
  const last = smears[smears.length - 1]?.event;
  const waiting = last && last.set_after_s === undefined && last.not_set_after_s === undefined && !last.finish;
  return { before: advice.before, seed_g: state.estimate?.seed_left_g?.p50, dipped: waiting ? last : null, now_s: now() };
}
// In a simulated kitchen the bowl itself answers what is seen, so nothing is asked.
const ANSWERED = new Set(["look", "smear", "sieve", "pour"]);
function openDeed(what) {
  if (practice && ANSWERED.has(what)) { tell({ what }); return; }
  const bowl = bowlNow();
  const dipped = what === "smear" ? bowl.dipped : null;
  sheet.open({
    what, title: titleOf(what), fields: DEEDS[what](advice.next ?? {}, bowl), caution: cautionOf(what),
    send: (event) => tell(dipped ? { ...event, taken_at: dipped.at } : event),
  });
}
function openKeypad() {
  const believed = state.estimate?.temperature_C;
  sheet.open({
    what: "reading", title: t("What the thermometer shows"), confirm: t("Enter"),
    fields: [{ kind: "temperature", name: "temperature_C", label: t("Temperature"), preset: state.reading?.temperature_C ?? 31, low: -30, high: 130 }],
    check: (event) => doubt(event.temperature_C, believed), send: tell,
  });
}
function doubt(C, believed) {
  if (view.temperature === "C" && C > 62) return t("{shown} °C? As °F it would be {other} °C. Press again to keep it.", { shown: number(C, 1), other: number((C - 32) / 1.8, 1) });
  if (view.temperature === "F" && C < 5 && shownDegrees(C) > 15) return t("{shown} °F? That looks like °C. Press again to keep it.", { shown: degrees(C) });
  if (believed && Math.abs(C - believed.p50) > 8) return t("That is far from {expected}. Press again to keep it.", { expected: temperature(believed.p50) });
  return null;
}
function done() {
  const order = advice.next;
  if (!order) return;
  const event = told(order);
  if (practice && order.do === "use_it") tell({ what: "finish", used: true });
  else if (practice && ANSWERED.has(event?.what ?? order.do)) tell({ what: event?.what ?? order.do });
  else if (event) tell(event);
  else if (order.do === "stir") tell({ what: "stir", vigour: order.vigour ?? "steady" });
  else if (ASKS[order.do]) openDeed(ASKS[order.do]);
}

// ---------------------------------------------------------------- showing
const WORDS = () => [[0.05, t("almost surely not")], [0.3, t("unlikely")], [0.45, t("rather not")], [0.55, t("as likely as not")], [0.7, t("rather yes")], [0.9, t("probably")], [2, t("almost surely")]];
function showNow() {
  const estimate = state.estimate ?? {};
  const reading = state.reading;
  put("degrees", reading ? degrees(reading.temperature_C) : estimate.temperature_C ? degrees(estimate.temperature_C.p50) : "–");
  put("unit", degreeUnit());
  const slope = state.trend_C_min;
  put("trend", slope === null || slope === undefined ? t("no trend yet") : Math.abs(slope) < 0.05 ? t("→ steady") : slope > 0 ? t("↗ rising {slope}", { slope: perMinute(slope) }) : t("↘ falling {slope}", { slope: perMinute(slope) }));
  const band = estimate.temperature_C;
  put("believed", band ? t("really {low} to {high}", { low: degrees(band.p05), high: temperature(band.p95) }) : "");
  const chance = estimate.chance_in_temper;
  put("chance", percent(chance));
  put("chance-words", chance === null || chance === undefined ? t("not known yet") : WORDS().find(([limit]) => chance < limit)[1]);
  $("chance-bar").style.setProperty("--share", `${(chance ?? 0) * 100}%`);
  const left = advice.working_minutes_left ?? estimate.working_minutes_left, until = advice.minutes_to_temper ?? estimate.minutes_to_temper;
  const showsLeft = left && chance > 0.5;
  const minutes = showsLeft ? left : until;
  put("minutes-label", showsLeft ? t("working minutes left") : t("minutes to temper"));
  put("minutes", minutes ? number(minutes.p50, 0) : "–");
  put("minutes-range", minutes ? `${number(minutes.p05, 0)}–${number(minutes.p95, 0)}` : "");
  if (state.estimate) crystals.draw(estimate);
}
function showStep() {
  const order = advice.next;
  const [verb, amount] = state.finished ? [t("Finished"), ""] : headline(order);
  put("verb", verb);
  put("amount", amount);
  $("step").dataset.do = state.finished ? "finish" : order?.do ?? "";
  put("detail", state.finished ? "" : detail(order ?? {}));
  put("why", state.finished ? "" : say(order?.why ?? ""));
  const chance = state.estimate?.chance_in_temper;
  put("outlook", order && !state.finished && order.chance_after !== null && order.chance_after !== undefined
    ? t("in temper: {now} now, {after} after about {minutes} min", { now: percent(chance), after: percent(order.chance_after), minutes: number(order.minutes_after, 0) }) : "");
  const caution = state.finished ? "" : CAUTIONS()[order?.do] ?? "";
  put("caution", caution);
  $("caution-box").hidden = !caution;
  const was = order && doneOrder === order.id && order.id;
  const answers = told(order ?? {}) || ASKS[order?.do] || order?.do === "stir";
  const stirs = events.filter((one) => one.event.what === "stir" && !undone(one.id));
  const stirredSo = order?.do === "stir" && (stirs[stirs.length - 1]?.event.vigour ?? "steady") === (order.vigour ?? "steady");
  $("done").hidden = !answers || state.finished || stirredSo;
  $("done").disabled = Boolean(was);
  put("done", was ? t("Told ✓") : ASKS[order?.do] ? (order.do === "use_it" ? t("Finish this bowl …") : t("Tell what you see …")) : order?.do === "stir" ? t("Stirring ✓") : t("Done ✓"));
  $("change").hidden = state.finished || !order || !DEEDS[told(order)?.what];
  showBefore();
  showPlan();
  showGuide();
  const text = spoken(order ?? {});
  if (order && text !== lastSpoken && !state.finished) { lastSpoken = text; speak(text); if (order.do !== "stir") tone("next"); }
}
function showBefore() {
  const before = advice.before;
  const seeded = events.some((one) => one.event.what === "seed" && !undone(one.id));
  $("before").hidden = !before || seeded || state.finished;
  if (!before) return;
  put("before-text", t("Melt {melt}. Chop {now} of seed to about {size} mm and keep {reserve} more on the board.", { melt: mass(before.melt_g), now: mass(before.seed_now_g), reserve: mass(before.seed_reserve_g), size: number(before.size_mm, 0) }));
}
function showPlan() {
  const line = (order) => el("li", {}, el("strong", {}, headline(order).filter(Boolean).join(" ")), ` ${detail(order)}. ${say(order.why ?? "")}`, order.chance_after ? el("span", { class: "hint" }, ` ${percent(order.chance_after)}, ${t("about {minutes} min", { minutes: number(order.minutes_after, 0) })}`) : null);
  $("plan").replaceChildren(...(advice.plan ?? []).map(line));
  $("instead").replaceChildren(...(advice.instead ?? []).map(line));
  $("plan-box").hidden = !(advice.plan ?? []).length && !(advice.instead ?? []).length;
}
function showAlerts() {
  const all = new Map([...(state.estimate?.alerts ?? []), ...(advice.alerts ?? [])].map((one) => [one.code, one]));
  const alerts = [...all.values()].filter((one) => one.severity === "stop" || !putOff.has(one.code));
  const rank = { stop: 0, check: 1, say: 2 };
  alerts.sort((a, b) => rank[a.severity] - rank[b.severity]);
  const key = alerts.map((one) => one.code + one.text).join("|");
  if (key === alertKey) return;
  const fresh = alerts.filter((one) => !alertKey.includes(one.code));
  alertKey = key;
  const names = { stop: t("Stop"), check: t("Look"), say: t("Note") };
  const shapes = { stop: "■", check: "▲", say: "●" };
  $("alerts").replaceChildren(...alerts.slice(0, 4).map((one) => el("div", { class: `alert ${one.severity}` },
    el("span", { class: "alert-name" }, `${shapes[one.severity]} ${names[one.severity]}`),
    el("span", { class: "alert-text" }, `${say(one.text)} `, el("em", {}, say(one.do ?? ""))),
    one.severity === "stop" ? null : el("button", { class: "plain", "aria-label": `${t("Put off")}: ${say(one.text)}`, onclick: () => { putOff.add(one.code); alertKey = ""; showAlerts(); } }, t("Put off")))));
  const worst = fresh[0];
  if (worst && worst.severity !== "say") { tone(worst.severity); speak(`${names[worst.severity]}. ${say(worst.text)}`); }
}
const undone = (id) => events.some((one) => one.event.what === "correct" && one.event.of === id);
function showTold() {
  const waiting = outbox.waiting.filter((event) => event.what !== "reading");
  const known = events.filter((one) => one.event.what !== "correct").slice(-40).reverse();
  const row = (id, event, status) => el("li", { class: status === "undone" ? "undone" : "" },
    el("span", {}, el("span", { class: "when" }, clock(event.at ?? 0)), ` ${inWords(event)}`, status === "undone" ? el("em", {}, ` ${t("undone")}`) : null, status === "waiting" ? el("em", {}, ` ${t("not saved yet")}`) : null),
    status === "told" && event.what !== "start" && !state.finished && !practice ? el("button", { class: "plain", onclick: () => undo(id), "aria-label": `${t("Undo")}: ${inWords(event)}` }, t("Undo")) : null);
  $("told").replaceChildren(
    ...waiting.filter((event) => event.what !== "correct").reverse().map((event) => row(event.id, event, "waiting")),
    ...known.map((one) => row(one.id, one.event, undone(one.id) || waiting.some((event) => event.of === one.id) ? "undone" : "told")));
  const refused = outbox.refused;
  $("refused-box").hidden = !refused.length;
  $("refused").replaceChildren(...refused.map((one) => el("li", {}, el("span", {}, el("strong", {}, inWords(one.event)), ` – ${one.text}`), el("button", { class: "plain", onclick: () => outbox.drop(one.event.id), "aria-label": `${t("Take off the list")}: ${inWords(one.event)}` }, t("Take off the list")))));
  chart.set({ marks: events.filter((one) => !["start", "correct"].includes(one.event.what)).map((one) => ({ at: one.event.at, what: one.event.what, undone: undone(one.id) })) });
}
function showConnection() {
  const waiting = outbox.waiting.length;
  const bar = $("connection");
  let text = "";
  if (!connected) text = waiting ? t("No connection. {n} kept on this device and sent when it is back.", { n: waiting }) : t("No connection. What you tap is kept on this device and sent when it is back.");
  else if (waiting && outbox.trouble && outbox.trouble !== "network") text = t("Not saved yet ({n}): {why}", { n: waiting, why: say(outbox.trouble) });
  else if (waiting && outbox.trouble) text = t("Not saved yet: {n}. Trying again.", { n: waiting });
  put(bar, text);
  bar.hidden = !text;
}
const showAll = () => { showNow(); showStep(); showAlerts(); showTold(); showConnection(); };

// ---------------------------------------------------------------- practice
function showSpeed() {
  for (const button of document.querySelectorAll("[data-speed]")) button.setAttribute("aria-pressed", String(Number(button.dataset.speed) === speed));
}
// The guided bowl: each new step is explained once, in the order in which it comes.
const EXPLAINED = () => ({
  cool_bath: t("The melt is far too warm for crystals: cold water takes the heat off. Do what the big line says, then tap the blue button under it."),
  pour_over: t("The melt is far too warm for crystals: a cool bowl takes the heat off. Tap the blue button when it is done."),
  add_seed: t("Pieces of tempered chocolate bring the right crystals. Tap the blue button: they go in."),
  stir: t("Nothing to do but stir: watch the pieces shrink and the crystals appear in the drawing. Time runs ten times faster here."),
  look: t("The thermometer cannot see lumps. Tap the blue button to look into the bowl."),
  smear: t("A thin smear on paper tells what no thermometer can: whether it sets with a shine. Tap the blue button."),
  warm_bath: t("A little warmth melts the lumps; the right crystals live through it. Tap the blue button."),
  table: t("A part worked on cool stone loses its heat fast and comes back cool. Tap the blue button: it is worked and returned."),
  add_melt: t("Warm melt thins a bowl that has grown thick. Tap the blue button: it goes in."),
  hot_air: t("A little warmth melts the lumps; the right crystals live through it. Tap the blue button."),
  use_it: t("In temper: this is the moment to pour. Tap the blue button to use it and see what was really in the bowl."),
  sieve: t("Lumps that will not melt are taken out. Tap the blue button."),
});
function showGuide() {
  if (!$("guide")) return;
  put("guide-text", state.finished ? t("That was a whole bowl. The score says how it went; the dashed line in the curve is the truth.") : EXPLAINED()[advice.next?.do] ?? t("Do what the big line says, then tap the blue button under it."));
}
const PARTS = () => ({ cold: t("too cold"), hot: t("too hot"), few: t("too few crystals"), many: t("too many crystals"), unstable: t("unstable crystals"), lumps: t("lumps"), water: t("water"), scorched: t("scorched") });
function showVerdict() {
  if (!verdict) return;
  const { score, story, truth } = verdict;
  $("verdict").hidden = false;
  put("verdict-points", t("{points} of 100 points", { points: score.total }));
  put("verdict-text", score.in_temper && score.used ? t("In temper: it would set with a shine.") : t("Not in temper: {why}.", { why: score.wrong.map((one) => PARTS()[one] ?? one).join(", ") || t("it was not used") }));
  put("verdict-parts", t("Temper {temper}, time {minutes}, seed {seed}, steps {steps}.", score));
  $("story").replaceChildren(...story.map((one) => el("li", {}, el("span", { class: "when" }, clock(one.at_s)), ` ${say(one.text)}`)));
  chart.span = 0;
  chart.set({ others: [truth.map((row) => [row[0], null, null, row[1]])], ahead: null });
  put("truth-note", t("The dashed line is what the temperature really was."));
}

// ---------------------------------------------------------------- hearing
function takeAll(fresh) {
  state = fresh.state; advice = fresh.advice; events = fresh.told; setClock(fresh.now_s); ahead = fresh.ahead ?? ahead;
  chart.set({ rows: fresh.history.rows, ahead: state.finished ? null : ahead });
  showAll();
}
async function catchUp() {
  try {
    const answer = await fetch(api, { signal: AbortSignal.timeout(8000) });
    if (answer.status === 401) location.reload();
    if (answer.ok) takeAll(await answer.json());
  } catch { /* the stream will say when it is back */ }
}
function open() {
  stream?.close();
  stream = new EventSource(`${api}/live`);
  let first = true;
  const heard = (kind, take) => stream.addEventListener(kind, (message) => {
    heardAt = performance.now();
    if (!connected) { connected = true; showConnection(); }
    take(message.data);
  });
  stream.onopen = () => { if (!first || open.again) catchUp(); first = false; open.again = true; outbox.flush(); };
  stream.onerror = () => { connected = false; showConnection(); if (stream.readyState === EventSource.CLOSED) setTimeout(open, 1500); };
  heard("clock", (data) => { setClock(Number(data)); });
  heard("state", (data) => { state = JSON.parse(data); if (state.row) chart.push(state.row); if (state.finished) { chart.set({ ahead: null }); if (practice && state.row) setClock(state.row[0]); } showNow(); showAlerts(); showStep(); });
  heard("advice", (data) => { advice = JSON.parse(data); showStep(); showAlerts(); showNow(); });
  heard("ahead", (data) => { ahead = JSON.parse(data); chart.set({ ahead: state.finished ? null : ahead }); });
  heard("speed", (data) => { const news = JSON.parse(data); setClock(news.now_s); speed = news.speed; showSpeed(); });
  heard("verdict", (data) => { verdict = JSON.parse(data); showVerdict(); });
  heard("told", (data) => { const one = JSON.parse(data); if (["look", "smear"].includes(one.event.what)) put("seen", inWords(one.event)); if (!events.some((other) => other.id === one.id)) events = [...events, one]; showTold(); showStep(); });
}
document.addEventListener("visibilitychange", () => {
  // Browsers allow few streams at once: a page nobody sees gives its own back.
  if (document.visibilityState === "hidden") { stream?.close(); stream = null; }
  else if (!stream) { open(); catchUp(); }
});
setInterval(() => {
  put("clock", clock(now()));
  if (stream && performance.now() - heardAt > 26000) { connected = false; showConnection(); heardAt = performance.now(); open(); }
}, 1000);

// ---------------------------------------------------------------- beginning
chart.set({ rows: boot.history.rows, window: boot.window_C, ahead: state.finished ? null : ahead });
chart.picture.setAttribute("aria-label", describe(boot.history.rows));
showAll();
put("clock", clock(now()));
if (practice) { showSpeed(); showVerdict(); document.documentElement.classList.toggle("on-my-own", !boot.hints); }
for (const button of document.querySelectorAll("[data-speed]")) button.addEventListener("click", () => fetch(`${api}/speed`, { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify({ speed: Number(button.dataset.speed) }) }));
open();
$("done").addEventListener("click", done);
$("change").addEventListener("click", () => openDeed(told(advice.next).what));
$("type")?.addEventListener("click", openKeypad);
$("same")?.addEventListener("click", () => { if (state.reading) tell({ what: "reading", temperature_C: state.reading.temperature_C }); else openKeypad(); });
for (const button of document.querySelectorAll("[data-deed]")) button.addEventListener("click", () => openDeed(button.dataset.deed));
for (const button of document.querySelectorAll("[data-span]")) button.addEventListener("click", () => {
  chart.span = Number(button.dataset.span);
  for (const other of document.querySelectorAll("[data-span]")) other.setAttribute("aria-pressed", String(other === button));
  chart.later();
});
stayAwake((how) => put("awake", { awake: t("Screen stays awake."), insecure: t("The screen may fall asleep: that needs https (start with --tls)."), cannot: t("This browser cannot keep the screen awake."), released: "" }[how]));
