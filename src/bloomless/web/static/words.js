// Words and numbers in the language and the units of this device.
const root = document.documentElement;
export const view = JSON.parse(document.getElementById("view").textContent);
const said = (await import(`/words/${view.version}/${view.language}.js`)).default;

export const t = (text, values = {}) =>
  (said[text] ?? text).replace(/\{(\w+)\}/g, (whole, name) => values[name] ?? whole);

export function number(value, digits = 1) {
  if (value === null || value === undefined || Number.isNaN(value)) return "–";
  const shown = new Intl.NumberFormat(view.language, { minimumFractionDigits: digits, maximumFractionDigits: digits }).format(value);
  return shown.replace("-", "−");
}
const inF = () => view.temperature === "F";
const inOz = () => view.mass === "oz";
export const degreeUnit = () => `°${view.temperature}`;
export const massUnit = () => view.mass;
export const shownDegrees = (C) => (C === null || C === undefined ? null : inF() ? C * 1.8 + 32 : C);
export const C_from_F = (F) => (F - 32) / 1.8;
export const C_of = (shown) => (inF() ? C_from_F(shown) : shown);
export const hundredths = (value) => Math.round(100 * value) / 100;
export const degrees = (C, digits = 1) => number(shownDegrees(C), digits);
export const temperature = (C, digits = 1) => `${degrees(C, digits)}\u00a0${degreeUnit()}`;
export const span = (K) => `${number(Math.abs(inF() ? K * 1.8 : K), 1)}\u00a0${degreeUnit()}`; // a difference of temperatures
export const perMinute = (K) => `${span(K)}/min`;
const OUNCE_g = 28.349523125;
export const shownMass = (g) => (inOz() ? g / OUNCE_g : g);
export const g_of = (shown) => (inOz() ? shown * OUNCE_g : shown);
export const mass = (g, digits = g >= 20 ? 0 : 1) => (g === null || g === undefined ? "–" : inOz() ? `${number(g / OUNCE_g, g >= 2 * OUNCE_g ? 1 : 2)}\u00a0oz` : `${number(g, digits)}\u00a0g`);
export const percent = (share, digits = 0) => (share === null || share === undefined ? "–" : `${number(share * 100, digits)}\u00a0%`);
export const typed = (text) => {
  const plain = text.trim().replace("−", "-").replace(",", ".");
  return /^-?\d{1,6}(\.\d{0,3})?$/.test(plain) ? Number(plain) : NaN;
};
export const sign = () => (number(1.5, 1).includes(",") ? "," : ".");
export const clock = (seconds) => {
  const s = Math.max(0, Math.round(seconds));
  const two = (n) => String(n).padStart(2, "0");
  return s >= 3600 ? `${Math.floor(s / 3600)}:${two(Math.floor(s / 60) % 60)}:${two(s % 60)}` : `${Math.floor(s / 60)}:${two(s % 60)}`;
};
export const lasting = (s) => (s >= 120 ? `${number(s / 60, s % 60 ? 1 : 0)}\u00a0min` : `${number(s, 0)}\u00a0s`);

// A sentence that came in English with numbers in it: found in the catalogue with {} for each number, then filled again.
export function say(text) {
  if (!text) return "";
  const values = [];
  const pattern = text.replace(/“[^”]*”|(?<![\w.])[-−]?\d+(?:[.,]\d+)?/g, (found) => { values.push(found); return "{}"; });
  const parts = said[pattern] === undefined && said[text] === undefined ? text.split(/(?<=[.!?]) (?=[A-Z])/) : [];
  if (parts.length > 1) return parts.map(say).join(" ");
  const template = said[pattern] ?? said[text] ?? pattern;
  return template.replace(/\{\}( ?°C\/min| ?°C| ?K\b| ?g\b)?/g, (_, unit) => {
    const raw = values.shift() ?? "";
    if (/^0\d+$/.test(raw)) return raw + (unit ?? ""); // minutes after an hour
    if (raw.startsWith("“")) return (view.language === "de" ? `„${raw.slice(1, -1)}“` : raw) + (unit ?? "");
    const value = Number(raw.replace("−", "-").replace(",", "."));
    const digits = (raw.split(/[.,]/)[1] ?? "").length;
    const what = (unit ?? "").trim();
    if (what === "°C") return temperature(value, digits);
    if (what === "°C/min") return `${number(inF() ? value * 1.8 : value, 1)} ${degreeUnit()}/min`;
    if (what === "K") return `${number(inF() ? value * 1.8 : value, digits)} ${degreeUnit()}`;
    if (what === "g") return mass(value, digits);
    return number(value, digits) + (unit ?? "");
  });
}
export const el = (name, attributes = {}, ...children) => {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (key.startsWith("on")) made.addEventListener(key.slice(2), value);
    else if (key in made && typeof value !== "string") made[key] = value;
    else made.setAttribute(key, value);
  }
  made.append(...children.filter((child) => child !== null && child !== undefined));
  return made;
};
// Text that changes only when it changes: a screen reader says it once.
export const put = (id, text) => {
  const where = typeof id === "string" ? document.getElementById(id) : id;
  if (where && where.textContent !== text) where.textContent = text;
};
root.classList.add("scripted");
