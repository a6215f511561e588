// The bench: one bowl, live. What the parts show stands in modules of their own; here they are joined.
import { t, put, clock, say, hundredths } from "./words.js";
import { Outbox } from "./outbox.js";
import { Chart, describe } from "./chart.js";
import { Crystals } from "./crystals.js";
import { inWords, told as toldAs } from "./orders.js";
import { Asking } from "./asking.js";
import { AGAIN_MS, Live } from "./live.js";
import { Told } from "./told.js";
import { api, boot, bowl, now, practice, setClock, undone } from "./bowl.js";
import { letSpeedChoose, showGuide, showSpeed, showVerdict } from "./practice.js";
import { letAlertsAsk, showAlerts } from "./alerts.js";
import { showCount, showStep } from "./step.js";
import { showAge, showNow } from "./now.js";
import { showTimers } from "./timers.js";
import { stayAwake } from "./sound.js";

const $ = (id) => document.getElementById(id);
const chart = new Chart($("chart"), { label: t("Curve of the temperature") });
const crystals = new Crystals($("crystals"), { stable: $("n-stable"), unstable: $("n-unstable"), seed: $("n-seed"), sentence: $("crystal-text") });
const outbox = new Outbox(api, () => { showConnection(); showTold(); });
const correct = (id, event) => { outbox.add({ what: "correct", of: id, event, at: hundredths(now()) }); };
const told = new Told(outbox, (id) => correct(id, null));
const asking = new Asking($("sheet"), tell);

function tell(event) {
  const { at, ...rest } = event;
  const sent = outbox.add({ ...rest, at: hundredths(at ?? now()) });
  if (event.what === "reading") Object.assign(bowl, { typed: event.temperature_C, lastTyped: sent });
  else if (!practice) told.offerUndo(sent);
  if (toldAs(bowl.advice.next ?? {})?.what === event.what) bowl.done = { order: bowl.advice.next.id, event: sent.id };
  showStep();
  return sent;
}

// ---------------------------------------------------------------- showing
function showTold() {
  told.show();
  const marked = bowl.events.filter((one) => !["start", "correct"].includes(one.event.what));
  chart.set({ marks: marked.map((one) => ({ at: one.event.at, what: one.event.what, undone: undone(one.id) })) });
}
function showBelief() {
  document.body.classList.toggle("finished", bowl.state.finished);
  showNow();
  if (bowl.state.estimate) crystals.draw(bowl.state.estimate);
  showAlerts();
  showStep();
  showGuide();
}
function showAhead() { chart.set({ ahead: bowl.state.finished ? null : bowl.ahead }); }
function showConnection() {
  const n = outbox.waiting.length, trouble = outbox.trouble;
  let text = "";
  if (!live.connected) text = n ? t("No connection. {n} kept on this device and sent when it is back.", { n }) : t("No connection. What you tap is kept on this device and sent when it is back.");
  else if (n && trouble && trouble !== "network") text = t("Not saved yet ({n}): {why}", { n, why: say(trouble) });
  else if (n && trouble) text = t("Not saved yet: {n}. Trying again.", { n });
  put("connection", text);
  $("connection").hidden = !text;
}
function showAll() {
  showBelief();
  showTold();
  showConnection();
  showAhead();
  showTimers();
}

// ---------------------------------------------------------------- hearing
function takeState(state, number) {
  Object.assign(bowl, { state, number });
  if (state.row) chart.push(state.row);
  if (state.finished) showAhead();
  if (practice && state.row && (state.finished || state.row[0] > now())) setClock(state.row[0]); // hands take time too
  showBelief();
}
function takeTold(one) {
  if (["look", "smear"].includes(one.event.what)) put("seen", inWords(one.event));
  if (!bowl.events.some((other) => other.id === one.id)) bowl.events = [...bowl.events, one];
  if (one.event.what === "correct") fetchAll(); // the past is another one now
  showTold();
  showStep();
  showTimers();
}
let again;
// A server that has just come back may not answer the first time: while its stream is there, it is asked again.
function fetchSoon() { if (live.connected) again = setTimeout(fetchAll, AGAIN_MS); }
async function fetchAll() {
  clearTimeout(again);
  outbox.flush();
  try {
    const answer = await fetch(api, { signal: AbortSignal.timeout(8000) });
    if (answer.status === 401) location.reload();
    if (answer.status >= 500) fetchSoon();
    if (!answer.ok) return;
    const fresh = await answer.json(), known = new Set(fresh.told.map((one) => one.id));
    // News may have overtaken this answer: what was heard of meanwhile stays.
    bowl.events = [...fresh.told, ...bowl.events.filter((one) => !known.has(one.id))];
    if (fresh.number >= bowl.number) Object.assign(bowl, { number: fresh.number, state: fresh.state, advice: fresh.advice, ahead: fresh.ahead ?? bowl.ahead });
    setClock(fresh.now_s);
    chart.set({ rows: fresh.history.rows });
    showAll();
  } catch { fetchSoon(); }
}
const live = new Live({
  back: fetchAll,
  connection: () => showConnection(),
  hear: {
    clock: setClock,
    state: takeState,
    advice: (news) => { bowl.advice = news; showBelief(); },
    ahead: (news) => { bowl.ahead = news; showAhead(); },
    told: takeTold,
    speed: (news) => { setClock(now()); bowl.speed = news.speed; showSpeed(); showGuide(); },
    verdict: (news) => { bowl.verdict = news; showVerdict(chart); },
  },
});

// ---------------------------------------------------------------- beginning
chart.set({ rows: boot.history.rows, window: boot.window_C });
chart.picture.setAttribute("aria-label", describe(boot.history.rows));
showAll();
put("clock", clock(now()));
if (practice) {
  showSpeed();
  letSpeedChoose();
  showVerdict(chart);
  document.documentElement.classList.toggle("on-my-own", !boot.hints);
}
letAlertsAsk({ deed: (what) => asking.deed(what), reading: () => asking.reading(), correct });
live.open();
outbox.flush();
setInterval(() => { put("clock", clock(now())); showTimers(); showCount(); showAge(); }, 1000);
$("done").addEventListener("click", () => asking.done());
$("change").addEventListener("click", () => asking.deed(toldAs(bowl.advice.next).what));
$("type")?.addEventListener("click", () => asking.reading());
$("same")?.addEventListener("click", () => asking.sameAgain());
$("more-deeds").addEventListener("click", () => $("more").showModal());
for (const button of document.querySelectorAll("[data-deed]")) button.addEventListener("click", () => { $("more").close(); asking.deed(button.dataset.deed); });
for (const button of document.querySelectorAll("[data-close]")) button.addEventListener("click", () => button.closest("dialog").close());
for (const button of document.querySelectorAll("[data-span]")) button.addEventListener("click", () => {
  chart.span = Number(button.dataset.span);
  for (const other of document.querySelectorAll("[data-span]")) other.setAttribute("aria-pressed", String(other === button));
  chart.later();
});
const AWAKE = () => ({ awake: t("Screen stays awake."), insecure: t("The screen may fall asleep: that needs https (start with --tls)."), cannot: t("This browser cannot keep the screen awake."), released: "" });
stayAwake((how) => put("awake", AWAKE()[how]));
