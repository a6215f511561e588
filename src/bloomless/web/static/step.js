// The next step, large; its reason and outlook; what to prepare; what would follow.
import { t, el, put, number, mass, percent, say, lasting } from "./words.js";
import { asking, asks, cautionsOf, detail, headline, spoken, told } from "./orders.js";
import { DEEDS } from "./deeds.js";
import { boot, bowl, happened, now, practice, undone } from "./bowl.js";
import { ANSWERED } from "./practice.js";
import { speak, tone } from "./sound.js";

const $ = (id) => document.getElementById(id);
let lastSpoken = "";

// Seconds of an order that only waits: they run down as the cook watches.
function leftOf(order) {
  const rest = order.seconds - (now() - (bowl.advice.at ?? now()));
  return Math.max(0, Math.ceil(rest / 5) * 5);
}
function amountOf(order) {
  const [verb, amount] = headline(order);
  if (order?.do !== "stir" || !order.seconds) return [verb, amount];
  const left = leftOf(order);
  return [verb, left ? lasting(left) : ""];
}
export function showCount() {
  if (bowl.state.finished) return;
  const [verb, amount] = amountOf(bowl.advice.next);
  put("verb", verb);
  put("amount", amount);
}
export function showStep() {
  const order = bowl.advice.next, finished = bowl.state.finished;
  if (finished) { put("verb", t("Finished")); put("amount", ""); } else showCount();
  $("step").dataset.do = finished ? "finish" : order?.do ?? "";
  put("detail", finished ? "" : detail(order ?? {}));
  put("why", finished ? "" : say(order?.why ?? ""));
  put("outlook", finished || !order ? "" : outlook(order));
  const caution = finished ? "" : cautionsOf(order);
  put("caution", caution);
  $("caution-box").hidden = !caution;
  showButtons(order, finished);
  showCast(order, finished);
  showBefore();
  showPlan();
  const text = spoken(order ?? {});
  put("said", finished ? t("Finished") : text);
  if (order && !finished && text !== lastSpoken) {
    lastSpoken = text;
    speak(text);
    if (order.do !== "stir") tone("next");
  }
}
function outlook(order) {
  if (order.chance_after === null || order.chance_after === undefined) return "";
  const values = { now: percent(bowl.state.estimate?.chance_in_temper), after: percent(order.chance_after), minutes: number(order.minutes_after, 0) };
  if (!(order.minutes_after >= 0.5)) return order.do === "use_it" ? "" : t("in temper: {now} now, {after} after it", values);
  return t("in temper: {now} now, {after} after about {minutes} min", values);
}
function showButtons(order, finished) {
  // Whoever takes the event back finds the order as it was.
  const isTold = Boolean(order?.id) && bowl.done?.order === order.id && !undone(bowl.done.event);
  const stirred = happened("stir").pop()?.event.vigour ?? "steady";
  const asksStirring = order?.do === "stir" && stirred !== (order.vigour ?? "steady");
  const event = told(order), question = asks(order);
  $("done").hidden = finished || !(event || question || asksStirring);
  $("done").disabled = isTold;
  const answered = practice && ANSWERED.has(question); // a simulated bowl answers by itself
  const lasts = Boolean(event?.seconds); // what lasts is told as it begins: its clock runs from the tap
  const deed = order?.do === "stir" ? t("Stirring ✓") : lasts ? t("Begin now") : t("Done ✓");
  put("done", isTold ? t("Told ✓") : question && !answered ? asking(order) : deed);
  $("change").hidden = finished || !order || isTold || !DEEDS[event?.what];
  const other = event?.mass_g === undefined ? t("Otherwise …") : t("Other amount …");
  put("change", lasts && !practice ? t("Otherwise, or done already …") : other);
}
// From the moment the bowl may be used, its moulds can be looked at: whoever pours asks next how they will cool.
function showCast(order, finished) {
  const cast = $("cast"); // not for a simulated bowl, nor for a device that works bowls only
  if (cast) cast.hidden = finished ? !bowl.state.used : order?.do !== "use_it" && !happened("remove").length;
}
function showBefore() {
  const before = bowl.advice.before;
  const means = boot.start.means ?? [], fine = means.includes("cocoa_butter_crystals"), none = means.length > 0 && !fine && !means.includes("seed");
  $("before").hidden = !before || none || happened("seed").length > 0 || bowl.state.finished;
  if (!before) return;
  if (fine && !means.includes("seed")) put("before-text", t("Weigh {now} of cocoa butter crystals, as fine as dust, and keep {reserve} more beside them.", { now: mass(before.seed_now_g), reserve: mass(before.seed_reserve_g) }));
  else put("before-text", t("Melt {melt}. Chop {now} of seed to about {size} mm and keep {reserve} more on the board.", {
    melt: mass(before.melt_g), now: mass(before.seed_now_g), reserve: mass(before.seed_reserve_g), size: number(before.size_mm, 0),
  }));
}
function showPlan() {
  const after = (order) => el("span", { class: "hint" }, ` ${percent(order.chance_after)}, ${t("about {minutes} min", { minutes: number(order.minutes_after, 0) })}`);
  const line = (order) => {
    const more = [detail(order), say(order.why ?? "")].filter(Boolean).map((text) => text.replace(/\.$/, "")).join(". ");
    return el("li", {}, el("strong", {}, headline(order).filter(Boolean).join(" ")), more ? ` – ${more}.` : null, order.chance_after ? after(order) : null);
  };
  const { plan = [], instead = [] } = bowl.advice;
  $("plan").replaceChildren(...plan.map(line));
  $("instead").replaceChildren(...instead.map(line));
  for (const [id, list] of [["plan", plan], ["instead", instead]]) $(id).hidden = $(`${id}-title`).hidden = !list.length;
  $("plan-box").hidden = !plan.length && !instead.length;
}
