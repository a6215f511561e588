// What was tapped is kept in this device first and sent second. Each has an id, so sending it twice does no harm.
const makeId = () => globalThis.crypto?.randomUUID?.() ?? `${Date.now().toString(36)}-${Math.random().toString(36).slice(2, 12)}`;

const KEPT = "waiting:";
// Bowls for which something tapped earlier on this device was not sent yet.
export function leftovers() {
  try { return Object.keys(localStorage).filter((name) => name.startsWith(`${KEPT}/api/`) && localStorage.getItem(name) !== "[]").map((name) => name.slice(KEPT.length)); }
  catch { return []; }
}

export class Outbox {
  constructor(api, changed) {
    this.url = `${api}/events`;
    this.names = { waiting: `${KEPT}${api}`, refused: `refused:${api}` };
    this.changed = changed;
    this.memory = {};
    this.trouble = "";
    addEventListener("storage", (event) => { if (Object.values(this.names).includes(event.key)) this.changed(); });
    addEventListener("online", () => this.flush());
    setInterval(() => this.flush(), 1500);
  }
  read(which) {
    try { return JSON.parse(localStorage.getItem(this.names[which]) ?? "[]"); }
    catch { return this.memory[which] ?? []; }
  }
  write(which, list) {
    this.memory[which] = list;
    try { localStorage.setItem(this.names[which], JSON.stringify(list)); } catch { /* kept in memory */ }
    this.changed();
  }
  get waiting() { return this.read("waiting"); }
  get refused() { return this.read("refused"); }
  add(event) {
    const full = { ...event, id: makeId() };
    this.write("waiting", [...this.waiting, full]);
    this.flush();
    return full;
  }
  drop(id) { this.write("refused", this.refused.filter((one) => one.event.id !== id)); }
  async flush() {
    if (this.busy || !this.waiting.length) return;
    this.busy = true;
    try {
      // Two tabs share the list: only one sends at a time.
      if (navigator.locks) await navigator.locks.request(this.names.waiting, { ifAvailable: true }, (lock) => lock && this.send());
      else await this.send();
    } finally { this.busy = false; }
  }
  async send() {
    for (let first = this.waiting[0]; first; first = this.waiting[0]) {
      let answer;
      try {
        answer = await fetch(this.url, { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(first), signal: AbortSignal.timeout(8000) });
      } catch { this.complain("network"); return; }
      if (answer.ok) { await answer.text().catch(() => ""); this.trouble = ""; this.remove(first.id); continue; }
      const problem = await answer.json().catch(() => ({}));
      if ([401, 403, 404, 408, 429].includes(answer.status) || answer.status >= 500) { this.complain(problem.detail ?? "server", answer.status); return; }
      this.remove(first.id);
      this.write("refused", [...this.refused, { event: first, text: problem.detail ?? String(answer.status) }]);
    }
  }
  complain(text, status = 0) {
    this.trouble = text;
    this.status = status;
    this.changed();
  }
  remove(id) { this.write("waiting", this.waiting.filter((one) => one.id !== id)); }
}
