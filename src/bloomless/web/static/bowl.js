// What this page knows of its bowl: the news so far, what was told, which order by which event, and the time.
export const boot = JSON.parse(document.getElementById("boot").textContent);
export const practice = Boolean(boot.speed);
export const api = boot.api ?? `/api/v1/benches/${encodeURIComponent(boot.id)}`;

export const bowl = {
  state: boot.state, advice: boot.advice, events: boot.told, ahead: boot.ahead ?? null,
  number: boot.number, speed: boot.speed ?? 1, verdict: boot.verdict ?? null, done: null, lastTyped: null,
};
let clockAt = [boot.now_s, performance.now()];
export const setClock = (seconds) => { clockAt = [seconds, performance.now()]; };
export function now() {
  const runs = bowl.state.finished && practice ? 0 : bowl.speed;
  return clockAt[0] + runs * (performance.now() - clockAt[1]) / 1000;
}
export const correction = (id) => bowl.events.filter((one) => one.event.what === "correct" && one.event.of === id).pop()?.event;
export const undone = (id) => bowl.events.some((one) => one.event.what === "correct" && one.event.of === id);
// Events that really happened, as far as is known: those of a kind, or all but corrections.
export const happened = (what) => bowl.events.filter((one) => (what ? one.event.what === what : one.event.what !== "correct") && !undone(one.id));
// The smear that was dipped and has no result yet.
export function waitingSmear() {
  const last = happened("smear").pop()?.event;
  const open = last && last.set_after_s === undefined && last.not_set_after_s === undefined && !last.finish;
  return open ? last : null;
}
