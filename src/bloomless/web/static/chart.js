// The curve: readings, what is believed, what is to come, the working window, and what was done. Plain SVG.
import { t, temperature, shownDegrees, number } from "./words.js";

const NS = "http://www.w3.org/2000/svg";
export const svg = (name, attributes = {}, text) => {
  const made = document.createElementNS(NS, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  if (text !== undefined) made.textContent = text;
  return made;
};
const LETTERS = { seed: "S", add: "M", warm_bath: "W", cool_bath: "C", microwave: "µ", hot_air: "H", table: "T", pour: "P", sieve: "X", remove: "D", smear: "K", look: "L", water: "!", stir: "R", probe_check: "✓", finish: "■" };
export const letterOf = (what) => LETTERS[what] ?? "•";
const NICE = [0.5, 1, 2, 5, 10, 15, 20, 30, 60, 120];
const stepFor = (span, most) => NICE.find((step) => span / step <= most) ?? 240;

export class Chart {
  // columns: at, shown, t05, t50, t95, chance …
  constructor(where, { label }) {
    this.where = where;
    this.picture = svg("svg", { role: "img", "aria-label": label });
    this.where.append(this.picture);
    this.rows = []; this.marks = []; this.ahead = null; this.window = null; this.span = 900; this.others = [];
    new ResizeObserver(() => this.draw()).observe(where);
  }
  set({ rows, marks, ahead, window: win, others }) {
    if (rows) this.rows = rows;
    if (marks) this.marks = marks;
    if (ahead !== undefined) this.ahead = ahead;
    if (win) this.window = win;
    if (others) this.others = others;
    this.later();
  }
  push(row) {
    const last = this.rows[this.rows.length - 1];
    if (row && (!last || row[0] >= last[0])) {
      if (last && row[0] === last[0] && row[1] === null) row[1] = last[1];
      if (last && row[0] === last[0]) this.rows.pop();
      this.rows.push(row);
    }
    if (this.rows.length > 1500) this.rows = this.rows.filter((_, i) => i > this.rows.length - 500 || i % 2 === 0);
    this.later();
  }
  later() {
    if (this.due) return;
    this.due = true;
    requestAnimationFrame(() => { this.due = false; this.draw(); });
  }
  range() {
    const now = this.rows.length ? this.rows[this.rows.length - 1][0] : 0;
    const end = this.ahead ? Math.max(now + 120, this.ahead.at_s[this.ahead.at_s.length - 1]) : now + (this.still ? 0 : 60);
    const longest = Math.max(end, ...this.others.map((rows) => rows[rows.length - 1]?.[0] ?? 0));
    const start = this.span ? Math.max(0, now - this.span) : 0;
    return [start, Math.max(longest, start + 60), now];
  }
  draw() {
    const width = this.where.clientWidth, height = this.where.clientHeight;
    if (!width || !height) return;
    const [start, end, now] = this.range();
    const left = 52, right = width - 14, top = 22, bottom = height - 46;
    const x = (s) => left + ((s - start) / (end - start)) * (right - left);
    const seen = this.rows.filter((row) => row[0] >= start - 30);
    const values = seen.flatMap((row) => [row[1], row[2], row[4]]).filter((v) => v !== null);
    for (const rows of this.others) values.push(...rows.map((row) => row[3]).filter((v) => v !== null));
    if (this.ahead) values.push(...this.ahead.temperature_C.flatMap((b) => [b.p05, b.p95]));
    if (this.window) values.push(this.window[0] - 0.5, this.window[1] + 0.5);
    if (!values.length) values.push(28, 34);
    const low = Math.min(...values) - 0.3, high = Math.max(...values) + 0.3;
    const y = (C) => bottom - ((C - low) / (high - low)) * (bottom - top);
    const parts = [];
    const add = (name, attributes, text) => parts.push(svg(name, attributes, text));
    if (this.window) this.drawWindow(add, x, y, left, right);
    this.drawAxes(add, x, y, { start, end, low, high, left, right, top, bottom });
    const path = (rows, column) => rows.filter((r) => r[column] !== null).map((r, i) => `${i ? "L" : "M"}${x(r[0]).toFixed(1)} ${y(r[column]).toFixed(1)}`).join("");
    const believed = seen.filter((row) => row[2] !== null);
    if (believed.length > 1) {
      const back = [...believed].reverse().map((r) => `L${x(r[0]).toFixed(1)} ${y(r[4]).toFixed(1)}`).join("");
      add("path", { class: "band", d: `${path(believed, 2)}${back}Z` });
      add("path", { class: "median", d: path(believed, 3) });
    }
    this.others.forEach((rows, i) => add("path", { class: `other other-${i}`, d: path(rows, 3) }));
    if (this.ahead) this.drawAhead(add, x, y, top);
    const every = Math.max(1, Math.floor(seen.length / 150));
    seen.forEach((row, i) => { if (row[1] !== null && (i % every === 0 || i === seen.length - 1)) add("circle", { class: "reading", cx: x(row[0]).toFixed(1), cy: y(row[1]).toFixed(1), r: 3 }); });
    if (!this.still) {
      add("line", { class: "now", x1: x(now), x2: x(now), y1: top, y2: bottom });
      add("text", { class: "tick now-text", x: Math.min(x(now), right - 20), y: top - 8, "text-anchor": "middle" }, t("now"));
    }
    this.drawMarks(add, x, start, bottom);
    this.picture.setAttribute("viewBox", `0 0 ${width} ${height}`);
    this.picture.replaceChildren(...parts);
  }
  drawWindow(add, x, y, left, right) {
    const [low, high] = this.window;
    add("rect", { class: "window", x: left, y: y(high), width: right - left, height: Math.max(1, y(low) - y(high)) });
    add("line", { class: "edge", x1: left, x2: right, y1: y(high), y2: y(high) });
    add("line", { class: "edge", x1: left, x2: right, y1: y(low), y2: y(low) });
    add("text", { class: "window-text", x: left + 6, y: y(high) + 16 }, t("working window"));
  }
  drawAxes(add, x, y, { start, end, low, high, left, right, top, bottom }) {
    const step = stepFor((end - start) / 60, Math.max(3, (right - left) / 90)) * 60;
    for (let s = Math.ceil(start / step) * step; s <= end; s += step) {
      add("line", { class: "grid", x1: x(s), x2: x(s), y1: bottom, y2: bottom + 5 });
      add("text", { class: "tick", x: x(s), y: bottom + 40, "text-anchor": "middle" }, `${number(s / 60, step % 60 ? 1 : 0)}′`);
    }
    const [from, to] = [shownDegrees(low), shownDegrees(high)];
    const rise = stepFor(to - from, Math.max(2, (bottom - top) / 38));
    for (let v = Math.ceil(from / rise) * rise; v <= to; v += rise) {
      const at = y(low + ((v - from) / (to - from)) * (high - low));
      add("line", { class: "grid", x1: left, x2: right, y1: at, y2: at });
      add("text", { class: "tick", x: left - 7, y: at + 5, "text-anchor": "end" }, `${number(v, rise < 1 ? 1 : 0)}°`);
    }
  }
  drawAhead(add, x, y, top) {
    const { at_s, temperature_C } = this.ahead;
    const line = (key, list = at_s.map((s, i) => [s, temperature_C[i][key]])) => list.map(([s, C]) => `${x(s).toFixed(1)} ${y(C).toFixed(1)}`);
    add("path", { class: "ahead", d: `M${line("p05").join("L")}L${line("p95").reverse().join("L")}Z` });
    add("path", { class: "ahead-median", d: `M${line("p50").join("L")}` });
    const last = at_s.length - 1;
    add("text", { class: "tick", x: x(at_s[last]) - 4, y: top - 8, "text-anchor": "end" }, t("if only stirred"));
  }
  drawMarks(add, x, start, bottom) {
    let previous = -99, row = 0;
    for (const mark of this.marks) {
      if (mark.at < start) continue;
      const at = x(mark.at);
      row = at - previous < 22 ? row + 1 : 0;
      previous = at;
      if (row > 2) continue;
      const cy = bottom + 14 - row * 24;
      add("line", { class: "mark-line", x1: at, x2: at, y1: bottom, y2: cy - 9 });
      add("circle", { class: mark.undone ? "mark undone" : "mark", cx: at, cy, r: 10 });
      add("text", { class: mark.undone ? "mark-text undone" : "mark-text", x: at, y: cy + 5, "text-anchor": "middle" }, letterOf(mark.what));
    }
  }
}
export const rangeText = (band, show) => (band ? `${show(band.p05)}–${show(band.p95)}` : "");
export const describe = (rows) => {
  const last = rows[rows.length - 1];
  return last ? t("Curve of the temperature; the last value is {now}.", { now: temperature(last[3] ?? last[1]) }) : t("Curve of the temperature");
};
