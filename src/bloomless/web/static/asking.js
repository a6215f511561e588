// From a tap to an event: which sheet is opened, what it is preset to, which numbers are asked about twice.
import { t, view, number, degrees, span, temperature, shownDegrees, C_from_F, hundredths } from "./words.js";
import { asks, told } from "./orders.js";
import { DEEDS, Sheet, cautionOf, eventOf, titleOf } from "./deeds.js";
import { bowl, now, practice, waitingSmear } from "./bowl.js";
import { ANSWERED } from "./practice.js";

const HOTTEST_C = 62, FAR_K = 8;
const AGOS_MIN = [1, 2, 5]; // hands first, taps later: an act may be told as done some minutes ago
const NOW_ONLY = new Set(["smear", "finish", "look", "foreign", "probe_check"]);

export class Asking {
  constructor(dialog, tell) {
    this.sheet = new Sheet(dialog);
    this.tell = tell;
  }
  deed(what) {
    if (practice && ANSWERED.has(what)) { this.tell({ what }); return; }
    const dipped = waitingSmear();
    const known = { before: bowl.advice.before, seed_g: bowl.state.estimate?.seed_left_g?.p50, dipped, now_s: now() };
    const send = (event, ago_s) => {
      const at = ago_s ? { at: Math.max(0, known.now_s - ago_s) } : {};
      this.tell(what === "smear" && dipped ? { ...event, taken_at: dipped.at } : { ...event, ...at });
    };
    const agos = practice || NOW_ONLY.has(what) ? null : AGOS_MIN.filter((ago) => 60 * ago < known.now_s);
    this.sheet.open({ what: eventOf(what), title: titleOf(what), fields: DEEDS[what](bowl.advice.next ?? {}, known), caution: cautionOf(what), send, check: what === "probe_check" ? offBy : undefined, agos });
  }
  reading() {
    const preset = bowl.state.reading?.temperature_C ?? 31;
    this.sheet.open({
      what: "reading", title: t("What the thermometer shows"), confirm: t("Enter"),
      fields: [{ kind: "temperature", name: "temperature_C", label: t("Temperature"), preset, low: -30, high: 130 }],
      check: (event) => doubt(event.temperature_C), send: (event) => this.tell(event),
    });
  }
  sameAgain() {
    if (bowl.state.reading) this.tell({ what: "reading", temperature_C: bowl.state.reading.temperature_C });
    else this.reading();
  }
  // The advised step was done as advised, or has to be answered.
  done() {
    const order = bowl.advice.next;
    if (!order) return;
    const event = told(order), what = event?.what ?? asks(order) ?? order.do;
    if (practice && order.do === "use_it") this.tell({ what: "finish", used: true });
    else if (practice && ANSWERED.has(what)) this.tell({ what });
    else if (event) this.tell(event);
    else if (order.do === "stir") this.tell({ what: "stir", vigour: order.vigour ?? "steady" });
    else if (asks(order)) this.deed(asks(order));
  }
}
// A question about a number that can hardly be, with the number that may have been meant.
function doubt(C) {
  const believed = bowl.state.estimate?.temperature_C;
  if (view.temperature === "C" && C > HOTTEST_C) {
    const meant_C = hundredths(C_from_F(C));
    return { text: t("{shown} °C? As °F it would be {other} °C. Press again to keep it.", { shown: number(C, 1), other: number(meant_C, 1) }),
      meant: { label: t("It was °F: take {temperature}", { temperature: temperature(meant_C) }), fields: { temperature_C: meant_C } } };
  }
  if (view.temperature === "F" && C < 5 && shownDegrees(C) > 15) {
    const meant_C = hundredths(shownDegrees(C));
    return { text: t("{shown} °F? That looks like °C. Press again to keep it.", { shown: degrees(C) }),
      meant: { label: t("It was °C: take {temperature}", { temperature: temperature(meant_C) }), fields: { temperature_C: meant_C } } };
  }
  if (believed && Math.abs(C - believed.p50) > FAR_K) return { text: t("That is far from {expected}. Press again to keep it.", { expected: temperature(believed.p50) }) };
  return null;
}
// A thermometer is off by a degree or two; by ten it was another method, or a slip.
function offBy({ shown_C, reference_C }) {
  return Math.abs(shown_C - reference_C) > FAR_K ? { text: t("That would be off by {degrees}. Press again to keep it.", { degrees: span(shown_C - reference_C) }) } : null;
}
