// What was told: the list with its undo, what was not accepted, and the bar that undoes the last tap.
import { t, el, put, clock } from "./words.js";
import { inWords } from "./orders.js";
import { bowl, correction, practice, undone } from "./bowl.js";

const $ = (id) => document.getElementById(id);
const SHOWN = 40, UNDO_MS = 15000;
let undoTimer;

export class Told {
  constructor(outbox, undo) {
    this.outbox = outbox;
    this.undo = undo;
  }
  // After each tap, one tap takes it back, for a quarter of a minute: on a phone it lies over what is tapped next. Later the list does.
  offerUndo(sent) {
    put("undo-text", inWords(sent));
    $("undo-button").onclick = () => { this.undo(sent.id); $("undo").hidden = true; };
    $("undo").hidden = sent.what === "correct";
    clearTimeout(undoTimer);
    undoTimer = setTimeout(() => { $("undo").hidden = true; }, UNDO_MS);
  }
  row(id, event, status) {
    const says = { undone: t("undone"), corrected: t("corrected"), waiting: t("not saved yet") }[status];
    const text = el("span", {}, el("span", { class: "when" }, clock(event.at ?? 0)), ` ${inWords(event)}`, says ? el("em", {}, ` ${says}`) : null);
    const may = status === "told" && event.what !== "start" && !bowl.state.finished && !practice;
    const button = () => el("button", { class: "plain", onclick: () => this.undo(id), "aria-label": `${t("Undo")}: ${inWords(event)}` }, t("Undo"));
    return el("li", { class: status === "undone" ? "undone" : "" }, text, may ? button() : null);
  }
  refusal(one) {
    const drop = () => this.outbox.drop(one.event.id);
    return el("li", {}, el("span", {}, el("strong", {}, inWords(one.event)), ` – ${one.text}`),
      el("button", { class: "plain", onclick: drop, "aria-label": `${t("Take off the list")}: ${inWords(one.event)}` }, t("Take off the list")));
  }
  // The reading typed last may be taken back as well; earlier ones are not listed: there are too many.
  typed(event, kept, taken) {
    const { id } = event, really = correction(id)?.event ?? kept.find((other) => other.of === id)?.event;
    if (really) return this.row(id, { ...event, ...really }, "corrected");
    if (undone(id) || taken.has(id)) return this.row(id, event, "undone");
    return this.row(id, event, kept.some((other) => other.id === id) ? "waiting" : "told");
  }
  show() {
    const kept = this.outbox.waiting, taken = new Set(kept.map((event) => event.of));
    const waiting = kept.filter((event) => !["reading", "correct"].includes(event.what)).reverse();
    const known = bowl.events.filter((one) => one.event.what !== "correct").slice(-SHOWN).reverse();
    const rows = [
      ...waiting.map((event) => [event.at, this.row(event.id, event, "waiting")]),
      ...known.map((one) => [one.event.at ?? 0, this.row(one.id, one.event, undone(one.id) || taken.has(one.id) ? "undone" : "told")])];
    const typed = bowl.lastTyped, before = typed ? rows.findIndex(([at]) => at < typed.at) : -1;
    if (typed) rows.splice(before < 0 ? rows.length : before, 0, [typed.at, this.typed(typed, kept, taken)]);
    $("told").replaceChildren(...rows.map(([, row]) => row));
    const refused = this.outbox.refused;
    $("refused-box").hidden = !refused.length;
    $("refused").replaceChildren(...refused.map((one) => this.refusal(one)));
  }
}
