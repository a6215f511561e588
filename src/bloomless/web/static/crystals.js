// What the crystals do, drawn from the estimate: every sign stands for an amount, and the legend says how much.
import { t, number, mass } from "./words.js";
import { svg } from "./chart.js";

const EACH_PCT = 0.1; // one crystal sign: 0.1 % of the fat
const MOST = 70;
const PIECES = 9;
const ENOUGH_PCT = [0.4, 6]; // of form V, for the bowl to be in temper
const SCALE_PCT = [0.05, 20];
const WIDTH = 320, DEPTH = 118, RIM = 10;
// Places that stay put: an additive sequence with irrational steps spreads evenly for any number of signs.
const part = (i, step, shift) => (0.5 + shift + i * step) % 1;
// Inside the bowl: the deeper, the narrower; so the share of the width left at a depth scales the place across.
function place(i, shift) {
  const down = 0.14 + 0.78 * part(i, 0.569840296, shift * 2);
  const half = (WIDTH / 2 - 16) * Math.sqrt(1 - (down * 0.96) ** 2);
  return [WIDTH / 2 + half * 0.92 * (2 * part(i, 0.754877666, shift) - 1), RIM + down * DEPTH];
}
const across = (pct) => {
  const [low, high] = SCALE_PCT.map(Math.log), at = Math.log(Math.min(SCALE_PCT[1], Math.max(SCALE_PCT[0], pct)));
  return 8 + (WIDTH - 16) * (at - low) / (high - low);
};

export class Crystals {
  constructor(where, legend) {
    this.picture = svg("svg", { viewBox: `0 0 ${WIDTH} 178`, role: "img", "aria-label": t("Drawing of the crystals in the bowl") });
    this.legend = legend;
    this.mostSeed = 1;
    where.append(this.picture);
  }
  draw(estimate) {
    const stable = estimate.form_v_pct_of_fat, unstable = estimate.unstable_pct_of_fat, seed = estimate.seed_left_g;
    const parts = [
      svg("path", { class: "vessel", d: `M4 ${RIM - 4}H${WIDTH - 4}C${WIDTH - 4} ${DEPTH} ${WIDTH * 0.74} ${RIM + DEPTH + 8} ${WIDTH / 2} ${RIM + DEPTH + 8}S4 ${DEPTH} 4 ${RIM - 4}Z` }),
      svg("path", { class: "melt", d: `M11 ${RIM + 2}H${WIDTH - 11}C${WIDTH - 12} ${DEPTH - 4} ${WIDTH * 0.73} ${RIM + DEPTH + 1} ${WIDTH / 2} ${RIM + DEPTH + 1}S12 ${DEPTH - 4} 11 ${RIM + 2}Z` }),
    ];
    if (seed) parts.push(...this.pieces(seed));
    parts.push(...signs(stable, 0.31, (x, y, how) => svg("path", { class: `stable ${how}`, d: `M${x} ${y - 8}l5 8-5 8-5-8z` })));
    parts.push(...signs(unstable, 0.67, (x, y, how) => svg("circle", { class: `unstable ${how}`, cx: x, cy: y, r: 5 })));
    parts.push(...scale(stable));
    this.picture.replaceChildren(...parts);
    this.describe(stable, unstable, seed);
  }
  // Pieces keep their number and shrink.
  pieces(seed) {
    this.mostSeed = Math.max(this.mostSeed, seed.p95);
    const size = seed.p50 < 1 ? 0 : 34 * Math.cbrt(Math.min(1, seed.p50 / this.mostSeed));
    return Array.from({ length: size > 2 ? PIECES : 0 }, (_, i) => {
      const [x, y] = place(i, 0.13);
      return svg("rect", { class: "piece", x: x - size / 2, y: y - size / 2, width: size, height: size * 0.8, rx: size * 0.2, transform: `rotate(${(i * 37) % 60 - 30} ${x} ${y})` });
    });
  }
  describe(stable, unstable, seed) {
    const pct = (band) => (band ? `${number(band.p50, 1)} % (${number(band.p05, 1)}–${number(band.p95, 1)})` : "–");
    this.legend.stable.textContent = pct(stable);
    this.legend.unstable.textContent = pct(unstable);
    this.legend.seed.textContent = left(seed);
    const text = sentence(stable, unstable, seed);
    if (this.legend.sentence.textContent !== text) this.legend.sentence.textContent = text;
  }
}
function left(seed) {
  if (!seed) return "–";
  if (seed.p95 < 1) return t("none");
  return seed.p50 < 1 ? t("at most {mass}", { mass: mass(seed.p95) }) : `${mass(seed.p50)} (${mass(seed.p05)}–${mass(seed.p95)})`;
}
function signs(band, shift, draw) {
  const count = (pct) => Math.min(MOST, Math.round((pct ?? 0) / EACH_PCT));
  const sure = count(band?.p05), likely = count(band?.p50);
  return Array.from({ length: count(band?.p95) }, (_, i) => draw(...place(i, shift), i < sure ? "sure" : i < likely ? "likely" : "maybe"));
}
// Under the bowl: how much of the fat is solid as form V, against what a bowl in temper has.
function scale(stable) {
  const [from, to] = ENOUGH_PCT.map(across), y = 150;
  const word = (x, text, anchor = "middle") => svg("text", { class: "scale-text", x, y: y + 24, "text-anchor": anchor }, text);
  const parts = [
    svg("line", { class: "scale", x1: 8, x2: WIDTH - 8, y1: y, y2: y }),
    svg("rect", { class: "enough", x: from, y: y - 7, width: to - from, height: 14 }),
    word(8, t("too few"), "start"), word((from + to) / 2, t("enough to set")), word(WIDTH - 8, t("thick"), "end"),
  ];
  if (stable) parts.push(
    svg("line", { class: "scale-band", x1: across(stable.p05), x2: Math.max(across(stable.p95), across(stable.p05) + 2), y1: y, y2: y }),
    svg("path", { class: "stable sure", d: `M${across(stable.p50)} ${y - 11}l7 11-7 11-7-11z` }));
  return parts;
}
function sentence(stable, unstable, seed) {
  if (!stable) return "";
  if (unstable && unstable.p50 > stable.p50 / 3 && unstable.p50 > 0.15) return t("Too many crystals that will not last: warm a little, they melt first.");
  if (stable.p50 < ENOUGH_PCT[0]) return seed && seed.p50 > 5 ? t("The pieces are shedding crystals into the melt: stirring helps.") : t("Hardly any lasting crystals yet.");
  if (stable.p50 > ENOUGH_PCT[1]) return t("So many crystals that the bowl thickens.");
  return seed && seed.p50 > 10 ? t("Enough lasting crystals; the pieces still have to go.") : t("Enough lasting crystals to set the whole bowl.");
}
