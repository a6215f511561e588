// The curve: readings, what is believed, what is to come, the working window, and what was done. Plain SVG.
import { t, temperature, shownDegrees, number } from "./words.js";

const NS = "http://www.w3.org/2000/svg";
export const svg = (name, attributes = {}, text) => {
  const made = document.createElementNS(NS, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  if (text !== undefined) made.textContent = text;
  return made;
};
const ICONS = new URL("./icons.svg", import.meta.url).pathname;
export const icon = (name, attributes = {}) => svg("use", { href: `${ICONS}#${name}`, ...attributes });
const NICE = [0.5, 1, 2, 5, 10, 15, 20, 30, 60, 120];
const FRESH_S = 120; // the live curve is scaled to the last minutes and the working window, not to the hot beginning
const WILD_K = 12;
const wild = ([, shown, low, , high]) => high !== null && (shown > high + WILD_K || shown < low - WILD_K);
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
  // Lowest and highest temperature drawn; what lies outside runs off the picture.
  scale(seen, now) {
    const fresh = this.span && !this.still ? seen.filter((row) => row[0] >= now - FRESH_S) : seen;
    // A reading that nobody believes, such as 108 for 42.2 °C, does not flatten the rest.
    const values = fresh.flatMap((row) => [wild(row) ? null : row[1], row[2], row[4]]);
    for (const rows of this.others) values.push(...rows.map((row) => row[3]));
    for (const ahead of [this.ahead, this.ahead?.obeyed]) if (ahead) values.push(...ahead.temperature_C.flatMap((band) => [band.p05, band.p95]));
    if (this.window) values.push(this.window[0] - 0.5, this.window[1] + 0.5);
    const known = values.filter((value) => value !== null);
    if (!known.length) known.push(28, 34);
    return [Math.min(...known) - 0.3, Math.max(...known) + 0.3];
  }
  draw() {
    const width = this.where.clientWidth, height = this.where.clientHeight;
    if (!width || !height) return;
    const [start, end, now] = this.range();
    const ahead = this.ahead ? { idle: beginning(this.ahead, now), obeyed: this.ahead.obeyed ? beginning(this.ahead.obeyed, now) : null } : null;
    const left = 52, right = width - 14, top = 22, bottom = height - 50;
    const x = (s) => left + ((s - start) / (end - start)) * (right - left);
    const seen = this.rows.filter((row) => row[0] >= start - 30);
    const [low, high] = this.scale(seen, now);
    const y = (C) => bottom - ((C - low) / (high - low)) * (bottom - top);
    const clip = svg("clipPath", { id: "inside" });
    clip.append(svg("rect", { x: left, y: top, width: right - left, height: bottom - top }));
    const inside = svg("g", { "clip-path": "url(#inside)" }), parts = [clip];
    const add = (name, attributes, text) => parts.push(svg(name, attributes, text));
    const within = (name, attributes) => inside.append(svg(name, attributes));
    if (this.window) this.drawWindow(add, x, y, left, right);
    this.drawAxes(add, x, y, { start, end, low, high, left, right, top, bottom });
    if (ahead) this.drawAhead(within, x, y, ahead);
    this.drawPast(within, x, y, seen);
    parts.push(inside);
    if (ahead) this.labelAhead(add, x, y, { top, bottom }, ahead);
    if (!this.still) {
      add("line", { class: "now", x1: x(now), x2: x(now), y1: top, y2: bottom });
      add("text", { class: "tick now-text", x: Math.min(x(now), right - 20), y: top - 8, "text-anchor": "middle" }, t("now"));
    }
    this.drawMarks((part) => parts.push(part), x, start, bottom);
    this.picture.setAttribute("viewBox", `0 0 ${width} ${height}`);
    this.picture.replaceChildren(...parts);
  }
  drawPast(add, x, y, seen) {
    const at = (row, column) => `${x(row[0]).toFixed(1)} ${y(row[column]).toFixed(1)}`;
    const path = (rows, column) => `M${rows.filter((row) => row[column] !== null).map((row) => at(row, column)).join("L")}`;
    const believed = seen.filter((row) => row[2] !== null);
    if (believed.length > 1) {
      add("path", { class: "band", d: `${path(believed, 2)}L${[...believed].reverse().map((row) => at(row, 4)).join("L")}Z` });
      add("path", { class: "median", d: path(believed, 3) });
    }
    this.others.forEach((rows, i) => add("path", { class: `other other-${i}`, d: path(rows, 3) }));
    const every = Math.max(1, Math.floor(seen.length / 150));
    seen.forEach((row, i) => { if (row[1] !== null && (i % every === 0 || i === seen.length - 1)) add("circle", { class: "reading", cx: x(row[0]).toFixed(1), cy: y(row[1]).toFixed(1), r: 3 }); });
  }
  drawWindow(add, x, y, left, right) {
    const [low, high] = this.window;
    add("rect", { class: "window", x: left, y: y(high), width: right - left, height: Math.max(1, y(low) - y(high)) });
    add("line", { class: "edge", x1: left, x2: right, y1: y(high), y2: y(high) });
    add("line", { class: "edge", x1: left, x2: right, y1: y(low), y2: y(low) });
    add("text", { class: "window-text", x: (left + right) / 2, y: y(high) + 16, "text-anchor": "middle" }, t("working window"));
  }
  drawAxes(add, x, y, { start, end, low, high, left, right, top, bottom }) {
    const step = stepFor((end - start) / 60, Math.max(3, (right - left) / 90)) * 60;
    for (let s = Math.ceil(start / step) * step; s <= end; s += step) {
      add("line", { class: "grid", x1: x(s), x2: x(s), y1: bottom, y2: bottom + 5 });
      add("text", { class: "tick", x: x(s), y: bottom + 45, "text-anchor": "middle" }, `${number(s / 60, step % 60 ? 1 : 0)}′`);
    }
    const [from, to] = [shownDegrees(low), shownDegrees(high)];
    const rise = stepFor(to - from, Math.max(2, (bottom - top) / 38));
    for (let v = Math.ceil(from / rise) * rise; v <= to; v += rise) {
      const at = y(low + ((v - from) / (to - from)) * (high - low));
      add("line", { class: "grid", x1: left, x2: right, y1: at, y2: at });
      add("text", { class: "tick", x: left - 7, y: at + 5, "text-anchor": "end" }, `${number(v, rise < 1 ? 1 : 0)}°`);
    }
  }
  drawAhead(add, x, y, ahead) {
    for (const how of ["idle", "obeyed"]) {
      if (!ahead[how]) continue;
      const line = (key) => ahead[how].map((one) => `${x(one.at).toFixed(1)} ${y(one[key]).toFixed(1)}`);
      add("path", { class: `ahead ${how}`, d: `M${line("p05").join("L")}L${line("p95").reverse().join("L")}Z` });
      add("path", { class: `ahead-median ${how}`, d: `M${line("p50").join("L")}` });
    }
  }
  // The two words at the right ends, kept apart and inside.
  labelAhead(add, x, y, { top, bottom }, ahead) {
    const end = (curve) => { const last = curve[curve.length - 1]; return [x(last.at) - 4, y(last.p50)]; };
    const idle = end(ahead.idle), obeyed = ahead.obeyed ? end(ahead.obeyed) : null;
    const above = !obeyed || idle[1] <= obeyed[1];
    const place = ([atX, atY], up) => ({ x: atX, y: Math.min(bottom - 6, Math.max(top + 14, atY + (up ? -8 : 18))), "text-anchor": "end" });
    add("text", { class: "ahead-text idle", ...place(idle, above) }, t("if only stirred"));
    if (obeyed) add("text", { class: "ahead-text obeyed", ...place(obeyed, !above) }, t("if you do this"));
  }
  drawMarks(push, x, start, bottom) {
    let previous = -99, row = 0;
    for (const mark of this.marks) {
      if (mark.at < start) continue;
      const at = Math.max(x(start) + 14, x(mark.at));
      row = at - previous < 26 ? row + 1 : 0;
      previous = at;
      if (row > 2) continue;
      const cy = bottom + 16 - row * 28;
      const sign = svg("g", { class: mark.undone ? "mark undone" : "mark" });
      sign.append(svg("line", { x1: at, x2: at, y1: bottom, y2: cy }), svg("circle", { cx: at, cy, r: 12 }),
        icon(mark.what, { x: at - 8.5, y: cy - 8.5, width: 17, height: 17 }));
      push(sign);
    }
  }
}
// A curve ahead from now on: what was foreseen for moments that have passed is left out.
function beginning({ at_s, temperature_C }, now) {
  const points = at_s.map((at, i) => ({ at, ...temperature_C[i] })), next = points.findIndex((one) => one.at > now);
  if (next <= 0) return next < 0 ? points.slice(-1) : points;
  const [a, b] = [points[next - 1], points[next]], share = (now - a.at) / (b.at - a.at);
  const between = (key) => a[key] + share * (b[key] - a[key]);
  return [{ at: now, p05: between("p05"), p50: between("p50"), p95: between("p95") }, ...points.slice(next)];
}
export const describe = (rows) => {
  const last = rows[rows.length - 1];
  return last ? t("Curve of the temperature; the last value is {now}.", { now: temperature(last[3] ?? last[1]) }) : t("Curve of the temperature");
};
