// A practice bowl: how fast its time runs, the guided first bowl, and the verdict at the end.
import { t, el, put, clock, say } from "./words.js";
import { api, bowl } from "./bowl.js";

const $ = (id) => document.getElementById(id);
// In a simulated kitchen the bowl itself answers what is seen, so nothing is asked.
export const ANSWERED = new Set(["look", "smear", "sieve", "pour", "probe_check"]);

export function showSpeed() {
  for (const button of document.querySelectorAll("[data-speed]")) button.setAttribute("aria-pressed", String(Number(button.dataset.speed) === bowl.speed));
}
export function letSpeedChoose() {
  for (const button of document.querySelectorAll("[data-speed]")) button.addEventListener("click", () =>
    fetch(`${api}/speed`, { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify({ speed: Number(button.dataset.speed) }) }));
}
// The guided bowl: each new step is explained once, in the order in which it comes.
const EXPLAINED = () => ({
  cool_bath: t("The melt is far too warm for crystals: cold water takes the heat off. Do what the big line says, then tap the blue button under it."),
  pour_over: t("The melt is far too warm for crystals: a cool bowl takes the heat off. Tap the blue button when it is done."),
  add_seed: t("Pieces of tempered chocolate bring the right crystals. Tap the blue button: they go in."),
  stir: t("Nothing to do but stir: watch the pieces shrink and the crystals appear in the drawing. Time runs {n} times as fast here.", { n: bowl.speed }),
  look: t("The thermometer cannot see lumps. Tap the blue button to look into the bowl."),
  smear: t("A thin smear on paper tells what no thermometer can: whether it sets with a shine. Tap the blue button."),
  check_thermometer: t("A thermometer in ice and water must show zero; many do not. Tap the blue button to check yours."),
  warm_bath: t("A little warmth melts the lumps; the right crystals live through it. Tap the blue button."),
  hot_air: t("A little warmth melts the lumps; the right crystals live through it. Tap the blue button."),
  table: t("A part worked on cool stone loses its heat fast and comes back cool. Tap the blue button: it is worked and returned."),
  add_melt: t("Warm melt thins a bowl that has grown thick. Tap the blue button: it goes in."),
  use_it: t("In temper: this is the moment to pour. Tap the blue button to use it and see what was really in the bowl."),
  sieve: t("Lumps that will not melt are taken out. Tap the blue button."),
});
export function showGuide() {
  if (!$("guide")) return;
  const over = t("That was a whole bowl. The score says how it went; the dashed line in the curve is the truth.");
  put("guide-text", bowl.state.finished ? over : EXPLAINED()[bowl.advice.next?.do] ?? t("Do what the big line says, then tap the blue button under it."));
}
const PARTS = () => ({
  cold: t("too cold"), hot: t("too hot"), few: t("too few crystals"), many: t("too many crystals"),
  unstable: t("unstable crystals"), lumps: t("lumps"), water: t("water"), scorched: t("scorched"),
});
export function showVerdict(chart) {
  if (!bowl.verdict) return;
  const { score, story, truth } = bowl.verdict;
  $("verdict").hidden = false;
  put("verdict-points", t("{points} of 100 points", { points: score.total }));
  const why = score.wrong.map((one) => PARTS()[one] ?? one).join(", ") || t("it was not used");
  put("verdict-text", score.in_temper && score.used ? t("In temper: it would set with a shine.") : t("Not in temper: {why}.", { why }));
  put("verdict-parts", t("Temper {temper}, time {minutes}, seed {seed}, steps {steps}.", score));
  $("story").replaceChildren(...story.map((one) => el("li", {}, el("span", { class: "when" }, clock(one.at_s)), ` ${say(one.text)}`)));
  chart.span = 0;
  chart.set({ others: [truth.map((row) => [row[0], null, null, row[1]])], ahead: null });
  put("truth-note", t("The dashed line is what the temperature really was."));
}
