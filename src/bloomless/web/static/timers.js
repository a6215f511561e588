// What runs at this moment: a bath, a burst, the stone, a smear that sets. A tone and a word when it is over.
import { t, el, clock } from "./words.js";
import { WHAT } from "./orders.js";
import { bowl, happened, now, waitingSmear } from "./bowl.js";
import { speak, tone } from "./sound.js";

const ENDS = () => ({
  warm_bath: t("Off the bath now; dry the foot."), cool_bath: t("Out of the water now; dry the foot."),
  microwave: t("Out of the microwave; stir."), hot_air: t("Hot air off; stir."), table: t("Back into the bowl now."),
});
const SAID_FOR_S = 12; // so long the end stays to be read
const LOOK_AFTER_S = 120; // a smear that sets well has set after some minutes; looking begins here
const rung = new Set();

function running() {
  const at = now();
  return happened().filter((one) => one.event.seconds && at < one.event.at + one.event.seconds + SAID_FOR_S && at >= one.event.at - 1);
}
export function showTimers() {
  const box = document.getElementById("running");
  const lines = bowl.state.finished ? [] : running().map((one) => {
    const left = Math.ceil(one.event.at + one.event.seconds - now());
    if (left <= 0 && !rung.has(one.id)) {
      rung.add(one.id);
      tone("over");
      speak(ENDS()[one.event.what] ?? "");
    }
    const share = Math.max(0, Math.min(1, left / one.event.seconds));
    return left > 0 ? bar(WHAT()[one.event.what], clock(left), share) : bar(ENDS()[one.event.what] ?? "", "", 0, "over");
  });
  const smear = bowl.state.finished ? null : waitingSmear();
  if (smear) {
    const passed = Math.max(0, now() - smear.at);
    lines.push(bar(passed < LOOK_AFTER_S ? t("The smear is setting") : t("The smear: set, or not yet? Tell it under Smear."), clock(passed), 0, passed < LOOK_AFTER_S ? "" : "over"));
  }
  const key = lines.map((line) => line.textContent).join("|");
  if (box.dataset.key === key) return;
  box.dataset.key = key;
  box.replaceChildren(...lines);
}
function bar(text, time, share, how = "") {
  const line = el("p", { class: `timer ${how}` }, el("span", {}, text), el("b", {}, time));
  line.style.setProperty("--share", `${100 * share}%`);
  return line;
}
