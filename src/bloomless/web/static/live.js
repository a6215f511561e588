// The stream of news from the server, which comes back by itself, and says when it is away.
import { api } from "./bowl.js";

const SILENT_MS = 26000; // the server says something every ten seconds
export const AGAIN_MS = 1500;

export class Live {
  // `hear` has a function for each kind of news; `back` is called when everything should be fetched again.
  constructor({ hear, back, connection }) {
    this.hear = hear;
    this.back = back;
    this.connection = connection;
    this.connected = true;
    this.opened = 0;
    document.addEventListener("visibilitychange", () => this.seen(document.visibilityState === "visible"));
    setInterval(() => { if (this.stream && performance.now() - this.heardAt > SILENT_MS) { this.say(false); this.open(); } }, 1000);
  }
  open() {
    this.stream?.close();
    this.heardAt = performance.now();
    this.stream = new EventSource(`${api}/live`);
    this.stream.onopen = () => { if (this.opened++) this.back(); };
    this.stream.onerror = () => {
      this.say(false);
      if (this.stream?.readyState === EventSource.CLOSED) setTimeout(() => this.open(), AGAIN_MS);
    };
    for (const [kind, take] of Object.entries(this.hear)) this.stream.addEventListener(kind, (message) => {
      this.heardAt = performance.now();
      this.say(true);
      take(JSON.parse(message.data), Number(message.lastEventId) || 0);
    });
  }
  say(connected) {
    if (connected === this.connected) return;
    this.connected = connected;
    this.connection();
  }
  // Browsers allow few streams at once: a page nobody sees gives its own back.
  seen(visible) {
    if (!visible) { this.stream?.close(); this.stream = null; }
    else if (!this.stream) { this.open(); this.back(); }
  }
}
