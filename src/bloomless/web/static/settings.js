// Sound is a matter of this device and kept in it. A backup is a download: the page stays, and says when it was made.
import { t, put } from "./words.js";
import { isOn, set } from "./sound.js";

for (const box of document.querySelectorAll("[data-sound]")) {
  box.checked = isOn(box.dataset.sound);
  box.addEventListener("change", () => set(box.dataset.sound, box.checked));
}

const LOOK_EVERY_MS = 700, LOOK_FOR_MS = 180000;
const form = document.querySelector("#backup form"), last = document.getElementById("backup-last");
form?.addEventListener("submit", () => {
  const before = last.dataset.at, until = Date.now() + LOOK_FOR_MS;
  put("backup-state", t("Making it …"));
  const look = async () => {
    const made = await fetch(form.action).then((answer) => answer.json()).catch(() => ({ at: before }));
    if (made.at && made.at !== before) {
      last.dataset.at = made.at;
      last.textContent = made.said;
      put("backup-state", t("It is made; the browser keeps it with its downloads."));
    } else if (Date.now() < until) setTimeout(look, LOOK_EVERY_MS);
    else put("backup-state", "");
  };
  setTimeout(look, LOOK_EVERY_MS);
});
