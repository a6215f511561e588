// Messages of a probe that this page holds itself: bytes to degrees Celsius, or null for what is no reading.
// The same rules as on the server, which checks again; the tests give both the same bytes.
const SPECIAL = new Set([0x7fffff, 0x800000, 0x7ffffe, 0x800002, 0x800001]);
const within = (C) => (Number.isFinite(C) && C >= -30 && C <= 130 ? C : null);

export function environmental(bytes) {
  if (bytes.length !== 2) return null;
  const raw = ((bytes[0] | (bytes[1] << 8)) << 16) >> 16;
  return raw === -32768 ? null : within(raw / 100);
}
export function health(bytes) {
  if (bytes.length < 5 || bytes[0] & 0xf8) return null;
  const flags = bytes[0];
  if (bytes.length !== 5 + (flags & 2 ? 7 : 0) + (flags & 4 ? 1 : 0)) return null;
  const mantissa = bytes[1] | (bytes[2] << 8) | (bytes[3] << 16);
  if (SPECIAL.has(mantissa)) return null;
  const exponent = (bytes[4] << 24) >> 24, signed = (mantissa << 8) >> 8;
  const value = exponent >= 0 ? signed * 10 ** exponent : signed / 10 ** -exponent;
  return within(flags & 1 ? (value - 32) / 1.8 : value);
}
const LINE = /^\s*(?:T\s*[=:]\s*)?([-+]?[0-9]{1,3}(?:[.,][0-9]{1,4})?)\s*°?\s*([CFcf])?\s*$/;
export function line(text, unit = "C") {
  const found = LINE.exec(text);
  if (!found) return null;
  const value = Number(found[1].replace(",", ".")), given = (found[2] ?? unit).toUpperCase();
  return within(given === "F" ? (value - 32) / 1.8 : value);
}
// Pieces to whole lines; a line whose beginning was not seen is not given out.
export class LineJoiner {
  constructor(openedMs) { this.kept = ""; this.whole = false; this.first = true; this.lastMs = openedMs; }
  feed(piece, nowMs) {
    const gap = nowMs - this.lastMs;
    if (this.first) { this.whole = gap >= 50; this.first = false; }
    else if (this.kept && gap > 2000) { this.kept = ""; this.whole = false; }
    this.lastMs = nowMs;
    const lines = (this.kept + piece).split(/[\r\n]/);
    this.kept = lines.pop();
    const given = [];
    for (const one of lines) { if (this.whole && one.trim()) given.push(one); this.whole = true; }
    if (this.kept.length > 200) { this.kept = ""; this.whole = false; }
    return given;
  }
}
