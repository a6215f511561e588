// The sheets that ask how much: a keypad for numbers, big choices for words. Presets come from the advice.
import { t, el, number, typed, sign, shownDegrees, C_of, degreeUnit, shownMass, g_of, massUnit } from "./words.js";
import { icon, svg } from "./chart.js";
import { CAUTIONS, FOREIGN, METHODS, SURFACES, VESSELS, WHAT } from "./orders.js";

const amount = (name, label, preset, low = 1, high = 20000) => ({ kind: "mass", name, label, preset, low, high });
const warmth = (name, label, preset, low, high) => ({ kind: "temperature", name, label, preset, low, high });
const time = (preset, name = "seconds", label = t("How long")) => ({ kind: "seconds", name, label, preset, low: 1, high: 1800 });
const pick = (name, label, options, preset = null, more = {}) => ({ kind: "pick", name, label, options, preset, ...more });

// What a look's answers mean, each with a picture in icons.svg. Common practice, no source.
const LUMPS = () => ({ none: t("Smooth: nothing catches on the spatula."), few: t("A piece here and there."), many: t("Pieces at every stroke.") });
const THICKNESS = () => ({ thin: t("Runs like warm oil and leaves no trace."), flowing: t("Runs in a ribbon that is gone at once."), thick: t("The ribbon stays on top for some seconds."), paste: t("Stands in a peak and hardly runs.") });
const DRAIN = () => ({ quick: t("The blade shows through at once."), good: t("An even coat stays on the blade."), slow: t("Clings, and falls off in folds.") });

// What each deed asks. `order` is the advised step, `bowl` what is known of the bowl.
export const DEEDS = {
  seed: (order, bowl) => [amount("mass_g", t("How much seed"), order.do === "add_seed" ? order.mass_g : bowl.before?.seed_now_g ?? 50),
    pick("form", t("What it is"), { tempered: t("tempered"), bloomed: t("bloomed"), unknown: t("not sure"), cocoa_butter_crystals: t("cocoa butter crystals") }, order.form ?? "tempered")],
  add: (order) => [amount("mass_g", t("How much melt"), order.mass_g ?? 100), warmth("temperature_C", t("How warm"), order.temperature_C ?? 40, 15, 80)],
  warm_bath: (order) => [time(order.do === "warm_bath" ? order.seconds : 20), warmth("bath_C", t("Water"), order.bath_C > 30 ? order.bath_C : 45, 20, 100)],
  cool_bath: (order) => [time(order.do === "cool_bath" ? order.seconds : 30), warmth("bath_C", t("Water"), order.do === "cool_bath" ? order.bath_C : 18, -2, 30)],
  microwave: (order) => [time(order.do === "microwave" ? order.seconds : 8), { kind: "plain", name: "watts", label: t("Power"), unit: "W", preset: order.watts ?? 700, low: 50, high: 3000 }],
  hot_air: (order) => [time(order.do === "hot_air" ? order.seconds : 5)],
  table: (order) => [{ kind: "share", name: "share", label: t("Share of the bowl"), preset: order.share ?? 0.33, low: 0.05, high: 1 }, time(order.seconds ?? 60)],
  stir: () => [pick("vigour", t("From now on"), { none: t("not stirred"), gentle: t("gently"), steady: t("steadily"), brisk: t("briskly") }, "steady", { sends: true })],
  look: () => [
    pick("lumps", t("Lumps"), { none: t("none"), few: t("few"), many: t("many") }, null, { meanings: LUMPS() }),
    pick("thickness", t("How thick"), { thin: t("thin"), flowing: t("flowing"), thick: t("thick"), paste: t("like paste") }, null, { meanings: THICKNESS() }),
    pick("drain", t("Runs off the spatula"), { quick: t("quickly"), good: t("well"), slow: t("slowly") }, null, { meanings: DRAIN() }),
  ],
  foreign: () => [pick("foreign", t("What got in?"), FOREIGN(), "glass")],
  smear: (order, bowl) => (bowl.dipped ? smearResult(bowl) : [pick("surface", t("Smeared on"), SURFACES(), order.surface ?? "paper")]),
  sieve: (order, bowl) => [amount("mass_g", t("How much was taken out"), Math.max(1, Math.round(bowl.seed_g || 20)))],
  remove: () => [amount("mass_g", t("How much went into moulds"), 200)],
  pour: () => [pick("material", t("Into a bowl of"), VESSELS(), "steel")],
  water: () => [amount("mass_g", t("About how much water"), 2, 0.1, 5000)],
  probe_check: (order) => probeCheck(order.method ?? "ice"),
  finish: () => [pick("used", t("How does it end?"), { true: t("used"), false: t("not used") }, "true")],
};
// What a sound thermometer shows; of a second one nobody knows. Water boils lower in the mountains: it can be typed over.
const REFERENCES_C = { ice: 0, boiling: 100 };
function probeCheck(method) {
  const due = REFERENCES_C[method] ?? null;
  const follow = (chosen, sheet) => { for (const name of ["shown_C", "reference_C"]) sheet.preset(name, REFERENCES_C[chosen] ?? null); };
  return [pick("method", t("How"), METHODS(), method, { follow }), warmth("shown_C", t("It showed"), due, -30, 130), warmth("reference_C", t("It should show"), due, -30, 130)];
}
const smearResult = (bowl) => [
  pick("result", t("Set?"), { set_after_s: t("set"), not_set_after_s: t("not yet") }, "set_after_s"),
  { kind: "seconds", name: "after", label: t("After"), preset: Math.max(10, Math.round((bowl.now_s - bowl.dipped.at) / 10) * 10), low: 5, high: 3600 },
  pick("finish", t("Looks"), { glossy: t("glossy"), streaked: t("streaked"), dull: t("dull") }),
];
const shown = { mass: shownMass, temperature: shownDegrees, share: (v) => v * 100 };
const meant = { mass: g_of, temperature: C_of, share: (v) => v / 100 };
const unitOf = (field) => ({ mass: massUnit(), temperature: degreeUnit(), seconds: "s", share: "%" })[field.kind] ?? field.unit ?? "";
const stepsOf = (field) => ({ mass: massUnit() === "oz" ? [0.5, 1] : [5, 50], temperature: [0.1, 0.5], seconds: [5, 30], share: [5, 10], plain: [50, 100] })[field.kind];
const digitsOf = (field) => (field.kind === "temperature" || (field.kind === "mass" && massUnit() === "oz") ? 1 : 0);

function picture(name) {
  const drawn = svg("svg", { class: "picture", viewBox: "0 0 48 36", "aria-hidden": "true" });
  drawn.append(icon(name));
  return drawn;
}
export class Sheet {
  constructor(dialog) {
    this.dialog = dialog;
    dialog.addEventListener("keydown", (event) => {
      if (event.key === "Enter" && event.target.classList?.contains("amount")) {
        event.preventDefault();
        event.target.form.requestSubmit();
        return;
      }
      if (!this.active || event.ctrlKey || event.metaKey || event.altKey) return;
      const letter = event.key === "Backspace" ? "" : /^[0-9]$/.test(event.key) ? event.key : /^[.,]$/.test(event.key) ? sign() : null;
      if (letter === null) return;
      event.preventDefault();
      this.type(letter);
    });
  }
  // Ask for the fields of a deed; `send` gets the event. `check` may return a question about a doubtful number.
  // With `agos` (minutes) it may be said that it was done some time ago; what lasts, that it began then or is just over.
  open({ what, title, fields, send, caution, check, confirm, agos }) {
    this.ago_s = () => 0;
    this.fields = fields; this.values = {}; this.active = null; this.check = check; this.sure = false;
    for (const field of fields) this.values[field.name] = field.kind === "pick" ? field.preset : field.preset === null ? null : (shown[field.kind] ?? ((v) => v))(field.preset);
    const numbers = fields.filter((field) => field.kind !== "pick");
    this.told = el("p", { class: "wrong", role: "alert", hidden: true });
    const form = el("form", { method: "dialog", class: "sheet-form", onsubmit: (event) => { event.preventDefault(); this.submit(what, send); } },
      el("div", { class: "sheet-head" }, el("h2", { id: "sheet-title" }, title), el("button", { type: "button", class: "plain", onclick: () => this.dialog.close() }, t("Close"))));
    if (caution) form.append(el("p", { class: "caution-line" }, caution));
    const rows = el("div", { class: "asked" }, ...fields.map((field) => (field.kind === "pick" ? this.choices(field) : this.amountRow(field))));
    form.append(rows);
    if (numbers.length) form.append(this.keypad());
    const lasts = fields.some((field) => field.name === "seconds");
    if (agos && (lasts || agos.length)) form.append(this.whenRow(agos, lasts));
    this.meant = el("div", { hidden: true });
    form.append(this.told, this.meant, el("button", { class: "button big confirm" }, confirm ?? t("Done")));
    this.dialog.replaceChildren(form);
    if (numbers.length) this.choose(numbers[0]);
    this.dialog.setAttribute("aria-labelledby", "sheet-title");
    if (!this.dialog.open) this.dialog.showModal();
    (this.dialog.querySelector(".amount.active, input:checked, .confirm") ?? form).focus();
  }
  choices(field) {
    const group = el("fieldset", { class: field.meanings ? "choices pictured" : "choices" }, el("legend", {}, field.label));
    const row = el("div", { class: "row" }), meaning = el("p", { class: "hint", "aria-live": "polite" });
    for (const [code, text] of Object.entries(field.options)) {
      const chosen = () => { this.values[field.name] = code; meaning.textContent = field.meanings?.[code] ?? ""; field.follow?.(code, this); };
      const input = el("input", { type: "radio", name: `pick-${field.name}`, value: code, checked: this.values[field.name] === code, onchange: chosen });
      row.append(el("label", { class: "choice" }, input, el("span", {}, field.meanings ? picture(`${field.name}-${code}`) : null, text)));
    }
    group.append(row);
    if (field.meanings) group.append(meaning);
    return group;
  }
  whenRow(agos, lasts) {
    const choice = (text, ago_s, checked = false) => el("label", { class: "choice small" },
      el("input", { type: "radio", name: "ago", checked, onchange: () => { this.ago_s = ago_s; } }), el("span", {}, text));
    const named = (ago) => (lasts ? t("began {n} min ago", { n: ago }) : t("{n} min ago", { n: ago }));
    const choices = [choice(lasts ? t("begins now") : t("just now"), () => 0, true)];
    if (lasts) choices.push(choice(t("is just over"), (event) => event.seconds));
    choices.push(...agos.map((ago) => choice(named(ago), () => 60 * ago)));
    return el("fieldset", { class: "choices" }, el("legend", {}, t("When")), el("div", { class: "row" }, ...choices));
  }
  amountRow(field) {
    const [small, large] = stepsOf(field);
    const step = (by) => () => { this.choose(field); this.set(Math.round(((this.values[field.name] ?? 0) + by) * 10) / 10); };
    const button = (by) => el("button", { type: "button", class: "nudge", onclick: step(by), "aria-label": `${field.label} ${by > 0 ? "+" : "−"}${number(Math.abs(by), Math.abs(by) % 1 ? 1 : 0)}` }, `${by > 0 ? "+" : "−"}${number(Math.abs(by), Math.abs(by) % 1 ? 1 : 0)}`);
    const amountButton = el("button", { type: "button", class: "amount", "data-field": field.name, onclick: () => this.choose(field) });
    return el("div", { class: "amount-row", role: "group", "aria-label": field.label }, el("span", { class: "amount-label" }, field.label), button(-large), button(-small), amountButton, button(small), button(large));
  }
  keypad() {
    const key = (text, name, act) => el("button", { type: "button", class: "key", "aria-label": name, onclick: act }, text);
    const digits = [7, 8, 9, 4, 5, 6, 1, 2, 3].map((digit) => key(String(digit), String(digit), () => this.type(String(digit))));
    return el("div", { class: "keypad", role: "group", "aria-label": t("Keypad") }, ...digits, key(sign(), t("decimal sign"), () => this.type(sign())), key("0", "0", () => this.type("0")), key("⌫", t("delete"), () => this.type("")));
  }
  choose(field) {
    if (this.active !== field) { this.active = field; this.text = null; }
    this.show();
  }
  type(letter) {
    // The first key starts a new number; deleting goes on from the old one.
    let text = this.text ?? (letter ? "" : this.shownText(this.active));
    text = letter ? (text + letter).replace(/^0(?=\d)/, "") : text.slice(0, -1);
    if (text.split(sign()).length > 2 || text.length > 7) return;
    this.text = text;
    this.values[this.active.name] = text && text !== sign() ? typed(text) : null;
    this.sure = false;
    this.show();
  }
  // A number of another field as its choice has it.
  preset(name, value) {
    const field = this.fields.find((one) => one.name === name);
    this.values[name] = value === null ? null : shown[field.kind](value);
    this.text = null;
    this.sure = false;
    this.show();
  }
  set(value) { this.text = null; this.values[this.active.name] = value; this.sure = false; this.show(); }
  shownText(field) { const value = this.values[field.name]; return value === null || Number.isNaN(value) ? "" : number(value, digitsOf(field)); }
  show() {
    for (const button of this.dialog.querySelectorAll(".amount")) this.showOne(button);
  }
  showOne(button) {
    const field = this.fields.find((one) => one.name === button.dataset.field);
    if (!field) return;
    const text = field === this.active && this.text !== null ? this.text : this.shownText(field);
    button.textContent = `${text || "–"} ${unitOf(field)}`;
    button.setAttribute("aria-label", `${field.label}: ${button.textContent}`);
    button.classList.toggle("active", field === this.active);
    button.setAttribute("aria-pressed", String(field === this.active));
  }
  // What is wrong or doubtful, with a button for the number that may have been meant.
  complain(text, meant = null) {
    this.told.textContent = text;
    this.told.hidden = false;
    this.meant.replaceChildren(...(meant ? [el("button", { type: "button", class: "button second", onclick: () => { this.dialog.close(); meant.take(); } }, meant.label)] : []));
    this.meant.hidden = !meant;
  }
  submit(what, send) {
    const event = { what };
    for (const field of this.fields) {
      const value = this.values[field.name];
      if (field.kind === "pick") { if (value !== null) event[field.name] = value; continue; }
      const real = value === null || Number.isNaN(value) ? NaN : (meant[field.kind] ?? ((v) => v))(value);
      if (!(real >= field.low - 1e-6 && real <= field.high + 1e-6)) {
        const scale = shown[field.kind] ?? ((v) => v);
        this.complain(t("{field}: from {low} to {high} {unit}.", { field: field.label, low: number(scale(field.low), digitsOf(field)), high: number(scale(field.high), digitsOf(field)), unit: unitOf(field) }));
        return;
      }
      event[field.name] = Math.round(real * 1000) / 1000;
    }
    const doubt = this.sure ? null : this.check?.(event);
    if (doubt) {
      this.sure = true;
      this.complain(doubt.text, doubt.meant && { label: doubt.meant.label, take: () => send(shaped({ ...event, ...doubt.meant.fields }), this.ago_s(event)) });
      return;
    }
    this.dialog.close();
    send(shaped(event), this.ago_s(event));
  }
}
// From what was asked to the event of the bench log.
function shaped({ result, after, used, material, ...event }) {
  if (result) event[result] = after;
  if (used !== undefined) event.used = used === "true";
  if (material) event.vessel = { material };
  return event;
}
// What does not belong in the bowl is seen: it is told as a look.
export const eventOf = (what) => (what === "foreign" ? "look" : what);
export const titleOf = (what) => (what === "foreign" ? t("Foreign matter") : WHAT()[what]);
export const cautionOf = (what) => (what === "foreign" ? t("Nobody eats of this bowl. A sieve does not find splinters or allergens.") : CAUTIONS()[what] ?? "");
