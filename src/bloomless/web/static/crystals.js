// What the crystals do, drawn from the estimate: every sign stands for an amount, and the legend says how much.
import { t, number, mass } from "./words.js";
import { svg } from "./chart.js";

const EACH_PCT = 0.1; // one crystal sign: 0.1 % of the fat
const MOST = 70;
const PIECES = 9;
// Places that stay put: an additive sequence with irrational steps spreads evenly for any number of signs.
const place = (i, w, h, shift) => [((0.5 + shift + i * 0.754877666) % 1) * w, ((0.5 + shift * 2 + i * 0.569840296) % 1) * h];

export class Crystals {
  constructor(where, legend) {
    this.picture = svg("svg", { viewBox: "0 0 320 150", role: "img", "aria-label": t("Drawing of the crystals in the bowl") });
    this.legend = legend;
    this.mostSeed = 1;
    where.append(this.picture);
  }
  draw(estimate) {
    const stable = estimate.form_v_pct_of_fat, unstable = estimate.unstable_pct_of_fat, seed = estimate.seed_left_g;
    const parts = [svg("rect", { class: "melt", x: 0, y: 0, width: 320, height: 150, rx: 14 })];
    if (seed) {
      this.mostSeed = Math.max(this.mostSeed, seed.p95);
      const size = seed.p50 < 1 ? 0 : 34 * Math.cbrt(Math.min(1, seed.p50 / this.mostSeed));
      for (let i = 0; size > 2 && i < PIECES; i++) {
        const [px, py] = place(i, 270, 100, 0.13);
        parts.push(svg("rect", { class: "piece", x: px + 25 - size / 2, y: py + 25 - size / 2, width: size, height: size * 0.8, rx: size * 0.2, transform: `rotate(${(i * 37) % 60 - 30} ${px + 25} ${py + 25})` }));
      }
    }
    const signs = (band, shift, draw) => {
      const sure = Math.min(MOST, Math.round((band?.p05 ?? 0) / EACH_PCT)), likely = Math.min(MOST, Math.round((band?.p50 ?? 0) / EACH_PCT)), may = Math.min(MOST, Math.round((band?.p95 ?? 0) / EACH_PCT));
      for (let i = 0; i < may; i++) {
        const [px, py] = place(i, 296, 126, shift);
        parts.push(draw(px + 12, py + 12, i < sure ? "sure" : i < likely ? "likely" : "maybe"));
      }
    };
    signs(stable, 0.31, (x, y, how) => svg("path", { class: `stable ${how}`, d: `M${x} ${y - 8}l5 8-5 8-5-8z` }));
    signs(unstable, 0.67, (x, y, how) => svg("circle", { class: `unstable ${how}`, cx: x, cy: y, r: 5 }));
    this.picture.replaceChildren(...parts);
    this.describe(stable, unstable, seed);
  }
  describe(stable, unstable, seed) {
    const pct = (band) => (band ? `${number(band.p50, 1)} % (${number(band.p05, 1)}–${number(band.p95, 1)})` : "–");
    this.legend.stable.textContent = pct(stable);
    this.legend.unstable.textContent = pct(unstable);
    this.legend.seed.textContent = seed ? (seed.p95 < 1 ? t("none") : `${mass(seed.p50)} (${mass(seed.p05)}–${mass(seed.p95)})`) : "–";
    const text = sentence(stable, unstable, seed);
    if (this.legend.sentence.textContent !== text) this.legend.sentence.textContent = text;
  }
}
function sentence(stable, unstable, seed) {
  if (!stable) return "";
  if (unstable && unstable.p50 > stable.p50 / 3 && unstable.p50 > 0.15) return t("Too many crystals that will not last: warm a little, they melt first.");
  if (stable.p50 < 0.4) return seed && seed.p50 > 5 ? t("The pieces are shedding crystals into the melt: stirring helps.") : t("Hardly any lasting crystals yet.");
  if (stable.p50 > 6) return t("So many crystals that the bowl thickens.");
  return seed && seed.p50 > 10 ? t("Enough lasting crystals; the pieces still have to go.") : t("Enough lasting crystals to set the whole bowl.");
}
